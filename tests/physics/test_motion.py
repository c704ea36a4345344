"""The reference solver by itself: what comes back of one delivery, row by row.

Source: parabolas of a ball with one moment of inertia through zones of friction (derived, as in
``test_closed_forms``); the referee of ``test_independent_integrator`` where hold is lost. Few
deliveries, so that the solver can be tried uncompiled as well (``make mutation MODULE=motion``).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from physics import friction, motion
from physics.cases import shot
from physics.errors import InputError
from tests.physics.balls_and_lanes import uniform_ball
from tests.physics.referee_motion import STANDARD_GRAVITY_M_S2, play
from tests.physics.test_closed_forms import parabolas, sliding
from tests.physics.test_independent_integrator import agree, strongly_asymmetric

G = STANDARD_GRAVITY_M_S2
BALL = uniform_ball(0.34)
VELOCITY, OMEGA = (7.9, -0.25), (-24.0, 21.0, 6.0)
EDGES, MUS = [4.1, 9.75], [0.04, 0.25, 0.1]
# Asked for out of order, one of them beyond the end.
TIMES = np.array([1.2, 0.0, 9.0, 0.3, 2.0])


def thrown(**changed: Any) -> motion.Shot:
    plain: dict[str, Any] = {
        **BALL,
        "position_m": (0.0, 0.0),
        "velocity_m_s": VELOCITY,
        # Of any length: only its direction says something.
        "orientation": np.array([2.0, 0.0, 0.0, 0.0]),
        "omega_body_rad_s": np.array(OMEGA),
        "friction": friction.zones(np.array(EDGES), np.array(MUS)),
    }
    return motion.deliver(**(plain | changed))


def test_a_lane_that_ends_on_a_row_has_that_row() -> None:
    found = thrown(profile_step_m=0.75, lane_length_m=3.0, sample_times_s=np.array([0.0]))
    assert found.profile.shape == (5, 7)
    exact = parabolas(BALL, VELOCITY, OMEGA, EDGES, MUS, found.profile[:, 0].tolist())
    assert np.allclose(exact[:, 0], 0.75 * np.arange(5), rtol=0, atol=1e-9)
    assert np.allclose(found.profile[:, 1:4], exact[:, 1:], rtol=0, atol=1e-9)
    assert np.isfinite(found.profile).all()
    assert found.profile[-1, 0] == pytest.approx(found.end[0], rel=0, abs=1e-12)
    # And where it ends asked for by its time, it is the end.
    again = thrown(lane_length_m=3.0, sample_times_s=np.array([found.end[0]]))
    assert np.allclose(again.samples[0], found.end, rtol=0, atol=1e-9)
    assert again.profile.shape == (0, 7)
    assert found.roll is None
    # By less than a step of time later, too.
    after = thrown(lane_length_m=3.0, sample_times_s=np.array([found.end[0] + 5e-13]))
    assert np.allclose(after.samples[0], found.end, rtol=0, atol=1e-9)


def test_a_profile_has_the_path_at_every_distance_asked_for() -> None:
    found = thrown(profile_step_m=0.5, sample_times_s=TIMES)
    profile = found.profile
    assert profile.shape == (37, 7)
    times = profile[:, 0]
    exact = parabolas(BALL, VELOCITY, OMEGA, EDGES, MUS, times.tolist())
    # A step of constant acceleration is a cubic's own; after roll a straight line.
    assert np.allclose(exact[:, 0], 0.5 * np.arange(37), rtol=0, atol=1e-6)
    assert np.allclose(profile[:, 1:4], exact[:, 1:], rtol=0, atol=1e-6)
    start = sliding(BALL, VELOCITY, OMEGA, 1.0)
    lost = np.linalg.norm(exact[:, 2:] - np.array(VELOCITY), axis=1)
    assert np.allclose(profile[:, 4], start["slip"] - (1 + 1 / 0.34) * lost, rtol=0, atol=1e-6)
    zones = np.searchsorted(EDGES, 0.5 * np.arange(37), side="right")
    assert np.allclose(profile[:, 5], np.array(MUS)[zones], rtol=0, atol=1e-12)
    assert not profile[:, 6].any()
    # It rolls before the lane ends, or the rows after that would say nothing.
    assert found.roll is not None
    assert profile[-1, 4] == pytest.approx(0.0, rel=0, abs=1e-7)

    rows = parabolas(BALL, VELOCITY, OMEGA, EDGES, MUS, TIMES.tolist())
    for n, when in enumerate(TIMES):
        if when == 9.0:
            assert np.isnan(found.samples[n]).all()
            continue
        assert found.samples[n, 0] == pytest.approx(when, rel=0, abs=1e-12)
        assert np.allclose(found.samples[n, 1:5], rows[n], rtol=0, atol=1e-7)
    first = found.samples[1]
    assert first[5:9].tolist() == [1.0, 0.0, 0.0, 0.0]
    assert np.allclose(first[9:12], OMEGA, rtol=0, atol=1e-12)
    moment = 6.8 * 0.34 * 0.108**2
    assert np.allclose(first[12:15], moment * np.array(OMEGA), rtol=0, atol=1e-12)
    assert first[15:].tolist() == [0.0, 0.0]

    assert found.reached is True
    assert found.end[1] == pytest.approx(18.288, rel=0, abs=1e-11)
    last = parabolas(BALL, VELOCITY, OMEGA, EDGES, MUS, [found.end[0]])[0]
    assert np.allclose(found.end[1:5], last, rtol=0, atol=1e-6)
    when, x, y = found.roll
    place = parabolas(BALL, VELOCITY, OMEGA, EDGES, MUS, [when + 1e-9])[0]
    assert [x, y] == pytest.approx(place[:2].tolist(), rel=0, abs=1e-6)
    # A ball of one moment of inertia keeps its axis where it is.
    assert found.flare_m == pytest.approx(0.0, rel=0, abs=1e-12)


def test_a_ball_that_starts_at_the_end_has_arrived() -> None:
    found = thrown(position_m=(18.288, 0.4))
    assert found.reached is True
    assert found.end[:5].tolist() == [0.0, 18.288, 0.4, *VELOCITY]


def oil(film_um: float) -> friction.Friction:
    closure = friction.Film(0.04, 0.25, 1.5, patch_m=0.0)
    return friction.oiled(
        np.array([0.0, 20.0]), np.array([-1.0, 1.0]), np.full((2, 2), film_um), closure
    )


@pytest.mark.parametrize(("film_um", "seen"), [(3.0, True), (0.1, False)])
def test_oil_is_felt_and_its_rings_are_seen_where_there_is_enough(
    film_um: float, seen: bool
) -> None:
    ball = {**BALL, "principal_rg_m": (0.0630, 0.0640, 0.0650)}
    found = thrown(**ball, friction=oil(film_um), lane_length_m=2.0, profile_step_m=0.5)
    assert np.allclose(found.profile[:, 6], film_um, rtol=0, atol=1e-12)
    # The closure as it is written: mu_oil + (mu_dry - mu_oil) / (1 + film / scale).
    assert np.allclose(found.profile[:, 5], 0.04 + 0.21 / (1 + film_um / 1.5), rtol=0, atol=1e-12)
    assert found.flare_m > 1e-3
    assert found.visible_flare_m == (found.flare_m if seen else 0.0)
    assert found.end[16] == found.flare_m


def test_oil_is_read_where_the_ball_is() -> None:
    """The lane's own film at every row, between unequal lines along and across, by SciPy."""
    along, across = np.array([0.0, 0.7, 2.0, 20.0]), np.array([-1.0, -0.1, 0.05, 1.0])
    film = np.add.outer([30.0, 12.0, 21.0, 3.0], [1.0, 4.0, 0.0, 2.0])
    lane = friction.oiled(along, across, film, friction.Film(0.04, 0.25, 1.5, patch_m=0.0))
    found = thrown(friction=lane, lane_length_m=6.0, profile_step_m=0.4)
    places = np.column_stack([0.4 * np.arange(16), found.profile[:, 1]])
    expected = RegularGridInterpolator((along, across), film)(places)
    assert np.allclose(found.profile[:, 6], expected, rtol=0, atol=1e-9)
    # Friction goes evenly within a step, as nearly as steps are short.
    felt = 0.04 + 0.21 / (1 + expected / 1.5)
    assert np.allclose(found.profile[:, 5], felt, rtol=0, atol=5e-5)


