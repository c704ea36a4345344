"""What no friction can change, over random bodies on strongly varying friction.

Source: Newton-Euler for a balanced body with a point contact on a level lane (derived): with
F horizontal at the contact, d(L + m R z x v)/dt = (-R z) x F + R z x F = 0, L_z alone is constant,
and dE/dt = -mu m g |u| in slip. Tight tolerances are allowed: these are identities.
"""

from __future__ import annotations

import functools
import itertools
from typing import Any

import numpy as np
import pytest

from physics.cases import shot
from tests.physics.balls_and_lanes import (
    random_ball,
    random_friction,
    random_raw_release,
    spinning,
)
from tests.physics.referee_motion import (
    STANDARD_GRAVITY_M_S2,
    friction_of,
    lane_quantities,
)

KINDS = ("constant", "zones", "grid")
SEEDS = range(12)


@functools.cache
def played(kind: str, seed: int) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """A random case and its moments in order, the end included."""
    rng = np.random.default_rng([KINDS.index(kind), seed])
    case = {
        "ball": random_ball(rng),
        "release": random_raw_release(rng),
        "friction": random_friction(rng, kind),
        "sample_times_s": np.linspace(0.0, 4.0, 161).tolist(),
    }
    result = shot(case)
    return case, [moment for moment in result["samples"] if moment] + [result["end"]]


every_case = pytest.mark.parametrize(
    ("kind", "seed"), [(kind, seed) for kind in KINDS for seed in SEEDS]
)


@every_case
def test_angular_momentum_about_the_lane_is_a_constant_vector(kind: str, seed: int) -> None:
    case, moments = played(kind, seed)
    about_lane = np.array([lane_quantities(case, moment)["K"] for moment in moments])
    # K is linear in the state, so the integrator keeps it to rounding: 1e-10 of |K| (5 kg m^2/s).
    scale = float(np.linalg.norm(about_lane[0]))
    assert np.allclose(about_lane, about_lane[0], rtol=0, atol=1e-10 * scale)


def test_the_cases_change_the_ball_s_own_angular_momentum_a_lot() -> None:
    changes = []
    for kind in KINDS:
        for seed in SEEDS:
            case, moments = played(kind, seed)
            first, last = (lane_quantities(case, m)["L"] for m in (moments[0], moments[-1]))
            changes.append(float(np.linalg.norm(last - first) / np.linalg.norm(first)))
    # Otherwise a constant K would say little.
    assert np.median(changes) > 0.5
    assert max(changes) > 1.5


@every_case
def test_spin_about_the_vertical_is_never_touched(kind: str, seed: int) -> None:
    case, moments = played(kind, seed)
    vertical = np.array([lane_quantities(case, moment)["L"][2] for moment in moments])
    scale = float(np.linalg.norm(lane_quantities(case, moments[0])["L"]))
    assert np.allclose(vertical, vertical[0], rtol=0, atol=1e-10 * scale)


@every_case
def test_orientation_stays_a_unit_quaternion(kind: str, seed: int) -> None:
    _, moments = played(kind, seed)
    lengths = [float(np.linalg.norm(moment["orientation"])) for moment in moments]
    assert np.allclose(lengths, 1.0, rtol=0, atol=1e-12)


@every_case
def test_reported_angular_momentum_is_that_of_the_reported_spin(kind: str, seed: int) -> None:
    case, moments = played(kind, seed)
    for moment in moments:
        found = lane_quantities(case, moment)["L"]
        assert np.allclose(moment["angular_momentum_lane"], found, rtol=0, atol=1e-12)


@every_case
def test_energy_never_rises(kind: str, seed: int) -> None:
    case, moments = played(kind, seed)
    energy = np.array([lane_quantities(case, moment)["energy"] for moment in moments])
    # Of some 250 J; the integrator's own error is about 1e-10 of it a step.
    assert float(np.diff(energy).max()) < 1e-7
    assert energy[0] - energy[-1] > 1.0


def lost_to_friction_j(case: dict[str, Any], moments: list[dict[str, Any]]) -> float:
    """Integral of mu m g |u| dt over equally spaced moments, by Simpson's rule."""
    mass, friction = float(case["ball"]["mass_kg"]), friction_of(case["friction"])
    power = np.array(
        [
            friction(moment["x_m"], moment["y_m"])
            * mass
            * STANDARD_GRAVITY_M_S2
            * float(np.linalg.norm(lane_quantities(case, moment)["slip"]))
            for moment in moments
        ]
    )
    times = np.array([moment["t_s"] for moment in moments])
    step = times[1] - times[0]
    return float(
        step / 3 * (power[0] + power[-1] + 4 * power[1:-1:2].sum() + 2 * power[2:-1:2].sum())
    )


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(
    ("kind", "points", "within_j"),
    # Simpson's rule converges to the solver's loss as the points are doubled; the error left is
    # that of the quadrature at near-standstill of the contact and at the kinks of a grid.
    [("constant", 2001, 1e-5), ("grid", 8001, 5e-5)],
)
def test_energy_lost_is_the_work_of_friction(
    kind: str, points: int, within_j: float, seed: int
) -> None:
    rng = np.random.default_rng([7, KINDS.index(kind), seed])
    case: dict[str, Any] = {
        "ball": random_ball(rng),
        "release": random_raw_release(rng),
        "friction": random_friction(rng, kind),
    }
    result = shot(case)
    until = 0.98 * (result["roll"] or result["end"])["t_s"]
    case["sample_times_s"] = np.linspace(0.0, until, points).tolist()
    moments = shot(case)["samples"]
    first, last = (lane_quantities(case, m)["energy"] for m in (moments[0], moments[-1]))
    assert first - last > 5.0
    assert first - last == pytest.approx(lost_to_friction_j(case, moments), rel=0, abs=within_j)


