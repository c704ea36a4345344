"""What was seen on the lanes: logging it in a minute, taking it back, and what a ranking makes of
it."""

from __future__ import annotations

from typing import Any
from unittest.mock import Mock

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from arsenal import engine
from arsenal.afterwards.services import afterwards_of, keep_expected, set_aside
from arsenal.engine import evidence, learning
from arsenal.models import BowlerCondition, Condition, Observation, OwnedBall
from bowlers.models import Bowler
from physics import learn, leaves, pins
from physics.errors import InputError
from proshop.models import Shop, StaleRecord
from tests.arsenal import records

PAGE = "/customers/{}/afterwards/"


@pytest.fixture
def customer(shop: Shop) -> Bowler:
    """One ball, one condition, a finished fitting."""
    bowler = records.customer(shop, average=180)
    records.fitting(bowler)
    records.owned_ball(bowler, records.ball_model(shop).specs.get(), games_since_finish=7)
    met = records.condition(records.house(shop))
    BowlerCondition.objects.create(shop=shop, bowler=bowler, condition=met, times_a_season=30)
    return bowler


def ball_of(bowler: Bowler) -> OwnedBall:
    ball: OwnedBall = bowler.bag.get()
    return ball


def condition_of(bowler: Bowler) -> Condition:
    row: BowlerCondition = bowler.conditions.get()
    return row.condition


def seen(bowler: Bowler, **changes: Any) -> Observation:
    return records.observation(ball_of(bowler), condition_of(bowler), **changes)


def sent(client: Client, bowler: Bowler, **typed: Any) -> Any:
    page = client.get(f"{PAGE.format(bowler.pk)}new/")
    values = records.form_values(page, page.context["form"])
    return client.post(f"{PAGE.format(bowler.pk)}new/", values | typed)


def test_an_empty_page_says_what_to_do_first(staff_client: Client, customer: Bowler) -> None:
    page = staff_client.get(PAGE.format(customer.pk)).content.decode()
    assert "Nothing seen yet" in page
    bare = records.customer(customer.shop, "Nobody Yet")
    page = staff_client.get(PAGE.format(bare.pk)).content.decode()
    assert "Add the balls this customer owns first" in page


def test_the_form_starts_with_the_last_ball_the_last_condition_and_today(
    staff_client: Client, customer: Bowler
) -> None:
    seen(customer)
    form = staff_client.get(f"{PAGE.format(customer.pk)}new/").context["form"]
    assert form["ball"].value() == ball_of(customer).pk
    assert form["condition"].value() == condition_of(customer).pk
    assert form["seen_on"].value() == timezone.localdate()


def test_asked_from_a_balls_page_the_form_starts_with_that_ball(
    staff_client: Client, customer: Bowler, other_shop: Shop
) -> None:
    spec = ball_of(customer).spec
    old = ball_of(customer)
    records.owned_ball(customer, spec, nickname="The new one")
    address = f"{PAGE.format(customer.pk)}new/?ball={old.pk}"
    assert address in staff_client.get(f"/bag/{old.pk}/").content.decode()
    assert staff_client.get(address).context["form"]["ball"].value() == old.pk
    theirs = records.owned_ball(
        records.customer(other_shop), records.ball_model(other_shop).specs.get()
    )
    form = staff_client.get(f"{PAGE.format(customer.pk)}new/?ball={theirs.pk}").context["form"]
    assert form["ball"].value() != theirs.pk


def test_one_tap_is_an_observation_with_the_ball_as_it_was_thrown(
    staff_client: Client, customer: Bowler
) -> None:
    answer = sent(staff_client, customer, motion="quit")
    assert answer.status_code == 302
    kept = Observation.objects.get()
    assert (kept.motion, kept.finish, kept.games_since_finish) == ("quit", "2000", 7)
    assert kept.logged_by is not None
    assert kept.evidence is not None
    assert kept.history.count() == 1


