"""Seasons with a known truth, to see what :mod:`physics.learn` makes of the reports of them.

A season is one bowler in one house: three balls on two conditions, reports of what they did. Lane,
oil, balls, release and repeatability differ from what the model is told by draws from the very
priors it learns with; shots are thrown one by one, and what is reported of them is read as finely,
and named as loosely, as :mod:`physics.seen` supposes. Two more kinds of season obey another law of
friction than the model's: what is learnt of those says how wrong a wrong law makes it.
"""

import math
import statistics
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from physics import (
    MODEL_VERSION,
    body,
    care,
    expect,
    friction,
    lane,
    layout,
    learn,
    leaves,
    line,
    pins,
    seen,
    shape,
    surface,
    worth,
)
from physics.averaged import STEPS, run_many
from physics.bowler import Bowler, normal_samples, prior_repeatability, times
from physics.units import BOARD_M, IN_TO_M, M_TO_FT, MPH_TO_M_S, RPM_TO_RAD_S, board_to_y_m
from physics.worlds import Priors

Array = NDArray[np.float64]

# Exponent of the film ratio by law: the model's own, a sharper one, and one so sharp that the lane
# is oiled or dry with next to nothing between. The scale of the film is matched for the latter two,
# as a shop would have found its lanes to be on the whole what the model says of them.
LAWS = {"the model's own": 1.0, "film ratio to the power 1.5": 1.5, "oiled or dry": 6.0}
STAGES = (0, 4, 8, 16)
HELD_OUT = 2
BAND = (0.70, 0.90)
SHOTS_A_REPORT, LEAVES_A_REPORT = 18, 4
RADIUS_IN = 4.2975
FILM_SCALE, PATCH_M = 1.2, 0.6 * IN_TO_M
CONDITIONS = ((41.0, 25.0, 8.0, "blended"), (43.0, 26.0, 3.5, "flat"))
# What a picked volume may be off by: the conditions are told by the picker's numbers.
OIL_SD = lane.PICKED_SPREAD.volume
BALLS = (("solid", "1000"), ("hybrid", "2000"), ("pearl", "4000"))


@dataclass(frozen=True)
class Season:
    """What came of one season: whether each 80 % interval held the truth, and errors by stage."""

    held: dict[str, bool]
    entry_held: tuple[bool, ...]
    carry_error: tuple[float, ...]
    friction_error: tuple[float, ...]


@dataclass(frozen=True)
class _World:
    """The truth of a season beside what the model is told of it."""

    rng: np.random.Generator
    told: Bowler
    true: Bowler
    house: float
    oil: tuple[float, ...]
    scatter: float
    options: tuple[worth.Option, ...]
    true_options: tuple[worth.Option, ...]
    films: tuple[Array, ...]
    ring: tuple[float, float]


@dataclass(frozen=True)
class _Reported:
    """A report with the model's reading of it."""

    evidence: learn.Evidence
    response: expect.Response
    report: seen.Report


def season(seed: int, law: float = 1.0, reports: int = STAGES[-1]) -> Season:
    """One season from its seed. ``law``: exponent of the film ratio in truth."""
    world = _world(np.random.default_rng([seed, 71]), law)
    plays = [
        [
            expect.Play(world.told, option, film, 1.0, _line(world.told, option, film))
            for film in world.films
        ]
        for option in world.options
    ]
    told = [_report(world, plays) for _ in range(reports + HELD_OUT)]
    known, later = [r.evidence for r in told[:reports]], told[reports:]
    stages = [n for n in STAGES if n <= reports]
    learnt = [learn.Lanes(known[:n]).learnt(1, 1) for n in stages]
    last = learnt[-1]
    friction_true = _as_friction(world, plays)
    lanes = learn.Lanes(known)
    held = {
        "friction level": _holds(last.friction, friction_true),
        "friction of the house": _holds(lanes.house(1)[1], world.house),
        "oil level": _holds(last.oil[0], world.oil[0]),
        "repeatability": _holds(last.repeatability, world.scatter),
    }
    entries = [
        learn.beside(
            learn.unseen(learn.Lanes([*known, r.evidence]), r.evidence, r.response, r.report),
            r.response,
            r.report,
        )
        for r in later
        if r.report.entry_board is not None and r.response.told
    ]
    return Season(
        held=held,
        entry_held=tuple(
            e["entry_board"].low <= e["entry_board"].seen <= e["entry_board"].high for e in entries
        ),
        carry_error=tuple(_carry_error(world, levels) for levels in learnt),
        friction_error=tuple(abs(levels.friction.log_mean - friction_true) for levels in learnt),
    )


