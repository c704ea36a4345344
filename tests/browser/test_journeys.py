"""The journeys of the counter from start to finish, in a real browser, with the engine itself.

Nothing is put there between the steps: each page leads to the next by its own links. Jobs are
worked off where a page waits for them, as a worker beside the site does.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from playwright.sync_api import Page, expect

from arsenal.models import DrillPlan, Observation, PhoneLink, Ranking, Ticket
from arsenal.tickets.models import Step
from bowlers.models import Bowler, Fitting
from proshop.models import Shop
from tests.arsenal.advice_cast import work_off
from tests.browser.conftest import (
    DESK,
    PHONE,
    TABLET,
    Visitor,
    axe_findings,
    enter,
    overflow,
    tab_to,
)
from tests.furnished import furnish

__all__ = ["work_off"]

pytestmark = pytest.mark.django_db(transaction=True)

Work = Callable[[], None]
DELIVERIES = [("17.2", "350", "45", "12", "5", "1/2"), ("17.4", "345", "47", "13"),
              ("17.1", "355", "44", "12")]  # fmt: skip
# A slow line, as on the concourse: 0.4 Mbit/s, 400 ms to and fro.
SLOW = {"offline": False, "latency": 400, "downloadThroughput": 5e4, "uploadThroughput": 5e4}


@pytest.fixture
def bowler(shop: Shop, staff: User) -> Bowler:
    """A customer with a ball, a grip and a condition, who was never measured nor advised."""
    cache.clear()
    furnish(shop, staff)
    found: Bowler = Bowler.objects.get()
    for kind in (Ranking, DrillPlan, Ticket, Fitting, PhoneLink, Observation):
        kind.objects.all().delete()
    return found


def log_fitting(page: Page) -> None:
    """Three deliveries by keyboard."""
    for number, readings in enumerate(DELIVERIES):
        expect(page.locator("#rows form")).to_have_count(number)
        expect(page.locator("#next [name=speed_mph]")).to_be_focused()
        for place, text in enumerate(readings):
            if place:
                page.keyboard.press("Tab")
            page.keyboard.type(text)
        page.keyboard.press("Enter")
    expect(page.locator("#rows form")).to_have_count(len(DELIVERIES))


def asked(page: Page, work: Work, wanted: str) -> None:
    """A page of advice: asked for, worked out by a worker, and there."""
    expect(
        page.get_by_role("heading", name="Working it out").or_(page.locator(wanted).first)
    ).to_be_visible()
    work()
    expect(page.locator(wanted).first).to_be_visible(timeout=60_000)


def test_from_the_first_throw_to_the_ball_in_the_bag_and_the_phone(
    bowler: Bowler, staff: User, visit: Visitor, work_off: Work
) -> None:
    page = visit(staff, "/", **TABLET)
    page.get_by_label("Find a customer").press_sequentially(bowler.name[:6])
    page.get_by_role("link", name=bowler.name).first.click()
    page.get_by_role("link", name="Log a fitting").first.click()
    page.get_by_role("button", name="Start the fitting").click()
    log_fitting(page)
    page.get_by_role("button", name="Finish the fitting").dblclick()
    expect(page.get_by_role("heading", level=1, name=bowler.name)).to_be_visible()
    assert Fitting.objects.get().is_finished

    page.get_by_role("link", name="Find the gaps").click()
    asked(page, work_off, ".window-row")
    page.get_by_role("link", name="Next ball").click()
    asked(page, work_off, "#choice-1")
    assert Ranking.objects.count() == 1
    assert (Ranking.objects.get().result or {})["choices"]

    # Back to the gaps and forth again asks nothing anew.
    page.go_back()
    expect(page.locator(".window-row").first).to_be_visible()
    page.go_forward()
    page.get_by_role("link", name="Plan the drilling").first.click()
    expect(page.get_by_role("button", name="Save the plan")).to_be_visible()
    page.get_by_label("Serial number").fill("7F3A21")
    page.get_by_role("button", name="Save the plan").dblclick()
    expect(page.get_by_role("button", name="Sign it off: to the press")).to_be_visible()
    assert DrillPlan.objects.count() == 1
    page.get_by_role("button", name="Sign it off: to the press").dblclick()
    expect(page.get_by_role("link", name="It is drilled")).to_be_visible()
    ticket = Ticket.objects.get()

    page.get_by_role("link", name="Tickets").first.click()
    expect(page.get_by_role("link", name=bowler.name).first).to_be_visible()
    page.get_by_role("link", name="It is drilled").click()
    page.get_by_role("button", name="Write it into the bag").dblclick()
    expect(page.get_by_text("Drilled on")).to_be_visible()
    assert bowler.bag.filter(serial="7F3A21").count() == 1
    page.get_by_role("link", name="Tickets").first.click()
    page.get_by_role("button", name="Collected").dblclick()
    expect(page.get_by_role("button", name="Collected")).to_have_count(0)
    ticket.refresh_from_db()
    assert ticket.step == Step.COLLECTED

    page.goto(bowler.get_absolute_url())
    page.get_by_role("link", name="Open a page").click()
    page.get_by_role("button", name="Open the page").dblclick()
    shown = page.get_by_label("Address").input_value()
    work_off()
    assert page.troubles == []  # type: ignore[attr-defined]
    phone = visit(None, "/health/", **PHONE)
    wire = phone.context.new_cdp_session(phone)
    wire.send("Network.enable")
    wire.send("Network.emulateNetworkConditions", SLOW)
    phone.goto(shown, timeout=60_000)
    expect(phone.get_by_role("heading", name="Start with this ball")).to_be_visible()
    phone.get_by_text("If it reads early").first.click()
    assert axe_findings(phone) == []
    assert overflow(phone) <= 0


def test_afterwards_by_keyboard_in_two_tabs(
    bowler: Bowler, staff: User, visit: Visitor, work_off: Work
) -> None:
    page = visit(staff, bowler.get_absolute_url(), **TABLET)
    enter(page, page.get_by_role("link", name="Log a fitting").first)
    page.wait_for_url("**/fittings/new/")
    enter(page, page.get_by_role("button", name="Start the fitting"))
    page.wait_for_url("**/fittings/*/")
    log_fitting(page)
    enter(page, page.get_by_role("button", name="Finish the fitting"))
    expect(page.get_by_role("heading", level=1, name=bowler.name)).to_be_visible()
    enter(page, page.get_by_role("link", name="Log what was seen"))
    page.wait_for_url("**/afterwards/")
    enter(page, page.get_by_role("link", name="Log what was seen").first)
    expect(page.get_by_role("button", name="Log it")).to_be_visible()
    other = page.context.new_page()
    other.goto(page.url)
    for tab, word in ((page, "Moved and quit"), (other, "Never moved")):
        tab.bring_to_front()
        for name in ("ball", "condition"):
            tab_to(tab, tab.locator(f"[name={name}]"))
            tab.keyboard.press("ArrowDown")
        tab.get_by_label(word).check()
        tab.get_by_role("button", name="Log it").dblclick()
        expect(tab.get_by_role("heading", level=1, name="saw on the lanes")).to_be_visible()
    assert sorted(Observation.objects.values_list("motion", flat=True)) == ["never", "quit"]
    assert axe_findings(other) == []
    # Set aside and brought back: nothing is lost.
    other.get_by_role("button", name="Set aside").first.click()
    expect(other.get_by_role("button", name="Count it again").first).to_be_visible()


def test_the_owner_s_counts_follow_what_the_counter_did(
    bowler: Bowler, staff: User, owner: User, visit: Visitor, work_off: Work
) -> None:
    page = visit(staff, bowler.get_absolute_url(), **TABLET)
    page.get_by_role("link", name="Log a fitting").first.click()
    page.get_by_role("button", name="Start the fitting").click()
    log_fitting(page)
    page.get_by_role("button", name="Finish the fitting").click()
    page.get_by_role("link", name="Find the gaps").click()
    asked(page, work_off, ".window-row")
    office = visit(owner, "/office/", **DESK)
    expect(office.get_by_role("heading", level=1)).to_be_visible()
    expect(office.get_by_role("row", name="Quarry Lanes 1 1")).to_be_visible()
    office.get_by_role("button", name="Work it out").dblclick()
    expect(office.get_by_role("region", name="What to stock")).to_be_visible()
    work_off()
    office.reload()
    expect(office.get_by_role("table", name="Gaps counted")).to_be_visible()
    assert axe_findings(office) == []
    assert office.troubles == []  # type: ignore[attr-defined]
