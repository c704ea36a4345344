"""The rows of an open multibody library's bowling-ball benchmark.

Source: RobotLocomotion/drake, multibody/benchmarks/bowling_ball; status: read. The tolerances are
the ones its own test uses.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from physics.cases import shot
from tests.physics.balls_and_lanes import reference, spinning
from tests.physics.referee_motion import lane_quantities

TABLE = reference("benchmark_rows")


def the_case() -> dict[str, Any]:
    ball = TABLE["ball"]
    rg = (ball["moment_kg_m2"] / ball["mass_kg"]) ** 0.5
    return {
        "ball": {
            "mass_kg": ball["mass_kg"],
            "radius_m": ball["radius_m"],
            "principal_rg_m": [rg, rg, rg],
        },
        "release": spinning(
            (0.0, 0.0),
            (TABLE["start"]["vx_m_s"], 0.0),
            (TABLE["start"]["spin_about_lane_rad_s"], 0.0, 0.0),
        ),
        "friction": {"type": "constant", "mu": TABLE["mu"]},
        "gravity_m_s2": TABLE["gravity_m_s2"],
        "lane_length_m": 20.0,
        "sample_times_s": [row[0] for row in TABLE["rows"]],
    }


@pytest.mark.parametrize("index", range(3), ids=["sliding", "just rolling", "rolling"])
def test_each_published_row_is_met_to_its_own_tolerance(index: int) -> None:
    case = the_case()
    sample = shot(case)["samples"][index]
    _, side, down_lane, v_side, v_down_lane, spin_side, spin_lane = TABLE["rows"][index]
    within = TABLE["tolerances"]
    assert [sample["y_m"], sample["x_m"]] == pytest.approx(
        [side, down_lane], rel=0, abs=within["position_m"]
    )
    assert [sample["vy_m_s"], sample["vx_m_s"]] == pytest.approx(
        [v_side, v_down_lane], rel=0, abs=within["velocity_m_s"]
    )
    omega = lane_quantities(case, sample)["omega"]
    # Any attitude gives the same spin in the lane frame; the third part stays nought.
    assert np.allclose(omega, [spin_lane, spin_side, 0.0], rtol=0, atol=within["spin_rad_s"])


def test_rolling_begins_when_the_benchmark_says() -> None:
    roll = shot(the_case())["roll"]
    assert roll["t_s"] == pytest.approx(TABLE["roll"]["t_s"], rel=0, abs=TABLE["roll"]["within_s"])
    # The closed form pins it down: derived, printed to 1e-9 s; slip is called gone at 1e-8 m/s,
    # which at (1 + 1/beta) mu g of about 4 m/s^2 is 3e-9 s.
    assert roll["t_s"] == pytest.approx(TABLE["roll"]["closed_form_t_s"], rel=0, abs=1e-8)
