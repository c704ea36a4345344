"""The plate: what lies on a ball, flattened about one of its points.

An azimuthal equidistant map: from the middle every distance over the surface and every direction is
true, which is what layouts are made of when the middle is the PAP, and what marking a ball is made
of when it is the grip centre. Points are unit vectors in the grip frame of :mod:`physics.layout`,
places on the map are inches: x over (towards the PAP side, away from the grip at the PAP), y up. A
left-hander's map is the mirror image in x, which is left to whoever draws it.

Source: J. P. Snyder, Map Projections: A Working Manual (USGS Professional Paper 1395, 1987),
chapter 25; circles and bow ties are derived.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from physics.body import Body, Hole, hole_axis, oval_directions
from physics.layout import Layout, on_sphere, tangents
from physics.track import axis_path
from physics.units import M_TO_IN

Array = NDArray[np.float64]
Vector = NDArray[np.float64]

GRIP_CENTRE = np.array([0.0, 0.0, 1.0])
# Steps of the axis' way that a flare band is drawn in.
BAND_STEPS = 8
FINE, COARSE = 1440, 96


@dataclass(frozen=True)
class View:
    """A map's middle and its directions to the right and up, at right angles to one another."""

    centre: Vector
    over: Vector
    up: Vector
    radius_in: float

    @property
    def edge_in(self) -> float:
        """The point opposite the middle is the whole edge of the map, half round from it."""
        return math.pi * self.radius_in

    def to_map(self, points: Array) -> Array:
        """Inches right and up of the middle (n × 2) of unit vectors (n × 3).

        The point opposite the middle has no direction: it is put straight up.
        """
        points = np.atleast_2d(points)
        flat = np.column_stack([points @ self.over, points @ self.up])
        away = np.hypot(flat[:, 0], flat[:, 1])
        arc = self.radius_in * np.arctan2(away, points @ self.centre)
        held = away > 1e-12
        direction = np.where(held[:, None], flat / np.where(held, away, 1.0)[:, None], (0.0, 1.0))
        return np.asarray(direction * arc[:, None])

    def from_map(self, places_in: Array) -> Array:
        """Unit vectors (n × 3) of places on the map (n × 2): inverse of :meth:`to_map`."""
        places = np.atleast_2d(places_in)
        away = np.hypot(places[:, 0], places[:, 1])
        arc = away / self.radius_in
        share = np.where(away > 0, np.sin(arc) / np.where(away > 0, away, 1.0), 0.0)
        flat = places * share[:, None]
        out = np.outer(np.cos(arc), self.centre)
        return np.asarray(out + np.outer(flat[:, 0], self.over) + np.outer(flat[:, 1], self.up))


def about_pap(layout: Layout) -> View:
    """The map whose distances and directions from the PAP are true, up along the VAL."""
    up, grip = tangents(layout.pap)
    return View(layout.pap, -grip, up, layout.radius_in)


def about_grip(radius_in: float) -> View:
    """The map whose distances and directions from the grip centre are true."""
    return View(GRIP_CENTRE, np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]), radius_in)


def circle(centre: Vector, arc_rad: float, steps: int = FINE) -> Array:
    """Points so far from a centre over the surface, once round and closed (steps + 1 rows)."""
    first = np.cross(centre, GRIP_CENTRE)
    if np.linalg.norm(first) < 1e-6:
        first = np.array([1.0, 0.0, 0.0]) - centre[0] * centre
    first = first / np.linalg.norm(first)
    second = np.cross(centre, first)
    turns = np.linspace(0, 2 * math.pi, steps + 1)
    around = np.outer(np.cos(turns), first) + np.outer(np.sin(turns), second)
    return np.asarray(math.cos(arc_rad) * centre + math.sin(arc_rad) * around)


def arc(start: Vector, end: Vector, steps: int = COARSE) -> Array:
    """The shorter great circle between two points that aren't opposite (steps + 1 rows)."""
    angle = math.atan2(float(np.linalg.norm(np.cross(start, end))), float(start @ end))
    if angle < 1e-12:
        return np.tile(start, (steps + 1, 1))
    parts = np.linspace(0, 1, steps + 1)[:, None]
    ends = np.sin((1 - parts) * angle) * start + np.sin(parts * angle) * end
    return np.asarray(ends / math.sin(angle))


def rim(hole: Hole, radius_in: float, steps: int = 72) -> Array:
    """Where the wall of a hole meets the ball's surface, once round and closed (steps + 1 rows).

    A cylinder drilled straight to the centre leaves a small circle; one with pitch, or an oval one,
    what is left where it cuts the sphere.
    """
    surface, inward = hole_axis(hole, radius_in)
    first, second = oval_directions(hole, radius_in)
    long, short = (hole.longer_in or hole.diameter_in) / 2, hole.diameter_in / 2
    turns = np.linspace(0, 2 * math.pi, steps + 1)
    wall = radius_in * surface
    wall = wall + np.outer(long * np.cos(turns), first) + np.outer(short * np.sin(turns), second)
    # |wall + s·inward| = radius: the outer of the two crossings.
    along = wall @ inward
    depth = along**2 - (np.einsum("ij,ij->i", wall, wall) - radius_in**2)
    s = -along - np.sqrt(np.maximum(depth, 0.0))
    met = wall + np.outer(s, inward)
    return np.asarray(met / np.linalg.norm(met, axis=1)[:, None])


def midline(radius_in: float, steps: int = FINE) -> Array:
    """The whole great circle along which over is measured, from opposite the grip centre."""
    overs = np.linspace(-math.pi, math.pi, steps + 1)
    return np.column_stack([np.sin(overs), np.zeros_like(overs), np.cos(overs)])


