"""What is on the owner's page, as files."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Any

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from arsenal.office import services
from arsenal.office.views import overview_of, report_of, slow_shelf, wanted_of
from proshop.access import ShopRequest, owner_required
from proshop.files.guard import defused
from proshop.files.views import csv_answer


def _file(name: str, heading: Sequence[str], rows: Iterable[Sequence[Any]]) -> HttpResponse:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(heading)
    for row in rows:
        writer.writerow([defused(one) if isinstance(one, str) else one for one in row])
    return csv_answer(out.getvalue(), name)


@owner_required
@require_safe
def gaps(request: ShopRequest) -> HttpResponse:
    """Every count of the page, filtered likewise."""
    report, _, _ = services.report_for(request.shop)
    overview = overview_of(report, wanted_of(request.GET))
    rows: list[Sequence[Any]] = []
    if overview is not None:
        rows.append(["all", "", overview.customers, overview.with_gap])
        for _, title, bars in overview.groups:
            rows += [[title, bar.label, bar.customers, bar.with_gap] for bar in bars]
        rows += [["By month", bar.value, bar.customers, bar.with_gap] for bar in overview.months]
    return _file("gaps", ["counted by", "of", "customers", "customers with a gap"], rows)


@owner_required
@require_safe
def stock(request: ShopRequest) -> HttpResponse:
    """The stock plan."""
    report = report_of(request.shop)
    heading = ["place", "ball", "weight (lb)", "on the shelf", "customers", "adds", "filled so far"]
    names = ("ball", "weight_lb", "on_shelf", "customers", "adds", "filled")
    plan = report.plan if report else []
    rows = ([place, *(row[name] for name in names)] for place, row in enumerate(plan, start=1))
    return _file("stock-plan", heading, rows)


@owner_required
@require_safe
def slow(request: ShopRequest) -> HttpResponse:
    """What has stood on the shelf for long, a row a customer it would suit."""
    report = report_of(request.shop)
    rows: list[Sequence[Any]] = []
    for one in slow_shelf(report) if report else ():
        ball = [str(one.ball), one.ball.serial, one.days]
        rows += [[*ball, customer.pk, customer.name] for customer in one.customers]
        rows += [] if one.customers else [[*ball, "", ""]]
    return _file("slow", ["ball", "serial", "days", "customer number", "customer"], rows)


@owner_required
@require_safe
def advice(request: ShopRequest) -> HttpResponse:
    """What became of advice, in all and by month."""
    report = report_of(request.shop)
    told = (report.told if report else {}).get("advice", {})
    names = ("plans", "drilled", "seen", "right", "rolly", "angular", "numbers", "inside", "back")
    heading = ["of", "plans", "drilled", "seen on the lanes", "just right", "too rolly",
               "too angular", "numbers seen", "of those as expected", "came back"]  # fmt: skip
    rows: list[Sequence[Any]] = [
        [row["name"], *(row[name] for name in names)] for row in told.get("outcomes", [])
    ]
    for month in told.get("months", []):
        rows.append([f"As advised, {month['month']}", month["followed"]])
        rows.append([f"Otherwise, {month['month']}", month["otherwise"]])
    return _file("advice", heading, rows)


@owner_required
@require_safe
def refits(request: ShopRequest) -> HttpResponse:
    """Balls drilled and back, by month and by what for; people measured again."""
    report = report_of(request.shop)
    told = (report.told if report else {}).get("refits", {})
    rows: list[Sequence[Any]] = []
    if told:
        rows += [
            ["fittings", "", told["fittings"]],
            ["fittings of people measured before", "", told["again"]],
            ["balls drilled", "", told["drilled"]],
            ["balls back", "", told["back"]],
        ]
        rows += [["balls back for", row["why"], row["balls"]] for row in told["why"]]
        for month in told["months"]:
            rows.append(["balls drilled in", month["month"], month["drilled"]])
            rows.append(["of those back", month["month"], month["back"]])
    return _file("refits", ["what", "of", "count"], rows)
