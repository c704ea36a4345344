"""Holes inside the ball: what is left between them, what comes out at the far side, and where an
earlier drilling lies once the ball is laid out anew.

Holes are flat-bottomed cylinders of :mod:`physics.body`; each distance is to the true wall or
bottom, found from points on the other's. All derived.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from physics.body import Hole, hole_axis, oval_directions
from physics.errors import InputError
from physics.layout import Layout, over_up_rad, tangents

Array = NDArray[np.float64]
Vector = NDArray[np.float64]

# Points round a wall, down it, and across a bottom: walls an inch across are read to 0.01 in.
ROUND, DOWN, ACROSS = 48, 45, 6
# Holes that meet no deeper than this overlap where they are drilled in.
SURFACE_IN = 0.05


@dataclass(frozen=True)
class Web:
    """What is left of the ball between two holes: the least of it, negative where they meet.

    ``depth_in``: how deep under the surface that is. ``meets_in``: how deep they first meet, None
    where they don't.
    """

    inches: float
    depth_in: float
    meets_in: float | None


def web(one: Hole, other: Hole, radius_in: float) -> Web:
    """The least material between two holes, inches."""
    found = [_nearest(a, b, radius_in) for a, b in ((one, other), (other, one))]
    least = min(found, key=lambda near: near.inches)
    met = [near.meets_in for near in found if near.meets_in is not None]
    return replace(least, meets_in=min(met, default=None))


def length_through_in(hole: Hole, radius_in: float) -> float:
    """How deep a hole would have to be to come out at the far side: its chord of the ball."""
    pitch = math.hypot(hole.pitch_forward_in, hole.pitch_lateral_in)
    return 2 * math.sqrt(max(0.0, radius_in**2 - pitch**2))


def refuse_impossible(holes: Sequence[Hole], names: Sequence[str], radius_in: float) -> None:
    """Raise InputError for a hole deeper than the ball, or for two that overlap at the surface.

    ``names`` are what the holes are called in words, in their order.
    """
    for i, hole in enumerate(holes):
        through = length_through_in(hole, radius_in)
        if hole.depth_in >= through:
            raise InputError(
                f"holes[{i}].depth_in",
                hole.depth_in,
                f"less than {through:.2f} in: there the {names[i]} hole comes out at the far side "
                "of the ball. Measure it again from the surface to its bottom",
            )
    for (i, one), (j, other) in itertools.combinations(enumerate(holes), 2):
        left = web(one, other, radius_in)
        if left.meets_in is not None and left.meets_in < SURFACE_IN:
            raise InputError(
                f"holes[{j}].over_in",
                other.over_in,
                f"such that the {names[j]} hole clears the {names[i]} hole: at the surface they "
                "overlap. Check over, up and both diameters",
            )


def meetings(
    holes: Sequence[Hole], names: Sequence[str], radius_in: float
) -> list[tuple[tuple[int, int], Web, str]]:
    """Holes that meet under the surface: which two, their web, and words with the remedy.

    Straight holes all aim at the ball's centre, so neighbours of usual bridges do meet if they are
    deep enough; it is for the technician to say whether they may.
    """
    found = []
    for (i, one), (j, other) in itertools.combinations(enumerate(holes), 2):
        left = web(one, other, radius_in)
        if left.meets_in is not None:
            words = (
                f"the {names[i]} and {names[j]} holes meet inside the ball, from "
                f"{left.meets_in:.1f} in under the surface, and overlap by {-left.inches:.2f} "
                "in. To keep ball between them drill one less deep, widen the bridge, or turn "
                "their pitches apart"
            )
            found.append(((i, j), left, words))
    return found


def rotation(before: Layout, after: Layout) -> Array:
    """The matrix that takes a vector of one drilling's grip frame into another's on the same ball.

    Pin and PSA are the same points of the ball in both; each layout says where they lie.
    """
    then, now = (
        np.array([layout.pin, layout.psa, np.cross(layout.pin, layout.psa)])
        for layout in (before, after)
    )
    return np.asarray(now.T @ then)


def carried(hole: Hole, turn: Array, radius_in: float) -> Hole:
    """The same hole in another grip frame of the ball: over, up, pitches and lean counted anew."""
    surface, inward = hole_axis(hole, radius_in)
    long = oval_directions(hole, radius_in)[0]
    surface, inward, long = turn @ surface, turn @ inward, turn @ long
    over, up = over_up_rad(surface)
    at = replace(
        hole,
        over_in=over * radius_in,
        up_in=up * radius_in,
        pitch_forward_in=0.0,
        pitch_lateral_in=0.0,
    )
    pitches = {"pitch_forward_in": 0.0, "pitch_lateral_in": 0.0}
    if math.hypot(hole.pitch_forward_in, hole.pitch_lateral_in) > 0:
        if math.hypot(over, up) < 1e-5:
            # Forward has no direction at the grip centre: a hair beside it, it has.
            at = replace(at, over_in=1e-5 * radius_in)
        for name in pitches:
            one = replace(at, **{name: 1.0})
            towards = hole_axis(one, radius_in)[1]
            towards = towards - float(towards @ surface) * surface
            pitches[name] = radius_in * float(inward @ (towards / np.linalg.norm(towards)))
    # The lean is counted on the surface: back along the hole from its cross-section.
    long = long - float(long @ surface) / float(inward @ surface) * inward
    upward, away = tangents(surface)
    lean = math.degrees(math.atan2(-float(long @ away), float(long @ upward)))
    # An oval turned half round is the same oval.
    lean = (lean + 90) % 180 - 90
    return replace(at, **pitches, oval_angle_deg=lean if hole.longer_in else 0.0)


def _nearest(one: Hole, other: Hole, radius_in: float) -> Web:
    """The least distance from points on the first hole's wall and bottom to the second hole."""
    surface, inward = hole_axis(one, radius_in)
    long, short = oval_directions(one, radius_in)
    a, b = (one.longer_in or one.diameter_in) / 2, one.diameter_in / 2
    turns = np.linspace(0, 2 * math.pi, ROUND, endpoint=False)
    ring = np.outer(a * np.cos(turns), long) + np.outer(b * np.sin(turns), short)
    depths = np.linspace(0, one.depth_in, DOWN)
    wall = ring[None] + depths[:, None, None] * inward
    bottom = np.linspace(0, 1, ACROSS)[:, None, None] * ring[None] + one.depth_in * inward
    points = radius_in * surface + np.concatenate([wall, bottom]).reshape(-1, 3)
    away = _outside(points, other, radius_in)
    # A wall's first ring stands a little proud of the ball where it curves away: not material.
    inside = np.linalg.norm(points, axis=1) <= radius_in + 1e-9
    away = np.where(inside, away, np.inf)
    worst = int(away.argmin())
    under = radius_in - np.linalg.norm(points, axis=1)
    met = under[away < 0]
    return Web(
        float(away[worst]),
        max(0.0, float(under[worst])),
        max(0.0, float(met.min())) if len(met) else None,
    )


def _outside(points: Array, hole: Hole, radius_in: float) -> Array:
    """Distance of each point from a hole, negative inside it; open at the surface.

    Round holes exactly; of an oval the distance to its wall is taken along the line to its axis,
    which is never less than the true one and 3 % more at most for ovals an eighth longer.
    """
    surface, inward = hole_axis(hole, radius_in)
    long, short = oval_directions(hole, radius_in)
    off = points - radius_in * surface
    x, y, z = off @ long, off @ short, off @ inward
    a, b = (hole.longer_in or hole.diameter_in) / 2, hole.diameter_in / 2
    radial = np.hypot(x, y)
    scale = np.hypot(x / a, y / b)
    past_wall = np.where(scale > 0, radial * (1 - 1 / np.where(scale > 0, scale, 1.0)), -b)
    past_bottom = z - hole.depth_in
    outside = np.hypot(np.maximum(past_wall, 0), np.maximum(past_bottom, 0))
    return np.asarray(outside + np.minimum(np.maximum(past_wall, past_bottom), 0))
