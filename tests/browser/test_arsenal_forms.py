"""Adding balls, models and oil in a real browser: what the small scripts do."""

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from arsenal.models import BallModel, BowlerCondition, Condition, OwnedBall
from proshop.models import Shop
from tests.arsenal import records
from tests.browser.conftest import PHONE, TABLET, Visitor

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_ball_is_put_in_a_bag_on_a_phone(visit: Visitor, shop: Shop, staff: User) -> None:
    bowler = records.customer(shop)
    records.ball_model(shop, weights=(15, 14))
    page = visit(staff, reverse("bag", args=[bowler.pk]), **PHONE)
    page.get_by_role("link", name="Add a ball").first.click()
    page.get_by_role("link", name="14 lb Alder").click()
    page.get_by_label("Top weight (oz)").fill("2 1/2")
    page.get_by_label("Pin to CG (in)").fill("3")
    page.get_by_label("PAP over (in)").fill("5")
    page.get_by_label("PAP up (in)").fill("1/2")
    page.get_by_label("Drilling angle (°)").fill("45")
    assert not page.get_by_label("Pin buffer (in)").is_visible()
    page.get_by_text("Pin to PAP × PSA to PAP × pin buffer", exact=True).first.click()
    assert not page.get_by_label("Drilling angle (°)").is_visible()
    page.locator("#id_buffer_pin_to_pap_in").fill("4")
    page.get_by_label("PSA to PAP (in)").fill("4.158")
    page.get_by_label("Pin buffer (in)").fill("2.328")
    page.get_by_text("Below 90°: pin higher").click()
    thumb = page.get_by_label("Forward pitch (in)").last
    thumb.fill("-1/8")
    page.get_by_text("reverse: bottom away from the palm").wait_for()
    page.locator("main form button[type=submit]").last.dblclick()
    page.get_by_role("heading", level=2, name="As drilled").wait_for()
    ball = OwnedBall.objects.get()
    assert (ball.spec.weight_lb, ball.layout_notation, ball.top_weight_oz) == (14, "buffer", 2.5)
    assert ball.holes.get(kind="thumb").pitch_forward_in == -0.125
    assert page.troubles == []  # type: ignore[attr-defined]


def test_rows_of_weights_are_added_and_removed(visit: Visitor, shop: Shop, staff: User) -> None:
    page = visit(staff, reverse("ball-model-add"), **TABLET)
    page.get_by_label("Name").fill("Rowan")
    page.get_by_label("Cover").select_option("pearl")
    page.get_by_label("Finish from the maker").select_option("polished")
    page.get_by_label("Price").fill("199")
    for row, weight in enumerate(("16", "15", "14")):
        if row:
            page.get_by_role("button", name="Add a weight").click()
        for name, value in (
            ("weight_lb", weight),
            ("rg_low_in", "2.5"),
            ("differential_in", "0.04"),
            ("intermediate_differential_in", "0"),
        ):
            page.locator(f"[name=specs-{row}-{name}]").fill(value)
    page.get_by_label("Remove this weight").nth(1).check()
    page.get_by_role("button", name="Save").click()
    page.get_by_role("heading", level=1, name="Rowan").wait_for()
    assert [s.weight_lb for s in BallModel.objects.get().specs.all()] == [16, 14]
    assert page.troubles == []  # type: ignore[attr-defined]


def test_an_oil_table_is_pasted_instead_of_numbers(visit: Visitor, shop: Shop, staff: User) -> None:
    house = records.house(shop)
    page = visit(staff, reverse("condition-add", args=[house.pk]), **TABLET)
    page.get_by_label("Name").fill("Measured last week")
    page.get_by_text("By an oil table").click()
    assert not page.get_by_label("Volume (mL)").is_visible()
    row = ",".join(["5"] * 10 + ["20"] * 19 + ["5"] * 10)
    page.get_by_role("textbox", name="Oil table").fill(f"0,{row}\n42,{row}")
    page.locator("#drawn").get_by_text("42 ft", exact=True).wait_for()
    page.wait_for_load_state("networkidle")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("heading", level=2, name="The oil").wait_for()
    assert Condition.objects.get().inside_to_outside_ratio == pytest.approx(4)
    assert page.troubles == []  # type: ignore[attr-defined]


def test_oil_is_told_by_taps_and_drawn_meanwhile(visit: Visitor, shop: Shop, staff: User) -> None:
    house = records.house(shop)
    page = visit(staff, reverse("condition-add", args=[house.pk]), **TABLET)
    drawn = page.locator("#drawn")
    drawn.get_by_text("40 ft", exact=True).wait_for()
    page.get_by_text("Very long, about 48 ft").click()
    drawn.get_by_text("48 ft", exact=True).wait_for()
    page.get_by_text("goes high").click()
    page.get_by_text("stays out").click()
    drawn.get_by_text("sport", exact=True).wait_for()
    page.wait_for_load_state("networkidle")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("heading", level=1, name="Flat, 48 ft, medium").wait_for()
    assert Condition.objects.get().shape == "flat"
    assert page.troubles == []  # type: ignore[attr-defined]


def test_the_season_adds_up_by_slider_by_key_and_by_number(
    visit: Visitor, shop: Shop, staff: User
) -> None:
    house, bowler = records.house(shop), records.customer(shop)
    rows = [
        BowlerCondition.objects.create(
            shop=shop,
            bowler=bowler,
            condition=records.condition(house, name),
            times_a_season=times,
        )
        for name, times in (("First", 40), ("Second", 20), ("Third", 20))
    ]
    page = visit(staff, reverse("customer-conditions", args=[bowler.pk]), **TABLET)
    boxes = [page.locator(f"#id_times_{row.pk}") for row in rows]

    def times() -> list[int]:
        return [int(box.input_value()) for box in boxes]

    slider = page.get_by_role("slider", name="Share of the season: First")
    slider.focus()
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    assert times() == [60, 10, 10]
    slider.press("End")
    assert times() == [78, 1, 1]
    slider.press("Home")
    assert sum(times()) == 80
    assert times()[0] == 1
    assert slider.get_attribute("aria-valuetext") == "1 of 80 times a season, 1 %"
    boxes[1].fill("50")
    boxes[1].press("Tab")
    assert times()[1] == 50
    assert sum(times()) == 80
    page.get_by_label("Times a season in all").fill("160")
    page.get_by_label("Times a season in all").press("Tab")
    assert sum(times()) == 160
    shown = times()
    page.get_by_role("button", name="Save the times").click()
    page.get_by_text("160 times in all").wait_for()
    for row, count in zip(rows, shown, strict=True):
        row.refresh_from_db()
        assert row.times_a_season == count
    assert page.troubles == []  # type: ignore[attr-defined]


def test_without_a_script_times_are_typed(visit: Visitor, shop: Shop, staff: User) -> None:
    house, bowler = records.house(shop), records.customer(shop)
    first, second = (
        BowlerCondition.objects.create(
            shop=shop, bowler=bowler, condition=records.condition(house, name), times_a_season=20
        )
        for name in ("First", "Second")
    )
    address = reverse("customer-conditions", args=[bowler.pk])
    page = visit(staff, address, java_script_enabled=False, **PHONE)
    assert page.get_by_role("slider").count() == 0
    page.locator(f"#id_times_{first.pk}").fill("35")
    page.get_by_role("button", name="Save the times").click()
    page.get_by_text("55 times in all").wait_for()
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.times_a_season, second.times_a_season) == (35, 20)