def cliff() -> friction.Friction:
    """Oil of a friction coefficient of 0.0505 that ends within a tenth of a millimetre."""
    along, across = np.array([0.0, 5.0, 5.0001, 20.0]), np.array([-1.0, 1.0])
    film = np.repeat([[28.5], [28.5], [0.0], [0.0]], 2, axis=1)
    return friction.oiled(along, across, film, friction.Film(0.04, 0.25, 1.5, patch_m=0.0))


def test_a_cliff_of_oil_is_met_as_an_edge_and_not_stepped_over() -> None:
    """It is, nearly, an edge between zones; a step whose error is seen must be taken back."""
    found = thrown(friction=cliff(), lane_length_m=7.0)
    exact = parabolas(BALL, VELOCITY, OMEGA, [5.00005], [0.0505, 0.25], [found.end[0]])[0]
    assert np.allclose(found.end[1:5], exact, rtol=0, atol=5e-5)


@pytest.mark.parametrize("mu", [0.02, 0.2])
def test_roll_begins_when_slip_ends(mu: float) -> None:
    """Derived: slip is lost at (1 + 1 / 0.34) mu g, 0.34 the moment of inertia by m r^2."""
    found = thrown(friction=friction.constant(mu), lane_length_m=60.0)
    slip = sliding(BALL, VELOCITY, OMEGA, mu)["slip"]
    assert found.roll is not None
    assert found.roll[0] == pytest.approx(slip / ((1 + 1 / 0.34) * mu * G), rel=0, abs=2e-8)


