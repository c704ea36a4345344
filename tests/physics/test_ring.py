"""A circle through points of the first oil ring: the PAP and the tilt, and how well they are told.

Sources: the ring's points lie 90 degrees plus the tilt from the PAP (common practice; a circle on
the sphere, derived). SciPy's least squares on the distances along the surface is the referee: it
shares neither the plane nor the covariance's formula with the fit.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import least_squares

from physics import ring
from physics.errors import InputError
from tests.physics.referee_geometry import arc_in, over_up_in, point, turn, walk

Array = NDArray[np.float64]
RADIUS_IN = 27 / (2 * math.pi)
TRUTH = (5.0, 0.5, 12.0)


def marked(
    truth: tuple[float, float, float] = TRUTH,
    *,
    arc_deg: float = 180.0,
    count: int = 6,
    error_in: float = 0.0,
    seed: int = 0,
    radius_in: float = RADIUS_IN,
    pushed: int | None = None,
) -> list[list[float]]:
    """Points walked off from the PAP, spread about the grip's side, each moved at random.

    The point ``pushed`` is marked half an inch too far from the PAP.
    """
    over, up, tilt = truth
    pap = point(over, up, radius_in)
    grip = np.array([0.0, 0.0, 1.0])
    heading = grip - (grip @ pap) * pap
    heading /= np.linalg.norm(heading)
    rng = np.random.default_rng(seed)
    found = []
    for i, angle in enumerate(np.linspace(-arc_deg / 2, arc_deg / 2, count)):
        away = math.radians(90 + tilt) + (0.5 / radius_in if i == pushed else 0.0)
        at = walk(pap, turn(heading, pap, float(angle)), away)
        step = rng.normal(0.0, error_in / radius_in, 3)
        at = at + step - (step @ at) * at
        found.append(list(over_up_in(at / np.linalg.norm(at), radius_in)))
    return found


@settings(deadline=None)
@given(
    over=st.floats(3.0, 6.7),
    up=st.floats(-2.0, 2.0),
    tilt=st.floats(0.5, 35.0),
    arc=st.floats(140.0, 340.0),
    count=st.integers(3, 9),
    size=st.floats(26.7, 27.0),
)
def test_points_of_a_ring_give_back_its_pap_and_tilt(
    over: float, up: float, tilt: float, arc: float, count: int, size: float
) -> None:
    radius = size / (2 * math.pi)
    assume(2 * math.pi * radius * math.cos(math.radians(tilt)) * arc / 360 > 5)
    points = marked((over, up, tilt), arc_deg=arc, count=count, radius_in=radius)
    found = ring.fit(points, circumference_in=size, point_in=0.01)
    assert found.pap_over_in == pytest.approx(over, rel=0, abs=1e-6)
    assert found.pap_up_in == pytest.approx(up, rel=0, abs=1e-6)
    assert found.tilt_deg == pytest.approx(tilt, rel=0, abs=1e-5)
    assert np.abs(found.residuals_in).max() < 1e-7


def by_scipy(points: list[list[float]], error_in: float) -> tuple[Array, Array]:
    """PAP over, up (in) and tilt (deg) of least distances along the surface, and their errors."""
    units = [point(over, up, RADIUS_IN) for over, up in points]

    def off(numbers: Array) -> list[float]:
        pap = point(float(numbers[0]), float(numbers[1]), RADIUS_IN)
        away = math.radians(90 + float(numbers[2])) * RADIUS_IN
        return [arc_in(u, pap, RADIUS_IN) - away for u in units]

    found = least_squares(off, [5.3, 0.0, 15.0], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    # Points that scatter more than stated widen the error by as much (Birge's ratio).
    scatter = 2 * found.cost / (len(points) - 3)
    covariance = np.linalg.inv(found.jac.T @ found.jac) * max(error_in**2, scatter)
    return np.asarray(found.x), np.sqrt(np.diag(covariance))


@pytest.mark.parametrize("seed", range(8))
def test_the_fit_and_its_errors_are_those_of_least_squares_on_the_surface(seed: int) -> None:
    points = marked((5.3, -0.4, 9.0 + 2 * seed), arc_deg=200, count=7, error_in=0.04, seed=seed)
    found = ring.fit(points)
    theirs, errors = by_scipy(points, ring.POINT_IN)
    ours = np.array([found.pap_over_in, found.pap_up_in, found.tilt_deg])
    # The two differ by the square of the points' error: a hundredth of the standard error.
    assert np.all(np.abs(ours - theirs) < 0.03 * errors)
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(errors, rel=1e-3)


RINGS = [(330.0, 8), (180.0, 5), (150.0, 4), (180.0, 3)]


def inside_two_errors(arc: float, count: int) -> Array:
    """Share of 300 marked rings whose PAP over, up and tilt lie within two stated errors."""
    inside = np.zeros(3)
    tried = 300
    for seed in range(tried):
        points = marked(arc_deg=arc, count=count, error_in=ring.POINT_IN, seed=seed)
        found = ring.fit(points)
        errors = np.sqrt(np.diag(found.covariance))
        away = np.array([found.pap_over_in, found.pap_up_in, found.tilt_deg]) - TRUTH
        inside += np.abs(away) < 2 * errors
    return inside / tried


@pytest.mark.parametrize(("arc", "count"), RINGS)
def test_two_standard_errors_hold_the_truth_as_often_as_they_should(arc: float, count: int) -> None:
    inside = inside_two_errors(arc, count)
    assert np.all(inside > 0.90), inside
    assert np.all(inside < 0.99), inside


def test_a_longer_arc_and_more_points_tell_more() -> None:
    short, half, whole = (
        ring.fit(marked(arc_deg=arc, count=count)).quantities()
        for arc, count in ((110, 6), (180, 6), (330, 12))
    )
    for name in ("pap_over_in", "tilt_deg"):
        assert whole[name].own < half[name].own < short[name].own
    # What placing the grip centre adds moves all points together, and no tilt.
    assert whole["pap_over_in"].shared == half["pap_over_in"].shared > 0
    assert whole["tilt_deg"].shared == 0


def test_what_points_would_tell_is_known_before_they_are_marked() -> None:
    told, found = ring.expected(*TRUTH), ring.fit(marked()).quantities()
    for name, reading in told.items():
        assert reading.value == pytest.approx(found[name].value, abs=1e-6)
        assert reading.error == pytest.approx(found[name].error, rel=1e-6)


def test_a_full_roller_has_no_tilt_and_its_pap_a_quarter_round() -> None:
    found = ring.fit(marked((6.75, 0.0, 0.0), arc_deg=300, count=8, error_in=0.03, seed=4))
    assert found.quantities()["tilt_deg"].value == pytest.approx(0.0, abs=1.0)
    assert found.pap_over_in == pytest.approx(6.75, rel=0, abs=0.15)


def refused(points: list[list[float]], **kwargs: float) -> InputError:
    with pytest.raises(InputError) as info:
        ring.fit(points, **kwargs)
    return info.value


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_points_are_no_circle(count: int) -> None:
    error = refused(marked()[:count])
    assert error.field == "points"
    assert "at least 3" in error.allowed


def test_points_on_each_other_are_named() -> None:
    a, b = marked()[:2]
    error = refused([a, b, [b[0] + 0.05, b[1]]])
    assert error.field == "points[2]"
    assert "points[1]" in error.allowed
    # Where enough others tell the circle, a point marked twice does no harm.
    every = marked()
    assert ring.fit([*every, every[0]]).tilt_deg == pytest.approx(12.0, abs=1e-6)


@pytest.mark.parametrize("wrong", range(6))
def test_a_point_off_the_ring_is_named_with_what_to_do(wrong: int) -> None:
    error = refused(marked(error_in=0.03, seed=2, arc_deg=300, pushed=wrong))
    assert error.field == f"points[{wrong}]"
    assert "measure it again" in error.allowed


def test_with_four_points_none_is_blamed() -> None:
    assert "mark a fifth" in refused(marked(count=4, arc_deg=240, pushed=1)).allowed


def test_points_of_no_circle_at_all_are_refused() -> None:
    error = refused([[0, 0], [3, 3], [-3, 3], [3, -3], [-2, -4], [5, 0.5]])
    assert error.field.startswith("points[")
    assert "one circle" in error.allowed


@pytest.mark.parametrize("arc", [10.0, 30.0, 50.0])
def test_too_short_an_arc_is_refused_with_how_little_it_tells(arc: float) -> None:
    error = refused(marked(arc_deg=arc))
    assert error.field == "points"
    assert "longer arc" in error.allowed


def test_overs_of_the_wrong_sign_are_seen() -> None:
    mirrored = [[-over, up] for over, up in marked(arc_deg=240)]
    error = refused(mirrored)
    assert "signs" in error.allowed


def test_points_that_scatter_more_than_stated_widen_the_error() -> None:
    points = marked(error_in=0.06, seed=11, count=9, arc_deg=240)
    stated, careless = (ring.fit(points, point_in=error) for error in (0.06, 0.045))
    assert np.allclose(stated.residuals_in, careless.residuals_in)
    ratio = careless.covariance[2, 2] / stated.covariance[2, 2]
    # Halving the claim doesn't halve the error squared: the scatter speaks.
    assert ratio > 1.05 * (0.045 / 0.06) ** 2


def test_points_in_one_place_say_nothing_of_the_circle() -> None:
    here = point(3.0, 1.0, RADIUS_IN)
    away = np.full(3, 1.5)
    assert np.isinf(ring._covariance(np.tile(here, (3, 1)), here, away, 1.2, 0.1)).all()
