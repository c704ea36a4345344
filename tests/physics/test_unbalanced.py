"""A ball whose centre of mass lies off its centre: limits, sizes, energy, an independent solver.

Source: Newton and Euler (derived), written out a second time in `referee_unbalanced` and integrated
by SciPy. Tolerances: 1e-6 m and 1e-6 m/s (a person reads 3 cm).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from physics.cases import shot
from physics.errors import InputError
from physics.unbalanced import rolling, slipping
from tests.physics.balls_and_lanes import (
    bowlers_numbers,
    random_ball,
    random_bowler,
    random_friction,
    spinning,
)
from tests.physics.referee_motion import UP, lane_quantities, quaternion_to_matrix
from tests.physics.referee_unbalanced import UnbalancedBall, play

G = 9.80665
BALL = {"mass_kg": 6.8, "radius_m": 0.1085, "principal_rg_m": [0.0630, 0.0636, 0.0642]}
TIMES_S = np.linspace(0.0, 2.2, 221)


def delivery(offset_m: list[float] | None, mu: float = 0.2, **changed: Any) -> dict[str, Any]:
    ball = dict(BALL) if offset_m is None else {**BALL, "centre_of_mass_m": offset_m}
    return {
        "ball": ball,
        "release": bowlers_numbers(**changed),
        "friction": {"type": "constant", "mu": mu},
        "sample_times_s": TIMES_S.tolist(),
    }


def state_of(omega: tuple[float, float, float], attitude: list[float]) -> NDArray[np.float64]:
    """The kernels' state of a ball that turns so in the body, at 8 m/s down the lane."""
    moments = BALL["mass_kg"] * np.array(BALL["principal_rg_m"]) ** 2
    s = np.zeros(14)
    s[2], s[4:8] = 8.0, attitude
    s[8:11] = quaternion_to_matrix(attitude) @ (moments * np.array(omega))
    return s


def kernel_ball(offset_m: tuple[float, float, float]) -> tuple[Any, ...]:
    moments = BALL["mass_kg"] * np.array(BALL["principal_rg_m"]) ** 2
    inertia = tuple(float(v) for v in moments)
    return (BALL["mass_kg"], BALL["radius_m"], G, inertia, offset_m)


@pytest.mark.parametrize(("spin_rad_s", "share"), [(30.0, 0.092), (60.0, 0.367)])
def test_a_millimetre_swings_the_load_as_its_centripetal_pull_does(
    spin_rad_s: float, share: float
) -> None:
    # Derived: r w^2 / g, 9.2 % of the weight at 30 rad/s and 36.7 % at 60, down when the mass is
    # above the centre and up when it is below. Spinning about a principal axis across the lane,
    # the mass straight above or below, without friction: nothing else adds.
    assert 0.001 * spin_rad_s**2 / G == pytest.approx(share, rel=0, abs=0.0005)
    ball, s = kernel_ball((0.0, 0.0, 0.001)), state_of((0.0, spin_rad_s, 0.0), [1.0, 0.0, 0.0, 0.0])
    upside_down = state_of((0.0, spin_rad_s, 0.0), [0.0, 1.0, 0.0, 0.0])
    assert slipping(s, ball, 0.0, 0.0, 0.0)[-1] == pytest.approx(1 - share, rel=0, abs=0.0005)
    assert slipping(upside_down, ball, 0.0, 0.0, 0.0)[-1] == pytest.approx(
        1 + share, rel=0, abs=0.0005
    )


def test_the_load_falls_on_the_offset_as_a_lever_too() -> None:
    # Derived: at rest, the mass r to the side, the ball starts to tip; N (1 + m r^2 / I) = m g.
    ball, s = kernel_ball((0.0, 0.02, 0.0)), state_of((0.0, 0.0, 0.0), [1.0, 0.0, 0.0, 0.0])
    expected = 1 / (1 + 6.8 * 0.02**2 / (6.8 * 0.0630**2))
    assert slipping(s, ball, 0.0, 0.0, 0.0)[-1] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("attitude", [[1.0, 0.0, 0.0, 0.0], [0.5, 0.5, 0.5, 0.5]])
