"""Oil on the lane: tables of units by board and distance, and what is read from them.

A table's boards are counted from the left gutter, whatever the hand, as a lane is one thing for
everybody. :meth:`OilTable.own_side_film_um` mirrors it once, for the solver's own-side frame.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

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
# The other wording of the same governing body: between the second arrows (boards 11 to 29) over
# the channel to board 10. Another number for the same oil: the two are never mixed.
BETWEEN_SECOND_ARROWS = slice(10, 29)
OUTER_TEN = (slice(0, 10), slice(29, 39))
# Oil under about three units a board was long not counted as oil (a governing body's rule from
# 1992 to 2019): where a lane already played on is said to be oiled to.
COUNTED_UNITS = 3.0
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
        return self.reach_ft(1e-9)

    def reach_ft(self, units: float) -> float:
        """Distance beyond which no board holds more than so many units."""
        wet = np.flatnonzero(self.units.max(axis=1) > units)
        if not len(wet):
            return 0.0
        after = min(int(wet[-1]) + 1, len(self.distance_ft) - 1)
        return float(self.distance_ft[after])

    @property
    def volume_ml(self) -> float:
        per_foot = self.units.sum(axis=1) * BOARD_FT * UNIT_TO_ML_FT2
        return float(np.trapezoid(per_foot, self.distance_ft))

    def side_ml(self, side: str) -> float:
        """Volume on the 19 boards of the "right" or the "left" side of the centre board."""
        part = slice(0, 19) if side == "left" else slice(20, 39)
        return replace(self, units=self.units[:, part]).volume_ml

    @property
    def ratio(self) -> float | None:
        """Mean units on boards 18L-18R over mean units on boards 3-7 of both sides.

        None where the outside is dry.
        """
        return self._crosswise(INSIDE, OUTSIDE)

    @property
    def board_10_ratio(self) -> float | None:
        """Mean units between the second arrows over mean units outside them, of both sides.

        Boards 11 to 29 over 1 to 10 and 30 to 39; None where the outside is dry. Not the ratio
        that classes are told by.
        """
        return self._crosswise(BETWEEN_SECOND_ARROWS, OUTER_TEN)

    def _crosswise(self, inside: slice, outside: tuple[slice, ...]) -> float | None:
        along = np.asarray(np.trapezoid(self.units, self.distance_ft, axis=0))
        outer = float(np.concatenate([along[part] for part in outside]).mean())
        return float(along[inside].mean()) / outer if outer > 1e-9 else None

    @property
    def pattern_class(self) -> str:
        """ "sport", "challenge" or "house", by :attr:`ratio`."""
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
# Boards from the nearer gutter between which the middle of the fall-off may lie: where dry begins,
# which is where a ball hooks.
RAMP_BOARD = (6.0, 14.0)


def usual_ramp_board(shape: str) -> float:
    """Board in the middle of a shape's fall-off when nobody says where it hooks."""
    begins, full, _ = SHAPES[shape]
    return (begins + full) / 2


# Share of the length oiled in full before it tapers, and what is left at the end (estimates).
FULL_SHARE, END_SHARE = 0.5, 0.35


@dataclass(frozen=True)
class PickSpread:
    """How far the oil on the lane may lie from the numbers picked: standard deviations, estimates.

    Length in feet; volume and ratio as shares; the boards between which the oil falls off in
    boards; the shares of the length oiled in full, and left at the end, as such.
    """

    length_ft: float = 1.0
    volume: float = 0.10
    ratio: float = 0.15
    ramp_boards: float = 0.75
    full_share: float = 0.08
    end_share: float = 0.08


