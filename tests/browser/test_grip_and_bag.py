"""From nothing on record to a grip and a bag, in a real browser, by keyboard wherever it is no
extra trouble; and the drill sheet, the tickets and the shelf by keyboard alone."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Page, expect

from arsenal.models import CareEntry, OwnedBall, StockBall, Ticket
from bowlers.models import Bowler, Grip
from proshop.models import Shop
from tests.arsenal import records
from tests.browser.conftest import DESK, PHONE, TABLET, Visitor, axe_findings, enter, tab_to
from tests.furnished import furnish

pytestmark = pytest.mark.django_db(transaction=True)

HAND = {
    "span_middle_in": "4 1/4", "span_ring_in": "4 3/8", "bridge_in": "1/4",
    "middle_hole_in": "31/32", "middle_depth_in": "1 3/4",
    "ring_hole_in": "31/32", "ring_depth_in": "1 3/4",
    "thumb_hole_in": "1", "thumb_depth_in": "2 3/4",
}  # fmt: skip


def typed(page: Page, place: str, text: str) -> None:
    tab_to(page, page.locator(place))
    page.keyboard.press("Control+A")
    page.keyboard.type(text)


def test_a_hand_is_measured_hurts_and_is_measured_anew(
    shop: Shop, staff: User, visit: Visitor
) -> None:
    bowler = records.customer(shop)
    page = visit(staff, bowler.get_absolute_url(), **TABLET)
    enter(page, page.locator(f'main a[href="/customers/{bowler.pk}/grips/"]').first)
    enter(page, page.get_by_role("link", name="Measure the hand"))
    page.wait_for_url("**/grips/new/")
    for name, text in HAND.items():
        typed(page, f"#id_{name}", text)
    pitch = page.get_by_label("Pitch along the palm (in)").first
    tab_to(page, pitch)
    page.keyboard.press("Control+A")
    page.keyboard.type("1/8")
    ways = page.get_by_role("radiogroup", name="Middle finger, pitch along the palm")
    tab_to(page, ways.get_by_role("radio", name="toward the palm"))
    page.keyboard.press("Space")
    # The drawing follows what is typed, and says in words what it shows.
    expect(page.get_by_role("img", name="Middle finger: pitch 1/8")).to_be_visible()
    page.get_by_role("button", name="Save the grip").dblclick()
    expect(page.get_by_role("link", name="New grip")).to_be_visible()
    first = Grip.objects.get()
    assert (first.span_middle_in, first.thumb_depth_in) == (4.25, 2.75)

    # It hurts: written down, nothing is drilled like it, nor copied as it is.
    enter(page, page.get_by_role("link", name="Edit", exact=True))
    page.wait_for_url("**/edit/")
    tab_to(page, page.locator("input[name=hurts_at]").first)
    page.keyboard.press("Space")
    enter(page, page.get_by_role("button", name="Save the grip"))
    expect(page.get_by_text("No ball is drilled like it")).to_be_visible()
    enter(page, page.get_by_role("link", name="New grip"))
    page.wait_for_url("**/grips/new/")
    enter(page, page.get_by_role("button", name="Save the grip"))
    expect(page.get_by_role("alert").first).to_contain_text("Nothing you typed is lost")
    assert Grip.objects.count() == 1
    typed(page, "#id_to_change", "A shorter span")
    typed(page, "#id_span_middle_in", "4 1/8")
    enter(page, page.get_by_role("button", name="Save the grip"))
    expect(page.get_by_text("What this grip changes: A shorter span")).to_be_visible()
    expect(page.get_by_role("heading", name="Beside earlier grips")).to_be_visible()
    assert {grip.span_middle_in for grip in Grip.objects.all()} == {4.25, 4.125}
    # Back leads to the record and stores nothing more.
    page.go_back()
    assert Grip.objects.count() == 2
    assert page.troubles == []  # type: ignore[attr-defined]


def test_a_bag_from_empty_to_cared_for_and_retired(shop: Shop, staff: User, visit: Visitor) -> None:
    bowler = records.customer(shop)
    records.grip(bowler)
    records.ball_model(shop, weights=(15,))
    page = visit(staff, bowler.get_absolute_url(), **TABLET)
    enter(page, page.get_by_role("link", name="Add a ball").first)
    page.wait_for_url("**/bag/new/")
    enter(page, page.get_by_role("link", name="15 lb Alder"))
    page.wait_for_url("**/bag/new/?*")
    values = {
        "serial": "7F3A21", "top_weight_oz": "2 1/2", "pin_to_cg_in": "3",
        "pap_over_in": "5", "pap_up_in": "1/2",
    }  # fmt: skip
    for name, text in values.items():
        typed(page, f"#id_{name}", text)
    page.get_by_label("Drilling angle (°)").fill("45")
    page.get_by_label("Pin to PAP (in)").first.fill("4")
    page.get_by_label("VAL angle (°)").fill("40")
    page.locator("main form button[type=submit]").last.dblclick()
    expect(page.get_by_role("heading", level=2, name="As drilled")).to_be_visible()
    ball = OwnedBall.objects.get()
    assert (ball.serial, ball.layout_notation) == ("7F3A21", "angles")
    assert axe_findings(page) == []

    # Games and care are written down, and count.
    enter(page, page.locator("summary", has_text="Write down care or games"))
    page.locator("#care [name=work]").select_option("games")
    typed(page, "#care [name=games]", "12")
    enter(page, page.locator("#care").get_by_role("button", name="Write down"))
    expect(page.locator("#care .list-rows")).to_contain_text("12")
    ball.refresh_from_db()
    assert (CareEntry.objects.get().games, ball.games_since_finish) == (12, 12)

    enter(page, page.locator(f'a[href="/customers/{bowler.pk}/bag/"]').first)
    expect(page.locator("article")).to_contain_text("2000 grit, 12 games ago")
    enter(page, page.get_by_role("link", name="Alder, 15 lb"))
    enter(page, page.get_by_role("button", name="Retire"))
    expect(page.get_by_role("button", name="Bring back")).to_be_visible()
    enter(page, page.get_by_role("button", name="Bring back"))
    expect(page.get_by_role("button", name="Retire")).to_be_visible()
    ball.refresh_from_db()
    assert not ball.retired
    assert page.troubles == []  # type: ignore[attr-defined]


def test_the_drill_sheet_is_signed_off_by_keyboard(shop: Shop, staff: User, visit: Visitor) -> None:
    furnish(shop, staff)
    bowler = Bowler.objects.get()
    plan = records.drill_plan(bowler, records.ball_model(shop, "Elm").specs.get(), serial="9C11")
    page = visit(staff, plan.get_absolute_url(), **DESK)
    enter(page, page.get_by_role("button", name="Sign it off: to the press"))
    expect(page.get_by_role("link", name="It is drilled")).to_be_visible()
    enter(page, page.get_by_role("link", name="Drill sheet"))
    expect(page.get_by_role("button", name="Print")).to_be_visible()
    tab_to(page, page.get_by_role("button", name="Print"))
    page.go_back()
    enter(page, page.get_by_role("link", name="It is drilled"))
    enter(page, page.get_by_role("button", name="Write it into the bag"))
    expect(page.get_by_text("Drilled on")).to_be_visible()
    assert bowler.bag.filter(serial="9C11").count() == 1
    assert page.troubles == []  # type: ignore[attr-defined]


def test_a_ticket_goes_from_waiting_to_collected_by_keyboard(
    shop: Shop, staff: User, visit: Visitor
) -> None:
    bowler = records.customer(shop)
    ball = records.owned_ball(bowler, records.ball_model(shop).specs.get())
    page = visit(staff, ball.get_absolute_url(), **TABLET)
    enter(page, page.get_by_role("link", name="Open a ticket"))
    page.wait_for_url("**/tickets/new/**")
    tab_to(page, page.locator("input[name=job]:checked, input[name=job]").first)
    page.keyboard.press("ArrowDown")
    enter(page, page.locator("main form button[type=submit]").last)
    for label, step in (("Take it on", "On the press"), ("Ready", "Ready"),
                        ("Collected", "Collected")):  # fmt: skip
        enter(page, page.get_by_role("button", name=label, exact=True).first)
        expect(page.locator(".ticket .mark").get_by_text(step, exact=True)).to_be_visible()
    assert Ticket.objects.get().step == "collected"
    assert page.troubles == []  # type: ignore[attr-defined]


@pytest.mark.parametrize("seat", [PHONE, DESK], ids=["phone", "desk"])
def test_a_ball_is_put_on_the_shelf_by_keyboard(
    shop: Shop, staff: User, visit: Visitor, seat: dict[str, object]
) -> None:
    records.ball_model(shop)
    page = visit(staff, "/shelf/", **seat)
    enter(page, page.locator('main a[href^="/shelf/new"]').first)
    page.wait_for_url("**/shelf/new/**")
    enter(page, page.get_by_role("link", name="15 lb Alder"))
    page.wait_for_url("**/shelf/new/?*")
    typed(page, "#id_top_weight_oz", "2 1/2")
    typed(page, "#id_pin_to_cg_in", "3")
    enter(page, page.locator("main form button[type=submit]").last)
    page.wait_for_url("**/shelf/")
    expect(page.locator("main")).to_contain_text("Alder")
    assert StockBall.objects.count() == 1
    assert page.troubles == []  # type: ignore[attr-defined]
