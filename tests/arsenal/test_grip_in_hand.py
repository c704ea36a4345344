"""The grip in hand: from a ball of the bag into a grip, and from a grip into the next ball."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from arsenal import engine
from arsenal.bag.starting_grip import holes_in_hand, rows_in_hand, starting_holes
from arsenal.models import BallSpec, BowlerCondition, OwnedBall
from bowlers.engine_grip import measures_of_holes
from bowlers.models import Bowler, Grip
from proshop.models import Shop
from tests.arsenal import records


@pytest.fixture
def bowler(shop: Shop) -> Bowler:
    return records.customer(shop)


@pytest.fixture
def spec(shop: Shop) -> BallSpec:
    return records.ball_model(shop).specs.get()


@pytest.fixture
def ball(bowler: Bowler, spec: BallSpec) -> OwnedBall:
    found = records.owned_ball(bowler, spec, nickname="Old Faithful")
    for kind, over in (("middle", -0.7425), ("ring", 0.7425)):
        # A quarter of an inch between them on the sphere.
        found.holes.filter(kind=kind).update(over_in=over)
    found.holes.filter(kind="thumb").update(pitch_forward_in=-0.125, pitch_lateral_in=0.0625)
    return found


def copying(ball: OwnedBall) -> str:
    return reverse("grip-from-ball", args=[ball.pk])


def sent(page: Any, **changes: Any) -> dict[str, Any]:
    """The grip's form as offered, as a browser sends it back."""
    return {**records.form_values(page, page.context["form"]), "measured_on": "2026-05-03"} | (
        changes
    )


def test_a_ball_of_the_bag_fills_a_new_grip(staff_client: Client, ball: OwnedBall) -> None:
    bowler = ball.bowler
    for name in ("grips", "grip-add"):
        address = reverse(name, args=[bowler.pk])
        assert copying(ball) in staff_client.get(address).content.decode()
    assert copying(ball) in staff_client.get(ball.get_absolute_url()).content.decode()

    page = staff_client.get(copying(ball))
    assert "Copied from Old Faithful" in page.content.decode()
    staff_client.post(copying(ball), sent(page))
    grip = Grip.objects.get()
    assert (grip.thumb_forward_in, grip.thumb_lateral_in) == (-0.125, 0.0625)
    assert grip.copied_from == str(ball)
    assert grip.span_edge == "drilled"
    # Back again: the holes of that grip are those of the ball, to what a press can set.
    by_kind = {hole.kind: hole for hole in ball.holes.all()}
    for hole in holes_in_hand(bowler)[0]:
        was = by_kind[hole["kind"]]
        assert hole["over_in"] == pytest.approx(was.over_in, abs=2e-3)
        # Up is counted from the grip centre of the edges, here a little off the ball's.
        assert hole["diameter_in"] == pytest.approx(was.diameter_in, abs=1e-3)
        assert hole["pitch_forward_in"] == was.pitch_forward_in


def test_a_painful_grip_isnt_copied_off_a_ball_before_something_changes(
    staff_client: Client, ball: OwnedBall
) -> None:
    records.grip(ball.bowler, hurts="thumb knuckle", measured_on=datetime.date(2026, 1, 5))
    page = staff_client.get(copying(ball))
    assert "it hurt: thumb knuckle" in page.content.decode()
    assert "see a medical professional" in page.content.decode()
    stopped = staff_client.post(copying(ball), sent(page))
    assert "isn’t copied as it is" in str(stopped.context["form"].errors["to_change"])
    said = sent(page, to_change="A wider hole")
    assert "Every number is still" in str(
        staff_client.post(copying(ball), said).context["form"].errors
    )
    assert Grip.objects.count() == 1
    staff_client.post(copying(ball), said | {"thumb_hole_in": "1 1/16"})
    assert Grip.objects.count() == 2


def test_a_new_ball_gets_the_grip_measured_for_how_they_hold_it_today(
    staff_client: Client, ball: OwnedBall
) -> None:
    address = f"{reverse('bag-add', args=[ball.bowler_id])}?spec={ball.spec_id}"
    assert "Copied from Old Faithful" in staff_client.get(address).content.decode()
    records.grip(ball.bowler, thumb_depth_in=2.5, measured_on=datetime.date(2026, 5, 3))
    page = staff_client.get(address)
    assert "Copied from the grip of 3 May 2026" in page.content.decode()
    assert [form["depth_in"].value() for form in page.context["holes"]][-1] == "2.5"
    # Held otherwise now: that grip is of another hand's use, the ball in hand is nearer.
    Bowler.objects.filter(pk=ball.bowler_id).update(thumb="none")
    page = staff_client.get(address)
    assert [form["kind"].value() for form in page.context["holes"]] == ["middle", "ring"]


