"""Spares: what a second ball does about each leave, and which ball is best for it.

Where a delivery of each line ends up, and how far it scatters, is one map of a bowler with a ball
on a condition; it serves all leaves. The launch, which matters most and isn't linear, is thrown at
steps across its scatter, and what lands in the gutter takes nothing. The other five numbers that
scatter are taken as normal with the slopes of the entry in each, and so is what lies between two
launches. The chance to convert a leave is the best over lines of the pin table's surface for that
leave, averaged so.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numba import njit
from numpy.typing import NDArray

from physics import averaged, shape
from physics.bowler import Bowler
from physics.friction import Film
from physics.pins import ANGLES_DEG, BOARDS, PinTable
from physics.units import board_to_y_m

Array = NDArray[np.float64]

# Lines tried: a spare may be thrown across the lane from anywhere a person can stand.
LAYDOWNS: Array = np.arange(4.0, 37.0, 3.0)
LAUNCHES_DEG: Array = np.arange(-3.0, 7.01, 0.5)
STEPS = 60
FLAT_ROTATION_DEG, FLAT_SPEED = 12.0, 1.03
# Launches thrown, in standard deviations from the line's, and the share of one by which each of
# them is spread to stand for what lies between.
NODES: Array = np.arange(-3.0, 3.01, 1.0)
MIDDLE = len(NODES) // 2
BETWEEN = 0.6
# Scatters of the entry board at which a surface is smeared beforehand.
SPREADS: Array = np.array([0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 9.0])
_BOARD_STEP = float(BOARDS[1] - BOARDS[0])


@dataclass(frozen=True)
class EntryMap:
    """Entries of each line whose mean delivery stays on the lane (flat over release, laydown and
    launch).

    ``board``, ``angle_deg`` (lines x nodes): where the launches ``NODES`` end up, NaN in the
    gutter; ``spread`` (lines): scatter of the board by everything but the launch, and ``along``
    (lines x nodes): boards by a standard deviation of the launch. ``release``, ``laydown`` and
    ``launch_deg`` name the line.
    """

    release: NDArray[np.intp]
    laydown: Array
    launch_deg: Array
    board: Array
    angle_deg: Array
    spread: Array
    along: Array


def flatter(bowler: Bowler) -> Bowler:
    """The bowler with the hand kept behind the ball, as most throw at corner pins.

    Taken where no second release was measured (common practice, no source; its numbers estimates).
    """
    return replace(
        bowler,
        rotation_deg=min(bowler.rotation_deg, FLAT_ROTATION_DEG),
        speed_m_s=FLAT_SPEED * bowler.speed_m_s,
    )


def entry_map(
    releases: Sequence[Bowler],
    balls: Sequence[tuple[tuple[float, float, float, tuple[float, ...]], tuple[float, ...]]],
    closure: Film,
    film_um: Array,
) -> EntryMap:
    """Where this ball goes from every line with each of a bowler's releases.

    ``balls``: the ball as :func:`physics.worth.body_tuple` has it, about the PAP of each release;
    ``closure`` its friction on this lane, ``film_um`` the own-side film.
    """
    maps = [
        _of_release(i, who, body, closure, film_um)
        for i, (who, body) in enumerate(zip(releases, balls, strict=True))
    ]
    return EntryMap(
        *(np.concatenate([getattr(one, field.name) for one in maps]) for field in fields(EntryMap))
    )


def _of_release(
    which: int,
    bowler: Bowler,
    body: tuple[tuple[float, float, float, tuple[float, ...]], tuple[float, ...]],
    closure: Film,
    film_um: Array,
) -> EntryMap:
    def throw(deliveries: Array) -> Array:
        out: Array = averaged.run_many(deliveries, *body, closure.numbers(), film_um, STEPS)
        return out

    laydown, launch = (a.ravel() for a in np.meshgrid(LAYDOWNS, LAUNCHES_DEG, indexing="ij"))
    base = np.column_stack(
        [
            [board_to_y_m(float(b)) for b in laydown],
            launch,
            np.tile(np.array(bowler.means()), (len(laydown), 1)),
        ]
    )
    middle = throw(base)
    kept = middle[:, shape.ON_LANE] > 0.5
    base, middle = base[kept], middle[kept]
    spreads = bowler.spreads()
    # Columns of a delivery: launch, then the other spreads' speed, spin, rotation, tilt, y.
    moves = [(1, z * spreads[5]) for z in NODES if z]
    moves += zip((2, 3, 4, 5, 0), spreads[:5], strict=True)
    thrown = np.tile(base, (len(moves), 1, 1))
    for one, (column, sd) in zip(thrown, moves, strict=True):
        one[:, column] += sd
    out = throw(thrown.reshape(-1, base.shape[1])).reshape(len(moves), len(base), -1)
    nodes = np.insert(out[: len(NODES) - 1], MIDDLE, middle, axis=0)
    board = np.where(nodes[:, :, shape.ON_LANE] > 0.5, nodes[:, :, shape.ENTRY_BOARD], np.nan).T
    off = out[len(NODES) - 1 :, :, shape.ENTRY_BOARD] - middle[:, shape.ENTRY_BOARD]
    return EntryMap(
        np.full(len(base), which),
        laydown[kept],
        launch[kept],
        board,
        np.ascontiguousarray(nodes[:, :, shape.ENTRY_ANGLE_DEG].T),
        np.sqrt((off**2).sum(axis=0)),
        _slopes(board),
    )


def _slopes(board: Array) -> Array:
    """Boards by one node, from the neighbours still on the lane (lines x nodes)."""
    steps = np.abs(np.diff(board, axis=1))
    before = np.column_stack([np.full(len(board), np.nan), steps])
    after = np.column_stack([steps, np.full(len(board), np.nan)])
    both = np.where(
        np.isnan(before), after, np.where(np.isnan(after), before, (before + after) / 2)
    )
    return np.nan_to_num(both)


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


def conversions(found: EntryMap, surfaces: SpareSurfaces, scatter: float = 1.0) -> Conversions:
    """Best line for each leave; ``scatter`` times the spread that was found."""
    leaves = surfaces.convert.shape[-1]
    if not len(found.board):
        return Conversions(np.zeros(leaves), np.zeros(leaves), np.full(leaves, -1))
    between = min(BETWEEN, scatter)
    # A normal of the whole scatter is one of what lies between about one of the nodes.
    width = max(scatter**2 - between**2, 1e-4)
    weights = np.exp(-0.5 * NODES**2 / width)
    weights = (weights / weights.sum()) * _kept(found.board, between)
    spread = np.hypot(scatter * found.spread[:, None], between * found.along)
    board, angle = found.board, found.angle_deg
    chance = _mean_of(board, angle, spread, weights, surfaces.convert)
    best = chance.argmax(axis=0)
    every = np.arange(leaves)
    pins = _mean_of(board[best], angle[best], spread[best], weights[best], surfaces.felled)
    return Conversions(chance[best, every], pins[every, every], best)


def _kept(board: Array, between: float) -> Array:
    """Share of what lies about each node that stays on the lane (lines x nodes).

    Beside a node in the gutter it begins half-way on average, and what lies beyond is lost.
    """
    off = np.isnan(board)
    beside = np.zeros(board.shape)
    beside[:, 1:] += off[:, :-1]
    beside[:, :-1] += off[:, 1:]
    lost = 0.5 * (1 - math.erf(0.5 / between / math.sqrt(2)))
    return np.where(off, 0.0, 1 - lost * beside)


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
