"""From a plan to a ball in the bag: laid out, signed for, drilled, weighed."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal import engine
from arsenal.models import (
    BallSpec,
    DrillPlan,
    EarlierDrilling,
    OwnedBall,
    PluggedHole,
    Ranking,
    RedrillGate,
    StockBall,
)
from arsenal.press import advised, gate, services
from bowlers.models import Bowler
from proshop.models import Shop, StaleRecord
from tests.arsenal import invented, records

LAYOUT = {
    "angles_drilling_angle_deg": "45",
    "angles_pin_to_pap_in": "4",
    "angles_val_angle_deg": "40",
}


@pytest.fixture
def bowler(shop: Shop) -> Bowler:
    return records.customer(shop)


@pytest.fixture
def spec(shop: Shop) -> BallSpec:
    return records.ball_model(shop).specs.get()


@pytest.fixture
def stock(shop: Shop, spec: BallSpec) -> StockBall:
    return records.stock_ball(shop, spec, serial="SN 4711")


@pytest.fixture
def plan(bowler: Bowler, spec: BallSpec) -> DrillPlan:
    return records.drill_plan(bowler, spec)


@pytest.fixture
def ball(bowler: Bowler, spec: BallSpec) -> OwnedBall:
    return records.owned_ball(bowler, spec)


@pytest.fixture
def again(bowler: Bowler, spec: BallSpec, ball: OwnedBall) -> DrillPlan:
    """A plan to drill the ball again, laid out otherwise."""
    layout = {**records.ANGLES, "drilling_angle_deg": 70.0}
    return records.drill_plan(bowler, spec, ball=ball, again=True, layout_numbers=layout)


def fresh(plan: DrillPlan) -> DrillPlan:
    found: DrillPlan = DrillPlan.objects.whole().get(pk=plan.pk)
    return found


def stops(plan: DrillPlan) -> str:
    return " ".join(services.planned(fresh(plan)).ready.stops)


def minds(plan: DrillPlan) -> str:
    return " ".join(services.planned(fresh(plan)).ready.minds)


def laid_out(client: Client, address: str, **typed: str) -> Any:
    page = client.get(address)
    values = records.form_values(page, page.context["form"], page.context["holes"])
    return client.post(address, {**values, "pap_over_in": "5", **LAYOUT, **typed}, follow=True)


def sign(client: Client, plan: DrillPlan) -> Any:
    stored = fresh(plan)
    address = reverse("drill-plan-sign", args=[plan.pk])
    return client.post(address, {"record_version": stored.version}, follow=True)


def printed(client: Client, plan: DrillPlan) -> str:
    """The sheet's page, its fractions with plain spaces."""
    page = client.get(reverse("drill-sheet", args=[plan.pk])).content.decode()
    return str(page).replace("\xa0", " ")


def from_shelf(bowler: Bowler, stock: StockBall) -> str:
    return f"{reverse('drill-plan-add', args=[bowler.pk])}?stock={stock.pk}"


def drilled(client: Client, plan: DrillPlan, **typed: str) -> Any:
    address = reverse("drill-plan-drilled", args=[plan.pk])
    page = client.get(address)
    values = records.form_values(page, page.context["form"], page.context["holes"])
    return client.post(address, {**values, **typed}, follow=True)


# ---- a plan ----


def test_a_ball_off_the_shelf_goes_from_plan_to_bag(
    staff_client: Client, bowler: Bowler, stock: StockBall
) -> None:
    laid_out(staff_client, from_shelf(bowler, stock))
    plan = DrillPlan.objects.get()
    assert (plan.state, plan.serial, plan.holes.count()) == ("draft", "SN 4711", 3)
    sign(staff_client, plan)
    plan = fresh(plan)
    assert plan.state == "signed"
    assert plan.signed_by is not None
    assert plan.predicted is not None
    assert plan.predicted["model_version"] == engine.MODEL_VERSION
    stock.refresh_from_db()
    assert (stock.state, stock.promised_to) == ("promised", bowler)
    drilled(staff_client, plan, **{"holes-2-depth_in": "3", "differed": "Thumb came out deeper."})
    done = fresh(plan)
    assert done.state == "drilled"
    assert StockBall.objects.get().state == "sold"
    ball = done.ball
    assert ball is not None
    assert ball.holes.get(kind="thumb").depth_in == 3
    assert done.holes.get(kind="thumb").depth_in == 2.75, "the plan stays as it was signed for"
    assert done.differed == "Thumb came out deeper."
    assert ball in bowler.bag.in_use()


