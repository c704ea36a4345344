"""The bowler's page in a real browser: without a signal, with a report, at every size."""

import re
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from playwright.sync_api import Page, expect

from arsenal.models import LanesAdvice, PhoneLink, PhoneReport, Ranking
from arsenal.phone import services
from proshop.models import Shop
from tests.arsenal.test_phone import ROW
from tests.browser.conftest import (
    DESK,
    PHONE,
    TABLET,
    Visitor,
    axe_findings,
    enter,
    keep_picture,
    overflow,
)
from tests.furnished import furnish

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def address(shop: Shop, staff: User) -> str:
    cache.clear()
    furnish(shop, staff)
    LanesAdvice.objects.create(ranking=Ranking.objects.get(), rows=[ROW])
    return f"/mine/{PhoneLink.objects.get().token}/"


def settle(page: Page) -> None:
    """Until the script that keeps the page is at work and has it."""
    page.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    for _ in range(400):
        if page.evaluate(
            """async () => navigator.serviceWorker.controller !== null
                 && (await caches.match(location.pathname)) !== undefined"""
        ):
            return
        page.wait_for_timeout(50)
    raise AssertionError("the worker took no page over")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("seat", [PHONE, TABLET, DESK], ids=["phone", "tablet", "desk"])
def test_the_page_is_sound_with_everything_open(
    address: str, visit: Visitor, seat: dict[str, Any], scheme: str
) -> None:
    page = visit(None, address, color_scheme=scheme, **seat)
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert not page.troubles  # type: ignore[attr-defined]
    assert not axe_findings(page)
    assert overflow(page) <= 0
    keep_picture(page, f"phone-page-{seat['viewport']['width']}-{scheme}")


def test_it_opens_without_a_signal_and_says_how_old_it_is(address: str, visit: Visitor) -> None:
    page = visit(None, address, **PHONE)
    settle(page)
    # After this one visit.
    page.context.set_offline(True)
    page.reload()
    expect(page.get_by_role("heading", name="Start with this ball")).to_be_visible()
    expect(page.locator("#age")).to_contain_text("No signal. This is the page as it was on")
    page.get_by_text("If it reads early").first.click()
    expect(page.get_by_text("Move 2 boards left").first).to_be_visible()
    page.context.set_offline(False)
    page.reload()
    expect(page.locator("#age")).to_be_hidden()


def test_the_plotter_comes_only_when_asked_for(address: str, visit: Visitor) -> None:
    page = visit(None, address, **PHONE)
    asked: list[str] = []
    page.context.on("request", lambda request: asked.append(request.url))
    settle(page)
    page.reload()
    page.wait_for_load_state("networkidle")
    assert asked
    assert not [one for one in asked if "plotly" in one or "by-ball" in one]
    kept = """async () => (await Promise.all((await caches.keys()).map(async (name) =>
        (await (await caches.open(name)).keys()).map((one) => one.url)))).flat()"""
    assert not [one for one in page.evaluate(kept) if "plotly" in one]
    enter(page, page.get_by_role("button", name="Show it ball by ball"))
    expect(page.locator("[data-ready=yes]")).to_be_visible()
    assert [one for one in asked if "plotly-basic" in one]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_picture_ball_by_ball_by_keyboard(address: str, visit: Visitor, scheme: str) -> None:
    page = visit(None, address, color_scheme=scheme, **PHONE)
    enter(page, page.get_by_role("button", name="Show it ball by ball"))
    picture = page.get_by_role("img", name="Ball by ball")
    expect(picture).to_have_attribute("data-ready", "yes")
    expect(page.get_by_role("heading", name="Ball by ball")).to_be_focused()
    shown = picture.inner_text()
    enter(page, page.locator("summary", has_text="The same in words"))
    for ball in services.page_of(PhoneLink.objects.get()).rows.all[0].owned:  # type: ignore[union-attr]
        # A long name is cut there, and whole in the words.
        assert ball["ball"][:20] in shown
        words = page.locator("details[open] li", has_text=ball["ball"])
        expect(words.first).to_contain_text(f"{ball['hook_length_ft']:.1f} feet of hook")
    assert not page.troubles  # type: ignore[attr-defined]
    assert not axe_findings(page)
    assert overflow(page) <= 0
    keep_picture(page, f"phone-page-by-ball-{scheme}")


def test_the_picture_ball_by_ball_says_that_it_needs_a_signal(address: str, visit: Visitor) -> None:
    page = visit(None, address, **PHONE)
    settle(page)
    page.context.set_offline(True)
    page.reload()
    page.get_by_role("button", name="Show it ball by ball").click()
    expect(page.locator("#by-ball [role=status]")).to_contain_text("needs one")
    page.context.set_offline(False)
    page.get_by_role("button", name="Show it ball by ball").dblclick()
    expect(page.locator("[data-ready=yes]")).to_have_count(1)
    expect(page.locator("#by-ball")).to_have_count(0)


def test_a_closed_page_isn_t_kept_any_longer(address: str, visit: Visitor) -> None:
    page = visit(None, address, **PHONE)
    settle(page)
    page.reload()
    PhoneLink.objects.update(good_until="2020-01-01")
    page.reload()
    expect(page.get_by_role("heading", name="This page is closed")).to_be_visible()
    page.context.set_offline(True)
    with pytest.raises(Exception, match="ERR_"):
        page.reload()


def test_a_report_waits_for_a_signal_and_is_sent_once(address: str, visit: Visitor) -> None:
    PhoneReport.objects.all().delete()
    page = visit(None, address, **PHONE)
    settle(page)
    page.get_by_label("Ball", exact=True).select_option(index=1)
    page.get_by_label("Condition", exact=True).select_option(index=1)
    page.get_by_label("Moved and quit").check()
    page.get_by_label("4-9", exact=True).check()
    page.context.set_offline(True)
    page.get_by_role("button", name="Send it").click()
    expect(page.get_by_text("What you entered stays here")).to_be_visible()
    expect(page.get_by_label("Moved and quit")).to_be_checked()
    page.context.set_offline(False)
    page.get_by_role("button", name="Send it").dblclick()
    expect(page.get_by_text("Your shop looks at it before it counts")).to_be_visible()
    assert [(r.motion, r.leaves) for r in PhoneReport.objects.all()] == [("quit", ["4-9"])]


def test_a_wrong_report_says_what_is_missing_and_keeps_the_rest(
    address: str, visit: Visitor
) -> None:
    page = visit(None, address, **PHONE)
    page.get_by_label("Too rolly").check()
    page.get_by_role("button", name="Send it").click()
    expect(page.get_by_text("Ball is missing")).to_be_visible()
    expect(page.get_by_label("Too rolly")).to_be_checked()
    assert not axe_findings(page)


def test_staff_open_a_page_and_show_its_square(shop: Shop, staff: User, visit: Visitor) -> None:
    furnish(shop, staff)
    link = PhoneLink.objects.get()
    bowler = link.bowler_id
    link.delete()
    page = visit(staff, f"/customers/{bowler}/", **TABLET)
    page.get_by_role("link", name="Open a page").click()
    page.get_by_role("button", name="Open the page").click()
    expect(page.get_by_role("img", name=re.compile("square"))).to_be_visible()
    shown = page.get_by_label("Address").input_value()
    page.goto(shown)
    expect(page.get_by_role("heading", name="On the lanes")).to_be_visible()
