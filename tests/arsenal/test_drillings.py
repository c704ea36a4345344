"""What a ball was and what was done to it: plugs and redrills, the plan beside what was drilled,
the care log, and any earlier state."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal import engine
from arsenal.bag.chain import differences, earlier_of, put_by
from arsenal.bag.questions import asked_about
from arsenal.engine import plates
from arsenal.models import CareEntry, DrillPlan, EarlierDrilling, OwnedBall, RedrillGate
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records
from tests.arsenal.test_press import answered, drilled, sign
from tests.physics.referee_geometry import arc_in, point

RADIUS_IN = 8.595 / 2
OTHERWISE = {"drilling_angle_deg": 70.0, "pin_to_pap_in": 5.0, "val_angle_deg": 70.0}


@pytest.fixture
def ball(shop: Shop) -> OwnedBall:
    bowler = records.customer(shop)
    records.fitting(bowler)
    return records.owned_ball(bowler, records.ball_model(shop).specs.get())


def whole(ball: OwnedBall) -> OwnedBall:
    found: OwnedBall = OwnedBall.objects.with_drilling().get(pk=ball.pk)
    return found


# ---- plugs and redrills ----


def test_a_redrill_keeps_the_old_holes_in_their_own_grip_frame(
    staff_client: Client, ball: OwnedBall
) -> None:
    plan = records.drill_plan(
        ball.bowler, ball.spec, ball=ball, again=True, layout_numbers=OTHERWISE
    )
    answered(plan)
    sign(staff_client, plan)
    drilled(staff_client, plan)
    (earlier,) = EarlierDrilling.objects.all()
    assert earlier.layout_numbers == records.ANGLES
    assert earlier.plugged_on == timezone.localdate(RedrillGate.objects.get().plugged_at)
    assert {hole.kind for hole in earlier.holes.all()} == {"middle", "ring", "thumb"}
    assert whole(ball).layout_numbers == OTHERWISE
    text = staff_client.get(ball.get_absolute_url()).content.decode()
    assert "Drilling 1, plugged on" in text
    assert plan.number in text


def test_holes_the_press_left_alone_are_no_plugs(staff_client: Client, ball: OwnedBall) -> None:
    plan = records.drill_plan(ball.bowler, ball.spec, ball=ball, again=True)
    for hole in plan.holes.all():
        old = ball.holes.get(kind=hole.kind)
        for name in ("over_in", "up_in", "diameter_in", "depth_in", "pitch_forward_in"):
            setattr(hole, name, getattr(old, name))
        if hole.kind == "thumb":
            hole.diameter_in = 1.125
        hole.save()
    answered(plan)
    sign(staff_client, plan)
    drilled(staff_client, plan)
    (earlier,) = EarlierDrilling.objects.all()
    assert [hole.kind for hole in earlier.holes.all()] == ["thumb"]
    assert ball.holes.count() == 3


def test_a_plug_of_the_balls_own_density_leaves_no_trace_and_a_lighter_one_its_mass(
    ball: OwnedBall,
) -> None:
    volume_cm3 = sum(
        3.14159265 / 4 * h.diameter_in**2 * h.depth_in * 16.387064 for h in ball.holes.all()
    )
    kinds = [(h.kind, h.over_in, h.up_in, h.diameter_in, h.depth_in) for h in ball.holes.all()]
    before = engine.drilled_numbers(whole(ball))
    earlier = put_by(ball=whole(ball))
    assert earlier is not None
    names = ("kind", "over_in", "up_in", "diameter_in", "depth_in")
    for values in kinds:
        ball.holes.create(**dict(zip(names, values, strict=True)))
    filled = engine.drilled_numbers(whole(ball))
    for name in ("mass_kg", "differential_in"):
        assert filled[name] == pytest.approx(before[name], rel=1e-9)
    EarlierDrilling.objects.update(plug_g_cm3=1.1)
    lighter = engine.drilled_numbers(whole(ball))
    assert before["mass_kg"] - lighter["mass_kg"] == pytest.approx(1e-4 * volume_cm3, rel=1e-6)


def test_plugs_are_found_again_where_pin_and_psa_say(staff_client: Client, ball: OwnedBall) -> None:
    put_by(ball=whole(ball))
    OwnedBall.objects.filter(pk=ball.pk).update(layout_numbers=OTHERWISE)
    now = whole(ball)
    (earlier,) = now.earlier.all()
    places = engine.plugs_now(now, earlier)
    # The same distance from the pin as in their own layout: pin and plug are both of the ball.
    was, new = (
        plates.layout_of(numbers, (5.0, 0.5), RADIUS_IN) for numbers in (records.ANGLES, OTHERWISE)
    )
    for hole, place in zip(earlier.holes.all(), places, strict=True):
        then = _from_pin(was, hole.over_in, hole.up_in)
        assert _from_pin(new, place["over_in"], place["up_in"]) == pytest.approx(then, abs=1e-9)


def test_where_every_hole_stays_nothing_is_plugged(ball: OwnedBall) -> None:
    assert put_by(ball=whole(ball), stays=[hole.pk for hole in ball.holes.all()]) is None
    assert not EarlierDrilling.objects.exists()
    assert ball.holes.count() == 3


def test_plugs_of_a_layout_that_cant_be_are_listed_without_a_place(
    staff_client: Client, ball: OwnedBall
) -> None:
    put_by(ball=whole(ball))
    EarlierDrilling.objects.update(layout_numbers={**records.ANGLES, "pin_to_pap_in": 0.0})
    (earlier,) = earlier_of(whole(ball))
    assert [(hole.kind, place) for hole, place in earlier.holes] == [
        ("middle", None),
        ("ring", None),
        ("thumb", None),
    ]
    page = staff_client.get(ball.get_absolute_url()).content.decode()
    assert "Drilling 1, plugged" in page
    assert page.count("<td>–</td><td>–</td>") == 3


def _from_pin(layout: dict[str, Any], over_in: float, up_in: float) -> float:
    ends = ((layout["pin_over_in"], layout["pin_up_in"]), (over_in, up_in))
    pin, hole = (point(over, up, RADIUS_IN) for over, up in ends)
    return arc_in(pin, hole, RADIUS_IN)


def test_plan_and_ball_as_drilled_stand_side_by_side(staff_client: Client, ball: OwnedBall) -> None:
    plan = records.drill_plan(ball.bowler, ball.spec)
    sign(staff_client, plan)
    drilled(staff_client, plan, differed="Thumb a sixteenth deeper")
    made = OwnedBall.objects.exclude(pk=ball.pk).get()
    same = staff_client.get(made.get_absolute_url()).content.decode()
    assert "Thumb a sixteenth deeper" in same
    assert "Drilled as planned" in same
    made.holes.filter(kind="thumb").update(depth_in=2.8125)
    made.holes.filter(kind="ring").update(pitch_forward_in=0.25)
    page = staff_client.get(made.get_absolute_url())
    assert [row.what for row in page.context["differs"]] == [
        "Ring finger, pitch, forward or reverse",
        "Thumb, depth",
    ]
    assert DrillPlan.objects.get().holes.get(kind="thumb").depth_in == 2.75


def test_a_hole_that_only_the_plan_or_only_the_ball_has_is_told(ball: OwnedBall) -> None:
    plan = records.drill_plan(ball.bowler, ball.spec)
    ball.holes.all().delete()
    for hole in plan.holes.exclude(kind="thumb"):
        values = {name: getattr(hole, name) for name in ("kind", "over_in", "up_in", "diameter_in")}
        ball.holes.create(**values, depth_in=hole.depth_in)
    plan.holes.filter(kind="ring").delete()
    found = [(row.what, row.planned, row.drilled) for row in differences(plan, ball)]
    assert found == [("Thumb hole", "1 in", "none"), ("Ring finger hole", "none", "31/32 in")]


# ---- care ----


def care(client: Client, ball: OwnedBall, **typed: str) -> Any:
    page = client.get(ball.get_absolute_url())
    values = records.form_values(page, page.context["care_form"]) | typed
    return client.post(reverse("owned-ball-care", args=[ball.pk]), values)


def test_games_and_care_are_written_down_and_counted(
    staff_client: Client, staff: User, ball: OwnedBall
) -> None:
    care(staff_client, ball, work="games", games="12")
    care(staff_client, ball, work="extract")
    care(staff_client, ball, work="games", games="3", note="Tuesday league")
    ball.refresh_from_db()
    assert (ball.games_since_finish, ball.games_since_oil_drawn) == (15, 3)
    assert ball.games_since_cleaned == 3
    care(staff_client, ball, work="surface", finish="500")
    ball.refresh_from_db()
    assert (ball.finish, ball.games_since_finish, ball.games_since_oil_drawn) == ("500", 0, 3)
    last = CareEntry.objects.first()
    assert last is not None
    assert (last.games, last.finish, last.by) == (15, "500", staff)
    text = staff_client.get(ball.get_absolute_url()).content.decode()
    for words in ("Oil drawn out after 12 games", "Tuesday league", "Games played: 3"):
        assert words in text


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"work": "games"}, "say how many were played"),
        ({"work": "games", "games": "0"}, "Games must be between 1 and 300"),
        ({"work": "surface"}, "choose the last grit used"),
        ({"work": "clean", "games": "5"}, "written down by themselves, before the care"),
        ({"work": "clean", "finish": "500"}, "for another finish, or"),
        ({"work": "clean", "on": "2999-01-01"}, "lies ahead"),
        ({"work": "polish it"}, "not one of the available choices"),
    ],
)
def test_care_that_says_too_little_is_asked_about_and_changes_nothing(
    staff_client: Client, ball: OwnedBall, typed: dict[str, str], says: str
) -> None:
    answer = care(staff_client, ball, **typed)
    assert says in answer.content.decode()
    assert not CareEntry.objects.exists()
    assert whole(ball).version == 1


def test_care_sent_twice_counts_once_and_a_stale_page_is_told(
    staff_client: Client, ball: OwnedBall
) -> None:
    page = staff_client.get(ball.get_absolute_url())
    values = records.form_values(page, page.context["care_form"]) | {"work": "games", "games": "4"}
    address = reverse("owned-ball-care", args=[ball.pk])
    for _ in range(2):
        staff_client.post(address, values)
    assert CareEntry.objects.count() == 1
    stale = {name: value for name, value in values.items() if name != "form_token"}
    told = staff_client.post(address, stale, follow=True)
    assert "was changed meanwhile" in told.content.decode()
    assert CareEntry.objects.count() == 1


def test_a_ball_is_sold_and_the_day_is_kept(staff_client: Client, ball: OwnedBall) -> None:
    address = reverse("owned-ball-retire", args=[ball.pk])
    staff_client.post(address, {"record_version": "1", "retired": "sold"})
    sold = whole(ball)
    assert (sold.retired, sold.sold_on) == (True, timezone.localdate())
    assert "Sold" in staff_client.get(ball.get_absolute_url()).content.decode()
    staff_client.post(address, {"record_version": "2", "retired": "0"})
    assert (whole(ball).retired, whole(ball).sold_on) == (False, None)


# ---- as it was ----


def edited(client: Client, ball: OwnedBall, **typed: str) -> None:
    address = reverse("owned-ball-edit", args=[ball.pk])
    page = client.get(address)
    values = records.form_values(page, page.context["form"], page.context["holes"])
    assert client.post(address, values | typed).status_code == 302


def test_any_earlier_state_can_be_looked_at(staff_client: Client, ball: OwnedBall) -> None:
    # Changes of one save lie within a second of one another.
    history: Any = ball.history
    long_ago = timezone.now() - datetime.timedelta(days=30)
    history.update(history_date=long_ago)
    for hole in ball.holes.all():
        hole.history.update(history_date=long_ago)
    edited(staff_client, ball, finish="500", **{"holes-2-depth_in": "3", "holes-1-DELETE": "on"})
    page = staff_client.get(ball.get_absolute_url())
    links = {change.words: change.when for change in page.context["changes"]}
    address = reverse("owned-ball-then", args=[ball.pk])
    then = staff_client.get(address, {"at": long_ago.isoformat()})
    shown = then.context["ball"]
    assert shown.finish == "2000"
    assert [(h.kind, h.depth_in) for h in shown.holes.all()] == [
        ("middle", 1.75),
        ("ring", 1.75),
        ("thumb", 2.75),
    ]
    assert "as it stood on" in then.content.decode()
    newest = staff_client.get(address, {"at": max(links.values()).isoformat()})
    assert newest.context["ball"].finish == "500"
    assert [h.kind for h in newest.context["ball"].holes.all()] == ["middle", "thumb"]
    assert whole(ball).finish == "500"


def test_an_earlier_state_has_the_model_and_the_plugs_of_its_day(
    staff_client: Client, ball: OwnedBall
) -> None:
    long_ago = timezone.now() - datetime.timedelta(days=30)
    kept: tuple[Any, ...] = (ball, *ball.holes.all())
    for record in kept:
        record.history.update(history_date=long_ago)
    put_by(ball=whole(ball))
    now = whole(ball)
    now.spec = records.ball_model(ball.shop, "Elm").specs.get()
    now.save()
    address = reverse("owned-ball-then", args=[ball.pk])
    then, today = (
        staff_client.get(address, {"at": at.isoformat()}) for at in (long_ago, timezone.now())
    )
    assert then.context["ball"].spec.model.name == "Alder"
    assert then.context["earlier"] == []
    assert len(then.context["ball"].holes.all()) == 3
    assert today.context["ball"].spec.model.name == "Elm"
    assert len(today.context["earlier"]) == 1


@pytest.mark.parametrize(
    "at",
    [
        *("", "yesterday", "1999-01-01T00:00:00+00:00", "2024-99-99", "2026-02-31T10:00:00"),
        *("9999-12-31T23:59:59.5", "9999-12-31T23:00:00-05:00", "0001-01-01T00:00:00+05:00"),
    ],
)
def test_a_moment_nothing_is_known_of_leads_back_to_the_ball(
    staff_client: Client, ball: OwnedBall, at: str
) -> None:
    answer = staff_client.get(reverse("owned-ball-then", args=[ball.pk]), {"at": at}, follow=True)
    assert "choose one of its changes" in answer.content.decode()


def test_another_shops_ball_has_no_past_here(
    ball: OwnedBall, other_staff: User, sign_in: Any
) -> None:
    for name in ("owned-ball-then", "owned-ball-care"):
        assert sign_in(other_staff).get(reverse(name, args=[ball.pk])).status_code == 404


# ---- asked about ----


def test_a_pitch_the_wrong_way_round_is_asked_about_and_kept(
    staff_client: Client, ball: OwnedBall
) -> None:
    # A span of 4 1/2 in: thumbs mostly lean 1/8 in away from the palm.
    Bowler.objects.filter(pk=ball.bowler_id).update(fingers="fingertip")
    for kind in ("middle", "ring"):
        ball.holes.filter(kind=kind).update(up_in=2.75)
    ball.holes.filter(kind="thumb").update(pitch_forward_in=-0.125, up_in=-2.75)
    assert not any("right way round" in said for said in asked_about(whole(ball)))
    ball.holes.filter(kind="thumb").update(pitch_forward_in=0.25)
    said = " ".join(asked_about(whole(ball)))
    assert "The thumb leans 1/4 in toward the palm" in said
    assert "is the pitch the right way round?" in said
    assert "right way round" in staff_client.get(ball.get_absolute_url()).content.decode()


def test_a_top_weight_of_nothing_is_asked_about(ball: OwnedBall) -> None:
    OwnedBall.objects.filter(pk=ball.pk).update(top_weight_oz=0)
    assert any("Top weight is 0" in said for said in asked_about(whole(ball)))


def test_a_pitch_a_little_to_the_other_side_isnt_asked_about_nor_one_without_a_thumb_hole(
    ball: OwnedBall,
) -> None:
    for kind in ("middle", "ring"):
        ball.holes.filter(kind=kind).update(up_in=2.75)
    # Thumbs of this span mostly lean 1/8 in away from the palm: 3/16 in is asked about from here.
    ball.holes.filter(kind="thumb").update(pitch_forward_in=0.03125, up_in=-2.75)
    assert not any("right way round" in said for said in asked_about(whole(ball)))
    ball.holes.filter(kind="thumb").delete()
    assert not any("right way round" in said for said in asked_about(whole(ball)))