def test_what_is_predicted_is_what_the_bag_then_computes(
    staff_client: Client, plan: DrillPlan
) -> None:
    sign(staff_client, plan)
    drilled(staff_client, plan)
    done = fresh(plan)
    assert done.ball is not None
    assert done.predicted is not None
    ball = OwnedBall.objects.with_drilling().get(pk=done.ball.pk)
    assert engine.drilled_numbers(ball)["static_oz"] == pytest.approx(
        done.predicted["static_oz"], abs=1e-12
    )


def test_one_ball_is_promised_to_one_customer(
    staff_client: Client, bowler: Bowler, shop: Shop, stock: StockBall
) -> None:
    other = records.customer(shop, name="Juniper Hale")
    for who in (bowler, other):
        laid_out(staff_client, from_shelf(who, stock))
    theirs, mine = DrillPlan.objects.order_by("bowler__name", "pk")
    sign(staff_client, mine)
    assert "is promised to somebody else" in sign(staff_client, theirs).content.decode()
    assert fresh(theirs).state == "draft"
    aside = reverse("drill-plan-aside", args=[mine.pk])
    staff_client.post(aside, {"record_version": fresh(mine).version})
    assert StockBall.objects.get().state == "shelf", "set aside, it is anybody's again"
    sign(staff_client, theirs)
    assert StockBall.objects.get().promised_to == other
    StockBall.objects.update(state="sold", promised_to=None)
    staff_client.post(aside, {"record_version": fresh(mine).version, "aside": "0"})
    assert "is sold: put it back" in sign(staff_client, mine).content.decode()


def test_marks_of_a_shelf_ball_go_with_it_into_plan_sheet_and_bag(
    staff_client: Client, bowler: Bowler, stock: StockBall
) -> None:
    """CG off the line, PSA mark where it is and approval: copied once, and heavier to that side.

    Derived: a CG off the line moves the side and finger weights and leaves their root sum of
    squares, the distance of the CG from the top, to the top weight.
    """
    marks = {"cg_off_line_in": -0.5, "pin_to_psa_in": 6.5, "approval_note": "Listed 3 May"}
    StockBall.objects.filter(pk=stock.pk).update(**marks)
    laid_out(staff_client, from_shelf(bowler, stock))
    plan = fresh(DrillPlan.objects.get())
    assert {name: getattr(plan, name) for name in marks} == marks
    off = engine.planned_numbers(plan)["static_oz"]
    plan.cg_off_line_in = 0.0
    on = engine.planned_numbers(plan)["static_oz"]
    assert abs(off["side"] - on["side"]) + abs(off["finger"] - on["finger"]) > 0.1
    page = printed(staff_client, plan)
    assert "1/2 in to the left" in page
    assert "PSA mark <b>6 1/2 in</b> from the pin" in page
    assert "Listed 3 May" in page
    sign(staff_client, plan)
    drilled(staff_client, plan)
    ball = OwnedBall.objects.get()
    assert {name: getattr(ball, name) for name in marks} == marks


def test_an_oval_in_a_slug_is_a_round_hole_with_an_oval_open(
    staff_client: Client, bowler: Bowler, stock: StockBall
) -> None:
    """Derived: a 1 1/4 in hole with a 0.9 × 1.05 in oval left open misses 0.9·1.05/1.25² of it."""
    oval = {
        "holes-2-diameter_in": "1.25", "holes-2-sleeve": "slug", "holes-2-inside_in": "0.9",
        "holes-2-longer_in": "1.05", "holes-2-oval_angle_deg": "20",
    }  # fmt: skip
    laid_out(staff_client, from_shelf(bowler, stock), **oval)
    plan = fresh(DrillPlan.objects.get())
    thumb = plan.holes.get(kind="thumb")
    assert thumb.density_g_cm3 == pytest.approx(1.2 * 0.9 * 1.05 / 1.25**2, abs=1e-9)
    page = printed(staff_client, plan)
    assert "1 1/4<span></span>" in page, "drilled round"
    assert "Thumb slug, 0.9 × 1.05 oval open, upper end 20° right" in page


def test_a_pitch_the_wrong_way_round_is_asked_about_and_signed_all_the_same(
    staff_client: Client, plan: DrillPlan
) -> None:
    """Common practice, no source: at long spans thumbs lean away from the palm."""
    plan.holes.filter(kind="thumb").update(up_in=-2.9, pitch_forward_in=0.5)
    said = " ".join(services.planned(fresh(plan)).ready.asks)
    assert "is the pitch the right way round?" in said
    assert said.split(":")[0] in staff_client.get(plan.get_absolute_url()).content.decode()
    sign(staff_client, plan)
    assert fresh(plan).state == "signed"


