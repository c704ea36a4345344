"""Two balls beside one another: the same delivery on one line, or each on a line of its own.

What differs is put in the order of what matters: each difference counts as many times over as it is
larger than what a bowler would notice (estimates), the score first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from arsenal.engine import ranking, strip
from arsenal.engine.one_choice import Asked, One, one_of
from arsenal.engine.throws import OnLane
from physics import pins, shape, spares, wear, worth
from physics.bowler import normal_samples
from physics.errors import InputError
from physics.units import FT_TO_M, M_S_TO_MPH, M_TO_FT, M_TO_IN, RAD_S_TO_RPM

SEED = 1
SAMPLES = worth.SAMPLES
LEAVES_TOLD = 3
# Games a person bowls in a set, people on the pair of lanes, and what another ball must gain to be
# worth fetching (an estimate).
SET_GAMES, ON_THE_PAIR, FETCHED = 3, 8, 0.03
MOST_MOVED_BOARDS, MOST_PACE_MPH = 10, 3.0


@dataclass(frozen=True)
class Look:
    """How two balls are looked at. ``condition``: place in the inputs; ``games``: on the oil, None
    as this bowler meets it; ``own_lines``: each on its own best line; ``boards``: feet and target
    moved together away from the ball-hand gutter; ``pace_mph``: thrown faster."""

    condition: int = 0
    games: int | None = None
    own_lines: bool = False
    boards: float = 0.0
    pace_mph: float = 0.0


@dataclass(frozen=True)
class Measure:
    """One number of a ball: ``notice`` is the least difference a bowler would notice (estimates),
    ``weight`` what it matters beside the others."""

    name: str
    unit: str
    places: int
    notice: float
    weight: float
    more: str
    less: str


# In the order they are listed where nothing tells them apart.
MEASURES: dict[str, Measure] = {
    "carry": Measure("Strikes (estimate)", "%", 0, 2.0, 3.0, "strikes more", "strikes less"),
    "room": Measure("Room to miss", "boards", 1, 0.5, 2.0, "forgives more", "forgives less"),
    "entry_board": Measure(
        "Board at the pins", "", 1, 0.5, 2.0, "comes in higher", "comes in lighter"
    ),
    "entry_angle": Measure("Entry angle", "°", 1, 0.3, 1.5, "enters steeper", "enters flatter"),
    "hook": Measure("Hook length", "ft", 1, 1.5, 1.2, "turns more slowly", "turns more at once"),
    "break_ft": Measure(
        "Breakpoint, down the lane", "ft", 0, 1.5, 1.0, "turns later", "turns sooner"
    ),
    "break_board": Measure(
        "Breakpoint, board", "", 1, 1.0, 1.0, "turns further in", "turns further out"
    ),
    "skid": Measure("Skid", "ft", 0, 2.0, 0.8, "slides further", "slides less far"),
    "revs": Measure("Revs at the pins", "rpm", 0, 15.0, 0.6, "keeps more revs", "keeps fewer revs"),
    "speed": Measure(
        "Speed at the pins", "mph", 1, 0.3, 0.6, "keeps more speed", "keeps less speed"
    ),
    "flare": Measure("Flare", "in", 1, 0.5, 0.5, "flares more", "flares less"),
    "rg": Measure("Low RG, drilled", "in", 3, 0.02, 0.3, "has the higher RG", "has the lower RG"),
    "differential": Measure(
        "Differential, drilled",
        "in",
        3,
        0.006,
        0.3,
        "has the larger differential",
        "has the smaller differential",
    ),
    "intermediate": Measure(
        "Intermediate differential",
        "in",
        3,
        0.004,
        0.3,
        "has the larger intermediate differential",
        "has the smaller intermediate differential",
    ),
    "top": Measure("Top weight", "oz", 2, 0.5, 0.1, "has more top weight", "has less top weight"),
    "side": Measure(
        "Side weight", "oz", 2, 0.5, 0.1, "has more side weight", "has less side weight"
    ),
    "finger": Measure(
        "Finger weight", "oz", 2, 0.5, 0.1, "has more finger weight", "has less finger weight"
    ),
}


def side_by_side(asked: Mapping[str, Any], balls: Sequence[Asked], look: Look) -> dict[str, Any]:
    """Both balls of a ranking's inputs, thrown: paths and numbers, and what differs, first first.

    ``shots`` (label, path, share of turn, entry, leaves; as the strip of a ranking), ``oil``,
    ``numbers`` (by measure, a value each, None where there is none), ``differences`` (measures in
    order), ``said`` (the first three in words), ``line`` (None on lines of their own). Raises
    InputError where a ball can't be drilled so, or no line meets the pocket.
    """
    condition = _condition(asked, look)
    setting = ranking.setting_of({**asked, "conditions": [condition]})
    ones = [one_of(asked, ball) for ball in balls]
    lanes = [OnLane(setting.who, one.option, setting.tasks[0], setting.factors[0]) for one in ones]
    lines = _lines(ones, lanes, look)
    samples = normal_samples(SAMPLES, SEED)
    shots, numbers = [], []
    hand = asked["customer"]["hand"]
    for kind, one, lane, line in zip(("owned", "first choice"), ones, lanes, lines, strict=True):
        shot, row = _thrown(lane, line, look.pace_mph)
        entered = lane.entries(lane.delivery(*line, look.pace_mph), samples)
        first = spares.first_ball(entered, pins.table())
        shots.append({"label": one.name, "kind": kind, **shot, "leaves": _leaves(first, hand)})
        numbers.append(_numbers(one, lane, line, look, row, first.strike))
    order = _order(numbers)
    return {
        "condition": condition["name"],
        "shots": shots,
        "oil": strip.oil_shown(condition, hand),
        "numbers": {name: [each[name] for each in numbers] for name in MEASURES},
        "differences": order,
        "said": [_words(name, ones, numbers) for name in order[:3]],
        "lines": [_place(lane, line, look) for lane, line in zip(lanes, lines, strict=True)],
    }


def _condition(asked: Mapping[str, Any], look: Look) -> dict[str, Any]:
    found: dict[str, Any] = dict(asked["conditions"][look.condition])
    if look.games is None:
        return found
    oil = {name: value for name, value in found["oil"].items() if name != "worn"}
    # The name has the state it is met in.
    name = found["name"].removesuffix(f", {wear.state_name(_games(found))}")
    if look.games:
        oil["worn"] = {"games": look.games, "lane_factor": round(found["lane_factor"], 4)}
        name = f"{name}, {wear.state_name(look.games)}"
    return found | {"oil": oil, "name": name}


def _games(condition: Mapping[str, Any]) -> int:
    worn: Mapping[str, int] = condition["oil"].get("worn", {})
    return worn.get("games", 0)


def _lines(ones: Sequence[One], lanes: Sequence[OnLane], look: Look) -> list[tuple[float, float]]:
    """Laydown board and launch of each, moved as asked for."""
    first = lanes[0].best_line(SEED)
    found = [first, lanes[1].best_line(SEED) if look.own_lines else first]
    for one, (board, _, _) in zip(ones, found, strict=True):
        if not math.isfinite(board):
            raise InputError("line", one.name, "a ball that some line brings to the pocket here")
    return [(board + look.boards, launch) for board, launch, _ in found]


def _thrown(lane: OnLane, line: tuple[float, float], pace_mph: float) -> tuple[dict[str, Any], Any]:
    """The strip's numbers and the result row of the mean delivery, by the reference solver."""
    delivery = lane.delivery(*line, pace_mph)
    body = lane.option.body
    step_m = strip.STEP_FT * FT_TO_M
    shot = lane.shot(delivery, step_m)
    row = shape.row_of(shot, line[1], body.mass_kg, body.radius_m, step_m)
    full = math.radians(float(row[shape.FULL_TURN_DEG]))
    return strip.numbers_of(shot, line[1], full), row


