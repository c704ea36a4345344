"""Pages printed by the browser itself: one each, black on white, the drill sheet's ruler true."""

import io
from typing import Any

import pypdf
import pytest
from django.contrib.auth.models import User
from django.urls import reverse
from playwright.sync_api import expect

from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records
from tests.browser.conftest import DESK, PHONE, Visitor
from tests.furnished import furnish

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


# What the picture has when the page goes to the printer: how wide it is, and its writing's colour.
AT_PRINTER = """addEventListener("beforeprint", () => {
  const plot = document.querySelector(".strip-plot .main-svg");
  window.printed = [plot.clientWidth, getComputedStyle(plot.querySelector(".xtick text")).fill];
});"""
SIZE = """(({clientWidth, clientHeight}) => [clientWidth, clientHeight])(
  document.querySelector(".strip-plot .main-svg"))"""


@pytest.mark.parametrize("seat", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_two_balls_side_by_side_print_on_one_page_black_on_white(
    paper: str, seat: dict[str, Any], visit: Visitor, shop: Shop, staff: User
) -> None:
    """The night's plan too, from the dark theme, with what the page is steered by left out."""
    furnish(shop, staff)
    bowler = Bowler.objects.get()
    address = f"{reverse('sides', args=[bowler.pk])}?boards=2&pace=1&b_surface=500"
    page = visit(staff, address, color_scheme="dark", **seat)
    expect(page.locator("[data-ready]")).to_be_visible()
    on_screen = page.evaluate(SIZE)
    page.get_by_role("link", name="Play the night").click()
    expect(page.get_by_text("Start with")).to_be_visible()
    page.evaluate(AT_PRINTER)
    reader = pypdf.PdfReader(io.BytesIO(page.pdf(format=paper)))
    assert len(reader.pages) == 1
    text = " ".join(reader.pages[0].extract_text().split())
    for said in (
        f"Side by side: {bowler.name}",
        "Both on A’s line, feet and target, boards: 2 left, pace +1 mph.",
        "What differs",
        "A plan for the night",
        "Start with",
        "feet from the foul line",
    ):
        assert said in text
    for steering in ("Play the night", "Put it on the phone page", "Glossary", "Thrown"):
        assert steering not in text
    wide, ink = page.evaluate("window.printed")
    assert wide == 672
    assert _lightness(ink) < 100
    # On the screen all is as it was.
    assert page.evaluate(SIZE) == on_screen
    page.emulate_media(media="print", color_scheme="dark")
    paper_and_ink = page.evaluate(
        "(({backgroundColor, color}) => [backgroundColor, color])(getComputedStyle(document.body))"
    )
    assert paper_and_ink == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]


def _lightness(colour: str) -> float:
    """The mean of red, green and blue, of 255."""
    red, green, blue = map(float, colour.removeprefix("rgb(").removesuffix(")").split(","))
    return (red + green + blue) / 3
