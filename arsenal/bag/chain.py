"""The chain of a ball's drillings: what it has now, what was planned, and what was plugged."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from arsenal import engine
from arsenal.bag.models import EarlierDrilling, GripHole, Hole, OwnedBall, PluggedHole
from bowlers.measures import inches, with_minus
from physics.errors import InputError

if TYPE_CHECKING:
    from arsenal.press.models import DrillPlan

# Holes nearer than this to each other in every number are one hole: no press sets finer.
SAME_IN, SAME_DEG = 1 / 64, 1.0
PLACED = ("over_in", "up_in", "diameter_in", "longer_in", "depth_in", "pitch_forward_in",
          "pitch_lateral_in")  # fmt: skip
SHAPE = (*PLACED, "kind", "oval_angle_deg", "sleeve", "inside_in", "density_g_cm3")
LAYOUT = ("layout_notation", "layout_numbers", "pap_over_in", "pap_up_in")


def is_same_hole(hole: GripHole, other: GripHole | Mapping[str, Any]) -> bool:
    """Whether two holes of one grip frame are the same hole, what is in it aside."""
    get = other.get if isinstance(other, Mapping) else lambda name: getattr(other, name)
    if hole.kind != get("kind"):
        return False
    return all(abs((getattr(hole, name) or 0.0) - (get(name) or 0.0)) <= SAME_IN for name in PLACED)


def put_by(
    *, ball: OwnedBall, stays: Collection[int] = (), plugged_on: datetime.date | None = None
) -> EarlierDrilling | None:
    """Move the ball's holes into its chain as plugged, but for those that ``stay`` (their keys).

    Goes before the ball gets its new layout: the holes lie in the grip frame of the old one.
    None where nothing was plugged.
    """
    plugged = [hole for hole in ball.holes.all() if hole.pk not in stays]
    if not plugged:
        return None
    earlier = EarlierDrilling.objects.create(
        ball=ball, plugged_on=plugged_on, **{name: getattr(ball, name) for name in LAYOUT}
    )
    for hole in plugged:
        PluggedHole.objects.create(
            drilling=earlier, **{name: getattr(hole, name) for name in SHAPE}
        )
        hole.delete()
    return earlier


@dataclass(frozen=True)
class Earlier:
    """An earlier drilling with its holes where they lie now."""

    drilling: EarlierDrilling
    holes: list[tuple[PluggedHole, dict[str, float] | None]]


def earlier_of(ball: OwnedBall) -> list[Earlier]:
    """The ball's chain, oldest first; places now are None where a layout can't be drilled."""
    return [
        Earlier(drilling, list(zip(drilling.holes.all(), _now(ball, drilling), strict=True)))
        for drilling in ball.earlier.all()
    ]


def _now(ball: OwnedBall, drilling: EarlierDrilling) -> list[dict[str, float] | None]:
    try:
        return list(engine.plugs_now(ball, drilling))
    except InputError:
        return [None] * len(drilling.holes.all())


@dataclass(frozen=True)
class Differs:
    """One number that isn't as it was planned, in words."""

    what: str
    planned: str
    drilled: str


def plan_of(ball: OwnedBall) -> DrillPlan | None:
    """The plan the ball's present holes were drilled from; None for one drilled elsewhere."""
    found: DrillPlan | None = (
        ball.drill_plans.filter(state="drilled").prefetch_related("holes").order_by("-drilled_at")
    ).first()
    return found


def differences(plan: DrillPlan, ball: OwnedBall) -> list[Differs]:
    """What was drilled otherwise than planned: holes, PAP and the layout as it was written."""
    found = [
        Differs(words, inches(getattr(plan, name)), inches(getattr(ball, name)))
        for name, words in (("pap_over_in", "PAP over"), ("pap_up_in", "PAP up"))
        if abs(getattr(plan, name) - getattr(ball, name)) > SAME_IN
    ]
    planned = {hole.kind: hole for hole in plan.holes.all()}
    drilled = {hole.kind: hole for hole in ball.holes.all()}
    for kind in [*planned, *(kind for kind in drilled if kind not in planned)]:
        found += _hole_differs(planned.get(kind), drilled.get(kind))
    if (plan.layout_notation, plan.layout_numbers) != (ball.layout_notation, ball.layout_numbers):
        found.append(Differs("Layout", _numbers(plan), _numbers(ball)))
    return found


def _hole_differs(plan: Any, hole: Any) -> list[Differs]:
    """``plan`` and ``hole``: one of the two may be None."""
    if plan is None or hole is None:
        one = plan or hole
        there, absent = f"{inches(one.diameter_in)} in", "none"
        return [Differs(f"{one} hole", there if plan else absent, absent if plan else there)]
    found = []
    for name in (*PLACED, "oval_angle_deg", "inside_in"):
        was, now = getattr(plan, name) or 0.0, getattr(hole, name) or 0.0
        near = SAME_DEG if name.endswith("_deg") else SAME_IN
        if abs(was - now) > near:
            words = getattr(Hole._meta.get_field(name), "verbose_name", name)
            found.append(Differs(f"{hole}, {words}", inches(was), inches(now)))
    return found


def _numbers(record: Any) -> str:
    return " × ".join(
        value if isinstance(value, str) else with_minus(value)
        for value in record.layout_numbers.values()
    )