def test_a_rolling_ball_rocks_as_a_pendulum_when_all_but_at_rest(attitude: list[float]) -> None:
    # Derived: about the contact, (I + m (rho^2)) alpha = -m g r sideways, rho the arm to the mass.
    sideways = np.array([0.0, 0.001, 0.0])
    body = quaternion_to_matrix(attitude).T @ sideways
    ball = kernel_ball((float(body[0]), float(body[1]), float(body[2])))
    s = state_of((0.0, 0.0, 0.0), attitude)
    axis = int(np.argmax(np.abs(quaternion_to_matrix(attitude).T @ np.array([1.0, 0.0, 0.0]))))
    inertia = ball[3][axis] + 6.8 * (0.1085**2 + 0.001**2)
    alpha_x = -6.8 * G * 0.001 / inertia
    found = rolling(s, ball)
    assert found[7] == pytest.approx(-0.1085 * alpha_x, rel=1e-9)  # a_y = -R alpha_x


def test_as_the_offset_goes_to_nothing_so_does_what_it_does() -> None:
    balanced = shot(delivery(None))["end"]
    moved = []
    for size in (1e-3, 1e-4, 1e-5, 1e-9):
        end = shot(delivery([0.6 * size, -0.48 * size, 0.64 * size]))["end"]
        moved.append(math.hypot(end["y_m"] - balanced["y_m"], end["t_s"] - balanced["t_s"]))
    # Proportional to the offset; at a nanometre what is left is the integrator's 1e-10 a step.
    assert moved[1] == pytest.approx(moved[0] / 10, rel=0.2)
    assert moved[2] == pytest.approx(moved[1] / 10, rel=0.05)
    assert moved[3] < 1e-6
    assert shot(delivery([0.0, 0.0, 0.0]))["end"] == balanced


def energies(case: dict[str, Any], samples: list[dict[str, Any]]) -> list[float]:
    ball = UnbalancedBall(case)
    return [
        ball.energy(
            np.array([m["vx_m_s"], m["vy_m_s"]]),
            np.array(m["orientation"]),
            lane_quantities(case, m)["omega"],
        )
        for m in samples
    ]


OFFSET = [0.0007, -0.0006, 0.0009]


def test_without_friction_nothing_is_lost() -> None:
    case = delivery(OFFSET, mu=0.0)
    found = energies(case, [m for m in shot(case)["samples"] if m])
    # Kinetic energy alone changes: the mass goes up and down, and the centre is swung about.
    assert np.allclose(found, found[0], rtol=0, atol=1e-7 * found[0])
    speeds = [m["vx_m_s"] for m in shot(case)["samples"] if m]
    assert float(np.ptp(speeds)) > 1e-3


def test_while_it_rolls_nothing_is_lost() -> None:
    case = delivery(OFFSET, mu=0.5)
    result = shot(case)
    rolls = [m for m in result["samples"] if m and m["t_s"] > result["roll"]["t_s"]]
    assert len(rolls) > 50
    found = energies(case, rolls)
    assert np.allclose(found, found[0], rtol=0, atol=1e-7 * found[0])
    for m in rolls:
        assert float(np.linalg.norm(lane_quantities(case, m)["slip"])) < 1e-12


def test_what_is_lost_while_it_slips_is_the_work_of_friction() -> None:
    # Derived: dE/dt = -mu N |u|, N by its own formula from the referee's six equations.
    mu = 0.08
    case = delivery(OFFSET, mu=mu)
    case["sample_times_s"] = np.linspace(0.0, 0.6, 1201).tolist()
    samples = [m for m in shot(case)["samples"] if m]
    ball, found = UnbalancedBall(case), energies(case, samples)
    power = []
    for m in samples:
        state = lane_quantities(case, m)
        u = state["slip"]
        size = float(np.linalg.norm(u))
        force = ball.instant(np.array(m["orientation"]), state["omega"], -mu * u / size).force
        power.append(mu * float(force[2]) * size)
    work = float(np.trapezoid(power, [m["t_s"] for m in samples]))
    # The trapezium's own error over half-millisecond steps is about 1e-6 of the work.
    assert found[0] - found[-1] == pytest.approx(work, rel=1e-5)
    assert work > 10.0  # J, of some 250: the balance is of something


@pytest.mark.slow
@pytest.mark.parametrize(
    ("seed", "kind", "hand"),
    [(1, "zones", "right"), (3, "zones", "left")],
)
def test_a_random_unbalanced_ball_takes_the_path_scipy_gives(
    seed: int, kind: str, hand: str
) -> None:
    rng = np.random.default_rng([77, seed])
    ball, toward = random_ball(rng), rng.normal(size=3)
    ball["centre_of_mass_m"] = (
        rng.uniform(0.0003, 0.0012) * toward / np.linalg.norm(toward)
    ).tolist()
    case = {
        "ball": ball,
        "release": random_bowler(rng),
        "friction": random_friction(rng, kind),
        "hand": hand,
        "sample_times_s": [0.5, 1.0, 1.5, 2.0],
    }
    agree(case)


