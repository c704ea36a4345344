"""The drill sheet printed by the browser itself: one page, its ruler true."""

import io

import pypdf
import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from proshop.models import Shop
from tests.arsenal import records
from tests.browser.conftest import Visitor

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_the_sheet_prints_on_one_page_with_its_ruler_true(
    paper: str, visit: Visitor, shop: Shop, staff: User
) -> None:
    """A CSS inch is 96 px, and 1 in on paper at 100 %."""
    plan = records.drill_plan(records.customer(shop), records.ball_model(shop).specs.get())
    page = visit(staff, reverse("drill-sheet", args=[plan.pk]))
    page.emulate_media(media="print")
    wide = page.evaluate("document.querySelector('.ruler-line').getBoundingClientRect().width")
    assert wide == pytest.approx(6 * 96, abs=1.5)
    reader = pypdf.PdfReader(io.BytesIO(page.pdf(format=paper, prefer_css_page_size=False)))
    assert len(reader.pages) == 1
    text = " ".join(reader.pages[0].extract_text().split())
    assert "Drill sheet D-" in text
    assert "RIGHT HAND" in text
    assert "Back to the plan" not in text
