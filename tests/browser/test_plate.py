"""The plate in a real browser: stepped by a finger and by keyboard, typed into, and without a
script."""

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from arsenal.models import BowlerCondition, OwnedBall
from proshop.models import Shop
from tests.arsenal import records
from tests.browser.conftest import PHONE, TABLET, Visitor, axe_findings, overflow

pytestmark = pytest.mark.django_db(transaction=True)

PIN_UP = {"drilling_angle_deg": 50.0, "pin_to_pap_in": 4.5, "val_angle_deg": 20.0}
PIN = ".plate-about-pap .plate-spot-pin"


@pytest.fixture
def ball(shop: Shop) -> OwnedBall:
    bowler = records.customer(shop, average=190)
    records.fitting(bowler)
    condition = records.condition(records.house(shop))
    BowlerCondition.objects.create(shop=shop, bowler=bowler, condition=condition, times_a_season=30)
    spec = records.ball_model(shop).specs.get()
    return records.owned_ball(bowler, spec, layout_numbers=PIN_UP)


def test_a_step_moves_the_pin_keeps_the_focus_and_the_address(
    visit: Visitor, staff: User, ball: OwnedBall
) -> None:
    page = visit(staff, reverse("owned-ball-plate", args=[ball.pk]), **TABLET)
    before = page.locator(PIN).get_attribute("transform")
    more = page.get_by_role("button", name="VAL angle 5° more")
    more.focus()
    page.keyboard.press("Enter")
    page.locator(f'{PIN}:not([transform="{before}"])').wait_for()
    assert page.evaluate("document.activeElement.getAttribute('aria-label')") == "VAL angle 5° more"
    assert "angles_val_angle_deg=25" in page.url
    page.reload()
    assert page.get_by_label("VAL angle (°)").input_value() == "25"
    assert page.troubles == []  # type: ignore[attr-defined]


def test_typing_a_number_moves_the_plate_and_leaves_the_box_alone(
    visit: Visitor, staff: User, ball: OwnedBall
) -> None:
    page = visit(staff, reverse("owned-ball-plate", args=[ball.pk]))
    before = page.locator(PIN).get_attribute("transform")
    box = page.get_by_label("Pin to PAP (in)")
    box.fill("3 3/8")
    page.locator(f'{PIN}:not([transform="{before}"])').wait_for()
    assert box.input_value() == "3 3/8"
    box.fill("far")
    page.get_by_text("Pin to PAP must be a number").wait_for()
    assert box.input_value() == "far"
    assert page.troubles == []  # type: ignore[attr-defined]


def test_a_hole_is_stepped_by_keyboard_and_its_boxes_stay_open(
    visit: Visitor, staff: User, ball: OwnedBall
) -> None:
    page = visit(staff, reverse("owned-ball-plate", args=[ball.pk]), **PHONE)
    page.get_by_text("Holes", exact=True).click()
    rim = page.locator(".plate-about-grip .plate-hole").nth(2)
    before = rim.get_attribute("d")
    more = page.get_by_role("button", name="Thumb: Up 1/16 in more")
    more.focus()
    page.keyboard.press("Enter")
    page.locator(f'.plate-about-grip .plate-hole:not([d="{before}"])').nth(2).wait_for()
    assert page.get_by_role("button", name="Thumb: Up 1/16 in more").is_visible()
    assert page.get_by_label("Thumb: Up (in)").input_value() == "-2.5625"
    assert overflow(page) == 0
    assert axe_findings(page) == []
    assert page.troubles == []  # type: ignore[attr-defined]


def test_pin_down_is_one_press_and_what_it_does_fits_on_a_phone(
    visit: Visitor, staff: User, ball: OwnedBall
) -> None:
    page = visit(staff, reverse("owned-ball-plate", args=[ball.pk]), **PHONE)
    page.get_by_role("button", name="Pin down").tap()
    page.get_by_text("the holes move in the core").wait_for()
    assert overflow(page) == 0
    assert axe_findings(page) == []
    assert page.troubles == []  # type: ignore[attr-defined]


def test_it_works_without_a_script(visit: Visitor, staff: User, ball: OwnedBall) -> None:
    page = visit(staff, reverse("owned-ball-plate", args=[ball.pk]), java_script_enabled=False)
    page.get_by_role("button", name="VAL angle 5° more").click()
    page.get_by_role("button", name="VAL angle 5° more").click()
    assert page.get_by_label("VAL angle (°)").input_value() == "30"
    page.get_by_role("textbox", name="VAL angle (°)").press("Enter")
    assert page.get_by_label("VAL angle (°)").input_value() == "30"
    page.get_by_label("Read off the ball").check()
    page.locator(".plate-show").click()
    assert page.get_by_label("Pin over (in)").is_visible()