def _numbers(
    one: One, lane: OnLane, line: tuple[float, float], look: Look, row: Any, strike: float
) -> dict[str, float | None]:
    drilled = one.drilled.numbers()
    found: dict[str, float] = {
        "carry": 100 * strike,
        "room": sum(lane.room(*line, look.pace_mph)),
        "entry_board": row[shape.ENTRY_BOARD],
        "entry_angle": row[shape.ENTRY_ANGLE_DEG],
        "hook": float(shape.hook_length_ft(row)),
        "break_ft": row[shape.BREAK_M] * M_TO_FT,
        "break_board": row[shape.BREAK_BOARD],
        "skid": row[shape.SKID_M] * M_TO_FT,
        "revs": row[shape.ENTRY_SPIN_RAD_S] * RAD_S_TO_RPM,
        "speed": row[shape.ENTRY_SPEED_M_S] * M_S_TO_MPH,
        "flare": row[shape.FLARE_M] * M_TO_IN,
        "rg": drilled["principal_rg_in"][0],
        "differential": drilled["differential_in"],
        "intermediate": drilled["intermediate_differential_in"],
        **drilled["static_oz"],
    }
    return {
        name: round(float(value), 4) if math.isfinite(value) else None
        for name, value in found.items()
    }


def _order(numbers: Sequence[Mapping[str, float | None]]) -> list[str]:
    """Measures that differ by what would be noticed, what matters most first."""
    counts = {}
    for name, measure in MEASURES.items():
        one, other = numbers[0][name], numbers[1][name]
        if one is None or other is None:
            continue
        noticed = abs(other - one) / measure.notice
        if noticed >= 1:
            counts[name] = measure.weight * noticed
    return sorted(counts, key=lambda name: -counts[name])


