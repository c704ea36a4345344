"""The page of the price list."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render

from arsenal.prices.forms import PriceListForm
from arsenal.prices.models import PriceList, words_of
from arsenal.prices.usual import USUAL
from proshop.access import ShopRequest, once, staff_required
from proshop.history import changes
from proshop.models import Membership


@staff_required
@once
def prices(request: ShopRequest) -> HttpResponse:
    """What each piece of work costs; the owner sets it."""
    is_owner = request.role == Membership.Role.OWNER
    if request.method == "POST" and not is_owner:
        raise PermissionDenied("Only the shop's owner sets its prices.")
    listed = PriceList.of(request.shop)
    form = PriceListForm(request.POST or None, instance=listed)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(
            request, "The prices count from now on; tickets opened before keep theirs."
        )
        return redirect("prices")
    stored = PriceList.of(request.shop)
    context: dict[str, Any] = {
        "listed": stored,
        "rows": [(words_of(work), stored.price(work)) for work in USUAL],
        "form": form if is_owner else None,
        "changes": changes(stored) if stored.pk else [],
    }
    return render(request, "arsenal/prices/prices.html", context)
