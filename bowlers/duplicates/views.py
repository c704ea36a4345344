"""Pages about customers entered twice."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bowlers.duplicates import merging, pairs
from bowlers.duplicates.forms import MergeForm
from bowlers.duplicates.models import CustomerMerge, ToldApart
from bowlers.finding import with_reasons
from bowlers.models import Bowler
from proshop.access import ShopRequest, once, staff_required

PAIRS_A_PAGE = 20
FOUND = 12


def _bowler(request: ShopRequest, pk: object) -> Bowler:
    found: Bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    return found


def _whole_number(text: str | None) -> int | None:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 19 else None


@staff_required
@require_GET
def duplicates(request: ShopRequest) -> HttpResponse:
    """Customers who may have been entered twice. Seven queries, whatever their number."""
    page = Paginator(pairs.pairs_of(request.shop), PAIRS_A_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "pairs": pairs.shown(request.shop, list(page))}
    return render(request, "bowlers/duplicates/list.html", context)


@staff_required
@require_POST
@once
def tell_apart(request: ShopRequest, pk: int) -> HttpResponse:
    """Say that two customers are two."""
    first = _bowler(request, pk)
    second = _bowler(request, _whole_number(request.POST.get("with")) or 0)
    low, high = sorted((first, second), key=lambda bowler: bowler.pk)
    if low != high:
        ToldApart.objects.get_or_create(first=low, second=high, defaults={"shop": request.shop})
        messages.success(request, f"{low} and {high} are kept as two customers.")
    return redirect("customer-duplicates")


@staff_required
@require_http_methods(["GET", "POST"])
@once
def merge_page(request: ShopRequest, pk: int) -> HttpResponse:
    """Make one of a customer and another: which is chosen first, then what stays of either."""
    kept = _bowler(request, pk)
    other = _whole_number(request.GET.get("with"))
    if other is None or other == kept.pk:
        return _choose(request, kept)
    gone = _bowler(request, other)
    form = MergeForm(request.POST or None, kept=kept, gone=gone)
    if request.method == "POST" and form.is_valid():
        merging.merge(
            kept=kept, gone=gone, values=form.values, versions=form.versions, user=request.user
        )
        messages.success(request, f"{gone} is merged into {form.values.get('name', kept)}.")
        return redirect(kept)
    context = {
        "kept": kept,
        "gone": gone,
        "form": form,
        "kept_has": merging.counts(kept),
        "gone_has": merging.counts(gone),
    }
    return render(request, "bowlers/duplicates/merge.html", context)


def _choose(request: ShopRequest, kept: Bowler) -> HttpResponse:
    words = request.GET.get("q", "").strip()
    if words:
        rows = Bowler.objects.for_shop(request.shop).search(words).exclude(pk=kept.pk)
        found = with_reasons(rows.with_last_fitting()[:FOUND], words)
    else:
        alike = pairs.pairs_with(kept)[:FOUND]
        found = [
            pair.second if pair.first.pk == kept.pk else pair.first
            for pair in pairs.shown(request.shop, alike)
        ]
    context = {"kept": kept, "found": found, "words": words}
    return render(request, "bowlers/duplicates/choose.html", context)


@staff_required
@require_GET
def merged(request: ShopRequest, pk: int) -> HttpResponse:
    """What was made one, and what either said before."""
    records = CustomerMerge.objects.for_shop(request.shop).select_related("kept", "merged_by")
    record = get_object_or_404(records, pk=pk)
    rows = [
        (label, kept, record.gone_said.get(label, "")) for label, kept in record.kept_said.items()
    ]
    context = {"record": record, "rows": rows, "earlier": _history_of(record)}
    return render(request, "bowlers/duplicates/merged.html", context)


def _history_of(record: CustomerMerge) -> list[object]:
    """What had changed in the record that is gone: its history stays."""
    from proshop.history import changes

    class Gone:
        history = Bowler.history.filter(id=record.gone_number)

    return list(changes(Gone))


def where_merged(request: ShopRequest, pk: int) -> HttpResponse:
    """To the customer of whom this number is a part by now; 404 if it never was one."""
    records = CustomerMerge.objects.for_shop(request.shop).filter(gone_number=pk)
    record = records.first()
    if record is None:
        raise Http404
    return redirect(reverse("customer", args=[record.kept_id]))
