"""Rung 6: what people and a throwing robot were measured to do, beside the model."""

from __future__ import annotations

from physics import robot
from tests.physics import bands
from tests.physics.how_right.pictures import Range, Series, plot, ranges
from tests.physics.how_right.rungs import (
    MEMORY,
    PUBLISHED,
    SECOND_HAND,
    Finding,
    Found,
    Picture,
    between,
    within,
)

MARKS = {"read": PUBLISHED, "second-hand": SECOND_HAND, "from memory, low confidence": MEMORY}


def published_bands() -> Found:
    rows = list(bands.rows())
    findings, pictures = [], []
    for number, what in enumerate(dict.fromkeys(row.what for row in rows), start=1):
        several = [row for row in rows if row.what == what]
        mark, _, source = several[0].source.partition(": ")
        findings += [
            between(f"{what} · {r.style}", source, MARKS[mark], r.found, r.low, r.high, "")
            for r in several
        ]
        svg = ranges(what, [Range(r.style, r.low, r.high, r.found) for r in several], label_px=270)
        pictures.append(Picture(f"bands-{number}", what, svg))
    inside = sum(row.inside for row in rows)
    return Found(
        findings,
        pictures,
        [
            f"{inside} of {len(rows)} inside their bands; nothing was fitted. The ball thrown is "
            "one hybrid on one house pattern: neither ball nor oil of any of these releases is "
            "known, and two readings of a published angle are both thrown."
        ],
    )


def throwing_robot() -> Found:
    found = robot.report()
    misfit = found["misfit"]
    source = "US governing body's robot experiment, nine rows; repeats there differ so much"
    seen = [(row["seen"][0], row["predicted"][0]) for row in found["rows"]]
    exact = [(17.0, 17.0), (30.0, 30.0)]
    svg = plot(
        "entry board seen", "entry board of the model",
        [Series("nine shots, three numbers fitted", seen, joined=False), Series("as seen", exact)],
    )  # fmt: skip
    return Found(
        [
            within(
                "entry board: misfit of the nine rows, rms, against the robot's own repeats",
                source, PUBLISHED, misfit["board_rms"], 0.3, "board",
            ),
            within(
                "entry angle: the same", source, PUBLISHED, misfit["deg_rms"], 1.2, "°",
            ),
            within(
                "entry board against what a first study of these equations left",
                "a first study, three free numbers", "estimate of this project",
                misfit["board_rms"], 2.5, "boards",
            ),
            Finding(
                "a row left out of the fit: board and angle, rms", source, PUBLISHED, "reported",
                f"{misfit['left_out_board_rms']:.2f} board, {misfit['left_out_deg_rms']:.2f}°",
                None,
            ),
        ],
        [Picture("robot", "Nine shots of a throwing robot.", svg)],
        [
            "The shape of the oil, unknown there, was chosen with all nine rows in sight, so even "
            "the rows left out flatter the model. The rows show next to no effect of speed, which "
            "Coulomb friction can't give at one rev rate."
        ],
    )  # fmt: skip
