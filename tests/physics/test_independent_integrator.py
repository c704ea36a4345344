"""Whole shots against an independent right-hand side under SciPy's DOP853.

Source: Newton-Euler equations as written in `referee_motion` (derived), integrated at a relative
tolerance of 1e-11. The two programs share no code, no state variables in rolling and no event
finding. Tolerances: 1e-6 m and 1e-6 m/s (a person reads 3 cm), 1e-6 s for the first rolling.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from physics.cases import shot
from tests.physics.balls_and_lanes import (
    random_ball,
    random_bowler,
    random_friction,
    random_raw_release,
)
from tests.physics.referee_motion import RefereeShot, lane_quantities, play, quaternion_to_matrix

PLACE_M, VELOCITY_M_S, TIME_S, ATTITUDE = 1e-6, 1e-6, 1e-6, 1e-5
TIMES_S = [0.0, 0.4, 0.8, 1.2, 1.6, 2.0, 2.4]


def random_case(kind: str, seed: int, hand: str, *, raw: bool) -> dict[str, Any]:
    rng = np.random.default_rng([11, seed])
    return {
        "ball": random_ball(rng),
        "release": random_raw_release(rng) if raw else random_bowler(rng),
        "friction": random_friction(rng, kind),
        "hand": hand,
        "sample_times_s": TIMES_S,
    }


def agree(case: dict[str, Any], found: dict[str, Any], expected: RefereeShot) -> None:
    """Same path, attitude, first rolling and end."""
    pairs = list(zip(found["samples"], expected.samples, strict=True))
    pairs.append((found["end"], expected.end))
    assert sum(1 for one, other in pairs if one and other) >= 4
    for one, other in pairs:
        if one is None or other is None:
            assert one is None
            assert other is None
            continue
        for name in ("x_m", "y_m"):
            assert one[name] == pytest.approx(other[name], rel=0, abs=PLACE_M)
        for name in ("vx_m_s", "vy_m_s"):
            assert one[name] == pytest.approx(other[name], rel=0, abs=VELOCITY_M_S)
        turn = quaternion_to_matrix(one["orientation"]) - quaternion_to_matrix(other["orientation"])
        assert float(np.abs(turn).max()) < ATTITUDE
        spin = lane_quantities(case, one)["omega"] - lane_quantities(case, other)["omega"]
        assert float(np.abs(spin).max()) < 1e-5  # rad/s: the velocity's tolerance over R
    assert found["end"]["t_s"] == pytest.approx(expected.end["t_s"], rel=0, abs=TIME_S)
    if expected.roll is None:
        assert found["roll"] is None
    else:
        assert found["roll"]["t_s"] == pytest.approx(expected.roll["t_s"], rel=0, abs=TIME_S)


@pytest.mark.parametrize(
    ("kind", "seed", "hand", "raw"),
    [
        ("constant", 1, "right", False),
        ("zones", 2, "right", False),
        ("zones", 3, "left", False),
        ("grid", 4, "right", False),
        ("grid", 5, "left", False),
        ("grid", 6, "left", False),
        ("zones", 7, "right", True),
        ("grid", 8, "right", True),
    ],
)
def test_a_random_asymmetric_ball_takes_the_path_scipy_gives(
    kind: str, seed: int, hand: str, raw: bool
) -> None:
    case = random_case(kind, seed, hand, raw=raw)
    agree(case, shot(case), play(case))


def strongly_asymmetric(friction: dict[str, Any], hand: str) -> dict[str, Any]:
    return {
        "ball": {
            "mass_kg": 6.8,
            "radius_m": 0.1085,
            "principal_rg_m": [0.0630, 0.0640, 0.0650],
        },
        "release": {
            "position_m": [0.0, 0.2],
            "speed_m_s": 7.8,
            "launch_deg": 2.0,
            "rev_rate_rpm": 350.0,
            "axis_rotation_deg": 45.0,
            "axis_tilt_deg": 12.0,
            "pap_body": [0.6, 0.48, 0.64],
        },
        "friction": friction,
        "hand": hand,
        "sample_times_s": [0.5, 1.0, 1.5, 2.0, 2.2, 2.4],
    }


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize(
    "friction",
    [
        {"type": "constant", "mu": 0.12},
        {"type": "zones", "until_m": [8.0, 16.0], "mu": [0.04, 0.2, 0.01]},
        {"type": "zones", "until_m": [8.0, 14.0], "mu": [0.1, 0.2, 0.0]},
    ],
    ids=["weak friction everywhere", "oil after dry", "no friction after dry"],
)
def test_a_rolling_ball_the_lane_cannot_hold_slips_again_as_it_must(
    friction: dict[str, Any], hand: str
) -> None:
    # A total differential of 0.08 in asks for more than 0.12 m g of friction in every turn.
    case = strongly_asymmetric(friction, hand)
    expected = play(case)
    assert expected.slipped_again >= 1
    agree(case, shot(case), expected)


@pytest.mark.parametrize("pin_to_pap_deg", [30.0, 45.0, 60.0])
@pytest.mark.parametrize("differential_in", [0.048, 0.06])
def test_a_legal_ball_the_dry_lane_only_just_holds_reaches_the_pins(
    differential_in: float, pin_to_pap_deg: float
) -> None:
    # Rolling at 65 rad/s asks for R (I3 - I1)/(I + m R^2) w^2/2 of the lane, about 2 m/s^2 for
    # these cores, and 0.2 g is 1.96: hold is lost and found again many times.
    rg, angle = 2.5 * 0.0254, np.radians(pin_to_pap_deg)
    case = strongly_asymmetric({"type": "zones", "until_m": [12.0], "mu": [0.04, 0.2]}, "right")
    high = rg + differential_in * 0.0254
    case["ball"]["principal_rg_m"] = [rg, high, high]
    case["release"]["pap_body"] = [float(np.cos(angle)), float(np.sin(angle)), 0.0]
    found = shot(case)
    assert found["reached"] is True
    agree(case, found, play(case))


def test_the_referee_itself_keeps_what_mechanics_keeps() -> None:
    # A referee with a slip of its own would be no referee.
    case = strongly_asymmetric({"type": "zones", "until_m": [10.0], "mu": [0.05, 0.2]}, "right")
    found = [lane_quantities(case, moment) for moment in play(case).samples if moment]
    scale = float(np.linalg.norm(found[0]["K"]))
    for moment in found:
        assert np.allclose(moment["K"], found[0]["K"], rtol=0, atol=1e-9 * scale)
    energies = [moment["energy"] for moment in found]
    assert max(np.diff(energies)) < 1e-8
