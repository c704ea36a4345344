"""Fittings: start, log, finish, reopen."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bowlers import services
from bowlers.forms import FittingForm
from bowlers.instruments_form import InstrumentsForm
from bowlers.models import Bowler, Fitting
from bowlers.sheet import sheet
from proshop.access import ShopRequest, once, staff_required
from proshop.history import changes


def find_fitting(request: ShopRequest, pk: int) -> Fitting:
    fittings = Fitting.objects.for_shop(request.shop).select_related("bowler", "logged_by")
    fitting: Fitting = get_object_or_404(fittings, pk=pk)
    return fitting


@staff_required
@require_http_methods(["GET", "POST"])
@once
def fitting_add(request: ShopRequest, pk: int) -> HttpResponse:
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    asked = request.GET.get("purpose")
    purpose = asked if asked in Fitting.Purpose.values else Fitting.Purpose.USUAL
    method = Fitting.Method.THROWN
    initial = {"fitted_on": timezone.localdate(), "purpose": purpose, "method": method}
    form = FittingForm(request.POST or None, shop=request.shop, initial=initial)
    if request.method == "POST" and form.is_valid():
        fitting = services.start_fitting(
            bowler=bowler,
            fitted_on=form.cleaned_data["fitted_on"],
            purpose=form.cleaned_data["purpose"],
            method=form.cleaned_data["method"],
            release_note=form.cleaned_data["release_note"],
            notes=form.cleaned_data["notes"],
            logged_by=request.user,
        )
        return redirect(fitting)
    context = {"form": form, "bowler": bowler, "drafts": bowler.fittings.drafts()}
    return render(request, "bowlers/fitting_form.html", context)


@staff_required
@require_http_methods(["GET", "POST"])
@once
def fitting_edit(request: ShopRequest, pk: int) -> HttpResponse:
    fitting = find_fitting(request, pk)
    form = FittingForm(request.POST or None, instance=fitting)
    if request.method == "POST" and form.is_valid():
        return redirect(form.save())
    context = {
        "form": form,
        "bowler": fitting.bowler,
        "fitting": fitting,
        "changes": changes(fitting),
    }
    return render(request, "bowlers/fitting_form.html", context)


@staff_required
@require_GET
def fitting(request: ShopRequest, pk: int) -> HttpResponse:
    """The deliveries of one fitting, row by row, with means and spreads."""
    found = find_fitting(request, pk)
    if found.is_without_throw and not found.is_finished:
        return redirect("no-throw", pk=pk)
    return render(request, "bowlers/fitting.html", {"sheet": sheet(found)})


@staff_required
@require_http_methods(["GET", "POST"])
@once
def instruments(request: ShopRequest, pk: int) -> HttpResponse:
    """The instruments of a fitting; rows read with them follow their settings."""
    fitting = find_fitting(request, pk)
    form = InstrumentsForm(request.POST or None, instance=fitting)
    if request.method == "POST" and form.is_valid():
        try:
            services.choose_instruments(
                fitting=fitting,
                instruments=form.choice,
                expected_version=form.cleaned_data["record_version"],
            )
            return redirect(fitting)
        except services.UnusableRow as unusable:
            form.add_error(None, str(unusable))
        except services.FittingFinished:
            form.add_error(None, "This fitting is finished: reopen it to change how it was read.")
    return render(request, "bowlers/instruments.html", {"form": form, "fitting": fitting})


@staff_required
@require_POST
@once
def fitting_finish(request: ShopRequest, pk: int) -> HttpResponse:
    fitting = find_fitting(request, pk)
    try:
        services.finish_fitting(fitting=fitting)
    except services.NothingComplete:
        messages.error(
            request,
            "Not finished yet: at least one delivery needs all six readings "
            "(speed, rev rate, rotation, tilt and both PAP numbers). Everything logged is kept.",
        )
        return redirect(fitting)
    return redirect(fitting.bowler)


@staff_required
@require_POST
@once
def fitting_reopen(request: ShopRequest, pk: int) -> HttpResponse:
    return redirect(services.reopen_fitting(fitting=find_fitting(request, pk)))