def _holds(level: learn.Level, truth: float) -> bool:
    return level.low <= math.exp(truth) <= level.high


def _world(rng: np.random.Generator, law: float) -> _World:
    priors = Priors()
    average = float(rng.uniform(150, 215))
    scatter = float(rng.normal(0.0, priors.repeatability))
    expected = prior_repeatability(average)
    told = Bowler(
        speed_m_s=rng.uniform(16.0, 19.0) * MPH_TO_M_S,
        spin_rad_s=rng.uniform(260.0, 420.0) * RPM_TO_RAD_S,
        rotation_deg=rng.uniform(35.0, 60.0),
        tilt_deg=rng.uniform(8.0, 18.0),
        repeatability=expected,
        thrown=(0.08, 1.0, 1.5, 1.2),
    )
    off = [mean + sd * rng.normal() for mean, sd in zip(told.means(), told.thrown, strict=True)]
    true = replace(
        told,
        speed_m_s=off[0],
        spin_rad_s=off[1],
        rotation_deg=off[2],
        tilt_deg=off[3],
        repeatability=times(expected, math.exp(scatter)),
    )
    house = float(rng.normal(0.0, priors.lane_friction))
    oil = tuple(float(rng.normal(0.0, OIL_SD)) for _ in CONDITIONS)
    ring = (
        math.exp(priors.ring_absorption * rng.normal()),
        math.exp(priors.ring_patch * rng.normal()),
    )
    options = tuple(_option(*ball, rng) for ball in BALLS)
    films = tuple(lane.picked(*c).own_side_film_um("right") for c in CONDITIONS)
    matched = _matched_scale(told, options[1], films[0], law)
    true_options = tuple(
        _really(option, law, matched, house, ring, rng, priors) for option in options
    )
    return _World(rng, told, true, house, oil, scatter, options, true_options, films, ring)


def _option(cover: str, finish: str, rng: np.random.Generator) -> worth.Option:
    pap = layout.on_sphere(5.0 / RADIUS_IN, 0.5 / RADIUS_IN)
    placed = layout.from_angles(
        pap, rng.uniform(30, 70), rng.uniform(3.5, 5.0), rng.uniform(20, 60), RADIUS_IN
    )
    label = body.Label(15.0, RADIUS_IN, rng.uniform(2.47, 2.54), 0.048, 0.0, 2.5, 2.5)
    holes = [
        body.Hole(-0.609, 2.609, 0.96875, 1.75),
        body.Hole(0.609, 2.609, 0.96875, 1.75),
        body.Hole(0.0, -2.625, 1.0, 2.75),
    ]
    games = float(rng.integers(0, 40))
    kind = surface.COVERS[cover]
    kind_left = care.dry_friction(cover, care.Played(games, games, games)) / kind.mu_dry
    closure = friction.Film(
        mu_oil=kind.mu_oil,
        mu_dry=care.dry_friction(cover, care.Played(games, games, games)),
        scale_um=FILM_SCALE * care.roughness_um(finish, games),
        absorption_per_s=kind.absorption_per_s,
        patch_m=PATCH_M,
    )
    worn = (
        care.roughness_um(finish, games) / care.roughness_um(finish, 0.0),
        kind_left,
    )
    return worth.Option(body.drill(label, placed, holes), closure, cover, finish, cover, worn)


def _really(
    option: worth.Option,
    law: float,
    matched: float,
    house: float,
    ring: tuple[float, float],
    rng: np.random.Generator,
    priors: Priors,
) -> worth.Option:
    """The ball as it really is on the house's lanes: its own errors, and the law in truth."""
    grip = math.hypot(priors.cover_friction, priors.own_friction) * rng.normal()
    rough = priors.finish_roughness * rng.normal()
    rough_left, grip_left = option.worn
    wear, soaking = (math.exp(sd * rng.normal()) - 1 for sd in (priors.finish_wear, priors.soaking))
    told = option.closure
    closure = replace(
        _ringed(told, ring),
        mu_dry=told.mu_dry * math.exp(house + grip) * grip_left**soaking,
        mu_oil=told.mu_oil * math.exp(house + grip),
        scale_um=told.scale_um * matched * math.exp(rough) * rough_left**wear,
        exponent=law,
    )
    return replace(option, closure=closure)


def _ringed(closure: friction.Film, ring: tuple[float, float]) -> friction.Film:
    """With the absorption and the patch of ring oil so many times what is supposed of them."""
    return replace(
        closure,
        absorption_per_s=closure.absorption_per_s * ring[0],
        patch_m=closure.patch_m * ring[1],
    )


