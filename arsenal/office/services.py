"""Noting what rankings found, counting it, and the stock plan."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.db.models import Count, Max, Q, QuerySet
from django.utils import timezone

from arsenal.advice.models import Ranking
from arsenal.catalogue.models import BallSpec, StockBall
from arsenal.lanes.models import Condition
from arsenal.office import cover, outcomes
from arsenal.office.models import OfficeReport, TaskFound, active_since
from arsenal.office.table import gather
from bowlers.models import Bowler
from bowlers.summary import MATCHED_RPM, revs_over_speed
from proshop.models import Shop

# The same rule as the window's: within 5 % of the best available scores.
SCORES = 0.95
MOST_STOCKED = 12
SLOW_DAYS = 120
SLOW_TOLD, SUITS_TOLD = 25, 5
LOST_AFTER = dt.timedelta(minutes=15)
# So many rows are counted while the page is asked for; more are a worker's.
AT_ONCE_ROWS = 2000
# A report is as old as this before it is worked out anew without anybody asking: a large one if
# anybody was ranked since, one that takes no time whatever happened.
AGES_AFTER, SMALL_AGES_AFTER = dt.timedelta(minutes=10), dt.timedelta(seconds=20)


@transaction.atomic
def note(ranking: Ranking) -> None:
    """Lay out what a finished ranking found. Noting it twice changes nothing."""
    result: dict[str, Any] = ranking.result or {}
    tasks = result.get("tasks", [])
    if not tasks or TaskFound.objects.filter(ranking=ranking).exists():
        return
    # Held, so that two rankings of one customer finished at once leave one latest.
    Bowler.objects.select_for_update().get(pk=ranking.bowler_id)
    earlier = TaskFound.objects.filter(bowler=ranking.bowler_id, latest=True)
    newer = earlier.filter(ranking__finished_at__gt=ranking.finished_at).exists()
    if not newer:
        TaskFound.filled_by.through.objects.filter(taskfound__in=earlier).delete()
        earlier.update(latest=False)
    total = sum(task["weight"] for task in tasks) or 1.0
    houses = dict(
        Condition.objects.filter(pk__in=[task["condition_id"] for task in tasks]).values_list(
            "pk", "house_id"
        )
    )
    fills = _specs_filling(result, ranking.inputs.get("weight_lb") or 0)
    rows = TaskFound.objects.bulk_create(
        TaskFound(
            ranking=ranking,
            shop_id=ranking.shop_id,
            bowler_id=ranking.bowler_id,
            house_id=houses.get(task["condition_id"]),
            task=name[:160],
            weight=task["weight"] / total,
            gap=bool(task["gap"] and task["window"]),
            side=_side(task),
            hand=ranking.inputs.get("customer", {}).get("hand", ""),
            kind=kind_of(ranking.inputs.get("delivery", {})),
            weight_lb=ranking.inputs.get("weight_lb") or 0,
            found_on=timezone.localdate(ranking.finished_at),
            latest=not newer,
        )
        for task, name in zip(tasks, _names(tasks), strict=True)
    )
    through = TaskFound.filled_by.through
    through.objects.bulk_create(
        through(taskfound_id=row.pk, ballspec_id=spec)
        for row, specs in zip(rows, fills, strict=True)
        if row.gap and row.latest
        for spec in sorted(specs)
    )


def _names(tasks: list[dict[str, Any]]) -> list[str]:
    """Tasks by name, with the house where one customer has two of that name."""
    often = Counter(str(task["name"]) for task in tasks)
    return [
        f"{task['name']}, {task['house']}" if often[str(task["name"])] > 1 else str(task["name"])
        for task in tasks
    ]


def kind_of(delivery: Mapping[str, Any]) -> str:
    """How the revs match the speed."""
    speed, revs = (delivery.get(name) or {} for name in ("speed_mph", "rev_rate_rpm"))
    if speed.get("mean") is None or revs.get("mean") is None:
        return TaskFound.Kind.MATCHED
    excess = revs_over_speed(speed["mean"], revs["mean"])
    if abs(excess) <= MATCHED_RPM:
        return TaskFound.Kind.MATCHED
    return TaskFound.Kind.REVS if excess > 0 else TaskFound.Kind.SPEED


def _side(task: Mapping[str, Any]) -> str:
    if not (task["gap"] and task["window"]):
        return ""
    best = max(task["owned"], key=lambda ball: ball["carry"], default=None)
    if best is not None and best["late"]:
        return TaskFound.Side.LATE
    return task.get("gap_side") or TaskFound.Side.NONE


def _specs_filling(result: Mapping[str, Any], weight_lb: int) -> list[set[int]]:
    """For each task the specs that would score on it: a ball to order is told by its model."""
    tasks = result["tasks"]
    found: list[set[int]] = [set() for _ in tasks]
    rows = result.get("fills", [])
    shelf = [row["id"] for row in rows if row["place"] == "shelf"]
    spec_of = dict(StockBall.objects.filter(pk__in=shelf).values_list("pk", "spec_id"))
    made_of = dict(
        BallSpec.objects.filter(
            model__in=[row["id"] for row in rows if row["place"] == "order"], weight_lb=weight_lb
        ).values_list("model", "pk")
    )
    for row in rows:
        spec = (spec_of if row["place"] == "shelf" else made_of).get(row["id"])
        if spec is None:
            continue
        for j, value in enumerate(row["by_task"]):
            if value >= SCORES * tasks[j]["best_available"]:
                found[j].add(spec)
    return found


def note_all(shop: Shop) -> int:
    """Lay out the newest finished ranking of every customer that isn't yet; how many."""
    newest: dict[int, int] = {}
    done = Ranking.objects.filter(shop=shop, status=Ranking.Status.DONE)
    for pk, bowler in done.order_by("finished_at", "pk").values_list("pk", "bowler_id"):
        newest[bowler] = pk
    noted = set(
        TaskFound.objects.filter(shop=shop, latest=True).values_list("ranking_id", flat=True)
    )
    missing = [pk for pk in newest.values() if pk not in noted]
    for pk in missing:
        note(Ranking.objects.get(pk=pk))
    return len(missing)


