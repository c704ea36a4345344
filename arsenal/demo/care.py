"""What was done to the demo's balls: care, games, and one drilling before the last. Invented."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from arsenal.demo.kinds import Layout, angles
from arsenal.demo.people import MATCHED, SENIOR, WORN


@dataclass(frozen=True)
class Done:
    """One line of the log: days ago when the demo was first loaded, and games at the time."""

    days_ago: int
    work: str
    finish: str
    games: int
    note: str = ""


@dataclass(frozen=True)
class Before:
    """The ball's drilling before this one, for the same hand and PAP."""

    layout: Layout
    days_ago: int
    notes: str = ""


@dataclass(frozen=True)
class Past:
    """What is on record of one ball besides what it is: columns of the ball among it."""

    done: tuple[Done, ...] = ()
    before: Before | None = None
    columns: Mapping[str, Any] = field(default_factory=dict)


# By customer and model.
PASTS: dict[tuple[str, str], Past] = {
    (MATCHED.name, "Silver Lime"): Past(
        done=(
            Done(60, "surface", "4000", 41, "360, 1000, 2000, 4000, by machine"),
            Done(40, "clean", "4000", 0),
            Done(12, "games", "4000", 6, "League, pair 7 and 8"),
        ),
        before=Before(angles(60, 5, 55), 62, "Span an eighth too long; plugged and drilled again."),
        columns={"approval_note": "On the list of approved balls when it was drilled."},
    ),
    (MATCHED.name, "Hazel"): Past(columns={"bought_elsewhere": True}),
    (WORN.name, "Wild Service"): Past(
        done=(Done(420, "surface", "polished", 55, "Polished after 2000 grit"),),
    ),
    (SENIOR.name, "Black Poplar"): Past(
        columns={"bought_elsewhere": True, "cg_off_line_in": 0.25, "pin_to_psa_in": 6.5},
    ),
}
