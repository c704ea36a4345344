"""What lies between the holes of a ball, kept a while: a pair takes a millisecond, and the pages of
one ball ask for the same pairs one after another. Kept by the holes themselves, whosever they are.
"""

from __future__ import annotations

from functools import lru_cache

from physics import cavity
from physics.body import Hole

HELD = 1000
Holes = tuple[Hole, ...]


@lru_cache(maxsize=HELD)
def web(one: Hole, other: Hole, radius_in: float) -> cavity.Web:
    """The least material between two holes, inches."""
    return cavity.web(one, other, radius_in)


@lru_cache(maxsize=HELD)
def refuse_impossible(holes: Holes, names: tuple[str, ...], radius_in: float) -> None:
    """Raise InputError for a hole deeper than the ball, or for two that overlap at the surface."""
    cavity.refuse_impossible(holes, names, radius_in)


@lru_cache(maxsize=HELD)
def meetings(holes: Holes, names: tuple[str, ...], radius_in: float) -> tuple[str, ...]:
    """Words for each two holes that meet under the surface, with the remedy."""
    return tuple(words for _, _, words in cavity.meetings(holes, names, radius_in))
