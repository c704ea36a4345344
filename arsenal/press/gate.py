"""What must be settled before a plan is signed for, and what only has to be minded."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format

from arsenal import engine
from arsenal.bag.chain import LAYOUT, PLACED, is_same_hole
from arsenal.bag.questions import asked_about
from arsenal.press.advised import is_followed
from arsenal.press.models import DrillPlan, RedrillGate
from arsenal.refusals import refusal_words
from bowlers.engine_grip import grip_in_use
from bowlers.measures import inches
from physics.errors import InputError

# Older resin hardens and cracks more easily: common practice, no source.
OLD_YEARS = 5.0
# Plug and new hole this near count as touching, inches: a press sets no finer.
TOUCHING_IN = 1 / 64
# Further apart than this nobody asks.
NEAR_IN = 0.25
# What of a plan the answers are about, in words.
ASKED_OF = {
    "ball": "the ball’s serial number",
    "label": "its label",
    "layout": "the layout",
    "holes": "the holes",
}


@dataclass(frozen=True)
class Readiness:
    """``stops`` keep a plan from being signed; ``minds`` are said and kept on the sheet; ``asks``
    are unusual numbers, which may be right."""

    stops: list[str]
    minds: list[str]
    asks: list[str]

    @property
    def is_ready(self) -> bool:
        return not self.stops


def readiness(plan: DrillPlan, numbers: Mapping[str, Any] | None, refusal: str = "") -> Readiness:
    """What stands between a plan and the press; ``numbers`` as the engine has them, or refused."""
    stops, minds = [], []
    if numbers is None:
        stops.append(f"It can’t be drilled so: {refusal}")
    else:
        minds += [f"{said[:1].upper()}{said[1:]}." for said in numbers["warnings"]]
        faults = [row for row in numbers["check"] if row["fails"]]
        if faults and not plan.reason.strip():
            stops.append(
                f"Outside the rules held to here ({numbers['rule_set']}): change the plan, or give "
                "the reason it is drilled so all the same, such as play that isn’t certified."
            )
        if not is_followed(plan, numbers["layout"]) and not plan.reason.strip():
            stops.append("It isn’t what was advised: give the reason, which is kept beside it.")
    if not plan.holes.all():
        stops.append("No holes are planned: add them.")
    grip = grip_in_use(plan.bowler)
    if grip is not None and grip.stops_copying:
        stops.append(
            f"The grip hurts: {grip.hurt_words}. Say on the grip what is to change because of it "
            "before a ball is drilled to it."
        )
    if plan.again:
        gate_stops, gate_minds = _gate(plan)
        stops, minds = stops + gate_stops, minds + gate_minds
    elif not plan.serial:
        minds.append("The serial number isn’t recorded: read it off the ball before drilling.")
    return Readiness(stops, minds, asked_about(plan))


def gate_of(plan: DrillPlan) -> RedrillGate | None:
    found: RedrillGate | None = RedrillGate.objects.filter(plan=plan).first()
    return found


def asked_of(plan: DrillPlan) -> dict[str, Any]:
    """What the answers before a redrill are about: another of it, and they are asked for anew."""
    names = ("label_weight_lb", "label_weight_oz", "top_weight_oz", "pin_to_cg_in",
             "cg_off_line_in", "pin_to_psa_in")  # fmt: skip
    label = [getattr(plan, name) for name in names]
    return {
        "ball": plan.serial,
        "label": [None if value is None else round(float(value), 4) for value in label],
        "layout": [plan.layout_notation, plan.layout_numbers, plan.pap_over_in, plan.pap_up_in],
        "holes": [
            [hole.kind, *(round(float(getattr(hole, name)), 4) for name in PLACED)]
            for hole in plan.holes.all()
        ],
    }


def changed_since(gate: RedrillGate, plan: DrillPlan) -> list[str]:
    """What of the plan is another than when the gate was answered, in words."""
    now = asked_of(plan)
    return [words for name, words in ASKED_OF.items() if gate.asked_of.get(name) != now[name]]


def overlaps(plan: DrillPlan) -> list[dict[str, Any]]:
    """Each new hole against the old ones it comes near, cut first, with words.

    Raises InputError where either drilling can't be computed.
    """
    kept = _kept(plan)
    return [
        row | {"words": _overlap_words(row)}
        for row in engine.plug_overlaps(plan)
        if row["inches"] < NEAR_IN
        and (row["drilling"] or row["new"] != row["old"] or row["new"] not in kept)
    ]


def cuts_open_holes(rows: Sequence[Mapping[str, Any]]) -> bool:
    """Whether holes the ball still has would be cut: those of earlier drillings are plugged."""
    return any(row["inches"] < TOUCHING_IN and not row["drilling"] for row in rows)


def cured_at(gate: RedrillGate) -> datetime.datetime | None:
    """When the plug is hard, by its maker's hours."""
    if gate.plugged_at is None or gate.cure_hours is None:
        return None
    return gate.plugged_at + datetime.timedelta(hours=gate.cure_hours)


