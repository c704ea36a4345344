"""The one door from the arsenal to physics: records in, bodies, lanes and rankings out.

``inputs`` turns records into plain numbers, ``bodies`` those into what physics takes, ``menu`` and
``options`` lay out what could be changed, ``ranking`` computes it, ``tasks``, ``results``,
``strip`` and ``reasons`` put it into rows and words; ``fading`` says why one ball changed,
``spread`` whether surface outweighs layout.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from arsenal.engine import bodies, inputs
from arsenal.engine.fading import fading_of, fading_question
from arsenal.engine.inputs import Missing, inputs_for
from arsenal.engine.ranking import run_ranking
from arsenal.engine.spread import MEASURES as SPREAD_MEASURES
from arsenal.engine.spread import spread_of, tables_of
from bowlers.engine import delivery_summary, fitting_in_use
from physics import MODEL_VERSION, body, rules, worth
from physics.units import KG_TO_LB, M_TO_IN

if TYPE_CHECKING:
    from arsenal.bag.models import OwnedBall
    from arsenal.lanes.models import Condition
    from physics.measure import Spread

__all__ = [
    "MODEL_VERSION",
    "SPREAD_MEASURES",
    "Missing",
    "condition_numbers",
    "condition_oil",
    "drilled_numbers",
    "fading_of",
    "fading_question",
    "inputs_for",
    "run_ranking",
    "spread_of",
    "tables_of",
]


def drilled_numbers(ball: OwnedBall, spreads: Mapping[str, Spread] | None = None) -> dict[str, Any]:
    """Drilled mass properties, statics, the layout in every notation, and track clearance.

    ``spreads`` is the summary of the customer's fitting in use, empty without one; it is looked up
    when not given. A whole bag needs it once.

    Raises :class:`physics.errors.InputError` naming what can't be drilled. Flare and clearance are
    those of an ordinary throw of the fitting in use, and left out without one.
    """
    numbers = inputs.owned_ball(ball)
    pap = (ball.pap_over_in, ball.pap_up_in)
    drilled, placed, holes = bodies.ball_of(
        numbers["label"], numbers["layout"], numbers["holes"], pap
    )
    warnings = rules.undrilled_faults(body.Label(**numbers["label"])) + rules.static_faults(drilled)
    found: dict[str, Any] = drilled.numbers() | {
        "weight_lb": drilled.mass_kg * KG_TO_LB,
        "layout": placed.numbers(),
        "flare_in": None,
        "clearance_in": [],
        "rule_set": rules.NO_BALANCE_HOLE.name,
    }
    if spreads is None:
        fitting = fitting_in_use(ball.bowler)
        spreads = delivery_summary(fitting) if fitting is not None else {}
    if spreads:
        reading = {
            name: {"mean": s.mean, "sd": s.sd, "count": s.count} for name, s in spreads.items()
        }
        who = bodies.bowler_of(reading, ball.bowler.average)
        closure = bodies.closure_of(numbers["cover"], numbers["finish"], bodies.played_of(numbers))
        flare = bodies.flare_m(worth.Option(drilled, closure), who)
        names = bodies.hole_names(numbers["holes"])
        clear = bodies.clearances_in(drilled, placed, holes, who.tilt_deg, flare)
        found["flare_in"] = flare * M_TO_IN
        found["clearance_in"] = [
            {"hole": name, "clearance_in": value} for name, value in zip(names, clear, strict=True)
        ]
        warnings += bodies.track_faults(names, clear)
    return found | {"warnings": warnings}


def condition_numbers(condition: Condition) -> dict[str, Any]:
    """Length, volume, crosswise ratio and class of a condition's oil; InputError if it has none."""
    table = bodies.oil_of(inputs.oil_numbers(condition))
    return {
        "length_ft": round(table.length_ft, 1),
        "volume_ml": table.volume_ml,
        "ratio": table.ratio,
        "class": table.pattern_class,
    }


def condition_oil(condition: Condition) -> dict[str, Any]:
    """The oil of a condition as a table: feet, and units by board from the left gutter."""
    table = bodies.oil_of(inputs.oil_numbers(condition))
    return {"distance_ft": table.distance_ft.tolist(), "units": table.units.tolist()}
