"""Spares: what a second ball does about each leave, and which ball is best for it.

The chance to convert a leave is the best over the lines of an entry map of the pin table's surface
for that leave, averaged over what scatters. What lands in the gutter takes nothing.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numba import njit
from numpy.typing import NDArray

from physics import entry_map
from physics.bowler import Bowler
from physics.entry_map import NODES, EntryMap
from physics.pins import ANGLES_DEG, BOARDS, PinTable

Array = NDArray[np.float64]

FLAT_ROTATION_DEG, FLAT_SPEED = 12.0, 1.03
# The share of a step between two launches by which each is spread to stand for what lies between.
BETWEEN = 0.6
# A normal of the whole scatter is one of what lies between about one of the nodes.
_WEIGHTS: Array = np.exp(-0.5 * NODES**2 / (1 - BETWEEN**2))
_WEIGHTS /= _WEIGHTS.sum()
# Lines kept for each leave where a map is met again in drawn worlds.
LEADING = 3
# Scatters of the entry board at which a surface is smeared beforehand.
SPREADS: Array = np.array([0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 9.0])
_BOARD_STEP = float(BOARDS[1] - BOARDS[0])


def flatter(bowler: Bowler) -> Bowler:
    """The bowler with the hand kept behind the ball, as most throw at corner pins.

    Taken where no second release was measured (common practice, no source; its numbers estimates).
    """
    return replace(
        bowler,
        rotation_deg=min(bowler.rotation_deg, FLAT_ROTATION_DEG),
        speed_m_s=FLAT_SPEED * bowler.speed_m_s,
    )


@dataclass(frozen=True)
class SpareSurfaces:
    """``convert`` and ``felled`` smeared: spreads x boards x angles x leaves."""

    convert: Array
    felled: Array


def smeared(table: PinTable) -> SpareSurfaces:
    """The table's spare surfaces spread over each of ``SPREADS``; off the lane nothing falls."""
    kernels = []
    for spread in SPREADS:
        apart = (BOARDS[:, None] - BOARDS[None, :]) / spread
        kernels.append(np.exp(-0.5 * apart**2) * _BOARD_STEP / (spread * math.sqrt(2 * math.pi)))
    convert, felled = (
        np.ascontiguousarray(
            np.moveaxis(np.tensordot(np.array(kernels), surfaces, axes=(2, 1)), 2, 3)
        )
        for surfaces in (table.convert, table.felled)
    )
    return SpareSurfaces(convert, felled)


@dataclass(frozen=True)
class Conversions:
    """For each leave: the best chance to convert it, the pins its best line takes on average, and
    that line (index into the map; -1 where every line leaves the lane)."""

    chance: Array
    pins: Array
    line: NDArray[np.intp]


def conversions(found: EntryMap, surfaces: SpareSurfaces, release: float = 1.0) -> Conversions:
    """Best line for each leave; all but the launch scatters ``release`` times as widely as was
    found."""
    leaves = surfaces.convert.shape[-1]
    if not len(found.board):
        return Conversions(np.zeros(leaves), np.zeros(leaves), np.full(leaves, -1))
    chance, spread, weights = _chances(found, surfaces, release)
    best = chance.argmax(axis=0)
    every = np.arange(leaves)
    pins = _mean_of(
        found.board[best], found.angle_deg[best], spread[best], weights[best], surfaces.felled
    )
    return Conversions(chance[best, every], pins[every, every], best)


def _chances(
    found: EntryMap, surfaces: SpareSurfaces, release: float = 1.0
) -> tuple[Array, Array, Array]:
    """Chance of each leave on each line (lines x leaves), and the spreads and weights of its nodes
    (lines x nodes) that it was averaged with."""
    weights = _WEIGHTS * _kept(found.board)
    spread = np.hypot(release * found.spread[:, None], BETWEEN * found.along)
    chance: Array = _mean_of(found.board, found.angle_deg, spread, weights, surfaces.convert)
    return chance, spread, weights


