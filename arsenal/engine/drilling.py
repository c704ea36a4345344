"""A ball drilled as recorded or as planned: its numbers, its marks, and what may go wrong."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from arsenal.engine import between_holes, bodies, inputs, rulings
from bowlers.engine import spreads_in_use
from physics import body, cavity, layout, rules, worth
from physics.cases import read_layout
from physics.grip import BALL_G_CM3, SLEEVE_G_CM3
from physics.units import KG_TO_LB, M_TO_IN

if TYPE_CHECKING:
    from arsenal.bag.models import EarlierDrilling, OwnedBall
    from arsenal.press.models import DrillPlan
    from arsenal.rules.models import HardnessReading, SizeReading
    from bowlers.models import Bowler
    from physics.measure import Spread

# A pin nearer to the PAP than this makes an axis of it: the ball hardly flares (common practice).
PIN_ON_PAP_IN = 0.75


def numbers_of(
    numbers: Mapping[str, Any],
    *,
    bowler: Bowler,
    spreads: Mapping[str, Spread],
    chosen: rules.RuleSet,
    reading: HardnessReading | None = None,
    size: SizeReading | None = None,
) -> dict[str, Any]:
    """What a ball's plain numbers come to once drilled, held to the rules of the shop."""
    drilled, placed, holes = bodies.ball_of(
        numbers["label"],
        numbers["layout"],
        numbers["holes"],
        (numbers["pap_over_in"], numbers["pap_up_in"]),
        plugs=numbers.get("plugs", ()),
    )
    names = bodies.hole_names(numbers["holes"])
    between_holes.refuse_impossible(tuple(holes), tuple(names), placed.radius_in)
    kinds = [hole["kind"] for hole in numbers["holes"]]
    values = rulings.values_of(
        numbers["label"], drilled.static_oz, kinds, bowler, reading, size, chosen=chosen
    )
    weight_lb = drilled.mass_kg * KG_TO_LB
    check = rulings.held_to(chosen, weight_lb, values)
    warnings = [row["words"] for row in check if row["fails"]]
    found: dict[str, Any] = drilled.numbers() | {
        "weight_lb": weight_lb,
        "layout": placed.numbers(),
        "flare_in": None,
        "clearance_in": [],
        "rule_set": chosen.name,
        "check": check,
    }
    if spreads:
        readings = {
            name: {"mean": s.mean, "sd": s.sd, "count": s.count} for name, s in spreads.items()
        }
        who = bodies.bowler_of(readings, bowler.average)
        closure = bodies.closure_of(numbers["cover"], numbers["finish"], bodies.played_of(numbers))
        flare = bodies.flare_m(worth.Option(drilled, closure), who)
        clear = bodies.clearances_in(drilled, placed, holes, who.tilt_deg, flare)
        found["flare_in"] = flare * M_TO_IN
        found["clearance_in"] = [
            {"hole": name, "clearance_in": value} for name, value in zip(names, clear, strict=True)
        ]
        warnings += bodies.track_faults(names, clear)
    return found | {"warnings": warnings}


def planned_numbers(plan: DrillPlan) -> dict[str, Any]:
    """A plan's numbers once drilled, its marks, and warnings; raises InputError naming a hole.

    ``marks``: over and up of PAP, pin, PSA and CG from the grip centre, and the arc from there.
    """
    numbers = inputs.planned_ball(plan)
    label, holes = body.Label(**numbers["label"]), _holes(numbers["holes"])
    names = bodies.hole_names(numbers["holes"])
    chosen = rulings.rules_of(plan.shop)
    reading = rulings.newest_reading(plan.ball) if plan.ball else None
    size = rulings.newest_size(plan.ball) if plan.ball else None
    found = numbers_of(
        numbers,
        bowler=plan.bowler,
        spreads=spreads_in_use(plan.bowler),
        chosen=chosen,
        reading=reading,
        size=size,
    )
    placed = _placed(plan)
    undrilled = rulings.held_to(chosen, label.weight_lb, rules.undrilled_values(label))
    warnings = [f"undrilled: {row['words']}" for row in undrilled if row["fails"]]
    known = {row["words"] for row in found["check"] if row["fails"]}
    warnings = [said for said in warnings if said.removeprefix("undrilled: ") not in known]
    warnings += found["warnings"]
    warnings += between_holes.meetings(tuple(holes), tuple(names), label.radius_in)
    if placed.pin_to_pap_in < PIN_ON_PAP_IN:
        warnings.append(
            f"the pin lies {placed.pin_to_pap_in:.2f} in from the PAP: the ball will hardly flare, "
            "and the track runs over the same oil again and again"
        )
    return found | {"warnings": warnings, "marks": _marks(label, placed)}


