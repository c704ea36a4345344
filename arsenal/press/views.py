"""Pages of the press: plans, the gate, the drill sheet, and what was drilled."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from arsenal import engine, printed
from arsenal.advice.models import Ranking
from arsenal.bag.layout_fields import field_name, holes_in_address, in_address
from arsenal.bag.models import OwnedBall
from arsenal.catalogue.models import BallSpec, StockBall
from arsenal.catalogue.views import PAGE, pick, picked
from arsenal.changes import changes_with_rows
from arsenal.fields import whole_number
from arsenal.plate.drawing import Picture, pictures
from arsenal.press import advised, gate, services
from arsenal.press import sheet as lines
from arsenal.press.forms import (
    BasePlannedHoles,
    DrilledForm,
    GateForm,
    PlanForm,
    PlannedHoles,
    WeighedForm,
)
from arsenal.press.models import DrillPlan, PlannedHole, RedrillGate
from arsenal.press.overrides import overrides
from arsenal.refusals import refusal_words, refuse, refuse_hole
from bowlers.models import Bowler
from physics.errors import InputError
from proshop.access import ShopRequest, once, staff_required
from proshop.models import StaleRecord


@staff_required
def plans(request: ShopRequest, pk: int) -> HttpResponse:
    """Every plan of a customer, with what was advised and what was chosen."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    found = [services.planned(plan) for plan in bowler.drill_plans.whole()]
    return render(request, "arsenal/press/plans.html", {"bowler": bowler, "plans": found})


@staff_required
@require_safe
def all_overrides(request: ShopRequest) -> HttpResponse:
    """What was advised, chosen and why, of the whole shop, newest first; with ``all`` what was
    chosen as advised as well."""
    everything = request.GET.get("all") == "1"
    found = DrillPlan.objects.for_shop(request.shop).advised()
    if not everything:
        found = found.exclude(reason="")
    page = Paginator(found.whole().order_by("-created_at", "-pk"), PAGE)
    shown = page.get_page(request.GET.get("page"))
    context = {"page": shown, "rows": overrides(list(shown)), "everything": everything}
    return render(request, "arsenal/press/overrides.html", context)


@staff_required
def plan(request: ShopRequest, pk: int) -> HttpResponse:
    """One plan: its numbers, what stops it, advice beside choice, and what came of it."""
    stored = _plan_of(request, pk)
    found = services.planned(stored)
    context = {
        "plan": stored,
        "planned": found,
        "bowler": stored.bowler,
        "gate": gate.gate_of(stored),
        "weighed": services.weighed_rows(stored),
        "errors": services.running_errors(request.shop),
        "changes": changes_with_rows(stored, PlannedHole, link="plan_id", name="kind"),
        **_lines(stored, found),
    }
    return render(request, "arsenal/press/plan.html", context)


@staff_required
@once
def plan_add(request: ShopRequest, pk: int) -> HttpResponse:
    """Plan a ball from scratch: pick it, then lay it out."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    stock, spec = picked(request, bowler)
    if spec is None:
        back = reverse("drill-plans", args=[bowler.pk])
        return pick(request, heading=f"Drill a ball for {bowler}", back=back, bowler=bowler)
    return _new_plan(request, bowler, spec, stock=stock)


@staff_required
@once
def redrill_add(request: ShopRequest, pk: int) -> HttpResponse:
    """Plan to drill an owned ball again."""
    balls = OwnedBall.objects.for_shop(request.shop).with_drilling()
    ball = get_object_or_404(balls, pk=pk)
    return _new_plan(request, ball.bowler, ball.spec, ball=ball)


@staff_required
@once
def plan_from_choice(request: ShopRequest, pk: int) -> HttpResponse:
    """Plan the choice of a ranking that ``choice`` names by rank, ``member`` one of its family."""
    rankings = Ranking.objects.for_shop(request.shop).select_related("bowler", "shop")
    ranking = get_object_or_404(rankings, pk=pk)
    place = whole_number(request.GET.get("choice")) or 1
    member = whole_number(request.GET.get("member")) or 0
    option = advised.option_at(ranking, place, member)
    if option is None:
        raise Http404("That choice isn't one that is drilled.")
    stock, spec, ball = advised.ball_behind(ranking, option)
    if spec is None:
        messages.error(
            request,
            f"{option['ball']} is no longer where it was: sold, retired or taken out of the "
            "catalogue. Pick the ball to drill.",
        )
        return redirect("drill-plan-add", pk=ranking.bowler_id)
    return _new_plan(
        request, ranking.bowler, spec, stock=stock, ball=ball, option=option, ranking=ranking
    )


@staff_required
@once
def plan_edit(request: ShopRequest, pk: int) -> HttpResponse:
    """Change a plan that isn't drilled; one that was signed has to be signed again."""
    stored = _plan_of(request, pk)
    if stored.is_drilled:
        messages.error(request, "The ball is drilled: the plan stays what it was.")
        return redirect(stored)
    form = PlanForm(request.POST or None, instance=stored, spec=stored.spec)
    holes = PlannedHoles(request.POST or None, instance=stored, prefix="holes")
    return _plan_form(request, stored, form, holes, heading=f"Change the plan {stored.number}")