def test_no_holes_of_a_grip_that_hurts_go_into_a_new_ball(
    staff_client: Client, ball: OwnedBall
) -> None:
    grip = records.grip(ball.bowler, hurts="swelling", hurts_words="after a game")
    address = f"{reverse('bag-add', args=[ball.bowler_id])}?spec={ball.spec_id}"
    page = staff_client.get(address)
    text = page.content.decode()
    assert "hurts: swelling (“after a game”)" in text
    assert "see a medical professional" in text
    assert not [form for form in page.context["holes"] if form["over_in"].value() is not None]
    grip.to_change = "Rounder bevel, and a sixteenth less span"
    grip.save()
    page = staff_client.get(address)
    assert [form["kind"].value() for form in page.context["holes"]] == ["middle", "ring", "thumb"]


def test_what_is_proposed_is_drilled_for_the_grip_on_record(ball: OwnedBall) -> None:
    bowler = ball.bowler
    records.fitting(bowler)
    condition = records.condition(records.house(bowler.shop))
    BowlerCondition.objects.create(
        shop=bowler.shop, bowler=bowler, condition=condition, times_a_season=30
    )
    before = {hole["kind"]: hole for hole in engine.inputs_for(bowler)["grip"]}
    assert before["thumb"]["pitch_forward_in"] == -0.125
    records.grip(bowler, thumb_forward_in=0.0625)
    after = {hole["kind"]: hole for hole in engine.inputs_for(bowler)["grip"]}
    assert after["thumb"]["pitch_forward_in"] == 0.0625


@pytest.mark.parametrize(
    ("fingers", "span_in", "bridge_in"),
    [("fingertip", 4.25, 0.25), ("semi", 3.75, 0.3125), ("conventional", 3.25, 0.375)],
)
def test_a_start_has_the_span_and_bridge_it_is_said_to_have(
    fingers: str, span_in: float, bridge_in: float
) -> None:
    """Bridges 1/4 in fingertip and 3/8 in conventional: common practice, no source. Measured on
    the sphere: meridians draw together toward the fingers."""
    found = measures_of_holes(starting_holes(fingers, "in"))
    for name in ("span_middle_in", "span_ring_in"):
        assert found[name] == pytest.approx(span_in, abs=1e-3)
    assert found["bridge_in"] == pytest.approx(bridge_in, abs=1e-3)


def test_a_grip_that_no_ball_can_have_is_passed_over_for_the_ball_in_hand(ball: OwnedBall) -> None:
    records.grip(ball.bowler, span_middle_in=2.0, span_ring_in=5.0)
    holes, said = holes_in_hand(ball.bowler)
    assert said == str(ball)
    assert [hole["over_in"] for hole in holes] == [hole.over_in for hole in ball.holes.all()]


def test_a_ball_without_a_finger_hole_has_no_grip_to_copy(
    staff_client: Client, ball: OwnedBall
) -> None:
    ball.holes.filter(kind="ring").delete()
    answer = staff_client.get(copying(ball), follow=True)
    assert answer.redirect_chain[-1][0] == ball.get_absolute_url()
    assert "has no grip to copy: Holes must be holes with one for the ring finger" in (
        answer.content.decode()
    )


def test_an_oval_cut_in_a_slug_goes_into_a_new_ball_as_it_is(bowler: Bowler) -> None:
    records.grip(
        bowler, thumb_hole_in=1.25, oval_depth_in=1.0, oval_width_in=1.0625, oval_angle_deg=-20
    )
    rows, _ = rows_in_hand(bowler)
    (thumb,) = (row for row in rows if row["kind"] == "thumb")
    assert (thumb["diameter_in"], thumb["sleeve"]) == (1.25, "slug")
    assert (thumb["inside_in"], thumb["longer_in"], thumb["oval_angle_deg"]) == (1.0, 1.0625, -20)
