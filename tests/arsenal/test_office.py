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
from django_tasks_db.models import DBTaskResult

from arsenal.advice import run
from arsenal.catalogue.models import BallSpec
from arsenal.models import OfficeReport, Ranking, StockBall, TaskFound, Ticket
from arsenal.office import counts, cover, outcomes, services, table
from arsenal.office.tasks import work_report_out
from arsenal.office.views import slow_shelf
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records
from tests.arsenal.invented import invented_result
from tests.furnished import furnish

MORE_FILES = ("/office/slow.csv", "/office/advice.csv", "/office/refits.csv", "/office/standing/")


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
            {"place": "order", "id": spec.model_id, "ball": "x", "as": "x", "by_task": best}
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


def test_a_gap_that_everything_reaches_late_is_told_so(shop: Shop) -> None:
    """``late`` of the ball that carries best; and a ball to order that is no more fills none."""
    ranking = ranked(records.customer(shop), None)
    result: Any = ranking.result
    best = [task["best_available"] for task in result["tasks"]]
    result["fills"] = [{"place": place, "id": 999_999, "by_task": best}
                       for place in ("shelf", "order")]  # fmt: skip
    for n, ball in enumerate(result["tasks"][1]["owned"]):
        ball |= {"late": n == 1, "carry": 0.3 + (0.1 if n == 1 else 0)}
    ranking.save()
    services.note(ranking)
    whole, gap = TaskFound.objects.order_by("pk")
    assert (whole.side, gap.side) == ("", TaskFound.Side.LATE)
    assert not gap.filled_by.exists()


def test_the_newest_ranking_of_a_customer_counts(shop: Shop, spec: BallSpec) -> None:
    bowler = records.customer(shop)
    services.note(ranked(bowler, spec, gap=False))
    services.note(ranked(bowler, spec, days_ago=40))
    found = overview(shop, {})
    assert (found.customers, found.with_gap) == (1, 0)
    assert [(bar.customers, bar.with_gap) for bar in found.months] == [(1, 1), (1, 0)]


def test_customers_are_counted_once_and_filters_narrow(shop: Shop, spec: BallSpec) -> None:
    for n in range(4):
        bowler = records.customer(shop, f"Customer {n}", hand="left" if n == 0 else "right")
        services.note(ranked(bowler, spec, gap=n < 2))
    found = overview(shop, {})
    assert (found.customers, found.with_gap) == (4, 2)
    assert overview(shop, {"hand": "left"}).with_gap == 1
    assert overview(shop, {"hand": "left", "weight_lb": "16"}).customers == 0
    by_hand = {bar.value: bar.with_gap for bar in dict(groups(found))["hand"]}
    assert by_hand == {"left": 1, "right": 1}


def overview(shop: Shop, wanted: dict[str, str]) -> counts.Overview:
    """As the page has it: gathered, kept as bytes and counted."""
    kept = table.gather(shop).to_bytes()
    return counts.overview(table.Table.from_bytes(kept), wanted)


def groups(found: counts.Overview) -> list[tuple[str, Any]]:
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
    plan = services.make_report(shop)
    (row,) = plan.plan
    assert (row["ball"], row["on_shelf"], row["customers"]) == ("Whitebeam", 1, 3)
    assert row["filled"] == pytest.approx(plan.gaps)
    assert plan.started_at is None


def test_a_plan_under_way_isn_t_begun_twice(shop: Shop) -> None:
    assert services.ask_for_report(shop)
    assert not services.ask_for_report(shop)
    OfficeReport.objects.update(started_at=timezone.now() - dt.timedelta(hours=1))
    assert services.ask_for_report(shop)


def test_what_stands_long_names_whom_it_would_suit(shop: Shop, spec: BallSpec) -> None:
    ball = records.stock_ball(shop, spec)
    StockBall.objects.update(created_at=timezone.localtime() - dt.timedelta(days=200))
    bowler = records.customer(shop)
    services.note(ranked(bowler, spec))
    (slow,) = slow_shelf(services.make_report(shop))
    assert (slow.ball, slow.days, slow.customers) == (ball, 200, [bowler])


