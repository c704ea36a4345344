"""Rule sets as data: limits of a ball with their dates, sources and how sure we are of them.

A limit reads "not more than" or "not less than": exactly at it passes. Statics are the first
moment about the geometric centre over the radius, in ounces, with the signs of
:mod:`physics.body`; a limit on one holds for either sign.

``status`` of a limit: READ in a page of the governing body itself; QUOTED from its rule book in a
paper or an article of the trade; MEMORY, from memory, not confirmed; HOUSE, put there by a shop.
"""

import datetime
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from physics.body import Body, Label
from physics.errors import InputError
from physics.units import KG_TO_LB

READ, QUOTED, MEMORY, HOUSE = "read", "quoted", "memory", "house"
# Figures from statics are known to about this much: float noise must not fail an exact limit.
EXACT = 1e-9


@dataclass(frozen=True)
class Quantity:
    """Something a rule limits: its name, unit, decimals, and what it is called when negative."""

    words: str
    unit: str = ""
    places: int = 0
    negative: str = ""

    def named(self, value: float) -> str:
        return self.negative if value < 0 and self.negative else self.words

    def number(self, value: float) -> str:
        text = f"{value:.{self.places}f}"
        return f"{text} {self.unit}" if self.unit else text


QUANTITIES: Mapping[str, Quantity] = {
    "weight_lb": Quantity("weight", "lb", 2),
    "diameter_in": Quantity("diameter", "in", 3),
    "roundness_in": Quantity("out of round", "in", 3),
    "hardness_d": Quantity("hardness", "Shore D", 0),
    "rg_low_in": Quantity("low RG", "in", 3),
    "rg_high_in": Quantity("high RG", "in", 3),
    "differential_in": Quantity("differential", "in", 3),
    "top_oz": Quantity("top weight", "oz", 2, "bottom weight"),
    "side_oz": Quantity("PAP side weight", "oz", 2, "weight on the side away from the PAP"),
    "finger_oz": Quantity("finger weight", "oz", 2, "thumb weight"),
    "halves_oz": Quantity("difference between any two halves", "oz", 2),
    "gripping_holes": Quantity("gripping holes"),
    "balance_holes": Quantity("balance holes, an unused thumb hole among them"),
    "balance_hole_in": Quantity("balance hole diameter", "in", 3),
    "vent_hole_in": Quantity("vent hole diameter", "in", 3),
    "palm_mark": Quantity("palm centre marked with a plus (+)"),
}
STATICS = ("top_oz", "side_oz", "finger_oz", "halves_oz")


@dataclass(frozen=True)
class Band:
    """Weights of ball a limit holds for, pounds; ``whole`` says which ends belong to it."""

    key: str
    words: str
    low_lb: float = 0.0
    high_lb: float = math.inf
    whole: tuple[bool, bool] = (True, True)

    def holds(self, weight_lb: float) -> bool:
        above = weight_lb >= self.low_lb if self.whole[0] else weight_lb > self.low_lb
        below = weight_lb <= self.high_lb if self.whole[1] else weight_lb < self.high_lb
        return above and below


ANY = Band("any", "any weight")
OVER_10 = Band("over10", "over 10 lb", 10.0, math.inf, (False, True))
FROM_8_TO_10 = Band("8to10", "8 to 10 lb", 8.0, 10.0)
UNDER_8 = Band("under8", "under 8 lb", 0.0, 8.0, (True, False))
OVER_8 = Band("over8", "over 8 lb", 8.0, math.inf, (False, True))
UP_TO_8 = Band("upto8", "up to 8 lb", 0.0, 8.0)
FROM_13 = Band("from13", "13 lb and more", 13.0)


@dataclass(frozen=True)
class Limit:
    """One bound on one quantity for balls of one band of weight."""

    quantity: str
    low: float | None
    high: float | None
    status: str
    source: str = ""
    band: Band = ANY

    @property
    def key(self) -> str:
        return f"{self.quantity}:{self.band.key}"

    @property
    def words(self) -> str:
        return QUANTITIES[self.quantity].words

    @property
    def from_memory(self) -> bool:
        return self.status == MEMORY

    @property
    def bound(self) -> float:
        """The one number of a limit with one end; its upper end otherwise."""
        value = self.low if self.high is None else self.high
        return 0.0 if value is None else value

    def range_words(self) -> str:
        quantity = QUANTITIES[self.quantity]
        if self.low is not None and self.high is not None:
            return f"{self.low:.{quantity.places}f} to {quantity.number(self.high)}"
        if self.low is not None:
            return f"at least {quantity.number(self.low)}"
        return f"not more than {quantity.number(self.high or 0.0)}"


