"""Sliding to rolling of a ball with one moment of inertia, in closed form.

Sources: C. Broholm, Johns Hopkins University lecture "The Bowling ball" (1997), read; parabola of
a sphere sliding on a plane, Aghamohammadi & Aghamohammadi, Eur. J. Phys. 32, 1049 (2011), and over
two frictions, Ivanov & Erdakova, Rus. J. Nonlin. Dyn. 8, 773 (2012), abstracts read; the formulas
are derived. Textbook problems name their own source.

Slip counts as gone below about 1e-8 m/s; at (1 + 1/beta) mu g of 1 to 8 m/s^2 that is 1e-8 s of
the time, 1e-7 m of the place (at 8 m/s) and 1e-8 m/s of the velocity: the tolerances below.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from physics.cases import shot
from physics.errors import InputError
from tests.physics.balls_and_lanes import (
    IN_TO_M,
    bowlers_numbers,
    reference,
    spinning,
    uniform_ball,
)
from tests.physics.referee_motion import STANDARD_GRAVITY_M_S2, Array, lane_quantities

G = STANDARD_GRAVITY_M_S2
TIME_S, PLACE_M, VELOCITY_M_S = 1e-8, 1e-7, 1e-8
LONG_LANE_M = 100.0


def sliding(
    ball: dict[str, Any],
    velocity: tuple[float, float],
    omega: tuple[float, float, float],
    mu: float,
) -> dict[str, Any]:
    """Closed form of the slide: slip, its time, the rolling velocity and the place of rolling."""
    radius = ball["radius_m"]
    beta = (ball["principal_rg_m"][0] / radius) ** 2
    v, w = np.array(velocity), np.array(omega)
    u = np.array([v[0] - radius * w[1], v[1] + radius * w[0]])
    size = float(np.linalg.norm(u))
    n = u / size
    time = size * beta / ((1 + beta) * mu * G)
    across = np.array([w[1], -w[0]])  # omega x z
    return {
        "beta": beta,
        "slip": size,
        "n": n,
        "time": time,
        "roll_velocity": v / (1 + beta) + beta / (1 + beta) * radius * across,
        "place": v * time - 0.5 * mu * G * n * time**2,
        "lost": 0.5 * ball["mass_kg"] * beta / (1 + beta) * size**2,
    }


TABLE = reference("closed_form_rows")


@pytest.mark.parametrize(
    "row", TABLE["rows"], ids=lambda row: f"beta {row[0]} mu {row[2]} rotation {row[1]}"
)
def test_the_worked_rows_are_met_to_their_digits(row: list[float]) -> None:
    beta, rotation, mu, slip, time, vx, vy, angle, x, y = row
    case: dict[str, Any] = {
        "ball": uniform_ball(beta, TABLE["ball"]["radius_m"], TABLE["ball"]["mass_kg"]),
        "release": bowlers_numbers(
            speed_m_s=TABLE["speed_m_s"],
            launch_deg=0.0,
            rev_rate_rpm=0.0 if rotation is None else TABLE["rev_rate_rpm"],
            axis_rotation_deg=rotation or 0.0,
            axis_tilt_deg=0.0,
        ),
        "friction": {"type": "constant", "mu": mu},
        "lane_length_m": LONG_LANE_M,
        "sample_times_s": [0.0],
    }
    result = shot(case)
    start = lane_quantities(case, result["samples"][0])
    # Printed to 1e-9, half a digit of rounding.
    assert float(np.linalg.norm(start["slip"])) == pytest.approx(slip, rel=0, abs=6e-10)
    roll, end = result["roll"], result["end"]
    assert roll["t_s"] == pytest.approx(time, rel=0, abs=TIME_S)
    assert [roll["x_m"], roll["y_m"]] == pytest.approx([x, y], rel=0, abs=PLACE_M)
    assert [end["vx_m_s"], end["vy_m_s"]] == pytest.approx([vx, vy], rel=0, abs=VELOCITY_M_S)
    found = math.degrees(math.atan2(end["vy_m_s"], end["vx_m_s"]))
    assert found == pytest.approx(angle, rel=0, abs=1e-7)  # degrees: 1e-8 m/s across 6.5 m/s


spins = st.floats(-45.0, 45.0)


@settings(deadline=None, max_examples=40)
@given(
    beta=st.floats(0.25, 0.6),
    mu=st.floats(0.05, 0.3),
    vx=st.floats(5.0, 9.5),
    vy=st.floats(-0.6, 0.6),
    wx=spins,
    wy=spins,
    wz=spins,
)
def test_every_slide_ends_where_and_how_the_formulas_say(
    beta: float, mu: float, vx: float, vy: float, wx: float, wy: float, wz: float
) -> None:
    ball = uniform_ball(beta)
    exact = sliding(ball, (vx, vy), (wx, wy, wz), mu)
    if exact["slip"] < 0.5:  # nearly rolling from the hand: nothing to measure
        return
    case = {
        "ball": ball,
        "release": spinning((0.0, 0.0), (vx, vy), (wx, wy, wz)),
        "friction": {"type": "constant", "mu": mu},
        "lane_length_m": LONG_LANE_M,
        "sample_times_s": [0.0, 0.5 * exact["time"], exact["time"] + 0.01],
    }
    result = shot(case)
    roll = result["roll"]
    assert roll["t_s"] == pytest.approx(exact["time"], rel=0, abs=3 * TIME_S)
    assert [roll["x_m"], roll["y_m"]] == pytest.approx(exact["place"], rel=0, abs=3 * PLACE_M)
    start, middle, after = (lane_quantities(case, moment) for moment in result["samples"])
    assert np.allclose(after["velocity"][:2], exact["roll_velocity"], rtol=0, atol=VELOCITY_M_S)
    assert np.allclose(middle["slip"], start["slip"] / 2, rtol=0, atol=1e-9)
    assert start["energy"] - after["energy"] == pytest.approx(exact["lost"], rel=0, abs=1e-6)
    # Tilt spin has no torque on it: a point contact can't twist.
    assert after["omega"][2] == pytest.approx(wz, rel=0, abs=1e-9)


def test_the_final_direction_follows_from_release_and_rg_alone() -> None:
    rotation, tilt, rpm, speed, beta = 60.0, 15.0, 380.0, 7.7, 0.34
    ball = uniform_ball(beta)
    surface = beta * ball["radius_m"] * rpm * 2 * math.pi / 60 * math.cos(math.radians(tilt))
    expected = math.atan2(
        surface * math.sin(math.radians(rotation)),
        speed + surface * math.cos(math.radians(rotation)),
    )
    rng = np.random.default_rng(3)
    maps: list[dict[str, Any]] = [
        {"type": "constant", "mu": 0.11},
        {"type": "zones", "until_m": [3.0, 8.0], "mu": [0.02, 0.3, 0.1]},
        {
            "type": "grid",
            "x_m": np.linspace(0, 15, 6).tolist(),
            "y_m": np.linspace(-1, 1, 7).tolist(),
            "mu": rng.uniform(0.05, 0.3, (6, 7)).tolist(),
        },
    ]
    for friction in maps:
        end = shot(
            {
                "ball": ball,
                "release": bowlers_numbers(
                    speed_m_s=speed,
                    launch_deg=0.0,
                    rev_rate_rpm=rpm,
                    axis_rotation_deg=rotation,
                    axis_tilt_deg=tilt,
                ),
                "friction": friction,
                "lane_length_m": LONG_LANE_M,
            }
        )["end"]
        assert math.atan2(end["vy_m_s"], end["vx_m_s"]) == pytest.approx(expected, rel=0, abs=1e-8)


def test_time_and_place_of_rolling_scale_with_one_over_friction() -> None:
    results = []
    for mu in (0.06, 0.12, 0.24):
        result = shot(
            {
                "ball": uniform_ball(0.35),
                "release": bowlers_numbers(launch_deg=0.0),
                "friction": {"type": "constant", "mu": mu},
                "lane_length_m": LONG_LANE_M,
            }
        )
        roll, end = result["roll"], result["end"]
        results.append(
            [roll["t_s"] * mu, roll["x_m"] * mu, roll["y_m"] * mu, end["vx_m_s"], end["vy_m_s"]]
        )
    assert np.allclose(results, results[0], rtol=0, atol=3e-8)


def test_turning_the_rotation_about_turns_only_the_hook_about() -> None:
    def end(rotation: float) -> dict[str, Any]:
        found: dict[str, Any] = shot(
            {
                "ball": uniform_ball(0.35),
                "release": bowlers_numbers(
                    launch_deg=0.0, axis_rotation_deg=rotation, axis_tilt_deg=0.0
                ),
                "friction": {"type": "constant", "mu": 0.12},
            }
        )["end"]
        return found

    one, other = end(50.0), end(-50.0)
    assert one["y_m"] > 0.1
    for name, sign in (("t_s", 1), ("x_m", 1), ("y_m", -1), ("vx_m_s", 1), ("vy_m_s", -1)):
        assert one[name] == pytest.approx(sign * other[name], rel=0, abs=1e-10)


def parabolas(
    ball: dict[str, Any],
    velocity: tuple[float, float],
    omega: tuple[float, float, float],
    edges: list[float],
    mus: list[float],
    times: list[float],
) -> Array:
    """Place and velocity at each time of a slide through zones: a chain of exact parabolas.

    The direction n of the slip never turns, so in each zone a = -mu g n; the edge is met at the
    first root of a quadratic; slip runs out by (1 + 1/beta) mu g.
    """
    radius = ball["radius_m"]
    exact = sliding(ball, velocity, omega, 1.0)
    n, left, beta = exact["n"], exact["slip"], exact["beta"]
    t, r, v = 0.0, np.zeros(2), np.array(velocity)
    rows = np.full((len(times), 4), np.nan)
    for zone, mu in enumerate(mus):
        a = -mu * G * n
        leave = left / ((1 + 1 / beta) * mu * G)
        wall = edges[zone] if zone < len(edges) else math.inf
        gap = wall - r[0]
        if math.isfinite(gap):
            # 0 = gap - v t - a t^2 / 2, the first positive root in its stable form.
            reach = 2 * gap / (v[0] + math.sqrt(v[0] ** 2 + 2 * a[0] * gap))
        else:
            reach = math.inf
        span = min(leave, reach)
        for k, when in enumerate(times):
            if t <= when < t + span:
                dt = when - t
                rows[k] = [*(r + v * dt + 0.5 * a * dt**2), *(v + a * dt)]
        r, v, t = r + v * span + 0.5 * a * span**2, v + a * span, t + span
        left -= (1 + 1 / beta) * mu * G * span
        if leave <= reach:
            for k, when in enumerate(times):
                if when >= t:
                    rows[k] = [*(r + v * (when - t)), *v]
            break
    assert radius > 0
    return rows


@pytest.mark.parametrize("mus", [[0.04, 0.20], [0.2, 0.02, 0.12], [0.03, 0.25, 0.01, 0.3]])
def test_zones_join_one_exact_parabola_to_the_next(mus: list[float]) -> None:
    edges = (
        [12.0, 15.0, 16.0][: len(mus) - 1] if len(mus) == 2 else [4.0, 9.0, 13.0][: len(mus) - 1]
    )
    ball, velocity, omega = uniform_ball(0.34), (7.9, -0.25), (-24.0, 21.0, 6.0)
    times = np.linspace(0.0, 2.2, 45).tolist()
    result = shot(
        {
            "ball": ball,
            "release": spinning((0.0, 0.0), velocity, omega),
            "friction": {"type": "zones", "until_m": edges, "mu": mus},
            "lane_length_m": LONG_LANE_M,
            "sample_times_s": times,
        }
    )
    found = np.array([[m["x_m"], m["y_m"], m["vx_m_s"], m["vy_m_s"]] for m in result["samples"]])
    expected = parabolas(ball, velocity, omega, edges, mus, times)
    # A constant acceleration is integrated without error; an edge is met to 1e-12 m.
    assert np.allclose(found, expected, rtol=0, atol=2e-8)
    assert result["roll"]["x_m"] > edges[0]


def test_the_path_bends_along_one_line_only_while_the_ball_slides() -> None:
    ball, velocity, omega = uniform_ball(0.38), (8.2, 0.3), (-30.0, 10.0, 4.0)
    exact = sliding(ball, velocity, omega, 0.1)
    times = np.linspace(0, 0.95 * exact["time"], 20)
    samples = shot(
        {
            "ball": ball,
            "release": spinning((0.0, 0.0), velocity, omega),
            "friction": {"type": "constant", "mu": 0.1},
            "lane_length_m": LONG_LANE_M,
            "sample_times_s": times.tolist(),
        }
    )["samples"]
    path = np.array([[m["x_m"], m["y_m"]] for m in samples])
    bend = path - np.outer(times, velocity)
    across = np.array([-exact["n"][1], exact["n"][0]])
    assert np.allclose(bend @ across, 0.0, rtol=0, atol=1e-11)
    assert np.allclose(bend @ exact["n"], -0.05 * G * times**2, rtol=0, atol=1e-11)


def test_backspin_that_matches_the_speed_stops_the_ball_dead() -> None:
    # v0 = beta R w: the rolling velocity is nought. It stops after v0^2 / (2 mu g).
    beta, speed, mu = 0.4, 5.0, 0.2
    ball = uniform_ball(beta)
    result = shot(
        {
            "ball": ball,
            "release": spinning((0.0, 0.1), (speed, 0.0), (0.0, -speed / (beta * 0.108), 0.0)),
            "friction": {"type": "constant", "mu": mu},
        }
    )
    assert result["reached"] is False
    assert result["end"]["x_m"] == pytest.approx(speed**2 / (2 * mu * G), rel=0, abs=1e-7)
    assert result["end"]["y_m"] == pytest.approx(0.1, rel=0, abs=1e-9)
    assert result["end"]["vx_m_s"] == pytest.approx(0.0, rel=0, abs=1e-7)


def test_more_backspin_still_never_reaches_the_pins() -> None:
    speed, mu = 5.0, 0.2
    result = shot(
        {
            "ball": uniform_ball(0.4),
            "release": spinning((0.0, 0.0), (speed, 0.0), (0.0, -200.0, 0.0)),
            "friction": {"type": "constant", "mu": mu},
            "sample_times_s": [0.5, 20.0],
        }
    )
    assert result["reached"] is False
    # It turns back where v0^2 = 2 mu g d, whatever its spin.
    assert result["end"]["x_m"] == pytest.approx(speed**2 / (2 * mu * G), rel=0, abs=1e-6)
    assert result["samples"][0]["x_m"] == pytest.approx(
        speed * 0.5 - 0.5 * mu * G * 0.25, rel=0, abs=1e-9
    )
    assert result["samples"][1] is None


def test_the_textbook_ball_of_halliday_starts_to_roll() -> None:
    # Halliday, Resnick & Walker, bowling-ball problem; a variant read on a question page gives
    # a = 1.86 m/s^2 and alpha = 42.3 rad/s^2 (read); T, d and v are derived from it. g = 9.8.
    case: dict[str, Any] = {
        "ball": uniform_ball(0.4, radius_m=0.11),
        "release": spinning((0.0, 0.0), (8.10, 0.0), (0.0, 0.0, 0.0)),
        "friction": {"type": "constant", "mu": 0.19},
        "gravity_m_s2": 9.8,
        "sample_times_s": [0.0, 1.0],
    }
    result = shot(case)
    first, second = (lane_quantities(case, moment) for moment in result["samples"])
    # Half a unit of the last printed digit.
    assert first["velocity"][0] - second["velocity"][0] == pytest.approx(1.86, rel=0, abs=0.005)
    assert second["omega"][1] == pytest.approx(42.3, rel=0, abs=0.05)
    assert result["roll"]["t_s"] == pytest.approx(1.243, rel=0, abs=0.0005)
    assert result["roll"]["x_m"] == pytest.approx(8.63, rel=0, abs=0.005)
    assert result["end"]["vx_m_s"] == pytest.approx(5.786, rel=0, abs=0.0005)


def test_the_textbook_ball_of_beer_and_johnston_is_thrown_with_backspin() -> None:
    # Beer & Johnston, Vector Mechanics, problem 16.71 (data read: 8 in, 12 lb, 15 ft/s, backspin
    # 9 rad/s, mu 0.10); answers derived with g = 32.2 ft/s^2.
    foot = 0.3048
    result = shot(
        {
            "ball": uniform_ball(0.4, radius_m=foot / 3, mass_kg=12 * 0.45359237),
            "release": spinning((0.0, 0.0), (15 * foot, 0.0), (0.0, -9.0, 0.0)),
            "friction": {"type": "constant", "mu": 0.10},
            "gravity_m_s2": 32.2 * foot,
        }
    )
    assert result["roll"]["t_s"] == pytest.approx(1.597, rel=0, abs=0.0005)
    assert result["roll"]["x_m"] / foot == pytest.approx(19.85, rel=0, abs=0.005)
    assert result["end"]["vx_m_s"] / foot == pytest.approx(9.857, rel=0, abs=0.0005)


FRACTIONS = reference("roll_fraction_rows")


def rolled_share(rg_in: float, radius_in: float) -> float:
    """Share of its speed a ball without spin keeps when it rolls."""
    rg = rg_in * IN_TO_M
    result = shot(
        {
            "ball": {
                "mass_kg": 6.8,
                "radius_m": radius_in * IN_TO_M,
                "principal_rg_m": [rg, rg, rg],
            },
            "release": spinning((0.0, 0.0), (8.0, 0.0), (0.0, 0.0, 0.0)),
            "friction": {"type": "constant", "mu": 0.2},
        }
    )
    share: float = result["end"]["vx_m_s"] / 8.0
    return share


@pytest.mark.parametrize("row", FRACTIONS["rows"], ids=lambda row: f"RG {row[0]}")
def test_rg_alone_says_what_share_of_the_speed_is_left_at_roll(row: list[float]) -> None:
    rg, beta, share = row
    found = rolled_share(rg, FRACTIONS["radius_in"])
    assert found == pytest.approx(1 / (1 + (rg / FRACTIONS["radius_in"]) ** 2), rel=0, abs=1e-9)
    # The printed digits are cut off rather than rounded in places: one unit of the last.
    assert found == pytest.approx(share, rel=0, abs=1e-4 if beta is None else 1e-5)


@pytest.mark.parametrize("row", FRACTIONS["uniform_sphere"]["rg_in_by_radius_in"])
def test_a_uniform_sphere_keeps_five_sevenths(row: list[float]) -> None:
    radius, rg = row
    assert rg == pytest.approx(math.sqrt(0.4) * radius, rel=0, abs=0.0005)
    # The RG is printed to 0.0005 in, which is 1e-4 of the share.
    assert rolled_share(rg, radius) == pytest.approx(5 / 7, rel=0, abs=1e-4)


def test_full_roll_turns_as_fast_as_it_travels() -> None:
    case: dict[str, Any] = {
        "ball": uniform_ball(0.35, FRACTIONS["full_roll"]["radius_m"]),
        "release": spinning((0.0, 0.0), (8.0, 0.0), (0.0, 20.0, 0.0)),
        "friction": {"type": "constant", "mu": 0.2},
    }
    end = shot(case)["end"]
    rpm = lane_quantities(case, end)["omega"][1] * 60 / (2 * math.pi)
    assert rpm / end["vx_m_s"] == pytest.approx(FRACTIONS["full_roll"]["rpm_per_m_s"], abs=0.05)
    per_mph = rpm / (end["vx_m_s"] / 0.44704)
    assert per_mph == pytest.approx(FRACTIONS["full_roll"]["rpm_per_mph"], abs=0.05)


def test_a_slow_ball_is_given_the_time_it_needs() -> None:
    """Without friction 18.288 m at 0.1 m/s take 182.88 s (derived): slow isn't stopped short."""
    result = shot(
        {
            "ball": uniform_ball(0.4),
            "release": spinning((0.0, 0.0), (0.1, 0.0), (0.0, 5.0, 0.0)),
            "friction": {"type": "constant", "mu": 0.0},
        }
    )
    assert result["reached"]
    # Seconds; one step's event is met to 1e-13 m.
    assert result["end"]["t_s"] == pytest.approx(182.88, abs=1e-6)


def test_a_delivery_that_never_ends_is_refused_and_not_called_stopped() -> None:
    with pytest.raises(InputError) as refused:
        shot(
            {
                "ball": uniform_ball(0.4),
                "release": spinning((0.0, 0.0), (1e-6, 0.0), (0.0, 5.0, 0.0)),
                "friction": {"type": "constant", "mu": 0.0},
            }
        )
    assert refused.value.field == "release"
