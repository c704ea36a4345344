"""A ticket moved along on a phone at the press, with one thumb."""

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from arsenal.models import Ticket
from proshop.models import Shop
from tests.arsenal import records
from tests.browser.conftest import PHONE, Visitor, axe_findings, overflow

pytestmark = pytest.mark.django_db(transaction=True)


def test_one_thumb_takes_a_job_from_waiting_to_collected(
    visit: Visitor, shop: Shop, staff: User
) -> None:
    """The next step is always the same large target at the bottom, whatever the page scrolled.

    Targets of 44 CSS px and more are what WCAG 2.2 (2.5.5) asks for; this one is larger.
    """
    bowler = records.customer(shop)
    ball = records.owned_ball(bowler, records.ball_model(shop).specs.get())
    ticket = records.ticket(bowler, ball=ball, words="Clean it, and look at the thumb slug.")
    page = visit(staff, ticket.get_absolute_url(), **PHONE)
    for label, step in (("Take it on", "On the press"), ("Ready", "Ready"),
                        ("Collected", "Collected")):  # fmt: skip
        button = page.locator(".thumb-bar").get_by_role("button", name=label, exact=True)
        button.wait_for()
        page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= 56
        assert box["width"] >= 300
        places = page.locator(".band-places").bounding_box()
        assert places is not None
        assert box["y"] > 844 * 0.75, "under the thumb"
        assert box["y"] + box["height"] <= places["y"], "above the places of the site"
        assert overflow(page) == 0
        button.tap()
        page.locator(".ticket .mark").get_by_text(step, exact=True).wait_for()
    assert Ticket.objects.get().step == "collected"
    assert page.locator(".thumb-bar .move").count() == 0
    assert axe_findings(page) == []
    assert page.troubles == []  # type: ignore[attr-defined]


def test_the_boards_buttons_are_as_large(visit: Visitor, shop: Shop, staff: User) -> None:
    records.ticket(records.customer(shop))
    page = visit(staff, "/tickets/", **PHONE)
    button = page.get_by_role("button", name="Take it on", exact=True)
    box = button.bounding_box()
    assert box is not None
    assert box["height"] >= 56
    assert box["width"] >= 280
    button.tap()
    page.get_by_role("button", name="Ready", exact=True).wait_for()
    assert Ticket.objects.get().step == "press"


def test_the_price_follows_the_job_until_another_is_typed(
    visit: Visitor, staff: User, shop: Shop
) -> None:
    bowler = records.customer(shop)
    page = visit(staff, reverse("ticket-add", args=[bowler.pk]) + "?job=thumb", **PHONE)
    price = page.locator("#id_price_work")
    assert price.input_value() == "15"
    page.get_by_text("Plug, 20.00").tap()
    assert price.input_value() == "20"
    price.fill("33")
    page.get_by_text("Clean, 5.00").tap()
    assert price.input_value() == "33"
    assert page.troubles == []  # type: ignore[attr-defined]
