"""Writes of the press, and a plan as its pages show it."""

from __future__ import annotations

import statistics
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F, FloatField
from django.db.models.fields.json import KT
from django.db.models.functions import Cast
from django.utils import timezone

from arsenal import engine
from arsenal.bag.chain import LAYOUT, is_same_hole, put_by
from arsenal.bag.models import Hole, OwnedBall
from arsenal.bag.services import start_for
from arsenal.catalogue.forms import LABEL_FIELDS
from arsenal.catalogue.models import StockBall
from arsenal.catalogue.services import set_state
from arsenal.press import gate
from arsenal.press.advised import is_followed, plan_words
from arsenal.press.forms import BasePlannedHoles, DrilledForm, PlanForm
from arsenal.press.models import DrillPlan, RedrillGate
from arsenal.refusals import refusal_words
from arsenal.tickets import services as tickets
from physics.errors import InputError

if TYPE_CHECKING:
    from django.contrib.auth.models import AbstractBaseUser, User

    from arsenal.catalogue.models import BallSpec
    from bowlers.models import Bowler, Grip

    Person = User | AbstractBaseUser

# What of a plan's numbers is kept when it is signed for.
PREDICTED = ("weight_lb", "principal_rg_in", "differential_in", "intermediate_differential_in",
             "static_oz", "flare_in", "clearance_in", "layout", "rule_set", "check", "warnings",
             "marks")  # fmt: skip
STATICS = {
    "top": ("measured_top_oz", "Top"),
    "side": ("measured_side_oz", "PAP side"),
    "finger": ("measured_finger_oz", "Fingers"),
}
COPIED = (
    *LABEL_FIELDS, "layout_notation", "layout_numbers", "pap_over_in", "pap_up_in",
)  # fmt: skip


@dataclass(frozen=True)
class Planned:
    """A plan with its numbers, or the reason there are none, and whether it may be signed for."""

    plan: DrillPlan
    numbers: dict[str, Any] | None
    refusal: str
    ready: gate.Readiness

    @property
    def choice_words(self) -> str:
        return plan_words(self.plan, self.numbers["layout"]) if self.numbers else str(self.plan)

    @property
    def follows_advice(self) -> bool:
        return self.numbers is None or is_followed(self.plan, self.numbers["layout"])


def planned(plan: DrillPlan) -> Planned:
    """A plan through the engine; once signed, with the numbers it was signed for."""
    try:
        numbers = plan.predicted or engine.planned_numbers(plan)
    except InputError as error:
        words = refusal_words(error)
        return Planned(plan, None, words, gate.readiness(plan, None, words))
    return Planned(plan, numbers, "", gate.readiness(plan, numbers))


@dataclass(frozen=True)
class Start:
    """What a new plan's form starts from, and where its parts come from."""

    initial: dict[str, Any]
    holes: list[dict[str, Any]]
    pap_from: str
    holes_from: str
    painful: Grip | None


def start_plan(
    *,
    bowler: Bowler,
    spec: BallSpec,
    stock: StockBall | None = None,
    ball: OwnedBall | None = None,
    option: dict[str, Any] | None = None,
) -> Start:
    """Label, PAP, layout, finish and holes to start a plan from.

    The label is that of the ball in hand, the PAP that of the fitting in use, holes those of the
    grip in use, else those of the last ball; layout and finish those of the option chosen.
    """
    begun = start_for(bowler=bowler, spec=spec, stock=stock)
    initial = dict(begun.initial)
    if ball is not None:
        initial |= {name: getattr(ball, name) for name in LABEL_FIELDS} | {"finish": ball.finish}
        if "pap_over_in" not in initial:
            initial |= {"pap_over_in": ball.pap_over_in, "pap_up_in": ball.pap_up_in}
    if option is not None:
        initial |= {"layout_notation": "angles", "finish": option["surface"]}
        for name in ("drilling_angle_deg", "pin_to_pap_in", "val_angle_deg"):
            initial[f"angles_{name}"] = round(option["layout"][name], 4)
    holes = [{k: v for k, v in hole.items() if k != "density_g_cm3"} for hole in begun.holes]
    return Start(initial, holes, begun.pap_from, begun.holes_from, begun.painful)


@transaction.atomic
def save_plan(*, form: PlanForm, holes: BasePlannedHoles) -> DrillPlan:
    """Keep a plan with its holes, or nothing at all; one that was signed has to be signed again.

    Raises InputError when it can't be drilled: nothing is stored then.
    """
    plan: DrillPlan = form.instance
    plan.state = DrillPlan.State.DRAFT
    plan.signed_by = plan.signed_at = plan.predicted = None
    plan = form.save()
    holes.instance = plan
    holes.save()
    engine.planned_numbers(DrillPlan.objects.whole().get(pk=plan.pk))
    tickets.plan_taken_back(plan, aside=False)
    return plan


@transaction.atomic
def sign(*, plan: DrillPlan, expected_version: int, user: Person) -> DrillPlan:
    """Sign a plan off: it goes to the press with the numbers it was signed for.

    Raises ValidationError naming what stops it, StaleRecord when it changed meanwhile.
    """
    if not plan.is_draft:
        raise ValidationError("This plan was signed for already.")
    found = planned(plan)
    if not found.ready.is_ready or found.numbers is None:
        raise ValidationError(found.ready.stops)
    plan.predicted = {name: found.numbers[name] for name in PREDICTED} | {
        "model_version": engine.MODEL_VERSION
    }
    plan.state = DrillPlan.State.SIGNED
    plan.signed_by_id, plan.signed_at = user.pk, timezone.now()
    _promise(plan)
    plan.save_checked(expected_version)
    tickets.ticket_for(plan)
    return plan


