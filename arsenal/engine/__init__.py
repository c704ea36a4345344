"""The one door from the arsenal to physics: records in, bodies, lanes and rankings out.

``inputs`` turns records into plain numbers, ``bodies`` those into what physics takes, ``menu`` and
``options`` lay out what could be changed, ``ranking`` computes it, ``tasks``, ``results``,
``strip`` and ``reasons`` put it into rows and words; ``fading`` says why one ball changed,
``spread`` whether surface outweighs layout, ``learning`` what observations teach, ``adjust`` what
to do when a ball reads early or late, ``side_by_side`` what two balls do beside one another and
which to throw when over a night.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from arsenal.engine import bodies, drilling, inputs, learning, rulings, wearing
from arsenal.engine.adjust import on_the_lanes
from arsenal.engine.bodies import HOLE_NAMES, games_after
from arsenal.engine.drilling import (
    net_density,
    planned_maps,
    planned_numbers,
    plug_overlaps,
    plugs_now,
)
from arsenal.engine.evidence import evidence_of, why_uncounted
from arsenal.engine.fading import fading_of, fading_question
from arsenal.engine.inputs import Missing
from arsenal.engine.learning import (
    beside,
    heard_about,
    house_friction,
    learnt_by,
    leave_name,
)
from arsenal.engine.one_choice import Asked
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
from arsenal.engine.side_by_side import MEASURES as SIDE_MEASURES
from arsenal.engine.side_by_side import Look, night_plan, side_by_side
from arsenal.engine.solved import TooMuch
from arsenal.engine.spread import MEASURES as SPREAD_MEASURES
from arsenal.engine.spread import spread_of, tables_of
from arsenal.engine.trial import computes
from bowlers.engine import spreads_in_use
from physics import MODEL_VERSION, lane, rules
from physics.lane import steepest_ratio
from physics.wear import BURNT_GAMES, state_name

if TYPE_CHECKING:
    from arsenal.bag.models import OwnedBall
    from arsenal.lanes.models import Condition
    from bowlers.models import Bowler, Fitting
    from physics.measure import Spread

__all__ = [
    "BURNT_GAMES",
    "HOLE_NAMES",
    "MODEL_VERSION",
    "SIDE_MEASURES",
    "SPREAD_MEASURES",
    "Asked",
    "Look",
    "Missing",
    "TooMuch",
    "beside",
    "computes",
    "condition_numbers",
    "condition_oil",
    "drilled_numbers",
    "evidence_of",
    "fading_of",
    "fading_question",
    "games_after",
    "heard_about",
    "held_to",
    "house_friction",
    "inputs_for",
    "is_played",
    "learnt_by",
    "leave_name",
    "limit_rows",
    "limit_words",
    "movable",
    "net_density",
    "newest_reading",
    "night_plan",
    "on_the_lanes",
    "picked_spread",
    "planned_maps",
    "planned_numbers",
    "plug_overlaps",
    "plugs_now",
    "rule_set_of",
    "rule_sets",
    "rules_of",
    "run_ranking",
    "side_by_side",
    "spread_of",
    "state_name",
    "steepest_ratio",
    "tables_of",
    "values_of",
    "why_uncounted",
]


def inputs_for(
    bowler: Bowler, release: str = inputs.USUAL, fittings: Mapping[str, Fitting] | None = None
) -> dict[str, Any]:
    """A ranking's whole question, what was learnt on the lanes taken over; raises Missing."""
    return learning.with_learnt(inputs.inputs_for(bowler, release, fittings), bowler)


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
    return drilling.numbers_of(
        inputs.owned_ball(ball),
        bowler=ball.bowler,
        spreads=spreads_in_use(ball.bowler) if spreads is None else spreads,
        chosen=chosen or rulings.rules_of(ball.shop),
        reading=rulings.newest_reading(ball),
        size=rulings.newest_size(ball),
    )


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