def test_a_double_click_drills_one_ball(staff_client: Client, plan: DrillPlan) -> None:
    sign(staff_client, plan)
    address = reverse("drill-plan-drilled", args=[plan.pk])
    page = staff_client.get(address)
    values = records.form_values(page, page.context["form"], page.context["holes"])
    for _ in range(2):
        staff_client.post(address, values)
    assert OwnedBall.objects.count() == 1


def test_an_insert_puts_weight_back(staff_client: Client, bowler: Bowler, stock: StockBall) -> None:
    """Derived: a sleeve of the ball's own density leaves only what is open inside it missing."""
    insert = {"holes-0-sleeve": "insert", "holes-0-inside_in": "0.75"}
    laid_out(staff_client, from_shelf(bowler, stock), **insert)
    hole = DrillPlan.objects.get().holes.get(kind="middle")
    assert hole.density_g_cm3 == pytest.approx(1.2 * (0.75 / hole.diameter_in) ** 2, rel=1e-9)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"holes-0-sleeve": "insert"}, "how wide the sleeve is open"),
        ({"holes-0-sleeve": "insert", "holes-0-inside_in": "1.25"}, "must be less than the hole"),
        ({"holes-0-depth_in": "6"}, "Depth must be between 0.25 and 4.25 in"),
        ({"holes-0-depth_in": "40"}, "comes out at the far side"),
        ({"cg_off_line_in": "3"}, "same CG mark"),
        (
            {"holes-2-longer_in": "1.5", "holes-2-sleeve": "slug", "holes-2-inside_in": "0.9"},
            "drilled for the sleeve it is cut in",
        ),
        ({"angles_pin_to_pap_in": "0"}, "with the pin on the PAP"),
        ({"holes-1-over_in": "−0.6"}, "at the surface they overlap"),
        ({"label_weight_lb": "12"}, "check the label"),
        ({"layout_notation": "runes"}, "Select a valid choice"),
        ({"holes-0-longer_in": "0.6"}, "shorter way across"),
    ],
)
def test_what_can_not_be_drilled_is_said_with_the_remedy_and_nothing_kept(
    staff_client: Client, bowler: Bowler, stock: StockBall, typed: dict[str, str], said: str
) -> None:
    page = laid_out(staff_client, from_shelf(bowler, stock), notes="Mind the logo", **typed)
    assert said in page.content.decode()
    assert "Mind the logo" in page.content.decode()
    assert not DrillPlan.objects.exists()


def test_what_came_out_otherwise_is_refused_by_its_hole_and_nothing_is_drilled(
    staff_client: Client, plan: DrillPlan
) -> None:
    sign(staff_client, plan)
    typed = {"holes-1-over_in": "−0.6", "differed": "Moved."}
    page = drilled(staff_client, plan, **typed).content.decode()
    assert "at the surface they overlap" in page
    assert "Moved." in page
    # What is about no hole and no box of the form stands above it.
    DrillPlan.objects.update(layout_numbers={**records.ANGLES, "pin_to_pap_in": 0.0})
    assert "with the pin on the PAP" in drilled(staff_client, plan).content.decode()
    assert fresh(plan).state == "signed"
    assert not OwnedBall.objects.exists()


