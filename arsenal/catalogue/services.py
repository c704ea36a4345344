"""Writes of the catalogue and the shelf that touch more than one record."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction
from django.db.models import Count, Q

from arsenal.bag.models import OwnedBall
from arsenal.catalogue.forms import BallModelForm
from arsenal.catalogue.models import BallModel, BallSpec, StockBall
from arsenal.rows import RowFormSet
from bowlers.models import Bowler
from proshop.models import Shop


@transaction.atomic
def save_model_with_specs(*, form: BallModelForm, specs: RowFormSet) -> BallModel:
    """Keep a ball model and its figures by weight, or neither."""
    model: BallModel = form.save()
    specs.instance = model
    specs.save()
    return model


@transaction.atomic
def set_state(
    *, ball: StockBall, expected_version: int, state: str, promised_to: Bowler | None = None
) -> StockBall:
    """Promise a ball, sell it, send it back or put it on the shelf again; raises StaleRecord when
    it changed meanwhile."""
    ball.state = StockBall.State(state)
    ball.promised_to = promised_to if ball.state == StockBall.State.PROMISED else None
    ball.save_checked(expected_version)
    return ball


# Fewer on the shelf than this of a weight that customers bowl are few: the next one who asks has no
# choice (an estimate).
FEW = 2


@dataclass(frozen=True)
class OfWeight:
    """What the shop has in one weight, and how many customers bowl it."""

    weight_lb: int
    on_shelf: int
    promised: int
    customers: int

    @property
    def is_low(self) -> bool:
        return self.customers > 0 and self.on_shelf < FEW


def by_weight(shop: Shop) -> list[OfWeight]:
    """Every weight that is stocked or bowled, the heaviest first: two queries."""
    specs = BallSpec.objects.for_shop(shop).values("weight_lb").order_by()
    states = StockBall.State
    stocked = specs.annotate(
        on_shelf=Count("stock", filter=Q(stock__state=states.SHELF)),
        promised=Count("stock", filter=Q(stock__state=states.PROMISED)),
    )
    thrown = OwnedBall.objects.for_shop(shop).in_use().exclude(role="spares").order_by()
    bowled = thrown.values("spec__weight_lb").annotate(count=Count("bowler", distinct=True))
    customers = dict(bowled.values_list("spec__weight_lb", "count"))
    found = [OfWeight(**row, customers=customers.get(row["weight_lb"], 0)) for row in stocked]
    kept = [row for row in found if row.on_shelf or row.promised or row.customers]
    return sorted(kept, key=lambda row: -row.weight_lb)