def active(shop: Shop) -> QuerySet[TaskFound]:
    since = active_since(timezone.localdate())
    return TaskFound.objects.filter(shop=shop, latest=True, found_on__gte=since)


def ask_for_report(shop: Shop) -> bool:
    """Note that a report is being worked out; False if one is already."""
    report, _ = OfficeReport.objects.get_or_create(shop=shop)
    now = timezone.now()
    free = Q(started_at=None) | Q(started_at__lt=now - LOST_AFTER)
    asked = OfficeReport.objects.filter(free, pk=report.pk).update(started_at=now, progress=0)
    return bool(asked)


def rankings_since(report: OfficeReport | None, shop: Shop) -> int:
    """How many rankings were finished that it doesn't know of."""
    if report is None or report.made_at is None:
        return 0
    after = TaskFound.objects.filter(shop=shop, pk__gt=report.upto)
    return after.values("ranking").distinct().count()


def report_for(shop: Shop) -> tuple[OfficeReport, int, bool]:
    """The report to show, how many rankings it doesn't know of, and whether a worker should be
    asked for another now. One that takes no longer than a page may is worked out here."""
    report, _ = OfficeReport.objects.get_or_create(shop=shop)
    since = rankings_since(report, shop)
    if active(shop).order_by()[: AT_ONCE_ROWS + 1].count() <= AT_ONCE_ROWS:
        if since or report.made_at is None or _age(report) > SMALL_AGES_AFTER:
            report, since = make_report(shop, at_once=True), 0
        return report, since, False
    wanted = report.made_at is None or (since > 0 and _age(report) > AGES_AFTER)
    if wanted and ask_for_report(shop):
        report.refresh_from_db()
        return report, since, True
    return report, since, False


def _age(report: OfficeReport) -> dt.timedelta:
    return timezone.now() - (report.made_at or timezone.now())