def _line(who: Bowler, option: worth.Option, film: Array) -> tuple[float, float]:
    found = worth.seek(who, [option], [worth.Task(film, 1.0)], samples=64, starts=2, rounds=0)
    board, launch = float(found.board[0, 0]), float(found.launch_deg[0, 0])
    return (board, launch) if math.isfinite(board) else (22.0, 2.5)


def _rows(closure: friction.Film, option: worth.Option, film: Array, throws: Any) -> Array:
    """Result rows of deliveries by the fast solver."""
    ball, p = worth.body_tuple(option.body)
    rows: Array = run_many(np.array(throws), ball, p, closure.numbers(), film, STEPS)
    return rows


def _matched_scale(who: Bowler, option: worth.Option, film: Array, law: float) -> float:
    """Factor of the film's scale with which another law enters where the model's law does."""
    if law == 1.0:
        return 1.0
    board, launch = _line(who, option, film)
    throw = [[board_to_y_m(board), launch, *who.means()]]
    wanted = _rows(option.closure, option, film, throw)[0, shape.ENTRY_BOARD]
    factors = np.exp(np.linspace(-1.0, 3.0, 81))
    entries = [
        _rows(
            replace(option.closure, exponent=law, scale_um=option.closure.scale_um * f),
            option,
            film,
            throw,
        )[0, shape.ENTRY_BOARD]
        for f in factors
    ]
    return float(factors[int(np.argmin(np.abs(np.array(entries) - wanted)))])


def _as_friction(world: _World, plays: Sequence[Sequence[expect.Play]]) -> float:
    """The friction level at which the measured release, with ring oil as supposed, enters nearest
    to where the true one does with ring oil as it is, over all balls and conditions (least squares
    of the middles of fixed samples)."""
    levels = np.linspace(-0.45, 0.45, 37)
    off = np.zeros(len(levels))
    for play in (play for row in plays for play in row):
        true = _middle_entry(world.true, play, world.house, world.ring)
        told = np.array([_middle_entry(world.told, play, level) for level in levels])
        off += (told - true) ** 2
    best = int(np.clip(np.argmin(off), 1, len(levels) - 2))
    # The lowest point of a parabola through the best three.
    left, middle, right = off[best - 1 : best + 2]
    bend = left - 2 * middle + right
    step = levels[1] - levels[0]
    return float(levels[best] + (0.5 * step * (left - right) / bend if bend > 0 else 0.0))


def _middle_entry(
    who: Bowler, play: expect.Play, level: float, ring: tuple[float, float] = (1.0, 1.0)
) -> float:
    board, launch = play.line
    sds, means = np.array(play.who.spreads()), np.array(who.means())
    z = normal_samples(32, 5)
    values = means + sds[:4] * z[:, :4]
    throws = np.column_stack(
        [board_to_y_m(board) + sds[4] * z[:, 4], launch + sds[5] * z[:, 5], values]
    )
    closure = worth.on_lane(_ringed(play.option.closure, ring), math.exp(level))
    return float(np.median(_rows(closure, play.option, play.film_um, throws)[:, shape.ENTRY_BOARD]))


def _report(world: _World, plays: Sequence[Sequence[expect.Play]]) -> _Reported:
    """One evening's report: the bowler finds the pocket, more or less, and throws."""
    rng = world.rng
    ball, condition = int(rng.integers(len(BALLS))), int(rng.integers(len(CONDITIONS)))
    play, option = plays[ball][condition], world.true_options[ball]
    film = world.films[condition] * math.exp(world.oil[condition])
    board = float(np.clip(play.line[0] + rng.normal(0.0, 1.0), 5.0, 37.0))
    launch = _found_launch(world, option, film, board, play.line[1]) + rng.normal(0.0, 0.2)
    rows = _thrown(world, option, film, board, launch)
    on = rows[rows[:, shape.ON_LANE] > 0.5]
    mean = _rows(
        option.closure,
        option,
        film,
        [[board_to_y_m(board), launch, *world.true.means()]],
    )[0]
    # Nobody tells a line that was in the gutter before the arrows.
    told = rng.random() < 0.7 and math.isfinite(mean[shape.ARROW_BOARD])
    report = seen.Report(
        laydown_board=round(board + rng.normal(0.0, expect.TOLD_LAYDOWN_BOARDS), 1)
        if told
        else None,
        target_board=_arrow(mean, rng) if told else None,
        shots=SHOTS_A_REPORT,
        entry_board=_read(on[:, shape.ENTRY_BOARD], seen.READ["entry_board"], 0.5, rng),
        break_board=_read(on[:, shape.BREAK_BOARD], seen.READ["break_board"], 1.0, rng)
        if rng.random() < 0.4
        else None,
        break_ft=_read(on[:, shape.BREAK_M] * M_TO_FT, seen.READ["break_ft"], 1.0, rng)
        if rng.random() < 0.2
        else None,
        leaves=tuple(_leaves(on, option.body.mass_kg, rng)),
        motion=_word(seen.MOTIONS, partial(_motion, mean), rng) if rng.random() < 0.4 else "",
        shape=_word(seen.SHAPES, partial(_shape, mean), rng) if rng.random() < 0.4 else "",
    )
    response = learn.response_to(play, report)
    evidence = learn.Evidence(
        1, 1, condition, ball, OIL_SD, response.doubts, seen.log_likelihood(response, report)
    )
    return _Reported(evidence, response, report)


