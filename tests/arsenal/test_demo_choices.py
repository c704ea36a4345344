"""What the demo shop chose beside what was advised: laid out once a ranking is done."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from arsenal.demo.choosing import CHOICES, Choice, chosen_so_far, follow_in_demo
from arsenal.demo.people import REVS
from arsenal.models import DrillPlan, Ranking
from proshop.models import Shop
from tests.arsenal import invented, records

pytestmark = pytest.mark.django_db


@pytest.fixture
def ranking(shop: Shop, staff: User, monkeypatch: pytest.MonkeyPatch) -> Ranking:
    """An invented answer whose first choice is a Rowan to order, for a customer of the demo's."""
    shop.is_demo = True
    shop.save()
    monkeypatch.setitem(
        CHOICES, REVS.name, Choice(0, "Because.", "Came.", CHOICES[REVS.name].label)
    )
    bowler = records.customer(shop, REVS.name)
    records.fitting(bowler)
    records.grip(bowler)
    return invented.rowan_first(bowler, staff)


def test_a_choice_is_laid_out_once_with_advice_and_reason(
    ranking: Ranking, staff_client: Client
) -> None:
    follow_in_demo(ranking)
    follow_in_demo(ranking)
    plan = DrillPlan.objects.get()
    assert plan.advice["words"].startswith("To order: Rowan")
    assert plan.holes.count() == 3
    assert "Because." in staff_client.get(reverse("overrides")).content.decode()
    assert [row["notes"] for row, _ in chosen_so_far(ranking.shop)] == ["Came."], "at a reload too"


def test_nothing_is_laid_out_in_a_shop_that_is_not_the_demo(ranking: Ranking) -> None:
    ranking.shop.is_demo = False
    ranking.shop.save()
    follow_in_demo(ranking)
    assert not DrillPlan.objects.exists()


def test_a_ball_to_order_without_a_label_is_not_laid_out(
    ranking: Ranking, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(CHOICES, REVS.name, Choice(0, "Because."))
    follow_in_demo(ranking)
    assert not DrillPlan.objects.exists()


def test_an_answer_with_fewer_choices_than_that_is_not_followed(
    ranking: Ranking, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(CHOICES, REVS.name, Choice(3, "Because.", "Came."))
    follow_in_demo(ranking)
    assert not DrillPlan.objects.exists()
    assert list(chosen_so_far(ranking.shop)) == []
