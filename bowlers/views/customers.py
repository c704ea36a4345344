"""Customers: the list with its search, adding and editing, and the page of one customer."""

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from bowlers import hub
from bowlers.duplicates.views import where_merged
from bowlers.engine import newest_fittings
from bowlers.finding import with_reasons
from bowlers.forms import BowlerForm
from bowlers.models import Bowler, Fitting
from bowlers.summary import lines, release_words
from proshop.access import ShopRequest, once, staff_required
from proshop.history import changes

CUSTOMERS_A_PAGE = 50


@staff_required
@require_GET
def customer_list(request: ShopRequest) -> HttpResponse:
    """Everyone the shop knows, by name. Costs five queries, whatever the number of customers:
    session, user, membership, the count and the page; one more says which ball was found."""
    words = request.GET.get("q", "").strip()
    found = Bowler.objects.for_shop(request.shop).search(words).with_last_fitting()
    page = Paginator(found.order_by("search_key", "pk"), CUSTOMERS_A_PAGE).get_page(
        request.GET.get("page")
    )
    template = "bowlers/_customer_rows.html" if request.htmx else "bowlers/customer_list.html"
    bowlers = with_reasons(page.object_list, words)
    return render(request, template, {"page": page, "bowlers": bowlers, "words": words})


@staff_required
@require_http_methods(["GET", "POST"])
@once
def customer_add(request: ShopRequest) -> HttpResponse:
    initial = {"name": request.GET.get("name", "")}
    form = BowlerForm(request.POST or None, shop=request.shop, initial=initial)
    if request.method == "POST" and form.is_valid():
        return redirect(form.save())
    return render(request, "bowlers/customer_form.html", {"form": form})


@staff_required
@require_http_methods(["GET", "POST"])
@once
def customer_edit(request: ShopRequest, pk: int) -> HttpResponse:
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    form = BowlerForm(request.POST or None, instance=bowler)
    if request.method == "POST" and form.is_valid():
        return redirect(form.save())
    name = Bowler.objects.values_list("name", flat=True).get(pk=pk)
    context = {"form": form, "bowler": bowler, "name": name, "changes": changes(bowler)}
    return render(request, "bowlers/customer_form.html", context)


@staff_required
@require_GET
def customer(request: ShopRequest, pk: int) -> HttpResponse:
    """What is known of a customer, what is missing, and where to go on."""
    bowler = Bowler.objects.for_shop(request.shop).filter(pk=pk).first()
    if bowler is None:
        return where_merged(request, pk)
    fittings = newest_fittings(bowler)
    fitting, for_spares, other = (
        fittings.get(purpose)
        for purpose in (Fitting.Purpose.USUAL, Fitting.Purpose.SPARES, Fitting.Purpose.OTHER)
    )
    steps = hub.steps(bowler)
    context = {
        "bowler": bowler,
        "steps": steps,
        "first_open": next((step for step in steps if not step.done), None),
        "fitting": fitting,
        "lines": lines(fitting) if fitting else [],
        "words": release_words(fitting) if fitting else [],
        "other_fitting": other,
        "other_lines": lines(other) if other else [],
        "other_words": release_words(other) if other else [],
        "spare_fitting": for_spares,
        "spare_lines": lines(for_spares) if for_spares else [],
        "spare_words": release_words(for_spares) if for_spares else [],
        "merges": bowler.merges.select_related("merged_by"),
        "fittings": bowler.fittings.newest_first().with_deliveries(),
    }
    return render(request, "bowlers/customer.html", context)
