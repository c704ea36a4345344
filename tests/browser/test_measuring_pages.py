"""The first ring marked on the plate, a fitting without a throw and the choice of instruments."""

import datetime
import re

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Page, expect

from bowlers import services
from bowlers.models import Bowler, Fitting
from proshop.models import Shop
from tests.browser.conftest import PHONE, TABLET, Visitor, axe_findings, keep_picture, overflow

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bowler(shop: Shop) -> Bowler:
    return Bowler.objects.create(shop=shop, name="Juniper Vale", average=170)


def begun(bowler: Bowler, staff: User, method: str = "thrown") -> Fitting:
    return services.start_fitting(
        bowler=bowler,
        fitted_on=datetime.date(2026, 5, 3),
        notes="",
        logged_by=staff,
        method=method,
    )


def tap_plate(page: Page, x: float, y: float) -> None:
    """Tap where the picture, 200 wide about its middle, has this point."""
    box = page.locator("[data-plate]").bounding_box()
    assert box is not None
    scale = box["width"] / 200
    page.mouse.click(box["x"] + (x + 100) * scale, box["y"] + (y + 100) * scale)


def test_points_tapped_on_the_plate_become_inches_and_a_pap(
    visit: Visitor, staff: User, bowler: Bowler
) -> None:
    fitting = begun(bowler, staff)
    page = visit(staff, f"/fittings/{fitting.pk}/ring/", **TABLET)
    for number, (x, y) in enumerate(((-15.6, -64.4), (-23.7, -8), (-12.2, 41.2)), start=1):
        tap_plate(page, x, y)
        expect(page.locator(f"[name=point_{number}_over]")).to_have_value(re.compile("-"))
        expect(page.locator(".plate-mark")).to_have_count(number)
    expect(page.locator(".plate-ring")).to_be_visible()
    expect(page.locator("#ring-found")).to_contain_text("PAP over")
    expect(page.locator("#kept-where")).to_contain_text("On this tablet only")
    assert axe_findings(page) == []
    page.get_by_role("button", name="Use this ring").click()
    expect(page.locator("#rows form")).to_have_count(1)
    assert len(fitting.deliveries.get().raw["ring_points_in"]) == 3
    page.goto(f"/fittings/{fitting.pk}/ring/")
    expect(page.locator("#kept-where")).to_contain_text("Saved")
    assert page.troubles == []  # type: ignore[attr-defined]


def test_a_fitting_without_a_throw_is_kept_as_it_grows(
    visit: Visitor, staff: User, bowler: Bowler
) -> None:
    fitting = begun(bowler, staff, "no_throw")
    page = visit(staff, f"/fittings/{fitting.pk}/", **TABLET)
    page.locator("[name=rev_frames]").fill("6")
    expect(page.locator("#no-throw-found")).to_contain_text("Rev rate 600")
    expect(page.locator("#no-throw-found")).to_contain_text("is that right?")
    page.locator("[name=turns]").fill("0.5")
    page.locator("[name=pap_over_in]").focus()
    expect(page.locator("#no-throw-found")).to_contain_text("Rev rate 150")
    expect(page.locator("#kept-where")).to_contain_text("Saved")
    assert fitting.deliveries.get().rev_rate_rpm == 150
    page.context.set_offline(True)
    page.locator("[name=above_deg]").fill("40")
    page.close()
    page.context.set_offline(False)
    again = page.context.new_page()
    again.goto(f"/fittings/{fitting.pk}/no-throw/")
    expect(again.locator("[name=above_deg]")).to_have_value("40")
    expect(again.locator("#kept-where")).to_contain_text("Saved")
    assert fitting.deliveries.get().rotation_deg == 40
    again.get_by_role("button", name="Finish the fitting").click()
    expect(again.get_by_role("button", name="Reopen to change it")).to_be_visible()


def test_numbers_appear_while_a_row_is_typed(visit: Visitor, staff: User, bowler: Bowler) -> None:
    fitting = begun(bowler, staff)
    page = visit(staff, f"/fittings/{fitting.pk}/instruments/", **TABLET)
    page.get_by_text("Video, frames for whole turns").click()
    expect(page.get_by_label("Turns counted")).to_be_visible()
    expect(page.get_by_label("It reads at")).to_be_hidden()
    page.get_by_role("button", name="Use these").click()
    page.locator("#next [name=rev_frames]").fill("42")
    expect(page.locator("#next .delivery-derived")).to_have_text("Rev rate 343 ± 4 rpm")
    page.keyboard.press("Enter")
    expect(page.locator("#rows .delivery-derived")).to_have_text("Rev rate 343 ± 4 rpm")
    page.keyboard.press("=")
    expect(page.locator("#next [name=rev_frames]")).to_have_value("42")
    assert page.troubles == []  # type: ignore[attr-defined]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("seat", [PHONE, TABLET], ids=["phone", "tablet"])
def test_the_pages_are_sound(
    visit: Visitor, staff: User, bowler: Bowler, scheme: str, seat: dict[str, object]
) -> None:
    thrown, still = begun(bowler, staff), begun(bowler, staff, "no_throw")
    page = visit(staff, f"/fittings/{thrown.pk}/instruments/", color_scheme=scheme, **seat)
    for way in ("Display of the house", "Camera from behind", "First ring to the PAP"):
        page.get_by_text(way).click()
    for where in ("", f"/fittings/{thrown.pk}/ring/", f"/fittings/{still.pk}/no-throw/"):
        if where:
            page.goto(where)
        keep_picture(page, f"measuring-{where.count('n')}-{scheme}")
        assert overflow(page) == 0
        assert axe_findings(page) == []
