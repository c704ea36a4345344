"""Pages of a customer's bag."""

from __future__ import annotations

import datetime
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_safe

from arsenal.bag.caring import CareForm, log_care
from arsenal.bag.chain import differences, earlier_of, plan_of
from arsenal.bag.forms import BaseHoleFormSet, HoleFormSet, OwnedBallForm
from arsenal.bag.layout_fields import field_name
from arsenal.bag.models import Hole, OwnedBall
from arsenal.bag.questions import asked_about
from arsenal.bag.services import (
    Start,
    as_drilled,
    fading,
    grip_of,
    save_owned_ball,
    set_retired,
    start_for,
)
from arsenal.bag.then import as_it_was
from arsenal.catalogue.models import StockBall
from arsenal.catalogue.views import PAGE, pick, picked
from arsenal.changes import changes_with_rows
from arsenal.fields import whole_number
from arsenal.plate.services import as_it_is
from arsenal.refusals import refusal_words, refuse, refuse_hole
from bowlers.engine import spreads_in_use
from bowlers.grips.services import beginning
from bowlers.models import Bowler
from bowlers.views.grips import new_grip
from physics.errors import InputError
from proshop.access import ShopRequest, once, staff_required
from proshop.models import StaleRecord

# Newest entries of the care log on a ball's page.
CARE_SHOWN = 20


@staff_required
def bag(request: ShopRequest, pk: int) -> HttpResponse:
    """Every ball of a customer with its drilled numbers."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    balls = as_drilled(bowler.bag.with_drilling())
    context = {
        "bowler": bowler,
        "in_use": [drilled for drilled in balls if not drilled.ball.retired],
        "retired": [drilled for drilled in balls if drilled.ball.retired],
    }
    return render(request, "arsenal/bag/bag.html", context)


@staff_required
def all_balls(request: ShopRequest) -> HttpResponse:
    """Every ball of every customer, newest first, searched by what is on it and whose it is.
    Six queries, whatever their number: session, user, membership, the count, which balls the page
    shows, and those balls, so that the last page doesn't read all before it."""
    words = request.GET.get("q", "").strip()
    found = OwnedBall.objects.for_shop(request.shop).search(words).order_by("-pk")
    page = Paginator(found.values_list("pk", flat=True), PAGE).get_page(request.GET.get("page"))
    balls = OwnedBall.objects.filter(pk__in=list(page)).order_by("-pk")
    balls = balls.select_related("bowler", "spec__model")
    context = {"page": page, "balls": balls, "words": words}
    return render(request, "arsenal/bag/all.html", context)


@staff_required
def owned_ball(request: ShopRequest, pk: int) -> HttpResponse:
    """One ball: label, layout in every notation, holes, drilled numbers, warnings."""
    ball = get_object_or_404(OwnedBall.objects.for_shop(request.shop).with_drilling(), pk=pk)
    return render(request, "arsenal/bag/ball.html", _ball_page(ball, CareForm(ball=ball)))


def _ball_page(ball: OwnedBall, care: CareForm) -> dict[str, Any]:
    plan = plan_of(ball)
    return _shown(ball) | {
        "care_form": care,
        "care": ball.care.select_related("by")[:CARE_SHOWN],
        "plan": plan,
        "differs": differences(plan, ball) if plan else [],
        "changes": changes_with_rows(ball, Hole, link="ball_id", name="kind"),
    }


def _shown(ball: OwnedBall) -> dict[str, Any]:
    """What a ball's page says of it, as it is or as it was."""
    spreads = spreads_in_use(ball.bowler)
    return {
        "ball": ball,
        "bowler": ball.bowler,
        "drilled": as_drilled([ball], spreads)[0],
        "plate": as_it_is(ball, spreads),
        "earlier": earlier_of(ball),
        "asked": asked_about(ball),
    }


@staff_required
@once
def owned_ball_care(request: ShopRequest, pk: int) -> HttpResponse:
    """Write down a care or games played; the ball's page comes back where something is wrong."""
    ball = get_object_or_404(OwnedBall.objects.for_shop(request.shop).with_drilling(), pk=pk)
    if request.method != "POST":
        return redirect(ball)
    form = CareForm(request.POST, ball=ball)
    if form.is_valid():
        try:
            entry = log_care(form=form, user=request.user)
        except StaleRecord:
            messages.error(request, f"{ball} was changed meanwhile: look at it, then log it.")
            return redirect(ball)
        messages.success(request, f"{ball}: {entry.get_work_display().lower()}, written down.")
        return redirect(f"{ball.get_absolute_url()}#care")
    return render(request, "arsenal/bag/ball.html", _ball_page(ball, form))


@staff_required
@require_safe
def owned_ball_then(request: ShopRequest, pk: int) -> HttpResponse:
    """A ball as it was after the change saved at ``at``."""
    ball = get_object_or_404(OwnedBall.objects.for_shop(request.shop).with_drilling(), pk=pk)
    at = _moment(request.GET.get("at", ""))
    then = as_it_was(ball, at) if at else None
    if then is None:
        messages.error(request, "Nothing is on record of that moment: choose one of its changes.")
        return redirect(ball)
    changes = changes_with_rows(ball, Hole, link="ball_id", name="kind")
    context = _shown(then) | {"now": ball, "at": at, "changes": changes}
    return render(request, "arsenal/bag/then.html", context)