def planned_maps(plan: DrillPlan) -> dict[str, dict[str, Any]]:
    """A plan's ball as ``plates.maps_of`` has it, about the PAP and about the grip."""
    # Imported here: plates rank shots, which asks the door this module belongs to.
    from arsenal.engine import plates

    found = {
        name: {"mean": s.mean, "sd": s.sd, "count": s.count}
        for name, s in spreads_in_use(plan.bowler).items()
    }
    question = {
        "ball": inputs.planned_ball(plan),
        "customer": {"hand": plan.bowler.hand, "average": plan.bowler.average},
        "delivery": found,
        "conditions": [],
    }
    pap = (plan.pap_over_in, plan.pap_up_in)
    return plates.maps_of(plates.laid(question, plan.layout_numbers, pap))


def plug_overlaps(plan: DrillPlan) -> list[dict[str, Any]]:
    """Each planned hole against each hole recorded in the ball, now or before: what is left.

    ``inches`` is negative where the new hole cuts the plug of the old one, and then ``meets_in``
    says from how deep under the surface on; ``drilling`` counts the earlier drillings from 1 and is
    0 for the ball's present holes. Raises InputError where either drilling can't be.
    """
    old = plan.ball
    if old is None:
        return []
    before = inputs.owned_ball(old)
    present = {
        "layout": before["layout"],
        "pap_in": (old.pap_over_in, old.pap_up_in),
        "holes": before["holes"],
    }
    radius = before["label"]["radius_in"]
    new = inputs.planned_ball(plan)["holes"]
    found = []
    for number, drilling in enumerate([present, *before.get("plugs", ())]):
        over, up = drilling["pap_in"]
        then = read_layout(drilling["layout"], over, up, radius)
        turn = cavity.rotation(then, _placed(plan))
        were = [cavity.carried(hole, turn, radius) for hole in _holes(drilling["holes"])]
        for name, hole in zip(bodies.hole_names(new), _holes(new), strict=True):
            for was_name, was in zip(bodies.hole_names(drilling["holes"]), were, strict=True):
                left = between_holes.web(hole, was, radius)
                found.append(
                    {
                        "new": name,
                        "old": was_name,
                        "drilling": number,
                        "inches": left.inches,
                        "meets_in": left.meets_in,
                    }
                )
    return sorted(found, key=lambda row: row["inches"])


def plugs_now(ball: OwnedBall, drilling: EarlierDrilling) -> list[dict[str, float]]:
    """Over and up of each hole of an earlier drilling in today's grip frame, in its order."""
    record = inputs.owned_ball(ball)
    radius_in = record["label"]["radius_in"]
    placed = read_layout(record["layout"], ball.pap_over_in, ball.pap_up_in, radius_in)
    plug = inputs.plug(drilling)
    return [
        {"over_in": hole.over_in, "up_in": hole.up_in} for hole in bodies.plugged([plug], placed)
    ]


def net_density(
    hole_in: float = 0.0, inside_in: float | None = None, longer_in: float = 0.0
) -> float:
    """Density of what a hole takes out of the ball, what an insert or slug puts back counted.

    ``inside_in`` is what that leaves open, or the shorter axis of an oval of ``longer_in``.
    """
    if inside_in is None:
        return BALL_G_CM3
    open_share = inside_in * (longer_in or inside_in) / hole_in**2
    return BALL_G_CM3 - SLEEVE_G_CM3 * (1 - open_share)


def _holes(rows: Iterable[Mapping[str, Any]]) -> list[body.Hole]:
    return [body.Hole(**{k: float(v) for k, v in row.items() if k != "kind"}) for row in rows]


def _placed(plan: DrillPlan) -> layout.Layout:
    return read_layout(plan.layout_numbers, plan.pap_over_in, plan.pap_up_in, inputs.RADIUS_IN)


def _marks(label: body.Label, placed: layout.Layout) -> list[dict[str, Any]]:
    points = {
        "PAP": placed.pap,
        "Pin": placed.pin,
        "PSA": placed.psa,
        "CG": body.undrilled_cg(label, placed),
    }
    rows = []
    for name, point in points.items():
        over, up = layout.over_up_rad(point)
        rows.append(
            {
                "name": name,
                "over_in": over * placed.radius_in,
                "up_in": up * placed.radius_in,
                "from_grip_in": placed.radius_in
                * math.atan2(float(np.hypot(point[0], point[1])), float(point[2])),
            }
        )
    return rows
