"""The owner's page: what is counted, the stock plan and its guarantee, and who may look."""

from __future__ import annotations

import datetime as dt
import itertools
from typing import Any

import numpy as np
import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from arsenal.advice import run
from arsenal.catalogue.models import BallSpec
from arsenal.models import Ranking, StockBall, StockPlan, TaskFound
from arsenal.office import cover, services
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records
from tests.arsenal.invented import invented_result
from tests.furnished import furnish


def ranked(
    bowler: Bowler, spec: BallSpec | None, *, days_ago: int = 0, gap: bool = True
) -> Ranking:
    """A finished ranking of two tasks, the second with a gap that this ball would fill."""
    result: dict[str, Any] = invented_result(customer_id=bowler.pk)
    for task in result["tasks"]:
        task["gap"] = task["gap"] and gap
    best = [task["best_available"] for task in result["tasks"]]
    if spec is not None:
        result["fills"] = [
            {"place": "order", "id": spec.pk, "ball": "x", "as": "x", "by_task": best}
        ]
    finished = timezone.now() - dt.timedelta(days=days_ago)
    return Ranking.objects.create(
        shop=bowler.shop,
        bowler=bowler,
        status="done",
        progress=100,
        seed=1,
        model_version="invented",
        inputs={
            "customer": {"hand": bowler.hand},
            "weight_lb": 15,
            "delivery": {"speed_mph": {"mean": 15.0}, "rev_rate_rpm": {"mean": 400.0}},
        },
        inputs_key=f"{bowler.pk}-{days_ago}-{gap}",
        result=result,
        asked_at=finished,
        finished_at=finished,
    )


@pytest.fixture
def spec(shop: Shop) -> BallSpec:
    spec: BallSpec = records.ball_model(shop, "Whitebeam").specs.get()
    return spec


def test_a_ranking_is_laid_out_once_task_by_task(shop: Shop, spec: BallSpec) -> None:
    bowler = records.customer(shop)
    ranking = ranked(bowler, spec)
    services.note(ranking)
    services.note(ranking)
    first, second = TaskFound.objects.order_by("pk")
    assert (first.gap, second.gap) == (False, True)
    assert first.weight + second.weight == pytest.approx(1)
    assert second.kind == "revs"
    assert list(second.filled_by.all()) == [spec]
    assert not first.filled_by.exists()


def test_the_newest_ranking_of_a_customer_counts(shop: Shop, spec: BallSpec) -> None:
    bowler = records.customer(shop)
    services.note(ranked(bowler, spec, gap=False))
    services.note(ranked(bowler, spec, days_ago=40))
    found = services.overview(shop, {})
    assert (found.customers, found.with_gap) == (1, 0)
    assert [(bar.customers, bar.with_gap) for bar in found.months] == [(1, 1), (1, 0)]


def test_customers_are_counted_once_and_filters_narrow(shop: Shop, spec: BallSpec) -> None:
    for n in range(4):
        bowler = records.customer(shop, f"Customer {n}", hand="left" if n == 0 else "right")
        services.note(ranked(bowler, spec, gap=n < 2))
    found = services.overview(shop, {})
    assert (found.customers, found.with_gap) == (4, 2)
    assert services.overview(shop, {"hand": "left"}).with_gap == 1
    assert services.overview(shop, {"hand": "left", "weight_lb": "16"}).customers == 0
    by_hand = {bar.value: bar.with_gap for bar in dict(groups(found))["hand"]}
    assert by_hand == {"left": 1, "right": 1}


def groups(found: services.Overview) -> list[tuple[str, Any]]:
    return [(name, bars) for name, _, bars in found.groups]


def test_a_ranking_that_is_done_is_noted_by_itself(shop: Shop, spec: BallSpec) -> None:
    assert services.note in run._WHEN_DONE


def test_greedy_keeps_its_guarantee_against_every_set_of_balls() -> None:
    """At least 1 - 1/e of the best set of k (Nemhauser, Wolsey and Fisher 1978), by trying all."""
    rng = np.random.default_rng(4)
    for _ in range(40):
        gaps, balls, k = 14, 7, 3
        filled_by = {
            gap: frozenset(int(b) for b in np.flatnonzero(rng.random(balls) < 0.3))
            for gap in range(gaps)
        }
        weights = {gap: float(w) for gap, w in enumerate(rng.uniform(0.1, 1, gaps))}

        def worth(chosen: tuple[int, ...], by: Any = filled_by, of: Any = weights) -> float:
            return float(sum(of[gap] for gap, some in by.items() if some & set(chosen)))

        best = max(worth(chosen) for chosen in itertools.combinations(range(balls), k))
        steps = cover.greedy(filled_by, weights, k)
        taken = tuple(step.ball for step in steps)
        assert steps[-1].filled == pytest.approx(worth(taken))
        assert worth(taken) >= cover.GUARANTEE * best - 1e-9
        assert [s.adds for s in steps] == sorted((s.adds for s in steps), reverse=True)
        # Each step is the best there is: a plain search, without the laziness.
        for n in range(len(steps)):
            now = worth(taken[:n])
            most = max(worth((*taken[:n], ball)) - now for ball in range(balls))
            assert steps[n].adds == pytest.approx(most)


