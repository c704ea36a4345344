"""The PAP and the tilt from points of the first oil ring: a small circle fitted on the sphere.

Every point of the first ring lies 90 degrees plus the tilt from the PAP. Unit vectors of points on
a circle lie in a plane, n·u = −sin(tilt) with n the PAP; total least squares takes for n the
direction in which the points scatter least. On the sphere a point off the plane by d is off the
circle by d / cos(tilt) of arc, the same factor for all, so this also minimises the distances on the
surface, to second order in them. The covariance is that of the linearised distances
acos(n·u) − (90° + tilt) (Gauss-Markov), for points marked equally well in every direction.

Frame: the grip frame of :mod:`physics.layout`; over is positive towards the PAP for either hand.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from physics.errors import InputError
from physics.layout import on_sphere, over_up_rad
from physics.readings import GRIP_CENTRE_IN, Quantity
from physics.track import STANDARD_CIRCUMFERENCE_IN

Array = NDArray[np.float64]

# How well a point of an oil line an eighth of an inch wide is marked and measured, along and
# across, as a standard error (estimate).
POINT_IN = 0.06
LEAST_POINTS = 3
# A fit that knows the PAP or the tilt no better than this knows less than who has seen the bowler
# walk in: bowlers differ by about 0.6 in and 5 degrees.
WIDEST_PAP_IN, WIDEST_TILT_DEG = 0.6, 5.0
# Chance of refusing points that do lie on one circle: one in ten thousand.
REFUSED_Z = 3.72


@dataclass(frozen=True)
class Ring:
    """A fitted first ring.

    ``covariance``: of PAP over (in), PAP up (in) and tilt (deg), in that order, without what
    placing the grip centre adds. ``residuals_in``: each point's distance on the surface from the
    circle, positive away from the PAP.
    """

    pap_over_in: float
    pap_up_in: float
    tilt_deg: float
    covariance: Array
    residuals_in: Array

    def quantities(self) -> dict[str, Quantity]:
        """PAP over, PAP up and tilt as readings. A tilt fitted below 0 is a full roller's, 0."""
        errors = np.sqrt(np.diag(self.covariance))
        how = f"circle through {len(self.residuals_in)} points of the first ring"
        raw = {"ring_points": float(len(self.residuals_in))}
        return {
            "pap_over_in": Quantity(self.pap_over_in, float(errors[0]), GRIP_CENTRE_IN, how, raw),
            "pap_up_in": Quantity(self.pap_up_in, float(errors[1]), GRIP_CENTRE_IN, how, raw),
            "tilt_deg": Quantity(max(0.0, self.tilt_deg), float(errors[2]), 0.0, how, raw),
        }


def fit(
    points_in: Sequence[Sequence[float]],
    *,
    circumference_in: float = STANDARD_CIRCUMFERENCE_IN,
    point_in: float = POINT_IN,
) -> Ring:
    """The ring through three or more points given as (over, up) inches.

    ``point_in``: standard error of a point in each direction. Raises :class:`InputError` naming the
    point and the remedy for points that are too few, coincide, span too short an arc, or lie on no
    circle about a PAP on the positive side of the grip.
    """
    radius = circumference_in / (2 * math.pi)
    error = point_in / radius
    units = np.array([on_sphere(over / radius, up / radius) for over, up in points_in])
    _apart(points_in, units, error)
    normal = _normal(units)
    away = np.arctan2(np.linalg.norm(np.cross(units, normal), axis=1), units @ normal)
    middle = float(away.mean())
    residuals = away - middle
    free = len(units) - 3
    square = float(residuals @ residuals) / error**2
    if free and square > _chi_square(free):
        raise _no_circle(points_in, units, residuals * radius, free)
    over, up = over_up_rad(normal)
    covariance = _covariance(units, normal, away, over, up) * error**2
    if free:
        # Points scattered more than they should be say that they were marked less well.
        covariance = covariance * max(1.0, square / free)
    scale = np.array([radius, radius, math.degrees(1.0)])
    covariance = covariance * np.outer(scale, scale)
    spread = np.sqrt(np.diag(covariance))
    if not (max(spread[0], spread[1]) <= WIDEST_PAP_IN and spread[2] <= WIDEST_TILT_DEG):
        raise InputError(
            "points",
            [list(p) for p in points_in],
            f"points over a longer arc of the ring: these leave the PAP ± {_said(spread[0])} in "
            f"over and {_said(spread[1])} in up, the tilt ± {_said(spread[2])}°; mark points as "
            "far round the ring as it shows",
        )
    tilt = math.degrees(middle) - 90
    if tilt < -3 * spread[2] or over <= 0:
        raise InputError(
            "points",
            [list(p) for p in points_in],
            "points of a ring farther from the PAP than a quarter of the way round, over positive "
            f"towards the PAP for either hand (these lie {middle * radius:.2f} in from a PAP "
            f"{over * radius:.2f} in over); see to the signs of over and up, and that it is the "
            "ring and not the axis that was marked",
        )
    return Ring(over * radius, up * radius, tilt, covariance, residuals * radius)


