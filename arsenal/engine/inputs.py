"""Records into the plain numbers a ranking is computed from, and stored with.

Everything that can change the answer is in what :func:`inputs_for` returns, and nothing else.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from arsenal.bag.starting_grip import hole_numbers, holes_in_hand, holes_of
from arsenal.catalogue.models import BallModel, BallSpec, LabelledBall, StockBall
from arsenal.engine import menu, prices, rulings
from bowlers.engine import (
    delivery_summary,
    errors_behind,
    kept_deliveries,
    newest_fittings,
)
from bowlers.models import Fitting
from physics import wear
from physics.lane import LANE_SURFACES

if TYPE_CHECKING:
    from arsenal.bag.models import EarlierDrilling, GripHole, OwnedBall
    from arsenal.lanes.models import Condition
    from arsenal.press.models import DrillPlan
    from bowlers.models import Bowler

# The widest legal ball, 8.595 in across: models don't say their own.
RADIUS_IN = 8.595 / 2
# What a label usually says, for a ball that isn't here yet (common practice, no source).
USUAL_TOP_WEIGHT_OZ, USUAL_PIN_TO_CG_IN = 2.5, 2.5
USUAL_WEIGHT_LB = 15


class Missing(Exception):
    """A customer's record can't be advised on yet: ``args[0]`` lists what and where to add it."""

    def __init__(self, wanted: list[dict[str, str]]) -> None:
        super().__init__(wanted)
        self.wanted = wanted

    def __str__(self) -> str:
        return "; ".join(item["what"] for item in self.wanted)


# The releases a question may be about; spares are thrown at with the one for spares in both.
USUAL, OTHER = "usual", "other"


def inputs_for(
    bowler: Bowler, release: str = USUAL, fittings: Mapping[str, Fitting] | None = None
) -> dict[str, Any]:
    """The whole question as JSON-ready numbers; raises :class:`Missing` naming what isn't there.

    ``release``: the usual one, or the other one they have, if it was measured. ``fittings``: their
    ``newest_fittings``, where they were looked up before.
    """
    fittings = newest_fittings(bowler) if fittings is None else fittings
    fitting = fittings.get(Fitting.Purpose.OTHER if release == OTHER else Fitting.Purpose.USUAL)
    balls = list(bowler.bag.in_use().with_holes())
    met = list(bowler.conditions.with_house())
    wanted = []
    if fitting is None:
        wanted.append(
            {
                "what": "a finished fitting with at least one complete delivery",
                "url_name": "fitting-add",
            }
        )
    if not balls:
        wanted.append({"what": "the balls this customer owns", "url_name": "bag-add"})
    if not met:
        wanted.append(
            {"what": "the conditions this customer bowls on", "url_name": "customer-conditions"}
        )
    if fitting is None or wanted:
        raise Missing(wanted)
    weight_lb = _usual_weight(balls)
    catalogue = _catalogue(bowler, weight_lb)
    chosen = rulings.rules_numbers(bowler.shop)
    # Left out for the usual release, so that its questions stay what they were.
    about = {"release": OTHER} if release == OTHER else {}
    return about | {
        "customer": {
            "id": bowler.pk,
            "name": bowler.name,
            "hand": bowler.hand,
            "average": bowler.average,
        },
        "currency": bowler.shop.currency,
        "delivery": delivery_numbers(fitting),
        "spares": _at_spares(bowler, fittings.get(Fitting.Purpose.SPARES)),
        "grip": [dict(hole) for hole in holes_in_hand(bowler)[0]],
        "bag": [owned_ball(ball) for ball in balls],
        "conditions": [
            condition(row.condition, row.games_on_oil) | {"times_a_season": row.times_a_season}
            for row in met
        ],
        "shelf": [_shelf_ball(ball, bowler.hand) for ball in _shelf(bowler, weight_lb)],
        "catalogue": [_orderable(spec) for spec in catalogue],
        "not_made": _not_made(bowler, catalogue),
        "weight_lb": weight_lb,
        "menu": {"layouts": menu.layout_fields(), "finishes": list(menu.FINISHES)},
        "prices": prices.prices_of(bowler.shop),
        # Left out where they are the usual ones, so that earlier answers are found again.
        **({"rules": chosen} if chosen else {}),
    }


def delivery_numbers(fitting: Fitting) -> dict[str, dict[str, Any]]:
    """Each reading's mean and spread; with the errors of its instruments where they were named."""
    deliveries = kept_deliveries(fitting)
    behind = errors_behind(fitting, deliveries)
    return {
        name: {"mean": s.mean, "sd": s.sd, "count": s.count, **behind.get(name, {})}
        for name, s in delivery_summary(fitting, deliveries).items()
    }


