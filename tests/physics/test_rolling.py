"""The rolling phase: Chaplygin's ball (1903).

Source: integrals |K|, K.gamma, energy of a balanced ball rolling on a plane (that the problem is
integrable is read in Borisov, Kilin & Mamaev's abstracts; the formulas are derived), with
K = J w + m R^2 (w - (w.gamma) gamma) in the body frame and gamma the vertical.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from physics.cases import shot
from tests.physics.balls_and_lanes import IN_TO_M, bowlers_numbers, spinning, uniform_ball
from tests.physics.referee_motion import (
    STANDARD_GRAVITY_M_S2,
    UP,
    Array,
    lane_quantities,
    moments_kg_m2,
)

REAL_BALL = {
    "mass_kg": 6.8,
    "radius_m": 0.1085,
    "principal_rg_m": [2.48 * IN_TO_M, 2.50 * IN_TO_M, 2.525 * IN_TO_M],
}


def rolling_samples(ball: dict[str, Any], mu: float = 0.45) -> tuple[dict[str, Any], list[Any]]:
    """A ball on friction strong enough to hold it, and its samples after rolling began."""
    case: dict[str, Any] = {
        "ball": ball,
        "release": bowlers_numbers(),
        "friction": {"type": "constant", "mu": mu},
        "sample_times_s": np.linspace(0.0, 2.4, 121).tolist(),
    }
    result = shot(case)
    since = result["roll"]["t_s"]
    return case, [m for m in result["samples"] if m and m["t_s"] > since]


def chaplygin(case: dict[str, Any], moment: dict[str, Any]) -> tuple[Array, Array, float]:
    """K and gamma in the body frame, and half K.w."""
    mass, radius = case["ball"]["mass_kg"], case["ball"]["radius_m"]
    omega = np.array(moment["omega_body_rad_s"])
    gamma = lane_quantities(case, moment)["attitude"].T @ UP
    about = moments_kg_m2(case["ball"]) * omega
    about = about + mass * radius**2 * (omega - (omega @ gamma) * gamma)
    return about, gamma, 0.5 * float(about @ omega)


def test_the_contact_point_stands_still_while_the_ball_rolls() -> None:
    case, samples = rolling_samples(REAL_BALL)
    assert len(samples) > 60
    for moment in samples:
        assert float(np.linalg.norm(lane_quantities(case, moment)["slip"])) < 1e-12


def test_the_integrals_of_chaplygins_ball_do_not_change() -> None:
    case, samples = rolling_samples(REAL_BALL)
    found = [chaplygin(case, moment) for moment in samples]
    lengths = [float(np.linalg.norm(about)) for about, _, _ in found]
    vertical = [float(about @ gamma) for about, gamma, _ in found]
    energy = [value for _, _, value in found]
    # K is kept to rounding; energy depends on the attitude, integrated to 1e-10 a step.
    assert np.allclose(lengths, lengths[0], rtol=1e-11, atol=0)
    assert np.allclose(vertical, vertical[0], rtol=0, atol=1e-11)
    assert np.allclose(energy, energy[0], rtol=1e-9, atol=0)
    # In the body K wanders: the integrals are not constant because nothing moves.
    bodies = np.array([about for about, _, _ in found])
    assert float(np.ptp(bodies, axis=0).max()) > 1.0


def test_energy_of_the_whole_ball_is_kept_while_it_rolls() -> None:
    case, samples = rolling_samples(REAL_BALL)
    energy = [lane_quantities(case, moment)["energy"] for moment in samples]
    assert np.allclose(energy, energy[0], rtol=1e-9, atol=0)
    # Half K.w is the kinetic energy, both ways of counting.
    assert energy[0] == pytest.approx(chaplygin(case, samples[0])[2], rel=1e-12)


def test_a_ball_of_unequal_moments_wanders_a_little_as_it_rolls() -> None:
    _, samples = rolling_samples(REAL_BALL)
    sideways = np.array([moment["vy_m_s"] for moment in samples])
    assert float(np.ptp(sideways)) > 1e-3
    # The friction that does it stays within what the lane can give.
    times = np.array([moment["t_s"] for moment in samples])
    speeds = np.array([[moment["vx_m_s"], moment["vy_m_s"]] for moment in samples])
    asked = np.linalg.norm(np.diff(speeds, axis=0), axis=1) / np.diff(times)
    assert float(asked.max()) < 0.45 * STANDARD_GRAVITY_M_S2


def test_a_uniform_ball_rolls_straight_on_at_one_speed() -> None:
    _, samples = rolling_samples(uniform_ball(0.4))
    first = samples[0]
    # Places are good to the integrator's 1e-10 a step.
    for moment in samples:
        since = moment["t_s"] - first["t_s"]
        assert moment["vx_m_s"] == pytest.approx(first["vx_m_s"], rel=0, abs=1e-12)
        assert moment["vy_m_s"] == pytest.approx(first["vy_m_s"], rel=0, abs=1e-12)
        assert moment["x_m"] == pytest.approx(
            first["x_m"] + first["vx_m_s"] * since, rel=0, abs=1e-9
        )
        assert moment["y_m"] == pytest.approx(
            first["y_m"] + first["vy_m_s"] * since, rel=0, abs=1e-9
        )


def test_a_ball_released_at_full_roll_rolls_from_the_first_instant() -> None:
    ball = uniform_ball(0.36)
    result = shot(
        {
            "ball": ball,
            "release": spinning((0.0, 0.2), (7.0, 0.5), (-0.5 / 0.108, 7.0 / 0.108, 9.0)),
            "friction": {"type": "constant", "mu": 0.2},
        }
    )
    assert result["roll"]["t_s"] == pytest.approx(0.0, abs=1e-9)
    end = result["end"]
    assert end["t_s"] == pytest.approx(18.288 / 7.0, rel=0, abs=1e-9)
    assert end["y_m"] == pytest.approx(0.2 + 0.5 * 18.288 / 7.0, rel=0, abs=1e-9)


def test_a_ball_rolling_onto_a_stretch_without_friction_goes_straight_on() -> None:
    # Rolling needs friction when the moments differ; without any the velocity can't change, and
    # the contact begins to slip.
    edge = 12.0
    case: dict[str, Any] = {
        "ball": REAL_BALL,
        "release": bowlers_numbers(),
        "friction": {"type": "zones", "until_m": [edge], "mu": [0.45, 0.0]},
    }
    crossing = shot({**case, "lane_length_m": edge})["end"]
    times = crossing["t_s"] + np.linspace(1e-6, 0.6, 25)
    samples = shot({**case, "sample_times_s": times.tolist()})["samples"]
    for moment in samples:
        for name in ("vx_m_s", "vy_m_s"):
            # Hold is given up within some 1e-9 s of the edge.
            assert moment[name] == pytest.approx(crossing[name], rel=0, abs=1e-8)
    slips = [float(np.linalg.norm(lane_quantities(case, m)["slip"])) for m in samples]
    assert slips[0] < 1e-4
    assert max(slips) > 1e-2


def test_friction_is_never_more_than_coulombs_even_where_rolling_asks_for_more() -> None:
    mu = 0.05
    case: dict[str, Any] = {
        "ball": {**REAL_BALL, "principal_rg_m": [0.063, 0.0636, 0.0645]},
        "release": bowlers_numbers(rev_rate_rpm=520.0, axis_rotation_deg=20.0),
        "friction": {"type": "constant", "mu": mu},
        "sample_times_s": np.linspace(0.0, 2.0, 4001).tolist(),
    }
    samples = [m for m in shot(case)["samples"] if m]
    speeds = np.array([[m["vx_m_s"], m["vy_m_s"]] for m in samples])
    times = np.array([m["t_s"] for m in samples])
    pull = np.linalg.norm(np.diff(speeds, axis=0), axis=1) / np.diff(times)
    # A chord over 0.5 ms can't exceed the bound; rounding of 1e-9 m/s over it is 2e-6 m/s^2.
    assert float(pull.max()) <= mu * STANDARD_GRAVITY_M_S2 + 1e-5
    assert float(pull.max()) > 0.99 * mu * STANDARD_GRAVITY_M_S2