def _words(name: str, ones: Sequence[One], numbers: Sequence[Mapping[str, float | None]]) -> str:
    """One difference, which is there, in a sentence about the second ball."""
    measure = MEASURES[name]
    one, other = (float(each[name] or 0.0) for each in numbers)
    does = measure.more if other > one else measure.less
    values = [_with_unit(value, measure) for value in (other, one)]
    return f"{ones[1].name} {does}: {values[0]} against {values[1]}."


def _with_unit(value: float, measure: Measure) -> str:
    text = f"{value:.{measure.places}f}".replace("-", "\N{MINUS SIGN}")
    if not measure.unit:
        return f"board {text}" if "oard" in measure.name else text
    return f"{text}{measure.unit}" if measure.unit == "°" else f"{text} {measure.unit}"


def _leaves(first: spares.FirstBall, hand: str) -> list[dict[str, Any]]:
    """The likeliest leaves and how often in a game of ten first balls."""
    share = (1 - first.strike) * first.other_leaves
    leaves = pins.table().leaves
    return [
        {"leave": pins.leave_name(leaves[k], hand), "a_game": round(10 * float(share[k]), 2)}
        for k in np.argsort(-share, kind="stable")[:LEAVES_TOLD]
        if share[k] > 0
    ]


def _place(lane: OnLane, line: tuple[float, float], look: Look) -> dict[str, float]:
    """Where one stands and looks: boards at the foul line and at the arrows."""
    row = lane.throw([lane.delivery(*line, look.pace_mph)])[0]
    return {
        "laydown_board": round(line[0], 1),
        "arrow_board": round(float(row[shape.ARROW_BOARD]), 1),
    }


def night_plan(asked: Mapping[str, Any], condition: int, games: int = SET_GAMES) -> dict[str, Any]:
    """Which ball when over a set, by playing it: every ball on its best line on the oil that the
    games before have left, and the cheapest row of balls to fetch.

    ``games``: a row each with the ball, its line, its strike chance and whether it is changed;
    ``same_ball``: what staying with the first would score on average. A ball is fetched where the
    rest of the night gains more by it than fetching is worth.
    """
    start = _games(asked["conditions"][condition])
    states = [start + k * ON_THE_PAIR for k in range(games)]
    owned = [Asked("bag", ball["id"]) for ball in asked["bag"] if not ball.get("spares")]
    owned = owned or [Asked("bag", ball["id"]) for ball in asked["bag"]]
    ones = _playable(asked, owned)
    values = np.zeros((games, len(ones)))
    places: list[list[dict[str, float] | None]] = []
    for k, state in enumerate(states):
        met = _condition(asked, Look(condition, state))
        setting = ranking.setting_of({**asked, "conditions": [met]})
        row: list[dict[str, float] | None] = []
        for i, one in enumerate(ones):
            lane = OnLane(setting.who, one.option, setting.tasks[0], setting.factors[0])
            board, launch, values[k, i] = lane.best_line(SEED)
            found = math.isfinite(board)
            row.append(_place(lane, (board, launch), Look()) if found else None)
        places.append(row)
    balls = _cheapest(values)
    return {
        "condition": asked["conditions"][condition]["name"],
        "on_the_pair": ON_THE_PAIR,
        "games": [
            {
                "game": k + 1,
                "state": wear.state_name(states[k]),
                "ball": ones[i].name,
                "changed": k > 0 and i != balls[k - 1],
                "line": places[k][i],
                "carry": round(float(values[k, i]), 3),
            }
            for k, i in enumerate(balls)
        ],
        "same_ball": round(float(values[:, balls[0]].mean()), 3) if balls else None,
        "planned": round(float(np.mean([values[k, i] for k, i in enumerate(balls)])), 3)
        if balls
        else None,
    }


def _playable(asked: Mapping[str, Any], owned: Sequence[Asked]) -> list[One]:
    found = []
    for ball in owned:
        try:
            found.append(one_of(asked, ball))
        except InputError:
            continue
    return found


def _cheapest(values: Any) -> list[int]:
    """A ball a game: the largest sum of values less what each change costs (backwards, exactly)."""
    games, count = values.shape
    if not count:
        return []
    best = values[-1].copy()
    then = np.zeros((games, count), int)
    for k in range(games - 2, -1, -1):
        change = best[None, :] - FETCHED * (1 - np.eye(count))
        then[k] = change.argmax(axis=1)
        best = values[k] + change.max(axis=1)
    balls = [int(best.argmax())]
    for k in range(games - 1):
        balls.append(int(then[k][balls[-1]]))
    return balls
