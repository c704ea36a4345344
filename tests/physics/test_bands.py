"""Rung 6: deliveries people measured, beside what the model makes of them.

`bands.rows` lists every published range with what the model gives, inside or not; the tests here
hold what has to hold whatever the friction of an unknown ball is. Sources beside each check.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from physics.cases import shot
from tests.physics import bands
from tests.physics.balls_and_lanes import bowlers_numbers, uniform_ball

MPH_TO_M_S = 0.44704


def thrown(beta: float, **changed: Any) -> dict[str, Any]:
    return {
        "ball": uniform_ball(beta),
        "release": bowlers_numbers(axis_tilt_deg=0.0, launch_deg=0.0, **changed),
        "friction": {"type": "constant", "mu": 0.2},
    }


@pytest.mark.parametrize(("beta", "turn_deg", "mph"), [(0.40, 8.115, 15.06), (0.35, 7.239, 15.31)])
def test_the_published_example_of_2025_enters_at_about_six_degrees(
    beta: float, turn_deg: float, mph: float
) -> None:
    # Second-hand: Ji et al., AIP Advances 15 (2025): 17.9 mph, 416 rpm, rotation 45, launched 1.8
    # degrees out, for an entry of about 6. Turn and speed of an even ball: derived from K.
    end = shot(
        thrown(beta, speed_m_s=17.9 * MPH_TO_M_S, rev_rate_rpm=416.0, axis_rotation_deg=45.0)
    )["end"]
    turn = math.degrees(math.atan2(end["vy_m_s"], end["vx_m_s"]))
    assert turn == pytest.approx(turn_deg, rel=0, abs=0.0006)
    assert math.hypot(end["vx_m_s"], end["vy_m_s"]) / MPH_TO_M_S == pytest.approx(mph, abs=0.006)
    assert 5.0 < turn - 1.8 < 6.5


def test_two_zones_lose_more_speed_than_is_reported_as_they_must() -> None:
    # Derived: on 0.04 for two thirds and 0.20 after it a ball of 8 m/s and 300 rpm is at full roll
    # by 15.5 m, and K leaves it 6.58 m/s: 3.2 mph lost, where 2 to 3 are reported (second-hand).
    # A ball that loses less hasn't reached full roll or left the hand with more spin.
    case = thrown(0.35, speed_m_s=8.0, rev_rate_rpm=300.0, axis_rotation_deg=45.0)
    case["friction"] = {"type": "zones", "until_m": [12.192], "mu": [0.04, 0.2]}
    found = shot(case)
    left = math.hypot(found["end"]["vx_m_s"], found["end"]["vy_m_s"])
    assert left == pytest.approx(6.58, rel=0, abs=0.005)
    assert (8.0 - left) / MPH_TO_M_S == pytest.approx(3.2, rel=0, abs=0.03)
    assert found["roll"]["x_m"] == pytest.approx(15.5, rel=0, abs=0.5)


@pytest.mark.parametrize(
    ("mph", "rpm", "share"),
    [
        (16.0, 250.0, 0.400),
        (18.0, 350.0, 0.497),
        (19.0, 220.0, 0.296),
        (19.0, 520.0, 0.700),
        (18.61, 436.0, 0.599),
        (17.83, 297.0, 0.426),
    ],
)
def test_nobody_measured_releases_the_ball_at_full_roll(
    mph: float, rpm: float, share: float
) -> None:
    # Derived: surface speed over forward speed at R 4.2975 in; the releases are common practice
    # (the first two) and read (the rest). Under 1 the ball slides off the hand, so it slows.
    surface = rpm * 2 * math.pi / 60 * 4.2975 * 0.0254
    assert surface / (mph * MPH_TO_M_S) == pytest.approx(share, rel=0, abs=0.0011)
    case = thrown(0.34, speed_m_s=mph * MPH_TO_M_S, rev_rate_rpm=rpm, axis_rotation_deg=0.0)
    case["ball"]["radius_m"] = 4.2975 * 0.0254
    case["sample_times_s"] = [0.0, 0.3]
    first, later = shot(case)["samples"]
    assert later["vx_m_s"] < first["vx_m_s"]
    assert later["omega_body_rad_s"] != first["omega_body_rad_s"]


@pytest.mark.parametrize(
    ("mph", "rpm"), [(16.0, 626.0), (17.0, 665.0), (18.0, 704.0), (19.0, 743.0)]
)
def test_at_these_rev_rates_a_ball_rolls_from_the_hand(mph: float, rpm: float) -> None:
    # Derived: v = R w at R 4.2975 in, printed to a rev a minute.
    case = thrown(0.34, speed_m_s=mph * MPH_TO_M_S, rev_rate_rpm=rpm, axis_rotation_deg=0.0)
    case["ball"] = uniform_ball(0.34, radius_m=4.2975 * 0.0254)
    end = shot(case)["end"]
    assert end["vx_m_s"] == pytest.approx(mph * MPH_TO_M_S, rel=5e-4)


@pytest.mark.slow
def test_published_releases_lose_about_the_speed_that_is_reported() -> None:
    # Second-hand: 2-2.5 mph to a down-lane reading, 2.5-3 over the lane; another account has
    # 20-21 at release and 16-17 at the pins, which is 3 to 5. Single releases fall on both sides
    # of 2-3 (K fixes the speed at full roll); their mean, in neither account, stays between.
    lost = [bands.lost_mph(style) for style in bands.STYLES]
    assert 2.0 < float(np.mean(lost)) < 3.5
    assert min(lost) > 1.0
    assert max(lost) < 5.0


@pytest.mark.slow
def test_every_band_is_reported_inside_or_outside() -> None:
    found = list(bands.rows())
    assert len(found) == 4 * len(bands.STYLES)
    assert all(math.isfinite(band.found) for band in found)
    # Skid and roll are where they are reported, give or take what "about" is worth.
    for band in found:
        if "skid" in band.what:
            assert 8.0 < band.found < 35.0
        if "begins to roll" in band.what:
            assert 40.0 < band.found <= 60.0
