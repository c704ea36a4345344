"""The chain that is built to measure the site with, and what holds whatever its size."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from typing import Any

import pytest
from django.utils import timezone

from arsenal.advice import run
from arsenal.models import Hole, OwnedBall, Ranking, TaskFound
from arsenal.office import services as office
from bowlers.models import Bowler, Delivery
from tests.arsenal import records
from tests.arsenal.invented import invented_result
from tests.load import chain, crowd
from tests.load.pages import pages_of, queries_of, walked, work_of

pytestmark = pytest.mark.django_db


def invented(*, ranking_id: int) -> bool:
    """In place of the engine, which takes seconds: a result of the right shape."""
    ranking = Ranking.objects.get(pk=ranking_id)
    met = ranking.inputs["conditions"]
    result: dict[str, Any] = invented_result(tasks=len(met))
    bag = [ball["id"] for ball in ranking.inputs["bag"]]
    for task, condition in zip(result["tasks"], met, strict=True):
        task |= {"condition_id": condition["id"], "name": condition["name"]}
        for ball in task["owned"]:
            ball["ball_id"] = bag[0]
    result["fills"] = [
        {"place": "order", "id": one["id"], "ball": one["name"], "as": "",
         "by_task": [task["best_available"] for task in result["tasks"]]}
        for one in ranking.inputs["catalogue"][:3]
    ]  # fmt: skip
    now = timezone.now()
    Ranking.objects.filter(pk=ranking_id).update(status="done", result=result, finished_at=now)
    return True


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "compute", invented)


@pytest.mark.usefixtures("quick")
def test_a_chain_has_what_it_should() -> None:
    built = chain.build(0.004, patterns=4)
    people = Bowler.objects.for_shop(built.shop)
    assert people.count() == 40
    assert OwnedBall.objects.for_shop(built.shop).count() == 240
    assert Delivery.objects.for_shop(built.shop).count() == 4000
    rankings = Ranking.objects.for_shop(built.shop)
    assert rankings.count() == 800
    # What a page needs: holes in each ball, every delivery possible, one newest ranking each.
    assert not OwnedBall.objects.exclude(pk__in=Hole.objects.values("ball")).exists()
    assert all(delivery.is_complete for delivery in Delivery.objects.for_shop(built.shop)[:50])
    newest = TaskFound.objects.filter(shop=built.shop, latest=True)
    assert newest.values("bowler").distinct().count() == 40
    assert newest.values("ranking").distinct().count() == 40
    assert newest.filter(gap=True, filled_by__isnull=False).exists()
    one = rankings.order_by("-pk")[0]
    assert one.result["customer"] == {"id": one.bowler_id, "name": one.bowler.name}
    assert set(OwnedBall.objects.filter(bowler=one.bowler).values_list("pk", flat=True)) >= {
        ball["ball_id"] for task in one.result["tasks"] for ball in task["owned"]
    }
    assert Bowler.history.filter(shop=built.shop).count() == 40
    # Nobody's record was made with a number that another gets.
    assert Bowler.objects.create(shop=built.shop, name="Ada Birk").pk > max(built.sample)


@pytest.mark.usefixtures("quick")
def test_no_page_takes_more_queries_in_a_larger_chain(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every page, for the same customer among eight and among forty."""
    # However slow the machine, a report that was just worked out isn't worked out again.
    monkeypatch.setattr(office, "SMALL_AGES_AFTER", dt.timedelta(days=1))
    asked: list[dict[str, list[str]]] = []
    for scale, name in ((0.0008, "Small"), (0.004, "Large")):
        monkeypatch.setattr(chain, "LARGEST", name)
        built = chain.build(scale, patterns=4)
        customer = chain.people_of(built)[0]
        for _ in range(2):
            Bowler.objects.create(shop=built.shop, name="Entered Twice", phone="555 0142")
        # Some of everything in either: a list of none takes no query.
        ball = customer.bag.order_by("pk")[0]
        plan: dict[str, Any] = {"state": "drilled", "drilled_at": timezone.now()}
        plan |= {"reason": "Wanted blue.", "advice": {"words": "To order", "options": []}}
        advised = customer.rankings.order_by("pk")[0]
        records.drill_plan(customer, ball.spec, ball=ball, ranking=advised, **plan)
        (pages,) = pages_of([customer], built.staff[0])
        assert {page.name for page in pages} == {str(pattern.name) for pattern, _ in walked()}
        chain.settle([customer.pk])
        asked.append(queries_of(pages, built.staff[0], built.owner))
    taken = work_of([pages[:5], pages[:5]], built.staff[0], built.owner)
    assert set(taken) == {page.name for page in pages[:5]}
    assert all(work.again_ms > 0 for work in taken.values())
    small, large = asked
    more = {
        name: Counter(large[name]) - Counter(small[name])
        for name in small
        if len(large[name]) > len(small[name])
    }
    assert more == {}


@pytest.mark.usefixtures("quick")
def test_a_chain_that_was_visited_is_visited_again() -> None:
    built = chain.build(0.0008, patterns=4)
    customer = chain.people_of(built)[:1]
    first = pages_of(customer, built.staff[0])
    again = chain.found()
    assert again is not None
    second = pages_of(chain.people_of(again)[:1], again.staff[0])
    assert [[page.name for page in one] for one in first] == [
        [page.name for page in one] for one in second
    ]


def test_a_percentile_is_one_of_the_values() -> None:
    """By the nearest rank: of a hundred values the 95th."""
    values = [float(n) for n in range(1, 101)]
    assert [crowd.percentile(values, share) for share in (0.5, 0.95, 0.99)] == [50, 95, 99]
    assert crowd.percentile([7.0], 0.99) == 7
