"""The rows of the gaps page: what each owned ball does on each task, and what is missing there."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from arsenal.engine import bodies, reasons, results
from arsenal.engine.throws import OnLane
from physics import shape, window
from physics.units import M_S_TO_MPH, M_TO_FT, M_TO_IN, RAD_S_TO_RPM

if TYPE_CHECKING:
    from arsenal.engine.results import Answer


def benchmark_of(answer: Answer) -> int | None:
    """Index in the bag of the ball strengths are counted from.

    The one marked so, else the one worth most over all tasks.
    """
    marked = {ball["id"] for ball in answer.inputs["bag"] if ball["benchmark"]}
    for i, choice in enumerate(answer.menu.owned):
        if choice.ball_id in marked:
            return i
    if not answer.bag_size:
        return None
    return int(np.argmax(answer.confirmed.values[: answer.bag_size] @ answer.setting.weights))


def row(answer: Answer, j: int, benchmark: int | None) -> dict[str, Any]:
    """One task: its window, whether it is a gap and on which side, and every owned ball on it."""
    asked = answer.inputs["conditions"][j]
    lengths, scores = _shapes(answer, j)
    intervals = window.window(lengths, scores)
    values = answer.confirmed.values[:, j]
    best = int(np.argmax(values))
    best_available = float(values[best])
    owned = [_owned(answer, i, j, benchmark) for i in range(answer.bag_size)]
    in_care = _best_in_care(answer, j)
    gap = window.is_gap(float(values[in_care]), best_available) if in_care is not None else True
    side = _side(answer, in_care, j, intervals) if gap and in_care is not None else None
    pattern = bodies.pattern_of(asked["oil"])
    known = lengths[np.isfinite(lengths)]
    found = {
        "name": asked["name"],
        "condition_id": asked["id"],
        "house": asked["house"],
        "weight": round(float(answer.setting.weights[j]), 4),
        "pattern": {
            "length_ft": pattern["length_ft"],
            "volume_ml": round(pattern["volume_ml"], 1),
            "ratio": None if pattern["ratio"] is None else round(pattern["ratio"], 1),
            "class": pattern["class"],
        },
        "window": None if intervals is None else [[round(a, 2), round(b, 2)] for a, b in intervals],
        "gap": bool(gap),
        "gap_side": side,
        "best_available": round(best_available, 4),
        "best_option": reasons.name_of(answer.confirmed.choices[best]),
        "hook_range": [round(float(known.min()), 1), round(float(known.max()), 1)]
        if len(known)
        else [0.0, 60.0],
        "owned": owned,
    }
    found["gap_words"] = reasons.gap_words(answer, j, found, in_care, best)
    return found


def _shapes(answer: Answer, j: int) -> tuple[Any, Any]:
    """Hook length and value of every option on a task.

    Confirmed ones by the reference solver; the rest as screened, moved by what confirming changed
    on average, so that one set of values makes both the window and the gap.
    """
    lengths = shape.hook_length_ft(answer.screened.shots[:, j])
    scores = answer.screened.values[:, j].copy()
    place = {id(choice): i for i, choice in enumerate(answer.screened.choices)}
    found = [(place.get(id(c)), n) for n, c in enumerate(answer.confirmed.choices)]
    pairs = [(i, n) for i, n in found if i is not None]
    exact = answer.confirmed.values[:, j]
    moved = float(np.mean([exact[n] - scores[i] for i, n in pairs])) if pairs else 0.0
    scores += moved
    exact_lengths = shape.hook_length_ft(answer.confirmed.shots[:, j])
    for i, n in pairs:
        scores[i], lengths[i] = exact[n], exact_lengths[n]
    # An option only screened can't be said to beat the best of those confirmed.
    return lengths, np.clip(scores, 0.0, float(exact.max()))


def scores_on(answer: Answer, j: int) -> Any:
    """Value of every option screened on a task, as the window has them."""
    return _shapes(answer, j)[1]


def _best_in_care(answer: Answer, j: int) -> int | None:
    """Row of the best owned ball on a task: as it is if that will do, else in its best care."""
    values = answer.confirmed.values[:, j]
    as_is = max(range(answer.bag_size), key=lambda i: values[i], default=None)
    if as_is is None or not window.is_gap(float(values[as_is]), float(values.max())):
        return as_is
    cared = {id(choice) for choice in answer.menu.cared}
    rows = [i for i, choice in enumerate(answer.confirmed.choices) if id(choice) in cared]
    return max([as_is, *rows], key=lambda i: float(values[i]))


def _side(
    answer: Answer, row: int, j: int, intervals: list[tuple[float, float]] | None
) -> str | None:
    shot = answer.confirmed.shots[row, j]
    length = float(shape.hook_length_ft(shot))
    late = bool(shape.is_late(shot))
    return window.missed_side(intervals or [], length if math.isfinite(length) else None, late)


def _owned(answer: Answer, i: int, j: int, benchmark: int | None) -> dict[str, Any]:
    choice = answer.menu.owned[i]
    shot = answer.confirmed.shots[i, j]
    board = float(answer.confirmed.lines.board[i, j])
    playable = math.isfinite(board)
    left, right = _room(answer, i, j) if playable else (0.0, 0.0)
    plain = results.plain
    return {
        "ball_id": choice.ball_id,
        "ball": choice.ball,
        "surface": choice.finish,
        "hook_length_ft": plain(float(shape.hook_length_ft(shot))),
        "late": bool(shape.is_late(shot)),
        "early": bool(shape.is_early(shot)),
        "shape_note": _shape_note(shot, playable),
        "strength_boards": _strength(answer, i, j, benchmark),
        "carry": round(float(answer.confirmed.values[i, j]), 4),
        "room_left_boards": round(left, 2),
        "room_right_boards": round(right, 2),
        "line": None
        if not playable
        else {
            "laydown_board": round(board, 1),
            "launch_deg": round(float(answer.confirmed.lines.launch_deg[i, j]), 2),
            "arrow_board": plain(shot[shape.ARROW_BOARD]),
        },
        "entry": entry_of(shot) if playable else None,
        "breakpoint": breakpoint_of(shot) if playable else None,
        "skid_ft": plain(float(shot[shape.SKID_M]) * M_TO_FT),
        "roll_ft": plain(float(shot[shape.ROLL_M]) * M_TO_FT),
        "rev_rate_at_pins_rpm": plain(float(shot[shape.ENTRY_SPIN_RAD_S]) * RAD_S_TO_RPM),
        "flare_in": plain(float(shot[shape.FLARE_M]) * M_TO_IN),
        "visible_flare_in": plain(float(shot[shape.VISIBLE_FLARE_M]) * M_TO_IN),
    }


def entry_of(shot: Any) -> dict[str, float]:
    return {
        "board": round(float(shot[shape.ENTRY_BOARD]), 2),
        "angle_deg": round(float(shot[shape.ENTRY_ANGLE_DEG]), 2),
        "speed_mph": round(float(shot[shape.ENTRY_SPEED_M_S]) * M_S_TO_MPH, 1),
    }


def breakpoint_of(shot: Any) -> dict[str, float]:
    return {
        "board": round(float(shot[shape.BREAK_BOARD]), 1),
        "ft": round(float(shot[shape.BREAK_M]) * M_TO_FT, 1),
    }


def _shape_note(shot: Any, playable: bool) -> str:
    if not playable:
        return "No line brings it to the pocket here."
    if abs(float(shot[shape.FULL_TURN_DEG])) < 0.5:
        return "The release leaves no turn to speak of, so there is no shape."
    if not math.isfinite(float(shot[shape.QUARTER_M])):
        return "It reaches the pins with most of its turn unspent."
    return ""


def _on_lane(answer: Answer, row: int, j: int) -> OnLane:
    option = answer.confirmed.choices[row].option
    return OnLane(answer.setting.who, option, answer.setting.tasks[j], answer.setting.factors[j])


def _strength(answer: Answer, i: int, j: int, benchmark: int | None) -> float | None:
    """Boards further from the ball-hand side at the pins than the benchmark, on its line."""
    if benchmark is None:
        return None
    board = float(answer.confirmed.lines.board[benchmark, j])
    if not math.isfinite(board):
        return None
    launch = float(answer.confirmed.lines.launch_deg[benchmark, j])
    balls = [_on_lane(answer, row, j) for row in (i, benchmark)]
    ours, theirs = (ball.throw([ball.delivery(board, launch)])[0] for ball in balls)
    return round(float(ours[shape.ENTRY_BOARD] - theirs[shape.ENTRY_BOARD]), 2)


def room(answer: Answer, row: int, j: int) -> float:
    """Boards at the arrows, both ways together."""
    return sum(_room(answer, row, j))


def _room(answer: Answer, row: int, j: int) -> tuple[float, float]:
    """Away from and towards the ball-hand gutter."""
    board = float(answer.confirmed.lines.board[row, j])
    return _on_lane(answer, row, j).room(board, float(answer.confirmed.lines.launch_deg[row, j]))