def _at_spares(bowler: Bowler, fitting: Fitting | None) -> dict[str, Any]:
    """With what release spares are thrown at: the one measured for them, else what is noted."""
    if fitting is None:
        return {"release": bowler.at_spares, "delivery": None}
    return {"release": "measured", "delivery": delivery_numbers(fitting)}


def owned_ball(ball: OwnedBall) -> dict[str, Any]:
    """One ball of the bag as numbers."""
    return {
        "id": ball.pk,
        "name": str(ball),
        "model": ball.spec.model.name,
        "cover": ball.spec.model.cover,
        "finish": ball.finish,
        "games": ball.games_since_finish,
        "games_since_oil_drawn": ball.games_since_oil_drawn,
        "games_since_cleaned": ball.games_since_cleaned,
        "benchmark": ball.role == "benchmark",
        "spares": ball.role == "spares",
        "label": _label(ball.spec, ball) | _off_line(ball, ball.bowler.hand),
        "layout": dict(ball.layout_numbers),
        "pap_over_in": ball.pap_over_in,
        "pap_up_in": ball.pap_up_in,
        "holes": [dict(hole) for hole in holes_of(ball)],
    } | _what_was_before(ball.holes.all(), ball.earlier.all())


def _off_line(ball: LabelledBall, hand: str) -> dict[str, float]:
    """How far its CG lies off the line from pin to PSA; nothing for one on it.

    A left-hander's numbers are those of the mirror image, where right is left.
    """
    off = -ball.cg_off_line_in if hand == "left" else ball.cg_off_line_in
    return {"cg_off_line_in": off} if off else {}


def _what_was_before(
    holes: Iterable[GripHole], drillings: Iterable[EarlierDrilling]
) -> dict[str, Any]:
    """Earlier drillings and what stands open inside inserts and slugs; nothing without any."""
    insides = {hole.kind: hole.opening for hole in holes if hole.opening is not None}
    plugs = [plug(drilling) for drilling in drillings]
    return ({"insides": insides} if insides else {}) | ({"plugs": plugs} if plugs else {})


def plug(drilling: EarlierDrilling) -> dict[str, Any]:
    """An earlier drilling as numbers, in the grip frame of its own layout."""
    return {
        "layout": dict(drilling.layout_numbers),
        "pap_in": [drilling.pap_over_in, drilling.pap_up_in],
        "plug_g_cm3": drilling.plug_g_cm3,
        "holes": [dict(hole_numbers(hole)) for hole in drilling.holes.all()],
    }


def planned_ball(plan: DrillPlan) -> dict[str, Any]:
    """A ball as it is to be drilled, as numbers; freshly finished. Plugs of its chain are in it."""
    plugs = plan.ball.earlier.all() if plan.ball else []
    return {
        "cover": plan.spec.model.cover,
        "finish": plan.finish,
        "games": 0,
        "label": _label(plan.spec, plan) | _off_line(plan, plan.bowler.hand),
        "layout": dict(plan.layout_numbers),
        "pap_over_in": plan.pap_over_in,
        "pap_up_in": plan.pap_up_in,
        "holes": [dict(hole_numbers(hole)) for hole in plan.holes.all()],
    } | _what_was_before(plan.holes.all(), plugs)


