"""What somebody at the counter does, in a real browser."""

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import expect

from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records
from tests.browser.conftest import PHONE, TABLET, Visitor, axe_findings
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)


def test_signing_in_and_out(visit: Visitor, staff: User) -> None:
    page = visit(None, "/", **TABLET)
    page.get_by_label("Name").fill("sam")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="Who is at the counter?").wait_for()
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("heading", name="Sign in").wait_for()
    assert page.troubles == []  # type: ignore[attr-defined]


def test_customers_are_found_while_typing(visit: Visitor, shop: Shop, staff: User) -> None:
    Bowler.objects.create(shop=shop, name="Lucía Prat")
    Bowler.objects.create(shop=shop, name="Juniper Vale")
    page = visit(staff, "/", **PHONE)
    page.get_by_label("Find a customer").press_sequentially("luc")
    page.get_by_role("link", name="Lucía Prat").click()
    page.get_by_role("heading", level=1, name="Lucía Prat").wait_for()
    assert page.troubles == []  # type: ignore[attr-defined]


def test_customers_are_found_by_phone_ending_and_by_a_ball_too(
    visit: Visitor, shop: Shop, staff: User
) -> None:
    Bowler.objects.create(shop=shop, name="Lucía Prat", phone="555 0142")
    juniper = Bowler.objects.create(shop=shop, name="Juniper Vale", phone="555 0199")
    records.owned_ball(juniper, records.ball_model(shop).specs.get(), serial="7F3A21")
    page = visit(staff, "/customers/", **TABLET)
    box = page.get_by_label("Search by name, phone ending or ball serial")
    box.press_sequentially("0142")
    page.get_by_text("1 customer for").wait_for()
    assert "Lucía Prat" in page.locator("#customers").inner_text()
    box.fill("7f3a")
    page.get_by_text("ball 7F3A21").wait_for()
    assert "Juniper Vale" in page.locator("#customers").inner_text()
    assert axe_findings(page) == []


def test_the_search_works_without_scripts(visit: Visitor, shop: Shop, staff: User) -> None:
    Bowler.objects.create(shop=shop, name="Lucía Prat", phone="555 0142")
    Bowler.objects.create(shop=shop, name="Juniper Vale")
    page = visit(staff, "/customers/", java_script_enabled=False, **TABLET)
    page.get_by_label("Search by name, phone ending or ball serial").fill("0142")
    page.get_by_role("button", name="Search").click()
    page.get_by_text("1 customer for").wait_for()
    assert "Juniper" not in page.locator("#customers").inner_text()


def test_a_double_click_saves_one_customer(visit: Visitor, shop: Shop, staff: User) -> None:
    page = visit(staff, "/customers/new/", **TABLET)
    page.get_by_label("Name", exact=False).first.fill("Juniper Vale")
    page.locator("main form button[type=submit]").last.dblclick()
    page.get_by_role("heading", level=1, name="Juniper Vale").wait_for()
    assert Bowler.objects.count() == 1


def test_the_theme_is_switched_and_kept(visit: Visitor, staff: User) -> None:
    page = visit(staff, "/", color_scheme="light", **TABLET)

    def paper() -> str:
        colour: str = page.evaluate("getComputedStyle(document.body).backgroundColor")
        return colour

    light = paper()
    page.get_by_role("button", name="Switch between light and dark").click()
    dark = paper()
    assert dark != light
    # Colours of buttons pass over to the other theme's within a moment.
    page.evaluate(
        "Promise.all(document.getAnimations().map((a) => a.finished)).then(() => undefined)"
    )
    assert axe_findings(page) == []
    page.goto("/glossary/")
    assert paper() == dark


def test_the_switch_of_units_keeps_what_is_typed(visit: Visitor, shop: Shop, staff: User) -> None:
    page = visit(staff, "/customers/new/", **TABLET)
    page.get_by_label("Name", exact=False).first.fill("Juniper “J” Vale")
    page.locator("[name=hand][value=left], select[name=hand]").first.evaluate(
        "box => { if (box.tagName === 'SELECT') box.value = 'left'; else box.checked = true; }"
    )
    page.get_by_role("button", name="Show metric units").click()
    expect(page.get_by_role("button", name="Show inches, feet and mph")).to_be_visible()
    expect(page.get_by_label("Name", exact=False).first).to_have_value("Juniper “J” Vale")
    page.locator("main form button[type=submit]").last.click()
    page.get_by_role("heading", level=1, name="Juniper").wait_for()
    assert Bowler.objects.get().hand == "left"
    # What was sent is not put into another page, nor into the same one opened anew.
    page.goto("/customers/new/")
    expect(page.get_by_label("Name", exact=False).first).to_have_value("")
    assert page.troubles == []  # type: ignore[attr-defined]


def test_the_switch_of_units_keeps_rows_that_were_added(visit: Visitor, staff: User) -> None:
    page = visit(staff, "/models/new/", **TABLET)
    rows = page.locator("[data-rows] .row-card")
    there = rows.count()
    page.get_by_role("button", name="Add a weight").click()
    box = rows.last.locator("input:not([type=hidden], [type=checkbox])").last
    box.fill("0.050")
    name = box.get_attribute("name")
    page.get_by_role("button", name="Show metric units").click()
    expect(page.get_by_role("button", name="Show inches, feet and mph")).to_be_visible()
    expect(page.locator(f"[name={name}]")).to_have_value("0.050")
    expect(rows).to_have_count(there + 1)


def test_the_keyboard_reaches_the_page_past_the_navigation(visit: Visitor, staff: User) -> None:
    page = visit(staff, "/glossary/", **TABLET)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


@pytest.mark.parametrize("path", ["/", "/customers/", "/customers/new/", "/glossary/"])
def test_fingers_find_every_button(path: str, visit: Visitor, shop: Shop, staff: User) -> None:
    """Buttons and entries of the navigation are at least 48 px high on a phone."""
    page = visit(staff, path, **PHONE)
    small = page.evaluate(
        """[...document.querySelectorAll('.btn, .places a, .band button, main .form-control')]
        .filter(e => e.offsetParent && e.getBoundingClientRect().height < 47.5)
        .map(e => e.outerHTML.slice(0, 120))"""
    )
    assert small == []