def _arrow(mean: Array, rng: np.random.Generator) -> float:
    """The board at the arrows, told with the error that, with the laydown's, makes TOLD_LAUNCH_DEG
    of the launch."""
    both = math.radians(expect.TOLD_LAUNCH_DEG) * shape.ARROWS_M / BOARD_M
    own = math.sqrt(both**2 - expect.TOLD_LAYDOWN_BOARDS**2)
    return round(float(mean[shape.ARROW_BOARD]) + rng.normal(0.0, own), 1)


def _found_launch(
    world: _World, option: worth.Option, film: Array, board: float, near: float
) -> float:
    """The launch that brings the mean delivery nearest the pocket, about the one advised."""
    launches = near + np.linspace(-2.0, 2.0, 81)
    throws = [[board_to_y_m(board), a, *world.true.means()] for a in launches]
    rows = _rows(option.closure, option, film, throws)
    off = np.where(rows[:, shape.ON_LANE] > 0.5, np.abs(rows[:, shape.ENTRY_BOARD] - 17.5), 99.0)
    # Of several, the one nearest what was advised.
    return float(launches[int(np.argmin(off + 0.05 * np.abs(launches - near)))])


def _thrown(world: _World, option: worth.Option, film: Array, board: float, launch: float) -> Array:
    z = world.rng.normal(size=(SHOTS_A_REPORT, 6))
    sds, means = np.array(world.true.spreads()), np.array(world.true.means())
    values = means + sds[:4] * z[:, :4]
    values[:, 3] = np.maximum(values[:, 3], 0.0)
    y = board_to_y_m(board) + sds[4] * z[:, 4]
    return _rows(
        option.closure,
        option,
        film,
        np.column_stack([y, launch + sds[5] * z[:, 5], values]),
    )


def _read(values: Array, error: float, step: float, rng: np.random.Generator) -> float | None:
    if len(values) < SHOTS_A_REPORT // 2:
        return None
    return float(round((float(np.median(values)) + rng.normal(0.0, error)) / step) * step)


def _leaves(rows: Array, mass_kg: float, rng: np.random.Generator) -> list[int]:
    """Families of the first few leaves among the shots that didn't strike."""
    found: list[int] = []
    strikes = pins.table().strikes(mass_kg)
    for row in rows:
        if rng.random() < worth.strike_chance_of(row, strikes) or len(found) == LEAVES_A_REPORT:
            continue
        chances = leaves.leave_chance(
            float(row[shape.ENTRY_BOARD]), float(row[shape.ENTRY_ANGLE_DEG])
        )
        found.append(int(rng.choice(3, p=chances)))
    return found


def _motion(row: Array, word: str) -> float:
    rolled = shape.LANE_FT - row[shape.ROLL_M] * M_TO_FT
    rolled = 0.0 if math.isnan(rolled) else rolled
    left = 1.0 - row[shape.TURN_SPENT]
    return float(seen.motion_chance(word, np.array(rolled), np.array(left)))


def _shape(row: Array, word: str) -> float:
    hook = float(shape.hook_length_ft(row))
    return float(seen.shape_chance(word, np.array(45.0 if math.isnan(hook) else hook)))


def _word(words: Sequence[str], chance: Callable[[str], float], rng: np.random.Generator) -> str:
    """One of the words, or none where none is said."""
    at = rng.random()
    for word in words:
        at -= chance(word)
        if at < 0.0:
            return word
    return ""