def _kept(board: Array) -> Array:
    """Share of what lies about each node that stays on the lane (lines x nodes).

    Beside a node in the gutter it begins half-way on average, and what lies beyond is lost.
    """
    off = np.isnan(board)
    beside = np.zeros(board.shape)
    beside[:, 1:] += off[:, :-1]
    beside[:, :-1] += off[:, 1:]
    lost = 0.5 * (1 - math.erf(0.5 / BETWEEN / math.sqrt(2)))
    return np.where(off, 0.0, 1 - lost * beside)


def leading(found: EntryMap, surfaces: SpareSurfaces) -> EntryMap:
    """The map cut down to the lines that are among the best ``LEADING`` for some leaf."""
    chance = _chances(found, surfaces)[0]
    most = min(LEADING, len(chance))
    kept = np.unique(np.argsort(-chance, axis=0, kind="stable")[:most])
    return entry_map.rows(found, kept)


@njit(nogil=True, cache=True, error_model="numpy")
def _mean_of(board, angle_deg, spread, weights, surfaces):  # type: ignore[no-untyped-def]
    """Mean of smeared surfaces over the nodes of each line (lines x leaves)."""
    lines, nodes = board.shape
    leaves = surfaces.shape[3]
    out = np.zeros((lines, leaves))
    for i in range(lines):
        for n in range(nodes):
            at = board[i, n]
            # NaN compares false: the gutter takes nothing.
            if weights[i, n] < 1e-6 or not at > -1e9:
                continue
            s, along = _between(spread[i, n], SPREADS)
            b, across = _between(at, BOARDS)
            a, steep = _between(angle_deg[i, n], ANGLES_DEG)
            for ds in range(2):
                ws = weights[i, n] * (along if ds else 1.0 - along)
                for db in range(2):
                    wb = ws * (across if db else 1.0 - across)
                    for da in range(2):
                        weight = wb * (steep if da else 1.0 - steep)
                        for k in range(leaves):
                            out[i, k] += weight * surfaces[s + ds, b + db, a + da, k]
    return out


@njit(nogil=True, cache=True, error_model="numpy")
def _between(value, grid):  # type: ignore[no-untyped-def]
    """Index of the last grid point at or under a value, and the share of the way to the next."""
    value = min(max(value, grid[0]), grid[-1])
    i = min(max(np.searchsorted(grid, value, side="right") - 1, 0), grid.shape[0] - 2)
    return i, (value - grid[i]) / (grid[i + 1] - grid[i])


def _place(values: Array, grid: Array) -> tuple[NDArray[np.intp], Array]:
    at = np.clip((values - grid[0]) / (grid[1] - grid[0]), 0, len(grid) - 1)
    low = np.minimum(at.astype(int), len(grid) - 2)
    return low, at - low


@dataclass(frozen=True)
class FirstBall:
    """What a first ball does on a line, averaged over the bowler's scatter.

    ``strike``: chance; ``other_pins``: mean pins down when it isn't a strike; ``other_leaves``:
    chance of each of the table's leaves then. What remains is left as something else.
    """

    strike: float
    other_pins: float
    other_leaves: Array


def first_ball(entered: Array, table: PinTable) -> FirstBall:
    """Averages of the table over entries (:func:`physics.line.entries`); the gutter takes none."""
    count = len(entered)
    on = entered[entered[:, 3] > 0.5]
    i, f = _place(on[:, 0], BOARDS)
    j, g = _place(on[:, 1], ANGLES_DEG)

    def mean(values: Array) -> Array:
        """Over the entries, for whatever axes stand before boards and angles."""
        total = np.zeros(values.shape[:-2])
        for b, wb in ((i, 1 - f), (i + 1, f)):
            for a, wa in ((j, 1 - g), (j + 1, g)):
                total = total + values[..., b, a] @ (wb * wa)
        return total / max(count, 1)

    strike = float(mean(table.strike))
    rest = max(1.0 - strike, 1e-9)
    pins = float(mean(table.pinfall))
    return FirstBall(
        strike, min(9.0, max(0.0, (pins - 10 * strike) / rest)), mean(table.leave_chance) / rest
    )
