"""Logging a fitting at the counter, in a real browser: by keyboard, by finger, without scripts."""

import datetime
import re

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Page, Route, expect

from bowlers import services
from bowlers.models import Bowler, Delivery, Fitting
from proshop.models import Shop
from tests.browser.conftest import PHONE, TABLET, Visitor, axe_findings, keep_picture, overflow
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)

READINGS = ("17,2", "350", "45", "12", "5", "1/2")


@pytest.fixture
def fitting(shop: Shop, staff: User) -> Fitting:
    bowler = Bowler.objects.create(shop=shop, name="Juniper Vale")
    return services.start_fitting(
        bowler=bowler, fitted_on=datetime.date(2026, 5, 3), notes="", logged_by=staff
    )


def address(fitting: Fitting) -> str:
    return f"/fittings/{fitting.pk}/"


def type_row(page: Page) -> None:
    """Type a whole row as a person does, who starts once the cursor is there."""
    expect(page.locator("#next [name=speed_mph]")).to_be_focused()
    for place, text in enumerate(READINGS):
        page.keyboard.type(text)
        if place < len(READINGS) - 1:
            page.keyboard.press("Tab")
    page.keyboard.press("Enter")


def sign_in_here(page: Page, user: User) -> None:
    """In the same browser, whoever was signed in before."""
    page.goto("/")
    if page.get_by_role("button", name="Sign out").count():
        page.get_by_role("button", name="Sign out").click()
    page.get_by_label("Name").fill(user.get_username())
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()


def next_speed(page: Page) -> str:
    return page.locator("#next [name=speed_mph]").input_value()


def test_a_fitting_is_logged_by_keyboard_alone(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)
    type_row(page)
    expect(page.locator("#rows form")).to_have_count(1)
    expect(page.locator("#next [name=speed_mph]")).to_be_focused()
    expect(page.locator("#next [name=pap_up_in]")).to_have_value("0.5")
    page.keyboard.press("=")
    expect(page.locator("#next [name=rev_rate_rpm]")).to_have_value("350")
    expect(page.locator("#next [name=speed_mph]")).to_be_focused()
    page.keyboard.type("17.6")
    page.keyboard.press("Enter")
    expect(page.locator("#rows form")).to_have_count(2)
    expect(page.locator("#means")).to_contain_text("17.4")
    assert page.troubles == []  # type: ignore[attr-defined]
    assert [d.speed_mph for d in fitting.deliveries.all()] == [17.2, 17.6]
    assert axe_findings(page) == []


def test_what_was_typed_is_there_after_leaving_the_page(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **PHONE)
    page.locator("#next [name=speed_mph]").fill("17.4")
    page.locator("#next [name=rev_rate_rpm]").focus()
    expect(page.locator("#next .delivery-note")).to_contain_text("kept as a draft")
    page.goto(f"/customers/{fitting.bowler.pk}/")
    page.go_back()
    page.reload()
    expect(page.locator("#rows [name=speed_mph]")).to_have_value("17.4")


def test_a_mistake_is_named_and_marked_in_its_box(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)
    speed = page.locator("#next [name=speed_mph]")
    speed.fill("45")
    page.keyboard.press("Tab")
    expect(page.locator("#next .delivery-note")).to_contain_text("between 5 and 30 mph")
    expect(speed).to_have_attribute("aria-invalid", "true")
    speed.fill("17")
    page.keyboard.press("Tab")
    expect(page.locator("#next .delivery-note")).not_to_contain_text("between")
    expect(speed).not_to_have_attribute("aria-invalid", "true")
    assert page.troubles == []  # type: ignore[attr-defined]


