"""Pages of houses, conditions and the conditions a customer meets."""

from __future__ import annotations

from typing import Any, cast

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify
from django.views.decorators.http import require_POST

from arsenal import engine
from arsenal.fields import whole_number
from arsenal.lanes.forms import (
    ConditionForm,
    GamesForm,
    HouseForm,
    LeagueForm,
    MeetForm,
    TimesForm,
)
from arsenal.lanes.leagues import BY_NAME, NoSuchOil, add_league
from arsenal.lanes.models import BowlerCondition, Condition, House
from arsenal.lanes.oil_csv import OilTable, file_of_table
from arsenal.lanes.picture import oil_picture
from arsenal.lanes.services import (
    met_conditions,
    numbers_of,
    preview_of,
    remove_met,
    save_condition,
    states_of,
    who_meets,
)
from arsenal.lanes.shares import STALE, SharesForm, save_shares
from arsenal.refusals import refuse
from bowlers.models import Bowler
from physics.errors import InputError
from proshop.access import ShopRequest, once, staff_required
from proshop.history import changes
from proshop.models import StaleRecord


@staff_required
def houses(request: ShopRequest) -> HttpResponse:
    """Every house with its conditions."""
    listed = House.objects.for_shop(request.shop).with_conditions().with_customers()
    return render(request, "arsenal/lanes/houses.html", {"houses": listed})


@staff_required
def house(request: ShopRequest, pk: int) -> HttpResponse:
    """One house: its lanes, and the computed numbers of each of its conditions."""
    found = get_object_or_404(House.objects.for_shop(request.shop), pk=pk)
    listed = [(c, numbers_of(c)) for c in found.conditions.with_house()]
    rows = BowlerCondition.objects.for_shop(request.shop).filter(condition__house=found)
    context = {
        "house": found,
        "conditions": listed,
        "learnt": engine.house_friction(found),
        "page": who_meets(rows.with_house(), request.GET.get("page")),
        "customers": rows.values("bowler").distinct().count(),
        "changes": changes(found),
    }
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
    """One condition: its numbers, and a picture of its oil fresh, worn or burnt."""
    found = _condition(request, pk)
    context: dict[str, Any] = {
        "condition": found,
        "numbers": numbers_of(found),
        "spread": engine.picked_spread(found),
        "page": who_meets(found.met_by.all(), request.GET.get("page")),
        "changes": changes(found),
    }
    if "refusal" not in context["numbers"]:
        context |= _states(request, found, at_once="wait" in request.GET)
    return render(request, "arsenal/lanes/condition.html", context)


@staff_required
def condition_states(request: ShopRequest, pk: int) -> HttpResponse:
    """The states of one condition's oil, played now if they weren't before: a part of its page."""
    found = _condition(request, pk)
    if not request.htmx:
        return redirect(f"{found.get_absolute_url()}?wait=1#states")
    try:
        context = _states(request, found, at_once=True)
    except InputError:
        return redirect(found)
    return render(request, "arsenal/lanes/_states.html", {"condition": found, **context})


@staff_required
def condition_file(request: ShopRequest, pk: int) -> HttpResponse:
    """The oil of a condition as a CSV file, in the state asked for."""
    found, form = _condition(request, pk), GamesForm(request.GET)
    games = (form.cleaned_data["games"] if form.is_valid() else 0) or 0
    try:
        table = cast(OilTable, engine.condition_oil(found, games))
    except InputError:
        return redirect(found)
    name = slugify(f"{found.house.name} {found.name} {engine.state_name(games)}")
    return HttpResponse(
        file_of_table(table),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name or "oil"}.csv"'},
    )


def _condition(request: ShopRequest, pk: int) -> Condition:
    conditions = Condition.objects.for_shop(request.shop).with_house()
    found: Condition = get_object_or_404(conditions, pk=pk)
    return found


