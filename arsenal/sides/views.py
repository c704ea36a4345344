"""The page of two balls beside one another."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe
from django_htmx.http import replace_url

from arsenal import engine
from arsenal.advice import charts
from arsenal.fields import whole_number
from arsenal.phone import sheets
from arsenal.phone.models import PhoneLink
from arsenal.refusals import refusal_words
from arsenal.sides.forms import SIDES, SidesForm
from bowlers.models import Bowler
from physics.errors import InputError
from proshop.access import ShopRequest, once, staff_required

INCOMPLETE = "The customer’s record isn’t complete any more."
PICKED = (
    *(f"{side}_{part}" for side in SIDES for part in ("ball", "layout", "surface")),
    *("on", "worn", "way", "boards", "pace", "night"),
)
FULL = (
    f"{sheets.MOST_SHEETS} of these are on the phone page, and it takes no more: "
    "take one off there first."
)


@staff_required
@require_safe
def sides(request: ShopRequest, pk: int) -> HttpResponse:
    """Two balls thrown. Nothing is stored; the address holds what was picked."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop).select_related("shop"), pk=pk)
    context: dict[str, Any] = {"bowler": bowler, "page": "sides"}
    try:
        asked = engine.inputs_for(bowler)
    except engine.Missing as incomplete:
        context["missing"] = incomplete.wanted
        return render(request, "arsenal/advice/missing.html", context)
    form = SidesForm(asked, request.GET)
    context["form"] = form
    if form.is_valid():
        try:
            context |= _found(engine.side_by_side(asked, form.balls(), form.look()))
            context["picked"] = form.data
            context["how"] = form.how()
        except InputError as error:
            context["refusal"] = refusal_words(error)
    if not request.htmx:
        return render(request, "arsenal/sides/sides.html", context)
    response = render(request, "arsenal/sides/_found.html", context)
    return replace_url(response, f"?{urlencode(form.data)}")


@staff_required
@require_safe
def night(request: ShopRequest, pk: int) -> HttpResponse:
    """Which ball when over a set, as a part of the page."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop).select_related("shop"), pk=pk)
    on = request.GET.get("on", "0")
    context: dict[str, Any] = {"bowler": bowler, "picked": {"on": on, "night": "1"}}
    try:
        context["plan"] = _plan(engine.inputs_for(bowler), on)
    except engine.Missing:
        context["refusal"] = INCOMPLETE
    except InputError as error:
        context["refusal"] = refusal_words(error)
    return render(request, "arsenal/sides/_night.html", context)


@staff_required
@once
def show(request: ShopRequest, pk: int) -> HttpResponse:
    """Put what is seen on the customer's phone page: both balls, or with ``night`` the plan."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop).select_related("shop"), pk=pk)
    if request.method != "POST":
        return redirect("sides", bowler.pk)
    refusal = _put_on_page(request, bowler)
    if request.htmx:
        link = PhoneLink.objects.filter(bowler=bowler).first()
        picked = {name: request.POST[name] for name in PICKED if name in request.POST}
        context = {
            "bowler": bowler,
            "refusal": refusal,
            "shown": not refusal,
            "page_open": link is not None and link.is_open,
            "picked": picked,
        }
        status = 422 if refusal else 200
        return render(request, "arsenal/sides/_show.html", context, status=status)
    if refusal:
        messages.error(request, refusal)
        return redirect("sides", bowler.pk)
    messages.success(request, "It is on the phone page.")
    return redirect("phone-link", bowler.pk)


def _put_on_page(request: ShopRequest, bowler: Bowler) -> str:
    """Why it can't be put on the page, in words; empty where it was."""
    try:
        asked = engine.inputs_for(bowler)
        if "night" in request.POST:
            plan = _plan(asked, request.POST.get("on"))
            if not plan["games"]:
                return "There is no ball in the bag to plan with."
            sheets.show_night(bowler=bowler, plan=plan, user=request.user)
            return ""
        form = SidesForm(asked, request.POST)
        if not form.is_valid():
            return "Something picked here isn’t there any more. Pick again above."
        found = engine.side_by_side(asked, form.balls(), form.look())
        surfaced = any(form.cleaned_data[f"{side}_surface"] for side in SIDES)
        sheets.show_sides(bowler=bowler, found=found, surfaced=surfaced, user=request.user)
    except engine.Missing:
        return INCOMPLETE
    except InputError as error:
        return refusal_words(error)
    except sheets.Full:
        return FULL
    return ""


def _plan(asked: dict[str, Any], on: str | None) -> dict[str, Any]:
    place = min(whole_number(on) or 0, len(asked["conditions"]) - 1)
    return engine.night_plan(asked, place)


def _found(found: dict[str, Any]) -> dict[str, Any]:
    strip = {"task": found["condition"], "shots": found["shots"], "oil": found["oil"]}
    measures = engine.SIDE_MEASURES
    rest = [name for name in measures if name not in found["differences"]]
    rows = [
        {"measure": measures[name], "values": found["numbers"][name], "differs": differs}
        for names, differs in ((found["differences"], True), (rest, False))
        for name in names
    ]
    balls = zip(("A", "B"), found["shots"], found["lines"], strict=True)
    return {
        "said": found["said"],
        "condition": found["condition"],
        "figure": charts.strip_figure(strip),
        "rows": rows,
        "balls": [{"letter": letter, "shot": shot, "line": line} for letter, shot, line in balls],
        "strip": charts.strip_summary(strip),
    }