PICKED_SPREAD = PickSpread()
# A table measured on the lane is what it is.
NO_SPREAD = PickSpread(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def picked(
    length_ft: float,
    volume_ml: float,
    ratio: float,
    shape: str,
    ramp_board: float | None = None,
) -> OilTable:
    """A table with this length, volume and crosswise ratio, falling off in the shape named.

    ``ramp_board``: the board from the nearer gutter in the middle of the fall-off, if not where
    the shape usually has it. A flat pattern has none.
    """
    _check_picked(length_ft, volume_ml, ratio, shape, ramp_board)
    ramp = _ramp(*_falls_off(shape, ramp_board))
    if ratio > _steepest(ramp):
        raise InputError(
            "inside_to_outside_ratio",
            ratio,
            f"at most {_steepest(ramp):.1f} for a {shape} pattern"
            + ("" if ramp_board is None else f" that falls off about board {ramp_board:g}"),
        )
    return _laid_down(length_ft, volume_ml, ratio, ramp, FULL_SHARE, END_SHARE)


def drawn_tables(
    length_ft: float,
    volume_ml: float,
    ratio: float,
    shape: str,
    count: int,
    seed: int,
    spread: PickSpread = PICKED_SPREAD,
    ramp_board: float | None = None,
) -> list[OilTable]:
    """Tables the picked numbers may stand for: ``count`` draws about them, the same for a seed.

    Meant for the paired draws of :func:`physics.worth.draws`: one table a draw, the same for every
    ball in it. The volume's spread is in here, so a draw from these needs no other error of the
    oil's amount. A measured table has none: repeat it, or pass :data:`NO_SPREAD`. Raises
    InputError as :func:`picked` does.
    """
    middle = picked(length_ft, volume_ml, ratio, shape, ramp_board)
    if spread == NO_SPREAD:
        return [middle] * count
    normals = np.random.default_rng([seed, 39]).standard_normal((count, len(PICK_NUMBERS)))
    return [table_at(length_ft, volume_ml, ratio, shape, z, spread, ramp_board) for z in normals]


# What each standard normal of :func:`table_at` moves.
PICK_NUMBERS = (
    "oil_length",
    "oil_volume",
    "oil_ratio",
    "oil_ramp_begins",
    "oil_ramp_full",
    "oil_full_share",
    "oil_end_share",
)


def table_at(
    length_ft: float,
    volume_ml: float,
    ratio: float,
    shape: str,
    z: Array,
    spread: PickSpread = PICKED_SPREAD,
    ramp_board: float | None = None,
) -> OilTable:
    """The table so many spreads off the picked numbers; ``z`` goes by :data:`PICK_NUMBERS`."""
    begins, full, straight = _falls_off(shape, ramp_board)
    starts = begins + spread.ramp_boards * float(z[3])
    ramp = _ramp(starts, max(full + spread.ramp_boards * float(z[4]), starts + 1.0), straight)
    return _laid_down(
        float(np.clip(length_ft + spread.length_ft * z[0], 20.0, 58.0)),
        volume_ml * float(np.exp(spread.volume * z[1])),
        float(np.clip(ratio * np.exp(spread.ratio * z[2]), 1.0, _steepest(ramp))),
        ramp,
        float(np.clip(FULL_SHARE + spread.full_share * z[5], 0.1, 0.9)),
        float(np.clip(END_SHARE + spread.end_share * z[6], 0.05, 0.95)),
    )


def _falls_off(shape: str, ramp_board: float | None) -> tuple[float, float, bool]:
    """Where a shape's ramp begins and is full, and whether it is straight."""
    begins, full, straight = SHAPES[shape]
    moved = 0.0 if ramp_board is None else ramp_board - usual_ramp_board(shape)
    return begins + moved, full + moved, straight


def _check_picked(
    length_ft: float, volume_ml: float, ratio: float, shape: str, ramp_board: float | None
) -> None:
    if shape not in SHAPES:
        raise InputError("shape", shape, "one of " + ", ".join(SHAPES))
    for name, value, low, high in (
        ("length_ft", length_ft, 20, 55),
        ("volume_ml", volume_ml, 3, 50),
        ("inside_to_outside_ratio", ratio, 1, 20),
    ):
        if not low <= value <= high:
            raise InputError(name, value, f"{low} to {high}")
    if ramp_board is not None and shape == "flat":
        raise InputError("ramp_board", ramp_board, "left out for a flat pattern: it has no edge")
    first, last = RAMP_BOARD
    if ramp_board is not None and not first <= ramp_board <= last:
        raise InputError("ramp_board", ramp_board, f"board {first:g} to {last:g}")


def _ramp(begins: float, full: float, straight: bool) -> Array:
    """Share of the way from the outside level to the inside one, by board; 39 numbers."""
    boards = np.arange(1, BOARDS + 1)
    in_from_gutter = np.minimum(boards, BOARDS + 1 - boards)
    ramp = np.clip((in_from_gutter - begins) / (full - begins), 0, 1)
    return np.asarray(ramp if straight else ramp**2 * (3 - 2 * ramp))


def steepest_ratio(shape: str, ramp_board: float | None = None) -> float:
    """Highest crosswise ratio a shape can have: that of a dry outside level; infinite if any."""
    return _steepest(_ramp(*_falls_off(shape, ramp_board)))


def _steepest(ramp: Array) -> float:
    """Highest crosswise ratio a ramp can have: that of a dry outside level."""
    outside = float(ramp[OUTSIDE[0]].mean())
    return float(ramp[INSIDE].mean()) / outside if outside > 0 else float("inf")


def _laid_down(
    length_ft: float, volume_ml: float, ratio: float, ramp: Array, full_share: float, end: float
) -> OilTable:
    inside, outside = float(ramp[INSIDE].mean()), float(ramp[OUTSIDE[0]].mean())
    # Outside level e such that (e + (1 - e) inside) = ratio (e + (1 - e) outside).
    gap = ratio * outside - inside
    level = -gap / ((ratio - 1) - gap) if ratio > 1 else 1.0
    across = level + (1 - level) * ramp
    feet = np.unique(np.append(np.arange(0.0, length_ft, 1.0), length_ft))
    along = np.interp(feet, [0, full_share * length_ft, length_ft], [1, 1, end])
    feet = np.append(feet, [min(length_ft + 0.05, 59.9), 60.0])
    units = np.outer(np.append(along, [0.0, 0.0]), across)
    shape_only = OilTable(feet, units)
    return OilTable(feet, units * (volume_ml / shape_only.volume_ml))
