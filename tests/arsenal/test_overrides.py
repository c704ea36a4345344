"""Advice, choice and reason of the whole shop side by side, and how each turned out."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal.models import DrillPlan, OwnedBall
from proshop.models import Shop
from tests.arsenal import records

ADVICE = {"words": "To order: Rowan, 50° × 4 1/2 in × 30°", "day": "3 May 2026", "options": []}


@pytest.fixture
def ball(shop: Shop) -> OwnedBall:
    return records.owned_ball(records.customer(shop), records.ball_model(shop).specs.get())


def drilled(ball: OwnedBall, days_ago: int, **changes: Any) -> DrillPlan:
    values = {
        "ball": ball, "state": "drilled", "advice": ADVICE, "reason": "They want it smoother.",
        "drilled_at": timezone.now() - datetime.timedelta(days=days_ago),
    }  # fmt: skip
    return records.drill_plan(ball.bowler, ball.spec, **{**values, **changes})


def shown(client: Client, **query: str) -> dict[int, Any]:
    page = client.get(reverse("overrides"), query)
    return {row.plan.pk: row for row in page.context["rows"]}


def test_advice_choice_reason_and_what_came_of_it_stand_in_one_row(
    staff_client: Client, ball: OwnedBall, shop: Shop
) -> None:
    first, again = drilled(ball, 60), drilled(ball, 10, again=True)
    lanes = records.condition(records.house(shop))
    day = timezone.localdate()
    for days_ago, look in ((80, "angular"), (40, "rolly"), (30, "rolly"), (2, "right")):
        records.observation(
            ball, lanes, look=look, games=3, seen_on=day - datetime.timedelta(days=days_ago)
        )
    records.observation(ball, lanes, look="angular", set_aside=True)
    rows = shown(staff_client)
    assert rows[first.pk].turned_out[:2] == ["6 games seen", "“too rolly” 2 of 2 times"]
    assert rows[first.pk].turned_out[-1].startswith("drilled again on ")
    assert rows[again.pk].turned_out == ["3 games seen", "“just right” 1 of 1 times"]
    text = staff_client.get(reverse("overrides")).content.decode()
    for said in ("To order: Rowan", "They want it smoother.", "not as advised", first.number):
        assert said in text


def test_what_followed_the_advice_is_shown_when_asked_for(
    staff_client: Client, ball: OwnedBall
) -> None:
    layout = {**records.ANGLES}
    option = {"ball": ball.spec.model.name, "layout": layout, "surface": "2000"}
    plan = drilled(ball, 5, reason="", advice={**ADVICE, "options": [option]})
    drilled(ball, 5, state="aside")
    assert shown(staff_client) == {}
    assert "Nobody chose otherwise" in staff_client.get(reverse("overrides")).content.decode()
    (row,) = shown(staff_client, all="1").values()
    assert (row.plan, row.follows, row.turned_out) == (plan, True, [])


def test_it_costs_the_same_queries_however_many(
    staff_client: Client, ball: OwnedBall, django_assert_max_num_queries: Any
) -> None:
    for days in range(1, 9):
        drilled(ball, days, again=days % 2 == 0)
    with django_assert_max_num_queries(16):
        assert len(shown(staff_client)) == 8


def test_another_shops_choices_are_its_own(other_staff_client: Client, ball: OwnedBall) -> None:
    drilled(ball, 3)
    assert shown(other_staff_client) == {}


def test_a_layout_that_cant_be_is_no_choice_that_followed_advice(
    staff_client: Client, ball: OwnedBall
) -> None:
    plan = drilled(ball, 3, layout_numbers={**records.ANGLES, "pin_to_pap_in": 0.0})
    row = shown(staff_client)[plan.pk]
    assert (row.chosen, row.follows) == (str(plan), False)