def test_a_delivery_is_left_out_and_taken_back_in_place(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)
    type_row(page)
    expect(page.locator("#rows form")).to_have_count(1)
    page.get_by_role("button", name="Leave out").click()
    expect(page.get_by_role("button", name="Take back")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#rows [name=speed_mph]")).to_have_value("17.2")
    assert Delivery.objects.kept().count() == 1


def test_a_stored_row_saved_with_enter_leads_on_to_the_next(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)
    type_row(page)
    expect(page.locator("#rows form")).to_have_count(1)
    page.locator("#rows [name=speed_mph]").fill("18")
    page.keyboard.press("Enter")
    expect(page.locator("#next [name=speed_mph]")).to_be_focused()
    expect(page.locator("#means")).to_contain_text("18.0")
    assert fitting.deliveries.get().speed_mph == 18


def test_deliveries_logged_without_a_connection_wait_and_are_sent(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)
    where = page.locator("#kept-where")
    expect(where).to_contain_text("Saved")
    page.context.set_offline(True)
    for speed in ("17", "17.6"):
        page.locator("#next [name=speed_mph]").fill(speed)
        expect(where).to_contain_text("On this tablet only")
        page.locator("#next [name=speed_mph]").press("Enter")
        expect(page.locator("#next [name=speed_mph]")).to_have_value("")
    expect(page.locator("#waiting li")).to_have_text(
        [re.compile("Not sent yet: 17"), re.compile("Not sent yet: 17.6")]
    )
    page.locator("#next [name=speed_mph]").fill("18")
    page.context.set_offline(False)
    expect(page.locator("#rows form")).to_have_count(2)
    expect(page.locator("#next [name=speed_mph]")).to_have_value("18")
    expect(page.locator("#waiting li")).to_have_count(0)
    expect(where).to_contain_text("Saved", timeout=10_000)
    assert sorted(d.speed_mph or 0 for d in fitting.deliveries.all()) == [17, 17.6, 18]


def test_on_a_shared_tablet_another_finds_nothing_of_it_and_its_writer_all(
    visit: Visitor, staff: User, second_staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)
    where = page.locator("#kept-where")
    page.context.set_offline(True)
    page.locator("#next [name=speed_mph]").fill("17")
    page.locator("#next [name=speed_mph]").press("Enter")
    expect(page.locator("#waiting li")).to_have_count(1)
    # Signed out meanwhile: a page being closed hears that the connection is back, and sends.
    page.context.clear_cookies()
    page.close()
    page.context.set_offline(False)
    page = page.context.new_page()
    where = page.locator("#kept-where")

    sign_in_here(page, second_staff)
    page.goto(address(fitting))
    expect(where).to_contain_text("Saved")
    expect(page.locator("#waiting li")).to_have_count(0)
    expect(page.locator("#rows form")).to_have_count(0)
    assert not fitting.deliveries.exists()

    sign_in_here(page, staff)
    page.goto(address(fitting))
    expect(page.locator("#rows form")).to_have_count(1)
    expect(where).to_contain_text("Saved")
    assert fitting.deliveries.get().speed_mph == 17


def test_a_tab_closed_without_a_connection_loses_nothing(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)
    page.context.set_offline(True)
    page.locator("#next [name=speed_mph]").fill("17")
    page.locator("#next [name=speed_mph]").press("Enter")
    expect(page.locator("#waiting li")).to_have_count(1)
    page.locator("#next [name=rev_rate_rpm]").fill("345")
    page.close()
    page.context.set_offline(False)
    again = page.context.new_page()
    again.goto(address(fitting))
    expect(again.locator("#rows [name=speed_mph]").first).to_have_value(re.compile("17|^$"))
    expect(again.locator("#kept-where")).to_contain_text("Saved", timeout=10_000)
    kept = {(d.speed_mph, d.rev_rate_rpm) for d in fitting.deliveries.all()}
    assert kept == {(17, None), (None, 345)}


def test_a_delivery_whose_answer_was_lost_is_there_once(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)

    def lose(route: Route) -> None:
        route.fetch()
        route.abort()

    page.route("**/rows/", lose)
    page.locator("#next [name=speed_mph]").fill("17")
    page.locator("#next [name=speed_mph]").press("Enter")
    expect(page.locator("#waiting li")).to_have_count(1)
    page.unroute("**/rows/")
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#rows form")).to_have_count(1)
    expect(page.locator("#kept-where")).to_contain_text("Saved")
    assert fitting.deliveries.count() == 1


def test_a_waiting_delivery_that_is_refused_comes_back_into_the_boxes(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)
    page.context.set_offline(True)
    page.locator("#next [name=speed_mph]").fill("45")
    page.locator("#next [name=speed_mph]").press("Enter")
    expect(page.locator("#waiting li")).to_contain_text("Not sent yet: 45")
    page.context.set_offline(False)
    expect(page.locator("#waiting li")).to_contain_text("between 5 and 30 mph")
    page.get_by_role("button", name="Put it into the boxes").click()
    expect(page.locator("#next [name=speed_mph]")).to_have_value("45")
    page.locator("#next [name=speed_mph]").fill("15")
    page.locator("#next [name=speed_mph]").press("Enter")
    expect(page.locator("#rows form")).to_have_count(1)
    expect(page.locator("#kept-where")).to_contain_text("Saved")


def test_being_signed_out_is_said_and_nothing_typed_is_lost(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)
    page.context.clear_cookies()
    page.locator("#next [name=speed_mph]").fill("17")
    page.keyboard.press("Tab")
    expect(page.locator("#next .delivery-note")).to_contain_text("Not saved")
    assert next_speed(page) == "17"


def test_it_works_without_scripts(visit: Visitor, staff: User, fitting: Fitting) -> None:
    page = visit(staff, address(fitting), java_script_enabled=False, **TABLET)
    boxes = page.locator("#next .delivery-reading input")
    for place, text in enumerate(READINGS):
        boxes.nth(place).fill(text)
    page.locator("#next").get_by_role("button", name="Add").click()
    assert page.locator("#rows form").count() == 1
    page.get_by_role("button", name="Same again").click()
    assert next_speed(page) == "17.2"
    page.locator("#next").get_by_role("button", name="Add").click()
    assert page.locator("#rows form").count() == 2
    page.get_by_role("button", name="Leave out").first.click()
    page.get_by_role("button", name="Take back").click()
    page.locator("#next [name=speed_mph]").fill("99")
    page.locator("#next [name=speed_mph]").press("Enter")
    assert "between 5 and 30 mph" in page.locator("#next .delivery-note").inner_text()
    assert next_speed(page) == "99"
    page.get_by_role("button", name="Finish the fitting").click()
    assert page.url.endswith(f"/customers/{fitting.bowler.pk}/")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("seat", [PHONE, TABLET], ids=["phone", "tablet"])
def test_a_full_fitting_is_sound(
    visit: Visitor, staff: User, fitting: Fitting, scheme: str, seat: dict[str, object]
) -> None:
    page = visit(staff, address(fitting), color_scheme=scheme, **seat)
    page.locator("#next [name=speed_mph]").focus()
    type_row(page)
    expect(page.locator("#rows form")).to_have_count(1)
    page.keyboard.press("=")
    expect(page.locator("#next [name=rev_rate_rpm]")).to_have_value("350")
    expect(page.locator("#next [name=speed_mph]")).to_be_focused()
    page.locator("#next [name=rev_rate_rpm]").fill("620")
    page.keyboard.press("Enter")
    expect(page.locator("#rows form")).to_have_count(2)
    page.locator("#next [name=tilt_deg]").fill("99")
    page.keyboard.press("Tab")
    expect(page.locator("#next .delivery-note")).to_contain_text("between 0 and 45")
    page.get_by_role("button", name="Leave out").first.click()
    expect(page.get_by_role("button", name="Take back")).to_be_visible()
    keep_picture(page, f"fitting-full-{'phone' if seat is PHONE else 'tablet'}-{scheme}")
    assert overflow(page) == 0
    assert axe_findings(page) == []


def test_what_is_typed_before_the_scripts_came_is_held_and_reckoned_with(
    visit: Visitor, staff: User, fitting: Fitting
) -> None:
    page = visit(staff, address(fitting), **TABLET)

    def late(route: Route) -> None:
        page.locator("#next [name=speed_mph]").fill("17.4")
        route.continue_()

    page.route(re.compile(r"fitting\.js"), late)
    page.reload()
    expect(page.locator("#kept-where")).to_contain_text("On this tablet only")
    expect(page.locator("#next [name=speed_mph]")).to_have_value("17.4")