def _carry_error(world: _World, levels: learn.Learnt) -> float:
    """Mean distance of predicted from true expected carry, on the lines the model would advise."""
    wide = levels.repeatability.factor
    who = replace(world.told, repeatability=times(world.told.repeatability, wide))
    scatter = normal_samples(worth.SAMPLES // 2, 3)
    found = []
    for j, film in enumerate(world.films):
        oil = levels.oil[j].factor if j in levels.oil else 1.0
        option, really = world.options[j], world.true_options[j]
        lines = worth.seek(
            who,
            [option],
            [worth.Task(film * oil, 1.0)],
            lane_factors=[levels.friction.factor],
            samples=worth.SAMPLES // 4,
            starts=2,
            rounds=0,
        )
        board = float(lines.board[0, 0])
        if not math.isfinite(board):
            continue
        true = line.carries(
            board,
            float(lines.launch_deg[0, 0]),
            world.true.means(),
            world.true.spreads(),
            scatter,
            worth.body_tuple(really.body),
            (really.closure.numbers(), film * math.exp(world.oil[j])),
            pins.table().strikes(really.body.mass_kg),
            STEPS,
        ).mean()
        found.append(abs(float(lines.value[0, 0]) - float(true)))
    return statistics.fmean(found) if found else math.nan


def run(
    seasons: int = 200,
    laws: Sequence[str] = tuple(LAWS),
    *,
    seed: int = 0,
    reports: int = STAGES[-1],
    workers: int | None = None,
) -> dict[str, Any]:
    """Coverage and errors over many seasons of each law, as plain numbers."""
    found = {}
    with ProcessPoolExecutor(workers or worth.cores()) as pool:
        for name in laws:
            one = partial(season, law=LAWS[name], reports=reports)
            done = list(pool.map(one, range(seed, seed + seasons), chunksize=2))
            found[name] = _summary(done, reports)
    return {
        "model_version": MODEL_VERSION,
        "seasons": seasons,
        "reports_a_season": reports,
        "interval": 0.8,
        "band": list(BAND),
        "laws": found,
    }


def _summary(done: Sequence[Season], reports: int) -> dict[str, Any]:
    names = list(done[0].held)
    coverage = {n: statistics.fmean(s.held[n] for s in done) for n in names}
    entries = [held for s in done for held in s.entry_held]
    coverage["entry of a report to come"] = statistics.fmean(entries)
    stages = [n for n in STAGES if n <= reports]
    return {
        "coverage": {n: round(v, 3) for n, v in coverage.items()},
        "within_band": {n: BAND[0] <= v <= BAND[1] for n, v in coverage.items()},
        "after": {
            str(n): {
                "carry_error": round(statistics.fmean(_known(done, i)), 4),
                "carry_error_se": round(_se(_known(done, i)), 4),
                "friction_error": round(statistics.fmean(s.friction_error[i] for s in done), 4),
            }
            for i, n in enumerate(stages)
        },
    }


def _known(done: Sequence[Season], stage: int) -> list[float]:
    """Errors of carry of the seasons in which a line met the pocket somewhere."""
    return [s.carry_error[stage] for s in done if math.isfinite(s.carry_error[stage])]


def _se(values: Sequence[float]) -> float:
    return statistics.stdev(values) / math.sqrt(len(values)) if len(values) > 1 else math.nan


def table(found: dict[str, Any]) -> str:
    """The report as a page of text: coverage by law, and errors by number of reports."""
    low, high = found["band"]
    names = list(next(iter(found["laws"].values()))["coverage"])
    lines = [
        "# What is learnt of seasons with a known truth",
        "",
        f"Made by `python -m physics learning`, model {found['model_version']}: {found['seasons']} "
        f"seasons a law of friction, {found['reports_a_season']} reports each, invented at random "
        "from the model's own priors. A share of 0.80 of the truths should lie in the 80 % "
        f"intervals; {low:.2f} to {high:.2f} is asked for.",
        "",
        "| share of truths in the 80 % interval | " + " | ".join(found["laws"]) + " |",
        "|---|" + "---|" * len(found["laws"]),
    ]
    for name in names:
        cells = []
        for law in found["laws"].values():
            mark = "" if law["within_band"][name] else " **outside**"
            cells.append(f"{law['coverage'][name]:.2f}{mark}")
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    lines += ["", "| reports | law | error of predicted strike chance | of the friction level |"]
    lines += ["|---|---|---|---|"]
    for law_name, law in found["laws"].items():
        for count, after in law["after"].items():
            lines.append(
                f"| {count} | {law_name} | {after['carry_error']:.3f} "
                f"± {after['carry_error_se']:.3f} | {after['friction_error']:.3f} |"
            )
    return "\n".join([*lines, "", *WORDS])


WORDS = (
    "Errors are means of distances from the truth: of the strike chance promised on the line that "
    "would be advised, and of the log of the friction level. ± is the standard error of the mean.",
    "",
    "What it can't show: seasons are invented from the same priors, reading errors and use of "
    "words as the model supposes. The two other laws are matched to the model on one "
    "ball and one condition, and differ everywhere else.",
)
