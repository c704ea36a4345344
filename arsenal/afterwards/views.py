"""Pages of what was seen on the lanes."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from arsenal.afterwards.forms import ObservationForm
from arsenal.afterwards.models import Observation
from arsenal.afterwards.services import afterwards_of, log_observation, set_aside, start_for
from arsenal.fields import whole_number
from arsenal.refusals import refuse
from bowlers.models import Bowler
from physics.errors import InputError
from proshop.access import ShopRequest, once, staff_required
from proshop.models import StaleRecord

# The newest evening, which is what one comes for; earlier ones by one more press.
NEWEST = 1


@staff_required
def afterwards(request: ShopRequest, pk: int) -> HttpResponse:
    """What was seen of a customer's balls, what was expected, and what was learnt."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    waiting = bowler.phone_reports.filter(status="waiting").select_related("ball", "condition")
    context = {
        "bowler": bowler,
        "page": afterwards_of(bowler, shown=None if "all" in request.GET else NEWEST),
        "reports": waiting,
        **_can_log(bowler),
    }
    return render(request, "arsenal/afterwards/afterwards.html", context)


@staff_required
@once
def observation_add(request: ShopRequest, pk: int) -> HttpResponse:
    """Log what was seen of one ball on one condition."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    blank = Observation(shop=request.shop, bowler=bowler)
    start = start_for(bowler, whole_number(request.GET.get("ball")))
    form = ObservationForm(request.POST or None, instance=blank, bowler=bowler, initial=start)
    if request.method == "POST" and form.is_valid():
        try:
            seen = log_observation(form=form, user=request.user)
        except InputError as error:
            refuse(form, error, {})
        else:
            messages.success(request, f"{seen} is logged.")
            return redirect(seen)
    context = {"form": form, "bowler": bowler, **_can_log(bowler)}
    return render(request, "arsenal/afterwards/observation_form.html", context)


@staff_required
@once
def observation_aside(request: ShopRequest, pk: int) -> HttpResponse:
    """Set an observation aside, or bring it back when ``aside`` is 0."""
    observations = Observation.objects.for_shop(request.shop).with_records()
    seen = get_object_or_404(observations, pk=pk)
    if request.method != "POST":
        return redirect(seen)
    aside = request.POST.get("aside") != "0"
    version = whole_number(request.POST.get("record_version")) or 0
    try:
        set_aside(observation=seen, expected_version=version, aside=aside)
    except StaleRecord:
        messages.error(request, f"{seen} was changed meanwhile. Look at it again, then decide.")
    else:
        done = "set aside: it counts for nothing now" if aside else "counted again"
        messages.success(request, f"{seen} is {done}.")
    return redirect(seen)


def _can_log(bowler: Bowler) -> dict[str, bool]:
    return {"has_balls": bowler.bag.in_use().exists(), "has_conditions": bowler.conditions.exists()}