def _moment(text: str) -> datetime.datetime | None:
    # A plus that wasn't escaped comes in as a space.
    try:
        at = parse_datetime(text.replace(" ", "+"))
    except ValueError:
        return None
    # At either end of the calendar no other time zone has the moment.
    if at is None or not datetime.MINYEAR < at.year < datetime.MAXYEAR:
        return None
    return timezone.make_aware(at) if timezone.is_naive(at) else at


@staff_required
@require_safe
def owned_ball_fading(request: ShopRequest, pk: int) -> HttpResponse:
    """Why a ball stopped hooking: computed when asked, a part of its page or a page of its own."""
    balls = OwnedBall.objects.for_shop(request.shop).with_drilling()
    ball = get_object_or_404(balls.select_related("bowler__shop"), pk=pk)
    context: dict[str, Any] = {"ball": ball, "bowler": ball.bowler}
    try:
        context["found"] = fading(ball)
    except InputError as error:
        context["refusal"] = refusal_words(error)
    template = "_fading" if request.htmx else "fading"
    return render(request, f"arsenal/bag/{template}.html", context)


@staff_required
@once
def bag_add(request: ShopRequest, pk: int) -> HttpResponse:
    """Pick model and weight, or a ball on the shelf; then its label, layout, holes and surface."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    stock, spec = picked(request, bowler)
    if spec is None:
        back = reverse("bag", args=[bowler.pk])
        return pick(request, heading=f"Add a ball to {bowler}’s bag", back=back, bowler=bowler)
    start = start_for(bowler=bowler, spec=spec, stock=stock)
    blank = OwnedBall(shop=request.shop, bowler=bowler)
    form = OwnedBallForm(request.POST or None, instance=blank, initial=start.initial, spec=spec)
    holes = HoleFormSet(request.POST or None, instance=blank, prefix="holes", starting=start.holes)
    heading = f"Add {spec.model} to {bowler}’s bag"
    return _ball_form(request, bowler, form, holes, heading=heading, start=start, stock=stock)


@staff_required
@once
def grip_from_ball(request: ShopRequest, pk: int) -> HttpResponse:
    """The grip in hand: a new grip filled with the holes of one ball of the bag."""
    balls = OwnedBall.objects.for_shop(request.shop).with_drilling().select_related("bowler")
    ball = get_object_or_404(balls, pk=pk)
    try:
        copied = grip_of(ball)
    except InputError as error:
        messages.error(request, f"{ball} has no grip to copy: {refusal_words(error)}")
        return redirect(ball)
    begin = beginning(ball.bowler, copied=copied, copied_from=str(ball))
    return new_grip(request, ball.bowler, begin)


@staff_required
@once
def owned_ball_edit(request: ShopRequest, pk: int) -> HttpResponse:
    """Edit a ball and its holes."""
    ball = get_object_or_404(OwnedBall.objects.for_shop(request.shop).with_holes(), pk=pk)
    heading = f"Edit {ball}"
    form = OwnedBallForm(request.POST or None, instance=ball, spec=ball.spec)
    holes = HoleFormSet(request.POST or None, instance=ball, prefix="holes")
    return _ball_form(request, ball.bowler, form, holes, heading=heading, ball=ball)


@staff_required
@once
def owned_ball_retire(request: ShopRequest, pk: int) -> HttpResponse:
    """Take a ball out of use, sold or not, or bring it back when ``retired`` is 0."""
    balls = OwnedBall.objects.for_shop(request.shop).select_related("spec__model")
    ball = get_object_or_404(balls, pk=pk)
    if request.method != "POST":
        return redirect(ball)
    retired, sold = request.POST.get("retired") != "0", request.POST.get("retired") == "sold"
    version = whole_number(request.POST.get("record_version")) or 0
    try:
        set_retired(ball=ball, expected_version=version, retired=retired, sold=sold)
    except StaleRecord:
        messages.error(request, f"{ball} was changed meanwhile. Look at it again, then decide.")
    else:
        state = "sold" if sold else "retired" if retired else "back in the bag"
        messages.success(request, f"{ball} is {state}.")
    return redirect("owned-ball", pk=ball.pk)


def _ball_form(
    request: ShopRequest,
    bowler: Bowler,
    form: OwnedBallForm,
    holes: BaseHoleFormSet,
    *,
    heading: str,
    ball: OwnedBall | None = None,
    start: Start | None = None,
    stock: StockBall | None = None,
) -> HttpResponse:
    if request.method == "POST" and all([form.is_valid(), holes.is_valid()]):
        try:
            saved = save_owned_ball(form=form, holes=holes, from_shelf=stock)
        except InputError as error:
            if not refuse_hole(holes.kept_forms, error):
                refuse(form, error, _form_names(form))
        except StaleRecord:
            form.add_error(None, "That ball was changed or sold meanwhile: pick it again.")
        else:
            messages.success(request, f"{saved} is in {bowler}’s bag.")
            return redirect(saved)
    context = {
        "form": form,
        "holes": holes,
        "heading": heading,
        "bowler": bowler,
        "ball": ball,
        "start": start,
        "stock": stock,
    }
    return render(request, "arsenal/bag/ball_form.html", context)


def _form_names(form: OwnedBallForm) -> dict[str, str]:
    """The form's name of each number of the layout as it was typed."""
    notation = form.cleaned_data["layout_notation"]
    return {number: field_name(notation, number) for number in form.instance.layout_numbers}