def vertical_axis_line(pap: Vector, steps: int = FINE) -> Array:
    """The whole great circle through the PAP at right angles to the midline."""
    up, _ = tangents(pap)
    turns = np.linspace(-math.pi, math.pi, steps + 1)
    return np.asarray(np.outer(np.cos(turns), pap) + np.outer(np.sin(turns), up))


@dataclass(frozen=True)
class Clearance:
    """How far a hole's edge stays from the nearest track of the flare.

    ``edge`` and ``track``: the two nearest points. ``inches`` is negative where a track cuts the
    hole. ``ring`` says how far along the flare that track is, 0 the first, 1 the last.
    """

    inches: float
    edge: Vector
    track: Vector
    ring: float


@dataclass(frozen=True)
class Flare:
    """The tracks of a delivery.

    ``axes``: the axis' way over the ball, unit vectors (n × 3), the first of them the PAP.
    ``seen``: how many of them still had oil to draw a ring with. ``away_rad``: from an axis to its
    track. ``bow_ties``: the two points where the first and the last track cross; None without
    flare. ``inches``, ``seen_inches``: arc the axis moves in all, and on oil.
    """

    axes: Array
    seen: int
    away_rad: float
    bow_ties: Array | None
    inches: float
    seen_inches: float

    @property
    def first(self) -> Array:
        return circle(self.axes[0], self.away_rad)

    def track(self, index: int) -> Array:
        return circle(self.axes[index], self.away_rad)


def flare(
    body: Body, tilt_deg: float, flare_m: float, seen_m: float, steps: int = BAND_STEPS
) -> Flare:
    """The tracks of a ball whose axis moves ``flare_m`` of surface arc, ``seen_m`` of it on oil.

    Both parts are cut into equal steps, so that the end of what is seen is one of the tracks.
    """
    seen_m = min(max(seen_m, 0.0), flare_m)
    away = math.radians(90 + tilt_deg)
    if flare_m <= 1e-6:
        axes, seen = axis_path(body, 0.0, 1)[:1], 1
    else:
        fine = 240
        way = axis_path(body, flare_m, fine)
        on_oil = max(1, round(steps * seen_m / flare_m)) if seen_m > 0 else 0
        dry = max(1, steps - on_oil) if seen_m < flare_m else 0
        stops = np.concatenate(
            [
                np.linspace(0, seen_m, on_oil + 1),
                np.linspace(seen_m, flare_m, dry + 1)[1:] if dry else [],
            ]
        )
        axes = way[np.round(stops / flare_m * fine).astype(int)]
        seen = on_oil + 1
    return Flare(
        axes,
        seen,
        away,
        bow_ties(axes[0], axes[-1], away),
        flare_m * M_TO_IN,
        seen_m * M_TO_IN,
    )


def bow_ties(first: Vector, last: Vector, away_rad: float) -> Array | None:
    """The two points where tracks about two axes cross, the upper one first; None where they don't.

    x·a = x·b = cos(away): x lies in the plane of a + b and a × b.
    """
    cosine = float(first @ last)
    normal = np.cross(first, last)
    length = float(np.linalg.norm(normal))
    if length < 1e-9:
        return None
    between = math.cos(away_rad) / (1 + cosine) * (first + last)
    rest = 1 - float(between @ between)
    if rest < 0:
        return None
    side = math.sqrt(rest) / length * normal
    points = np.array([between + side, between - side])
    return points[np.argsort(-points[:, 1])]


def clearances(flared: Flare, holes: Sequence[Hole], radius_in: float) -> list[Clearance]:
    """Nearest approach of the tracks to each hole's edge, measured over the surface.

    A hole the tracks sweep over counts from the track that runs deepest into it.
    """
    return [_clearance(flared, hole, radius_in) for hole in holes]


def _clearance(flared: Flare, hole: Hole, radius_in: float) -> Clearance:
    edge = rim(hole, radius_in)[:-1]
    middle = on_sphere(hole.over_in / radius_in, hole.up_in / radius_in)
    axes, rings = _between(flared.axes, middle, flared.away_rad)
    off = np.arctan2(np.linalg.norm(np.cross(axes[:, None], edge[None]), axis=2), axes @ edge.T)
    off -= flared.away_rad
    # Past a track as a whole or short of it as a whole: clear by the nearest point of the edge. On
    # both sides of it: cut by what it would have to be moved to come clear.
    short_of, past = off.min(axis=1), -off.max(axis=1)
    gaps = np.maximum(short_of, past)
    worst = int(gaps.argmin())
    row = off[worst]
    at = edge[int(row.argmin() if short_of[worst] >= past[worst] else row.argmax())]
    axis = axes[worst]
    towards = at - float(at @ axis) * axis
    towards /= np.linalg.norm(towards)
    on_track = math.cos(flared.away_rad) * axis + math.sin(flared.away_rad) * towards
    return Clearance(radius_in * float(gaps[worst]), at, on_track, float(rings[worst]))


def _between(axes: Array, middle: Vector, away_rad: float, parts: int = 4) -> tuple[Array, Array]:
    """The axes with more of them between each two, the one whose track runs through ``middle``
    too, and how far along the flare each is (0 to 1)."""
    places = np.linspace(0, len(axes) - 1, parts * (len(axes) - 1) + 1)
    off = np.arccos(np.clip(axes @ middle, -1, 1)) - away_rad
    for k in np.flatnonzero(off[:-1] * off[1:] < 0):
        places = np.append(places, k + off[k] / (off[k] - off[k + 1]))
    low = np.minimum(places.astype(int), max(len(axes) - 2, 0))
    part = (places - low)[:, None]
    found = (1 - part) * axes[low] + part * axes[np.minimum(low + 1, len(axes) - 1)]
    found /= np.linalg.norm(found, axis=1)[:, None]
    return found, places / max(len(axes) - 1, 1)
