"""What people type to find a customer: part of a name, the end of a phone number, or whatever
other apps know customers by.

Each word must hit something of a customer. Apps add what they know in ``AppConfig.ready``, so that
people don't have to know about balls.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from bowlers.phones import digits_of

FEWEST_ENDING = 3
# A number typed in groups is one word.
GROUPED = re.compile(r"[\d\s().+/-]+", re.ASCII)


@dataclass(frozen=True)
class Finder:
    """Something else customers are known by.

    ``hits`` gives the customers a word may mean, None if the word is none of its business;
    ``told`` says of those among some customers what was hit, by customer.
    """

    hits: Callable[[str], Q | None]
    told: Callable[[Sequence[int], Sequence[str]], Mapping[int, str]]


_finders: dict[str, Finder] = {}


def register(name: str, finder: Finder) -> None:
    """Let customers be found by something else, or replace what has the same name."""
    _finders[name] = finder


def words_of(text: str) -> list[str]:
    """The words to look for, of so much as a name can have; digits typed in groups are one."""
    from bowlers.models import LONGEST_KEY

    text = text.replace("\0", "").strip()[:LONGEST_KEY]
    if GROUPED.fullmatch(text) and len(digits_of(text)) >= FEWEST_ENDING:
        return [digits_of(text)]
    return text.split()


def hits(word: str) -> Q:
    """The customers a word may mean."""
    from bowlers.models import search_key

    found = Q(search_key__contains=search_key(word))
    if word.isascii() and word.isdigit() and len(word) >= FEWEST_ENDING:
        found |= ending(word)
    for finder in _finders.values():
        if (more := finder.hits(word)) is not None:
            found |= more
    return found


def ending(digits: str) -> Q:
    """Phone numbers that end so: a range of the key, which an index answers in any collation."""
    first = digits[::-1]
    kept = first.rstrip("9")
    if not kept:
        return Q(phone_key__gte=first)
    above = kept[:-1] + str(int(kept[-1]) + 1)
    return Q(phone_key__gte=first, phone_key__lt=above)


def with_reasons(bowlers: Iterable[Any], text: str) -> list[Any]:
    """The customers, each with ``found_by``: what was hit besides name and phone, if anything."""
    shown = list(bowlers)
    words = words_of(text)
    told: dict[int, str] = {}
    for finder in _finders.values():
        asked = [word for word in words if finder.hits(word) is not None]
        if asked and shown:
            told |= finder.told([bowler.pk for bowler in shown], asked)
    for bowler in shown:
        bowler.found_by = told.get(bowler.pk, "")
    return shown
