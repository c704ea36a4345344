"""Customers who may have been entered twice.

Two have near-equal names if these are the same after leaving out at most one letter of each,
whatever the order of the names, capitals and accents; two have the same phone if it ends alike.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np

from bowlers.duplicates.models import ToldApart
from bowlers.models import Bowler
from bowlers.phones import FEWEST_DIGITS
from proshop.models import Shop

# Codes of country and area are written or left out; what follows them has seven digits in North
# America, and as many or more elsewhere (common practice, no source).
ENDING = 7
# With fewer letters one of them makes another name.
FEWEST_LETTERS = 6
# Any large odd number without a pattern.
BASE = 0x9E3779B97F4A7C15


class Said(NamedTuple):
    """What pairs are looked for by."""

    pk: int
    search_key: str
    phone_key: str
    born: int | None


@dataclass
class Pair:
    """Two customers, the one entered first first, and why they look like one."""

    first: Any
    second: Any
    reasons: list[str] = field(default_factory=list)


SAME_NAME, NEAR_NAME, SAME_PHONE = "the same name", "nearly the same name", "the same phone ending"
WEIGHT = {SAME_NAME: 3, NEAR_NAME: 2, SAME_PHONE: 2}


def found(people: Iterable[Said]) -> dict[tuple[int, int], list[str]]:
    """Pairs of customers with what they share, the likeliest first.

    Of several with one name or phone each is paired with the first, so the pairs are never many
    more than the people.
    """
    everybody = sorted(people)
    names = {person.pk: _in_order(person.search_key) for person in everybody}
    phones = {
        person.pk: person.phone_key[:ENDING]
        for person in everybody
        if len(person.phone_key) >= FEWEST_DIGITS
    }
    reasons: dict[tuple[int, int], list[str]] = defaultdict(list)
    for pair in _sharing((name, pk) for pk, name in names.items() if name):
        reasons[pair].append(SAME_NAME)
    near = _may_share(names)
    spelt = ((key, pk) for pk in near for key in _without_a_letter(names[pk]))
    for pair in _sharing(spelt):
        if SAME_NAME not in reasons[pair]:
            reasons[pair].append(NEAR_NAME)
    for pair in _sharing((phone, pk) for pk, phone in phones.items()):
        reasons[pair].append(SAME_PHONE)
    born = {person.pk: person.born for person in everybody}

    def doubt(pair: tuple[int, int]) -> tuple[bool, int, tuple[int, int]]:
        one, other = born[pair[0]], born[pair[1]]
        differ = one is not None and other is not None and one != other
        return differ, -sum(map(WEIGHT.__getitem__, reasons[pair])), pair

    return {pair: reasons[pair] for pair in sorted(reasons, key=doubt)}


def _in_order(name: str) -> str:
    return " ".join(sorted(name.split()))


def _may_share(names: Mapping[int, str]) -> list[int]:
    """Those whose name, or it without a letter, has a number that another's has too: all who share
    a spelling, hardly anybody else, at a hundredth of the time that spelling them out takes.

    A number is the sum of letters times powers of a base, modulo 2**64, after that of the length.
    """
    people = [pk for pk, name in names.items() if len(name) >= FEWEST_LETTERS]
    if not people:
        return []
    lengths = np.array([len(names[pk]) for pk in people])
    longest = int(lengths.max())
    text = "".join(names[pk].ljust(longest, "\0") for pk in people)
    letters = np.frombuffer(text.encode("utf-32-le", "surrogatepass"), np.uint32)
    letters = letters.reshape(len(people), longest).astype(np.uint64)
    powers = np.cumprod(np.full(longest, BASE, np.uint64))
    before = np.cumsum(letters * powers, axis=1)
    # What comes after the letter that is left out moves one place to the front.
    moved = np.cumsum(letters[:, :0:-1] * powers[-2::-1], axis=1)[:, ::-1]
    whole = before[:, -1]
    without = np.zeros_like(letters)
    without[:, 1:] += before[:, :-1]
    without[:, :-1] += moved
    there = np.arange(longest) < lengths[:, None]
    # Once each: a letter left out of two alike leaves the same.
    there[:, 1:] &= letters[:, 1:] != letters[:, :-1]
    who = np.concatenate([np.arange(len(people)), np.nonzero(there)[0]])
    numbers = np.concatenate([whole, without[there]])
    order = np.argsort(numbers)
    numbers = numbers[order]
    meet = np.flatnonzero(numbers[1:] == numbers[:-1])
    found = np.unique(who[order[np.concatenate([meet, meet + 1])]])
    return [people[place] for place in found]


def _without_a_letter(name: str) -> set[str]:
    return {name, *(name[:place] + name[place + 1 :] for place in range(len(name)))}


def _sharing(keyed: Iterable[tuple[str, int]]) -> Iterator[tuple[int, int]]:
    """Pairs of who shares a key, each once: the first of a key with each of the others."""
    first: dict[str, int] = {}
    seen: set[tuple[int, int]] = set()
    for key, pk in keyed:
        other = first.setdefault(key, pk)
        if other != pk and (pair := (other, pk)) not in seen:
            seen.add(pair)
            yield pair


def pairs_of(shop: Shop) -> list[tuple[tuple[int, int], list[str]]]:
    """Everybody in the shop who looks entered twice and wasn't told apart. Two queries."""
    people = Bowler.objects.for_shop(shop).order_by("pk").values_list(*Said._fields)
    apart = set(ToldApart.objects.for_shop(shop).values_list("first", "second"))
    pairs = found(Said(*person) for person in people)
    return [(pair, reasons) for pair, reasons in pairs.items() if pair not in apart]


def pairs_with(bowler: Bowler) -> list[tuple[tuple[int, int], list[str]]]:
    """As :func:`pairs_of`, those with this customer alone. Two queries."""
    me = Said(*Bowler.objects.filter(pk=bowler.pk).values_list(*Said._fields)[0])
    name, phone = _in_order(me.search_key), me.phone_key[:ENDING]

    def may_share(person: Said) -> bool:
        """Nobody who shares a spelling with them is left out: without a letter of either the two
        are made of the same letters."""
        if phone and person.phone_key[:ENDING] == phone:
            return True
        near = abs(len(_in_order(person.search_key)) - len(name)) <= 1
        return near and len(set(person.search_key) ^ set(me.search_key)) <= 2

    everybody = Bowler.objects.for_shop(bowler.shop).order_by("pk").values_list(*Said._fields)
    some = [one for person in everybody if may_share(one := Said(*person))]
    apart = set(ToldApart.objects.for_shop(bowler.shop).values_list("first", "second"))
    return [
        (pair, reasons)
        for pair, reasons in found(some).items()
        if bowler.pk in pair and pair not in apart
    ]


def shown(shop: Shop, some: Sequence[tuple[tuple[int, int], list[str]]]) -> list[Pair]:
    """Some of the pairs with their customers. One query."""
    numbers = {pk for pair, _ in some for pk in pair}
    bowlers = Bowler.objects.for_shop(shop).with_last_fitting().in_bulk(numbers)
    return [
        Pair(bowlers[first], bowlers[second], reasons)
        for (first, second), reasons in some
        if first in bowlers and second in bowlers
    ]
