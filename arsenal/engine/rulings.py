"""The shop's rule set, and a ball held against it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from arsenal.rules.models import HouseLimit, ShopRules
from physics import body, rules
from physics.rules import Finding, Limit, RuleSet

if TYPE_CHECKING:
    from arsenal.bag.models import OwnedBall
    from arsenal.rules.models import HardnessReading, SizeReading
    from bowlers.models import Bowler
    from proshop.models import Shop

STATUS_WORDS = {
    rules.READ: "read in a page of the governing body",
    rules.QUOTED: "quoted from the rule book by others",
    rules.MEMORY: "from memory: check the current rule book",
    rules.HOUSE: "set by this house",
}


def rule_sets() -> list[RuleSet]:
    return list(rules.RULE_SETS.values())


def rule_set_of(shop: Shop) -> RuleSet:
    """The set a shop chose as it is written, without the house's own limits."""
    chosen = ShopRules.objects.for_shop(shop).first()
    found = rules.RULE_SETS.get(chosen.rule_set) if chosen else None
    return found or rules.NO_BALANCE_HOLE


def rules_of(shop: Shop) -> RuleSet:
    """The set a shop holds balls to, the house's own limits in it."""
    chosen = rule_set_of(shop)
    return chosen.with_house(_house_limits(shop, chosen))


def rules_numbers(shop: Shop) -> dict[str, Any]:
    """The shop's rules as a ranking stores them; empty where they are the usual ones."""
    chosen = rule_set_of(shop)
    house = _house_limits(shop, chosen)
    if chosen.key == rules.NO_BALANCE_HOLE.key and not house:
        return {}
    return {"rule_set": chosen.key, "house": house}


def rules_from(numbers: Mapping[str, Any] | None) -> RuleSet:
    """Inverse of :func:`rules_numbers`."""
    if not numbers:
        return rules.NO_BALANCE_HOLE
    return rules.RULE_SETS[numbers["rule_set"]].with_house(numbers["house"])


def _house_limits(shop: Shop, chosen: RuleSet) -> dict[str, float]:
    keys = {limit.key for limit in chosen.limits}
    rows = HouseLimit.objects.for_shop(shop).filter(rule_set=chosen.key, taken_back=False)
    return {row.limit: row.value for row in rows if row.limit in keys}


def limit_words(chosen: RuleSet, key: str) -> str:
    """A limit as the owner picks it: ``top weight, over 10 lb: not more than 3.00 oz``."""
    limit = chosen.limit(key)
    return f"{_rule_words(limit)}: {limit.range_words()}"


def _rule_words(limit: Limit) -> str:
    everybody = limit.band is rules.ANY
    return limit.words if everybody else f"{limit.words}, {limit.band.words}"


def movable(chosen: RuleSet) -> list[tuple[str, str]]:
    """Limits a house may set otherwise, by key: all that are a number of something measured."""
    return [
        (limit.key, limit_words(chosen, limit.key))
        for limit in chosen.limits
        if limit.quantity != "palm_mark"
    ]


def limit_rows(chosen: RuleSet) -> list[dict[str, Any]]:
    """Each limit of a set with its standing, as the page of rules shows them."""
    return [
        {
            "key": limit.key,
            "words": _capital(limit.words),
            "band": limit.band.words,
            "range": "needed" if limit.quantity == "palm_mark" else limit.range_words(),
            "status": limit.status,
            "status_words": STATUS_WORDS[limit.status],
            "source": limit.source,
        }
        for limit in chosen.limits
    ]


def values_of(
    label: Mapping[str, float],
    static_oz: Sequence[float],
    kinds: Iterable[str],
    bowler: Bowler,
    reading: HardnessReading | None = None,
    size: SizeReading | None = None,
    *,
    chosen: RuleSet = rules.NO_BALANCE_HOLE,
) -> dict[str, float | None]:
    """What is known of a drilled ball, by the quantities rules limit.

    A thumb hole nobody's thumb goes into counts as a balance hole. A durometer reading counts at
    the set's temperatures only. Whether a palm was marked has to be looked at: it stays open.
    """
    holes = list(kinds)
    unused_thumb = holes.count("thumb") if bowler.thumb == "none" else 0
    found = rules.undrilled_values(body.Label(**label)) | rules.static_values(static_oz)
    found |= {"gripping_holes": len(holes) - unused_thumb, "balance_holes": unused_thumb}
    if "thumb" in holes and not unused_thumb:
        found["palm_mark"] = 1.0
    low, high = chosen.hardness_at_f
    if reading is not None and low <= reading.temperature_f <= high:
        found["hardness_d"] = reading.hardness_d
    if size is not None:
        found["diameter_in"] = _worse_across(size, chosen)
        found["roundness_in"] = round(size.most_in - size.least_in, 6)
    return found


def _worse_across(size: SizeReading, chosen: RuleSet) -> float:
    """The least or the most, whichever lies farther from the middle of what the set allows."""
    limits = [limit for limit in chosen.limits if limit.quantity == "diameter_in"]
    bounds = [b for limit in limits for b in (limit.low, limit.high) if b is not None]
    middle = sum(bounds) / len(bounds) if bounds else 0.0
    return max(size.most_in, size.least_in, key=lambda across: abs(across - middle))


def held_to(
    chosen: RuleSet, weight_lb: float, values: Mapping[str, float | None]
) -> list[dict[str, Any]]:
    """Each limit that holds for the ball with its value and by how much it is broken."""
    return [_row(finding) for finding in rules.check(chosen, weight_lb, values)]


def _row(finding: Finding) -> dict[str, Any]:
    limit = finding.limit
    mark = limit.quantity == "palm_mark"
    return {
        "key": limit.key,
        "quantity": limit.quantity,
        "rule": _capital(limit.words),
        "plain": limit.words,
        "name": _capital(finding.name),
        "value": "" if mark else finding.value_words,
        "limit": "needed without a thumb hole" if mark else limit.range_words(),
        "known": finding.is_known,
        "fails": finding.fails,
        "by": finding.over_words if finding.fails else "",
        "words": finding.words if finding.fails else "",
        "status": limit.status,
        "status_words": STATUS_WORDS[limit.status],
        "from_memory": limit.from_memory,
    }


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def newest_reading(ball: OwnedBall) -> HardnessReading | None:
    """The last durometer reading of a ball."""
    return next(iter(ball.hardness_readings.all()), None)


def newest_size(ball: OwnedBall) -> SizeReading | None:
    """The last time somebody measured how far across a ball is."""
    return next(iter(ball.size_readings.all()), None)
