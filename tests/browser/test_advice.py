"""Gaps and next ball in a real browser: asked once, waited for, drawn."""

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from arsenal.advice.models import Ranking
from arsenal.advice.run import compute
from bowlers.models import Bowler
from tests.arsenal.advice_cast import Engine, engine, wren
from tests.browser.conftest import PHONE, TABLET, Visitor

__all__ = ["engine", "wren"]

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_page_asks_by_itself_waits_and_shows_the_answer(
    visit: Visitor, staff: User, wren: Bowler, engine: Engine
) -> None:
    page = visit(staff, reverse("gaps", args=[wren.pk]), **PHONE)
    page.get_by_role("heading", name="Working it out").wait_for()
    assert Ranking.objects.count() == 1
    compute(ranking_id=Ranking.objects.get().pk)
    page.locator(".window-row").first.wait_for()
    assert page.locator(".window-drawing-narrow").first.is_visible()
    assert not page.locator(".window-drawing-wide").first.is_visible()
    page.get_by_text("The same in numbers").first.click()
    assert page.get_by_role("rowheader", name="Silver Birch").first.is_visible()
    assert page.troubles == []  # type: ignore[attr-defined]


def test_a_failure_is_tried_again_by_its_button(
    visit: Visitor, staff: User, wren: Bowler, engine: Engine
) -> None:
    engine.failure = ValueError("the oil table has no rows")
    page = visit(staff, reverse("next-ball", args=[wren.pk]), **TABLET)
    page.get_by_role("heading", name="Working it out").wait_for()
    compute(ranking_id=Ranking.objects.get().pk)
    page.get_by_text("the oil table has no rows").wait_for()
    engine.failure = None
    page.get_by_role("button", name="Try again").click()
    page.get_by_role("heading", name="Working it out").wait_for()
    compute(ranking_id=Ranking.objects.get().pk)
    page.locator("#choice-1").wait_for()


def test_the_strip_is_drawn_in_the_colours_of_the_theme(
    visit: Visitor, staff: User, wren: Bowler, engine: Engine
) -> None:
    page = visit(staff, reverse("next-ball", args=[wren.pk]), color_scheme="light", **TABLET)
    page.get_by_role("heading", name="Working it out").wait_for()
    compute(ranking_id=Ranking.objects.get().pk)
    page.locator("[data-figure][data-ready]").wait_for()
    lines = "[...document.querySelectorAll('.scatterlayer .js-line')]"
    stroke = f"{lines}.map((line) => getComputedStyle(line).stroke).join()"
    light = page.evaluate(stroke)
    page.emulate_media(color_scheme="dark")
    # The driver's own waiting needs eval, which the site's policy refuses.
    for _ in range(50):
        if page.evaluate(stroke) != light:
            break
        page.wait_for_timeout(100)
    assert page.evaluate(stroke) != light
    assert page.locator(".modebar-btn").count() == 0
    assert page.troubles == []  # type: ignore[attr-defined]


def test_filters_are_reached_by_keyboard_and_kept_in_the_address(
    visit: Visitor, staff: User, wren: Bowler, engine: Engine
) -> None:
    page = visit(staff, reverse("next-ball", args=[wren.pk]), **TABLET)
    page.get_by_role("heading", name="Working it out").wait_for()
    compute(ranking_id=Ranking.objects.get().pk)
    page.get_by_text("Filter by kind or budget").press("Enter")
    page.get_by_label("Surface", exact=True).press("Space")
    page.get_by_label("Budget, USD").press("Enter")
    page.wait_for_url("**/?kind=surface&budget=")
    assert page.locator("article.choice").count() == 1