@dataclass(frozen=True)
class Finding:
    """One limit held against one ball. ``value`` is None where nobody measured it.

    ``over`` is by how much the ball is outside, 0 inside, in the quantity's unit.
    """

    limit: Limit
    value: float | None
    over: float = 0.0

    @property
    def fails(self) -> bool:
        return self.over > 0

    @property
    def is_known(self) -> bool:
        return self.value is not None

    @property
    def name(self) -> str:
        return QUANTITIES[self.limit.quantity].named(self.value or 0.0)

    @property
    def value_words(self) -> str:
        if self.value is None:
            return ""
        return QUANTITIES[self.limit.quantity].number(abs(self.value))

    @property
    def over_words(self) -> str:
        quantity = QUANTITIES[self.limit.quantity]
        # A hundredth over shows as a hundredth; a thousandth over must not show as nothing.
        places = quantity.places
        while places < 6 and self.over and round(self.over, places) == 0:
            places += 1
        return replace(quantity, places=places).number(self.over)

    @property
    def words(self) -> str:
        """A fault in a sentence: what, how much, which limit and by how much."""
        value = self.value or 0.0
        short = self.limit.low is not None and value < self.limit.low
        quantity = QUANTITIES[self.limit.quantity]
        bound = self.limit.low if short else self.limit.high
        said = (
            f"{self.name} {self.value_words}, {'at least' if short else 'limit'} "
            f"{quantity.number(bound or 0.0)}: {self.over_words} {'short' if short else 'over'}"
        )
        if self.limit.status == MEMORY:
            return f"{said} (a limit from memory: check the current rule book)"
        return f"{said} (a limit of the house)" if self.limit.status == HOUSE else said


@dataclass(frozen=True)
class RuleSet:
    """Limits that hold together, where and from when.

    ``note`` says what the set leaves open. ``hardness_at_f`` is the range of temperature in which
    a durometer reading counts, degrees Fahrenheit.
    """

    key: str
    name: str
    since: datetime.date
    until: datetime.date | None
    source: str
    limits: tuple[Limit, ...]
    note: str = ""
    hardness_at_f: tuple[float, float] = (68.0, 78.0)
    house: tuple[str, ...] = field(default=())

    def limit(self, key: str) -> Limit:
        """The limit of this key; raises :class:`InputError` when the set has none."""
        for found in self.limits:
            if found.key == key:
                return found
        raise InputError("limit", key, f"one of {', '.join(x.key for x in self.limits)}")

    def largest_static_oz(self) -> float:
        """The largest static balance this set allows any ball."""
        return max(x.high or 0.0 for x in self.limits if x.quantity in STATICS)

    def with_house(self, changes: Mapping[str, float]) -> "RuleSet":
        """The set with limits of a house in place of its own, by the key of the limit."""
        for key, value in changes.items():
            self.limit(key)
            if not math.isfinite(value) or value < 0:
                raise InputError("value", value, "a number, 0 or more")
        return replace(
            self,
            house=tuple(changes),
            limits=tuple(
                _moved(found, changes[found.key]) if found.key in changes else found
                for found in self.limits
            ),
        )


def _moved(limit: Limit, value: float) -> Limit:
    """The limit with its bound moved: the lower of those that have only one below."""
    if limit.high is None:
        return replace(limit, low=value, status=HOUSE)
    return replace(limit, high=value, status=HOUSE)


def _statics(
    band: Band, top: float, side: float, finger: float, status: str, source: str
) -> tuple[Limit, ...]:
    each = {"top_oz": top, "side_oz": side, "finger_oz": finger}
    return tuple(
        Limit(quantity, None, value, status, source, band) for quantity, value in each.items()
    )


_US = "US governing body"
# As made or measured, the same in all sets. Hardness was raised for newly approved balls since
# (73, then 78 are spoken of; from memory), which doesn't touch balls approved before.
_BALL = (
    Limit("weight_lb", None, 16.0, READ, _US),
    Limit("diameter_in", 8.5, 8.595, QUOTED, "rule book as quoted in papers", FROM_13),
    Limit("roundness_in", None, 0.010, MEMORY),
    Limit("hardness_d", 72.0, None, QUOTED, "rule book as quoted in papers"),
    Limit("rg_low_in", 2.460, None, QUOTED, "the US governing body's release of 2010"),
    Limit("rg_high_in", None, 2.800, QUOTED, "papers"),
    Limit("differential_in", None, 0.060, QUOTED, "the decision after November 2004"),
    Limit("gripping_holes", None, 5.0, READ, _US),
    Limit("vent_hole_in", None, 0.25, READ, _US),
)
_NO_BALANCE_HOLE = (
    Limit("balance_holes", None, 0.0, READ, f"{_US}, in force since 1 August 2020"),
    Limit("palm_mark", 1.0, None, READ, _US),
)
_LIGHT = (
    *_statics(FROM_8_TO_10, 2.0, 0.75, 0.75, MEMORY, "the row of 8 lb from an article"),
    *_statics(UNDER_8, 0.75, 0.75, 0.75, MEMORY, ""),
)