def test_a_ball_changed_while_it_is_drilled_is_told(
    staff_client: Client, plan: DrillPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    def late(**_: Any) -> None:
        raise StaleRecord(plan, 1)

    sign(staff_client, plan)
    monkeypatch.setattr("arsenal.press.services.record_drilled", late)
    page = drilled(staff_client, plan, differed="Thumb came out deeper.")
    assert "The ball was changed meanwhile" in page.content.decode()
    assert "Thumb came out deeper." in page.content.decode()
    assert fresh(plan).state == "signed"


def test_a_ball_kept_for_the_customer_already_stays_so(
    staff_client: Client, bowler: Bowler, stock: StockBall
) -> None:
    laid_out(staff_client, from_shelf(bowler, stock))
    StockBall.objects.update(state="promised", promised_to=bowler)
    sign(staff_client, DrillPlan.objects.get())
    assert DrillPlan.objects.get().state == "signed"
    stock.refresh_from_db()
    assert (stock.state, stock.promised_to, stock.version) == ("promised", bowler, 1)


def test_changing_a_signed_plan_takes_the_signature_back(
    staff_client: Client, plan: DrillPlan
) -> None:
    sign(staff_client, plan)
    laid_out(staff_client, reverse("drill-plan-edit", args=[plan.pk]), serial="SN 9")
    plan = fresh(plan)
    assert (plan.state, plan.signed_by, plan.predicted) == ("draft", None, None)


def test_signing_what_a_colleague_changed_meanwhile_is_refused(
    staff_client: Client, plan: DrillPlan
) -> None:
    address = reverse("drill-plan-sign", args=[plan.pk])
    page = staff_client.post(address, {"record_version": 0}, follow=True)
    assert "changed meanwhile" in page.content.decode()
    assert fresh(plan).state == "draft"


def test_a_drilled_plan_is_never_changed_or_set_aside(
    staff_client: Client, plan: DrillPlan
) -> None:
    sign(staff_client, plan)
    drilled(staff_client, plan)
    staff_client.post(
        reverse("drill-plan-aside", args=[plan.pk]), {"record_version": fresh(plan).version}
    )
    page = staff_client.get(reverse("drill-plan-edit", args=[plan.pk]), follow=True)
    assert "the plan stays what it was" in page.content.decode()
    assert fresh(plan).state == "drilled"


def test_a_plan_set_aside_can_be_brought_back(staff_client: Client, plan: DrillPlan) -> None:
    address = reverse("drill-plan-aside", args=[plan.pk])
    for aside, state in (("1", "aside"), ("0", "draft")):
        staff_client.post(address, {"record_version": fresh(plan).version, "aside": aside})
        assert fresh(plan).state == state


def test_nothing_is_drilled_that_nobody_signed_for(staff_client: Client, plan: DrillPlan) -> None:
    page = staff_client.get(reverse("drill-plan-drilled", args=[plan.pk]), follow=True)
    assert "signed for" in page.content.decode()
    assert not OwnedBall.objects.exists()


def test_a_grip_that_hurts_stops_the_press(plan: DrillPlan) -> None:
    records.grip(plan.bowler, hurts="wrist")
    assert "The grip hurts: wrist" in stops(plan)


# ---- rules and advice beside the choice ----


def test_outside_the_rules_a_reason_is_asked_for(staff_client: Client, plan: DrillPlan) -> None:
    DrillPlan.objects.filter(pk=plan.pk).update(top_weight_oz=6.0)
    assert "Outside the rules held to here (no balance hole, from 1 August 2020)" in stops(plan)
    sign(staff_client, plan)
    assert fresh(plan).state == "draft"
    DrillPlan.objects.filter(pk=plan.pk).update(reason="Practice ball, never in certified play.")
    sign(staff_client, plan)
    assert fresh(plan).state == "signed"
    page = staff_client.get(plan.get_absolute_url()).content.decode()
    assert "Practice ball, never in certified play." in page


@pytest.fixture
def ranking(bowler: Bowler, staff: User) -> Ranking:
    return invented.rowan_first(bowler, staff)


def test_the_first_choice_is_planned_from_its_own_page(
    staff_client: Client, ranking: Ranking
) -> None:
    address = f"{reverse('drill-plan-from-choice', args=[ranking.pk])}?choice=1"
    page = staff_client.get(address)
    values = records.form_values(page, page.context["form"], page.context["holes"])
    assert values["angles_pin_to_pap_in"] == "4.5"
    label = {"top_weight_oz": "3", "pin_to_cg_in": "2.5", "pap_over_in": "5"}
    staff_client.post(address, {**values, **label})
    plan = services.planned(fresh(DrillPlan.objects.get()))
    assert plan.follows_advice
    assert plan.plan.advice["words"] == "To order: Rowan, 50° × 4 1/2 in × 30°, 3000 grit"
    assert not plan.ready.stops


def test_a_member_of_the_family_counts_as_following(staff_client: Client, ranking: Ranking) -> None:
    member = advised.option_at(ranking, 1, 1)
    assert member is not None
    address = f"{reverse('drill-plan-from-choice', args=[ranking.pk])}?choice=1&member=1"
    page = staff_client.get(address)
    values = records.form_values(page, page.context["form"], page.context["holes"])
    assert float(values["angles_drilling_angle_deg"]) == member["layout"]["drilling_angle_deg"]
    label = {"top_weight_oz": "3", "pin_to_cg_in": "2.5", "pap_over_in": "5"}
    staff_client.post(address, {**values, **label})
    assert services.planned(fresh(DrillPlan.objects.get())).follows_advice


def test_another_choice_is_kept_beside_the_advice_with_its_reason(
    staff_client: Client, bowler: Bowler, stock: StockBall, ranking: Ranking
) -> None:
    laid_out(staff_client, from_shelf(bowler, stock))
    plan = DrillPlan.objects.get()
    assert "isn’t what was advised: give the reason" in stops(plan)
    laid_out(
        staff_client,
        reverse("drill-plan-edit", args=[plan.pk]),
        reason="Wants it today, and has no Rowan at 15.",
    )
    assert stops(plan) == ""
    page = staff_client.get(reverse("drill-plans", args=[bowler.pk])).content.decode()
    assert "To order: Rowan" in page
    assert "From the shelf: Alder" in page
    assert "Wants it today" in page


@pytest.mark.parametrize(
    "query", ["choice=99", "choice=0&member=99", "choice=2", "choice=x&member=77"]
)
def test_a_choice_that_is_not_drilled_has_no_plan(
    staff_client: Client, ranking: Ranking, query: str
) -> None:
    address = f"{reverse('drill-plan-from-choice', args=[ranking.pk])}?{query}"
    assert staff_client.get(address).status_code == 404


def test_a_ball_to_drill_again_is_found_in_the_bag_it_was_ranked_in(
    ranking: Ranking, ball: OwnedBall
) -> None:
    option = advised.option_at(ranking, 4)
    assert option is not None
    assert (option["kind"], option["ball"]) == ("redrill", "Silver Birch")
    ranking.inputs = {
        "bag": [{"name": "Hornbeam", "id": 0}, {"name": "Silver Birch", "id": ball.pk}]
    }
    assert advised.ball_behind(ranking, option) == (None, ball.spec, ball)
    OwnedBall.objects.update(retired=True)
    assert advised.ball_behind(ranking, option) == (None, None, None)


def test_advice_that_drills_nothing_is_kept_in_words(ranking: Ranking) -> None:
    ranking.result = invented.invented_result(nothing_first=True)
    assert advised.advice_of(ranking)["words"] == "Nothing needed: keep the bag as it is"
    result: Any = invented.invented_result(care=True)
    care = next(choice for choice in result["choices"] if choice["kind"] == "care")
    words = advised.option_words(care)
    assert words.endswith(": Silver Birch, Draw the oil out and restore its 2000 grit finish")
    assert words.count("2000") == 1, "the work names the finish already"


def test_a_ball_gone_since_is_said_to_be_gone(staff_client: Client, ranking: Ranking) -> None:
    ranking.inputs = {"weight_lb": 15, "catalogue": []}
    ranking.save()
    address = f"{reverse('drill-plan-from-choice', args=[ranking.pk])}?choice=1"
    page = staff_client.get(address, follow=True)
    assert "Rowan is no longer where it was" in page.content.decode()


# ---- drilled again ----


def answered(plan: DrillPlan, **changes: Any) -> RedrillGate:
    values = {
        "cracks": "none",
        "age_years": 1.0,
        "plugged_at": timezone.now() - datetime.timedelta(hours=30),
        "cure_hours": 24.0,
        "warranty_told": True,
        "customer_signed": "Wren Marsh",
        "signed_on": timezone.localdate(),
        "asked_of": gate.asked_of(fresh(plan)),
    }
    found: RedrillGate = RedrillGate.objects.create(
        shop=plan.shop, plan=plan, **{**values, **changes}
    )
    return found


def test_nothing_is_drilled_again_before_the_gate_is_answered(again: DrillPlan) -> None:
    assert "answer what is asked before it is drilled again" in stops(again)
    answered(again)
    assert stops(again) == ""


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("serial", "SN 4712", "the ball’s serial number"),
        ("top_weight_oz", 2.0, "its label"),
        ("cg_off_line_in", 0.5, "its label"),
        ("layout_numbers", records.ANGLES, "the layout"),
    ],
)
def test_a_plan_changed_since_the_gate_goes_through_it_again(
    staff_client: Client, again: DrillPlan, field: str, value: Any, said: str
) -> None:
    answered(again)
    DrillPlan.objects.filter(pk=again.pk).update(**{field: value})
    assert f"Changed since this was answered: {said}" in stops(again)
    sign(staff_client, again)
    assert fresh(again).state == "draft"
    page = staff_client.get(reverse("drill-plan-gate", args=[again.pk])).content.decode()
    assert f"Changed since this was answered: {said}" in page
    gate_form(staff_client, again)
    assert stops(again) == ""


