"""One ranking from stored inputs: screen, refine, confirm, draw, and put into words."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from arsenal.engine import at_spares, bodies, games, options, results
from arsenal.engine.options import Choice, Menu
from arsenal.engine.solved import Solved, Store
from physics import MODEL_VERSION, bag, bowler, doubt, rank, worlds, worth

Array = NDArray[np.float64]
Progress = Callable[[int, str], None]

# How many options go on after each stage, besides the bag and the best option of each task.
REFINED, CONFIRMED, DRAWN = 80, 36, 12
# The group of those choices that replace no ball.
NEW = -1
# How many changes are drawn where none gains.
RUNNERS = 3
DRAWS = 64
# Pins a game. Smaller gains are less than the model can tell from nothing: about the point of
# strike chance by which a line's picture scatters (tests/physics/test_rank.py).
NOISE = 1.0


@dataclass(frozen=True)
class Setting:
    """The bowler and the tasks of one ranking, in the form physics takes them.

    ``at_spares`` are the releases the bowler has for spares; ``solved`` knows what was computed
    before.
    """

    who: bowler.Bowler
    at_spares: list[bowler.Bowler]
    tasks: list[worth.Task]
    factors: list[float]
    weights: Array
    solved: Solved = field(default_factory=Solved)


def setting_of(inputs: Mapping[str, Any], solved: Solved | None = None) -> Setting:
    customer = inputs["customer"]
    total = sum(c["times_a_season"] for c in inputs["conditions"])
    tasks = [
        worth.Task(
            bodies.oil_of(c["oil"]).own_side_film_um(customer["hand"]) * oil["factor"],
            c["times_a_season"] / total,
            house=c["house"],
            friction_sd=c.get("friction_sd"),
            oil=bodies.oil_doubt(c["oil"], customer["hand"], oil),
        )
        for c in inputs["conditions"]
        for oil in [c.get("learnt", {}).get("oil", bodies.NOTHING_LEARNT)]
    ]
    who = bodies.bowler_of(inputs["delivery"], customer["average"], bodies.spread_learnt(inputs))
    return Setting(
        who=who,
        at_spares=at_spares.releases(inputs, who),
        tasks=tasks,
        factors=[c["lane_factor"] for c in inputs["conditions"]],
        weights=np.array([task.weight for task in tasks]),
        solved=solved or Solved(),
    )


@dataclass
class Found:
    """Choices with their lines, values and mean shots; rows of each array are the choices."""

    choices: list[Choice]
    lines: worth.Lines
    shots: Array
    balls: bag.Balls
    second: games.Seconds

    @property
    def values(self) -> Array:
        return self.lines.value

    def part(self, rows: Sequence[int]) -> Found:
        index = list(rows)
        lines = worth.Lines(
            self.lines.board[index], self.lines.launch_deg[index], self.lines.value[index]
        )
        second = games.Seconds(
            [self.second.thrown[i] for i in index],
            self.second.convert[index],
            self.second.felled[index],
        )
        return Found(
            [self.choices[i] for i in index],
            lines,
            self.shots[index],
            self.balls.part(index),
            second,
        )


def run_ranking(
    inputs: Mapping[str, Any],
    seed: int,
    progress: Progress,
    store: Store | None = None,
    at_most_s: float | None = None,
) -> dict[str, Any]:
    """Gaps and next ball of stored inputs. The same inputs and seed give the same result, with
    whatever the ``store`` knows of it already.

    Raises :class:`TooMuch` where it would take longer than ``at_most_s`` for what isn't known.
    """
    began = time.perf_counter()
    setting = setting_of(inputs, Solved(store, at_most_s))
    known = (setting.who, setting.tasks, setting.factors)
    setting.solved.begin(*known)
    progress(1, "Drilling every option on paper")
    menu = options.menu_of(inputs, setting.who)
    screened = _screen(
        menu, setting, seed, lambda p: progress(int(3 + 45 * p), "Throwing them all")
    )
    screen_s = time.perf_counter() - began
    refined = _refine(
        menu, screened, setting, seed, lambda p: progress(int(48 + 17 * p), "Finding best lines")
    )
    confirmed = _confirm(
        menu,
        refined,
        setting,
        seed,
        lambda p: progress(int(65 + 17 * p), "Checking with the reference solver"),
    )
    groups = _families(menu, confirmed, setting.weights)
    drawn = _draw(
        menu,
        confirmed,
        [members[0] for members in groups] or _runners(menu, confirmed, setting.weights),
        setting,
        seed,
        lambda p: progress(int(82 + 14 * p), "Asking how sure this is"),
    )
    groups, drawn = _merged(menu, confirmed, groups, drawn, setting.weights)
    progress(97, "Putting it into words")
    dry = _without_ring_oil(menu, confirmed, setting, seed)
    setting.solved.end(*known)
    return results.result_of(
        results.Answer(
            inputs=inputs,
            seed=seed,
            model_version=MODEL_VERSION,
            setting=setting,
            menu=menu,
            screened=screened,
            confirmed=confirmed,
            families=groups,
            drawn=drawn,
            gains=gains_of(menu, confirmed, setting.weights),
            first_gains=first_ball_gains(menu, confirmed, setting.weights),
            noise=NOISE,
            without_ring_oil=dry,
            timings={
                "options": len(menu.changes),
                "conditions": len(setting.tasks),
                "screen_s": round(screen_s, 2),
                "total_s": round(time.perf_counter() - began, 2),
                "known_before": setting.solved.share_known(),
            },
        )
    )


def gains_of(menu: Menu, found: Found, weights: Array) -> Array:
    """Pins a game by task of each change among the choices found; the bag comes first in it."""
    return _gains(menu, found.balls, found.choices, weights)


def first_ball_gains(menu: Menu, found: Found, weights: Array) -> Array:
    """The same if nothing new were ever thrown at a spare."""
    count = len(menu.owned)
    changes = found.balls.part(range(count, len(found.choices)))
    ours = found.balls.part(range(count))
    # A changed ball keeps what it does at spares now, so that only its first ball is other.
    kept = changes.only_first()
    for i, choice in enumerate(found.choices[count:]):
        if choice.replaces is not None:
            kept.convert[i] = ours.convert[choice.replaces]
            kept.felled[i] = ours.felled[choice.replaces]
    return _gains(menu, bag.joined(ours, kept), found.choices, weights)


def _gains(menu: Menu, balls: bag.Balls, choices: Sequence[Choice], weights: Array) -> Array:
    count = len(menu.owned)
    replaces = [choice.replaces for choice in choices[count:]]
    changes = balls.part(range(count, len(choices)))
    return rank.gains_by_task(balls.part(range(count)), changes, replaces, weights)


def _found(
    choices: list[Choice],
    rows: worth.Rows,
    setting: Setting,
    lines: worth.Lines,
    second: games.Seconds,
) -> Found:
    shots = worth.mean_shots(setting.who, rows, setting.tasks, lines, setting.factors)
    balls = games.rough(choices, lines, setting, second)
    return Found(choices, lines, shots, balls, second)


def _screen(menu: Menu, setting: Setting, seed: int, tell: worth.Progress) -> Found:
    """The bag and every change: what each owned ball could become by itself, new balls together."""
    choices = [*menu.owned, *menu.changes]
    rows = worth.Rows.of([choice.option for choice in choices])
    lines = setting.solved.menu(
        setting.who,
        rows,
        [NEW if choice.replaces is None else choice.replaces for choice in choices],
        setting.tasks,
        setting.factors,
        progress=tell,
    )
    # Of new balls only those bought for spares are tried at them yet.
    asked = [i < len(menu.owned) or choice.kind == "spare" for i, choice in enumerate(choices)]
    return _found(choices, rows, setting, lines, games.seconds(choices, setting, asked))


def _refine(
    menu: Menu, screened: Found, setting: Setting, seed: int, tell: worth.Progress
) -> Found:
    """Best lines in full for the bag, the most gainful changes and the best on each task."""
    rows = _shortlist(menu, screened, setting.weights, REFINED)
    part = screened.part(rows)
    asked = [choice.option for choice in part.choices]
    lines = setting.solved.settle(
        setting.who,
        asked,
        setting.tasks,
        part.lines,
        setting.factors,
        progress=tell,
    )
    return _found(part.choices, worth.Rows.of(asked), setting, lines, part.second)


def _shortlist(menu: Menu, found: Found, weights: Array, size: int) -> list[int]:
    """Rows of the bag, of the best care on each task, of the best change of each kind and ball, of
    the most gainful changes and of the best on each task; the bag's first."""
    count = len(menu.owned)
    gains = gains_of(menu, found, weights).sum(axis=1)
    order = [count + int(i) for i in np.argsort(-gains, kind="stable")]
    keep = dict.fromkeys(range(count))
    ids = {id(choice) for choice in menu.cared}
    cared = [i for i, choice in enumerate(found.choices) if id(choice) in ids]
    if cared:
        keep |= dict.fromkeys(cared[int(i)] for i in found.values[cared].argmax(axis=0))
    keep |= dict.fromkeys(int(i) for i in found.values.argmax(axis=0))
    seen: set[tuple[str, str]] = set()
    for row in order:
        mark = (found.choices[row].kind, found.choices[row].key)
        if mark not in seen and len(seen) < size // 2:
            seen.add(mark)
            keep[row] = None
    for row in order:
        if len(keep) >= count + size:
            break
        keep[row] = None
    return sorted(keep)


