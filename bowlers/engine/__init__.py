"""The door of this app to the numeric package: deliveries in, means and spreads out."""

import statistics
from collections.abc import Mapping, Sequence
from typing import Any

from bowlers.engine.measuring import instrument_errors
from bowlers.models import Bowler, Delivery, Fitting
from bowlers.readings import PAP_NAMES, READINGS, Reading
from physics.measure import Spread, summarise


def kept_deliveries(fitting: Fitting) -> list[Delivery]:
    """Deliveries not dropped, in order; without a query when they were fetched beforehand."""
    fetched: list[Delivery] | None = getattr(fitting, "kept", None)
    return list(fitting.deliveries.kept()) if fetched is None else fetched


def taken(deliveries: Sequence[Delivery], reading: Reading) -> list[tuple[Delivery, float]]:
    """The deliveries on which this reading was taken, with what was read."""
    values = ((delivery, getattr(delivery, reading.name)) for delivery in deliveries)
    return [(delivery, value) for delivery, value in values if value is not None]


def spread_of(deliveries: Sequence[Delivery], reading: Reading) -> Spread | None:
    values = [value for _, value in taken(deliveries, reading)]
    return summarise(values, resolution=reading.resolution) if values else None


def delivery_summary(
    fitting: Fitting, deliveries: Sequence[Delivery] | None = None
) -> dict[str, Spread]:
    """Mean and spread of each reading taken at least once, by its field name.

    Half-filled deliveries count for what they have; dropped ones don't count. ``deliveries``: the
    kept ones, where they were looked up before.
    """
    deliveries = kept_deliveries(fitting) if deliveries is None else deliveries
    spreads = {reading.name: spread_of(deliveries, reading) for reading in READINGS}
    return {name: spread for name, spread in spreads.items() if spread is not None}


def errors_behind(
    fitting: Fitting, deliveries: Sequence[Delivery] | None = None
) -> dict[str, dict[str, Any]]:
    """What the instruments get wrong in each mean, ``own`` and ``shared`` in the reading's unit,
    and how many readings stand behind it with what spread: a PAP carried from row to row is one.

    Readings that were typed as numbers throughout are left out: nobody said how they were read.
    ``deliveries``: the kept ones, where they were looked up before.
    """
    deliveries = kept_deliveries(fitting) if deliveries is None else deliveries
    found: dict[str, dict[str, Any]] = {}
    for reading in READINGS:
        spread, read = spread_of(deliveries, reading), taken(deliveries, reading)
        if spread is None:
            continue
        kept = [
            (value, delivery.errors.get(reading.name))
            for index, (delivery, value) in enumerate(read)
            if index not in spread.set_aside
        ]
        if reading.name in PAP_NAMES:
            kept = read_anew(kept)
        errors = instrument_errors(kept, reading.name)
        if errors is not None:
            values = [value for value, _ in kept]
            sd = statistics.stdev(values) if len(values) > 1 else None
            found[reading.name] = {**errors, "sd": sd, "count": len(values)}
    return found


def read_anew(
    kept: list[tuple[float, Mapping[str, Any] | None]],
) -> list[tuple[float, Mapping[str, Any] | None]]:
    """Without the readings that repeat the one before: they were carried, not read."""
    return [item for before, item in zip([None, *kept], kept, strict=False) if before != item]


def newest_fittings(bowler: Bowler) -> dict[str, Fitting]:
    """By the release it is of: the newest finished fitting with a complete delivery."""
    found: dict[str, Fitting] = {}
    for fitting in bowler.fittings.usable().newest_first():
        found.setdefault(fitting.purpose, fitting)
    return found


def fitting_in_use(bowler: Bowler) -> Fitting | None:
    """The newest finished fitting of the usual release with a complete delivery, or None."""
    usual = bowler.fittings.of_purpose(Fitting.Purpose.USUAL).usable()
    found: Fitting | None = usual.newest_first().first()
    return found


def spreads_in_use(bowler: Bowler) -> dict[str, Spread]:
    """The summary of the fitting in use; empty without one."""
    fitting = fitting_in_use(bowler)
    return {} if fitting is None else delivery_summary(fitting)
