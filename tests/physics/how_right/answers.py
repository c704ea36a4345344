"""What is made of shots: certainty, what reports teach, and whether surface outweighs layout."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from physics import doubt, worlds
from tests.physics import scenes
from tests.physics import test_doubt as doubts
from tests.physics import test_rank as ranking
from tests.physics.how_right.pictures import Range, ranges
from tests.physics.how_right.rungs import (
    DERIVED,
    PUBLISHED,
    Finding,
    Found,
    Picture,
    between,
    within,
)

KEPT = Path(__file__).parent / "kept"


def kept(name: str) -> dict[str, Any]:
    """What a long command wrote: its answer under ``answer``, and ``made_on``."""
    found: dict[str, Any] = json.loads((KEPT / f"{name}.json").read_text(encoding="utf-8"))
    return found


def best_lines() -> Found:
    """The search over lines against brute force."""
    findings = []
    for name, oil in (("house", scenes.HOUSE), ("flat", scenes.FLAT)):
        more = 100 * ranking.over_a_grid(oil)
        findings.append(
            Finding(
                f"{name} oil: strikes on the line found, less those on the best of 234 lines",
                "brute force over laydown and launch", DERIVED, "over −1 point",
                f"{more:+.1f} points", more > -1,
            )
        )  # fmt: skip
    return Found(findings)


def certainty() -> Found:
    by_hand = doubts.SLOPES**2 / (doubts.SLOPES @ doubts.SLOPES)
    normals = worlds.uncorrelated_normals(doubts.NAMES, 64, 3)
    line = doubt.sensitivity(doubts.NAMES, normals, doubts.linear(normals))
    shares = np.array([line.shares.get(name, 0.0) for name in doubts.NAMES])
    freeze = doubts.pick_freeze(doubts.linear, 4)
    return Found(
        [
            within(
                "shares of an answer's doubt, four inputs, 64 draws, against 9/14, 4/14, 1/14, 0",
                "squares of the slopes", DERIVED, float(np.abs(shares - by_hand).max()), 1e-9,
                "",
            ),
            within(
                "the same against pick-freeze sampling, 200,000 draws",
                "Saltelli et al., Comput. Phys. Commun. 181, 259 (2010), table 2 (b)", PUBLISHED,
                float(np.abs(shares - freeze).max()), 0.01, "",
            ),
        ]
    )  # fmt: skip


def seasons() -> Found:
    said = kept("learning")
    found = said["answer"]
    low, high = found["band"]
    findings, rows = [], []
    for law, told in found["laws"].items():
        for name, share in told["coverage"].items():
            findings.append(
                between(
                    f"{name} · {law}",
                    f"{found['seasons']} seasons invented with a known truth", "invented truth",
                    100 * share, 100 * low, 100 * high, "%",
                )
            )  # fmt: skip
            rows.append(Range(f"{name}, {law}", 100 * low, 100 * high, 100 * share))
        errors = [after["carry_error"] for after in told["after"].values()]
        findings.append(
            Finding(
                f"error of the predicted strike chance falls with reports · {law}",
                f"before any, and after {', '.join(list(told['after'])[1:])} reports",
                "invented truth", "falling",
                " → ".join(f"{100 * e:.1f}" for e in errors) + " points",
                errors == sorted(errors, reverse=True),
            )
        )  # fmt: skip
    svg = ranges("% of truths inside the 80 % interval", rows, label_px=350)
    words = [
        f"By `python -m physics learning` on {said['made_on']}, model {found['model_version']}; "
        "[its own page](../../physics/LEARNING.md) says why a line lies outside."
    ]
    caption = "How often 80 % intervals held the truth; shaded: what is asked for."
    return Found(findings, [Picture("seasons", caption, svg)], words)


def surface_and_layout() -> Found:
    said = kept("spread")
    found = said["answer"]
    findings = []
    for key, named in (("with_ring_oil", "ring oil"), ("without_ring_oil", "no ring oil")):
        for measure, unit, scale in (("entry_boards", "boards", 1), ("value", "points", 100)):
            one = found[key][measure]
            finish, layout = scale * one["finish"]["sd"], scale * one["layout"]["sd"]
            what = "entry on one line" if measure == "entry_boards" else "strike chance"
            findings.append(
                Finding(
                    f"{what}, {named}: spread by finish against that by layout",
                    "governing-body study: surface ranks first to third of 18 factors", PUBLISHED,
                    "finishes spread more",
                    f"{finish:.2f} against {layout:.2f} {unit} (sd), "
                    f"more in {100 * one['outweighs']:.0f} % of balls",
                    finish > layout,
                )
            )  # fmt: skip
    words = [
        f"By `python manage.py spread` on {said['made_on']}, model {found['model_version']}: "
        f"{found['customers']} customers of the demo, {found['with_ring_oil']['tables']} balls, "
        "each in every finish and layout of the menu."
    ]
    return Found(findings, words=words)