def _gate(plan: DrillPlan) -> tuple[list[str], list[str]]:
    gate = gate_of(plan)
    stops: list[str] = []
    rows: list[dict[str, Any]] = []
    if plan.ball_id and plan.holes.all():
        try:
            rows = overlaps(plan)
        except InputError as error:
            stops.append(
                "Where the new holes meet the old ones can’t be worked out. "
                f"{refusal_words(error)} Correct the plan, or the ball’s record, first."
            )
    minds = [row["words"] for row in rows]
    if gate is None:
        stops.append("It was drilled before: answer what is asked before it is drilled again.")
        return stops, minds
    if changed := changed_since(gate, plan):
        stops.append(
            f"Changed since this was answered: {', '.join(changed)}. Go through what is asked "
            "before it is drilled again once more, and keep the answers."
        )
    if gate.cracks == RedrillGate.Cracks.FOUND:
        stops.append("Cracks were found: the ball isn’t drilled; it can break up on the press.")
    hard = cured_at(gate)
    if hard is None and cuts_open_holes(rows):
        stops.append("New holes cut old ones: plug those first, and say when the plug was poured.")
    if hard is not None and hard > timezone.now():
        when = date_format(timezone.localtime(hard), "j M, H:i")
        stops.append(f"The plug hasn’t cured: not before {when}.")
    if not gate.warranty_told:
        stops.append("Tell the customer that drilling it again voids the maker’s warranty.")
    if not gate.customer_signed.strip():
        stops.append("The customer hasn’t signed for it.")
    if gate.age_years >= OLD_YEARS:
        minds.append(
            f"The ball is {gate.age_years:g} years old: old resin chips and cracks more easily "
            "(common practice, no source). Drill slowly, and look again after each hole."
        )
    return stops, minds


def _kept(plan: DrillPlan) -> set[str]:
    """Names of holes of the plan that are the old ones, left as they are."""
    ball = plan.ball
    if ball is None or any(getattr(plan, name) != getattr(ball, name) for name in LAYOUT):
        return set()
    old = list(ball.holes.all())
    return {
        engine.HOLE_NAMES[hole.kind]
        for hole in plan.holes.all()
        if any(is_same_hole(hole, other) for other in old)
    }


def _overlap_words(row: Mapping[str, Any]) -> str:
    new, left = row["new"], row["inches"]
    old = f"old {row['old']} hole"
    if row["drilling"]:
        old = f"{row['old']} hole of drilling {row['drilling']}"
    if left >= TOUCHING_IN:
        return f"Between the new {new} hole and the {old} {inches(left, 64)} in are left."
    if left > -TOUCHING_IN:
        return f"The new {new} hole touches the plug of the {old}."
    deep = row["meets_in"] or 0.0
    where = "from the surface on" if deep < 0.05 else f"from {deep:.1f} in under the surface on"
    return (
        f"The new {new} hole cuts {-left:.2f} in into the plug of the {old}, {where}: a "
        "thin edge of plug can break out."
    )