def test_leaves_are_tapped_or_typed_and_kept_by_their_names(
    staff_client: Client, customer: Bowler
) -> None:
    sent(staff_client, customer, common_leaves=["10", "4-9"], more_leaves="10; 9-4, 3-6-10")
    assert Observation.objects.get().leaves == ["10", "4-9", "10", "4-9", "3-6-10"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "Nothing seen yet"),
        ({"more_leaves": "11"}, "“11” isn’t a leave: give pins 1 to 10"),
        ({"entry_board": "50"}, "Where it entered must be between 1 and 39"),
        ({"motion": "quit", "laydown_board": "20"}, "Give both ends of the line"),
        ({"motion": "quit", "seen_on": "2999-01-01"}, "Day is in the future"),
        ({"motion": "quit", "seen_on": "1999-12-31"}, "Day must be in 2000 or later"),
        ({"more_leaves": "10 " * 31}, "At most 30 leaves in one entry"),
        ({"motion": "quit", "ball": ""}, "Ball is missing"),
    ],
)
def test_what_cant_be_right_is_said_beside_its_field_and_nothing_is_lost(
    staff_client: Client, customer: Bowler, typed: dict[str, str], said: str
) -> None:
    answer = sent(staff_client, customer, remark="Asked twice.", **typed)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert said in page
    assert "Asked twice." in page
    assert not Observation.objects.exists()


def test_only_the_customers_own_balls_and_conditions_can_be_picked(
    staff_client: Client, customer: Bowler, other_shop: Shop
) -> None:
    other = records.customer(other_shop)
    model = records.ball_model(other_shop)
    theirs = records.owned_ball(other, model.specs.get())
    answer = sent(staff_client, customer, motion="quit", ball=theirs.pk)
    assert answer.status_code == 200
    assert not Observation.objects.exists()


def test_prediction_stands_beside_what_was_seen(staff_client: Client, customer: Bowler) -> None:
    seen(customer, entry_board=17.0)
    seen(customer, entry_board=33.0)
    page = staff_client.get(PAGE.format(customer.pk)).content.decode()
    assert "seen at board&nbsp;33" in page
    assert "Surprising" in page
    assert "expected" in page


def test_likeliest_leaves_stand_beside_those_seen_in_the_trades_names(
    staff_client: Client, customer: Bowler
) -> None:
    row = seen(customer, entry_board=17.5, leaves=["10", "4-9", "2-4-6"])
    found = engine.beside(engine.heard_about(customer), [row])[row.pk]["leaves"]
    assert found["read_as"] == "10 pocket; 4-9 high"
    assert found["likeliest"]
    assert found["surprise"]
    assert all(leave["leave"] == engine.leave_name(leave["leave"]) for leave in found["likeliest"])
    page = staff_client.get(PAGE.format(customer.pk)).content.decode()
    assert "Leaves: seen 10, 4-9, 2-4-6 (read as 10 pocket; 4-9 high)" in page
    first = found["likeliest"][0]
    assert f"{first['leave']} ({100 * first['share']:.0f}\xa0%" in page.replace(" %", "\xa0%")


def test_words_used_stand_beside_how_often_they_were_to_be_expected(
    staff_client: Client, customer: Bowler
) -> None:
    row = seen(customer, motion="never", look="angular")
    words = engine.beside(engine.heard_about(customer), [row])[row.pk]["words"]
    assert [word["word"] for word in words] == ["Never moved", "Too angular"]
    assert all(0 < word["chance"] < 1 and word["surprise"] for word in words)
    page = staff_client.get(PAGE.format(customer.pk)).content.decode()
    assert f"Never moved: expected of {100 * words[0]['chance']:.0f} %" in page


def test_a_shift_that_may_be_none_is_told_as_perhaps(customer: Bowler) -> None:
    (found,) = engine.learnt_by(engine.heard_about(customer, [seen(customer, entry_board=20.0)]))
    for row in found["rows"]:
        sure = not row["after"]["low"] < 1 < row["after"]["high"]
        assert sure or row["words"].startswith(("perhaps ", "grip about", "about"))


def test_a_left_handers_leaves_are_the_mirror_image(customer: Bowler) -> None:
    row = seen(customer, leaves=["6"])
    right = engine.beside(engine.heard_about(customer), [row])[row.pk]["leaves"]
    customer.hand = "left"
    customer.save()
    left = engine.beside(engine.heard_about(customer), [row])[row.pk]["leaves"]
    assert right["read_as"] == ""
    assert left["read_as"] == "6 high"
    # Of an oil that is the same on both sides.
    names = [each["leave"] for each in right["likeliest"]]
    masks = [pins.bits_of(leaves.pins_of(name)) for name in names]
    assert [each["leave"] for each in left["likeliest"]] == [
        pins.leave_name(mask, "left") for mask in masks
    ]


