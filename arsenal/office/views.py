"""The owner's page."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from arsenal.catalogue.models import StockBall
from arsenal.office import counts, outcomes, services
from arsenal.office.cover import GUARANTEE
from arsenal.office.models import OfficeReport
from arsenal.office.table import FILTERS, table_of
from arsenal.office.tasks import work_report_out
from arsenal.press.models import DrillPlan
from bowlers.models import Bowler
from proshop.access import ShopRequest, once, owner_required
from proshop.models import Shop

LONGEST = 160
# The curve of the stock plan, in the units of its picture.
WIDE, HIGH = 240, 80


@owner_required
@once
def office(request: ShopRequest) -> HttpResponse:
    """Which gaps are common; posting has all of it worked out anew."""
    if request.method == "POST":
        if services.ask_for_report(request.shop):
            work_report_out.enqueue(request.shop.pk)
            messages.success(request, "Everything here is being worked out anew.")
        else:
            messages.info(request, "It is being worked out already.")
        return HttpResponseRedirect(request.get_full_path())
    report, since, ask = services.report_for(request.shop)
    if ask:
        work_report_out.enqueue(request.shop.pk)
    wanted = wanted_of(request.GET)
    context = {
        "report": report,
        "since": since,
        "overview": overview_of(report, wanted),
        "everybody": Bowler.objects.for_shop(request.shop).count(),
        "wanted": [
            (counts.label_of(name, value), _without(wanted, name)) for name, value in wanted.items()
        ],
        "query": urlencode(wanted),
        "guarantee": round(100 * GUARANTEE),
        "curve": curve(report),
        "weights": weights_to_order(report.plan),
        "slow": slow_shelf(report),
        "slow_days": services.SLOW_DAYS,
        "advice": report.told.get("advice"),
        "reasons": reasons_told(report),
        "refits": report.told.get("refits"),
        "back_days": outcomes.BACK_DAYS,
    }
    return render(request, "arsenal/office/office.html", context)


@owner_required
@require_safe
def standing(request: ShopRequest) -> HttpResponse:
    """Polled by the page while a report is being worked out."""
    report = OfficeReport.objects.filter(shop=request.shop).defer("table").first()
    if report is None or report.started_at is None:
        return HttpResponse(headers={"HX-Refresh": "true"})
    return render(request, "arsenal/office/_standing.html", {"report": report})


def overview_of(report: OfficeReport | None, wanted: Mapping[str, str]) -> counts.Overview | None:
    if report is None or report.table is None:
        return None
    return counts.overview(table_of(bytes(report.table)), wanted)


def wanted_of(given: QueryDict) -> dict[str, str]:
    """The filters of an address; what no gap has simply finds none."""
    return {
        name: str(given[name])[:LONGEST].replace("\x00", "") for name in FILTERS if name in given
    }


def _without(wanted: Mapping[str, str], name: str) -> str:
    return urlencode({key: value for key, value in wanted.items() if key != name})


def curve(report: OfficeReport) -> str:
    """Gaps filled against how many balls, as points of a line that starts at none."""
    if not report.plan or not report.gaps:
        return ""
    points = [(0.0, float(HIGH))] + [
        (WIDE * n / len(report.plan), HIGH * (1 - row["filled"] / report.gaps))
        for n, row in enumerate(report.plan, start=1)
    ]
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def weights_to_order(plan: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The plan by weight, the heaviest first: what is to be ordered and what is there already."""
    by: dict[int, dict[str, Any]] = defaultdict(lambda: {"order": [], "there": [], "customers": 0})
    for row in plan:
        found = by[row["weight_lb"]]
        found["there" if row["on_shelf"] else "order"].append(row["ball"])
        found["customers"] += row["customers"]
    return [{"weight_lb": weight, **by[weight]} for weight in sorted(by, reverse=True)]


@dataclass(frozen=True)
class Slow:
    """A ball that has stood on the shelf for long, whom it would suit, and how many more."""

    ball: StockBall
    days: int
    customers: list[Bowler]
    more: int


def slow_shelf(report: OfficeReport) -> list[Slow]:
    """As the report has them, but those sold since and customers gone since."""
    rows = report.told.get("slow", [])
    balls = (
        StockBall.objects.filter(pk__in=[row["ball"] for row in rows], state="shelf")
        .select_related("spec__model")
        .in_bulk()
    )
    people = Bowler.objects.in_bulk([pk for row in rows for pk in row["customers"]])
    today = timezone.localdate()
    return [
        Slow(
            balls[row["ball"]],
            (today - dt.date.fromisoformat(row["since"])).days,
            [people[pk] for pk in row["customers"] if pk in people],
            row["of"] - len(row["customers"]),
        )
        for row in rows
        if row["ball"] in balls
    ]


def reasons_told(report: OfficeReport) -> list[DrillPlan]:
    """Plans that differ from the advice, the newest first."""
    ids = report.told.get("advice", {}).get("reasons", [])
    return list(
        DrillPlan.objects.filter(pk__in=ids).select_related("bowler", "spec__model").order_by("-pk")
    )


def report_of(shop: Shop) -> OfficeReport | None:
    """The one there is, for its files."""
    report: OfficeReport | None = OfficeReport.objects.filter(shop=shop).first()
    return report
