"""Oil on the lane: tables of units by board and distance, and what is read from them.

A table's boards are counted from the left gutter, whatever the hand, as a lane is one thing for
everybody. :meth:`OilTable.own_side_film_um` mirrors it once, for the solver's own-side frame.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from physics.errors import InputError
from physics.units import (
    BOARD_M,
    BOARDS,
    FOUL_LINE_TO_HEAD_PIN_M,
    FT_TO_M,
    LANE_WIDTH_IN,
    UNIT_TO_ML_FT2,
    UNIT_TO_UM,
)

Array = NDArray[np.float64]

BOARD_FT = LANE_WIDTH_IN / BOARDS / 12
# Boards (from the nearer gutter) of the trade's crosswise ratio: 18 left to 18 right over 3 to 7.
INSIDE = slice(17, 22)
OUTSIDE = (slice(2, 7), slice(32, 37))
# US governing body's pages: Sport typically at most 4:1, Challenge 4:1 to 7:1, house above.
SPORT_RATIO, CHALLENGE_RATIO = 4.0, 7.0
FILM_STEP_FT = 1.0
FILM_ROWS = 61

# How much a lane surface grips against a newer synthetic one: estimates; feedback corrects them.
LANE_SURFACES: dict[str, float] = {"wood": 1.10, "older synthetic": 1.04, "newer synthetic": 1.0}


@dataclass(frozen=True)
class OilTable:
    """Units of oil: rows by distance (ft, rising), 39 columns from the left gutter."""

    distance_ft: Array
    units: Array

    @property
    def length_ft(self) -> float:
        """Distance at which the last oil ends."""
        wet = np.flatnonzero(self.units.max(axis=1) > 1e-9)
        if not len(wet):
            return 0.0
        after = min(int(wet[-1]) + 1, len(self.distance_ft) - 1)
        return float(self.distance_ft[after])

    @property
    def volume_ml(self) -> float:
        per_foot = self.units.sum(axis=1) * BOARD_FT * UNIT_TO_ML_FT2
        return float(np.trapezoid(per_foot, self.distance_ft))

    @property
    def ratio(self) -> float | None:
        """Mean units on boards 18L-18R over mean units on boards 3-7 of both sides.

        None where the outside is dry.
        """
        along = np.asarray(np.trapezoid(self.units, self.distance_ft, axis=0))
        outside = float(np.concatenate([along[part] for part in OUTSIDE]).mean())
        return float(along[INSIDE].mean()) / outside if outside > 1e-9 else None

    @property
    def pattern_class(self) -> str:
        """ "sport", "challenge" or "house", by the crosswise ratio."""
        ratio = self.ratio
        if ratio is not None and ratio <= SPORT_RATIO:
            return "sport"
        return "challenge" if ratio is not None and ratio <= CHALLENGE_RATIO else "house"

    def own_side_film_um(self, hand: str) -> Array:
        """Film thickness, rows each foot from the foul line, columns by the bowler's own boards."""
        feet = np.arange(FILM_ROWS) * FILM_STEP_FT
        film = np.empty((FILM_ROWS, BOARDS))
        for board in range(BOARDS):
            film[:, board] = np.interp(feet, self.distance_ft, self.units[:, board])
        return np.ascontiguousarray(film[:, ::-1] if hand == "right" else film) * UNIT_TO_UM


def own_side_grid_m() -> tuple[Array, Array]:
    """Distances and offsets (left positive, own-side frame) of an own-side film's rows, columns."""
    x_m = np.arange(FILM_ROWS) * FILM_STEP_FT * FT_TO_M
    y_m = (np.arange(BOARDS) - (BOARDS - 1) / 2) * BOARD_M
    return np.asarray(x_m, np.float64), np.asarray(y_m, np.float64)


def table(distance_ft: Sequence[float], units: Sequence[Sequence[float]]) -> OilTable:
    """A table as given, checked: distances rising from 0, 39 boards a row, 0 to 200 units."""
    feet = np.asarray(distance_ft, float)
    if feet.ndim != 1 or len(feet) < 2 or feet[0] != 0 or np.any(np.diff(feet) <= 0):
        raise InputError(
            "distance_ft", list(distance_ft), "at least two distances, rising, the first 0"
        )
    if feet[-1] > FOUL_LINE_TO_HEAD_PIN_M / FT_TO_M:
        raise InputError("distance_ft", float(feet[-1]), "at most 60 ft, where the pins begin")
    if len(units) != len(feet):
        raise InputError("units", len(units), f"{len(feet)} rows, one for each distance")
    for i, row in enumerate(units):
        if len(row) != BOARDS:
            raise InputError(f"units[{i}]", len(row), "39 boards, counted from the left gutter")
        for j, value in enumerate(row):
            if not 0 <= value <= 200:
                raise InputError(f"units[{i}][{j}]", value, "0 to 200 units")
    return OilTable(feet, np.asarray(units, float))


# How the oil falls off towards the gutter, by board from the nearer gutter: our own three words.
# Each is (board where the ramp begins, board where it is full, whether the ramp is straight).
SHAPES: dict[str, tuple[float, float, bool]] = {
    "blended": (5.0, 13.0, False),
    "blocked": (7.5, 10.5, False),
    "flat": (1.0, 20.0, True),
}
# Share of the length oiled in full before it tapers, and what is left at the end (estimates).
FULL_SHARE, END_SHARE = 0.5, 0.35


def picked(length_ft: float, volume_ml: float, ratio: float, shape: str) -> OilTable:
    """A table with this length, volume and crosswise ratio, falling off in the shape named."""
    if shape not in SHAPES:
        raise InputError("shape", shape, "one of " + ", ".join(SHAPES))
    for name, value, low, high in (
        ("length_ft", length_ft, 20, 55),
        ("volume_ml", volume_ml, 3, 50),
        ("inside_to_outside_ratio", ratio, 1, 20),
    ):
        if not low <= value <= high:
            raise InputError(name, value, f"{low} to {high}")
    begins, full, straight = SHAPES[shape]
    boards = np.arange(1, BOARDS + 1)
    in_from_gutter = np.minimum(boards, BOARDS + 1 - boards)
    ramp = np.clip((in_from_gutter - begins) / (full - begins), 0, 1)
    if not straight:
        ramp = ramp**2 * (3 - 2 * ramp)
    inside, outside = float(ramp[INSIDE].mean()), float(ramp[OUTSIDE[0]].mean())
    # Outside level e such that (e + (1 - e) inside) = ratio (e + (1 - e) outside).
    most = inside / outside if outside > 0 else float("inf")
    if ratio > most:
        raise InputError(
            "inside_to_outside_ratio", ratio, f"at most {most:.1f} for a {shape} pattern"
        )
    gap = ratio * outside - inside
    level = -gap / ((ratio - 1) - gap) if ratio > 1 else 1.0
    across = level + (1 - level) * ramp
    feet = np.unique(np.append(np.arange(0.0, length_ft, 1.0), length_ft))
    along = np.interp(feet, [0, FULL_SHARE * length_ft, length_ft], [1, 1, END_SHARE])
    feet = np.append(feet, [min(length_ft + 0.05, 59.9), 60.0])
    units = np.outer(np.append(along, [0.0, 0.0]), across)
    shape_only = OilTable(feet, units)
    return OilTable(feet, units * (volume_ml / shape_only.volume_ml))
