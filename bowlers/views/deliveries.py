"""Rows of the fitting page: saved, kept while typed, left out, taken back.

With htmx each answer is the row and the means; without it the page is shown again.
"""

from functools import wraps

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from bowlers import services
from bowlers.forms import DeliveryForm
from bowlers.gear import gear_of
from bowlers.models import Delivery, Fitting
from bowlers.sheet import blank_row, carried_pap, same_again, sheet
from bowlers.views.fittings import find_fitting
from proshop.access import MemberView, ShopRequest, once, staff_required
from proshop.models import StaleRecord


def while_open(view: MemberView[int]) -> MemberView[int]:
    """Send a change to a finished fitting back to its page, where it can be reopened."""

    @wraps(view)
    def guarded(request: ShopRequest, pk: int) -> HttpResponseBase:
        try:
            return view(request, pk)
        except services.FittingFinished as finished:
            messages.error(
                request, "This fitting is finished, so nothing was changed. Reopen it to go on."
            )
            return away(request, finished.fitting.get_absolute_url())

    return guarded


def away(request: ShopRequest, url: str) -> HttpResponse:
    """Leave for another page, whoever asked."""
    if request.htmx:
        response = HttpResponse(status=204)
        response["HX-Redirect"] = url
        return response
    return redirect(url)


def row_form(request: ShopRequest, fitting: Fitting) -> DeliveryForm:
    """The row that was sent, beside what is stored of it."""
    sent = request.POST or request.GET
    key = DeliveryForm(sent).key
    deliveries = list(fitting.deliveries.all())
    delivery = next((d for d in deliveries if d.row_key == key), None)
    others = [d for d in deliveries if not d.dropped and d.row_key != key]
    gear = gear_of(fitting)
    return DeliveryForm(sent, delivery=delivery, carried=carried_pap(others), gear=gear)


def store(form: DeliveryForm, fitting: Fitting) -> Delivery | None:
    """Save a valid row; None, with the reason on the form, if it can't be saved."""
    if not form.is_valid():
        return None
    if form.is_untouched:
        form.refuse_untouched()
        return None
    try:
        return services.save_delivery(
            fitting=fitting,
            row_key=form.key,
            readings=form.readings,
            raw=form.raw,
            errors=form.derived.errors,
            expected_version=form.cleaned_data["record_version"],
        )
    except StaleRecord as stale:
        form.refuse_stale(Delivery.objects.get(pk=stale.record.pk))
        return None


@staff_required
@require_POST
@once
@while_open
def delivery_save(request: ShopRequest, pk: int) -> HttpResponse:
    """Add the next row, or save a row that is there."""
    fitting = find_fitting(request, pk)
    form = row_form(request, fitting)
    delivery = store(form, fitting)
    if delivery is None:
        form.focus_first_problem()
        if request.htmx:
            is_next = "next" in request.POST or form.delivery is None
            template = "bowlers/_next.html" if is_next else "bowlers/_row.html"
            context = {"form": form, "fitting": fitting, "delivery": form.delivery}
            return render(request, template, context, status=422)
        return render(request, "bowlers/fitting.html", {"sheet": sheet(fitting, bound=form)})
    if not request.htmx:
        # No #next: a browser sent to a place on a page leaves its autofocus undone.
        return redirect("fitting", pk)
    return answer(request, delivery, added="next" in request.POST)


@staff_required
@require_POST
@while_open
def delivery_keep(request: ShopRequest, pk: int) -> HttpResponse:
    """Keep what was typed so far; the boxes on the page are left alone."""
    fitting = find_fitting(request, pk)
    form = row_form(request, fitting)
    delivery = None
    if form.is_valid() and not form.is_untouched:
        delivery = store(form, fitting)
    context = {"form": form, "delivery": delivery, "sheet": sheet(fitting)}
    return kept(render(request, "bowlers/_kept.html", context), delivery)


@staff_required
@require_GET
def delivery_derived(request: ShopRequest, pk: int) -> HttpResponse:
    """What the instruments' readings lead to while they are typed; nothing is stored."""
    form = row_form(request, find_fitting(request, pk))
    form.is_valid()
    return render(request, "bowlers/_derived.html", {"form": form})


@staff_required
@require_GET
def delivery_again(request: ShopRequest, pk: int) -> HttpResponse:
    """The next row filled like the last delivery, not saved until it is added."""
    fitting = find_fitting(request, pk)
    row = same_again(fitting, request.GET)
    if request.htmx:
        return render(request, "bowlers/_next.html", {"form": row, "fitting": fitting})
    return render(request, "bowlers/fitting.html", {"sheet": sheet(fitting, next_row=row)})


@staff_required
@require_POST
@once
@while_open
def delivery_drop(request: ShopRequest, pk: int) -> HttpResponse:
    delivery = services.set_dropped(delivery=find_delivery(request, pk), dropped=True)
    return answer(request, delivery)


@staff_required
@require_POST
@once
@while_open
def delivery_restore(request: ShopRequest, pk: int) -> HttpResponse:
    delivery = services.set_dropped(delivery=find_delivery(request, pk), dropped=False)
    return answer(request, delivery)


@staff_required
@require_POST
@once
@while_open
def delivery_confirm(request: ShopRequest, pk: int) -> HttpResponse:
    """Someone looked at unusual readings and says they are right."""
    return answer(request, services.confirm_delivery(delivery=find_delivery(request, pk)))


def find_delivery(request: ShopRequest, pk: int) -> Delivery:
    deliveries = Delivery.objects.for_shop(request.shop).select_related("fitting__bowler")
    delivery: Delivery = get_object_or_404(deliveries, pk=pk)
    return delivery


def answer(request: ShopRequest, delivery: Delivery, *, added: bool = False) -> HttpResponse:
    """The row as it is now with the new means; after adding, an empty next row as well."""
    if not request.htmx:
        return redirect(f"{delivery.fitting.get_absolute_url()}#row-{delivery.row_key}")
    context = {
        "sheet": sheet(delivery.fitting),
        "fitting": delivery.fitting,
        "delivery": delivery,
        "form": DeliveryForm(delivery=delivery, gear=gear_of(delivery.fitting)),
    }
    if not added:
        return kept(render(request, "bowlers/_saved.html", context), delivery)
    next_row = blank_row(delivery.fitting)
    next_row.focus()
    context["next_row"] = next_row
    return kept(render(request, "bowlers/_added.html", context), delivery)


def kept(response: HttpResponse, delivery: Delivery | None) -> HttpResponse:
    """Tell the page which row is stored, so that the browser needn't hold it any longer."""
    if delivery is not None:
        response["X-Kept"] = str(delivery.row_key)
    return response