def test_without_holes_nothing_can_meet_the_old_ones_and_the_gate_still_stands(
    again: DrillPlan,
) -> None:
    again.holes.all().delete()
    told = stops(again)
    assert "meet the old ones" not in told
    assert "answer what is asked before it is drilled again" in told


def test_a_hole_moved_since_the_gate_is_asked_about_again(again: DrillPlan) -> None:
    answered(again)
    again.holes.filter(kind="thumb").update(up_in=-2.5)
    assert "Changed since this was answered: the holes" in stops(again)


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        ({"cracks": "found"}, "Cracks were found"),
        ({"plugged_at": None, "cure_hours": None}, "plug those first"),
        ({"cure_hours": 48.0}, "hasn’t cured"),
        ({"warranty_told": False}, "voids the maker’s warranty"),
        ({"customer_signed": " "}, "hasn’t signed"),
    ],
)
def test_each_answer_of_the_gate_can_stop_it(
    again: DrillPlan, answer: dict[str, Any], said: str
) -> None:
    answered(again, **answer)
    assert said in stops(again)


def test_an_old_ball_is_minded_and_not_stopped(again: DrillPlan) -> None:
    answered(again, age_years=9.0)
    assert stops(again) == ""
    assert "9 years old" in minds(again)


def test_a_new_hole_over_an_old_one_cuts_its_plug_by_the_hole_it_was(
    bowler: Bowler, spec: BallSpec, ball: OwnedBall
) -> None:
    """Derived: same layout, thumb moved half an inch up: two straight holes of 1 in whose
    centres lie 0.5 in apart at the surface overlap there by half an inch, and below more or less
    as they draw together toward the centre."""
    plan = records.drill_plan(bowler, spec, ball=ball, again=True)
    plan.holes.filter(kind="thumb").update(up_in=-2.125)
    rows = gate.overlaps(fresh(plan))
    thumb = next(row for row in rows if (row["new"], row["old"]) == ("thumb", "thumb"))
    assert thumb["inches"] <= -0.5 + 0.02
    # Walls are sampled to a few hundredths at the curved surface.
    assert thumb["meets_in"] < 0.05
    assert "into the plug of the old thumb hole, from the surface on" in thumb["words"]