NO_BALANCE_HOLE = RuleSet(
    key="us-2020",
    name="no balance hole, from 1 August 2020",
    since=datetime.date(2020, 8, 1),
    until=None,
    source="US governing body",
    limits=(
        *_BALL,
        *_statics(OVER_10, 3.0, 3.0, 3.0, READ, f"{_US}, from 1 August 2018"),
        *_LIGHT,
        *_NO_BALANCE_HOLE,
    ),
    note="US announcements want every gripping hole used on every delivery.",
)
INTERNATIONAL = RuleSet(
    key="international-2019",
    name="international, from 1 January 2019",
    since=datetime.date(2019, 1, 1),
    until=None,
    source="international governing body",
    limits=(
        *_BALL,
        *_statics(OVER_10, 3.0, 3.0, 3.0, READ, "international governing body; 3 oz is 85 g"),
        *_LIGHT,
        *_NO_BALANCE_HOLE,
    ),
    note="Not every finger hole need be used, but one hand must be able to grip all at once.",
)
AUSTRALIAN = RuleSet(
    key="australia-2019",
    name="Australian, from January 2019",
    since=datetime.date(2019, 1, 1),
    until=None,
    source="Australian governing body, summary of December 2018",
    limits=(
        *_BALL,
        *_statics(OVER_8, 3.0, 3.0, 3.0, READ, "summary of December 2018"),
        Limit("halves_oz", None, 3.0, READ, "summary of December 2018", OVER_8),
        *_statics(UP_TO_8, 0.75, 0.75, 0.75, MEMORY, ""),
        *_NO_BALANCE_HOLE,
    ),
)
WITH_BALANCE_HOLE = RuleSet(
    key="us-until-2020",
    name="one balance hole allowed, until 1 August 2020",
    since=datetime.date(2010, 7, 1),
    until=datetime.date(2020, 8, 1),
    source="US governing body",
    limits=(
        *_BALL,
        *_statics(OVER_10, 3.0, 1.0, 1.0, READ, _US),
        *_LIGHT,
        Limit("balance_holes", None, 1.0, READ, _US),
        Limit("balance_hole_in", None, 1.25, READ, _US),
    ),
    note="No longer in force: for records of that time, and for leagues that still use it.",
)
RULE_SETS: Mapping[str, RuleSet] = {
    rules.key: rules for rules in (NO_BALANCE_HOLE, INTERNATIONAL, AUSTRALIAN, WITH_BALANCE_HOLE)
}


def check(rules: RuleSet, weight_lb: float, values: Mapping[str, float | None]) -> list[Finding]:
    """Every limit of the set that holds for a ball of this weight, against what is known of it.

    ``values`` by quantity, in the quantity's unit; what is missing or None stays open.
    """
    return [
        _held(limit, values.get(limit.quantity))
        for limit in rules.limits
        if limit.band.holds(weight_lb)
    ]


def _held(limit: Limit, value: float | None) -> Finding:
    if value is None:
        return Finding(limit, None)
    size = abs(value) if limit.quantity in STATICS else value
    over = 0.0
    if limit.high is not None and size > limit.high + EXACT:
        over = size - limit.high
    elif limit.low is not None and size < limit.low - EXACT:
        over = limit.low - size
    return Finding(limit, value, over)


def undrilled_values(label: Label) -> dict[str, float | None]:
    """What a label says of the quantities rules limit."""
    return {
        "weight_lb": label.weight_lb,
        "rg_low_in": label.rg_low_in,
        "rg_high_in": label.rg_low_in + label.differential_in,
        "differential_in": label.differential_in,
    }


def static_values(static_oz: Sequence[float]) -> dict[str, float | None]:
    """Top, side and finger ounces as the quantities rules limit."""
    top, side, finger = static_oz
    return {
        "top_oz": top,
        "side_oz": side,
        "finger_oz": finger,
        "halves_oz": math.sqrt(top**2 + side**2 + finger**2),
    }


def undrilled_faults(label: Label, rules: RuleSet = NO_BALANCE_HOLE) -> list[str]:
    """What a ball breaks before it is drilled, each in words with value, limit and by how much."""
    return _faults(check(rules, label.weight_lb, undrilled_values(label)))


def static_faults(body: Body, rules: RuleSet = NO_BALANCE_HOLE) -> list[str]:
    """Static balances over their limits, each in words with value, limit and by how much."""
    return _faults(check(rules, body.mass_kg * KG_TO_LB, static_values(body.static_oz)))


def _faults(findings: Sequence[Finding]) -> list[str]:
    return [finding.words for finding in findings if finding.fails]
