"""Layouts, drilled balls, tracks and instruments against worked rows, and errors against chance."""

from __future__ import annotations

import numpy as np

from physics import readings, ring, track
from physics.cases import drill
from physics.units import OZ_TO_KG
from tests.physics import test_drill as drilling
from tests.physics import test_layout as layouts
from tests.physics import test_readings as read
from tests.physics import test_ring as rings
from tests.physics.balls_and_lanes import reference
from tests.physics.how_right.rungs import COMMON, DERIVED, MEMORY, Found, between, within
from tests.physics.referee_geometry import drilled

BY_CHANCE = "errors drawn by chance as JCGM 100:2008 describes them"


def geometry() -> Found:
    table = reference("layout_rows")
    worst = 0.0
    for row in table["rows"]:
        given = dict(zip(table["columns"], row, strict=True))
        found = layouts.by_angles(
            given["drilling_angle_deg"],
            given["pin_to_pap_in"],
            given["val_angle_deg"],
            given["pap_over_in"],
            given["pap_up_in"],
        )
        for name in ("pin_over_in", "pin_up_in", "pin_buffer_in", "psa_to_pap_in"):
            worst = max(worst, abs(found[name] - given[name]))
    tracks = reference("track_rows")
    across = max(
        abs(27 - 2 * track.track_radius_in(tilt) - width) for width, tilt in tracks["tilt"]
    )
    clear = 0.0
    for over, up, tilt, grip, thumb, finger in tracks["clearance"]:
        for hole, printed in (
            ({"over_in": 0.0, "up_in": 0.0, "diameter_in": 0.0}, grip),
            (tracks["thumb"], thumb),
            (tracks["finger"], finger),
        ):
            at = track.hole_clearance_in(
                over, up, tilt, hole["over_in"], hole["up_in"], hole["diameter_in"]
            )
            clear = max(clear, abs(at - printed))
    source = "great circles at 27 in round; what the angles mean is common practice of the trade"
    return Found(
        [
            within(
                f"pin, pin buffer and PSA of {len(table['rows'])} worked layouts, printed to 0.001",
                source, DERIVED, worst, 0.00051, "in",
            ),
            within("ring across the far side, 13 tilts", source, DERIVED, across, 0.001, "in"),
            within(
                "clearance of grip centre, thumb and finger, printed to 0.01",
                source, DERIVED, clear, 0.006, "in",
            ),
        ]
    )  # fmt: skip


def bodies() -> Found:
    whole = drill(drilling.a_case(holes=[]))["mass_kg"]
    grams = 0.0
    for diameter, depth, _, printed, _ in drilling.TABLE["holes"]:
        hole = {**drilling.THUMB, "diameter_in": diameter, "depth_in": depth}
        left = drill(drilling.a_case(holes=[hole]))["mass_kg"]
        grams = max(grams, abs((whole - left) * 1000 - printed))
    case = drilling.a_case()
    found = drill(case)
    pieces = drilled(case, *drilling.pin_and_psa(case))
    rg = float(np.abs(np.array(found["principal_rg_in"]) - pieces.rg_in).max())
    static = [found["static_oz"][name] for name in ("side", "finger", "top")]
    ounces = np.abs(np.array(static) - pieces.moment_oz_in / case["ball"]["radius_in"])
    return Found(
        [
            within(
                f"material of {len(drilling.TABLE['holes'])} holes, printed to 0.1 g",
                "cylinders of 1.2 g/cm³", DERIVED, grams, 0.051, "g",
            ),
            within(
                "RGs of a ball with pitched holes against one added up from small pieces",
                "parallel-axis theorem", DERIVED, rg, 1e-9, "in",
            ),
            within(
                "its static balances likewise", "first moment over radius", DERIVED,
                float(ounces.max()), 1e-9, "oz",
            ),
        ],
        words=[
            f"The example: {(whole - found['mass_kg']) / OZ_TO_KG:.2f} oz of material drilled out."
        ],
    )  # fmt: skip


def instruments() -> Found:
    tilt = max(
        abs(readings.tilt_from_ring_width(width).value - printed)
        for width, printed in read.TABLE["tilt"]
    )
    revs = max(
        abs(readings.rev_rate_from_frames(frames, fps).value - rpm)
        for fps, frames, rpm in read.TABLE["rev_rate"]
    )
    held = np.concatenate([rings.inside_two_errors(*each) for each in rings.RINGS])
    points, errors = [], []
    for seed in range(8):
        truth = (5.3, -0.4, 9.0 + 2 * seed)
        marks = rings.marked(truth, arc_deg=200, count=7, error_in=0.04, seed=seed)
        found = ring.fit(marks)
        theirs, error = rings.by_scipy(marks, ring.POINT_IN)
        ours = np.array([found.pap_over_in, found.pap_up_in, found.tilt_deg])
        points.append(float(np.max(np.abs(ours - theirs) / error)))
        errors.append(error)
    return Found(
        [
            within(
                "tilt from the ring's width, printed to 0.01°",
                "a circle on the sphere; the reading is common practice", DERIVED,
                tilt, 0.006, "°",
            ),
            within(
                "rev rate from frames a turn", "trade articles", COMMON, revs, 1e-9, "rpm",
            ),
            within(
                "circle through ring points against SciPy's least squares on the surface",
                "scipy.optimize.least_squares", DERIVED,
                max(points), 0.03, "standard errors",
            ),
            between(
                "two stated errors of a count of frames hold the truth", BY_CHANCE, MEMORY,
                100 * read.frames_inside(), 90.0, 99.5, "%",
            ),
            between(
                "of a stopwatch", BY_CHANCE, MEMORY,
                100 * read.stopwatch_inside(), 90.0, 99.5, "%",
            ),
            between(
                "of a ring of 3 to 8 points, PAP and tilt: lowest share", BY_CHANCE, MEMORY,
                100 * float(held.min()), 90.0, 99.0, "%",
            ),
            between(
                "the same: highest share", BY_CHANCE, MEMORY,
                100 * float(held.max()), 90.0, 99.0, "%",
            ),
        ]
    )  # fmt: skip
