"""The fitting page put together: rows, the next row, means and what changed since."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from bowlers.engine import kept_deliveries
from bowlers.forms import DeliveryForm
from bowlers.gear import gear_of
from bowlers.grips.since import GripSince, grip_since
from bowlers.growth import growth_words
from bowlers.instruments import RING, read_of, words
from bowlers.models import Delivery, Fitting
from bowlers.readings import PAP_NAMES
from bowlers.summary import Change, Earlier, Line, earlier, lines, release_words

# Earlier fittings shown in full beside today's; the rest are links.
BESIDE = 3


@dataclass(frozen=True)
class Row:
    """A stored delivery and the form it is edited with."""

    delivery: Delivery
    form: DeliveryForm


@dataclass(frozen=True)
class Sheet:
    fitting: Fitting
    rows: list[Row]
    next_row: DeliveryForm
    lines: list[Line]
    words: list[str]
    earlier: list[Earlier] = field(default_factory=list)
    instruments: list[str] = field(default_factory=list)
    growth: list[str] = field(default_factory=list)
    grip: GripSince | None = None

    @property
    def beside(self) -> list[tuple[Line, list[Change | None]]]:
        """Each reading today, and how it changed since each of the latest earlier fittings."""
        latest = self.earlier[:BESIDE]
        return [
            (line, [entry.changes[index] for entry in latest])
            for index, line in enumerate(self.lines)
        ]

    @property
    def latest(self) -> list[Earlier]:
        return self.earlier[:BESIDE]

    @property
    def older(self) -> list[Earlier]:
        return self.earlier[BESIDE:]

    @property
    def complete_count(self) -> int:
        return sum(d.is_complete for d in kept_deliveries(self.fitting))

    @property
    def half_filled(self) -> list[Delivery]:
        return [d for d in kept_deliveries(self.fitting) if not d.is_complete]


def carried_pap(deliveries: list[Delivery]) -> dict[str, float]:
    """The PAP last entered: it belongs to the bowler, so the next row starts with it."""
    for delivery in reversed(deliveries):
        if RING in delivery.raw:
            # Worked out of the points of one ring: nothing a ruler read of the next delivery.
            continue
        pap = {name: getattr(delivery, name) for name in PAP_NAMES}
        if any(value is not None for value in pap.values()):
            return {name: value for name, value in pap.items() if value is not None}
    return {}


def blank_row(fitting: Fitting) -> DeliveryForm:
    return DeliveryForm(carried=carried_pap(kept_deliveries(fitting)), gear=gear_of(fitting))


def same_again(fitting: Fitting, typed: Mapping[str, Any]) -> DeliveryForm:
    """The next row filled from the last delivery wherever nothing was typed."""
    key = str(typed.get("row_key", ""))
    before = [d for d in kept_deliveries(fitting) if str(d.row_key) != key]
    last = {**before[-1].readings, **read_of(before[-1].raw)} if before else {}
    row = DeliveryForm(carried=carried_pap(before), gear=gear_of(fitting))
    filled = {
        box.name: (typed.get(box.name) or "").strip() or last.get(box.name) for box in row.boxes
    }
    kept = {name: typed[name] for name in ("row_key", "record_version") if typed.get(name)}
    row = DeliveryForm(
        carried=carried_pap(before), initial={**filled, **kept}, gear=gear_of(fitting)
    )
    row.focus()
    return row


def sheet(
    fitting: Fitting, *, bound: DeliveryForm | None = None, next_row: DeliveryForm | None = None
) -> Sheet:
    """Everything the page shows; ``bound`` is a form sent with errors, kept as it was typed."""
    deliveries = list(fitting.deliveries.all())
    fitting.kept = [d for d in deliveries if not d.dropped]  # type: ignore[attr-defined]
    gear = gear_of(fitting)
    stored_keys = {d.row_key for d in deliveries}
    if bound is not None and bound.key not in stored_keys:
        next_row = bound
    if next_row is None:
        next_row = blank_row(fitting)
        if bound is None:
            next_row.focus()
    rows = [
        Row(
            d,
            bound
            if bound is not None and bound.key == d.row_key
            else DeliveryForm(delivery=d, gear=gear),
        )
        for d in deliveries
        if d.row_key != next_row.key
    ]
    before = earlier(fitting)
    return Sheet(
        fitting=fitting,
        rows=rows,
        next_row=next_row,
        lines=lines(fitting),
        words=release_words(fitting),
        earlier=before,
        growth=growth_words(fitting, before[0].fitting if before else None),
        grip=grip_since(fitting.bowler),
        instruments=words(fitting.instruments),
    )
