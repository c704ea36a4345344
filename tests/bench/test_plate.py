"""A step of a ball's layout in a real browser: from the press to the drawn plate."""

from __future__ import annotations

import statistics
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from arsenal.models import BowlerCondition
from proshop.models import Shop
from tests.arsenal import records
from tests.bench.results import record
from tests.browser.conftest import Visitor

pytestmark = [pytest.mark.bench, pytest.mark.django_db(transaction=True)]

STEPS = 40
# From the press until the frame in which the plate has been painted anew.
TIMED = """(label) => new Promise((done) => {
  const began = performance.now();
  const seen = new MutationObserver(() => {
    if (!document.querySelector("#plate .plate-map")) return;
    seen.disconnect();
    requestAnimationFrame(() => setTimeout(() => done(performance.now() - began)));
  });
  seen.observe(document.getElementById("main"), {childList: true, subtree: true});
  document.querySelector(`[aria-label='${label}']`).click();
})"""


@pytest.fixture
def plate(visit: Visitor, staff: User, shop: Shop) -> Any:
    """The plate of a ball, opened by somebody with a fitting and a condition to throw on."""
    bowler = records.customer(shop, average=190)
    records.fitting(bowler)
    condition = records.condition(records.house(shop))
    BowlerCondition.objects.create(shop=shop, bowler=bowler, condition=condition, times_a_season=30)
    layout = {"drilling_angle_deg": 50.0, "pin_to_pap_in": 4.5, "val_angle_deg": -90.0}
    ball = records.owned_ball(bowler, records.ball_model(shop).specs.get(), layout_numbers=layout)
    page = visit(staff, reverse("owned-ball-plate", args=[ball.pk]))
    page.wait_for_load_state("networkidle")
    return page


def test_a_step_of_the_layout(plate: Any) -> None:
    took = [plate.evaluate(TIMED, "VAL angle 5° more") for _ in range(STEPS)][3:]
    assert plate.locator("#id_angles_val_angle_deg").input_value() == str(-90 + 5 * STEPS)
    _write_down("plate_step", took, "a step")


def test_a_step_of_a_hole(plate: Any) -> None:
    """Five up, five down, and five up in the end: farther up it would meet the fingers."""
    plate.get_by_text("Holes", exact=True).click()
    up = plate.locator("#id_thumb_up_in")
    before = float(up.input_value())
    ways = ["more" if k % 10 < 5 else "less" for k in range(STEPS + 5)]
    took = [plate.evaluate(TIMED, f"Thumb: Up 1/16 in {way}") for way in ways][3:]
    assert float(up.input_value()) == before + 5 / 16
    _write_down("plate_hole_step", took, "a step of a hole")


def _write_down(name: str, took: list[float], what: str) -> None:
    record(
        f"{name}_ms",
        statistics.median(took),
        f"ms from the press on {what} to the painted plate, in the browser, median of "
        f"{len(took)}: pin, drilled numbers, flare, clearances, path and words",
        goal="under 150",
    )
    record(f"{name}_slowest_ms", max(took), f"the same, the slowest of {len(took)}")
