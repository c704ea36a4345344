"""Customers found by the serial number of a ball they own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from django.db.models import Q

from arsenal.bag.models import OwnedBall

# Shorter ones, and words without a digit, are on too many balls to mean one.
FEWEST_SIGNS = 4


def is_serial(word: str) -> bool:
    return len(word) >= FEWEST_SIGNS and any(sign.isdigit() for sign in word)


def by_serial(word: str) -> Q | None:
    """The owners of balls with this in the serial number; None if the word can't be one."""
    if not is_serial(word):
        return None
    return Q(pk__in=OwnedBall.objects.filter(serial__icontains=word).values("bowler_id"))


def serials_of(bowlers: Sequence[int], words: Sequence[str]) -> Mapping[int, str]:
    """Which of their balls have one of these words in the serial number, by customer."""
    hit = Q()
    for word in words:
        hit |= Q(serial__icontains=word)
    balls = OwnedBall.objects.filter(hit, bowler__in=bowlers).order_by("pk")
    found: dict[int, list[str]] = {}
    for bowler, serial in balls.values_list("bowler_id", "serial"):
        found.setdefault(bowler, []).append(serial)
    return {
        bowler: f"ball {serials[0]}" + (f" and {len(serials) - 1} more" if serials[1:] else "")
        for bowler, serials in found.items()
    }
