"""Rungs 1 to 3: conversions, what mechanics keeps, closed forms, the free body, published rows."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import constants

from physics import units
from physics.cases import shot
from tests.physics import test_benchmark_rows as benchmark
from tests.physics import test_closed_forms as closed
from tests.physics import test_free_body as free
from tests.physics import test_invariants as kept
from tests.physics import test_rolling as rolling
from tests.physics.balls_and_lanes import IN_TO_M, bowlers_numbers, reference, uniform_ball
from tests.physics.how_right.pictures import Series, plot
from tests.physics.how_right.rungs import DERIVED, PUBLISHED, Finding, Found, Picture, within
from tests.physics.referee_motion import lane_quantities


def conversions() -> Found:
    """Against SciPy's table of constants, which shares nothing with the package."""
    pairs = {
        "inch": (units.IN_TO_M, constants.inch),
        "foot": (units.FT_TO_M, constants.foot),
        "mile an hour": (units.MPH_TO_M_S, constants.mph),
        "pound": (units.LB_TO_KG, constants.pound),
        "ounce": (units.OZ_TO_KG, constants.oz),
        "gravity": (units.STANDARD_GRAVITY_M_S2, constants.g),
    }
    worst = max(abs(ours / theirs - 1) for ours, theirs in pairs.values())
    return Found(
        [
            within(
                f"{', '.join(pairs)}: largest relative difference from SciPy's constants",
                "yard and pound agreement of 1959; 3rd General Conference on Weights and Measures",
                PUBLISHED,
                worst,
                1e-12,
                "",
            )
        ]
    )


def invariants() -> Found:
    vector, vertical, rise = 0.0, 0.0, 0.0
    for kind in kept.KINDS:
        for seed in kept.SEEDS:
            case, moments = kept.played(kind, seed)
            found = [lane_quantities(case, moment) for moment in moments]
            about = np.array([one["K"] for one in found])
            spin = np.array([one["L"] for one in found])
            energy = np.array([one["energy"] for one in found])
            vector = max(vector, _drift(about) / float(np.linalg.norm(about[0])))
            vertical = max(vertical, _drift(spin[:, 2:]) / float(np.linalg.norm(spin[0])))
            rise = max(rise, float(np.diff(energy).max()))
    count = len(kept.KINDS) * len(kept.SEEDS)
    source = "Newton and Euler, force level at the contact"
    balls = f"{count} random balls on friction that jumps"
    return Found(
        [
            within(
                f"{balls}: change of the angular momentum about the lane, share",
                source, DERIVED, vector, 1e-10, "",
            ),
            within(
                "the same: change of the spin about the vertical, share",
                source, DERIVED, vertical, 1e-10, "",
            ),
            within(
                "the same: most that the energy rises between two samples, of some 250 J",
                source, DERIVED, max(rise, 0.0), 1e-7, "J",
            ),
        ]
    )  # fmt: skip


def _drift(rows: Any) -> float:
    return float(np.abs(rows - rows[0]).max())


def closed_forms() -> Found:
    table = reference("closed_form_rows")
    time, place, speed = 0.0, 0.0, 0.0
    for beta, rotation, mu, _, t, vx, vy, _, x, y in table["rows"]:
        result = shot(
            {
                "ball": uniform_ball(beta, table["ball"]["radius_m"], table["ball"]["mass_kg"]),
                "release": bowlers_numbers(
                    speed_m_s=table["speed_m_s"],
                    launch_deg=0.0,
                    rev_rate_rpm=0.0 if rotation is None else table["rev_rate_rpm"],
                    axis_rotation_deg=rotation or 0.0,
                    axis_tilt_deg=0.0,
                ),
                "friction": {"type": "constant", "mu": mu},
                "lane_length_m": closed.LONG_LANE_M,
            }
        )
        roll, end = result["roll"], result["end"]
        time = max(time, abs(roll["t_s"] - t))
        place = max(place, math.hypot(roll["x_m"] - x, roll["y_m"] - y))
        speed = max(speed, math.hypot(end["vx_m_s"] - vx, end["vy_m_s"] - vy))
    source = "Broholm, The Bowling ball (Johns Hopkins lecture, 1997)"
    rows = f"{len(table['rows'])} slides of a ball with one moment"
    share = max(
        abs(closed.rolled_share(rg, closed.FRACTIONS["radius_in"]) - printed)
        for rg, _, printed in closed.FRACTIONS["rows"]
    )
    return Found(
        [
            within(f"{rows}: when it rolls", source, DERIVED, time, closed.TIME_S, "s"),
            within("the same: where it rolls", source, DERIVED, place, 1.5 * closed.PLACE_M, "m"),
            within(
                "the same: speed at full roll", source, DERIVED, speed, 1.5e-8, "m/s"
            ),
            within(
                "share of its speed a ball without spin keeps, by RG",
                "1/(1 + (RG/R)²), printed to 4 or 5 digits", DERIVED, share, 1e-4, "",
            ),
        ]
    )  # fmt: skip


def published_rows() -> Found:
    case, table = benchmark.the_case(), benchmark.TABLE
    allowed = table["tolerances"]
    worst = 0.0
    for sample, row in zip(shot(case)["samples"], table["rows"], strict=True):
        _, side, down, v_side, v_down, spin_side, spin_lane = row
        spin = lane_quantities(case, sample)["omega"]
        apart = (
            (sample["y_m"] - side) / allowed["position_m"],
            (sample["x_m"] - down) / allowed["position_m"],
            (sample["vy_m_s"] - v_side) / allowed["velocity_m_s"],
            (sample["vx_m_s"] - v_down) / allowed["velocity_m_s"],
            (spin[0] - spin_lane) / allowed["spin_rad_s"],
            (spin[1] - spin_side) / allowed["spin_rad_s"],
        )
        worst = max(worst, *(abs(float(v)) for v in apart))
    roll = shot(case)["roll"]["t_s"] - table["roll"]["closed_form_t_s"]
    source = "RobotLocomotion/drake, multibody/benchmarks/bowling_ball"
    return Found(
        [
            within(
                f"{len(table['rows'])} rows of place, speed and spin: largest miss",
                source, PUBLISHED, worst, 1.0, "of the benchmark's own tolerance",
            ),
            within("when rolling begins", source, PUBLISHED, roll, 1e-8, "s"),
        ]
    )  # fmt: skip