def test_backspin_as_fast_as_the_speed_stops_the_ball() -> None:
    """Derived: after v0^2 / (2 mu g), in v0 / (mu g); it is the end, not the pins."""
    omega = np.array([0.0, -5.0 / (0.34 * 0.108), 0.0])
    found = thrown(velocity_m_s=(5.0, 0.0), omega_body_rad_s=omega, friction=friction.constant(0.2))
    assert found.reached is False
    assert found.end[0] == pytest.approx(5.0 / (0.2 * G), rel=0, abs=1e-6)
    assert found.end[1] == pytest.approx(25.0 / (0.4 * G), rel=0, abs=1e-7)
    assert abs(found.end[3]) < 1e-7


def test_a_ball_that_is_turned_round_ends_where_it_stands_though_it_drifts() -> None:
    """Derived: friction against one direction of slip; the way down the lane is used up first."""
    spin = np.array([3.0, -150.0, 0.0])
    found = thrown(velocity_m_s=(4.0, 0.3), omega_body_rad_s=spin, friction=friction.constant(0.2))
    slip = np.array([4.0 + 150.0 * 0.108, 0.3 + 3.0 * 0.108])
    pull = 0.2 * G * slip / np.linalg.norm(slip)
    assert found.reached is False
    assert found.end[0] == pytest.approx(4.0 / pull[0], rel=0, abs=1e-7)
    assert found.end[4] == pytest.approx(0.3 - 4.0 * pull[1] / pull[0], rel=0, abs=1e-7)


def test_a_ball_let_go_at_full_roll_rolls_from_the_first_instant() -> None:
    found = thrown(
        velocity_m_s=(7.0, 0.5),
        omega_body_rad_s=np.array([-0.5, 7.0, 1.0]) / 0.108,
        lane_length_m=2.0,
    )
    assert found.roll == (0.0, 0.0, 0.0)
    assert found.end[0] == pytest.approx(2.0 / 7.0, rel=0, abs=1e-9)
    assert found.end[2] == pytest.approx(1.0 / 7.0, rel=0, abs=1e-9)


