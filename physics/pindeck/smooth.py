"""From what was thrown to the table that ships: smooth chances over entry board and angle.

Outcomes are averaged over neighbouring entries with a bell-shaped weight, about a board by a degree
or two wide: single cells of the simulation move by half when the time step does, only smoothed
values mean anything. Every entry also counts mirrored, as ten pins have no handedness: a ball at
board b and angle a leaves what its mirror image at 40 - b and -a leaves, mirrored.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from physics import pins
from physics.pindeck import build, kept
from physics.pindeck.build import ANGLE_DEG, BOARD, LEAVE, MASS_KG, SPEED_M_S
from physics.pins import ANGLES_DEG, BOARDS, mirrored
from physics.units import M_S_TO_MPH

Array = NDArray[np.float64]

# Half-widths (standard deviations) of the smoothing: near the pocket, and where only a few dozen
# balls were thrown. Balls held out are told best by 0.12 board and 0.4 degrees (``widths``);
# the table's steps are a quarter of a board and a degree, and the simulation itself isn't believed
# under half a board.
POCKET_BOARDS, FAR_BOARDS = 0.2, 1.0
POCKET_DEG, FAR_DEG = 0.6, 1.5
POCKET = (13.5, 26.5)
# Leaves kept by name: as many as hold this share of what bowlers leave whose entries scatter by so
# many boards about the pocket (an estimate, between those of good bowlers and of beginners).
NAMED_SHARE, MOST_NAMED = 0.95, 80
MEANT_BOARD, SCATTERED_BOARDS = 17.5, 3.0
LIGHTEST_WEIGHT = 4.0


@dataclass(frozen=True)
class Smoothed:
    """Surfaces over boards x angles: chance and standard error of a strike, mean pinfall, the
    chance of each named leave (leaves x boards x angles); ``effective``: balls that speak for a
    node; slopes of the strike's log odds by mph and by kg, with standard errors."""

    strike: Array
    strike_error: Array
    pinfall: Array
    leaves: tuple[int, ...]
    leave_chance: Array
    effective: Array
    speed_slope: tuple[float, float]
    mass_slope: tuple[float, float]
    mean_mph: float
    mean_kg: float
    thrown: int


def with_mirror(rows: Array) -> Array:
    """The rows and their mirror images."""
    return np.concatenate([rows, mirror(rows)])


def mirror(rows: Array) -> Array:
    """What the same balls would have done in a mirror."""
    flipped = rows.copy()
    flipped[:, BOARD] = 40.0 - rows[:, BOARD]
    flipped[:, ANGLE_DEG] = -rows[:, ANGLE_DEG]
    flipped[:, LEAVE] = [mirrored(int(m)) for m in rows[:, LEAVE]]
    return flipped


def smooth(rows: Array, named: tuple[int, ...]) -> Smoothed:
    """Smooth all that was thrown at a full rack; ``named`` the leaves told apart."""
    both = with_mirror(rows)
    masks = both[:, LEAVE].astype(int)
    struck = masks == 0
    down = 10.0 - np.array([m.bit_count() for m in masks])
    place = {mask: i for i, mask in enumerate(named)}
    which = np.array([place.get(m, -1) for m in masks])
    size = (len(BOARDS), len(ANGLES_DEG))
    strike, error, pinfall, effective = (np.zeros(size) for _ in range(4))
    chance = np.zeros((len(named), *size))
    for i, board in enumerate(BOARDS):
        for j, angle in enumerate(ANGLES_DEG):
            weight = _weights(both, float(board), float(angle))
            total = weight.sum()
            n = total**2 / (weight**2).sum()
            p = float(weight @ struck / total)
            strike[i, j], pinfall[i, j], effective[i, j] = p, weight @ down / total, n
            # Never surer than the half-miss that could have been seen.
            error[i, j] = np.sqrt(max(p * (1 - p), 0.25 / (n + 1)) / n)
            sums = np.bincount(which + 1, weight, len(named) + 1)[1:]
            chance[:, i, j] = sums / total
    speed, mass, mean_mph, mean_kg = _slopes(rows, strike)
    return Smoothed(
        strike, error, pinfall, named, chance, effective, speed, mass, mean_mph, mean_kg, len(rows)
    )


