"""Points of the first ring, and a fitting without a throw: live while typed, then kept."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bowlers import services
from bowlers.gear import gear_of
from bowlers.models import Delivery, Fitting
from bowlers.no_throw import NoThrowForm, no_throw_start
from bowlers.points import RingForm, ring_start
from bowlers.views.deliveries import while_open
from bowlers.views.fittings import find_fitting
from proshop.access import ShopRequest, once, staff_required
from proshop.models import StaleRecord


def ring_form(fitting: Fitting, data: Any = None, start: Delivery | None = None) -> RingForm:
    deliveries = fitting.deliveries.kept()
    return RingForm(data, deliveries=deliveries, gear=gear_of(fitting), initial=ring_start(start))


@staff_required
@require_http_methods(["GET", "POST"])
@once
@while_open
def ring(request: ShopRequest, pk: int) -> HttpResponse:
    """PAP and tilt from three or more points of the first ring of one delivery."""
    fitting = find_fitting(request, pk)
    kept = list(fitting.deliveries.kept())
    ringed = next((d for d in reversed(kept) if "ring_points_in" in d.raw), None)
    sent = request.POST if request.method == "POST" else None
    form = ring_form(fitting, sent, ringed or (kept[-1] if kept else None))
    if form.is_valid() and not form.refuse_stale():
        delivery = form.cleaned_data["delivery"]
        services.save_ring(fitting=fitting, delivery=delivery, raw=form.raw)
        # The page that follows lets go of what the browser held of this one.
        return redirect(f"{fitting.get_absolute_url()}#kept={request.path}")
    if request.method == "GET":
        opened = ring_form(fitting, {n: form[n].value() or "" for n in form.fields})
        opened.is_valid()
        form.marked, form.derived = opened.marked, opened.derived
    return render(request, "bowlers/ring.html", {"form": form, "fitting": fitting})


@staff_required
@require_GET
def ring_derived(request: ShopRequest, pk: int) -> HttpResponse:
    """The circle through the points typed so far; nothing is stored."""
    form = ring_form(find_fitting(request, pk), request.GET)
    form.is_valid()
    return render(request, "bowlers/_ring.html", {"form": form})


def no_throw_page(request: ShopRequest, fitting: Fitting, form: NoThrowForm) -> HttpResponse:
    context = {"form": form, "fitting": fitting, "delivery": fitting.deliveries.first()}
    return render(request, "bowlers/no_throw.html", context)


def no_throw_opened(fitting: Fitting) -> NoThrowForm:
    """The form as it was left, with what that says."""
    form = NoThrowForm(fitting=fitting, initial=no_throw_start(fitting, fitting.deliveries.first()))
    told = {name: form[name].value() for name in form.fields}
    seen = NoThrowForm({n: v for n, v in told.items() if v is not None}, fitting=fitting)
    seen.is_valid()
    form.found, form.marked = seen.found, seen.marked
    return form


@staff_required
@require_http_methods(["GET", "POST"])
@once
@while_open
def no_throw(request: ShopRequest, pk: int) -> HttpResponse:
    """Keep what was read, and finish where that was asked."""
    fitting = find_fitting(request, pk)
    if not fitting.is_without_throw:
        return redirect(fitting)
    if request.method == "GET":
        return no_throw_page(request, fitting, no_throw_opened(fitting))
    form = NoThrowForm(request.POST, fitting=fitting)
    if not form.is_valid():
        return no_throw_page(request, fitting, form)
    try:
        services.save_without_throw(
            fitting=fitting,
            case=form.case,
            expected_version=form.cleaned_data["record_version"],
        )
    except StaleRecord as stale:
        form.show_both(stale.record)
        return no_throw_page(request, fitting, form)
    if "finish" in request.POST:
        services.finish_fitting(fitting=fitting)
        return redirect(f"{fitting.get_absolute_url()}#kept={request.path}")
    messages.success(request, "Saved.")
    return redirect("no-throw", pk=pk)


@staff_required
@require_POST
@while_open
def no_throw_keep(request: ShopRequest, pk: int) -> HttpResponse:
    """Keep what was typed so far, if it can be used."""
    fitting = find_fitting(request, pk)
    form = NoThrowForm(request.POST, fitting=fitting)
    if form.is_valid() and fitting.is_without_throw:
        try:
            kept = services.save_without_throw(
                fitting=fitting,
                case=form.case,
                expected_version=form.cleaned_data["record_version"],
            )
            form.now_at(kept.version)
        except StaleRecord as stale:
            form.say_stale(stale.record)
    context = {"form": form, "fitting": fitting, "is_kept": not form.errors}
    response = render(request, "bowlers/_no_throw.html", context)
    if not form.errors:
        response["X-Kept"] = "form"
    return response


@staff_required
@require_GET
def no_throw_derived(request: ShopRequest, pk: int) -> HttpResponse:
    """What was typed so far amounts to; nothing is stored."""
    fitting = find_fitting(request, pk)
    form = NoThrowForm(request.GET, fitting=fitting)
    form.is_valid()
    return render(request, "bowlers/_no_throw.html", {"form": form, "fitting": fitting})