@staff_required
@once
def plan_gate(request: ShopRequest, pk: int) -> HttpResponse:
    """What is asked before a ball is drilled again."""
    stored = _plan_of(request, pk)
    if not stored.again:
        return redirect(stored)
    answered = gate.gate_of(stored) or RedrillGate(shop=request.shop, plan=stored)
    form = GateForm(request.POST or None, instance=answered)
    if request.method == "POST" and form.is_valid():
        if stored.is_draft:
            answered.asked_of = gate.asked_of(stored)
            form.save()
            messages.success(request, "Kept.")
        else:
            messages.error(request, "The plan is signed for: take it back first.")
        return redirect(stored)
    context: dict[str, Any] = {"plan": stored, "form": form, "bowler": stored.bowler}
    if answered.pk:
        context["changed"] = gate.changed_since(answered, stored)
    try:
        context["overlaps"] = gate.overlaps(stored)
    except InputError as error:
        context["refusal"] = refusal_words(error)
    return render(request, "arsenal/press/gate.html", context)


@staff_required
@once
def plan_sign(request: ShopRequest, pk: int) -> HttpResponse:
    """Sign a plan off: it goes to the press."""
    stored = _plan_of(request, pk)
    if request.method == "POST":
        version = whole_number(request.POST.get("record_version")) or 0
        try:
            services.sign(plan=stored, expected_version=version, user=request.user)
        except StaleRecord:
            messages.error(request, "The plan was changed meanwhile. Look at it again, then sign.")
        except ValidationError as error:
            messages.error(request, " ".join(error.messages))
        else:
            messages.success(request, f"{stored.number} is signed for and at the press.")
    return redirect(stored)


@staff_required
@once
def plan_aside(request: ShopRequest, pk: int) -> HttpResponse:
    """Set a plan aside, or bring it back when ``aside`` is 0."""
    stored = _plan_of(request, pk)
    if request.method == "POST":
        aside = request.POST.get("aside") != "0"
        version = whole_number(request.POST.get("record_version")) or 0
        try:
            services.set_aside(plan=stored, expected_version=version, aside=aside)
        except StaleRecord:
            messages.error(request, "The plan was changed meanwhile. Look at it again first.")
        except ValidationError as error:
            messages.error(request, " ".join(error.messages))
        else:
            messages.success(
                request, f"{stored.number} is {'set aside' if aside else 'being laid out again'}."
            )
    return redirect(stored)


@staff_required
@once
def plan_drilled(request: ShopRequest, pk: int) -> HttpResponse:
    """Say what differed; the bag record is written by it."""
    stored = _plan_of(request, pk)
    if not stored.is_signed:
        messages.error(request, "Only a plan that is signed for and at the press is drilled.")
        return redirect(stored)
    form = DrilledForm(request.POST or None, instance=stored, initial={"finish": stored.finish})
    holes = PlannedHoles(request.POST or None, instance=stored, prefix="holes")
    if request.method == "POST" and all([form.is_valid(), holes.is_valid()]):
        try:
            ball = services.record_drilled(plan=stored, form=form, holes=holes, user=request.user)
        except InputError as error:
            if not refuse_hole(holes.kept_forms, error):
                refuse(form, error)
        except StaleRecord:
            form.add_error(None, "The ball was changed meanwhile: look at it, then send again.")
        else:
            messages.success(request, f"{ball} is drilled and in {stored.bowler}’s bag.")
            return redirect(stored)
    context = {"plan": stored, "bowler": stored.bowler, "form": form, "holes": holes}
    return render(request, "arsenal/press/drilled.html", context)


@staff_required
@once
def plan_weighed(request: ShopRequest, pk: int) -> HttpResponse:
    """Enter the statics as weighed after drilling."""
    stored = _plan_of(request, pk)
    if not stored.is_drilled:
        messages.error(request, "Weigh the ball once it is drilled.")
        return redirect(stored)
    form = WeighedForm(request.POST or None, instance=stored)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Weighed statics are kept beside what was predicted.")
        return redirect(stored)
    context = {
        "title": f"Statics of {stored} as weighed",
        "form": form,
        "submit_label": "Save",
        "cancel_url": stored.get_absolute_url(),
        "lead": "With the scale level and set to zero; each number is the heavier half less the "
        "lighter.",
    }
    return render(request, "proshop/form.html", context)


@staff_required
@require_safe
def sheet(request: ShopRequest, pk: int) -> HttpResponse:
    """The drill sheet for the printer of whoever looks at it."""
    stored = _plan_of(request, pk)
    found = services.planned(stored)
    if found.numbers is None:
        messages.error(request, f"There is no sheet yet: {found.refusal}")
        return redirect(stored)
    return render(request, "arsenal/press/sheet.html", _sheet(request, stored, found))