def condition(record: Condition, games_on_oil: int = 0) -> dict[str, Any]:
    """A condition with its house's friction, and its oil by picker or by table.

    Oil that others have bowled on before says how much, and on what lane.
    """
    factor = lane_factor(record)
    oil = oil_numbers(record)
    name = record.name
    if games_on_oil:
        oil = oil | {"worn": {"games": games_on_oil, "lane_factor": round(factor, 4)}}
        name = f"{name}, {wear.state_name(games_on_oil)}"
    return {
        "id": record.pk,
        "name": name,
        "house": record.house.name,
        "lane_factor": factor,
        "oil": oil,
    }


def lane_factor(record: Condition) -> float:
    """Friction of the condition's lanes against the reference lane."""
    house = record.house
    return LANE_SURFACES.get(house.lane_surface, 1.0) * float(house.friction_factor)


def oil_numbers(record: Condition) -> dict[str, Any]:
    """A condition's oil: its table if it has one, else the picker's numbers."""
    table: dict[str, Any] | None = record.oil_table
    if table:
        return table
    numbers = {
        "length_ft": record.length_ft,
        "volume_ml": record.volume_ml,
        "inside_to_outside_ratio": record.inside_to_outside_ratio,
        "shape": record.shape,
    }
    # Left out where nobody said, so that questions asked before it could be said stay the same.
    return numbers if record.ramp_board is None else numbers | {"ramp_board": record.ramp_board}


def _label(spec: BallSpec, ball: LabelledBall | None) -> dict[str, float]:
    return {
        "weight_lb": float(spec.weight_lb) if ball is None else ball.label_weight_in_lb,
        "radius_in": RADIUS_IN,
        "rg_low_in": spec.rg_low_in,
        "differential_in": spec.differential_in,
        "intermediate_differential_in": spec.intermediate_differential_in,
        "top_weight_oz": USUAL_TOP_WEIGHT_OZ if ball is None else ball.top_weight_oz,
        "pin_to_cg_in": USUAL_PIN_TO_CG_IN if ball is None else ball.pin_to_cg_in,
    }


def _usual_weight(balls: list[OwnedBall]) -> int:
    """The weight most of the bag has; the heavier of two as common."""
    counts = Counter(ball.spec.weight_lb for ball in balls if ball.role != "spares")
    counts = counts or Counter(ball.spec.weight_lb for ball in balls)
    return max(counts, key=lambda weight: (counts[weight], weight), default=USUAL_WEIGHT_LB)


def _shelf(bowler: Bowler, weight_lb: int) -> list[StockBall]:
    stock = StockBall.objects.for_shop(bowler.shop).kept_for(bowler)
    stock = stock.filter(spec__weight_lb=weight_lb)
    return list(stock.select_related("spec__model").order_by("pk"))


def _shelf_ball(ball: StockBall, hand: str) -> dict[str, Any]:
    return {
        "id": ball.pk,
        "name": ball.spec.model.name,
        "label_words": ball.label_words,
        "cover": ball.spec.model.cover,
        "factory_finish": ball.spec.model.factory_finish,
        "label": _label(ball.spec, ball) | _off_line(ball, hand),
        "price": float(ball.price),
    }


def _catalogue(bowler: Bowler, weight_lb: int) -> list[BallSpec]:
    specs = BallSpec.objects.filter(
        model__shop=bowler.shop,
        model__orderable=True,
        model__discontinued=False,
        weight_lb=weight_lb,
    )
    return list(specs.select_related("model").order_by("model__search_key", "pk"))


def _orderable(spec: BallSpec) -> dict[str, Any]:
    return {
        "id": spec.model_id,
        "name": spec.model.name,
        "cover": spec.model.cover,
        "factory_finish": spec.model.factory_finish,
        "label": _label(spec, None),
        "price": float(spec.model.price),
        "lead_days": spec.model.lead_days,
    }


def _not_made(bowler: Bowler, catalogue: Sequence[BallSpec]) -> list[str]:
    """Orderable models not made in the weight of these."""
    models = BallModel.objects.filter(shop=bowler.shop, orderable=True, discontinued=False)
    made = {spec.model_id for spec in catalogue}
    named = models.order_by("search_key").values_list("pk", "name")
    return [name for pk, name in named if pk not in made]
