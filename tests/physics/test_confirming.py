"""Rung 5: the reference solver as rankings use it against :mod:`physics.motion`, tightly.

Both have the full rigid body; one finds each moment at which sliding, rolling and lost hold change,
with steps that follow the error, the other steps over them at fixed distances.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from physics import averaged, confirming, shape, worth
from physics.units import FT_TO_M
from tests.physics import scenes

pytestmark = pytest.mark.slow
OILS = {"house": scenes.HOUSE, "flat": scenes.FLAT}


@cache
def thrown(name: str) -> tuple[scenes.Thrown, np.ndarray]:
    several = scenes.thrown(100, OILS[name])
    return several, several.by_motion()


@pytest.mark.parametrize("name", OILS)
def test_it_ends_where_the_reference_does(name: str) -> None:
    several, exact = thrown(name)
    miss = several.by(confirming, confirming.STEPS) - exact
    # Boards: what is asked of the reference solver wherever speed is told.
    assert np.abs(miss[:, shape.ENTRY_BOARD]).max() < 0.02
    # Degrees and m/s: far less than a delivery is repeated to.
    assert np.abs(miss[:, shape.ENTRY_ANGLE_DEG]).max() < 0.02
    assert np.abs(miss[:, shape.ENTRY_SPEED_M_S]).max() < 0.005
    assert np.abs(miss[:, shape.BREAK_BOARD]).max() < 0.02
    # Metres of track, and of lane where shares of the turn are told.
    assert np.abs(miss[:, shape.FLARE_M]).max() < 0.005
    assert np.abs(miss[:, shape.VISIBLE_FLARE_M]).max() < 0.005
    for column in (shape.SKID_M, shape.QUARTER_M, shape.THREE_QUARTERS_M):
        assert np.array_equal(np.isnan(miss[:, column]), np.isnan(exact[:, column]))
        assert np.nanmax(np.abs(miss[:, column])) < 0.1


def test_more_steps_end_on_the_reference() -> None:
    several, exact = thrown("house")

    def error(steps: int) -> float:
        found = several.by(confirming, steps) - exact
        return float(np.abs(found[:, shape.ENTRY_BOARD]).mean())

    errors = [error(steps) for steps in (60, 120, 240, 480)]
    assert errors == sorted(errors, reverse=True)
    # Boards; the reference is good to a ten thousandth.
    assert np.abs((several.by(confirming, 4800) - exact)[:, shape.ENTRY_BOARD]).max() < 0.002


def test_deliveries_do_not_depend_on_their_neighbours() -> None:
    several, _ = thrown("house")
    together = several.by(confirming, confirming.STEPS)
    for i in (0, 31, 32, 99):
        alone = confirming.run_each(
            several.deliveries[i : i + 1],
            several.bodies[i : i + 1],
            several.closures[i : i + 1],
            several.film_um,
            confirming.STEPS,
        )
        np.testing.assert_array_equal(alone[0], together[i])


def test_one_body_for_all_is_each_with_the_same() -> None:
    option, meet = scenes.option(), scenes.task()
    throws = np.array([scenes.throw(board) for board in np.arange(14.0, 24.0)])
    (mass, radius, gravity, moments), p = worth.body_tuple(option.body)
    bodies = np.tile((mass, radius, gravity, *moments, *p), (len(throws), 1))
    closures = np.tile(option.closure.numbers(), (len(throws), 1))
    each = confirming.run_each(throws, bodies, closures, meet.film_um, confirming.STEPS)
    np.testing.assert_array_equal(worth.reference_rows(option, meet, 1.0, throws), each)


@pytest.mark.parametrize(("exponent", "patch_m"), [(2.0, 0.01524), (1.0, 0.0)])
def test_other_closures_too(exponent: float, patch_m: float) -> None:
    """Another power of the film ratio, and no oil on the ring."""
    closure = scenes.film(0.5, exponent=exponent, patch_m=patch_m)
    option, meet, throw = scenes.option(closure=closure), scenes.task(), scenes.throw()
    shot = worth.reference_shot(
        scenes.man(), option, meet, 1.0, throw, profile_step_m=FT_TO_M, tolerance=1e-8
    )
    body = option.body
    exact = shape.row_of(shot, throw[1], body.mass_kg, body.radius_m, FT_TO_M)
    found = worth.reference_rows(option, meet, 1.0, np.array([throw]))[0]
    assert found[shape.ENTRY_BOARD] == pytest.approx(exact[shape.ENTRY_BOARD], abs=0.02)


def test_a_ball_thrown_into_the_gutter_stays_there() -> None:
    option, meet = scenes.option(), scenes.task()
    row = worth.reference_rows(option, meet, 1.0, np.array([scenes.throw(5.0, 5.0)]))[0]
    assert row[shape.ON_LANE] == 0.0
    assert row[shape.ENTRY_BOARD] == pytest.approx(0.5, abs=0.7)
    assert np.isnan(row[shape.ROLL_M])


def test_a_ball_that_never_gets_there_is_off_the_lane() -> None:
    """Backspin that outlasts the throw: the ball would come back."""
    option, meet = scenes.option(), scenes.task()
    throw = np.array([[0.0, 0.0, 1.5, 50.0, 180.0, 0.0]])
    ball, p = worth.body_tuple(option.body)
    quick = averaged.run_many(
        throw, ball, p, option.closure.numbers(), meet.film_um, averaged.STEPS
    )
    for row in (worth.reference_rows(option, meet, 1.0, throw)[0], quick[0]):
        assert row[shape.ON_LANE] == 0.0
        assert np.isfinite(row[shape.ENTRY_BOARD])


def test_the_adaptive_solver_gets_past_a_lane_that_only_just_holds() -> None:
    """There slip dies away so slowly that steps which follow it would never end."""
    several = scenes.thrown(14, seed=4)
    tight = several.by_motion(1e-9)[-1, shape.ENTRY_BOARD]
    assert tight == pytest.approx(several.by_motion(1e-7)[-1, shape.ENTRY_BOARD], abs=1e-3)