@staff_required
@require_safe
def sheet_pdf(request: ShopRequest, pk: int) -> HttpResponse:
    """The drill sheet as PDF on the paper asked for."""
    stored = _plan_of(request, pk)
    found = services.planned(stored)
    if found.numbers is None:
        messages.error(request, f"There is no sheet yet: {found.refusal}")
        return redirect(stored)
    return printed.pdf(
        request,
        "arsenal/press/sheet.html",
        _sheet(request, stored, found),
        name=f"drill-sheet-{stored.number}",
        paper=printed.paper_of(request),
        slimmer={"maps": []},
    )


def _plan_of(request: ShopRequest, pk: int) -> DrillPlan:
    found: DrillPlan = get_object_or_404(DrillPlan.objects.for_shop(request.shop).whole(), pk=pk)
    return found


def _lines(stored: DrillPlan, found: services.Planned) -> dict[str, Any]:
    if found.numbers is None:
        return {}
    hand = stored.bowler.hand
    return {
        "steps": lines.marking_steps(stored, found.numbers, hand),
        "points": lines.places(found.numbers, hand),
        "hole_lines": lines.hole_lines(stored, found.numbers, hand),
        "notations": _notations(stored, found),
    }


def _notations(stored: DrillPlan, found: services.Planned) -> dict[str, Any]:
    """The layout in each notation, as typed in the one it was typed in."""
    computed = (found.numbers or {}).get("layout", {})
    typed = {stored.layout_notation: stored.layout_numbers}
    return {name: {**computed, **typed.get(name, {})} for name in ("angles", "buffer", "read_off")}


# With more to mind than this the maps would push the sheet onto a second page.
MINDS_BESIDE_MAPS = 1


def _has_room(stored: DrillPlan, minds: list[str]) -> bool:
    """Whether the one page has room for the ball's maps."""
    long = bool(stored.again or stored.reason or stored.notes)
    return not long and len(minds) <= MINDS_BESIDE_MAPS


def _maps(stored: DrillPlan) -> list[Picture]:
    try:
        return pictures(engine.planned_maps(stored), stored.bowler.hand)
    except InputError:
        return []


def _sheet(request: ShopRequest, stored: DrillPlan, found: services.Planned) -> dict[str, Any]:
    minds = lines.minds(found.ready.minds, found.numbers or {})
    return {
        "plan": stored,
        "planned": found,
        "numbers": found.numbers,
        "bowler": stored.bowler,
        "gate": gate.gate_of(stored),
        "qr": printed.qr_svg(request.build_absolute_uri(stored.get_absolute_url())),
        "papers": printed.PAPERS,
        "statics": lines.static_lines(found.numbers or {}),
        "others": lines.other_rules(found.numbers or {}),
        "minds": minds,
        "maps": _maps(stored) if _has_room(stored, minds) else [],
        **_lines(stored, found),
    }


def _new_plan(
    request: ShopRequest,
    bowler: Bowler,
    spec: BallSpec,
    *,
    stock: StockBall | None = None,
    ball: OwnedBall | None = None,
    option: dict[str, Any] | None = None,
    ranking: Any = None,
) -> HttpResponse:
    start = services.start_plan(bowler=bowler, spec=spec, stock=stock, ball=ball, option=option)
    behind = ranking or advised.newest_ranking(bowler)
    blank = DrillPlan(
        shop=request.shop,
        bowler=bowler,
        stock=stock,
        ball=ball,
        again=ball is not None,
        ranking=behind,
        advice=advised.advice_of(behind),
    )
    initial = start.initial | in_address(request.GET)
    form = PlanForm(request.POST or None, instance=blank, initial=initial, spec=spec)
    rows = holes_in_address(request.GET, start.holes)
    holes = PlannedHoles(request.POST or None, instance=blank, prefix="holes", starting=rows)
    what = ball or spec.model
    heading = f"Drill {what} again" if ball else f"Drill {what} for {bowler}"
    return _plan_form(request, blank, form, holes, heading=heading, start=start)


def _plan_form(
    request: ShopRequest,
    stored: DrillPlan,
    form: PlanForm,
    holes: BasePlannedHoles,
    *,
    heading: str,
    start: services.Start | None = None,
) -> HttpResponse:
    if request.method == "POST" and all([form.is_valid(), holes.is_valid()]):
        try:
            saved = services.save_plan(form=form, holes=holes)
        except InputError as error:
            if not refuse_hole(holes.kept_forms, error):
                refuse(form, error, _form_names(form))
        except StaleRecord:
            form.add_error(None, "The plan was changed meanwhile: look at it, then send again.")
        else:
            messages.success(request, "The plan is kept. Read it through, then sign it off.")
            return redirect(saved)
    context = {
        "form": form,
        "holes": holes,
        "heading": heading,
        "bowler": stored.bowler,
        "plan": stored,
        "start": start,
    }
    return render(request, "arsenal/press/plan_form.html", context)


def _form_names(form: PlanForm) -> dict[str, str]:
    """The form's name of each number of the layout as it was typed."""
    notation = form.cleaned_data["layout_notation"]
    return {number: field_name(notation, number) for number in form.instance.layout_numbers}
