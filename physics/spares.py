"""Spares: what a second ball does about each leave, and which ball is best for it.

Where a delivery of each line ends up, and how far it scatters, is one map of a bowler with a ball
on a condition; it serves all leaves. The chance to convert a leave is the best over lines of the
pin table's surface for that leave, spread over the scatter of the entry board. Scatter is taken as
normal with the slopes of the entry in each of the six numbers that scatter.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from physics import averaged, shape
from physics.bowler import Bowler
from physics.friction import Film
from physics.pins import ANGLES_DEG, BOARDS, PinTable
from physics.units import board_to_y_m

Array = NDArray[np.float64]

# Lines tried: a spare may be thrown across the lane from anywhere a person can stand.
LAYDOWNS: Array = np.arange(4.0, 37.0, 3.0)
LAUNCHES_DEG: Array = np.arange(-3.0, 5.01, 0.5)
STEPS = 60
FLAT_ROTATION_DEG, FLAT_SPEED = 12.0, 1.03
# Scatters of the entry board at which a surface is smeared beforehand.
SPREADS: Array = np.array([0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 9.0])
_BOARD_STEP = float(BOARDS[1] - BOARDS[0])


@dataclass(frozen=True)
class EntryMap:
    """Mean entry of each line (flat over release, laydown and launch): ``board``, ``angle_deg``;
    ``spread`` of the board in boards; NaN where the ball leaves the lane. ``release``,
    ``laydown`` and ``launch_deg`` name the line."""

    release: NDArray[np.intp]
    laydown: Array
    launch_deg: Array
    board: Array
    angle_deg: Array
    spread: Array


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
        *(
            np.concatenate([getattr(one, name) for one in maps])
            for name in ("release", "laydown", "launch_deg", "board", "angle_deg", "spread")
        )
    )


def _of_release(
    which: int,
    bowler: Bowler,
    body: tuple[tuple[float, float, float, tuple[float, ...]], tuple[float, ...]],
    closure: Film,
    film_um: Array,
) -> EntryMap:
    laydown, launch = (a.ravel() for a in np.meshgrid(LAYDOWNS, LAUNCHES_DEG, indexing="ij"))
    means = np.array(bowler.means())
    base = np.column_stack(
        [[board_to_y_m(float(b)) for b in laydown], launch, np.tile(means, (len(laydown), 1))]
    )
    # Columns of a delivery, in the order of the spreads: speed, spin, rotation, tilt, y, launch.
    # The launch matters most and isn't linear, so it is moved both ways.
    spreads = bowler.spreads()
    steps = [*zip((2, 3, 4, 5, 0, 1), spreads, strict=True), (1, -spreads[5])]
    moved = [base]
    for column, sd in steps:
        one = base.copy()
        one[:, column] += sd
        moved.append(one)
    out = averaged.run_many(np.concatenate(moved), *body, closure.numbers(), film_um, STEPS)
    out = out.reshape(len(moved), len(laydown), -1)
    board = np.where(out[0, :, shape.ON_LANE] > 0.5, out[0, :, shape.ENTRY_BOARD], np.nan)
    off = (out[1:, :, shape.ENTRY_BOARD] - out[0, :, shape.ENTRY_BOARD]) ** 2
    by_launch = np.maximum(off[5], off[6])
    return EntryMap(
        np.full(len(laydown), which),
        laydown,
        launch,
        board,
        out[0, :, shape.ENTRY_ANGLE_DEG],
        np.sqrt(off[:5].sum(axis=0) + by_launch),
    )


@dataclass(frozen=True)
class SpareSurfaces:
    """``convert`` and ``felled`` smeared: spreads x leaves x boards x angles."""

    convert: Array
    felled: Array


def smeared(table: PinTable) -> SpareSurfaces:
    """The table's spare surfaces spread over each of ``SPREADS``; off the lane nothing falls."""
    kernels = []
    for spread in SPREADS:
        apart = (BOARDS[:, None] - BOARDS[None, :]) / spread
        kernels.append(np.exp(-0.5 * apart**2) * _BOARD_STEP / (spread * math.sqrt(2 * math.pi)))
    return SpareSurfaces(
        *(
            np.array([np.einsum("ab,lbc->lac", kernel, surfaces) for kernel in kernels])
            for surfaces in (table.convert, table.felled)
        )
    )


@dataclass(frozen=True)
class Conversions:
    """For each leave: the best chance to convert it, the pins its best line takes on average, and
    that line (index into the map; -1 where every line leaves the lane)."""

    chance: Array
    pins: Array
    line: NDArray[np.intp]


def conversions(found: EntryMap, surfaces: SpareSurfaces, scatter: float = 1.0) -> Conversions:
    """Best line for each leave; ``scatter`` times the spread that was found."""
    leaves = surfaces.convert.shape[1]
    known = np.flatnonzero(np.isfinite(found.board))
    if not len(known):
        return Conversions(np.zeros(leaves), np.zeros(leaves), np.full(leaves, -1))
    spread = np.clip(found.spread[known] * scatter, SPREADS[0], SPREADS[-1])
    at = np.interp(spread, SPREADS, np.arange(len(SPREADS)))
    row = np.minimum(at.astype(int), len(SPREADS) - 2)
    along = at - row
    i, f = _place(found.board[known], BOARDS)
    j, g = _place(found.angle_deg[known], ANGLES_DEG)

    def read(values: Array) -> Array:
        """Lines x leaves."""
        total = np.zeros((len(known), leaves))
        for s, ws in ((row, 1 - along), (row + 1, along)):
            for b, wb in ((i, 1 - f), (i + 1, f)):
                for a, wa in ((j, 1 - g), (j + 1, g)):
                    total += (ws * wb * wa)[:, None] * values[s, :, b, a]
        return total

    chance = read(surfaces.convert)
    best = chance.argmax(axis=0)
    every = np.arange(leaves)
    pins = read(surfaces.felled)
    return Conversions(chance[best, every], pins[best, every], known[best])


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
