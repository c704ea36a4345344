"""Every customer of the demo ranked: how long it takes, and what ring oil does to the order."""

from __future__ import annotations

import statistics

import pytest
from django.core.management import call_command

from arsenal.engine import Missing, inputs_for, run_ranking
from bowlers.models import Bowler

pytestmark = pytest.mark.bench


@pytest.mark.django_db
def test_rankings_of_the_demo(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("demo", verbosity=0)
    results = []
    for customer in Bowler.objects.all():
        try:
            asked = inputs_for(customer)
        except Missing:
            continue
        results.append(run_ranking(asked, 1, lambda percent, note: None))
    seconds = [result["timings"]["total_s"] for result in results]
    without = [result["without_ring_oil"] for result in results]
    taus = [row["kendall_tau"] for row in without if row["kendall_tau"] is not None]
    same = sum(row["first_same"] for row in without)
    nothing = sum(result["choices"][0]["kind"] == "none" for result in results)
    gaps = sum(task["gap"] for result in results for task in result["tasks"])
    with capsys.disabled():
        print(
            f"\n{len(results)} customers, {statistics.mean(seconds):.1f} s each"
            f" ({max(seconds):.1f} at most);"
            f" {gaps} gaps on {sum(len(r['tasks']) for r in results)} tasks;"
            f" nothing needed first for {nothing};"
            f"\nwithout ring oil: Kendall tau {statistics.mean(taus):.2f},"
            f" the same first choice for {same} of {len(results)}"
        )
    assert results
