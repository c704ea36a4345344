"""The track: the ring that touches the lane, and how near it runs to the holes.

The ring is the circle whose points lie 90 degrees plus the tilt from the PAP. Flare moves its
centre along the ball; clearance is taken over the whole band.
"""

import math
from collections.abc import Sequence

import numpy as np
from numba import njit
from numpy.typing import NDArray

from physics.body import Body, Hole
from physics.layout import Layout, on_sphere

Array = NDArray[np.float64]

STANDARD_CIRCUMFERENCE_IN = 27.0
# Parts of an axis' way over the ball.
STEPS = 24


def track_radius_in(tilt_deg: float, circumference_in: float = STANDARD_CIRCUMFERENCE_IN) -> float:
    """Arc from the PAP to the track, inches: a quarter circumference plus the tilt's arc."""
    return circumference_in * (90 + tilt_deg) / 360


def hole_clearance_in(
    pap_over_in: float,
    pap_up_in: float,
    tilt_deg: float,
    hole_over_in: float,
    hole_up_in: float,
    hole_diameter_in: float,
    circumference_in: float = STANDARD_CIRCUMFERENCE_IN,
) -> float:
    """Arc from a hole's edge to the first track, inches; negative where the track cuts the hole.

    Positive on the PAP side of the track, where gripping holes of usual tracks lie. A hole on the
    far side counts by its distance from there, so that a full roller's holes are clear too.
    """
    radius = circumference_in / (2 * math.pi)
    pap = on_sphere(pap_over_in / radius, pap_up_in / radius)
    hole = on_sphere(hole_over_in / radius, hole_up_in / radius)
    arc = radius * math.acos(max(-1.0, min(1.0, float(pap @ hole))))
    return abs(track_radius_in(tilt_deg, circumference_in) - arc) - hole_diameter_in / 2


def axis_path(body: Body, flare_m: float, steps: int = STEPS) -> Array:
    """The axis' way over the ball as unit vectors in the grip frame, ``steps`` + 1 rows.

    The free polhode from the PAP, in the sense the spin drives it, until it has moved by
    ``flare_m`` of surface arc.
    """
    return np.asarray(_axis_paths([body], [flare_m], steps)[0])


def _axis_paths(bodies: Sequence[Body], flares_m: Sequence[float] | Array, steps: int) -> Array:
    """:func:`axis_path` of each body by its own flare (bodies x steps + 1 x 3)."""
    inertia = np.array([body.principal_rg_m for body in bodies]) ** 2
    starts = inertia * np.array([body.pap_body for body in bodies])
    starts /= np.linalg.norm(starts, axis=1)[:, None]
    arcs = np.array(flares_m) / np.array([body.radius_m for body in bodies])
    axes = _polhodes(starts, inertia, arcs, steps) / inertia[:, None, :]
    axes /= np.linalg.norm(axes, axis=2)[:, :, None]
    paths: Array = axes @ np.array([body.principal_axes for body in bodies])
    return paths


@njit(nogil=True, cache=True, error_model="numpy")
def _drift(q0, q1, q2, inertia):  # type: ignore[no-untyped-def]
    """Rate p x J^-1 p of the free polhode, for unit momentum."""
    w0, w1, w2 = q0 / inertia[0], q1 / inertia[1], q2 / inertia[2]
    return q1 * w2 - q2 * w1, q2 * w0 - q0 * w2, q0 * w1 - q1 * w0


@njit(nogil=True, cache=True, error_model="numpy")
def _polhode(p, inertia, arc, steps, out):  # type: ignore[no-untyped-def]
    q0, q1, q2 = p[0], p[1], p[2]
    out[0, 0], out[0, 1], out[0, 2] = q0, q1, q2
    for i in range(steps):
        done = 0.0
        want = arc / steps
        # Of the smallest floats a step may round to nothing: what is left then is nothing too.
        while want - done > 1e-15:
            r0, r1, r2 = _drift(q0, q1, q2, inertia)
            speed = math.sqrt(r0 * r0 + r1 * r1 + r2 * r2)
            if speed < 1e-9:
                break
            h = min(want - done, 0.01) / speed
            half = 0.5 * h
            r0, r1, r2 = _drift(q0 + half * r0, q1 + half * r1, q2 + half * r2, inertia)
            q0, q1, q2 = q0 + h * r0, q1 + h * r1, q2 + h * r2
            n = 1.0 / math.sqrt(q0 * q0 + q1 * q1 + q2 * q2)
            q0, q1, q2 = q0 * n, q1 * n, q2 * n
            done += h * speed
        out[i + 1, 0], out[i + 1, 1], out[i + 1, 2] = q0, q1, q2


@njit(nogil=True, cache=True, error_model="numpy")
def _polhodes(starts, inertia, arcs, steps):  # type: ignore[no-untyped-def]
    out = np.empty((starts.shape[0], steps + 1, 3))
    for n in range(starts.shape[0]):
        _polhode(starts[n], inertia[n], arcs[n], steps, out[n])
    return out


def flare_clearances_in(
    body: Body, layout: Layout, holes: Sequence[Hole], tilt_deg: float, flare_m: float
) -> list[float]:
    """Least clearance of each hole's edge to any track of the flare, inches; negative is a hit.

    An oval hole counts as one as wide as it is long. :mod:`physics.plate` says where, to its edge.

    ``flare_m``: arc the axis moves while the ball still meets oil or slips.
    """
    found = least_clearances_in([body], layout.radius_in, holes, tilt_deg, [flare_m])
    return [float(clear) for clear in found[0]]


def least_clearances_in(
    bodies: Sequence[Body],
    radius_in: float,
    holes: Sequence[Hole],
    tilt_deg: float,
    flares_m: Sequence[float] | Array,
) -> Array:
    """:func:`flare_clearances_in` of several balls with the same holes (balls x holes)."""
    bands = _axis_paths(bodies, flares_m, STEPS)
    away = math.radians(90 + tilt_deg)
    found = np.empty((len(bodies), len(holes)))
    for n, hole in enumerate(holes):
        at = on_sphere(hole.over_in / radius_in, hole.up_in / radius_in)
        arcs = np.arccos(np.clip(bands @ at, -1, 1)) - away
        # A sign change along the band means the track swept over the hole's centre.
        over = (arcs.min(axis=1) < 0) & (arcs.max(axis=1) > 0)
        nearest = np.where(over, 0.0, np.abs(arcs).min(axis=1))
        found[:, n] = radius_in * nearest - hole.widest_in / 2
    return found
