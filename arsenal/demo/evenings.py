"""A season of what customers saw on the lanes. All invented: inputs only, what they teach is
computed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from arsenal.demo.lanes import (
    CHALLENGE_LONG,
    DRY_BLEND,
    HOUSE_BLEND,
    HOUSE_WORN,
)


@dataclass(frozen=True)
class Evening:
    """One ball on one condition: how long before the demo was first loaded, and what was seen.

    ``line``: laydown board and board at the arrows; ``turned``: breakpoint board and feet.
    """

    days_ago: int
    model: str
    oil: str
    entry: float | None = None
    line: tuple[float, float] | None = None
    turned: tuple[float | None, float | None] = (None, None)
    leaves: tuple[str, ...] = ()
    motion: str = ""
    look: str = ""
    games: int = 3
    games_on_oil: int = 0
    remark: str = ""
    set_aside: bool = False


EVENINGS: Mapping[str, tuple[Evening, ...]] = {
    "Marcus Ellery": (
        Evening(
            37, "Field Maple", HOUSE_BLEND, 17.5, (30, 18), (7, 41), ("10", "9"), look="right"
        ),
        Evening(34, "Hornbeam", HOUSE_BLEND, 19, (30, 17.5), (7, None), ("4", "4-9", "3-10")),
        Evening(
            30,
            "Hornbeam",
            HOUSE_WORN,
            19,
            (32, 16.5),
            (7, 34),
            ("4-9", "10", "4"),
            motion="quit",
            remark="Gave it up after two games and threw the other one.",
        ),
        Evening(23, "Field Maple", HOUSE_WORN, 18.5, (32, 17.5), leaves=("4-9",), motion="quit"),
        Evening(16, "Field Maple", HOUSE_BLEND, 18.5, (30, 18.5), (10, 41), ("10", "4")),
        Evening(
            9,
            "Hornbeam",
            HOUSE_BLEND,
            9,
            (30, 17),
            remark="Board 9? Must have been the arrows. Ask again.",
            set_aside=True,
        ),
        Evening(
            9, "Field Maple", DRY_BLEND, leaves=("5-7", "4-9", "10"), motion="quit", look="rolly"
        ),
    ),
    "Tom Whitaker": (
        Evening(18, "Wild Service", HOUSE_BLEND, 17.5, (14, 8.5), (4, 34), ("10",), look="right"),
        Evening(15, "Silver Lime", HOUSE_BLEND, 18, (18, 11.5), (6, 36), ("10", "9")),
        Evening(11, "Juniper", HOUSE_BLEND, 17.5, (12, 9), leaves=("8", "10"), motion="never"),
        Evening(8, "Silver Lime", CHALLENGE_LONG, 17.5, (16, 9), (6, 35), ("10", "5")),
        Evening(4, "Wild Service", CHALLENGE_LONG, 17.5, (12, 8.5), leaves=("2-8", "10")),
        Evening(1, "Silver Lime", HOUSE_BLEND, 19.5, (18, 12), (9, 36), ("4-9", "9")),
    ),
    "Luis Herrera": (
        Evening(11, "Wych Elm", HOUSE_BLEND, 18.5, (20, 12.5), (8, 38), ("6", "3-10", "8")),
        Evening(8, "Whitebeam", HOUSE_BLEND, 18, (18, 12.5), (8, 39), ("7", "5-10")),
        Evening(
            5, "Whitebeam", HOUSE_BLEND, 18.5, (18, 11.5), leaves=("6", "8"), games_on_oil=30,
            remark="Hardly different from the first block.",
        ),
        Evening(2, "Wych Elm", HOUSE_BLEND, 17.5, (20, 13), (9, 37), ("7", "8"), games_on_oil=30),
    ),
    "Denise Okafor": (
        Evening(60, "Silver Lime", HOUSE_BLEND, 18.5, (18, 11.5), (7, 37), ("9", "4")),
        Evening(52, "Rowan", HOUSE_BLEND, 18, (14, 8.5), (4, 35), ("7", "5-7"), motion="never"),
        Evening(45, "Rowan", DRY_BLEND, 18, (20, 13), (7, 37), ("4", "10"), look="right"),
        Evening(31, "Silver Lime", DRY_BLEND, 17, (22, 14), (6, 38), ("5-7", "10")),
        Evening(17, "Rowan", DRY_BLEND, leaves=("2-8", "10"), motion="never", look="angular"),
    ),
}  # fmt: skip
