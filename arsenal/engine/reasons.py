"""Sentences at the counter, each made from the numbers beside it: change a number, it changes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from arsenal.engine import tasks
from arsenal.engine.options import Choice, layout_words
from physics import shape, surface
from physics.units import M_TO_FT

if TYPE_CHECKING:
    from arsenal.engine.results import Answer

# Differences smaller than these are not worth a word (feet, degrees, boards, inches).
HOOK_FT, ANGLE_DEG, ROOM_BOARDS, DIFFERENTIAL_IN = 0.8, 0.2, 0.25, 0.003


def name_of(choice: Choice) -> str:
    """A choice in a line: ball, layout if it changes, finish."""
    parts = [choice.ball]
    if choice.layout is not None:
        parts.append(layout_words(choice.layout))
    parts.append(surface.FINISHES[choice.finish].label)
    return ", ".join(parts)


def reason_for(answer: Answer, rows: list[dict[str, Any]], row: int) -> str:
    """Two sentences: what it does where it helps most, and where that comes from."""
    gains = answer.gains[row - answer.bag_size]
    j = int(np.argmax(gains))
    ours = int(np.argmax(answer.confirmed.values[: answer.bag_size, j]))
    return f"{_what(answer, rows[j], row, ours, j)} {_why(answer, row, ours, j)}"


def _what(answer: Answer, task: Mapping[str, Any], row: int, ours: int, j: int) -> str:
    """First sentence: the shape and entry against the best owned ball, and the chance it makes."""
    new, old = answer.confirmed.shots[row, j], answer.confirmed.shots[ours, j]
    old_name = answer.menu.owned[ours].ball
    values = answer.confirmed.values
    chance = f"{_percent(values[ours, j])} to {_percent(values[row, j])} strikes (estimate)"
    if not math.isfinite(float(answer.confirmed.lines.board[ours, j])):
        return f"On {task['name']} it reaches the pocket, which nothing in the bag does: {chance}."
    parts = [_shape(new, old, old_name), _entry(new, old)]
    said = ", ".join(part for part in parts if part)
    if not said:
        said = f"it keeps the shape of {old_name}"
    return f"On {task['name']} {said}: {chance}."


def _shape(new: Any, old: Any, old_name: str) -> str:
    longer = float(shape.hook_length_ft(new)) - float(shape.hook_length_ft(old))
    if bool(shape.is_late(old)) and not bool(shape.is_late(new)):
        return f"it finishes the turn that {old_name} still has left at the pins"
    if not math.isfinite(longer) or abs(longer) < HOOK_FT:
        sooner = float(old[shape.QUARTER_M] - new[shape.QUARTER_M]) * M_TO_FT
        if math.isfinite(sooner) and abs(sooner) >= HOOK_FT:
            word = "sooner" if sooner > 0 else "later"
            return f"it starts its turn {abs(sooner):.0f} ft {word} than {old_name}"
        return ""
    word = "rollier" if longer > 0 else "more angular"
    length = float(shape.hook_length_ft(new))
    return f"it is {abs(longer):.0f} ft {word} than {old_name} (hook length {length:.0f} ft)"


def _entry(new: Any, old: Any) -> str:
    angles = [float(shot[shape.ENTRY_ANGLE_DEG]) for shot in (new, old)]
    if not all(math.isfinite(a) for a in angles) or abs(angles[0] - angles[1]) < ANGLE_DEG:
        return ""
    word = "steeper" if angles[0] > angles[1] else "flatter"
    return f"and enters {word}, {angles[0]:.1f}° for {angles[1]:.1f}°"


def _why(answer: Answer, row: int, ours: int, j: int) -> str:
    """Second sentence: surface and cover, core and layout, and what they leave room for."""
    new, old = answer.confirmed.choices[row], answer.menu.owned[ours]
    causes = [_surface(new, old), _core(new, old)]
    said = " and ".join(cause for cause in causes if cause)
    more = tasks.room(answer, row, j) - tasks.room(answer, ours, j)
    if abs(more) >= ROOM_BOARDS:
        word = "more" if more > 0 else "less"
        left = f"that leaves {abs(more):.1f} boards {word} room to miss at the arrows"
    else:
        left = "room to miss stays about the same"
    if not said:
        said = f"It is {old.ball} at its best again"
    return f"{said[0].upper()}{said[1:]}; {left}."


def _surface(new: Choice, old: Choice) -> str:
    """Where the friction differs, in words: cover first if another ball, else finish."""
    rough = new.option.closure.scale_um / old.option.closure.scale_um
    grip = new.option.closure.mu_dry / old.option.closure.mu_dry
    finish = surface.FINISHES[new.finish].label
    cover = surface.COVERS[new.option.cover].label
    if rough > 1.1:
        return f"its {finish} surface on {cover} bites through more oil than {old.ball} does now"
    if rough < 0.9:
        return f"its {finish} surface on {cover} rides the oil further than {old.ball} does now"
    if grip > 1.03:
        return f"its {cover} cover grips the dry harder than {old.ball} does now"
    if grip < 0.97:
        return f"its {cover} cover is gentler on the dry than {old.ball}"
    return ""


def _core(new: Choice, old: Choice) -> str:
    """What layout and core do to the drilled differential, and so to flare."""
    change = new.option.body.differential_in - old.option.body.differential_in
    drilled = f"drilled differential {new.option.body.differential_in:.3f} in"
    if new.layout is None or abs(change) < DIFFERENTIAL_IN:
        return ""
    words = "more flare meets fresh surface" if change > 0 else "less flare smooths the move"
    return f"with {layout_words(new.layout)} its {drilled} means {words}"


def reason_for_nothing(answer: Answer, rows: list[dict[str, Any]], largest: float) -> str:
    """Why nothing may be needed, or what doing nothing would leave."""
    gaps = [task["name"] for task in rows if task["gap"]]
    points = 100 * largest
    if largest < answer.noise:
        return (
            "Nothing tried adds more than the model can tell from nothing: the largest gain is "
            f"{max(points, 0.0):.1f} points of strike chance. Keep what is in the bag and look "
            "after its surfaces."
        )
    left = (
        f"It leaves the gap on {_listed(gaps)}"
        if gaps
        else "The bag scores within 5 % of the best available on every condition"
    )
    return f"{left}. The most that changing something would add is {points:.1f} points (estimate)."


def gap_words(
    answer: Answer, j: int, task: Mapping[str, Any], best_owned: int | None, best: int
) -> str:
    """What is missing on a task and how the nearest ball fails, or which ball scores there."""
    if task["window"] is None:
        return "Nothing tried is playable here: no line brings any ball to the pocket often enough."
    if best_owned is None:
        return "There is no ball in the bag that can be computed."
    choice = answer.confirmed.choices[best_owned]
    have, could = answer.confirmed.values[best_owned, j], task["best_available"]
    care = "" if choice.kind == "none" else f" with its {_finish(choice)} put on anew"
    if not task["gap"]:
        return f"{choice.ball}{care} scores here: {_percent(have)} of at most {_percent(could)}."
    fails = _failure(answer, best_owned, j, task)
    return (
        f"{choice.ball}{care} is the nearest, {_percent(have)} of {_percent(could)}, and {fails}."
    )


def _failure(answer: Answer, row: int, j: int, task: Mapping[str, Any]) -> str:
    """How the nearest owned ball fails on a task."""
    shot = answer.confirmed.shots[row, j]
    if not math.isfinite(float(answer.confirmed.lines.board[row, j])):
        return "no line brings it to the pocket"
    if task["gap_side"] == "angular" and bool(shape.is_late(shot)):
        left = 100 * (1 - float(shot[shape.TURN_SPENT]))
        return f"it is late: {left:.0f} % of its turn is left at the pins"
    length = float(shape.hook_length_ft(shot))
    if task["gap_side"] == "rolly":
        rolled = float(shot[shape.ROLL_M]) * M_TO_FT
        out = f", rolled out by {rolled:.0f} ft" if math.isfinite(rolled) else ""
        return f"it is too rolly: its turn takes {length:.0f} ft{out}"
    if task["gap_side"] == "angular":
        return f"it is too angular: its turn is over in {length:.0f} ft"
    angle = float(shot[shape.ENTRY_ANGLE_DEG])
    return f"its shape is right but it enters at {angle:.1f}° and scatters with your misses"


def _finish(choice: Choice) -> str:
    return surface.FINISHES[choice.finish].label + " finish"


def _percent(chance: float) -> str:
    return f"{100 * float(chance):.0f} %"


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
