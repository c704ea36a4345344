"""Noting what rankings found, counting it, and the stock plan."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Count, Q, QuerySet
from django.db.models.functions import TruncMonth
from django.utils import timezone

from arsenal.advice.models import Ranking
from arsenal.catalogue.models import BallSpec, StockBall
from arsenal.lanes.models import Condition
from arsenal.office import cover
from arsenal.office.models import StockPlan, TaskFound
from arsenal.press.models import DrillPlan
from bowlers.models import Bowler
from bowlers.summary import MATCHED_RPM, revs_over_speed
from proshop.models import Shop

# A customer is active who was ranked within so long; trends go back as far.
ACTIVE_DAYS = 548
# The same rule as the window's: within 5 % of the best available scores.
SCORES = 0.95
MOST_STOCKED = 12
SLOW_DAYS = 120
SLOW_TOLD = 25
LOST_AFTER = dt.timedelta(minutes=15)


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
        earlier.update(latest=False)
    total = sum(task["weight"] for task in tasks) or 1.0
    houses = dict(
        Condition.objects.filter(pk__in=[task["condition_id"] for task in tasks]).values_list(
            "pk", "house_id"
        )
    )
    fills = _specs_filling(result)
    rows = TaskFound.objects.bulk_create(
        TaskFound(
            ranking=ranking,
            shop_id=ranking.shop_id,
            bowler_id=ranking.bowler_id,
            house_id=houses.get(task["condition_id"]),
            task=str(task["name"])[:160],
            weight=task["weight"] / total,
            gap=bool(task["gap"] and task["window"]),
            side=_side(task),
            hand=ranking.inputs.get("customer", {}).get("hand", ""),
            kind=kind_of(ranking.inputs.get("delivery", {})),
            weight_lb=ranking.inputs.get("weight_lb") or 0,
            found_on=timezone.localdate(ranking.finished_at),
            latest=not newer,
        )
        for task in tasks
    )
    through = TaskFound.filled_by.through
    through.objects.bulk_create(
        through(taskfound_id=row.pk, ballspec_id=spec)
        for row, specs in zip(rows, fills, strict=True)
        if row.gap
        for spec in sorted(specs)
    )


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
    return task.get("gap_side") or ""


def _specs_filling(result: Mapping[str, Any]) -> list[set[int]]:
    """For each task the specs that would score on it."""
    tasks = result["tasks"]
    found: list[set[int]] = [set() for _ in tasks]
    rows = result.get("fills", [])
    shelf = [row["id"] for row in rows if row["place"] == "shelf"]
    spec_of = dict(StockBall.objects.filter(pk__in=shelf).values_list("pk", "spec_id"))
    there = set(
        BallSpec.objects.filter(
            pk__in=[row["id"] for row in rows if row["place"] == "order"]
        ).values_list("pk", flat=True)
    )
    for row in rows:
        spec = spec_of.get(row["id"]) if row["place"] == "shelf" else row["id"]
        if spec is None or (row["place"] == "order" and spec not in there):
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


@dataclass(frozen=True)
class Bar:
    """Customers of one sort: how many, and how many of them have a gap."""

    label: str
    value: str
    customers: int
    with_gap: int

    @property
    def share(self) -> float:
        return self.with_gap / self.customers if self.customers else 0.0

    @property
    def percent(self) -> int:
        return round(100 * self.share)


@dataclass(frozen=True)
class Overview:
    """The counts of the page."""

    customers: int
    with_gap: int
    without_ranking: int
    oldest: dt.date | None
    groups: list[tuple[str, str, list[Bar]]]
    months: list[Bar]

    @property
    def percent(self) -> int:
        return round(100 * self.with_gap / self.customers) if self.customers else 0


GROUPS = (
    ("task", "By condition"),
    ("side", "By side"),
    ("kind", "By release"),
    ("hand", "By hand"),
    ("weight_lb", "By ball weight"),
    ("house__name", "By house"),
)
FILTERS = ("task", "side", "kind", "hand", "weight_lb", "house__name")


def active(shop: Shop) -> QuerySet[TaskFound]:
    since = timezone.localdate() - dt.timedelta(days=ACTIVE_DAYS)
    return TaskFound.objects.filter(shop=shop, latest=True, found_on__gte=since)


def overview(shop: Shop, wanted: Mapping[str, str]) -> Overview:
    """Counts over active customers, of those that pass the filters."""
    rows = active(shop).filter(**wanted)
    gap = Count("bowler", distinct=True, filter=Q(gap=True))
    people = Count("bowler", distinct=True)
    whole = rows.aggregate(customers=people, with_gap=gap)
    first = rows.order_by("found_on").values_list("found_on", flat=True).first()
    groups = []
    for name, title in GROUPS:
        counted = rows.filter(gap=True) if name == "side" else rows
        found = counted.values(name).annotate(customers=people, with_gap=gap)
        bars = [
            Bar(label_of(name, row[name]), str(row[name] or ""), row["customers"], row["with_gap"])
            for row in found.order_by("-with_gap", name)
        ]
        groups.append((name, title, bars))
    ranked = active(shop).values("bowler").distinct().count()
    everybody = Bowler.objects.for_shop(shop).count()
    return Overview(
        customers=whole["customers"],
        with_gap=whole["with_gap"],
        without_ranking=max(0, everybody - ranked),
        oldest=first,
        groups=groups,
        months=_months(shop, wanted),
    )


def _months(shop: Shop, wanted: Mapping[str, str]) -> list[Bar]:
    """Every ranking counts in its month, also those with a newer one."""
    since = timezone.localdate() - dt.timedelta(days=ACTIVE_DAYS)
    rows = TaskFound.objects.filter(shop=shop, found_on__gte=since, **wanted)
    found = (
        rows.annotate(month=TruncMonth("found_on"))
        .values("month")
        .annotate(
            customers=Count("bowler", distinct=True),
            with_gap=Count("bowler", distinct=True, filter=Q(gap=True)),
        )
        .order_by("month")
    )
    return [
        Bar(f"{row['month']:%b %Y}", f"{row['month']:%Y-%m}", row["customers"], row["with_gap"])
        for row in found
    ]


def label_of(name: str, value: Any) -> str:
    if name in {"side", "kind"}:
        choices = TaskFound.Side if name == "side" else TaskFound.Kind
        return str(dict(choices.choices).get(value or "", value))
    if name == "hand":
        return "Right-handed" if value == "right" else "Left-handed"
    if name == "weight_lb":
        return f"{value} lb"
    return str(value or "No house")


def ask_for_plan(shop: Shop) -> bool:
    """Note that a plan is being worked out; False if one is already."""
    plan, _ = StockPlan.objects.get_or_create(shop=shop)
    now = timezone.now()
    free = Q(started_at=None) | Q(started_at__lt=now - LOST_AFTER)
    asked = StockPlan.objects.filter(free, pk=plan.pk).update(started_at=now, progress=0)
    return bool(asked)


def make_plan(shop: Shop) -> StockPlan:
    """Lay out what isn't yet, and work the stock plan out. Safe to run twice."""
    plan, _ = StockPlan.objects.get_or_create(shop=shop)
    note_all(shop)
    StockPlan.objects.filter(pk=plan.pk).update(progress=40)
    gaps = active(shop).filter(gap=True)
    weights = dict(gaps.values_list("pk", "weight"))
    by: dict[int, set[int]] = {pk: set() for pk in weights}
    through = TaskFound.filled_by.through
    pairs = through.objects.filter(taskfound__in=gaps).values_list("taskfound_id", "ballspec_id")
    for row, spec in pairs.iterator(chunk_size=5000):
        by[row].add(spec)
    people = dict(gaps.values_list("pk", "bowler_id"))
    StockPlan.objects.filter(pk=plan.pk).update(progress=70)
    steps = cover.greedy({gap: frozenset(s) for gap, s in by.items()}, weights, MOST_STOCKED)
    specs = BallSpec.objects.select_related("model").in_bulk([step.ball for step in steps])
    shelf = dict(
        StockBall.objects.filter(shop=shop, sold=False, spec__in=specs)
        .values_list("spec")
        .annotate(count=Count("pk"))
    )
    plan.rows = [
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
    plan.gaps = round(sum(weights.values()), 3)
    plan.customers = len(set(people.values()))
    plan.made_at, plan.started_at, plan.progress = timezone.now(), None, 100
    plan.save()
    return plan


@dataclass(frozen=True)
class Slow:
    """A ball that has stood on the shelf for long, and whom it would suit."""

    ball: StockBall
    days: int
    customers: list[Bowler]


def slow_shelf(shop: Shop) -> list[Slow]:
    """Balls on the shelf for long, the longest first, with customers whose gaps they would fill."""
    before = timezone.now() - dt.timedelta(days=SLOW_DAYS)
    balls = list(
        StockBall.objects.filter(shop=shop, sold=False, created_at__lt=before)
        .select_related("spec__model")
        .order_by("created_at")[:SLOW_TOLD]
    )
    suits: dict[int, dict[int, Bowler]] = {}
    through = TaskFound.filled_by.through
    pairs = through.objects.filter(
        taskfound__in=active(shop).filter(gap=True), ballspec__in={ball.spec_id for ball in balls}
    ).select_related("taskfound__bowler")
    for pair in pairs[:2000]:
        found = suits.setdefault(pair.ballspec_id, {})
        found[pair.taskfound.bowler_id] = pair.taskfound.bowler
    now = timezone.now()
    return [
        Slow(ball, (now - ball.created_at).days, list(suits.get(ball.spec_id, {}).values())[:5])
        for ball in balls
    ]


@dataclass(frozen=True)
class Followed:
    """What became of advice: plans that follow it, plans that don't with their reasons."""

    followed: int
    otherwise: int
    reasons: list[DrillPlan]


def followed(shop: Shop) -> Followed:
    plans = DrillPlan.objects.filter(shop=shop).exclude(state=DrillPlan.State.ASIDE)
    advised = plans.exclude(ranking=None)
    other = advised.exclude(reason="")
    return Followed(
        followed=advised.filter(reason="").count(),
        otherwise=other.count(),
        reasons=list(other.select_related("bowler", "spec__model").order_by("-pk")[:10]),
    )
