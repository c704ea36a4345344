"""The owner's office, the counter talk and the bowler's page by keyboard alone, Tab and Enter."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from playwright.sync_api import expect

from arsenal.models import LanesAdvice, OfficeReport, PhoneLink, PhoneReport, PhoneSheet, Ranking
from arsenal.office import services
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records
from tests.arsenal.advice_cast import work_off
from tests.arsenal.test_office import ranked
from tests.arsenal.test_phone import ROW
from tests.browser.conftest import DESK, PHONE, TABLET, Visitor, enter, tab_to
from tests.furnished import furnish

__all__ = ["work_off"]

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_owner_narrows_takes_a_file_and_has_it_worked_out_anew(
    shop: Shop, owner: User, visit: Visitor, work_off: Callable[[], None]
) -> None:
    spec = records.ball_model(shop, "Whitebeam").specs.get()
    services.note(ranked(records.customer(shop, hand="left"), spec))
    services.note(ranked(records.customer(shop, "Other"), spec))
    services.make_report(shop)
    before = OfficeReport.objects.get().made_at
    page = visit(owner, "/office/", **DESK)
    enter(page, page.get_by_role("region", name="By hand").get_by_role("link", name="Left"))
    page.wait_for_url("**/office/?hand=left")
    expect(page.get_by_role("heading", name="1 of 1 active customers")).to_be_visible()
    files = page.get_by_role("link", name="Take the counts as CSV")
    tab_to(page, files)
    with page.expect_download() as coming:
        page.keyboard.press("Enter")
    rows = list(csv.reader(io.StringIO(coming.value.path().read_text("utf-8-sig"))))
    assert rows[1] == ["all", "", "1", "1"]
    # What the address says is there again when it is opened from a bookmark, back and forth too.
    bookmark = page.url
    enter(page, page.get_by_role("link", name="take this filter away"))
    page.wait_for_url("**/office/")
    expect(page.get_by_role("heading", name="2 of 2 active customers")).to_be_visible()
    page.go_back()
    expect(page.get_by_role("heading", name="1 of 1 active customers")).to_be_visible()
    page.goto(bookmark)
    # A table wider than its place scrolls by the arrows: it takes the focus.
    tab_to(page, page.get_by_role("region", name="Stock plan"))
    page.goto(bookmark)
    enter(page, page.get_by_role("button", name="Work it out anew"))
    expect(page.locator("#office-standing")).to_contain_text("Being worked out anew")
    work_off()
    expect(page.locator("#office-standing")).to_have_count(0)
    assert OfficeReport.objects.get().made_at != before
    assert page.url == bookmark
    assert page.troubles == []  # type: ignore[attr-defined]


def test_two_balls_are_compared_and_the_night_put_on_the_phone_page(
    shop: Shop, staff: User, visit: Visitor
) -> None:
    furnish(shop, staff)
    PhoneSheet.objects.all().delete()
    page = visit(staff, Bowler.objects.get().get_absolute_url(), **TABLET)
    enter(
        page,
        page.get_by_role("link", name="Gaps")
        .or_(page.get_by_role("link", name="Find the gaps"))
        .first,
    )
    enter(page, page.get_by_role("link", name="Side by side"))
    page.wait_for_url("**/side-by-side/")
    expect(page.locator("[data-ready]")).to_be_visible()
    tab_to(page, page.locator("#id_b_surface"))
    page.keyboard.press("ArrowDown")
    expect(page.locator("#sides-found")).to_contain_text("cleaned")
    enter(page, page.get_by_role("button", name="Feet and target, boards: one more"))
    page.wait_for_url("**boards=1**")
    enter(page, page.get_by_role("link", name="Play the night"))
    expect(page.get_by_text("Start with")).to_be_visible()
    enter(page, page.locator("#sides-plan").get_by_role("button", name="Put it on the phone page"))
    expect(page.get_by_text("It is on")).to_be_visible()
    assert PhoneSheet.objects.count() == 1
    assert page.troubles == []  # type: ignore[attr-defined]


def test_a_bowler_reads_on_and_reports(shop: Shop, staff: User, visit: Visitor) -> None:
    cache.clear()
    furnish(shop, staff)
    PhoneReport.objects.all().delete()
    LanesAdvice.objects.create(ranking=Ranking.objects.get(), rows=[ROW])
    page = visit(None, f"/mine/{PhoneLink.objects.get().token}/", **PHONE)
    enter(page, page.locator("summary", has_text="If it reads early"))
    expect(page.get_by_text("Move 2 boards left").first).to_be_visible()
    for name in ("Ball", "Condition"):
        tab_to(page, page.get_by_label(name, exact=True))
        page.keyboard.press("ArrowDown")
    tab_to(page, page.get_by_label("4-9", exact=True))
    page.keyboard.press("Space")
    enter(page, page.get_by_role("button", name="Send it"))
    expect(page.get_by_text("Your shop looks at it before it counts")).to_be_visible()
    assert [report.leaves for report in PhoneReport.objects.all()] == [["4-9"]]
