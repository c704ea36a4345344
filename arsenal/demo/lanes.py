"""The two houses of the demo and what is laid down in them. All invented."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Oil:
    """One condition: picker numbers, or a table from which they are taken."""

    name: str
    length_ft: float
    volume_ml: float
    ratio: float
    shape: str
    table: dict[str, Any] | None = None


@dataclass(frozen=True)
class Building:
    """A house with its conditions."""

    name: str
    surface: str
    friction: float
    oils: tuple[Oil, ...]


# Boards 1 to 39 from the left gutter. Right-handed traffic has thinned the oil about the second
# arrow, boards 26 to 33 from the left, and left little of it outside.
_WORN_ROWS = {
    0.0: "2 2 3 3 3 4 5 7 10 14 18 21 23 24 24 24 24 24 24 24 "
    "24 23 22 21 18 14 11 8 6 5 4 3 3 2 2 2 2 1 1",
    12.0: "2 2 3 3 3 4 5 7 10 14 18 21 23 24 24 24 24 24 24 24 "
    "24 23 22 20 17 13 10 7 5 4 3 3 2 2 2 2 2 1 1",
    22.0: "2 2 2 3 3 3 4 6 9 12 16 18 20 21 21 21 21 21 21 21 "
    "20 19 17 15 12 9 7 5 4 3 3 2 2 2 2 2 1 1 1",
    32.0: "1 1 2 2 2 2 3 4 6 8 10 11 12 12 12 12 12 12 12 12 "
    "12 11 10 8 6 5 4 3 2 2 2 2 1 1 1 1 1 1 1",
    40.0: "1 1 1 1 1 1 1 2 2 3 4 4 5 5 5 5 5 5 5 5 5 5 4 3 3 2 2 2 1 1 1 1 1 1 1 1 1 1 0",
    40.01: " ".join(["0"] * 39),
}
WORN_TABLE: dict[str, Any] = {
    "distance_ft": list(_WORN_ROWS),
    "units": [[float(units) for units in row.split()] for row in _WORN_ROWS.values()],
}

HOUSE_BLEND = "House blend, 40 ft, medium"
HOUSE_WORN = "House blend, 40 ft, after two leagues"
CHALLENGE_LONG = "Challenge, 44 ft, medium"
SPORT_FLAT = "Sport, 41 ft, nearly flat"
SPORT_LONG = "Sport, 46 ft, heavy and flat"
DRY_BLEND = "House blend, 36 ft, light"
BLOCKED_SHORT = "House block, 34 ft, wet and dry"
CHALLENGE_SHORT = "Challenge, 35 ft, medium"


def after(name: str, games: int) -> tuple[str, int]:
    """A condition as it is once so many games were bowled on the lane."""
    return name, games


HOUSES: tuple[Building, ...] = (
    Building(
        "Quarry Hollow Lanes",
        "newer synthetic",
        1.0,
        (
            Oil(HOUSE_BLEND, 40, 24, 8, "blended"),
            Oil(HOUSE_WORN, 40, 20, 8, "blended", WORN_TABLE),
            Oil(CHALLENGE_LONG, 44, 25, 5, "blended"),
            Oil(SPORT_FLAT, 41, 25, 2.5, "flat"),
            Oil(SPORT_LONG, 46, 29, 2, "flat"),
        ),
    ),
    Building(
        "Tannery Street Bowl",
        "wood",
        1.08,
        (
            Oil(DRY_BLEND, 36, 15, 9, "blended"),
            Oil(BLOCKED_SHORT, 34, 17, 10, "blocked"),
            Oil(CHALLENGE_SHORT, 35, 19, 5, "blended"),
        ),
    ),
)
