"""Gaps and next ball computed for real: from a customer's records to pages and command."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from arsenal import engine
from arsenal.advice.models import Ranking
from arsenal.models import OwnedBall
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records
from tests.arsenal.advice_cast import work_off
from tests.furnished import furnish

__all__ = ["work_off"]


@pytest.fixture
def customer(shop: Shop, staff: User) -> Bowler:
    """Three deliveries, one ball, one house pattern; a model to order and one on the shelf."""
    furnish(shop, staff)
    Ranking.objects.all().delete()
    return Bowler.objects.get()


def quiet(percent: int, note: str) -> None:
    """Nobody watches this progress."""


def test_from_records_to_pages_and_command(
    customer: Bowler, staff_client: Client, work_off: Callable[[], None]
) -> None:
    staff_client.post(reverse("gaps", args=[customer.pk]))
    work_off()
    ranking = Ranking.objects.get()
    assert ranking.status == "done", ranking.error
    assert ranking.model_version == engine.MODEL_VERSION

    gaps = staff_client.get(reverse("gaps", args=[customer.pk])).content.decode()
    assert "House shape, 40 ft" in gaps
    assert "Alder" in gaps
    assert "Best available" in gaps

    next_ball = staff_client.get(reverse("next-ball", args=[customer.pk])).content.decode()
    gains = [
        float(gain.replace("−", "-")) for gain in re.findall(r"<b>([+−]?[\d.]+)</b>", next_ball)
    ]
    assert gains == sorted(gains, reverse=True)
    assert "Nothing needed" in next_ball

    figure = json.loads(staff_client.get(reverse("ranking-strip", args=[ranking.pk])).content)
    paths = [t for t in figure["data"] if t["name"] != "oil" and t.get("yaxis") != "y2"]
    assert paths
    assert all(0 < board < 40 for path in paths for board in path["y"])

    out = io.StringIO()
    call_command("nextball", str(customer.pk), "--json", stdout=out)
    answer = json.loads(out.getvalue())
    assert Ranking.objects.count() == 1  # the command reopened what the page had asked for
    assert ranking.result is not None
    assert [c["gain"] for c in answer["choices"]] == [c["gain"] for c in ranking.result["choices"]]
    assert answer["choices"] == sorted(answer["choices"], key=lambda c: -c["gain"])
    for task in answer["tasks"]:
        assert 0 < task["best_available"] < 1
        assert all(0 <= ball["carry"] <= task["best_available"] + 1e-3 for ball in task["owned"])


def test_asking_the_question_costs_the_same_queries_however_full_the_bag(
    customer: Bowler, staff_client: Client, django_assert_max_num_queries: Any
) -> None:
    address = reverse("gaps", args=[customer.pk])
    # What was seen on the lanes is read by the engine once, and kept.
    staff_client.get(address)
    with django_assert_max_num_queries(31) as small:
        staff_client.get(address)
    spec = OwnedBall.objects.get().spec
    for number in range(6):
        records.owned_ball(customer, spec, nickname=f"Number {number}")
        records.stock_ball(customer.shop, spec)
    with django_assert_max_num_queries(31) as full:
        staff_client.get(address)
    assert len(full) == len(small)


def test_the_same_inputs_give_the_same_answer_and_other_inputs_other_reasons(
    customer: Bowler,
) -> None:
    first = _answer(engine.inputs_for(customer))
    assert _answer(engine.inputs_for(customer)) == first
    OwnedBall.objects.update(finish="polished")
    polished = _answer(engine.inputs_for(customer))
    assert _reasons(polished) != _reasons(first)
    assert polished["tasks"][0]["owned"] != first["tasks"][0]["owned"]


def _answer(inputs: dict[str, Any]) -> dict[str, Any]:
    result = engine.run_ranking(inputs, 1, quiet)
    return {part: value for part, value in result.items() if part != "timings"}


def _reasons(result: dict[str, Any]) -> list[str]:
    return [choice["reason"] for choice in result["choices"]]