def _confirm(
    menu: Menu, refined: Found, setting: Setting, seed: int, tell: worth.Progress
) -> Found:
    """Values by the reference solver for what may be shown."""
    rows = _shortlist(menu, refined, setting.weights, CONFIRMED)
    part = refined.part(rows)
    values, shots = setting.solved.confirm(
        setting.who,
        [choice.option for choice in part.choices],
        setting.tasks,
        part.lines,
        setting.factors,
        seed=seed,
        progress=tell,
    )
    lines = worth.Lines(part.lines.board, part.lines.launch_deg, values)
    second = games.seconds(part.choices, setting, [True] * len(part.choices))
    balls = games.exact(part.choices, lines, setting, second, seed)
    return Found(part.choices, lines, shots, balls, second)


def _families(menu: Menu, confirmed: Found, weights: Array) -> list[list[int]]:
    """Rows of the changes worth showing, in families of falling gain; leaders come first.

    Gains within the noise of *nothing needed* belong to it and aren't listed; nor is the same ball
    once more, a little worse.
    """
    count = len(menu.owned)
    gains = gains_of(menu, confirmed, weights).sum(axis=1)
    rows = [count + i for i in range(len(gains)) if gains[i] >= NOISE]
    groups = rank.families(
        [float(gains[row - count]) for row in rows],
        [_likeness(confirmed.choices[row]) for row in rows],
        [f"{confirmed.choices[row].kind} {confirmed.choices[row].key}" for row in rows],
        NOISE,
    )
    return [[rows[i] for i in group] for group in groups[:DRAWN]]