def _weights(rows: Array, board: float, angle_deg: float) -> Array:
    """Bell weights about a node, widened until enough balls speak."""
    near = (POCKET[0] <= board <= POCKET[1] and angle_deg >= -0.5) or (
        POCKET[0] <= 40 - board <= POCKET[1] and angle_deg <= 0.5
    )
    across, along = (POCKET_BOARDS, POCKET_DEG) if near else (FAR_BOARDS, FAR_DEG)
    for _ in range(8):
        weight = np.exp(
            -0.5 * ((rows[:, BOARD] - board) / across) ** 2
            - 0.5 * ((rows[:, ANGLE_DEG] - angle_deg) / along) ** 2
        )
        if weight.sum() >= LIGHTEST_WEIGHT:
            break
        across, along = 1.3 * across, 1.3 * along
    return np.asarray(weight)


def commonest(rows: Array) -> tuple[int, ...]:
    """The commonest leaves of bowlers who mean the pocket and scatter, each with its mirror image.

    Entries were thrown evenly over cells, not as bowlers do, so each counts by how often they
    would make it over how often it was thrown.
    """
    aimed = rows[(rows[:, ANGLE_DEG] > 1.5) & (rows[:, ANGLE_DEG] < 6.5)]
    cell = np.floor(aimed[:, BOARD]).astype(int)
    thrown = np.bincount(cell, minlength=int(BOARDS[-1]) + 1)[cell]
    wanted = np.exp(-0.5 * ((aimed[:, BOARD] - MEANT_BOARD) / SCATTERED_BOARDS) ** 2) / thrown
    sums = np.bincount(aimed[:, LEAVE].astype(int), wanted)
    counts = {int(mask): float(sums[mask]) for mask in np.flatnonzero(sums) if mask}
    # Corner pins are what spare balls are for, however seldom the simulation leaves them.
    named: list[int] = [1 << 9, 1 << 6]
    all_left = sum(counts.values())
    for mask in sorted(counts, key=lambda m: -counts[m]):
        if (
            sum(counts.get(m, 0.0) for m in named) >= NAMED_SHARE * all_left
            or len(named) >= MOST_NAMED
        ):
            break
        named += [m for m in dict.fromkeys((mask, mirrored(mask))) if m not in named]
    return tuple(named)


def _slopes(
    rows: Array, strike: Array
) -> tuple[tuple[float, float], tuple[float, float], float, float]:
    """Slopes of the strike's log odds by speed and mass, about the smooth surface (Newton)."""
    use = (rows[:, BOARD] > 15) & (rows[:, BOARD] < 20)
    part = rows[use]
    mph, kg = part[:, SPEED_M_S] * M_S_TO_MPH, part[:, MASS_KG]
    i = np.clip(
        np.round((part[:, BOARD] - BOARDS[0]) / (BOARDS[1] - BOARDS[0])), 0, len(BOARDS) - 1
    )
    j = np.clip(
        np.round((part[:, ANGLE_DEG] - ANGLES_DEG[0]) / (ANGLES_DEG[1] - ANGLES_DEG[0])),
        0,
        len(ANGLES_DEG) - 1,
    )
    at = np.clip(strike[i.astype(int), j.astype(int)], 0.02, 0.98)
    offset = np.log(at / (1 - at))
    x = np.column_stack([np.ones(len(part)), mph - mph.mean(), kg - kg.mean()])
    y = part[:, LEAVE] == 0
    slopes = np.zeros(3)
    for _ in range(20):
        p = 1 / (1 + np.exp(-(offset + x @ slopes)))
        information = x.T @ (x * (p * (1 - p))[:, None]) + 1e-9 * np.eye(3)
        slopes = slopes + np.linalg.solve(information, x.T @ (y - p))
    spread = np.sqrt(np.diag(np.linalg.inv(information)))
    return (
        (float(slopes[1]), float(spread[1])),
        (float(slopes[2]), float(spread[2])),
        float(mph.mean()),
        float(kg.mean()),
    )


@dataclass(frozen=True)
class SmoothedSpare:
    """Chance to convert a leave and pins felled of it, over boards x angles."""

    convert: Array
    felled: Array


