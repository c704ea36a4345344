"""What became of advice and of balls: followed or not, seen on the lanes, drilled again, back."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable
from typing import Any

from django.db.models import Count, Min, Q
from django.db.models.functions import TruncMonth
from django.utils import timezone

from arsenal.advice.models import Ranking
from arsenal.afterwards.models import Look, Observation
from arsenal.afterwards.services import keep_expected
from arsenal.bag.models import OwnedBall
from arsenal.office.models import active_since
from arsenal.press.models import DrillPlan
from arsenal.tickets.models import Job, Ticket
from bowlers.models import Fitting
from proshop.models import Shop

# A ball is back that comes to the press again, or is sold, so soon after it was drilled.
BACK_DAYS = 60
REASONS_TOLD = 10
# So many observations are set beside what was expected of them at a time.
EXPECTED_AT_A_TIME = 40
PRESS_AGAIN = (Job.REDRILL, Job.PLUG, Job.THUMB)


def advice_told(shop: Shop) -> dict[str, Any]:
    """Advice given, followed and overridden, in all and by month, and how either turned out."""
    since = _since()
    plans = (
        DrillPlan.objects.filter(shop=shop, created_at__gte=since)
        .exclude(ranking=None)
        .exclude(state=DrillPlan.State.ASIDE)
    )
    followed, otherwise = plans.filter(reason=""), plans.exclude(reason="")
    return {
        "given": Ranking.objects.filter(shop=shop, status="done", finished_at__gte=since)
        .values("bowler")
        .distinct()
        .count(),
        "outcomes": [
            {"name": "As advised", **_turned_out(shop, followed)},
            {"name": "Otherwise", **_turned_out(shop, otherwise)},
        ],
        "reasons": list(otherwise.order_by("-pk").values_list("pk", flat=True)[:REASONS_TOLD]),
        "months": [
            {"month": f"{month:%Y-%m}", "followed": yes, "otherwise": no}
            for month, yes, no in plans.annotate(month=TruncMonth("created_at"))
            .values("month")
            .annotate(yes=Count("pk", filter=Q(reason="")), no=Count("pk", filter=~Q(reason="")))
            .order_by("month")
            .values_list("month", "yes", "no")
        ],
    }


def _turned_out(shop: Shop, plans: Any) -> dict[str, Any]:
    """Of these plans: drilled, back, seen on the lanes, how it looked, and within what was
    expected (80 % of what is seen should be)."""
    drilled = plans.filter(state=DrillPlan.State.DRILLED).exclude(ball=None)
    when: dict[int, dt.datetime] = {}
    for ball, at in drilled.order_by("drilled_at").values_list("ball", "drilled_at"):
        when.setdefault(ball, at)
    looks: Counter[str] = Counter()
    numbers = inside = 0
    seen_balls = set()
    seen = Observation.objects.filter(
        shop=shop, set_aside=False, ball__in=drilled.values("ball")
    ).values_list("ball", "seen_on", "look", "expected")
    for ball, on, look, expected in seen:
        at = when.get(ball)
        if at is None or on < timezone.localdate(at):
            continue
        seen_balls.add(ball)
        looks[look] += 1
        for row in expected or ():
            numbers += 1
            inside += row["low"] <= row["seen"] <= row["high"]
    return {
        "plans": plans.count(),
        "drilled": len(when),
        "seen": len(seen_balls),
        **{look.value: looks[look.value] for look in Look},
        "numbers": numbers,
        "inside": inside,
        "back": len(_back(shop, when)),
    }


def refits_told(shop: Shop) -> dict[str, Any]:
    """People measured again, and balls drilled here that came back, in all and by month."""
    since = _since()
    when: dict[int, dt.datetime] = {}
    drilled = DrillPlan.objects.filter(
        shop=shop, state=DrillPlan.State.DRILLED, again=False, drilled_at__gte=since
    ).exclude(ball=None)
    for ball, at in drilled.order_by("drilled_at").values_list("ball", "drilled_at"):
        when.setdefault(ball, at)
    back = _back(shop, when)
    months: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    for ball, at in when.items():
        month = months[f"{timezone.localtime(at):%Y-%m}"]
        month[0] += 1
        month[1] += ball in back
    fittings = Fitting.objects.filter(
        shop=shop, status="finished", purpose="usual", fitted_on__gte=since.date()
    )
    firsts = dict(
        Fitting.objects.filter(shop=shop, status="finished", purpose="usual")
        .values_list("bowler")
        .annotate(first=Min("fitted_on"))
    )
    measured = list(fittings.values_list("bowler", "fitted_on"))
    return {
        "fittings": len(measured),
        "again": sum(on > firsts[bowler] for bowler, on in measured),
        "drilled": len(when),
        "back": len(back),
        "why": [
            {"why": why, "balls": count} for why, count in Counter(back.values()).most_common()
        ],
        "months": [
            {"month": month, "drilled": some, "back": again}
            for month, (some, again) in sorted(months.items())
        ],
    }


def _back(shop: Shop, when: dict[int, dt.datetime]) -> dict[int, str]:
    """Balls that came back soon after they were drilled, and what for first."""
    soon = dt.timedelta(days=BACK_DAYS)
    labels = dict(Job.choices)
    found: list[tuple[dt.datetime, int, str]] = []
    plans = DrillPlan.objects.filter(shop=shop, again=True, state=DrillPlan.State.DRILLED)
    found += [(at, ball, "Drilled again") for ball, at in plans.values_list("ball", "drilled_at")]
    tickets = Ticket.objects.filter(shop=shop, job__in=PRESS_AGAIN).exclude(step="off")
    found += [
        (at, ball, "Drilled again" if job == Job.REDRILL else labels[job])
        for ball, job, at in tickets.values_list("ball", "job", "created_at")
    ]
    sold = OwnedBall.objects.filter(shop=shop).exclude(sold_on=None)
    found += [
        (timezone.make_aware(dt.datetime.combine(on, dt.time(12))), ball, "Sold or given back")
        for ball, on in sold.values_list("pk", "sold_on")
    ]
    back: dict[int, str] = {}
    for at, ball, why in sorted(one for one in found if one[0] and one[1] in when):
        if when[ball] < at <= when[ball] + soon:
            back.setdefault(ball, why)
    return back


def expect_what_was_seen(shop: Shop) -> int:
    """Set observations of balls drilled here beside what was expected of them, the newest of those
    that aren't yet, and keep it with them; how many."""
    drilled = DrillPlan.objects.filter(shop=shop, state=DrillPlan.State.DRILLED)
    missing: Iterable[Observation] = (
        Observation.objects.for_shop(shop)
        .filter(
            set_aside=False,
            expected__isnull=True,
            ball__in=drilled.exclude(ball=None).values("ball"),
        )
        .with_records()
        .newest_first()[:EXPECTED_AT_A_TIME]
    )
    count = 0
    for observation in missing:
        keep_expected(observation)
        count += 1
    return count


def _since() -> dt.datetime:
    return timezone.make_aware(dt.datetime.combine(active_since(timezone.localdate()), dt.time()))
