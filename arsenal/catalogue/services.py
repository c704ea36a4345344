"""Writes of the catalogue and the shelf that touch more than one record."""

from __future__ import annotations

from django.db import transaction

from arsenal.catalogue.forms import BallModelForm
from arsenal.catalogue.models import BallModel, StockBall
from arsenal.rows import RowFormSet


@transaction.atomic
def save_model_with_specs(*, form: BallModelForm, specs: RowFormSet) -> BallModel:
    """Keep a ball model and its figures by weight, or neither."""
    model: BallModel = form.save()
    specs.instance = model
    specs.save()
    return model


@transaction.atomic
def set_sold(*, ball: StockBall, expected_version: int, sold: bool) -> StockBall:
    """Take a ball off the shelf, or put it back; raises StaleRecord when it changed meanwhile."""
    ball.sold = sold
    ball.save_checked(expected_version)
    return ball