@pytest.mark.parametrize(
    ("inches", "said"),
    [
        (0.2, "Between the new thumb hole and the old ring hole"),
        (0.0, "The new thumb hole touches the plug of the old ring hole."),
        (-0.2, "The new thumb hole cuts 0.20 in into the plug of the old ring hole"),
    ],
)
def test_what_lies_between_two_holes_is_said_by_how_much_it_is(inches: float, said: str) -> None:
    row = {"new": "thumb", "old": "ring", "drilling": 0, "inches": inches, "meets_in": 1.0}
    assert gate._overlap_words(row).startswith(said)


@pytest.mark.parametrize("whose", ["ball", "plan"])
def test_a_drilling_that_cant_be_stops_the_press_and_its_pages_open(
    staff_client: Client, again: DrillPlan, whose: str
) -> None:
    """The record of the ball as it was, or the plan: where its holes lie is then known of none."""
    answered(again)
    record: Any = OwnedBall if whose == "ball" else DrillPlan
    record.objects.update(layout_numbers={**records.ANGLES, "pin_to_pap_in": 0.0})
    page = staff_client.get(reverse("drill-plan-gate", args=[again.pk])).content.decode()
    assert "It can’t be computed: " in page
    assert "with the pin on the PAP" in page
    assert "Where the new holes meet the old ones can’t be worked out" in stops(again)
    assert staff_client.get(again.get_absolute_url()).status_code == 200
    sign(staff_client, again)
    assert fresh(again).state == "draft"


def test_holes_left_as_they_are_need_no_plug(
    bowler: Bowler, spec: BallSpec, ball: OwnedBall
) -> None:
    plan = records.drill_plan(bowler, spec, ball=ball, again=True)
    for hole in ball.holes.all():
        plan.holes.filter(kind=hole.kind).update(over_in=hole.over_in, up_in=hole.up_in)
    found = gate.overlaps(fresh(plan))
    assert not any(row["new"] == row["old"] for row in found)