def test_the_file_of_what_stands_long_has_a_row_a_customer_and_one_for_nobody(
    shop: Shop, spec: BallSpec, owner_client: Client
) -> None:
    for_nobody = records.ball_model(shop, "Spindle").specs.get()
    records.stock_ball(shop, spec, serial="A1")
    records.stock_ball(shop, for_nobody, serial="A2")
    StockBall.objects.update(created_at=timezone.localtime() - dt.timedelta(days=200))
    people = [records.customer(shop, name) for name in ("Ash Vale", "Wren Marsh")]
    for bowler in people:
        services.note(ranked(bowler, spec))
    services.make_report(shop)
    heading, *lines = owner_client.get("/office/slow.csv").content.decode("utf-8-sig").splitlines()
    assert heading == "ball,serial,days,customer number,customer"
    assert sorted(line.split(",", 1)[1].rsplit(",", 3)[-2:] for line in lines) == sorted(
        [["", ""], *([str(bowler.pk), bowler.name] for bowler in people)]
    )
    assert sum(",A2,200,," in line for line in lines) == 1


def test_only_owners_open_it(staff_client: Client, owner_client: Client, shop: Shop) -> None:
    for there in ("/office/", "/office/gaps.csv", "/office/stock-plan.csv", *MORE_FILES):
        assert staff_client.get(there).status_code == 403
        assert owner_client.get(there).status_code == 200


def test_another_shop_s_gaps_are_not_counted(
    shop: Shop, other_shop: Shop, spec: BallSpec, owner_client: Client
) -> None:
    services.note(ranked(records.customer(other_shop, "Foreign"), None))
    assert overview(shop, {}).customers == 0
    assert "Foreign" not in owner_client.get("/office/").content.decode()


def test_the_page_and_its_files_tell_the_same(
    shop: Shop, spec: BallSpec, owner_client: Client
) -> None:
    services.note(ranked(records.customer(shop, hand="left"), spec))
    services.note(ranked(records.customer(shop, "Other"), spec, gap=False))
    services.make_report(shop)
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
    services.make_report(shop)
    with django_assert_max_num_queries(20):
        owner_client.get("/office/")


def test_the_button_works_the_plan_out_once(
    shop: Shop, spec: BallSpec, owner_client: Client
) -> None:
    page = owner_client.get("/office/")
    token = records.token_in(page)
    for _ in range(2):
        assert owner_client.post("/office/", {"form_token": token}).status_code == 302
    assert OfficeReport.objects.get().started_at is not None
    assert DBTaskResult.objects.count() == 1
    # Another tab, with a token of its own.
    token = records.token_in(owner_client.get("/office/"))
    told = owner_client.post("/office/", {"form_token": token}, follow=True).content.decode()
    assert "It is being worked out already" in told
    assert DBTaskResult.objects.count() == 1


def test_a_report_of_a_shop_that_is_gone_is_worked_out_by_nobody(db: None) -> None:
    assert work_report_out.call(999_999) is False
    assert not OfficeReport.objects.exists()


def test_a_furnished_shop_shows(shop: Shop, owner: User, owner_client: Client) -> None:
    furnish(shop, owner)
    services.make_report(shop)
    assert owner_client.get("/office/").status_code == 200