def _promise(plan: DrillPlan) -> None:
    """Keep the shelf's ball for whom it is drilled; raises ValidationError where it is gone."""
    stock = plan.stock
    if stock is None:
        return
    reach = StockBall.objects.within_reach_of(plan.bowler)
    if not reach.filter(pk=stock.pk).exists():
        promised = stock.state == StockBall.State.PROMISED
        where = "promised to somebody else" if promised else stock.get_state_display().lower()
        raise ValidationError(
            f"{stock} is {where}: put it back on the shelf if that is wrong, or plan another ball."
        )
    if stock.state == "shelf" or stock.promised_to_id is None:
        set_state(
            ball=stock,
            expected_version=stock.version,
            state="promised",
            promised_to=plan.bowler,
        )


@transaction.atomic
def set_aside(*, plan: DrillPlan, expected_version: int, aside: bool) -> DrillPlan:
    """Set a plan aside that isn't drilled yet, or bring it back as a draft."""
    if plan.is_drilled:
        raise ValidationError("The ball is drilled: the plan stays on record.")
    plan.state = DrillPlan.State.ASIDE if aside else DrillPlan.State.DRAFT
    plan.signed_by = plan.signed_at = plan.predicted = None
    plan.save_checked(expected_version)
    stock = plan.stock
    if aside and stock is not None and stock.promised_to_id == plan.bowler_id:
        set_state(ball=stock, expected_version=stock.version, state="shelf")
    tickets.plan_taken_back(plan, aside=aside)
    return plan


@transaction.atomic
def record_drilled(
    *, plan: DrillPlan, form: DrilledForm, holes: BasePlannedHoles, user: Person
) -> OwnedBall:
    """Write the bag record of a ball as it was drilled; the plan stays as it was planned.

    The rows of ``holes`` are what was drilled. A ball off the shelf is sold by it. Raises
    InputError when the engine can't take it, StaleRecord when the shelf's ball changed meanwhile.
    """
    finish = form.cleaned_data["finish"]
    ball = plan.ball if plan.again and plan.ball else OwnedBall(shop=plan.shop, bowler=plan.bowler)
    if plan.again and plan.ball:
        stays = _holes_left_alone(plan, ball, holes)
        gate_answers = RedrillGate.objects.filter(plan=plan).first()
        poured = gate_answers.plugged_at if gate_answers else None
        put_by(
            ball=ball,
            stays=stays,
            plugged_on=timezone.localtime(poured).date() if poured else timezone.localdate(),
        )
    for name in COPIED:
        setattr(ball, name, getattr(plan, name))
    ball.spec, ball.finish, ball.games_since_finish = plan.spec, finish, 0
    ball.retired = False
    if plan.again and plan.ball:
        ball.save_checked(ball.version)
        # Holes left alone get a row anew below, with what is in them now.
        Hole.objects.filter(ball=ball).delete()
    else:
        ball.save()
    known = {field.name for field in Hole._meta.concrete_fields} - {"id", "ball"}
    for row in holes.kept_forms:
        values = {name: value for name, value in row.cleaned_data.items() if name in known}
        values["density_g_cm3"] = row.instance.density_g_cm3
        Hole.objects.create(ball=ball, **values)
    engine.drilled_numbers(OwnedBall.objects.with_drilling().get(pk=ball.pk))
    if plan.stock is not None and plan.stock.state != "sold":
        set_state(ball=plan.stock, expected_version=plan.stock.version, state="sold")
    plan = form.instance
    plan.ball, plan.state = ball, DrillPlan.State.DRILLED
    plan.drilled_by_id, plan.drilled_at = user.pk, timezone.now()
    form.save()
    tickets.plan_drilled(plan)
    return ball


def _holes_left_alone(plan: DrillPlan, ball: OwnedBall, holes: BasePlannedHoles) -> set[int]:
    """Keys of the holes that weren't plugged: those the press left as they were.

    Under another layout or PAP every hole was: the same numbers name other places on the ball.
    """
    if any(getattr(plan, name) != getattr(ball, name) for name in LAYOUT):
        return set()
    rows = [row.cleaned_data for row in holes.kept_forms]
    return {hole.pk for hole in ball.holes.all() if any(is_same_hole(hole, row) for row in rows)}


@dataclass(frozen=True)
class RunningError:
    """How far weighed statics lay from what was predicted: mean, spread and number of balls."""

    name: str
    mean_oz: float
    sd_oz: float | None
    count: int


def running_errors(shop: Any) -> list[RunningError]:
    """Weighed less predicted of every ball this shop weighed after drilling. One query."""
    weighed = DrillPlan.objects.for_shop(shop).measured().order_by()
    # Differences alone are fetched: plans are long, and a shop has thousands.
    asked = [
        F(field) - Cast(KT(f"predicted__static_oz__{key}"), FloatField())
        for key, (field, _) in STATICS.items()
    ]
    found = []
    columns = zip(*weighed.values_list(*asked), strict=True)
    for (_, name), column in zip(STATICS.values(), columns, strict=False):
        if off := [one for one in column if one is not None]:
            sd = statistics.stdev(off) if len(off) > 1 else None
            found.append(RunningError(name, statistics.fmean(off), sd, len(off)))
    return found


def weighed_rows(plan: DrillPlan) -> list[dict[str, Any]]:
    """Each static of a plan as predicted and as weighed."""
    if not plan.is_weighed or not plan.predicted:
        return []
    rows = []
    for key, (field, name) in STATICS.items():
        expected, weighed = plan.predicted["static_oz"][key], getattr(plan, field)
        rows.append(
            {"name": name, "predicted": expected, "weighed": weighed, "off": weighed - expected}
        )
    return rows
