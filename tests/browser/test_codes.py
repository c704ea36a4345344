"""Codes on paper, photographed: read back from the picture by another library than made them.

segno writes them; ZXing's C++ port (zxing-cpp) reads them, after ISO/IEC 18004.
"""

import io
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.urls import reverse
from PIL import Image

from proshop.models import Shop
from tests.arsenal import records
from tests.browser.conftest import Visitor

pytestmark = pytest.mark.django_db(transaction=True)
zxingcpp = pytest.importorskip(
    "zxingcpp", reason="zxing-cpp isn't installed: codes were NOT read back."
)


def read_off(page: Any, selector: str = "body") -> list[str]:
    """What a camera over the printed page reads."""
    shot = page.locator(selector).screenshot()
    return [found.text for found in zxingcpp.read_barcodes(Image.open(io.BytesIO(shot)))]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_drill_sheets_code_leads_to_its_record(
    scheme: str, visit: Visitor, shop: Shop, staff: User
) -> None:
    plan = records.drill_plan(records.customer(shop), records.ball_model(shop).specs.get())
    page = visit(staff, reverse("drill-sheet", args=[plan.pk]), color_scheme=scheme)
    (address,) = read_off(page)
    assert address == page.evaluate("location.origin") + plan.get_absolute_url()
    page.goto(address)
    assert plan.number in page.locator("h1").inner_text()


def test_the_labels_code_leads_to_its_ticket(visit: Visitor, shop: Shop, staff: User) -> None:
    ticket = records.ticket(records.customer(shop))
    page = visit(staff, reverse("ticket-label", args=[ticket.pk]))
    assert read_off(page) == [page.evaluate("location.origin") + ticket.get_absolute_url()]


def test_a_code_turned_and_half_a_size_smaller_still_reads(
    visit: Visitor, shop: Shop, staff: User
) -> None:
    """A page held askew at arm's length."""
    plan = records.drill_plan(records.customer(shop), records.ball_model(shop).specs.get())
    page = visit(staff, reverse("drill-sheet", args=[plan.pk]), device_scale_factor=2)
    shot = Image.open(io.BytesIO(page.locator("body").screenshot())).convert("L")
    askew = shot.rotate(11, expand=True, fillcolor=200).resize((shot.width // 2, shot.height // 2))
    (found,) = zxingcpp.read_barcodes(askew)
    assert found.text.endswith(plan.get_absolute_url())