def smooth_spare(rows: Array, leave: int) -> SmoothedSpare:
    """Smooth what was thrown at one leave; nothing is felled where no ball could touch it."""
    left = rows[:, LEAVE].astype(int)
    gone = left == 0
    down = leave.bit_count() - np.array([m.bit_count() for m in left])
    size = (len(BOARDS), len(ANGLES_DEG))
    convert, felled = np.zeros(size), np.zeros(size)
    low, high = rows[:, BOARD].min(), rows[:, BOARD].max()
    for i, board in enumerate(BOARDS):
        if not low - 0.5 <= board <= high + 0.5:
            continue
        for j, angle in enumerate(ANGLES_DEG):
            # Entries of other angles pass the pins' own row elsewhere; little within 2 degrees.
            weight = np.exp(
                -0.5 * ((rows[:, BOARD] - board) / 0.4) ** 2
                - 0.5 * ((rows[:, ANGLE_DEG] - angle) / 1.2) ** 2
            )
            total = weight.sum() + 1e-12
            convert[i, j], felled[i, j] = weight @ gone / total, weight @ down / total
    return SmoothedSpare(convert, felled)


def read_all(folder: Path) -> Array:
    """Pocket and whole-lane entries thrown at a full rack; those kept if none were thrown here."""
    rows = np.concatenate([build.read(folder / name) for name in ("pocket", "lane")])
    return rows if len(rows) else kept.read()


def read_spares(folder: Path) -> dict[int, SmoothedSpare]:
    """Second balls by leave and mirrored leave: as thrown at here, else as the table has them."""
    thrown_at = sorted(int(part.name.split("-")[1]) for part in folder.glob("leave-*"))
    if not thrown_at:
        table = pins.table()
        pairs = zip(table.convert, table.felled, strict=True)
        return {mask: SmoothedSpare(*pair) for mask, pair in zip(table.leaves, pairs, strict=True)}
    spares = {}
    for mask in thrown_at:
        rows = build.read(folder / f"leave-{mask:04d}")
        spares[mask] = smooth_spare(rows, mask)
        spares[mirrored(mask)] = smooth_spare(mirror(rows), mirrored(mask))
    return spares


def write_table(folder: Path, path: Path) -> None:
    """Smooth all that was thrown and write the table; leaves are those that were thrown at."""
    kept.write(read_all(folder))
    spares = read_spares(folder)
    named = tuple(sorted(spares))
    full = smooth(kept.read(), named)
    single = np.float32
    path.parent.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(
        path,
        strike=full.strike.astype(single),
        strike_error=full.strike_error.astype(single),
        pinfall=full.pinfall.astype(single),
        effective=full.effective.astype(single),
        leaves=np.array(named, np.uint16),
        leave_chance=full.leave_chance.astype(np.float16),
        convert=np.array([spares[mask].convert for mask in named]).astype(np.float16),
        felled=np.array([spares[mask].felled for mask in named]).astype(np.float16),
        speed_slope=full.speed_slope[0],
        speed_slope_error=full.speed_slope[1],
        mass_slope=full.mass_slope[0],
        mass_slope_error=full.mass_slope[1],
        mean_mph=full.mean_mph,
        mean_kg=full.mean_kg,
        thrown=full.thrown,
    )


def held_out(balls: int = 1500, seed: int = 1) -> dict[str, float]:
    """How well strikes of balls near the pocket are told by all other balls under bells of several
    widths (boards x degrees): mean log likelihood a ball, the higher the better."""
    rows = kept.read()
    near = (rows[:, BOARD] > 14) & (rows[:, BOARD] < 21) & (rows[:, ANGLE_DEG] > 0)
    asked = np.random.default_rng(seed).permutation(np.flatnonzero(near))[:balls]
    struck = (rows[:, LEAVE] == 0).astype(float)
    apart = rows[asked][:, None, [BOARD, ANGLE_DEG]] - rows[None, :, [BOARD, ANGLE_DEG]]
    found = {}
    for across in (0.12, POCKET_BOARDS, 0.35, 0.5):
        for along in (0.4, 0.6, 0.9, 1.3):
            weight = np.exp(-0.5 * ((apart / (across, along)) ** 2).sum(axis=2))
            weight[np.arange(len(asked)), asked] = 0.0
            # A hundredth of a ball that may do either: none is told for certain.
            chance = (weight @ struck + 0.005) / (weight.sum(axis=1) + 0.01)
            right = np.where(struck[asked] > 0, chance, 1 - chance)
            found[f"{across} x {along}"] = round(float(np.log(right).mean()), 4)
    return found
