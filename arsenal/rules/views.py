"""Pages of the rules the shop holds balls to."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from arsenal import engine, printed
from arsenal.bag.models import OwnedBall
from arsenal.fields import whole_number
from arsenal.rules import weighing
from arsenal.rules.forms import HardnessForm, HouseLimitForm, ShopRulesForm, SizeForm
from arsenal.rules.models import HardnessReading, HouseLimit, ShopRules, SizeReading
from bowlers.models import Bowler
from proshop.access import ShopRequest, once, owner_required, staff_required
from proshop.models import Membership, StaleRecord


@staff_required
@once
def rules(request: ShopRequest) -> HttpResponse:
    """The set in use with every limit and its standing; the owner adds limits of the house."""
    is_owner = request.role == Membership.Role.OWNER
    if request.method == "POST" and not is_owner:
        raise PermissionDenied("Only the shop's owner changes its rules.")
    form = HouseLimitForm(request.POST or None, instance=HouseLimit(shop=request.shop))
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "The house’s limit is in force, and shown wherever it counts.")
        return redirect("rules")
    chosen = engine.rules_of(request.shop)
    context: dict[str, Any] = {
        "chosen": chosen,
        "limits": engine.limit_rows(chosen),
        "house_limits": _house_limits(request, chosen.key),
        "is_owner": is_owner,
        "sets": engine.rule_sets(),
    }
    if is_owner:
        context |= {"form": form, "choose": _choose_form(request)}
    return render(request, "arsenal/rules/rules.html", context)


@owner_required
@once
def choose(request: ShopRequest) -> HttpResponse:
    """Choose another rule set."""
    if request.method != "POST":
        return redirect("rules")
    form = _choose_form(request, request.POST)
    if form.is_valid():
        form.save()
        messages.success(request, f"Balls are held to: {engine.rules_of(request.shop).name}.")
    else:
        said = " ".join(str(e) for errors in form.errors.values() for e in errors)
        messages.error(request, f"The rule set wasn’t changed. {said}")
    return redirect("rules")


@staff_required
@once
def take_back(request: ShopRequest, pk: int) -> HttpResponse:
    """Take a limit of the house back: the rule set's own counts again."""
    limit = get_object_or_404(HouseLimit.objects.for_shop(request.shop), pk=pk)
    if request.method != "POST":
        return redirect("rules")
    if request.role != Membership.Role.OWNER:
        raise PermissionDenied("Only the shop's owner changes its rules.")
    limit.taken_back = True
    try:
        limit.save_checked(whole_number(request.POST.get("record_version")) or 0)
    except StaleRecord:
        messages.error(request, "That limit was changed meanwhile. Look at it again, then decide.")
    else:
        messages.success(request, "The rule set’s own limit counts again.")
    return redirect("rules")


@staff_required
@once
def hardness_add(request: ShopRequest, pk: int) -> HttpResponse:
    """Note what a durometer read on a ball."""
    ball = _ball_of(request, pk)
    low, high = engine.rules_of(request.shop).hardness_at_f
    return _reading_form(
        request,
        ball,
        HardnessForm(request.POST or None, instance=HardnessReading(shop=request.shop, ball=ball)),
        title=f"Durometer reading of {ball}",
        lead=f"Read it with the ball between {low:g} and {high:g} °F: readings outside that "
        "are kept but count for no rule.",
    )


@staff_required
@once
def size_add(request: ShopRequest, pk: int) -> HttpResponse:
    """Note how far across a ball is, and so whether it is round."""
    ball = _ball_of(request, pk)
    return _reading_form(
        request,
        ball,
        SizeForm(request.POST or None, instance=SizeReading(shop=request.shop, ball=ball)),
        title=f"Diameter of {ball}",
        lead="Measured in several directions away from the holes: the least and the most of them. "
        "What lies between is how far the ball is out of round.",
    )


def _ball_of(request: ShopRequest, pk: int) -> OwnedBall:
    balls = OwnedBall.objects.for_shop(request.shop).select_related("spec__model", "bowler")
    found: OwnedBall = get_object_or_404(balls, pk=pk)
    return found


def _reading_form(
    request: ShopRequest, ball: OwnedBall, form: HardnessForm | SizeForm, *, title: str, lead: str
) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        messages.success(request, f"Kept: {form.save()}.")
        return redirect(ball)
    context = {
        "title": title,
        "form": form,
        "submit_label": "Save the reading",
        "cancel_url": ball.get_absolute_url(),
        "lead": lead,
    }
    return render(request, "proshop/form.html", context)


@staff_required
@require_safe
def weigh_in(request: ShopRequest, pk: int) -> HttpResponse:
    """The weigh-in sheet of a customer's bag, or of the balls ``ball`` names, to print."""
    return render(request, "arsenal/rules/weigh_in.html", _weigh_in(request, pk))


@staff_required
@require_safe
def weigh_in_pdf(request: ShopRequest, pk: int) -> HttpResponse:
    """The weigh-in sheet as PDF on the paper asked for."""
    context = _weigh_in(request, pk)
    return printed.pdf(
        request,
        "arsenal/rules/weigh_in.html",
        context,
        name=f"weigh-in-{context['bowler'].pk}",
        paper=printed.paper_of(request),
    )


def _weigh_in(request: ShopRequest, pk: int) -> dict[str, Any]:
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    asked = [whole_number(text) for text in request.GET.getlist("ball")]
    chosen = {number for number in asked if number is not None}
    query = request.GET.copy()
    query.pop("paper", None)
    return {
        "bowler": bowler,
        "shop": request.shop,
        "lines": weighing.weigh_in(bowler, chosen),
        "balls": bowler.bag.in_use().select_related("spec__model"),
        "chosen": chosen,
        "rules": engine.rules_of(request.shop),
        "papers": printed.PAPERS,
        "query": query.urlencode(),
    }


def _choose_form(request: ShopRequest, data: Any = None) -> ShopRulesForm:
    chosen = ShopRules.objects.for_shop(request.shop).first() or ShopRules(
        shop=request.shop, rule_set=engine.rule_set_of(request.shop).key
    )
    return ShopRulesForm(data, instance=chosen)


def _house_limits(request: ShopRequest, key: str) -> list[tuple[HouseLimit, str, str]]:
    """Each limit of the house with what the set itself says, and who put it there when."""
    chosen = engine.rule_set_of(request.shop)
    rows = HouseLimit.objects.for_shop(request.shop).filter(rule_set=key, taken_back=False)
    found = []
    for row in rows:
        first = row.history.select_related("history_user").order_by("history_date").first()
        user = first.history_user if first else None
        who = (user.get_full_name() or user.get_username()) if user else "the site"
        found.append((row, engine.limit_words(chosen, row.limit), who))
    return found
