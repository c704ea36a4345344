"""Throwing the whole grid: cells of entry board and angle, a batch at a time, on all cores.

Every batch is a file of its own, written whole, so that a build stopped at any moment goes on from
what it has. Batches run through all cells before a cell gets its second, so that a build cut short
is a coarser table and not a part of one.
"""

import multiprocessing
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import mujoco
import numpy as np
from numpy.typing import NDArray

from physics.pindeck import arrivals, deck, throw
from physics.units import BOARD_M, IN_TO_M, LB_TO_KG, OZ_TO_KG

Array = NDArray[np.float64]

# Scatter within a cell is the cell's own size, so that cells leave no gaps. Spots and masses: the
# machine sets a pin within about a sixteenth of an inch (estimate); pins weigh 3 lb 6 oz to 3 lb
# 10 oz, those of a set within 2 oz (trade articles).
SPOT_SD_M = IN_TO_M / 16
PIN_LB = (3 + 6 / 16, 3 + 10 / 16)
SET_SD_KG = 0.5 * OZ_TO_KG
ARRIVALS, ARRIVALS_SEED = 4000, 11
# Columns of a result: entry board, entry angle (deg), speed (m/s), ball mass (kg), board where the
# ball left the deck (NaN in a gutter), pins left standing as bits (pin 1 lowest), 1 if sound.
BOARD, ANGLE_DEG, SPEED_M_S, MASS_KG, LEFT_DECK, LEAVE, SOUND = range(7)
COLUMNS = 7


@dataclass(frozen=True)
class Grid:
    """What is thrown. ``standing``: the pins on their spots."""

    boards: tuple[float, ...]
    angles_deg: tuple[float, ...]
    batches: int = 6
    batch: int = 10
    standing: tuple[int, ...] = tuple(range(1, 11))
    seed: int = 5

    def cells(self) -> Iterator[tuple[int, int, int]]:
        """(batch, board index, angle index), whole grids one after another."""
        for k in range(self.batches):
            for i in range(len(self.boards)):
                for j in range(len(self.angles_deg)):
                    yield k, i, j


def _steps(low: float, high: float, by: float) -> tuple[float, ...]:
    return tuple(float(v) for v in np.arange(low, high + by / 2, by))


# About the pocket, where a strike is decided within a board; and the lane from edge to edge.
POCKET = Grid(_steps(14.0, 21.0, 0.25), _steps(0.0, 8.0, 1.0))
LANE = Grid(_steps(1.0, 39.0, 1.0), _steps(-4.0, 8.0, 2.0), batches=2, batch=2, seed=6)


def spare_grid(leave: tuple[int, ...]) -> Grid:
    """What is thrown at a leave: every board from which a ball can touch one of its pins."""
    boards = [deck.SPOTS_M[n - 1, 1] / BOARD_M + 20.0 for n in leave]
    low, high = max(0.5, min(boards) - 8.5), min(39.5, max(boards) + 8.5)
    return Grid(
        _steps(low, high, 0.5), (-2.5, 0.0, 2.5, 5.0), batches=1, batch=4, standing=leave, seed=7
    )


def entry_of(board: float, angle_deg: float, arrival: Array) -> throw.Entry:
    """An entry with an arrival's speed, mass and spin.

    Arrivals come in from the right; an entry from the left is the mirror image of one, in which
    the spins about the travel and about the vertical change sign.
    """
    _, speed, ahead, across, up, mass = (float(number) for number in arrival)
    side = 1.0 if angle_deg >= 0 else -1.0
    spin = (side * ahead, across, side * up)
    return throw.Entry(board, angle_deg, speed, mass_kg=mass, spin=spin)


def throw_cell(
    grid: Grid, cell: tuple[int, int, int], contacts: deck.Contacts, coming: Array
) -> Array:
    """One batch of one cell; rows as the columns above. The same cell gives the same rows."""
    k, i, j = cell
    rng = np.random.default_rng([grid.seed, k, i, j])
    model = deck.model(contacts, grid.standing)
    data = mujoco.MjData(model)
    between = grid.boards[1] - grid.boards[0]
    steep = grid.angles_deg[1] - grid.angles_deg[0]
    out = np.zeros((grid.batch, COLUMNS))
    for n in range(grid.batch):
        board = grid.boards[i] + between * rng.uniform(-0.5, 0.5)
        angle = grid.angles_deg[j] + steep * rng.uniform(-0.5, 0.5)
        entry = entry_of(board, angle, arrivals.near(coming, abs(angle), rng))
        spots = deck.SPOTS_M + rng.normal(0, SPOT_SD_M, deck.SPOTS_M.shape)
        set_kg = rng.uniform(*PIN_LB) * LB_TO_KG
        masses = np.clip(
            set_kg + rng.normal(0, SET_SD_KG, deck.PINS), PIN_LB[0] * LB_TO_KG, PIN_LB[1] * LB_TO_KG
        )
        throw.place(model, data, entry, spots_m=spots, pin_mass_kg=masses)
        outcome = throw.run(model, data)
        leave = sum(1 << (p - 1) for p in outcome.standing)
        out[n] = (
            board,
            angle,
            entry.speed_m_s,
            entry.mass_kg,
            outcome.left_deck_board,
            leave,
            outcome.sound,
        )
    return out


def build(
    grid: Grid, folder: Path, *, contacts: deck.Contacts | None = None, minutes: float
) -> int:
    """Throw what is missing of the grid, for so long at most; the number of batches there now."""
    folder.mkdir(parents=True, exist_ok=True)
    left = [cell for cell in grid.cells() if not _file(folder, cell).exists()]
    total = sum(1 for _ in grid.cells())
    began = time.monotonic()
    coming = _coming(folder)
    jobs = ((grid, cell, contacts or deck.Contacts(), coming, folder) for cell in left)
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    with multiprocessing.get_context("spawn").Pool(cores) as pool:
        for done, _ in enumerate(pool.imap_unordered(_one, jobs), start=1):
            spent = time.monotonic() - began
            if done % 20 == 0 or done == len(left):
                rest = spent / done * (len(left) - done) / 60
                print(
                    f"{total - len(left) + done} of {total} batches, {spent / 60:.1f} min, "
                    f"{rest:.0f} to go",
                    flush=True,
                )
            if spent > 60 * minutes:
                pool.terminate()
                break
    return sum(1 for cell in grid.cells() if _file(folder, cell).exists())


def read(folder: Path) -> Array:
    """All sound rows thrown so far."""
    parts = [np.load(path) for path in sorted(folder.glob("cell-*.npy"))]
    rows = np.concatenate(parts) if parts else np.zeros((0, COLUMNS))
    return np.asarray(rows[rows[:, SOUND] > 0.5])


def _coming(folder: Path) -> Array:
    path = folder.parent / "arrivals.npy"
    if not path.exists():
        np.save(path, arrivals.arrivals(ARRIVALS, ARRIVALS_SEED))
    return np.asarray(np.load(path))


def _file(folder: Path, cell: tuple[int, int, int]) -> Path:
    return folder / f"cell-{cell[0]:02d}-{cell[1]:02d}-{cell[2]:02d}.npy"


def _one(job: tuple[Grid, tuple[int, int, int], deck.Contacts, Array, Path]) -> None:
    grid, cell, contacts, coming, folder = job
    rows = throw_cell(grid, cell, contacts, coming)
    path = _file(folder, cell)
    half = path.with_suffix(".half.npy")
    np.save(half, rows)
    half.rename(path)
