"""How far answers fall short of brute force: hours, kept piece by piece (``brute_menu``)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from tests.bench import brute_menu, menus
from tests.bench.results import record
from tests.physics import brute

pytestmark = [pytest.mark.bench, pytest.mark.long_run, pytest.mark.django_db]

# Customers whose menus are held against the reference solver.
BY_REFERENCE = 2


def shortfalls(solver: str, customers: int) -> list[brute.Short]:
    """How short the answers fall on each condition, for every piece that is kept."""
    found = []
    for c in range(customers):
        for j in range(menus.CONDITIONS):
            if brute_menu.piece(solver, c, j).exists():
                kept = np.load(brute_menu.piece(solver, c, j))
                found.append(brute.shortfall(kept["true"], kept["got"]))
    return found


def told(found: Sequence[brute.Short], after: str, says: str) -> None:
    """Write down what was found; each goal is for the worst of the menus."""
    record(
        f"menu_regret_pct{after}", max(one.regret for one in found),
        f"points the first choice is short of the best at most, {says}",
        goal="≤ 0.2", long_run=True,
    )  # fmt: skip
    record(
        f"menu_top10_regret_pct{after}", max(one.tenth for one in found),
        f"points one of the first ten is short of the true tenth at most, {says}",
        goal="≤ 0.2", long_run=True,
    )  # fmt: skip
    record(
        f"menu_tau50{after}", min(one.tau for one in found),
        "Kendall's tau over all pairs of the true first fifty at least, those within 0.2 points in "
        f"the right order either way, {says}",
        goal="≥ 0.95", long_run=True,
    )  # fmt: skip
    record(
        f"menu_tau50_apart{after}",
        sum(one.agreed for one in found) / max(1, sum(one.apart for one in found)),
        f"the same of pairs further apart than that alone, of all menus together, {says}",
        long_run=True,
    )  # fmt: skip
    record(
        f"menu_within_share{after}",
        float(np.mean([max(one.regret, one.tenth) <= 0.2 for one in found])),
        f"share of menus with the first choice and the first ten within 0.2 points, {says}",
        long_run=True,
    )  # fmt: skip


def test_full_menus_against_brute_force() -> None:
    """Every option on every condition: by the fast solver for all customers of the demo, by the
    reference solver for two."""
    if not (brute_menu.home() / "questions.json").exists():
        brute_menu.keep_questions([one.inputs for one in menus.questions()])
    customers = len(brute_menu.questions())
    brute_menu.run(brute_menu.FAST, customers)
    found = shortfalls(brute_menu.FAST, customers)
    told(found, "", f"{len(found)} menus of {customers} customers by the fast solver")
    brute_menu.run(brute_menu.REFERENCE, BY_REFERENCE)
    found = shortfalls(brute_menu.REFERENCE, BY_REFERENCE)
    told(found, "_ref", f"{len(found)} menus of {BY_REFERENCE} customers by the reference solver")
    assert found
