"""A step of a ball's layout in a real browser: from the press to the drawn plate."""

from __future__ import annotations

import statistics

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from arsenal.models import BowlerCondition
from proshop.models import Shop
from tests.arsenal import records
from tests.bench.results import record
from tests.browser.conftest import Visitor, browser, visit

__all__ = ["browser", "visit"]

pytestmark = [pytest.mark.bench, pytest.mark.django_db(transaction=True)]

STEPS = 40
# From the press until the frame in which the plate has been painted anew.
TIMED = """() => new Promise((done) => {
  const began = performance.now();
  const seen = new MutationObserver(() => {
    if (!document.querySelector("#plate .plate-map")) return;
    seen.disconnect();
    requestAnimationFrame(() => setTimeout(() => done(performance.now() - began)));
  });
  seen.observe(document.getElementById("main"), {childList: true, subtree: true});
  document.querySelector("[aria-label='VAL angle 5° more']").click();
})"""


def test_a_step_of_the_layout(visit: Visitor, staff: User, shop: Shop) -> None:
    bowler = records.customer(shop, average=190)
    records.fitting(bowler)
    condition = records.condition(records.house(shop))
    BowlerCondition.objects.create(shop=shop, bowler=bowler, condition=condition, times_a_season=30)
    layout = {"drilling_angle_deg": 50.0, "pin_to_pap_in": 4.5, "val_angle_deg": -90.0}
    ball = records.owned_ball(bowler, records.ball_model(shop).specs.get(), layout_numbers=layout)
    page = visit(staff, reverse("owned-ball-plate", args=[ball.pk]))
    page.wait_for_load_state("networkidle")
    took = [page.evaluate(TIMED) for _ in range(STEPS)][3:]
    angle = page.locator("#id_angles_val_angle_deg").input_value()
    assert angle == str(-90 + 5 * STEPS)
    record(
        "plate_step_ms",
        statistics.median(took),
        "ms from the press on a step to the painted plate, in the browser, median of "
        f"{len(took)}: pin, drilled numbers, flare, clearances, path and words",
        goal="under 150",
    )
    record(
        "plate_step_slowest_ms",
        max(took),
        f"the same, the slowest of {len(took)}",
    )