def test_plugs_of_earlier_drillings_count_as_well_as_the_holes_it_has(
    bowler: Bowler, spec: BallSpec, ball: OwnedBall
) -> None:
    """Plugged long ago: a new hole through it is minded, and needs no plug poured now."""
    ball.holes.filter(kind="thumb").delete()
    earlier = EarlierDrilling.objects.create(
        ball=ball, layout_numbers=records.ANGLES, layout_notation="angles", pap_over_in=5.0,
        pap_up_in=0.5,
    )  # fmt: skip
    PluggedHole.objects.create(
        drilling=earlier, kind="thumb", over_in=0.0, up_in=-2.625, diameter_in=1.0, depth_in=2.75
    )
    plan = records.drill_plan(bowler, spec, ball=ball, again=True)
    plan.holes.exclude(kind="thumb").delete()
    plan.holes.update(up_in=-2.125)
    rows = gate.overlaps(fresh(plan))
    assert [(row["old"], row["drilling"]) for row in rows] == [("thumb", 1)]
    assert "into the plug of the thumb hole of drilling 1, from the surface on" in rows[0]["words"]
    answered(plan, plugged_at=None, cure_hours=None)
    assert "plug those first" not in stops(plan)


def test_a_hole_elsewhere_on_the_ball_is_found_by_pin_and_psa(
    bowler: Bowler, spec: BallSpec, ball: OwnedBall
) -> None:
    """Laid out upside down the same grip lies at the far side of the ball: nothing is cut."""
    opposite = {"drilling_angle_deg": -135.0, "pin_to_pap_in": 4.0, "val_angle_deg": -140.0}
    plan = records.drill_plan(bowler, spec, ball=ball, again=True, layout_numbers=opposite)
    close = [row["inches"] for row in gate.overlaps(fresh(plan))]
    near = records.drill_plan(bowler, spec, ball=ball, again=True)
    assert min([*close, 9.0]) > min(row["inches"] for row in gate.overlaps(fresh(near)))


def gate_form(client: Client, plan: DrillPlan, **typed: str) -> Any:
    address = reverse("drill-plan-gate", args=[plan.pk])
    page = client.get(address)
    values = records.form_values(page, page.context["form"])
    typed = {"cracks": "none", "age_years": "2", "warranty_told": "on", **typed}
    return client.post(address, {**values, **typed}, follow=True)


def test_the_gate_is_answered_on_its_page(staff_client: Client, again: DrillPlan) -> None:
    poured = (timezone.localtime() - datetime.timedelta(days=2)).strftime("%Y-%m-%dT%H:%M")
    gate_form(
        staff_client,
        again,
        plugged_at=poured,
        cure_hours="24",
        customer_signed="W. Marsh",
        signed_on=timezone.localdate().isoformat(),
    )
    assert stops(again) == ""


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"plugged_at": "2099-01-01T10:00"}, "can’t lie ahead"),
        ({"plugged_at": "2020-01-01T10:00"}, "how many hours this plug has to cure"),
        ({"customer_signed": "W. Marsh"}, "on which day the customer signed"),
        ({"customer_signed": "W. Marsh", "signed_on": "2099-01-01"}, "Signed on can’t lie ahead"),
        ({"age_years": "−3"}, "Age of the ball must be between 0 and 60 years"),
        ({"cracks": ""}, "This field is required"),
    ],
)
def test_half_an_answer_is_asked_for_by_name(
    staff_client: Client, again: DrillPlan, typed: dict[str, str], said: str
) -> None:
    assert said in gate_form(staff_client, again, **typed).content.decode()
    assert not RedrillGate.objects.exists()


def test_answers_of_a_plan_signed_for_meanwhile_are_not_taken(
    staff_client: Client, again: DrillPlan
) -> None:
    """The gate was open on another screen: what was signed for is what was answered before."""
    answered(again)
    before = RedrillGate.objects.get()
    sign(staff_client, again)
    page = gate_form(staff_client, again, age_years="9")
    assert "signed for: take it back first" in page.content.decode()
    assert RedrillGate.objects.get().age_years == before.age_years


def test_a_plan_without_holes_is_not_signed_for(staff_client: Client, plan: DrillPlan) -> None:
    plan.holes.all().delete()
    assert "No holes are planned" in stops(plan)
    sign(staff_client, plan)
    assert fresh(plan).state == "draft"