def test_a_ball_the_lane_cannot_hold_slips_again_as_the_referee_says() -> None:
    lane = {"type": "zones", "until_m": [3.0, 6.0], "mu": [0.3, 0.2, 0.0]}
    case = strongly_asymmetric(lane, "right")
    case |= {"lane_length_m": 8.0, "sample_times_s": [0.4, 0.7, 0.9]}
    expected = play(case)
    agree(case, shot(case), expected)


def test_a_delivery_that_takes_too_many_steps_is_refused_and_not_called_stopped() -> None:
    with pytest.raises(InputError) as refused:
        thrown(most_steps=5)
    assert refused.value.field == "release"
    assert "within 5 steps" in str(refused.value)
    assert refused.value.value == list(VELOCITY)


CLOCK = np.arange(0.0, 1.5, 0.02)
STRONG = (0.0600, 0.0640, 0.0700)
NEARLY = {"velocity_m_s": (1.0, 0.0), "omega_body_rad_s": np.array([0.0, 0.98 / 0.108, 0.5])}


@pytest.mark.parametrize(
    ("changed", "tolerance", "steps"),
    [
        ({"friction": cliff(), "lane_length_m": 7.0}, 1e-8, 208),
        ({"friction": friction.constant(0.02), "principal_rg_m": STRONG}, 1e-6, 189),
        ({"friction": friction.constant(0.1), "principal_rg_m": STRONG}, 1e-6, 418),
        ({"friction": friction.constant(0.1), "sample_times_s": CLOCK}, 1e-6, 388),
        # Nearly at roll: nine tenths of what slip is left, and again.
        ({**NEARLY, "friction": friction.constant(0.2), "lane_length_m": 0.05}, 1e-6, 11),
    ],
)
def test_a_delivery_takes_no_more_steps_than_it_did(
    changed: dict[str, Any], tolerance: float, steps: int
) -> None:
    """What it took when this was written (no source), and a hundredth: a step too short costs time
    and no accuracy, so no other test would tell."""
    thrown(**BALL | changed, tolerance=tolerance, most_steps=steps + 1 + steps // 100)
    with pytest.raises(InputError):
        thrown(**BALL | changed, tolerance=tolerance, most_steps=steps // 2)


def test_no_step_is_longer_than_a_twentieth_of_a_second() -> None:
    """However little is asked of it: rows of the profile and rings lie within steps."""
    slow = {"velocity_m_s": (1.0, 0.0), "omega_body_rad_s": np.array([0.0, 1.0 / 0.108, 0.0])}
    with pytest.raises(InputError):
        thrown(**slow, lane_length_m=0.5, tolerance=1.0, most_steps=10)
    thrown(**slow, lane_length_m=0.5, tolerance=1.0, most_steps=15)


def test_an_offset_that_lifts_the_ball_is_refused_with_its_time() -> None:
    """Derived: at 32 rad/s and 20 mm the pull of the offset is more than its weight."""
    with pytest.raises(InputError) as refused:
        thrown(centre_of_mass_m=(0.001, -0.002, 0.02))
    assert refused.value.field == "ball.centre_of_mass_m"
    assert refused.value.value == [0.001, -0.002, 0.02]


def test_a_wider_tolerance_gives_nearly_the_same_sooner() -> None:
    ball = {**BALL, "principal_rg_m": (0.0630, 0.0640, 0.0650)}
    fine, rough = (
        thrown(**ball, lane_length_m=4.0, friction=friction.constant(0.1), tolerance=tolerance)
        for tolerance in (1e-10, 1e-5)
    )
    apart = float(np.abs(fine.end[1:5] - rough.end[1:5]).max())
    assert 1e-12 < apart < 1e-3
    assert math.isfinite(rough.flare_m)
