"""A ball drawn as an azimuthal equidistant map centred on the grip, for marking points on it.

A point's distance from the middle is its true distance over the surface, its direction is the true
direction there: over to the right towards the PAP of a right-hander and to the left of a
left-hander's, up towards the fingers. Coordinates are those of a picture 200 wide, y downwards.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from physics import layout
from physics.track import STANDARD_CIRCUMFERENCE_IN

RADIUS_IN = STANDARD_CIRCUMFERENCE_IN / (2 * math.pi)
# The map runs to so far from the grip, at 96 from its middle.
EDGE_DEG, EDGE = 150.0, 96.0
SCALE = EDGE / math.radians(EDGE_DEG)
RING_STEPS = 72


@dataclass(frozen=True)
class Mark:
    """A numbered point on the map."""

    number: int
    x: float
    y: float


@dataclass(frozen=True)
class Plate:
    """Marks, the circle through them as an SVG path, and the PAP; empty where there is none."""

    marks: list[Mark]
    ring: str = ""
    pap: Mark | None = None
    mirrored: bool = False
    scale: float = SCALE


def plate(
    points_in: Sequence[tuple[int, float, float]],
    hand: str,
    found: tuple[float, float, float] | None = None,
) -> Plate:
    """``points_in``: number, over and up of each point; ``found``: PAP over, up and the tilt."""
    side = -1.0 if hand == "left" else 1.0
    marks = [Mark(n, *_at(_unit(over, up), side)) for n, over, up in points_in]
    if found is None:
        return Plate(marks, mirrored=side < 0)
    over, up, tilt = found
    pap = _unit(over, up)
    towards = np.array([0.0, 0.0, 1.0]) - pap[2] * pap
    towards /= np.linalg.norm(towards)
    across = np.cross(pap, towards)
    low, wide = -math.sin(math.radians(tilt)), math.cos(math.radians(tilt))
    path, pen = [], "M"
    for step in range(RING_STEPS + 1):
        turn = 2 * math.pi * step / RING_STEPS
        there = low * pap + wide * (math.cos(turn) * towards + math.sin(turn) * across)
        if math.degrees(math.acos(max(-1.0, min(1.0, float(there[2]))))) > EDGE_DEG:
            pen = "M"
            continue
        x, y = _at(there, side)
        path.append(f"{pen}{x:.1f} {y:.1f}")
        pen = "L"
    return Plate(marks, "".join(path), Mark(0, *_at(pap, side)), side < 0)


def _unit(over_in: float, up_in: float) -> layout.Vector:
    return layout.on_sphere(over_in / RADIUS_IN, up_in / RADIUS_IN)


def _at(unit: layout.Vector, side: float) -> tuple[float, float]:
    """Where a point of the ball lies on the map; what is past its edge is put on it."""
    away = math.acos(max(-1.0, min(1.0, float(unit[2]))))
    length = math.hypot(float(unit[0]), float(unit[1])) or 1.0
    reach = min(away, math.radians(EDGE_DEG)) * SCALE
    x, y = side * reach * float(unit[0]) / length, -reach * float(unit[1]) / length
    return round(x, 2) + 0.0, round(y, 2) + 0.0
