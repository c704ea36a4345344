"""Pages of gaps and next ball, and what they are made of while it is computed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from arsenal import engine
from arsenal.advice import charts, services
from arsenal.advice.choices import ChoiceFilter
from arsenal.advice.models import Ranking
from arsenal.advice.window_rows import window_rows
from arsenal.engine.inputs import OTHER, USUAL
from bowlers.engine import newest_fittings
from bowlers.grips.services import painful_grip
from bowlers.models import Bowler, Fitting
from proshop.access import ShopRequest, once, staff_required

A_YEAR_S = 365 * 24 * 3600


@staff_required
@once
def gaps(request: ShopRequest, pk: int) -> HttpResponse:
    """The window rows for the records as they are now."""
    return _answer(request, pk, page="gaps")


@staff_required
@once
def next_ball(request: ShopRequest, pk: int) -> HttpResponse:
    """The ranked choices for the records as they are now."""
    return _answer(request, pk, page="next-ball")


@staff_required
@once
def ranking(request: ShopRequest, pk: int) -> HttpResponse:
    """A stored ranking as it was, with what went into it; posting tries a failed one again."""
    stored = _ranking_of_shop(request, pk)
    if request.method == "POST":
        services.try_again(ranking=stored)
        return HttpResponseRedirect(request.path)
    if not stored.is_done:
        return _under_way(request, stored.bowler, stored, page="ranking")
    context = {
        **_common(stored.bowler, stored),
        **_gaps_context(stored, request),
        **_next_ball_context(stored, request),
        "changed": services.what_changed(stored),
        "inputs_text": _laid_out(stored.inputs),
        "page": "ranking",
    }
    return render(request, "arsenal/advice/ranking.html", context)


def _laid_out(inputs: dict[str, Any]) -> str:
    """JSON with one line for each record; a line for each number takes a page's time and length."""

    def line(value: Any) -> str:
        return json.dumps(value, sort_keys=True)

    def part(value: Any) -> str:
        if isinstance(value, list) and value:
            return "[\n  " + ",\n  ".join(map(line, value)) + "\n ]"
        return line(value)

    told = (f" {line(name)}: {part(value)}" for name, value in sorted(inputs.items()))
    return "{\n" + ",\n".join(told) + "\n}"


@staff_required
@require_safe
def ranking_progress(request: ShopRequest, pk: int) -> HttpResponse:
    """Polled once a second by the page of a ranking under way."""
    stored = _ranking_of_shop(request, pk, light=True)
    services.look_after(stored)
    if stored.is_done:
        return HttpResponse(headers={"HX-Refresh": "true"})
    return render(request, "arsenal/advice/_progress.html", _progress_context(stored))


@staff_required
@require_safe
@cache_control(private=True, max_age=A_YEAR_S, immutable=True)
def ranking_strip(request: ShopRequest, pk: int) -> HttpResponse:
    """The strip as a figure. A ranking that is done never changes, so nor does this."""
    stored = _ranking_of_shop(request, pk)
    strip = (stored.result or {}).get("strip")
    if not strip:
        return JsonResponse({"error": "This ranking has no strip to draw."}, status=404)
    return JsonResponse(charts.strip_figure(strip))


def _answer(request: ShopRequest, pk: int, *, page: str) -> HttpResponse:
    """The finished answer to today's question, or the page that asks and waits for it."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop).select_related("shop"), pk=pk)
    fittings = newest_fittings(bowler)
    other = fittings.get(Fitting.Purpose.OTHER)
    release = OTHER if other is not None and request.GET.get("release") == OTHER else USUAL
    about = {"other_fitting": other, "release": release}
    try:
        question = services.question_for(bowler, release, fittings)
    except engine.Missing as incomplete:
        context = {"bowler": bowler, "missing": incomplete.wanted, "page": page, **about}
        return render(request, "arsenal/advice/missing.html", context)
    if request.method == "POST":
        stored = services.request_ranking(bowler=bowler, question=question, user=request.user)
        if request.htmx:
            return render(request, "arsenal/advice/_progress.html", _progress_context(stored))
        return HttpResponseRedirect(request.get_full_path())
    found = services.answer_to(bowler=bowler, question=question)
    if found is None:
        found = services.answer_at_once(bowler=bowler, question=question, user=request.user)
    if found is None or not found.is_done:
        return _under_way(request, bowler, found, page=page, about=about)
    parts = _gaps_context if page == "gaps" else _next_ball_context
    context = {**_common(bowler, found), **parts(found, request), "page": page, **about}
    return render(request, f"arsenal/advice/{page.replace('-', '_')}.html", context)


def _under_way(
    request: ShopRequest,
    bowler: Bowler,
    stored: Ranking | None,
    *,
    page: str,
    about: Mapping[str, Any] | None = None,
) -> HttpResponse:
    if stored is not None:
        services.look_after(stored)
    context = {
        "bowler": bowler,
        "page": page,
        "earlier": services.earlier_answers(bowler),
        **(_progress_context(stored) if stored else {"ranking": None}),
        **(about or {}),
    }
    return render(request, "arsenal/advice/under_way.html", context)


def _ranking_of_shop(request: ShopRequest, pk: int, *, light: bool = False) -> Ranking:
    rankings = Ranking.objects.for_shop(request.shop).select_related("bowler", "shop")
    found: Ranking = get_object_or_404(rankings.light() if light else rankings, pk=pk)
    return found


def _progress_context(stored: Ranking) -> dict[str, Any]:
    return {"ranking": stored, "nobody": services.nobody_picked_up(stored)}


def _common(bowler: Bowler, stored: Ranking) -> dict[str, Any]:
    result = stored.result or {}
    return {
        "bowler": bowler,
        "ranking": stored,
        "result": result,
        "painful": painful_grip(bowler),
        "earlier": services.earlier_answers(bowler, but=stored),
    }


def _gaps_context(stored: Ranking, _request: HttpRequest) -> dict[str, Any]:
    return {"rows": window_rows(stored.result or {})}


def _next_ball_context(stored: Ranking, request: HttpRequest) -> dict[str, Any]:
    result = stored.result or {}
    return {
        "filter": ChoiceFilter.of(result, request.GET),
        "strip": charts.strip_summary(result.get("strip")),
    }