def _likeness(choice: Choice) -> str:
    """What may stand in one family: the same kind of change, and for an owned ball that ball."""
    return f"{choice.kind} {choice.key if choice.replaces is not None else ''}"


def _runners(menu: Menu, confirmed: Found, weights: Array) -> list[int]:
    """Rows of the changes that came nearest to gaining, for an answer of *nothing needed*."""
    count = len(menu.owned)
    gains = gains_of(menu, confirmed, weights).sum(axis=1)
    return [count + int(i) for i in np.argsort(-gains, kind="stable")[:RUNNERS]]


@dataclass(frozen=True)
class DrawnGains:
    """Gains (draws x choices drawn) about the confirmed ones, and the worlds they were made in."""

    gains: Array
    worlds: worlds.Worlds


def _draw(
    menu: Menu,
    confirmed: Found,
    rows: list[int],
    setting: Setting,
    seed: int,
    tell: worth.Progress,
) -> DrawnGains:
    """Gains of these rows under paired draws from the priors (draws x rows)."""
    count = len(menu.owned)
    part = confirmed.part([*range(count), *rows])
    drawn = setting.solved.draws(
        setting.who,
        [choice.option for choice in part.choices],
        setting.tasks,
        part.lines,
        setting.factors,
        count=DRAWS,
        seed=seed,
        progress=tell,
    )
    strikes = doubt.centred(drawn.values, drawn.middle, part.values)
    gains = [
        _gains(menu, balls, part.choices, setting.weights).sum(axis=1)
        for balls in games.drawn(
            part.balls, part.choices, setting, part.second, drawn.worlds, strikes
        )
    ]
    return DrawnGains(np.array(gains).reshape(DRAWS, len(rows)), drawn.worlds)


def _merged(
    menu: Menu, confirmed: Found, groups: list[list[int]], drawn: DrawnGains, weights: Array
) -> tuple[list[list[int]], DrawnGains]:
    """Families of one likeness made one where the draws can't tell them apart.

    The fixed noise is that of the values; the draws have their own. A family joins the one above
    it if their leaders lie within twice the one and aren't told apart by the other.
    """
    count = len(menu.owned)
    totals = gains_of(menu, confirmed, weights).sum(axis=1)
    kept: list[int] = []
    merged: list[list[int]] = []
    for place, members in enumerate(groups):
        for above, family in zip(kept, merged, strict=True):
            lead = groups[above][0]
            alike = _likeness(confirmed.choices[lead]) == _likeness(confirmed.choices[members[0]])
            near = totals[lead - count] - totals[members[0] - count] < 2 * NOISE
            if (
                alike
                and near
                and not doubt.told_apart(drawn.gains[:, above], drawn.gains[:, place])
            ):
                family += members
                break
        else:
            kept.append(place)
            merged.append(list(members))
    columns = drawn.gains[:, kept] if groups else drawn.gains
    return merged, DrawnGains(columns, drawn.worlds)


def _without_ring_oil(menu: Menu, confirmed: Found, setting: Setting, seed: int) -> dict[str, Any]:
    """How much the order of the changes moves when no ball carries oil round.

    Both orders are made in the same rough way, so that only the oil differs between them; spares
    stay as they were confirmed.
    """
    asked = [choice.option for choice in confirmed.choices]
    orders = []
    for balls in (asked, [worth.without_ring_oil(option) for option in asked]):
        lines = setting.solved.seek(
            setting.who,
            balls,
            setting.tasks,
            setting.factors,
            seed=seed,
            starts=2,
            rounds=1,
            steps=60,
            near=confirmed.lines,
        )
        played = confirmed.balls.with_strikes(lines.value)
        orders.append(_gains(menu, played, confirmed.choices, setting.weights).sum(axis=1))
    if len(orders[0]) < 2:
        return {"kendall_tau": None, "first_same": True}
    return {
        "kendall_tau": round(rank.kendall_tau(orders[0], orders[1], NOISE), 3),
        "first_same": bool(np.argmax(orders[0]) == np.argmax(orders[1])),
    }
