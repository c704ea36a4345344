"""Grips: the one in use with earlier ones beside it, a new one, changes, and the live drawing."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bowlers import hub
from bowlers.grips.beside import BESIDE, growth, rows
from bowlers.grips.forms import GripForm
from bowlers.grips.models import Grip
from bowlers.grips.preview import half_typed, preview
from bowlers.grips.services import Beginning, beginning, latest_grip, save_grip
from bowlers.models import Bowler
from proshop.access import ShopRequest, once, staff_required
from proshop.history import changes


def find_bowler(request: ShopRequest, pk: int) -> Bowler:
    bowler: Bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    return bowler


def find_grip(request: ShopRequest, pk: int) -> Grip:
    grips = Grip.objects.for_shop(request.shop).select_related("bowler")
    grip: Grip = get_object_or_404(grips, pk=pk)
    return grip


@staff_required
@require_GET
def grips(request: ShopRequest, pk: int) -> HttpResponse:
    """The newest grip, or what to do first when there is none."""
    bowler = find_bowler(request, pk)
    newest = latest_grip(bowler)
    if newest is not None:
        return redirect(newest)
    context = {"bowler": bowler, "links": hub.grip_links(bowler)}
    return render(request, "bowlers/grip_none.html", context)


@staff_required
@require_GET
def grip(request: ShopRequest, pk: int) -> HttpResponse:
    """One grip, drawn, with the earlier ones beside it and the change in each number."""
    found = find_grip(request, pk)
    bowler = found.bowler
    earlier = list(bowler.grips.before(found).newest_first())
    context = {
        "grip": found,
        "bowler": bowler,
        "preview": preview(found, bowler.hand),
        "rows": rows(found, earlier[:BESIDE], bowler.hand),
        "latest": earlier[:BESIDE],
        "older": earlier[BESIDE:],
        "newer": bowler.grips.newest_first().first(),
        "held_otherwise": (found.thumb, found.fingers) != (bowler.thumb, bowler.fingers),
        "growth": growth(found, earlier[0] if earlier else None, bowler.born),
        "links": hub.grip_links(bowler),
        "changes": changes(found),
    }
    return render(request, "bowlers/grip.html", context)


@staff_required
@require_http_methods(["GET", "POST"])
@once
def grip_add(request: ShopRequest, pk: int) -> HttpResponse:
    """A new grip, from the last one if the ball is held the same way, else from starting points."""
    bowler = find_bowler(request, pk)
    return new_grip(request, bowler, beginning(bowler))


@staff_required
@require_http_methods(["GET", "POST"])
@once
def grip_edit(request: ShopRequest, pk: int) -> HttpResponse:
    """Put a grip right; a new measurement is a new grip."""
    found = find_grip(request, pk)
    form = GripForm(request.POST or None, instance=found, hand=found.bowler.hand)
    if request.method == "POST" and form.is_valid():
        return redirect(save_grip(form=form))
    context = {"heading": f"Edit the grip of {found.bowler}", "grip": found}
    return grip_form(request, found.bowler, form, **context)


@staff_required
@require_POST
def grip_preview(request: ShopRequest, pk: int) -> HttpResponse:
    """The drawing of what is typed so far. Stores nothing."""
    bowler = find_bowler(request, pk)
    draft = Grip(shop=request.shop, bowler=bowler)
    form = GripForm(request.POST, instance=draft, hand=bowler.hand)
    form.is_valid()
    shown = preview(form.instance, bowler.hand)
    context = {"bowler": bowler, "preview": shown, "with_starts": True}
    return render(request, "bowlers/_grip_preview.html", context)


def new_grip(request: ShopRequest, bowler: Bowler, begin: Beginning) -> HttpResponse:
    """The form of a new grip filled from its beginning, or the grip it makes."""
    blank = Grip(shop=request.shop, bowler=bowler)
    form = GripForm(
        request.POST or None,
        instance=blank,
        initial={"measured_on": timezone.localdate(), **begin.initial},
        hand=bowler.hand,
        copied=begin.copied,
    )
    if request.method == "POST" and form.is_valid():
        saved = save_grip(form=form, copied_from=begin.copied_from)
        messages.success(request, f"{saved} is on record for {bowler}.")
        return redirect(saved)
    if request.method != "POST":
        half_typed(blank, begin.initial)
    heading = f"New grip of {bowler}"
    return grip_form(request, bowler, form, heading=heading, begin=begin)


def grip_form(request: ShopRequest, bowler: Bowler, form: GripForm, **context: Any) -> HttpResponse:
    shown = preview(form.instance, bowler.hand)
    links = hub.grip_links(bowler) if form.instance.pk is None else []
    context |= {"form": form, "bowler": bowler, "preview": shown, "links": links}
    return render(request, "bowlers/grip_form.html", context)