def make_report(shop: Shop, *, at_once: bool = False) -> OfficeReport:
    """Lay out what isn't yet, count all of it and work the stock plan out. Safe to run twice.

    ``at_once`` leaves out what takes seconds, for another time.
    """
    report, _ = OfficeReport.objects.get_or_create(shop=shop)

    def progress(percent: int) -> None:
        OfficeReport.objects.filter(pk=report.pk).update(progress=percent)

    note_all(shop)
    progress(20)
    found = TaskFound.objects.filter(shop=shop)
    upto = found.aggregate(last=Max("pk"))["last"] or 0
    report.table = gather(shop).to_bytes()
    progress(50)
    gaps = active(shop).filter(gap=True)
    weights = dict(gaps.values_list("pk", "weight"))
    people = dict(gaps.values_list("pk", "bowler_id"))
    by = _filled_by(gaps)
    progress(70)
    report.plan = _stock_plan(shop, by, weights, people)
    progress(80)
    if not at_once:
        outcomes.expect_what_was_seen(shop)
    report.told = {
        "slow": _slow(shop, by, weights, people),
        "advice": outcomes.advice_told(shop),
        "refits": outcomes.refits_told(shop),
    }
    report.gaps = round(sum(weights.values()), 3)
    report.customers = len(set(people.values()))
    report.upto = upto
    report.made_at, report.started_at, report.progress = timezone.now(), None, 100
    report.save()
    return report


def _filled_by(gaps: QuerySet[TaskFound]) -> dict[int, set[int]]:
    """Specs by gap."""
    by: dict[int, set[int]] = {pk: set() for pk in gaps.values_list("pk", flat=True)}
    through = TaskFound.filled_by.through
    pairs = through.objects.filter(taskfound__in=gaps).values_list("taskfound_id", "ballspec_id")
    for row, spec in pairs.iterator(chunk_size=5000):
        if row in by:
            by[row].add(spec)
    return by


def _stock_plan(
    shop: Shop,
    by: Mapping[int, set[int]],
    weights: Mapping[int, float],
    people: Mapping[int, int],
) -> list[dict[str, Any]]:
    """What to stock, a ball a row."""
    steps = cover.greedy({gap: frozenset(s) for gap, s in by.items()}, weights, MOST_STOCKED)
    specs = BallSpec.objects.select_related("model").in_bulk([step.ball for step in steps])
    shelf = dict(
        StockBall.objects.filter(shop=shop, state="shelf", spec__in=specs)
        .values_list("spec")
        .annotate(count=Count("pk"))
    )
    return [
        {
            "ball": str(specs[step.ball].model.name),
            "weight_lb": specs[step.ball].weight_lb,
            "on_shelf": shelf.get(step.ball, 0),
            "customers": len({people[gap] for gap in step.fills}),
            "adds": round(step.adds, 3),
            "filled": round(step.filled, 3),
        }
        for step in steps
    ]


def _slow(
    shop: Shop,
    by: Mapping[int, set[int]],
    weights: Mapping[int, float],
    people: Mapping[int, int],
) -> list[dict[str, Any]]:
    """Balls on the shelf for long, the longest first, with the customers whose gaps they would
    fill, those first who meet it most."""
    now = timezone.now()
    balls = list(
        StockBall.objects.filter(
            shop=shop, state="shelf", created_at__lt=now - dt.timedelta(days=SLOW_DAYS)
        ).order_by("created_at", "pk")[:SLOW_TOLD]
    )
    wanted = {ball.spec_id for ball in balls}
    suits: dict[int, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    for gap, specs in by.items():
        for spec in specs & wanted:
            suits[spec][people[gap]] += weights[gap]
    return [
        {
            "ball": ball.pk,
            "since": f"{timezone.localdate(ball.created_at)}",
            "customers": sorted(found, key=lambda one: (-found[one], one))[:SUITS_TOLD],
            "of": len(found),
        }
        for ball in balls
        for found in [suits[ball.spec_id]]
    ]
