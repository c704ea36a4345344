"""The instruments of one fitting, and what is known of the release they are read with."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from bowlers.engine import delivery_summary
from bowlers.engine.measuring import Derived, derive, names_told
from bowlers.instruments import QUANTITIES, QUANTITY, RING, TYPED, Choice, choice_of, way_of
from bowlers.models import Delivery, Fitting
from bowlers.readings import BY_NAME

NOTHING_DERIVED = Derived({}, {}, {})


@dataclass(frozen=True)
class Gear:
    """What a row of this fitting is read with; ``means``: of the deliveries logged already."""

    choice: Choice = field(default_factory=dict)
    hand: str = "right"
    average: int | None = None
    means: Mapping[str, float] = field(default_factory=dict)

    def choice_for(self, delivery: Delivery | None, ways: str = "") -> dict[str, dict[str, Any]]:
        """The instruments of one row: those it was shown with (``ways``), or was read with, or
        else those of the fitting."""
        kept = choice_of(delivery.raw) if delivery is not None else {}
        shown = dict(pair.split("=", 1) for pair in ways.split() if "=" in pair)
        choice: dict[str, dict[str, Any]] = {}
        for quantity in QUANTITIES:
            chosen = dict(kept.get(quantity.name) or self.choice.get(quantity.name) or {})
            if quantity.name not in kept and _is_typed(delivery, quantity.name):
                chosen = {}
            name = shown.get(quantity.name)
            if (
                name is not None
                and name != chosen.get("way", TYPED)
                and RING
                not in (
                    name,
                    chosen.get("way"),
                )
            ):
                chosen = quantity.way(name).usual()
            if chosen and chosen["way"] != TYPED:
                choice[quantity.name] = chosen
        return choice

    def derive(self, raw: Mapping[str, Any], typed: Mapping[str, float]) -> Derived:
        """The numbers of a row's raw readings, with what is typed in it or known already."""
        if not raw:
            return NOTHING_DERIVED
        told = names_told(raw)
        beside = {n: v for n, v in {**self.means, **typed}.items() if n not in told}
        return derive(raw, beside=beside, hand=self.hand, average=self.average)


PLAIN_GEAR = Gear()


def gear_of(fitting: Fitting) -> Gear:
    """The instruments of a fitting, with the means so far."""
    bowler = fitting.bowler
    means = (
        {name: spread.mean for name, spread in delivery_summary(fitting).items()}
        if fitting.instruments
        else {}
    )
    return Gear(fitting.instruments, bowler.hand, bowler.average, means)


def _is_typed(delivery: Delivery | None, quantity: str) -> bool:
    """Whether a stored delivery holds this quantity as a number."""
    return delivery is not None and any(
        getattr(delivery, reading.name) is not None for reading in QUANTITY[quantity].readings
    )


def ways_text(choice: Choice) -> str:
    """The ways of a row for its form: "speed=seconds rev_rate=frames"."""
    return " ".join(
        f"{q.name}={choice[q.name]['way'] if q.name in choice else TYPED}" for q in QUANTITIES
    )


def box_for_reading(choice: Choice, name: str) -> str:
    """The box a reading is worked out from."""
    reading = BY_NAME[name]
    for quantity in QUANTITIES:
        boxes = way_of(choice, quantity).boxes
        if reading in quantity.readings and boxes:
            return next((box.name for box in boxes if box.name == name), boxes[0].name)
    return ""
