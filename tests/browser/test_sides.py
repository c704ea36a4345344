"""Side by side in a real browser: what is picked is thrown at once, and stays in the address."""

import re

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import expect

from arsenal.models import PhoneLink, PhoneSheet
from bowlers.models import Bowler
from proshop.models import Shop
from tests.browser.conftest import PHONE, TABLET, Visitor, axe_findings, keep_picture, overflow
from tests.browser.test_phone_page import settle
from tests.furnished import furnish

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def address(shop: Shop, staff: User) -> str:
    furnish(shop, staff)
    return f"/customers/{Bowler.objects.get().pk}/side-by-side/"


def test_another_surface_is_thrown_at_once(address: str, staff: User, visit: Visitor) -> None:
    page = visit(staff, address, **TABLET)
    expect(page.locator("[data-ready]")).to_be_visible()
    page.locator("#id_b_surface").select_option("500")
    expect(page.locator("#sides-found")).to_contain_text("500 grit")
    expect(page.locator("[data-ready]")).to_be_visible()
    page.get_by_role("button", name="Feet and target, boards: one more").click()
    page.wait_for_url("**boards=1**")
    page.reload()
    expect(page.locator("#id_b_surface")).to_have_value("500")
    expect(page.locator("#id_boards")).to_have_value("1")
    page.get_by_role("link", name="Play the night").click()
    expect(page.get_by_text("Start with")).to_be_visible()
    assert not page.troubles  # type: ignore[attr-defined]
    assert not axe_findings(page)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_a_phone(address: str, staff: User, visit: Visitor, scheme: str) -> None:
    page = visit(staff, address, color_scheme=scheme, **PHONE)
    expect(page.locator("[data-ready]")).to_be_visible()
    assert overflow(page) <= 0
    assert not axe_findings(page)
    keep_picture(page, f"sides-{scheme}")


def test_a_night_is_shown_on_the_phone_without_a_signal_until_it_is_taken_off(
    address: str, staff: User, visit: Visitor
) -> None:
    PhoneSheet.objects.all().delete()
    page = visit(staff, address, **TABLET)
    page.get_by_role("link", name="Play the night").click()
    night = page.locator("#sides-plan")
    night.get_by_role("button", name="Put it on the phone page").dblclick()
    expect(night.get_by_text("It is on")).to_be_visible()
    assert not axe_findings(page)
    (sheet,) = PhoneSheet.objects.all()

    phone = visit(None, f"/mine/{PhoneLink.objects.get().token}/", **PHONE)
    expect(phone.get_by_role("heading", name=sheet.heading)).to_be_visible()
    settle(phone)
    phone.reload()
    phone.context.set_offline(True)
    phone.reload()
    expect(phone.get_by_text(sheet.lines[0])).to_be_visible()
    phone.context.set_offline(False)

    night.get_by_role("link", name="take this off").click()
    page.get_by_role("button", name=re.compile("Take it off.*" + re.escape(sheet.heading))).click()
    expect(page.get_by_text("is off the page")).to_be_visible()
    phone.reload()
    expect(phone.get_by_role("heading", level=1)).to_be_visible()
    expect(phone.get_by_text(sheet.lines[0])).to_have_count(0)
    assert not axe_findings(phone)
    assert overflow(phone) <= 0
