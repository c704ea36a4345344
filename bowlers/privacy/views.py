"""The owner's page of all that is kept of a customer: to give it out, or to erase it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from bowlers.models import Bowler, search_key
from bowlers.privacy import erase, export
from bowlers.privacy.belongings import belongings_of
from bowlers.privacy.models import Erasure
from proshop.access import ShopRequest, once, owner_required
from proshop.forms import HiddenNumber, TokenForm
from proshop.models import StaleRecord


class EraseForm(TokenForm):
    """The customer's name typed again, so that nobody is erased by a slip."""

    record_version = HiddenNumber(required=False)
    name = forms.CharField(
        label="Their name, to confirm",
        max_length=200,
        widget=forms.TextInput({"autocomplete": "off"}),
        error_messages={"required": "Type the customer’s name to confirm."},
    )

    def __init__(self, *args: Any, bowler: Bowler, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.bowler = bowler
        self.fields["record_version"].initial = bowler.version

    def clean_name(self) -> str:
        name = str(self.cleaned_data["name"])
        if search_key(name) != self.bowler.search_key:
            raise ValidationError(f"That isn’t the name: type {self.bowler.name}.")
        return name


def _bowler(request: ShopRequest, pk: int) -> Bowler:
    found: Bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    return found


@owner_required
@require_http_methods(["GET", "POST"])
@once
def privacy(request: ShopRequest, pk: int) -> HttpResponse:
    """What is kept of a customer and what of it would stay; erases when sent with their name."""
    bowler = _bowler(request, pk)
    form = EraseForm(request.POST or None, bowler=bowler)
    if request.method == "POST" and form.is_valid():
        try:
            gone = erase.erase(
                bowler=bowler,
                version=form.cleaned_data["record_version"] or 0,
                user=request.user,
            )
        except StaleRecord:
            messages.warning(
                request,
                "The record was changed after you opened this page, so nothing was erased. Look at "
                "it as it is now, then decide.",
            )
            return redirect("customer-privacy", bowler.pk)
        messages.success(request, f"{bowler.name}, customer {gone.number}, is erased.")
        return redirect("customers-erased")
    context = {
        "bowler": bowler,
        "form": form,
        "counts": erase.counts_of(belongings_of(bowler)),
        "kept": erase.kept_of(bowler),
    }
    return render(request, "bowlers/privacy/privacy.html", context)


@owner_required
@require_GET
def export_file(request: ShopRequest, pk: int) -> HttpResponse:
    """Everything of a customer as one readable JSON file."""
    bowler = _bowler(request, pk)
    answer = HttpResponse(export.export(bowler), content_type="application/json; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="customer-{bowler.pk}.json"'
    answer["Cache-Control"] = "no-store"
    return answer


@owner_required
@require_GET
def erased(request: ShopRequest) -> HttpResponse:
    """Who was erased, by number, and the money that stayed."""
    rows = Erasure.objects.for_shop(request.shop).select_related("erased_by")
    return render(request, "bowlers/privacy/erased.html", {"rows": rows})
