"""What staff do to fittings and deliveries, each in one transaction."""

import datetime
import uuid
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.db.models import Max

from bowlers.engine.measuring import names_told, without_throw
from bowlers.gear import gear_of
from bowlers.instruments import PART_LABELS, RING, choice_of, read_of, shot_of
from bowlers.models import Bowler, Delivery, Fitting
from bowlers.readings import BY_NAME
from proshop.models import StaleRecord


class FittingFinished(Exception):
    """A finished fitting is changed only after it was reopened."""

    def __init__(self, fitting: Fitting) -> None:
        super().__init__(f"{fitting} is finished")
        self.fitting = fitting


class UnusableRow(Exception):
    """A delivery logged already can't have been read as is now said."""

    def __init__(self, delivery: Delivery, why: str) -> None:
        super().__init__(f"Delivery {delivery.order} can’t have been read so: {why}")


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
    method: str = Fitting.Method.THROWN,
    release_note: str = "",
) -> Fitting:
    """A fitting with the instruments of the shop's last one: a shop has what it has."""
    last = Fitting.objects.for_shop(bowler.shop).order_by("-pk").first()
    fitting = Fitting(
        shop=bowler.shop,
        bowler=bowler,
        fitted_on=fitted_on,
        purpose=purpose,
        method=method,
        release_note=release_note,
        instruments=last.instruments if last is not None else {},
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
    raw: Mapping[str, Any] | None = None,
    errors: Mapping[str, Any] | None = None,
) -> Delivery:
    """Store one row; ``raw`` and ``errors`` as instruments gave its readings. The same row sent
    again is the same delivery, whoever sends it twice.

    Raises ``StaleRecord`` if the row was changed elsewhere since the page was made.
    """
    fitting = _open_fitting(fitting)
    told = {**readings, "raw": dict(raw or {}), "errors": dict(errors or {})}
    stored: Delivery | None = fitting.deliveries.filter(row_key=row_key).first()
    if stored is None:
        last = fitting.deliveries.aggregate(last=Max("order"))["last"] or 0
        delivery = Delivery(
            shop=fitting.shop, fitting=fitting, row_key=row_key, order=last + 1, **told
        )
        delivery.save()
        return delivery
    if stored.readings == dict(readings) and stored.raw == told["raw"]:
        return stored
    for name, value in told.items():
        setattr(stored, name, value)
    stored.confirmed = False
    stored.save_checked(expected_version if expected_version is not None else 0)
    return stored


@transaction.atomic
def choose_instruments(
    *, fitting: Fitting, instruments: Mapping[str, Any], expected_version: int
) -> Fitting:
    """The instruments from now on. Rows read with one of them follow its new settings: a camera
    that films 240 frames a second did so before anybody noticed.

    Raises ``UnusableRow`` if a row can't be read so, and then nothing is changed.
    """
    now = _open_fitting(fitting)
    now.instruments = dict(instruments)
    now.save_checked(expected_version)
    derive_again(fitting=now)
    return now


@transaction.atomic
def derive_again(*, fitting: Fitting) -> None:
    """Work out every row anew from its raw readings, with what the whole fitting knows by now."""
    gear = gear_of(fitting)
    for delivery in fitting.deliveries.exclude(raw={}):
        if "shots" in delivery.raw:
            continue
        choice = choice_of(delivery.raw)
        for name, chosen in choice.items():
            wanted = fitting.instruments.get(name, {})
            if wanted.get("way") == chosen["way"]:
                choice[name] = dict(wanted)
        ring = {RING: delivery.raw[RING]} if RING in delivery.raw else {}
        raw = shot_of(choice, {**delivery.readings, **read_of(delivery.raw)}) | ring
        told = names_told(raw)
        typed = {n: v for n, v in delivery.readings.items() if v is not None and n not in told}
        derived = gear.derive(raw, typed)
        for part, refused in derived.refused.items():
            raise UnusableRow(delivery, f"{PART_LABELS[part]} must be {refused.allowed}.")
        values = {n: round(v, BY_NAME[n].decimals) for n, v in derived.values.items()}
        for name, value in values.items():
            if not BY_NAME[name].low <= value <= BY_NAME[name].high:
                raise UnusableRow(delivery, BY_NAME[name].range_text)
        if (raw, derived.errors) == (delivery.raw, delivery.errors):
            continue
        for name, value in values.items():
            setattr(delivery, name, value)
        delivery.raw, delivery.errors = raw, derived.errors
        delivery.save_checked(delivery.version)


@transaction.atomic
def save_ring(*, fitting: Fitting, delivery: Delivery | None, raw: Mapping[str, Any]) -> Delivery:
    """Points of the first ring of a delivery: PAP and tilt are worked out of them from now on."""
    kept = delivery.raw if delivery is not None else {}
    whole = {n: part for n, part in kept.items() if n not in ("tilt", "pap")} | dict(raw)
    told = names_told(whole)
    before = delivery.readings if delivery is not None else dict.fromkeys(BY_NAME)
    typed = {n: v for n, v in before.items() if v is not None and n not in told}
    derived = gear_of(fitting).derive(whole, typed)
    values = {n: round(v, BY_NAME[n].decimals) for n, v in derived.values.items()}
    return save_delivery(
        fitting=fitting,
        row_key=delivery.row_key if delivery is not None else uuid.uuid4(),
        readings={**before, **values},
        raw=whole,
        errors=derived.errors,
        expected_version=delivery.version if delivery is not None else None,
    )


@transaction.atomic
def save_without_throw(
    *, fitting: Fitting, case: Mapping[str, Any], expected_version: int | None
) -> Delivery:
    """What an old ball, a display, a video and an average say, kept as one delivery not thrown.

    ``expected_version``: of what was stored when the page was made, None if nothing was. Raises
    ``StaleRecord`` if that was changed elsewhere since, unless to the very same.
    """
    now = _open_fitting(fitting)
    values, errors = without_throw(case).stored()
    stored: Delivery | None = now.deliveries.order_by("order").first()
    if stored is not None and stored.version != expected_version and stored.raw != dict(case):
        raise StaleRecord(stored, expected_version or 0)
    rounded = {n: round(v, BY_NAME[n].decimals) for n, v in values.items()}
    return save_delivery(
        fitting=now,
        row_key=stored.row_key if stored is not None else uuid.uuid4(),
        readings={n: rounded.get(n) for n in BY_NAME},
        raw=case,
        errors=errors,
        expected_version=stored.version if stored is not None else None,
    )


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
    wanted = now.deliveries.all() if now.is_without_throw else now.deliveries.complete()
    if not wanted.exists():
        raise NothingComplete
    now.bowler = fitting.bowler
    derive_again(fitting=now)
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