def expected(
    pap_over_in: float,
    pap_up_in: float,
    tilt_deg: float,
    *,
    count: int = 6,
    arc_deg: float = 180.0,
    circumference_in: float = STANDARD_CIRCUMFERENCE_IN,
    point_in: float = POINT_IN,
) -> dict[str, Quantity]:
    """What points spread over an arc of such a ring would tell of the PAP and the tilt.

    The arc is centred on the ring's point nearest the grip.
    """
    radius = circumference_in / (2 * math.pi)
    pap = on_sphere(pap_over_in / radius, pap_up_in / radius)
    towards = np.array([0.0, 0.0, 1.0]) - pap[2] * pap
    towards /= np.linalg.norm(towards)
    turns = np.radians(np.linspace(-arc_deg / 2, arc_deg / 2, count))
    around = np.outer(np.cos(turns), towards) + np.outer(np.sin(turns), np.cross(pap, towards))
    tilt = math.radians(tilt_deg)
    points = [over_up_rad(u) for u in -math.sin(tilt) * pap + math.cos(tilt) * around]
    inches = [(over * radius, up * radius) for over, up in points]
    return fit(inches, circumference_in=circumference_in, point_in=point_in).quantities()


def _normal(units: Array) -> Array:
    """The circle's axis on the PAP's side: over positive."""
    centred = units - units.mean(axis=0)
    normal = np.linalg.svd(centred)[2][2]
    return np.asarray(normal if normal[0] > 0 else -normal)


def _covariance(units: Array, normal: Array, away: Array, over: float, up: float) -> Array:
    """Covariance of (over, up, radius), radians, for points with a standard error of one radian.

    A tangent step t of the axis changes a point's distance by −t·u / sin(distance).
    """
    by_over = np.array([math.cos(over), 0.0, -math.sin(over)]) * math.cos(up)
    by_up = np.array([-math.sin(up) * math.sin(over), math.cos(up), -math.sin(up) * math.cos(over)])
    sines = np.sin(away)
    rows = np.column_stack(
        [-(units @ by_over) / sines, -(units @ by_up) / sines, -np.ones(len(units))]
    )
    squares = rows.T @ rows
    if np.linalg.cond(squares) > 1e12:
        return np.full((3, 3), np.inf)
    return np.asarray(np.linalg.inv(squares))


def _apart(points_in: Sequence[Sequence[float]], units: Array, error: float) -> None:
    """Refuse fewer than three points that can be told apart."""
    if len(units) < LEAST_POINTS:
        raise InputError(
            "points",
            [list(p) for p in points_in],
            f"at least {LEAST_POINTS} points of the first ring; mark more of them",
        )
    near = 3 * math.sqrt(2) * error
    told: list[int] = []
    same: tuple[int, int] | None = None
    for i in range(len(units)):
        twin = next((j for j in told if float(np.linalg.norm(units[i] - units[j])) < near), None)
        if twin is None:
            told.append(i)
        else:
            same = same or (twin, i)
    if same is not None and len(told) < LEAST_POINTS:
        raise InputError(
            f"points[{same[1]}]",
            list(points_in[same[1]]),
            f"a point apart from points[{same[0]}]: at least {LEAST_POINTS} points that can be "
            "told apart; mark another one farther round the ring",
        )


def _no_circle(
    points_in: Sequence[Sequence[float]], units: Array, residuals_in: Array, free: int
) -> InputError:
    """The refusal of points on no circle, naming the one whose leaving out helps most.

    With one point more than a circle needs, leaving out any one of them makes the rest fit.
    """
    if free == 1:
        worst = int(np.argmax(np.abs(residuals_in)))
        told = "with four points none can be told to be the wrong one: mark a fifth"
    else:
        left = [_scatter(np.delete(units, i, axis=0)) for i in range(len(units))]
        worst = int(np.argmin(left))
        told = f"points[{worst}] is the worst: measure it again, or leave it out"
    off = float(np.abs(residuals_in).max())
    return InputError(
        f"points[{worst}]",
        list(points_in[worst]),
        f"points of one circle (these miss the best one by up to {off:.2f} in); {told}; or the "
        "points are of different rings: the first is the one nearest the grip",
    )


def _scatter(units: Array) -> float:
    """Sum of squared distances from the best plane."""
    return float(np.linalg.svd(units - units.mean(axis=0), compute_uv=False)[2] ** 2)


def _chi_square(free: int) -> float:
    """Bound of the sum of squares that honest points pass with one chance in ten thousand.

    Wilson & Hilferty, "The distribution of chi-square" (PNAS 17, 1931).
    """
    part = 2 / (9 * free)
    return float(free * (1 - part + REFUSED_Z * math.sqrt(part)) ** 3)


def _said(spread: float) -> str:
    return f"{spread:.1f}" if math.isfinite(spread) else "anything"
