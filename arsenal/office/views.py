"""The owner's page, and what is on it as a file."""

from __future__ import annotations

import csv
import io
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import render
from django.views.decorators.http import require_safe

from arsenal.office import services
from arsenal.office.cover import GUARANTEE
from arsenal.office.models import StockPlan
from arsenal.office.tasks import work_plan_out
from proshop.access import ShopRequest, once, owner_required
from proshop.files.guard import defused
from proshop.files.views import csv_answer

LONGEST = 160


@owner_required
@once
def office(request: ShopRequest) -> HttpResponse:
    """Which gaps are common; posting works the stock plan out anew."""
    if request.method == "POST":
        if services.ask_for_plan(request.shop):
            work_plan_out.enqueue(request.shop.pk)
            messages.success(request, "The stock plan is being worked out. Look again in a minute.")
        else:
            messages.info(request, "The stock plan is being worked out already.")
        return HttpResponseRedirect(request.get_full_path())
    wanted = wanted_of(request.GET)
    context = {
        "overview": services.overview(request.shop, wanted),
        "wanted": [
            (services.label_of(name, value), _without(wanted, name))
            for name, value in wanted.items()
        ],
        "query": urlencode(wanted),
        "plan": StockPlan.objects.filter(shop=request.shop).first(),
        "guarantee": round(100 * GUARANTEE),
        "slow": services.slow_shelf(request.shop),
        "slow_days": services.SLOW_DAYS,
        "followed": services.followed(request.shop),
    }
    return render(request, "arsenal/office/office.html", context)


def wanted_of(given: QueryDict) -> dict[str, str]:
    """The filters of an address; what no gap has simply finds none."""
    wanted = {}
    for name in services.FILTERS:
        if name in given:
            value = str(given[name])[:LONGEST].replace("\x00", "")
            if name == "weight_lb" and not (value.isascii() and value.isdigit()):
                continue
            wanted[name] = value[:3] if name == "weight_lb" else value
    return wanted


def _without(wanted: dict[str, str], name: str) -> str:
    return urlencode({key: value for key, value in wanted.items() if key != name})


@owner_required
@require_safe
def office_file(request: ShopRequest) -> HttpResponse:
    """Every count of the page as CSV, filtered likewise."""
    overview = services.overview(request.shop, wanted_of(request.GET))
    out = io.StringIO()
    rows = csv.writer(out)
    rows.writerow(["counted by", "of", "customers", "customers with a gap"])
    rows.writerow(["all", "", overview.customers, overview.with_gap])
    for _, title, bars in overview.groups:
        for bar in bars:
            rows.writerow([title, defused(bar.label), bar.customers, bar.with_gap])
    for bar in overview.months:
        rows.writerow(["By month", bar.value, bar.customers, bar.with_gap])
    return csv_answer(out.getvalue(), "gaps")


@owner_required
@require_safe
def stock_file(request: ShopRequest) -> HttpResponse:
    """The stock plan as CSV."""
    plan = StockPlan.objects.filter(shop=request.shop).first()
    out = io.StringIO()
    rows = csv.writer(out)
    rows.writerow(
        ["place", "ball", "weight (lb)", "on the shelf", "customers", "adds", "filled so far"]
    )
    for place, row in enumerate(plan.rows if plan else [], start=1):
        rows.writerow(
            [place, defused(row["ball"]), row["weight_lb"], row["on_shelf"], row["customers"],
             row["adds"], row["filled"]]
        )  # fmt: skip
    return csv_answer(out.getvalue(), "stock-plan")