def test_setting_aside_and_counting_again_leaves_no_trace_in_what_is_learnt(
    staff_client: Client, customer: Bowler
) -> None:
    first = seen(customer, entry_board=17.0)
    untouched = engine.inputs_for(customer)
    mistake = seen(customer, entry_board=33.0)
    with_both = engine.inputs_for(customer)
    assert with_both != untouched
    address = f"/observations/{mistake.pk}/aside/"
    assert staff_client.post(address, {"aside": "1", "record_version": 1}).status_code == 302
    assert engine.inputs_for(customer) == untouched
    staff_client.post(address, {"aside": "0", "record_version": 2})
    assert engine.inputs_for(customer) == with_both
    mistake.refresh_from_db()
    assert mistake.history.count() == 3
    assert first.history.count() == 1


def test_somebody_elses_change_is_not_overridden(staff_client: Client, customer: Bowler) -> None:
    mistake = seen(customer)
    set_aside(observation=mistake, expected_version=1, aside=True)
    answer = staff_client.post(
        f"/observations/{mistake.pk}/aside/", {"aside": "0", "record_version": 1}, follow=True
    )
    assert "changed meanwhile" in answer.content.decode()
    with pytest.raises(StaleRecord):
        set_aside(observation=mistake, expected_version=1, aside=False)


def test_high_entries_make_the_lane_grip_more_in_the_next_ranking(customer: Bowler) -> None:
    before = engine.inputs_for(customer)["conditions"][0]
    assert "learnt" not in before
    for day in range(4):
        seen(customer, entry_board=29.0, seen_on=f"2026-01-{day + 1:02d}")
    after = engine.inputs_for(customer)
    row = after["conditions"][0]
    assert row["lane_factor"] > 1.02 * before["lane_factor"]
    assert row["friction_sd"] < 0.06
    assert row["learnt"]["friction"]["left"] < 1
    assert set(after["learnt"]) == {"repeatability"}
    setting = engine.ranking.setting_of(after)
    assert setting.factors[0] == row["lane_factor"]
    assert setting.tasks[0].friction_sd == row["friction_sd"]


def test_a_question_takes_as_many_queries_however_much_was_seen(customer: Bowler) -> None:
    taken = []
    for day in range(3):
        for again in range(4**day):
            seen(customer, entry_board=17.0, seen_on=f"2026-0{day + 1}-{again + 1:02d}")
        engine.inputs_for(customer)
        with CaptureQueriesContext(connection) as asked:
            engine.inputs_for(customer)
        taken.append(len(asked))
    assert taken[0] == taken[1] == taken[2]


def test_what_was_read_of_others_once_is_known_by_its_key(customer: Bowler) -> None:
    rows = [seen(customer, entry_board=25.0 + n, seen_on=f"2026-01-{n + 1:02d}") for n in range(3)]
    house = condition_of(customer).house
    first = engine.house_friction(house)
    with CaptureQueriesContext(connection) as asked:
        assert engine.house_friction(house) == first
    tables = [query["sql"] for query in asked if '"evidence"' in query["sql"]]
    assert tables == []
    changed = Observation.objects.get(pk=rows[0].pk)
    changed.entry_board = 33.0
    changed.save()
    engine.inputs_for(customer)
    assert engine.house_friction(house) != first


def test_what_there_is_no_room_to_remember_is_read_again_and_says_the_same(
    customer: Bowler, monkeypatch: pytest.MonkeyPatch
) -> None:
    for day in range(3):
        seen(customer, entry_board=25.0 + day, seen_on=f"2026-01-{day + 1:02d}")
    house = condition_of(customer).house
    first = engine.house_friction(house)
    monkeypatch.setattr(learn, "REMEMBERED", 1)
    evidence._held.clear()
    assert engine.house_friction(house) == first
    assert len(evidence._held) == 1
    assert engine.house_friction(house) == first