def free_body() -> Found:
    worst = 0.0
    times = np.linspace(0.05, 2.6, 52)
    drawn: list[Series] = []
    for rg_in in free.REAL_BALLS_IN:
        moments = free.MASS_KG * (np.array(rg_in) * IN_TO_M) ** 2
        for degrees in (12.0, 35.0, 55.0, 78.0):
            angle = math.radians(degrees)
            omega = (36.0 * math.cos(angle), 0.0, 36.0 * math.sin(angle))
            case = free.floating(moments, omega, times.tolist(), speed_m_s=7.0)
            case["ball"]["principal_rg_m"] = (np.array(rg_in) * IN_TO_M).tolist()
            found = free.body_spins(case)
            exact = np.array([free.jacobi(moments, omega, float(t)) for t in times])
            worst = max(worst, float(np.abs(found - exact).max()))
            if rg_in == free.REAL_BALLS_IN[0] and degrees in (35.0, 55.0):
                name = f"spin axis {degrees:.0f}° from the pin"
                exactly = [(float(t), float(w)) for t, w in zip(times, exact[:, 1], strict=True)]
                ours = [(float(t), float(w)) for t, w in zip(times, found[:, 1], strict=True)]
                drawn += [
                    Series(f"{name}: elliptic functions", exactly),
                    Series(f"{name}: solver", ours[::3], joined=False),
                ]
    svg = plot("seconds from the hand", "spin about the middle axis, rad/s", drawn)
    return Found(
        [
            within(
                "16 spins of four real balls over 2.6 s: largest difference of the spin",
                "Landau & Lifshitz, Mechanics, 36–37 (from memory, high confidence); formulas "
                "checked against Euler's equations",
                DERIVED, worst, free.SPIN_RAD_S, "rad/s of 36",
            )
        ],
        [Picture("free-body", "Flare without friction: the spin wanders over the ball.", svg)],
    )  # fmt: skip


def chaplygin() -> Found:
    case, samples = rolling.rolling_samples(rolling.REAL_BALL)
    found = [rolling.chaplygin(case, moment) for moment in samples]
    lengths = np.array([np.linalg.norm(about) for about, _, _ in found])
    vertical = np.array([about @ gamma for about, gamma, _ in found])
    energy = np.array([value for _, _, value in found])
    slip = max(float(np.linalg.norm(lane_quantities(case, m)["slip"])) for m in samples)
    source = "Chaplygin's ball (1903): Borisov, Kilin & Mamaev, abstracts read"
    return Found(
        [
            within(
                "momentum about the contact, share it changes by while rolling",
                source, DERIVED, float(np.ptp(lengths) / lengths[0]), 2e-11, "",
            ),
            within(
                "its upright part, share", source, DERIVED,
                float(np.ptp(vertical) / lengths[0]), 2e-11, "",
            ),
            within(
                "energy, share", source, DERIVED,
                float(np.ptp(energy) / energy[0]), 2e-9, "",
            ),
            within("slip of the contact point", "rolling itself", DERIVED, slip, 1e-12, "m/s"),
        ]
    )  # fmt: skip


def unbalanced() -> Found:
    """A centre of mass off the centre: sizes worked by hand, and nothing as it goes to nothing."""
    from physics import offset
    from physics.unbalanced import slipping
    from tests.physics import test_unbalanced as swung

    balanced = shot(swung.delivery(None))["end"]
    moved = []
    for size in (1e-3, 1e-4, 1e-5):
        end = shot(swung.delivery([0.6 * size, -0.48 * size, 0.64 * size]))["end"]
        moved.append(math.hypot(end["y_m"] - balanced["y_m"], end["t_s"] - balanced["t_s"]))
    ball, state = (
        swung.kernel_ball((0.0, 0.0, 0.001)),
        swung.state_of((0.0, 30.0, 0.0), [1.0, 0.0, 0.0, 0.0]),
    )
    load = 1 - float(slipping(state, ball, 0.0, 0.0, 0.0)[-1])
    rows = offset.report()["rows"]
    legal = [
        abs(row["mean_boards"])
        for row in rows
        if row["ball"].startswith("3 oz") and row["delivery"] == "matched"
    ]
    slow = max(abs(row["mean_boards"]) for row in rows)
    return Found(
        [
            within(
                "a millimetre above the centre at 30 rad/s: share of the load it lifts, less 9.2 %",
                "r ω²/g", DERIVED, load - 0.092, 5e-4, "",
            ),
            within(
                "a tenth of the offset does a tenth: ratio of 10 µm to 100 µm, less 0.1",
                "the limit of no offset", DERIVED, moved[2] / moved[1] - 0.1, 0.005, "",
            ),
            Finding(
                "what the legal 3 oz does to a matched bowler's 15 lb ball at the pins",
                "`python -m physics offset`", DERIVED, "reported",
                f"{min(legal):.1f} to {max(legal):.1f} boards; "
                f"slow with few revs up to {slow:.1f}", None,
            ),
        ]
    )  # fmt: skip
