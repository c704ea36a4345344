"""What staff do to fittings and deliveries, each in one transaction."""

import datetime
import uuid
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.db.models import Max

from bowlers.models import Bowler, Delivery, Fitting


class FittingFinished(Exception):
    """A finished fitting is changed only after it was reopened."""

    def __init__(self, fitting: Fitting) -> None:
        super().__init__(f"{fitting} is finished")
        self.fitting = fitting


class NothingComplete(Exception):
    """A fitting can't be finished before one delivery has every reading."""


def _open_fitting(fitting: Fitting) -> Fitting:
    """The fitting as it is now, locked where the database locks rows."""
    now: Fitting = Fitting.objects.select_for_update().get(pk=fitting.pk)
    now.bowler = fitting.bowler
    if now.is_finished:
        raise FittingFinished(now)
    return now


@transaction.atomic
def start_fitting(
    *,
    bowler: Bowler,
    fitted_on: datetime.date,
    notes: str,
    logged_by: Any,
    purpose: str = Fitting.Purpose.USUAL,
) -> Fitting:
    fitting = Fitting(
        shop=bowler.shop,
        bowler=bowler,
        fitted_on=fitted_on,
        purpose=purpose,
        notes=notes,
        logged_by=logged_by,
    )
    fitting.save()
    return fitting


@transaction.atomic
def save_delivery(
    *,
    fitting: Fitting,
    row_key: uuid.UUID,
    readings: Mapping[str, float | None],
    expected_version: int | None,
) -> Delivery:
    """Store one row. The same row sent again is the same delivery, whoever sends it twice.

    Raises ``StaleRecord`` if the row was changed elsewhere since the page was made.
    """
    fitting = _open_fitting(fitting)
    stored: Delivery | None = fitting.deliveries.filter(row_key=row_key).first()
    if stored is None:
        last = fitting.deliveries.aggregate(last=Max("order"))["last"] or 0
        delivery = Delivery(
            shop=fitting.shop, fitting=fitting, row_key=row_key, order=last + 1, **readings
        )
        delivery.save()
        return delivery
    if stored.readings == dict(readings):
        return stored
    for name, value in readings.items():
        setattr(stored, name, value)
    stored.confirmed = False
    stored.save_checked(expected_version if expected_version is not None else 0)
    return stored


@transaction.atomic
def set_dropped(*, delivery: Delivery, dropped: bool) -> Delivery:
    """Leave a delivery out of the fitting, or take it back; its readings are kept either way."""
    _open_fitting(delivery.fitting)
    if delivery.dropped != dropped:
        delivery.dropped = dropped
        delivery.save_checked(delivery.version)
    return delivery


@transaction.atomic
def confirm_delivery(*, delivery: Delivery) -> Delivery:
    """Someone looked at unusual readings and says they are right."""
    _open_fitting(delivery.fitting)
    if not delivery.confirmed:
        delivery.confirmed = True
        delivery.save_checked(delivery.version)
    return delivery


@transaction.atomic
def finish_fitting(*, fitting: Fitting) -> Fitting:
    now: Fitting = Fitting.objects.select_for_update().get(pk=fitting.pk)
    if now.is_finished:
        return now
    if not now.deliveries.complete().exists():
        raise NothingComplete
    now.status = Fitting.Status.FINISHED
    now.save_checked(now.version)
    return now


@transaction.atomic
def reopen_fitting(*, fitting: Fitting) -> Fitting:
    now: Fitting = Fitting.objects.select_for_update().get(pk=fitting.pk)
    if now.is_finished:
        now.status = Fitting.Status.DRAFT
        now.save_checked(now.version)
    return now
