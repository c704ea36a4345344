"""Rungs 4 and 5: the same shots by other people's solvers, and the fast solver by the slow one."""

from __future__ import annotations

from physics import confirming, shape
from tests.physics import agreement
from tests.physics import test_averaged as averaged
from tests.physics import test_confirming as fixed
from tests.physics.how_right.pictures import Series, plot
from tests.physics.how_right.rungs import DERIVED, Found, Picture, short, within


def others() -> Found:
    findings = []
    rows = list(agreement.rows())
    for theirs, how, limits in (
        (agreement.SCIPY, "SciPy's DOP853 at 1e-10, own equations, events", (1e-4, 1e-4)),
        (agreement.ENGINE, "MuJoCo, a rigid-body engine that knows no bowling", (0.03, 0.1)),
    ):
        for words, limit, off in (
            ("balanced", limits[0], False), ("mass 1 mm off the centre", limits[1], True),
        ):  # fmt: skip
            worst = max(
                abs(r.boards)
                for r in rows
                if r.solver == theirs
                and ("centre_of_mass_m" in agreement.SHOTS[r.shot]["ball"]) == off
            )
            findings.append(
                within(
                    f"{words}: largest distance at the pins", how, DERIVED, worst, limit, "board"
                )
            )
    table = ["| shot | solver | boards | seconds |", "|---|---|---|---|"]
    table += [f"| {r.shot} | {r.solver} | {short(r.boards)} | {short(r.seconds)} |" for r in rows]
    return Found(findings, words=["\n".join(table)])


def fast() -> Found:
    """What rankings screen with and what they confirm with, against the reference."""
    findings, drawn = [], []
    for name in averaged.OILS:
        quick, exact = averaged.pairs(name)
        several, again = fixed.thrown(name)
        board = exact[:, shape.ENTRY_BOARD]
        miss = quick[:, shape.ENTRY_BOARD] - board
        confirmed = several.by(confirming, confirming.STEPS)[:, shape.ENTRY_BOARD]
        late = float(abs(confirmed - again[:, shape.ENTRY_BOARD]).max())
        source = f"{len(board)} random deliveries on {name} oil by the reference solver"
        findings += [
            within(
                f"screening, {name} oil: scatter of the entry board",
                source, DERIVED, float(miss.std()), 0.03, "board",
            ),
            within(
                f"screening, {name} oil: largest miss",
                source, DERIVED, float(abs(miss).max()), 0.15, "board",
            ),
            within(
                f"confirming, {name} oil: largest miss", source, DERIVED, late, 0.02, "board"
            ),
        ]  # fmt: skip
        points = [(float(a), float(b)) for a, b in zip(board, miss, strict=True)]
        drawn.append(Series(f"{name} oil", points, joined=False))
    svg = plot("entry board by the reference solver", "screening less reference, boards", drawn)
    caption = "What the averaged solver, which rankings screen with, leaves open."
    return Found(findings, [Picture("fast-solver", caption, svg)])