def test_a_large_shop_s_report_is_left_to_a_worker(
    shop: Shop, spec: BallSpec, owner_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page never counts more rows than it has time for; what it shows says how old it is."""
    monkeypatch.setattr(services, "AT_ONCE_ROWS", 1)
    services.note(ranked(records.customer(shop), spec))
    page = owner_client.get("/office/").content.decode()
    assert "Nothing was worked out yet" in page
    file = owner_client.get("/office/gaps.csv").content.decode("utf-8-sig")
    assert file.splitlines() == ["counted by,of,customers,customers with a gap"]
    assert "Being worked out anew, 0 %" in page
    assert DBTaskResult.objects.count() == 1
    owner_client.get("/office/")
    assert DBTaskResult.objects.count() == 1
    assert "Being worked out" in owner_client.get("/office/standing/").content.decode()
    work_report_out.call(shop.pk)
    assert owner_client.get("/office/standing/").headers["HX-Refresh"] == "true"
    services.note(ranked(records.customer(shop, "Other"), spec))
    page = owner_client.get("/office/").content.decode()
    assert "1 of 1 active customers have a gap" in page
    assert "1 ranking finished since" in page
    OfficeReport.objects.update(made_at=timezone.now() - dt.timedelta(hours=1))
    assert "Being worked out anew" in owner_client.get("/office/").content.decode()


def test_a_league_is_counted_and_narrows(shop: Shop, spec: BallSpec, owner_client: Client) -> None:
    for n, league in enumerate(("Tuesday Trios", "Tuesday Trios", "")):
        bowler = records.customer(shop, f"Customer {n}", league=league)
        services.note(ranked(bowler, spec, gap=n == 0))
    found = overview(shop, {})
    assert [(bar.label, bar.with_gap, bar.customers) for bar in dict(groups(found))["league"]] == [
        ("Tuesday Trios", 1, 2),
        ("No league on record", 0, 1),
    ]
    page = owner_client.get("/office/?league=Tuesday+Trios").content.decode()
    assert "1 of 2 active customers have a gap" in page


def test_a_customer_counts_once_a_month_by_their_last_ranking(shop: Shop, spec: BallSpec) -> None:
    bowler = records.customer(shop)
    middle = timezone.localdate().replace(day=15) - dt.timedelta(days=62)
    ago = (timezone.localdate() - middle).days
    services.note(ranked(bowler, spec, days_ago=ago + 3))
    services.note(ranked(bowler, spec, days_ago=ago, gap=False))
    (month,) = overview(shop, {}).months
    assert (month.value, month.customers, month.with_gap) == (f"{middle:%Y-%m}", 1, 0)


def test_only_the_newest_ranking_keeps_which_balls_fill_its_gaps(
    shop: Shop, spec: BallSpec
) -> None:
    bowler = records.customer(shop)
    services.note(ranked(bowler, spec, days_ago=30))
    services.note(ranked(bowler, spec))
    assert list(spec.model.specs.all()) == [spec]
    through = TaskFound.filled_by.through
    assert [row.taskfound.latest for row in through.objects.all()] == [True]


def test_two_tasks_of_one_name_are_told_apart_by_house(shop: Shop, spec: BallSpec) -> None:
    ranking = ranked(records.customer(shop), spec)
    result: Any = ranking.result
    for task, house in zip(result["tasks"], ("North", "South"), strict=True):
        task |= {"name": "House blend", "house": house}
    ranking.save()
    services.note(ranking)
    assert set(TaskFound.objects.values_list("task", flat=True)) == {
        "House blend, North",
        "House blend, South",
    }


def drilled(bowler: Bowler, spec: BallSpec, *, days_ago: int, reason: str = "") -> Any:
    """A ball drilled here, on advice."""
    when = timezone.now() - dt.timedelta(days=days_ago)
    return records.drill_plan(
        bowler,
        spec,
        ball=records.owned_ball(bowler, spec),
        ranking=ranked(bowler, spec),
        reason=reason,
        state="drilled",
        drilled_at=when,
    )


def test_advice_is_held_against_what_was_seen_of_it(shop: Shop, spec: BallSpec) -> None:
    """Only what was seen after the ball was drilled, and not set aside."""
    condition = records.condition(records.house(shop))
    today = timezone.localdate()
    expected = [{"what": "Entry", "unit": "board", "seen": 18.5, "expected": 18.0}]
    inside, outside = ({"low": 17.0, "high": 19.0}, {"low": 17.0, "high": 18.0})
    for n, (reason, look, around) in enumerate(
        (("", "right", inside), ("", "rolly", outside), ("Wanted blue.", "angular", inside))
    ):
        bowler = records.customer(shop, f"Customer {n}")
        plan = drilled(bowler, spec, days_ago=20, reason=reason)
        about = {"look": look, "expected": [expected[0] | around]}
        records.observation(plan.ball, condition, seen_on=today, **about)
        records.observation(plan.ball, condition, seen_on=today, set_aside=True, **about)
        records.observation(plan.ball, condition, seen_on=today - dt.timedelta(days=40), **about)
    told = outcomes.advice_told(shop)
    assert told["given"] == 3
    advised, otherwise = told["outcomes"]
    kept = ("plans", "drilled", "seen", "right", "rolly", "angular", "numbers", "inside")
    assert [advised[name] for name in kept] == [2, 2, 2, 1, 1, 0, 2, 1]
    assert [otherwise[name] for name in kept] == [1, 1, 1, 0, 0, 1, 1, 1]
    assert sum(row["followed"] for row in told["months"]) == 2


def test_a_ball_is_back_that_comes_soon_after(shop: Shop, spec: BallSpec) -> None:
    """Within sixty days: for its thumb, sold, or never; cleaning it is not coming back."""
    jobs = ((30, "thumb"), (100, "thumb"), (30, "clean"))
    for n, (after, job) in enumerate(jobs):
        bowler = records.customer(shop, f"Customer {n}")
        plan = drilled(bowler, spec, days_ago=120)
        ticket = records.ticket(bowler, ball=plan.ball, job=job)
        Ticket.objects.filter(pk=ticket.pk).update(
            created_at=timezone.now() - dt.timedelta(days=120 - after)
        )
    sold = drilled(records.customer(shop, "Seller"), spec, days_ago=120).ball
    sold.sold_on = timezone.localdate() - dt.timedelta(days=100)
    sold.save()
    told = outcomes.refits_told(shop)
    assert (told["drilled"], told["back"]) == (4, 2)
    assert {row["why"]: row["balls"] for row in told["why"]} == {
        "Thumb work": 1,
        "Sold or given back": 1,
    }
    assert [(row["drilled"], row["back"]) for row in told["months"]] == [(4, 2)]


def test_people_measured_again_are_counted(shop: Shop) -> None:
    bowler = records.customer(shop)
    for days in (400, 10):
        fitting = records.fitting(bowler)
        fitting.fitted_on = timezone.localdate() - dt.timedelta(days=days)
        fitting.save()
    records.fitting(records.customer(shop, "Other"))
    told = outcomes.refits_told(shop)
    assert (told["fittings"], told["again"]) == (3, 1)


def test_what_was_logged_keeps_what_was_expected_of_it(shop: Shop, spec: BallSpec) -> None:
    bowler = records.customer(shop)
    records.fitting(bowler)
    plan = drilled(bowler, spec, days_ago=20)
    seen = records.observation(plan.ball, records.condition(records.house(shop)))
    assert outcomes.expect_what_was_seen(shop) == 1
    assert outcomes.expect_what_was_seen(shop) == 0
    seen.refresh_from_db()
    assert seen.expected is not None
    (entry,) = seen.expected
    assert (entry["what"], entry["seen"]) == ("Entry", 18.5)
    assert entry["low"] < entry["expected"] < entry["high"]


def test_the_page_tells_advice_refits_and_weights(
    shop: Shop, spec: BallSpec, owner_client: Client
) -> None:
    bowler = records.customer(shop)
    plan = drilled(bowler, spec, days_ago=20, reason="Wanted blue.")
    page = owner_client.get("/office/").content.decode()
    assert "15 lb: order Whitebeam" in page
    assert "0 of 1 ball drilled here came back within 60 days" in page
    assert "“Wanted blue.”" in page
    assert plan.get_absolute_url() in page
    assert "Otherwise,1,1,0" in owner_client.get("/office/advice.csv").content.decode()
    assert "balls drilled,,1" in owner_client.get("/office/refits.csv").content.decode()
