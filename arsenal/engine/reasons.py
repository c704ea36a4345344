"""Sentences at the counter, each made from the numbers beside it: change a number, it changes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from arsenal.engine import tasks
from arsenal.engine.options import Choice
from arsenal.engine.words import cared_for, finish_words, layout_words
from physics import care, shape, surface, window
from physics.units import M_TO_FT, M_TO_IN, UM_TO_MICROINCH

if TYPE_CHECKING:
    from arsenal.engine.results import Answer

# Differences smaller than these are not worth a word (feet, degrees, boards, inches, shares).
HOOK_FT, ANGLE_DEG, ROOM_BOARDS, FLARE_IN = 0.8, 0.2, 0.25, 0.5
ROUGHER, GRIPPIER = 0.1, 0.03


def name_of(choice: Choice) -> str:
    """A choice in a line: ball, layout if it would be drilled anew, finish, or the care it gets."""
    parts = [choice.ball]
    if choice.work:
        return f"{choice.ball}, {cared_for(choice.work, choice.finish)}"
    if choice.layout is not None and choice.kind != "none":
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
    parts = [part for part in (_shape(new, old, old_name), _entry(new, old)) if part]
    said = " and ".join(parts) or f"keeps the shape of {old_name}"
    return f"On {task['name']} it {said}: {chance}."


def _shape(new: Any, old: Any, old_name: str) -> str:
    longer = float(shape.hook_length_ft(new)) - float(shape.hook_length_ft(old))
    if bool(shape.is_late(old)) and not bool(shape.is_late(new)):
        return f"finishes the turn that {old_name} still has left at the pins"
    if not math.isfinite(longer) or abs(longer) < HOOK_FT:
        sooner = float(old[shape.QUARTER_M] - new[shape.QUARTER_M]) * M_TO_FT
        if math.isfinite(sooner) and abs(sooner) >= HOOK_FT:
            word = "sooner" if sooner > 0 else "later"
            return f"starts its turn {abs(sooner):.0f} ft {word} than {old_name}"
        return ""
    word = "rollier" if longer > 0 else "more angular"
    length = float(shape.hook_length_ft(new))
    return f"is {abs(longer):.0f} ft {word} than {old_name} (hook length {length:.0f} ft)"


def _entry(new: Any, old: Any) -> str:
    angles = [float(shot[shape.ENTRY_ANGLE_DEG]) for shot in (new, old)]
    if not all(math.isfinite(a) for a in angles) or abs(angles[0] - angles[1]) < ANGLE_DEG:
        return ""
    word = "steeper" if angles[0] > angles[1] else "flatter"
    return f"enters {word}, {angles[0]:.1f}° for {angles[1]:.1f}°"


def _why(answer: Answer, row: int, ours: int, j: int) -> str:
    """Second sentence: what surface, cover and core do, and the room to miss that leaves."""
    new, old = answer.confirmed.choices[row], answer.menu.owned[ours]
    shots = answer.confirmed.shots
    # A changed ball is held against itself as it is now, a new one against the best owned.
    before = ours if new.replaces is None else new.replaces
    than = "" if new.replaces is None else " than before"
    cause = _restored(new, answer.menu.owned[before]) if new.work else ""
    causes = [
        cause or _surface(new, answer.menu.owned[before], than),
        _flare(shots[row, j], shots[before, j]),
    ]
    said = " and ".join(cause for cause in causes if cause)
    if not said:
        other = f"{old.ball}'s" if new.replaces is None else "what they were"
        said = f"its surface and flare are close to {other}"
    more = tasks.room(answer, row, j) - tasks.room(answer, ours, j)
    if abs(more) >= ROOM_BOARDS:
        left = f"{abs(more):.1f} boards {'more' if more > 0 else 'less'} room to miss"
    else:
        left = "about the same room to miss"
    return f"{said[0].upper()}{said[1:]}, with {left} at the arrows."


def _surface(new: Choice, old: Choice, than: str) -> str:
    """Where the friction differs: through the oil first, else on the dry."""
    rough = new.option.closure.scale_um / old.option.closure.scale_um
    grip = new.option.closure.mu_dry / old.option.closure.mu_dry
    what = f"its {surface.COVERS[new.option.cover].label} at {surface.FINISHES[new.finish].label}"
    if rough > 1 + ROUGHER:
        return f"{what} bites through more oil{than}"
    if rough < 1 - ROUGHER:
        return f"{what} rides the oil further{than}"
    if grip > 1 + GRIPPIER:
        return f"{what} grips the dry harder{than}"
    if grip < 1 - GRIPPIER:
        return f"{what} is gentler on the dry{than}"
    return ""


def _restored(new: Choice, old: Choice) -> str:
    """What play has taken from a ball and its care brings back, in numbers."""
    parts = []
    if new.work != "clean" and new.played.oil < old.played.oil:
        taken = 100 * care.soaked_share(old.option.cover, old.played.oil)
        games = f"{old.played.oil:.0f} games"
        parts.append(f"its cover has taken up oil for {games}: dry friction down {taken:.0f} %")
    if new.played.finish < old.played.finish:
        worn, fresh = (
            UM_TO_MICROINCH * care.roughness_um(choice.finish, choice.played.finish)
            for choice in (old, new)
        )
        parts.append(
            f"{old.played.finish:.0f} games have taken its {finish_words(old.finish)} from "
            f"{fresh:.1f} to {worn:.1f} microinches of roughness"
        )
    if not parts:
        lost = 100 * care.film_share(old.played.clean)
        games = f"{old.played.clean:.0f} games"
        return f"what {games} have left on its cover takes {lost:.1f} % off its dry friction"
    done = {"extract": "drawing it out", "restore": "its own pad", "renew": "care"}[new.work]
    return f"{', and '.join(parts)}; {done} brings that back"


def _flare(new: Any, old: Any) -> str:
    """How far the track moves over the ball where there is oil to see it."""
    inches = [float(shot[shape.VISIBLE_FLARE_M]) * M_TO_IN for shot in (new, old)]
    if not all(math.isfinite(i) for i in inches) or abs(inches[0] - inches[1]) < FLARE_IN:
        return ""
    return f"it flares {inches[0]:.1f} in for {inches[1]:.1f} in"


def reason_for_nothing(answer: Answer, rows: list[dict[str, Any]], largest: float) -> str:
    """Why nothing may be needed, or what doing nothing would leave."""
    gaps = [task["name"] for task in rows if task["gap"]]
    if largest < answer.noise:
        return (
            "Nothing tried adds more than the model can tell from nothing: the largest gain is "
            f"{max(largest, 0.0):.1f} pins a game. Keep what is in the bag and look after its "
            "surfaces."
        )
    short = [
        task["name"]
        for task in rows
        if window.is_gap(
            max((ball["carry"] for ball in task["owned"]), default=0.0), task["best_available"]
        )
    ]
    if gaps:
        left = f"It leaves the gap on {_listed(gaps)}"
    elif short:
        left = f"On {_listed(short)} the bag scores within 5 % of the best only once cared for"
    else:
        left = "The bag scores within 5 % of the best available on every condition"
    most = f"{largest:.1f} pins a game (estimate)"
    return f"{left}. The most that changing something would add is {most}."


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
    done = f", {cared_for(choice.work, choice.finish)}," if choice.work else ""
    if not task["gap"]:
        return f"{choice.ball}{done} scores here: {_percent(have)} of at most {_percent(could)}."
    fails = _failure(answer, best_owned, j, task)
    return (
        f"{choice.ball}{done} is the nearest, {_percent(have)} of {_percent(could)}, and {fails}."
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


def _percent(chance: float) -> str:
    return f"{100 * float(chance):.0f} %"


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