@pytest.mark.slow
def test_an_unbalanced_ball_the_lane_cannot_hold_slips_again_as_scipy_says() -> None:
    case = delivery([0.0009, 0.0, 0.0009], mu=0.1, rev_rate_rpm=450.0)
    case["ball"]["principal_rg_m"] = [0.0630, 0.0640, 0.0650]
    case["friction"] = {"type": "zones", "until_m": [7.0, 11.0], "mu": [0.1, 0.3, 0.06]}
    case["lane_length_m"] = 13.0
    case["sample_times_s"] = [0.5, 1.0, 1.5]
    assert agree(case) >= 1


def agree(case: dict[str, Any]) -> int:
    """Same path and first rolling; how often the ball slipped again."""
    found, expected = shot(case), play(case)
    rows = [*expected.samples[~np.isnan(expected.samples[:, 0])], expected.end]
    moments = [*(m for m in found["samples"] if m), found["end"]]
    for m, row in zip(moments, rows, strict=True):
        names = ("x_m", "y_m", "vx_m_s", "vy_m_s")
        for name, value in zip(names, row[1:5], strict=True):
            assert m[name] == pytest.approx(value, rel=0, abs=2e-6)
    if expected.roll_s is None:
        assert found["roll"] is None
    else:
        assert found["roll"]["t_s"] == pytest.approx(expected.roll_s, rel=0, abs=1e-6)
    return expected.slipped_again


def test_a_left_hander_is_the_mirror_image() -> None:
    # In a right-handed principal frame a mirror changes the sign of the second component.
    right = shot(delivery([0.0005, 0.0004, -0.0007], pap_body=[0.64, -0.48, 0.6]))["end"]
    case = delivery([0.0005, -0.0004, -0.0007], pap_body=[0.64, 0.48, 0.6])
    left = shot({**case, "hand": "left"})["end"]
    assert left["y_m"] == pytest.approx(-right["y_m"], rel=0, abs=1e-8)
    assert left["vy_m_s"] == pytest.approx(-right["vy_m_s"], rel=0, abs=1e-8)


def test_a_ball_turning_like_a_top_on_its_offset_precesses_as_a_top_does() -> None:
    # Derived: a ball spinning fast about an axis through its heavy side, without friction, is a
    # heavy top on its slipping foot: the axis goes round the vertical at m g r / (I w).
    spin, r = 60.0, 0.001
    even = {"mass_kg": 6.8, "radius_m": 0.1085, "principal_rg_m": [0.0636, 0.0636, 0.0636]}
    case = {
        "ball": {**even, "centre_of_mass_m": [0.0, r, 0.0]},
        "release": spinning((0.0, 0.0), (8.0, 0.0), (0.0, spin, 0.0)),
        "friction": {"type": "constant", "mu": 0.0},
        "sample_times_s": [2.0],
    }
    moment = shot(case)["samples"][0]
    axis = lane_quantities(case, moment)["L"]
    turned = -math.atan2(axis[0], axis[1])
    # + y spin, the mass on +y: N's torque about the mass is (-r) x N z = -x N r.
    expected = 6.8 * G * r / (6.8 * 0.0636**2 * spin) * 2.0
    assert float(axis @ UP) / float(np.linalg.norm(axis)) == pytest.approx(0.0, abs=0.01)
    assert turned == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("offset", [[0.02, 0.0, 0.0], [0.0, 0.01, 0.01]])
def test_an_offset_that_lifts_the_ball_off_the_lane_is_refused(offset: list[float]) -> None:
    with pytest.raises(InputError) as refused:
        shot(delivery(offset, rev_rate_rpm=550.0))
    assert refused.value.field == "ball.centre_of_mass_m"
    assert "lifts" in refused.value.allowed


@pytest.mark.parametrize("offset", [[0.001, 0.0], [0.3, 0.0, 0.0], "left", [0.0, None, 0.0]])
def test_an_offset_that_is_none_is_refused_by_name(offset: Any) -> None:
    with pytest.raises(InputError) as refused:
        shot(delivery(offset))
    assert refused.value.field.startswith("ball.centre_of_mass_m")
