"""The page of two balls beside one another."""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django_htmx.http import replace_url

from arsenal import engine
from arsenal.advice import charts, services
from arsenal.fields import whole_number
from arsenal.refusals import refusal_words
from arsenal.sides.forms import SidesForm
from bowlers.models import Bowler
from physics.errors import InputError
from proshop.access import ShopRequest, staff_required


@staff_required
@require_safe
def sides(request: ShopRequest, pk: int) -> HttpResponse:
    """Two balls thrown. Nothing is stored; the address holds what was picked."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop).select_related("shop"), pk=pk)
    context: dict[str, Any] = {"bowler": bowler, "page": "sides"}
    try:
        asked = services.question_for(bowler).inputs
    except engine.Missing as incomplete:
        context["missing"] = incomplete.wanted
        return render(request, "arsenal/advice/missing.html", context)
    form = SidesForm(asked, request.GET)
    context["form"] = form
    if form.is_valid():
        try:
            context |= _found(engine.side_by_side(asked, form.balls(), form.look()))
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
    context: dict[str, Any] = {"bowler": bowler}
    try:
        asked = services.question_for(bowler).inputs
        place = whole_number(request.GET.get("on")) or 0
        context["plan"] = engine.night_plan(asked, min(place, len(asked["conditions"]) - 1))
    except engine.Missing:
        context["refusal"] = "The customer’s record isn’t complete any more."
    except InputError as error:
        context["refusal"] = refusal_words(error)
    return render(request, "arsenal/sides/_night.html", context)


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
        "figure": json.loads(charts.strip_figure(strip)),
        "rows": rows,
        "balls": [{"letter": letter, "shot": shot, "line": line} for letter, shot, line in balls],
        "strip": charts.strip_summary(strip),
    }
