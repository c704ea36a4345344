"""The one door from the arsenal to physics: records in, bodies, lanes and rankings out.

``inputs`` turns records into plain numbers, ``bodies`` those into what physics takes, ``menu`` and
``options`` lay out what could be changed, ``ranking`` computes it, ``tasks``, ``results``,
``strip`` and ``reasons`` put it into rows and words; ``fading`` says why one ball changed,
``spread`` whether surface outweighs layout,
``learning`` what observations teach, ``adjust`` what to do when a ball reads early or late.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from arsenal.engine import bodies, inputs, learning, rulings, wearing
from arsenal.engine.adjust import on_the_lanes
from arsenal.engine.fading import fading_of, fading_question
from arsenal.engine.inputs import Missing
from arsenal.engine.learning import (
    beside,
    evidence_of,
    house_friction,
    learnt_by,
    leave_name,
    why_uncounted,
)
from arsenal.engine.ranking import run_ranking
from arsenal.engine.rulings import (
    held_to,
    limit_rows,
    limit_words,
    movable,
    newest_reading,
    rule_set_of,
    rule_sets,
    rules_of,
    values_of,
)
from arsenal.engine.spread import MEASURES as SPREAD_MEASURES
from arsenal.engine.spread import spread_of, tables_of
from bowlers.engine import delivery_summary, fitting_in_use
from physics import MODEL_VERSION, lane, rules, worth
from physics.lane import steepest_ratio
from physics.units import KG_TO_LB, M_TO_IN
from physics.wear import BURNT_GAMES, state_name

if TYPE_CHECKING:
    from arsenal.bag.models import OwnedBall
    from arsenal.lanes.models import Condition
    from bowlers.models import Bowler
    from physics.measure import Spread

__all__ = [
    "BURNT_GAMES",
    "MODEL_VERSION",
    "SPREAD_MEASURES",
    "Missing",
    "beside",
    "condition_numbers",
    "condition_oil",
    "drilled_numbers",
    "evidence_of",
    "fading_of",
    "fading_question",
    "held_to",
    "house_friction",
    "inputs_for",
    "is_played",
    "learnt_by",
    "leave_name",
    "limit_rows",
    "limit_words",
    "movable",
    "newest_reading",
    "on_the_lanes",
    "picked_spread",
    "rule_set_of",
    "rule_sets",
    "rules_of",
    "run_ranking",
    "spread_of",
    "state_name",
    "steepest_ratio",
    "tables_of",
    "values_of",
    "why_uncounted",
]


def inputs_for(bowler: Bowler) -> dict[str, Any]:
    """A ranking's whole question, what was learnt on the lanes taken over; raises Missing."""
    return learning.with_learnt(inputs.inputs_for(bowler), bowler)


def drilled_numbers(
    ball: OwnedBall,
    spreads: Mapping[str, Spread] | None = None,
    chosen: rules.RuleSet | None = None,
) -> dict[str, Any]:
    """Drilled mass properties, statics, the layout in every notation, and track clearance.

    ``spreads`` is the summary of the customer's fitting in use, empty without one, and ``chosen``
    the shop's rules: both are looked up when not given. A whole bag needs them once.

    Raises :class:`physics.errors.InputError` naming what can't be drilled. Flare and clearance are
    those of an ordinary throw of the fitting in use, and left out without one.
    """
    numbers = inputs.owned_ball(ball)
    pap = (ball.pap_over_in, ball.pap_up_in)
    drilled, placed, holes = bodies.ball_of(
        numbers["label"], numbers["layout"], numbers["holes"], pap
    )
    chosen = chosen or rulings.rules_of(ball.shop)
    kinds = [hole["kind"] for hole in numbers["holes"]]
    values = rulings.values_of(
        numbers["label"],
        drilled.static_oz,
        kinds,
        ball.bowler,
        rulings.newest_reading(ball),
        chosen=chosen,
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


def condition_numbers(condition: Condition, games: int = 0) -> dict[str, Any]:
    """Length, volume, both crosswise ratios and class of a condition's oil, and its state.

    ``games``: bowled on it since it was laid down. With games also what went where:
    ``carried_ml`` past the pattern's end, and what is left on either half of the lane
    (``right_percent``, ``left_percent``). Raises InputError where such oil can't be.
    """
    numbers = inputs.condition(condition, games)["oil"]
    found = bodies.pattern_of(numbers) | {"games": games, "state": state_name(games)}
    if games:
        fresh = bodies.as_laid_down(numbers)
        played = wearing.worn(fresh, **numbers["worn"])
        found["carried_ml"] = played.carried_ml
        for side in ("right", "left"):
            share = played.table.side_ml(side) / fresh.side_ml(side)
            found[f"{side}_percent"] = 100 * share
    return found


def condition_oil(condition: Condition, games: int = 0) -> dict[str, Any]:
    """The oil of a condition as a table: feet, and units by board from the left gutter."""
    table = bodies.oil_of(inputs.condition(condition, games)["oil"])
    return {"distance_ft": table.distance_ft.tolist(), "units": table.units.tolist()}


def is_played(condition: Condition, games: int) -> bool:
    """Whether the oil after so many games is known already, or takes a second to compute."""
    fresh = bodies.as_laid_down(inputs.oil_numbers(condition))
    return wearing.is_known(fresh, games, round(inputs.lane_factor(condition), 4))


def picked_spread(condition: Condition) -> dict[str, float] | None:
    """How far the oil may lie from a condition's picked numbers (a standard deviation each).

    None where it was measured. Rankings draw from the same.
    """
    if condition.oil_table:
        return None
    spread = lane.PICKED_SPREAD
    return {
        "length_ft": spread.length_ft,
        "volume_ml": spread.volume * condition.volume_ml,
        "ratio": spread.ratio * condition.inside_to_outside_ratio,
        "boards": spread.ramp_boards,
    }
