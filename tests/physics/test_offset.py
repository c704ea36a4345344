"""The report of what a centre of mass off the centre does to a path, and what it rests on."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from physics import cases, lane, offset
from physics.__main__ import main
from physics.units import LB_TO_KG
from tests.physics.scenes import drilled

FILM = lane.picked(*offset.HOUSE).own_side_film_um("right")


def test_three_ounces_are_a_millimetre_and_a_third_of_a_15_lb_ball() -> None:
    # Derived: static ounces are the first moment over the radius: 3 oz x 4.2975 in / 15 lb.
    ball = replace(offset.with_static(drilled(), 0.0, 3.0, 0.0), mass_kg=15 * LB_TO_KG)
    ball = offset.with_static(ball, 0.0, 3.0, 0.0)
    expected = 3 / 16 * 4.2975 / 15 * 25.4
    assert float(np.linalg.norm(ball.centre_of_mass_m)) * 1000 == pytest.approx(expected, rel=1e-9)


def test_the_offset_handed_to_the_solver_is_the_drilled_one_turned_into_the_principal_frame() -> (
    None
):
    ball = drilled()
    back = ball.principal_axes.T @ np.array(ball.centre_of_mass_m)
    assert np.allclose(back, ball.cg_offset_m, rtol=0, atol=1e-15)
    assert ball.numbers()["centre_of_mass_m"] == list(ball.centre_of_mass_m)
    # Static balances by the other road: first moment over radius, from the offset.
    heavy = offset.with_static(ball, 1.0, -2.0, 0.5)
    again = (heavy.principal_axes.T @ np.array(heavy.centre_of_mass_m)) * heavy.mass_kg
    again = again / heavy.radius_m / (LB_TO_KG / 16)
    assert again == pytest.approx([-2.0, 0.5, 1.0], rel=0, abs=1e-9)


def test_a_balanced_ball_moves_nowhere() -> None:
    ball = offset.with_static(drilled(), 0.0, 0.0, 0.0)
    assert offset.moved_boards(ball, offset.DELIVERIES[:1]) == [(0.0, 0.0)]


@pytest.mark.slow
def test_weight_on_the_axis_turns_it_as_a_top_and_so_moves_the_ball_with_its_sign() -> None:
    # Derived: only the part of the offset along the spin axis keeps its direction from turn to
    # turn. Side weight towards the PAP turns the axis, away from it as much the other way.
    ball, matched = drilled(), offset.DELIVERIES[1:2]
    ((to_pap, _),) = offset.moved_boards(offset.with_static(ball, 0.0, 1.0, 0.0), matched)
    ((away, _),) = offset.moved_boards(offset.with_static(ball, 0.0, -1.0, 0.0), matched)
    assert to_pap > 0.2
    assert away == pytest.approx(-to_pap, rel=0.2)


@pytest.mark.slow
def test_the_report_has_every_ball_with_every_delivery(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # Fewer sides and phases than the command takes, for time.
    monkeypatch.setattr(offset, "SIDES", offset.SIDES[3:5])
    monkeypatch.setattr(offset, "PHASES_DEG", (0.0, 120.0))
    assert main(["offset", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert len(found["rows"]) == len(offset.balls()) * len(offset.DELIVERIES)
    assert all(abs(row["mean_boards"]) <= abs(row["most_boards"]) for row in found["rows"])
    printed = offset.table(found)
    assert "3 oz finger" in printed
    assert printed.count("mm") == len(offset.balls())


def test_the_drill_command_s_offset_is_what_the_shot_command_takes() -> None:
    ball = drilled()
    case = {
        "ball": {
            "mass_kg": ball.mass_kg,
            "radius_m": ball.radius_m,
            "principal_rg_m": list(ball.principal_rg_m),
            "centre_of_mass_m": ball.numbers()["centre_of_mass_m"],
        },
        "release": {
            "position_m": [0.0, 0.0],
            "speed_m_s": 7.8,
            "launch_deg": 1.5,
            "rev_rate_rpm": 330.0,
            "axis_rotation_deg": 45.0,
            "axis_tilt_deg": 12.0,
            "pap_body": ball.numbers()["pap_body"],
        },
        "friction": {"type": "constant", "mu": 0.1},
    }
    assert cases.shot(case)["reached"] is True