def test_a_plan_changed_while_it_is_saved_keeps_what_was_typed(
    staff_client: Client, plan: DrillPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    def late(**_: Any) -> None:
        raise StaleRecord(plan, 1)

    monkeypatch.setattr("arsenal.press.services.save_plan", late)
    address = reverse("drill-plan-edit", args=[plan.pk])
    page = laid_out(staff_client, address, angles_drilling_angle_deg="71")
    assert "The plan was changed meanwhile" in page.content.decode()
    assert 'value="71"' in page.content.decode()


def test_drilling_again_changes_the_ball_and_keeps_what_it_was(
    staff_client: Client, again: DrillPlan, ball: OwnedBall
) -> None:
    answered(again)
    sign(staff_client, again)
    drilled(staff_client, again, finish="1000")
    assert OwnedBall.objects.count() == 1
    ball.refresh_from_db()
    assert ball.layout_numbers["drilling_angle_deg"] == 70.0
    assert (ball.finish, ball.games_since_finish) == ("1000", 0)
    assert ball.holes.count() == 3
    earlier = ball.history.earliest()
    assert earlier.layout_numbers["drilling_angle_deg"] == 45.0


# ---- weighed ----


def weigh(client: Client, plan: DrillPlan, **typed: str) -> Any:
    address = reverse("drill-plan-weighed", args=[plan.pk])
    page = client.get(address)
    values = records.form_values(page, page.context["form"])
    return client.post(address, {**values, **typed}, follow=True)


def test_weighed_statics_stand_beside_the_prediction_and_make_the_running_error(
    staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    offs = (0.2, -0.1, 0.5)
    for off in offs:
        plan = records.drill_plan(bowler, spec)
        sign(staff_client, plan)
        drilled(staff_client, plan)
        predicted = fresh(plan).predicted
        assert predicted is not None
        expected = predicted["static_oz"]
        weigh(
            staff_client,
            plan,
            measured_top_oz=str(round(expected["top"] + off, 4)),
            measured_side_oz=str(round(expected["side"], 4)),
            measured_finger_oz="−0.5",
        )
    top, side, finger = services.running_errors(bowler.shop)
    assert top.count == 3
    assert top.mean_oz == pytest.approx(0.2, abs=1e-3)
    # Standard deviation of 0.2, −0.1 and 0.5: 0.3.
    assert top.sd_oz == pytest.approx(0.3, abs=1e-3)
    assert side.mean_oz == pytest.approx(0, abs=1e-3)
    assert finger.count == 3
    page = staff_client.get(plan.get_absolute_url()).content.decode()
    assert "running error" in page
    assert "3 balls weighed" in page


def test_a_static_that_was_not_predicted_has_no_running_error(plan: DrillPlan) -> None:
    """As of a plan signed for by a release that predicted the top weight alone."""
    DrillPlan.objects.update(predicted={"static_oz": {"top": 1.0}}, measured_top_oz=1.25)
    assert services.running_errors(plan.shop) == [services.RunningError("Top", 0.25, None, 1)]


def test_impossible_weights_are_refused(staff_client: Client, plan: DrillPlan) -> None:
    sign(staff_client, plan)
    drilled(staff_client, plan)
    page = weigh(staff_client, plan, measured_top_oz="80", measured_side_oz="1")
    text = page.content.decode()
    assert "Top weight must be between −12 and 12 oz" in text
    assert "Finger weight is missing" in text
    assert not fresh(plan).is_weighed


def test_pages_of_a_bag_of_plans_cost_the_same_queries(
    staff_client: Client, bowler: Bowler, spec: BallSpec, django_assert_max_num_queries: Any
) -> None:
    for _ in range(4):
        records.drill_plan(bowler, spec)
    with django_assert_max_num_queries(60):
        staff_client.get(reverse("drill-plans", args=[bowler.pk]))


@pytest.mark.parametrize(("pin_to_pap_in", "warned"), [(0.5, True), (0.8, False)])
def test_a_pin_nearly_on_the_pap_is_warned_of(
    bowler: Bowler, spec: BallSpec, pin_to_pap_in: float, warned: bool
) -> None:
    numbers = {**records.ANGLES, "pin_to_pap_in": pin_to_pap_in}
    said = engine.planned_numbers(records.drill_plan(bowler, spec, layout_numbers=numbers))
    told = f"the pin lies {pin_to_pap_in:.2f} in from the PAP: the ball will hardly flare"
    assert any(told in warning for warning in said["warnings"]) == warned


def test_a_new_balls_holes_meet_no_others(bowler: Bowler, spec: BallSpec) -> None:
    assert engine.plug_overlaps(records.drill_plan(bowler, spec)) == []