def test_energy_lost_through_zones_is_the_sum_over_the_zones() -> None:
    rng = np.random.default_rng(99)
    edges, mu = [4.0, 9.0], [0.12, 0.03, 0.2]
    case: dict[str, Any] = {
        "ball": random_ball(rng),
        "release": random_raw_release(rng),
        "friction": {"type": "zones", "until_m": edges, "mu": mu},
        "lane_length_m": 11.0,
    }
    lengths = [*edges, 11.0]
    crossings = [0.0] + [shot({**case, "lane_length_m": x})["end"]["t_s"] for x in lengths]
    # At an edge the two zones meet, so each zone is sampled a hair inside itself.
    total = 0.0
    for begin, end in itertools.pairwise(crossings):
        times = np.linspace(begin + 1e-9, end - 1e-9, 801).tolist()
        total += lost_to_friction_j(case, shot({**case, "sample_times_s": times})["samples"])
    ends = shot({**case, "sample_times_s": [0.0]})
    first, last = (lane_quantities(case, m)["energy"] for m in (ends["samples"][0], ends["end"]))
    assert ends["roll"] is None or ends["roll"]["x_m"] > 10.0
    # 1e-9 s left out at each edge at some 50 W, and Simpson's 1e-8 J.
    assert first - last == pytest.approx(total, rel=0, abs=1e-6)


def test_without_friction_nothing_is_lost_and_the_centre_goes_straight() -> None:
    rng = np.random.default_rng(5)
    case = {
        "ball": random_ball(rng),
        "release": random_raw_release(rng),
        "friction": {"type": "constant", "mu": 0.0},
        "sample_times_s": np.linspace(0.0, 2.0, 41).tolist(),
    }
    result = shot(case)
    moments = [lane_quantities(case, moment) for moment in result["samples"] if moment]
    start = case["release"]
    for found in moments:
        assert np.allclose(found["velocity"][:2], start["velocity_m_s"], rtol=0, atol=1e-12)
        assert np.allclose(found["L"], moments[0]["L"], rtol=0, atol=1e-12)
        # Energy follows the attitude, integrated to 1e-10 a step: nanojoules of 250 J.
        assert found["energy"] == pytest.approx(moments[0]["energy"], rel=0, abs=1e-7)
    for moment in result["samples"]:
        if moment:
            assert moment["y_m"] == pytest.approx(
                start["position_m"][1] + start["velocity_m_s"][1] * moment["t_s"], rel=0, abs=1e-11
            )
    assert result["roll"] is None
    assert result["reached"]


def test_a_heavier_ball_of_the_same_shape_takes_the_same_path() -> None:
    # Coulomb friction is proportional to weight, so mass cancels (derived).
    rng = np.random.default_rng(17)
    ball, release = random_ball(rng), random_raw_release(rng)
    friction = random_friction(rng, "grid")
    light, heavy = (
        shot({"ball": {**ball, "mass_kg": mass}, "release": release, "friction": friction})["end"]
        for mass in (4.0, 7.2)
    )
    for name in ("t_s", "x_m", "y_m", "vx_m_s", "vy_m_s"):
        # Steps are chosen apart for each; either path is good to about 1e-10 a step.
        assert light[name] == pytest.approx(heavy[name], rel=0, abs=2e-8)


def test_gravity_sets_the_clock_of_friction() -> None:
    # With scalar inertia, twice the gravity at half the friction is the same motion (derived).
    ball = {"mass_kg": 6.8, "radius_m": 0.1085, "principal_rg_m": [0.064, 0.064, 0.064]}
    case = {"ball": ball, "release": spinning((0.0, 0.0), (8.0, 0.0), (-20.0, 15.0, 5.0))}
    slow = shot({**case, "friction": {"type": "constant", "mu": 0.2}, "gravity_m_s2": 9.8})["end"]
    fast = shot({**case, "friction": {"type": "constant", "mu": 0.1}, "gravity_m_s2": 19.6})["end"]
    for name in ("t_s", "x_m", "y_m", "vx_m_s", "vy_m_s"):
        assert slow[name] == pytest.approx(fast[name], rel=0, abs=1e-9)
