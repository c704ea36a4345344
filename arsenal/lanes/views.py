"""Pages of houses, conditions and the conditions a customer meets."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from arsenal import engine
from arsenal.fields import whole_number
from arsenal.lanes.forms import ConditionForm, HouseForm, MeetForm, TimesForm
from arsenal.lanes.models import Condition, House
from arsenal.lanes.oil_csv import OilTable
from arsenal.lanes.picture import oil_picture
from arsenal.lanes.services import met_conditions, numbers_of, remove_met, save_condition
from arsenal.refusals import refuse
from bowlers.models import Bowler
from physics.errors import InputError
from proshop.access import ShopRequest, once, staff_required
from proshop.history import changes


@staff_required
def houses(request: ShopRequest) -> HttpResponse:
    """Every house with its conditions."""
    listed = House.objects.for_shop(request.shop).with_conditions()
    return render(request, "arsenal/lanes/houses.html", {"houses": listed})


@staff_required
def house(request: ShopRequest, pk: int) -> HttpResponse:
    """One house: its lanes, and the computed numbers of each of its conditions."""
    found = get_object_or_404(House.objects.for_shop(request.shop), pk=pk)
    listed = [(c, numbers_of(c)) for c in found.conditions.with_house()]
    context = {"house": found, "conditions": listed, "changes": changes(found)}
    return render(request, "arsenal/lanes/house.html", context)


@staff_required
@once
def house_form(request: ShopRequest, pk: int | None = None) -> HttpResponse:
    """Add or edit a house."""
    found = get_object_or_404(House.objects.for_shop(request.shop), pk=pk) if pk else None
    heading = f"Edit {found.name}" if found else "Add a house"
    form = HouseForm(request.POST or None, instance=found, shop=request.shop)
    if request.method == "POST" and form.is_valid():
        saved = form.save()
        messages.success(request, f"{saved} is saved.")
        return redirect(saved)
    context = {"form": form, "heading": heading, "house": found, "pk": pk}
    return render(request, "arsenal/lanes/house_form.html", context)


@staff_required
def condition(request: ShopRequest, pk: int) -> HttpResponse:
    """One condition: its numbers and a picture of its oil."""
    conditions = Condition.objects.for_shop(request.shop).with_house()
    found = get_object_or_404(conditions, pk=pk)
    numbers = numbers_of(found)
    oil = None if "refusal" in numbers else cast(OilTable, engine.condition_oil(found))
    context = {
        "condition": found,
        "numbers": numbers,
        "picture": oil and oil_picture(oil),
        "changes": changes(found),
    }
    return render(request, "arsenal/lanes/condition.html", context)


@staff_required
@once
def condition_add(request: ShopRequest, house_pk: int) -> HttpResponse:
    """Add a condition to a house."""
    found = get_object_or_404(House.objects.for_shop(request.shop), pk=house_pk)
    blank = Condition(shop=request.shop, house=found)
    return _condition_form(request, blank, heading=f"Add a condition at {found}")


@staff_required
@once
def condition_edit(request: ShopRequest, pk: int) -> HttpResponse:
    """Edit a condition."""
    conditions = Condition.objects.for_shop(request.shop).with_house()
    found = get_object_or_404(conditions, pk=pk)
    return _condition_form(request, found, heading=f"Edit {found}")


def _condition_form(request: ShopRequest, found: Condition, *, heading: str) -> HttpResponse:
    form = ConditionForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        try:
            saved = save_condition(form=form)
        except InputError as error:
            refuse(form, error, {"oil_table": "oil_text"})
        else:
            messages.success(request, f"{saved} is saved.")
            return redirect(saved)
    context = {"form": form, "heading": heading, "condition": found}
    return render(request, "arsenal/lanes/condition_form.html", context)


@staff_required
@once
def customer_conditions(request: ShopRequest, pk: int) -> HttpResponse:
    """What a customer meets and how often; adds a condition."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    form = MeetForm(request.POST or None, bowler=bowler, shop=request.shop)
    if request.method == "POST" and form.is_valid():
        messages.success(request, f"{form.save().condition} is added.")
        return redirect("customer-conditions", pk=bowler.pk)
    return _met_page(request, bowler, adding=form)


@staff_required
@once
def customer_condition_edit(request: ShopRequest, pk: int, met_pk: int) -> HttpResponse:
    """Change how often a customer meets a condition, or take it off the list."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    row = get_object_or_404(bowler.conditions.with_house(), pk=met_pk)
    if request.method != "POST":
        return redirect("customer-conditions", pk=bowler.pk)
    if "remove" in request.POST:
        if remove_met(row=row, expected_version=whole_number(request.POST.get("record_version"))):
            messages.success(request, f"{row.condition} is taken off the list.")
        else:
            messages.error(request, f"{row.condition} was changed meanwhile. Look again.")
        return redirect("customer-conditions", pk=bowler.pk)
    form = TimesForm(request.POST, instance=row, auto_id=f"id_{row.pk}_%s")
    if form.is_valid():
        form.save()
        messages.success(request, f"{row.condition}: {row.times_a_season} times a season.")
        return redirect("customer-conditions", pk=bowler.pk)
    return _met_page(request, bowler, editing=form)


def _met_page(
    request: ShopRequest,
    bowler: Bowler,
    *,
    adding: MeetForm | None = None,
    editing: TimesForm | None = None,
) -> HttpResponse:
    context = {
        "bowler": bowler,
        "met": met_conditions(bowler, editing=editing),
        "adding": adding or MeetForm(bowler=bowler, shop=request.shop),
        "any_conditions": Condition.objects.for_shop(request.shop).exists(),
    }
    return render(request, "arsenal/lanes/customer_conditions.html", context)