def test_what_was_expected_is_worked_out_once_for_every_process(
    customer: Bowler, monkeypatch: pytest.MonkeyPatch
) -> None:
    for day in range(2):
        seen(customer, entry_board=29.0 - day, leaves=["10"], seen_on=f"2026-01-{day + 1:02d}")
    first = [one.beside for one in afterwards_of(customer).standing]
    assert all(first)
    worked_out = Mock(wraps=learning._beside)
    monkeypatch.setattr(learning, "_beside", worked_out)
    evidence._held.clear()
    assert [one.beside for one in afterwards_of(customer).standing] == first
    assert worked_out.call_count == 0
    # A third changes what is expected of either.
    seen(customer, entry_board=17.0, seen_on="2026-01-03")
    again = [one.beside for one in afterwards_of(customer).standing]
    assert worked_out.call_count == 3
    assert again[1:] != first


def test_a_house_learns_from_one_customer_for_another(
    staff_client: Client, customer: Bowler
) -> None:
    for day in range(4):
        seen(customer, entry_board=29.0, seen_on=f"2026-01-{day + 1:02d}")
    house = condition_of(customer).house
    learnt = engine.house_friction(house)
    assert learnt is not None
    assert (learnt["observations"], learnt["bowlers"]) == (4, 1)
    assert learnt["rows"][0]["after"]["factor"] > 1
    page = staff_client.get(f"/houses/{house.pk}/").content.decode()
    assert "Learnt from those who bowl here" in page
    other = records.customer(customer.shop, "Next One")
    records.fitting(other)
    records.owned_ball(other, ball_of(customer).spec)
    BowlerCondition.objects.create(
        shop=customer.shop, bowler=other, condition=condition_of(customer), times_a_season=10
    )
    assert engine.inputs_for(other)["conditions"][0]["learnt"]["friction"]["factor"] > 1
    assert engine.inputs_for(other)["learnt"]["repeatability"] == {"factor": 1.0, "left": 1.0}


def test_another_shops_observations_teach_nothing_here(customer: Bowler, other_shop: Shop) -> None:
    stranger = records.customer(other_shop)
    records.fitting(stranger)
    ball = records.owned_ball(stranger, records.ball_model(other_shop).specs.get())
    records.observation(ball, records.condition(records.house(other_shop)), entry_board=30.0)
    assert "learnt" not in engine.inputs_for(customer)


def test_evidence_is_computed_anew_when_what_it_came_from_changes(customer: Bowler) -> None:
    row = seen(customer)
    engine.inputs_for(customer)
    first = Observation.objects.get(pk=row.pk)
    engine.inputs_for(customer)
    assert Observation.objects.get(pk=row.pk).evidence == first.evidence
    assert first.version == 1
    ball = ball_of(customer)
    ball.pap_over_in = 4.5
    ball.layout_numbers = {**records.ANGLES, "pin_to_pap_in": 5.0}
    ball.save()
    engine.inputs_for(customer)
    again = Observation.objects.get(pk=row.pk)
    assert again.evidence != first.evidence
    assert again.evidence_key != first.evidence_key
    assert again.version == 1
    assert again.history.count() == 1


def test_without_a_fitting_what_was_seen_is_kept_and_nothing_is_learnt(
    staff_client: Client, customer: Bowler
) -> None:
    customer.fittings.all().delete()
    assert sent(staff_client, customer, motion="quit").status_code == 302
    page = afterwards_of(customer)
    assert len(page.standing) == 1
    assert page.houses == []
    answer = staff_client.get(PAGE.format(customer.pk))
    assert "Nothing this customer saw counts yet. A finished fitting" in answer.content.decode()


def test_sending_the_form_twice_is_one_observation(staff_client: Client, customer: Bowler) -> None:
    address = f"{PAGE.format(customer.pk)}new/"
    page = staff_client.get(address)
    values = records.form_values(page, page.context["form"]) | {"motion": "never"}
    for _ in range(2):
        assert staff_client.post(address, values).status_code == 302
    assert Observation.objects.count() == 1


def test_an_end_of_the_line_that_cant_be_is_refused_for_that_alone(
    staff_client: Client, customer: Bowler
) -> None:
    answer = sent(staff_client, customer, motion="quit", laydown_board="99", target_board="13")
    page = answer.content.decode()
    assert "Laid down at must be between 1 and 39" in page
    assert "Give both ends of the line" not in page
    assert not Observation.objects.exists()