def _states(request: ShopRequest, found: Condition, *, at_once: bool) -> dict[str, Any]:
    form = GamesForm(request.GET)
    games = (form.cleaned_data["games"] if form.is_valid() else 0) or 0
    states = states_of(found, games, at_once=at_once)
    picture = oil_picture(states.oil, states.full_grey)
    return {"states": states, "picture": picture, "games_form": form}


@staff_required
@require_POST
def condition_preview(request: ShopRequest, house_pk: int) -> HttpResponse:
    """The oil that is said so far, drawn. Stores nothing."""
    found = get_object_or_404(House.objects.for_shop(request.shop), pk=house_pk)
    blank = Condition(shop=request.shop, house=found)
    form = ConditionForm(request.POST, request.FILES or None, instance=blank)
    form.is_valid()
    return render(request, "arsenal/lanes/_preview.html", {"preview": preview_of(form)})


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
    found = _condition(request, pk)
    return _condition_form(request, found, heading=f"Edit {found}")


def _condition_form(request: ShopRequest, found: Condition, *, heading: str) -> HttpResponse:
    form = ConditionForm(request.POST or None, request.FILES or None, instance=found)
    if request.method == "POST" and form.is_valid():
        try:
            saved = save_condition(form=form)
        except InputError as error:
            refuse(form, error, {"oil_table": "oil_text"})
        else:
            messages.success(request, f"{saved} is saved.")
            return redirect(saved)
    context = {
        "form": form,
        "heading": heading,
        "condition": found,
        "preview": preview_of(form),
    }
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


@staff_required
@once
def customer_league(request: ShopRequest, pk: int) -> HttpResponse:
    """Put what a kind of league meets on the list, in one tap."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    if request.method != "POST":
        return redirect("customer-conditions", pk=bowler.pk)
    form = LeagueForm(request.POST, bowler=bowler)
    if not form.is_valid():
        return _met_page(request, bowler, league=form)
    league, house = BY_NAME[form.cleaned_data["league"]], form.cleaned_data["house"]
    try:
        added = add_league(bowler=bowler, league=league, house=house)
    except NoSuchOil as missing:
        words = " and no ".join(f"{name} condition" for name in missing.classes)
        form.add_error(None, f"{league.label}: the shop has no {words} yet. Add it to a house.")
        return _met_page(request, bowler, league=form)
    said = [f"{row.condition}, {engine.state_name(row.games_on_oil)}" for row in added]
    if said:
        messages.success(request, f"{league.label}: added {'; '.join(said)}.")
    else:
        messages.info(request, f"{league.label}: all of it is on the list already.")
    return redirect("customer-conditions", pk=bowler.pk)


@staff_required
@once
def customer_shares(request: ShopRequest, pk: int) -> HttpResponse:
    """Divide the season among all that is met, at once."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    rows = list(bowler.conditions.with_house())
    if request.method != "POST" or not rows:
        return redirect("customer-conditions", pk=bowler.pk)
    form = SharesForm(request.POST, rows=rows)
    if not form.is_valid():
        return _met_page(request, bowler, shares=form)
    try:
        save_shares(form=form)
    except StaleRecord:
        form.add_error(None, STALE)
        return _met_page(request, bowler, shares=form)
    messages.success(request, f"The season is divided: {sum(form.times)} times in all.")
    return redirect("customer-conditions", pk=bowler.pk)


def _met_page(
    request: ShopRequest,
    bowler: Bowler,
    *,
    adding: MeetForm | None = None,
    editing: TimesForm | None = None,
    league: LeagueForm | None = None,
    shares: SharesForm | None = None,
) -> HttpResponse:
    met = met_conditions(bowler, editing=editing, shares=shares)
    context = {
        "bowler": bowler,
        "met": met.rows,
        "shares": met.shares,
        "league": league or LeagueForm(bowler=bowler),
        "adding": adding or MeetForm(bowler=bowler, shop=request.shop),
        "any_conditions": Condition.objects.for_shop(request.shop).exists(),
    }
    return render(request, "arsenal/lanes/customer_conditions.html", context)
