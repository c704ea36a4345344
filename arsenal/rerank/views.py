"""How far the ranking of all customers is, and the button that asks for it."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.views.decorators.http import require_safe

from arsenal.rerank import services
from arsenal.rerank.tasks import gather_all
from proshop.access import ShopRequest, once, staff_required


@staff_required
@once
def everybody(request: ShopRequest) -> HttpResponse:
    """The latest occasion; posting starts another unless one is under way."""
    if request.method == "POST":
        latest = services.latest(request.shop)
        if latest is None or not services.is_under_way(latest):
            stale_only = bool(request.POST.get("stale"))
            rerank = services.start(shop=request.shop, user=request.user, stale_only=stale_only)
            gather_all.enqueue(rerank.pk)
        return HttpResponseRedirect(request.path)
    return render(request, "arsenal/rerank/rerank.html", _context(request))


@staff_required
@require_safe
def standing(request: ShopRequest) -> HttpResponse:
    """Polled by the page while anybody is to come."""
    return render(request, "arsenal/rerank/_standing.html", _context(request))


def _context(request: ShopRequest) -> dict[str, Any]:
    rerank = services.latest(request.shop)
    if rerank is None:
        return {"rerank": None, "under_way": False}
    services.look_after(rerank)
    now = services.standing(rerank)
    return {
        "rerank": rerank,
        "standing": now,
        "under_way": services.is_under_way(rerank),
        "nobody": services.nobody_picked_up(rerank),
        "left": services.left_words(rerank, now),
        "failed": services.failed(rerank),
        "left_out": services.left_out(rerank),
    }
