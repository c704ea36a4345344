"""A ball nothing twists: Euler's top, by Jacobi elliptic functions.

Sources: Landau & Lifshitz, Mechanics, sections 36-37 (from memory, high confidence); the separatrix
in elementary functions, arXiv:2401.11518 (abstract read); every formula checked against Euler's
equations apart from this package (derived). The rows of the reference table use moments in the
ratio 1 : 2 : 3, which only a flat plate has: balls here come within a part in 1e9 of it.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.special import ellipj, ellipk

from physics.cases import shot
from tests.physics.balls_and_lanes import IN_TO_M, reference, spinning
from tests.physics.referee_motion import Array, lane_quantities

TABLE = reference("free_body_rows")
NO_FRICTION = {"type": "constant", "mu": 0.0}
MASS_KG, RADIUS_M = 6.8, 0.1085
# The table's rows are printed to 1e-12; the package integrates attitude to 1e-10 a step, which the
# few seconds of slow spin here and a hundred radians of fast spin below add up to under this.
SPIN_RAD_S = 1e-7


def floating(
    moments: Array, omega: tuple[float, float, float], times: list[float], speed_m_s: float = 3.0
) -> dict[str, Any]:
    """A ball with these moments (up to a factor) gliding over a lane without friction."""
    rg = 0.6 * RADIUS_M * np.sqrt(moments / moments[2])
    return {
        "ball": {"mass_kg": MASS_KG, "radius_m": RADIUS_M, "principal_rg_m": rg.tolist()},
        "release": spinning((0.0, 0.0), (speed_m_s, 0.0), omega),
        "friction": NO_FRICTION,
        "sample_times_s": times,
        "lane_length_m": 60.0,
    }


def body_spins(case: dict[str, Any]) -> Array:
    return np.array([moment["omega_body_rad_s"] for moment in shot(case)["samples"]])


def jacobi(moments: Array, omega: tuple[float, float, float], t: float) -> Array:
    """Spin in the body at t, with w2 = 0 and the others positive at the start."""
    i1, i2, i3 = moments
    energy2 = float(moments @ np.square(omega))
    momentum2 = float(np.square(moments) @ np.square(omega))
    a1 = math.sqrt((energy2 * i3 - momentum2) / (i1 * (i3 - i1)))
    a3 = math.sqrt((momentum2 - energy2 * i1) / (i3 * (i3 - i1)))
    about_high = (i3 - i2) * (momentum2 - energy2 * i1)
    about_low = (i2 - i1) * (energy2 * i3 - momentum2)
    if momentum2 > energy2 * i2:
        a2 = math.sqrt((energy2 * i3 - momentum2) / (i2 * (i3 - i2)))
        sn, cn, dn, _ = ellipj(t * math.sqrt(about_high / (i1 * i2 * i3)), about_low / about_high)
        return np.array([a1 * cn, a2 * sn, a3 * dn])
    a2 = math.sqrt((momentum2 - energy2 * i1) / (i2 * (i2 - i1)))
    sn, cn, dn, _ = ellipj(t * math.sqrt(about_low / (i1 * i2 * i3)), about_high / about_low)
    return np.array([a1 * dn, a2 * sn, a3 * cn])


def separatrix(moments: Array, size: float, t: float) -> Array:
    """The loop between the two families, w2 = 0 at the start."""
    i1, i2, i3 = moments
    rate = size * math.sqrt((i2 - i1) * (i3 - i2) / (i1 * i3))
    return size * np.array(
        [
            math.sqrt(i2 * (i3 - i2) / (i1 * (i3 - i1))) / math.cosh(rate * t),
            math.tanh(rate * t),
            math.sqrt(i2 * (i2 - i1) / (i3 * (i3 - i1))) / math.cosh(rate * t),
        ]
    )


ROWS = [*TABLE["loops_about_high"], *TABLE["loops_about_low"], *TABLE["separatrix"]]
NEARLY_A_PLATE = np.array([1.0, 2.0, 3.0 * (1 - 1e-9)])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[0]} at {row[1]}")
def test_a_ball_near_the_plate_spins_as_the_worked_rows_say(row: list[Any]) -> None:
    start, t, *expected = row
    found = body_spins(floating(NEARLY_A_PLATE, tuple(start), [t]))[0]
    # A part in 1e9 of the moments moves the spin by some 1e-8 in these few seconds.
    assert np.allclose(found, expected, rtol=0, atol=SPIN_RAD_S)


@pytest.mark.parametrize("row", [*TABLE["loops_about_high"], *TABLE["loops_about_low"]])
def test_the_formulas_used_below_give_the_worked_rows(row: list[Any]) -> None:
    start, t, *expected = row
    assert np.allclose(jacobi(np.array([1.0, 2.0, 3.0]), start, t), expected, rtol=0, atol=1e-12)


@pytest.mark.parametrize("row", TABLE["separatrix"])
def test_the_separatrix_formula_gives_the_worked_rows(row: list[Any]) -> None:
    _, t, *expected = row
    assert np.allclose(separatrix(np.array([1.0, 2.0, 3.0]), 1.0, t), expected, rtol=0, atol=1e-12)


@pytest.mark.parametrize("name", ["high", "low"])
def test_the_motion_comes_back_after_the_worked_period(name: str) -> None:
    start = (1.0, 0.0, 2.0) if name == "high" else (2.0, 0.0, 0.5)
    period = TABLE["parameters"][name]["period"]
    found = body_spins(floating(NEARLY_A_PLATE, start, [period, period / 4]))
    assert np.allclose(found[0], start, rtol=0, atol=SPIN_RAD_S)
    assert found[1][1] > 0.5  # a quarter of the way round it was elsewhere
    rate, m = TABLE["parameters"][name]["rate"], TABLE["parameters"][name]["m"]
    assert 4 * float(ellipk(m)) / rate == pytest.approx(period, rel=0, abs=1e-11)


REAL_BALLS_IN = [(2.48, 2.50, 2.53), (2.46, 2.515, 2.52), (2.55, 2.552, 2.60), (2.43, 2.47, 2.51)]


@pytest.mark.parametrize("angle_deg", [12.0, 35.0, 55.0, 78.0])
@pytest.mark.parametrize("rg_in", REAL_BALLS_IN)
def test_a_real_ball_at_a_bowler_s_spin_follows_the_elliptic_functions(
    rg_in: tuple[float, float, float], angle_deg: float
) -> None:
    moments = MASS_KG * (np.array(rg_in) * IN_TO_M) ** 2
    spin, angle = 36.0, math.radians(angle_deg)
    omega = (spin * math.cos(angle), 0.0, spin * math.sin(angle))
    times = [0.3, 0.9, 1.7, 2.6]
    case = floating(moments, omega, times, speed_m_s=7.0)
    case["ball"]["principal_rg_m"] = (np.array(rg_in) * IN_TO_M).tolist()
    found = body_spins(case)
    expected = np.array([jacobi(moments, omega, t) for t in times])
    assert np.allclose(found, expected, rtol=0, atol=SPIN_RAD_S)


@pytest.mark.parametrize("rg_in", REAL_BALLS_IN)
def test_a_spin_on_the_separatrix_leaves_it_neither_way(rg_in: tuple[float, float, float]) -> None:
    moments = MASS_KG * (np.array(rg_in) * IN_TO_M) ** 2
    times = [0.5, 1.5, 2.5]
    case = floating(moments, tuple(separatrix(moments, 40.0, 0.0)), times, speed_m_s=7.0)
    case["ball"]["principal_rg_m"] = (np.array(rg_in) * IN_TO_M).tolist()
    expected = np.array([separatrix(moments, 40.0, t) for t in times])
    # The loop is unstable, but its growth on a lane is one or two e-folds.
    assert np.allclose(body_spins(case), expected, rtol=0, atol=10 * SPIN_RAD_S)


@pytest.mark.parametrize(
    ("rg_in", "core"), [((2.48, 2.53, 2.53), 0), ((2.50, 2.50, 2.55), 2)], ids=["long", "flat"]
)
def test_a_symmetric_core_precesses_steadily_in_the_body_and_in_space(
    rg_in: tuple[float, float, float], core: int
) -> None:
    moments = MASS_KG * (np.array(rg_in) * IN_TO_M) ** 2
    across, along = moments[1], moments[core]
    omega = np.array([0.0, 0.0, 0.0])
    omega[core], omega[1] = 20.0, 17.0
    times = np.linspace(0.0, 2.4, 25)
    case = floating(moments, tuple(omega), times.tolist(), speed_m_s=7.0)
    case["ball"]["principal_rg_m"] = (np.array(rg_in) * IN_TO_M).tolist()
    samples = shot(case)["samples"]
    # In the body: w turns about the core at (Is - It)/It ws, at a fixed angle from it.
    rate = (along - across) / across * omega[core]
    turn = np.array([np.cos(rate * times), np.sin(rate * times)])
    first, second = [(core + 1) % 3, (core + 2) % 3]
    start = np.array([omega[first], omega[second]])
    expected_first = start[0] * turn[0] - start[1] * turn[1]
    expected_second = start[0] * turn[1] + start[1] * turn[0]
    spins = np.array([moment["omega_body_rad_s"] for moment in samples])
    assert np.allclose(spins[:, core], omega[core], rtol=0, atol=SPIN_RAD_S)
    assert np.allclose(spins[:, first], expected_first, rtol=0, atol=SPIN_RAD_S)
    assert np.allclose(spins[:, second], expected_second, rtol=0, atol=SPIN_RAD_S)
    # In space: the core turns about L at L/It, right-handed, the cone angle constant.
    found = [lane_quantities(case, moment) for moment in samples]
    momentum = found[0]["L"]
    pole = momentum / np.linalg.norm(momentum)
    cores = np.array([one["attitude"][:, core] for one in found])
    assert np.allclose(cores @ pole, cores[0] @ pole, rtol=0, atol=1e-8)
    flat = cores[0] - (cores[0] @ pole) * pole
    size = float(np.linalg.norm(flat))
    e1, e2 = flat / size, np.cross(pole, flat / size)
    swept = float(np.linalg.norm(momentum)) / across * times
    assert np.allclose(cores @ e1, size * np.cos(swept), rtol=0, atol=1e-6)
    assert np.allclose(cores @ e2, size * np.sin(swept), rtol=0, atol=1e-6)


AXIS_PATH = TABLE["symmetric_core_axis_path"]


def axis_path_in(angle_deg: float) -> float:
    """Inches of surface the spin axis crosses, without friction, for a symmetric core."""
    low, high = AXIS_PATH["rg_low_in"] * IN_TO_M, AXIS_PATH["rg_high_in"] * IN_TO_M
    spin, angle = AXIS_PATH["rpm"] * 2 * math.pi / 60, math.radians(angle_deg)
    case = {
        "ball": {"mass_kg": MASS_KG, "radius_m": RADIUS_M, "principal_rg_m": [low, high, high]},
        "release": spinning(
            (0.0, 0.0), (5.0, 0.0), (spin * math.cos(angle), spin * math.sin(angle), 0.0)
        ),
        "friction": NO_FRICTION,
        "sample_times_s": np.linspace(0.0, AXIS_PATH["time_s"], 601).tolist(),
    }
    spins = body_spins(case)
    axes = spins / np.linalg.norm(spins, axis=1)[:, None]
    steps = np.linalg.norm(np.cross(axes[1:], axes[:-1]), axis=1)
    return float(AXIS_PATH["radius_in"]) * float(np.arcsin(np.minimum(1.0, steps)).sum())


@pytest.mark.parametrize("row", AXIS_PATH["rows"], ids=lambda row: f"{row[0]} degrees")
def test_the_axis_path_is_the_worked_arc(row: list[float]) -> None:
    # Half a unit of the last printed digit.
    assert axis_path_in(row[0]) == pytest.approx(row[1], rel=0, abs=0.006)


def test_flare_without_friction_goes_as_the_sine_of_twice_the_pin_distance() -> None:
    # Derived; that most flare lies near 3 to 4 in of pin-to-PAP is read in trade articles.
    most = axis_path_in(45.0)
    share = reference("layout_rows")["flare_share"]["rows"]
    for pin_in, expected in share:
        angle_deg = pin_in * 360 / 27
        # Rows are printed to 0.001.
        assert axis_path_in(angle_deg) / most == pytest.approx(expected, rel=0, abs=6e-4)
        assert expected == pytest.approx(math.sin(2 * math.radians(angle_deg)), rel=0, abs=6e-4)


def test_rg_at_the_axis_never_changes_along_a_free_path() -> None:
    # 2T = L^2-conserving motion keeps both T and |L|, so the RG about the momentum axis stays
    # (derived; trade articles say that the migration follows constant RG).
    rg = np.array([2.47, 2.50, 2.53]) * IN_TO_M
    case = floating(rg**2, (20.0, 15.0, 22.0), np.linspace(0, 2.5, 60).tolist(), speed_m_s=7.0)
    case["ball"]["principal_rg_m"] = rg.tolist()
    values = []
    for spin in body_spins(case):
        pole = rg**2 * spin
        pole /= np.linalg.norm(pole)
        values.append(float(1.0 / (pole @ (pole / rg**2))))
    assert np.allclose(values, values[0], rtol=1e-9, atol=0)