def test_what_was_seen_on_oil_that_cant_be_is_refused_and_what_was_typed_stays(
    staff_client: Client, customer: Bowler
) -> None:
    Condition.objects.update(shape="flat", inside_to_outside_ratio=15)
    answer = sent(staff_client, customer, motion="quit", remark="Asked twice.")
    assert answer.status_code == 200
    assert "Inside to outside ratio must be" in answer.content.decode()
    assert "Asked twice." in answer.content.decode()
    assert not Observation.objects.exists()


def refused(*_: Any) -> None:
    raise InputError("speed_mph", 99.0, "5 to 35 mph")


def test_the_page_opens_though_nothing_can_be_learnt_of_it(
    staff_client: Client, customer: Bowler, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen(customer, remark="Hung on to the end.")
    monkeypatch.setattr("arsenal.engine.learnt_by", refused)
    page = staff_client.get(PAGE.format(customer.pk)).content.decode()
    assert "Nothing this customer saw counts yet. Speed mph must be 5 to 35 mph." in page
    assert "Hung on to the end." in page


def test_what_is_kept_was_expected_with_what_others_said_of_every_house(
    customer: Bowler, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = seen(customer, entry_board=20.0)
    elsewhere = records.house(customer.shop, name="Elsewhere")
    there = records.condition(elsewhere)
    BowlerCondition.objects.create(
        shop=customer.shop, bowler=customer, condition=there, times_a_season=5
    )
    other = records.customer(customer.shop, "Next One")
    records.fitting(other)
    ball = records.owned_ball(other, ball_of(customer).spec)
    engine.evidence_of(records.observation(ball, there, entry_board=18.0))
    asked = Mock(wraps=engine.beside)
    monkeypatch.setattr("arsenal.engine.beside", asked)
    keep_expected(row)
    heard, _ = asked.call_args.args
    seen_at = {one.house for one in heard.lanes.evidence}
    assert seen_at == {row.condition.house_id, elsewhere.pk}


def test_what_nothing_was_expected_of_is_kept_all_the_same(
    customer: Bowler, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = seen(customer, expected=[{"what": "Entry"}])
    monkeypatch.setattr("arsenal.engine.beside", refused)
    keep_expected(row)
    assert Observation.objects.get().expected == []


def test_what_can_no_longer_be_computed_is_left_out(customer: Bowler) -> None:
    row = seen(customer)
    OwnedBall.objects.update(layout_numbers={**records.ANGLES, "pin_to_pap_in": 0.0})
    assert "learnt" not in engine.inputs_for(customer)
    row.refresh_from_db()
    assert row.evidence is None


def test_a_house_where_nobody_was_seen_has_nothing_learnt(customer: Bowler) -> None:
    first = seen(customer).condition.house
    elsewhere = records.condition(records.house(customer.shop, "Mill Lanes"))
    BowlerCondition.objects.create(
        shop=customer.shop, bowler=customer, condition=elsewhere, times_a_season=5
    )
    assert [row["house"] for row in afterwards_of(customer).houses] == [first]


def test_the_newest_are_shown_and_the_earlier_when_asked_for(
    staff_client: Client, customer: Bowler, monkeypatch: pytest.MonkeyPatch
) -> None:
    worked_out = Mock(wraps=learning._beside)
    monkeypatch.setattr(learning, "_beside", worked_out)
    for day in range(5):
        seen(
            customer, entry_board=20.0 + day, seen_on=f"2026-01-{day + 1:02d}", remark=f"Day {day}."
        )
    page = staff_client.get(PAGE.format(customer.pk)).content.decode()
    assert [day for day in range(5) if f"Day {day}." in page] == [4]
    assert "Show 4 earlier" in page
    # All five count, whatever is shown of them.
    assert "From 5 observations of this customer" in page
    assert worked_out.call_count == 1
    whole = staff_client.get(f"{PAGE.format(customer.pk)}?all=yes").content.decode()
    assert all(f"Day {day}." in whole for day in range(5))
    assert "earlier" not in whole
    assert worked_out.call_count == 5
