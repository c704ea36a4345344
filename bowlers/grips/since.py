"""The grip measured last beside the one before, for whoever measures the release meanwhile."""

from __future__ import annotations

from dataclasses import dataclass

from bowlers.grips.measures import MEASURES
from bowlers.grips.models import Grip
from bowlers.grips.words import change_told, told
from bowlers.models import Bowler

# A ruler is read to the sixteenth: two readings of one span may differ by as much. Holes are made
# by bits and pitches set on a scale, in other steps, and told from the same.
RULER_IN = 1 / 16


@dataclass(frozen=True)
class Changed:
    """One measure that changed; ``beyond`` what two readings of the same may differ by."""

    label: str
    now: str
    then: str
    change: str
    beyond: bool


@dataclass(frozen=True)
class GripSince:
    now: Grip
    then: Grip | None
    changed: list[Changed]


def grip_since(bowler: Bowler) -> GripSince | None:
    """The newest grip and what changed in it since the one before; None before any."""
    grips = list(bowler.grips.newest_first()[:2])
    if not grips:
        return None
    now, then = grips[0], grips[1] if len(grips) > 1 else None
    if then is None:
        return GripSince(now, None, [])
    changed = []
    for measure in MEASURES:
        values: tuple[float | None, float | None]
        values = getattr(now, measure.name), getattr(then, measure.name)
        if values[0] == values[1]:
            continue
        moved = abs(values[0] - values[1]) if None not in values else None  # type: ignore[operator]
        changed.append(
            Changed(
                measure.label,
                told(measure, values[0], bowler.hand),
                told(measure, values[1], bowler.hand),
                change_told(measure, values[1], values[0], bowler.hand),
                moved is None or measure.unit != "in" or moved > RULER_IN + 1e-9,
            )
        )
    return GripSince(now, then, changed)