def test_nothing_to_fill_is_an_empty_plan() -> None:
    assert cover.greedy({}, {}, 5) == []
    assert cover.greedy({1: frozenset()}, {1: 1.0}, 5) == []


def test_the_stock_plan_counts_the_shelf(shop: Shop, spec: BallSpec) -> None:
    records.stock_ball(shop, spec)
    for n in range(3):
        ranked(records.customer(shop, f"Customer {n}"), spec)
    plan = services.make_plan(shop)
    (row,) = plan.rows
    assert (row["ball"], row["on_shelf"], row["customers"]) == ("Whitebeam", 1, 3)
    assert row["filled"] == pytest.approx(plan.gaps)
    assert plan.started_at is None


def test_a_plan_under_way_isn_t_begun_twice(shop: Shop) -> None:
    assert services.ask_for_plan(shop)
    assert not services.ask_for_plan(shop)
    StockPlan.objects.update(started_at=timezone.now() - dt.timedelta(hours=1))
    assert services.ask_for_plan(shop)


def test_what_stands_long_names_whom_it_would_suit(shop: Shop, spec: BallSpec) -> None:
    ball = records.stock_ball(shop, spec)
    StockBall.objects.update(created_at=timezone.now() - dt.timedelta(days=200))
    bowler = records.customer(shop)
    services.note(ranked(bowler, spec))
    (slow,) = services.slow_shelf(shop)
    assert (slow.ball, slow.days, slow.customers) == (ball, 200, [bowler])


def test_only_owners_open_it(staff_client: Client, owner_client: Client, shop: Shop) -> None:
    for there in ("/office/", "/office/gaps.csv", "/office/stock-plan.csv"):
        assert staff_client.get(there).status_code == 403
        assert owner_client.get(there).status_code == 200


def test_another_shop_s_gaps_are_not_counted(
    shop: Shop, other_shop: Shop, spec: BallSpec, owner_client: Client
) -> None:
    services.note(ranked(records.customer(other_shop, "Foreign"), None))
    assert services.overview(shop, {}).customers == 0
    assert "Foreign" not in owner_client.get("/office/").content.decode()


def test_the_page_and_its_files_tell_the_same(
    shop: Shop, spec: BallSpec, owner_client: Client
) -> None:
    services.note(ranked(records.customer(shop, hand="left"), spec))
    services.note(ranked(records.customer(shop, "Other"), spec, gap=False))
    services.make_plan(shop)
    page = owner_client.get("/office/").content.decode()
    assert "1 of 2 active customers have a gap (50 %)" in page
    assert "1. Whitebeam" in page
    file = owner_client.get("/office/gaps.csv?hand=left").content.decode("utf-8-sig")
    assert "all,,1,1" in file
    assert "1,Whitebeam,15,0,1" in owner_client.get("/office/stock-plan.csv").content.decode()
    narrowed = owner_client.get("/office/?hand=left&task=nonsense").content.decode()
    assert "No active customer is like that" in narrowed


@pytest.mark.parametrize(
    "wrong", ["weight_lb=nan", "weight_lb=999999999999", "hand=%00", "side=x", "task=" + "x" * 999]
)
def test_a_wrong_filter_finds_none_and_breaks_nothing(owner_client: Client, wrong: str) -> None:
    assert owner_client.get(f"/office/?{wrong}").status_code == 200


def test_the_page_takes_the_same_queries_for_many_customers(
    shop: Shop, spec: BallSpec, owner_client: Client, django_assert_max_num_queries: Any
) -> None:
    for n in range(12):
        services.note(ranked(records.customer(shop, f"Customer {n}"), spec))
    with django_assert_max_num_queries(26):
        owner_client.get("/office/")


def test_the_button_works_the_plan_out_once(
    shop: Shop, spec: BallSpec, owner_client: Client
) -> None:
    page = owner_client.get("/office/")
    token = records.token_in(page)
    for _ in range(2):
        assert owner_client.post("/office/", {"form_token": token}).status_code == 302
    assert StockPlan.objects.get().started_at is not None


def test_a_furnished_shop_shows(shop: Shop, owner: User, owner_client: Client) -> None:
    furnish(shop, owner)
    services.make_plan(shop)
    assert owner_client.get("/office/").status_code == 200
