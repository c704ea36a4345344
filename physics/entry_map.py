"""Where a ball goes from every line on a condition: one map of a bowler with a ball.

Made for second balls, which may be aimed at anything; it serves all leaves. The launch, which
matters most and isn't linear, is thrown at steps across its scatter, gutter balls among them. The
other five numbers that scatter are taken as normal, with the slopes of the entry in each; so is
what the bowler doesn't know of a lane where nobody has just seen a ball roll.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from physics import averaged, shape
from physics.bowler import Bowler
from physics.friction import Film
from physics.units import board_to_y_m

Array = NDArray[np.float64]
# A body as :func:`physics.worth.body_tuple` has it.
Ball = tuple[tuple[float, float, float, tuple[float, ...]], tuple[float, ...]]

# Lines tried: a spare may be thrown across the lane from anywhere a person can stand.
LAYDOWNS: Array = np.arange(4.0, 37.0, 3.0)
LAUNCHES_DEG: Array = np.arange(-3.0, 7.01, 0.5)
STEPS = 40
# Launches thrown, in standard deviations from the line's.
NODES: Array = np.arange(-2.0, 2.01, 1.0)
MIDDLE = len(NODES) // 2
# A spare's line isn't seen in play ball after ball, as a first ball's is: how the lane plays there
# is guessed, as far off as houses and oil are from what is said of them (estimates).
GUESSED_FRICTION, GUESSED_OIL = 0.06, 0.10


@dataclass(frozen=True)
class EntryMap:
    """Entries of each line whose mean delivery stays on the lane (flat over release, laydown and
    launch).

    ``board``, ``angle_deg`` (lines x nodes): where the launches ``NODES`` end up, NaN in the
    gutter; ``spread`` (lines): scatter of the board by everything but the launch, ``along``
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


def entry_map(
    releases: Sequence[Bowler],
    balls: Sequence[Ball],
    closure: Film,
    film_um: Array,
) -> EntryMap:
    """Where this ball goes from every line with each of a bowler's releases.

    ``balls``: the ball about the PAP of each release, ``closure`` its friction on this lane,
    ``film_um`` the own-side film.
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
    body: Ball,
    closure: Film,
    film_um: Array,
) -> EntryMap:
    def throw(deliveries: Array) -> Array:
        out: Array = averaged.run_many(deliveries, *body, closure.numbers(), film_um, STEPS)
        return out

    laydown, launch = (a.ravel() for a in np.meshgrid(LAYDOWNS, LAUNCHES_DEG, indexing="ij"))
    base = _deliveries(laydown, launch, bowler)
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
    out = throw(thrown.reshape(-1, base.shape[1])).reshape(len(moves), len(base), shape.RESULTS)
    nodes = np.insert(out[: len(NODES) - 1], MIDDLE, middle, axis=0)
    board = np.where(nodes[:, :, shape.ON_LANE] > 0.5, nodes[:, :, shape.ENTRY_BOARD], np.nan).T
    off = out[len(NODES) - 1 :, :, shape.ENTRY_BOARD] - middle[:, shape.ENTRY_BOARD]
    guessed = [
        averaged.run_many(base, *body, there.numbers(), film, STEPS)[:, shape.ENTRY_BOARD]
        - middle[:, shape.ENTRY_BOARD]
        for there, film in _otherwise(closure, film_um)
    ]
    off = np.concatenate([off, guessed])
    return EntryMap(
        np.full(len(base), which),
        laydown[kept],
        launch[kept],
        np.ascontiguousarray(board),
        np.ascontiguousarray(nodes[:, :, shape.ENTRY_ANGLE_DEG].T),
        np.sqrt((off**2).sum(axis=0)),
        np.ascontiguousarray(_slopes(board)),
    )


def _otherwise(closure: Film, film_um: Array) -> tuple[tuple[Film, Array], tuple[Film, Array]]:
    """The lane with a standard deviation more of friction, and of oil, than the bowler goes by."""
    grip = 1 + GUESSED_FRICTION
    rougher = replace(closure, mu_oil=grip * closure.mu_oil, mu_dry=grip * closure.mu_dry)
    return (rougher, film_um), (closure, (1 + GUESSED_OIL) * film_um)


def _deliveries(laydown: Array, launch_deg: Array, bowler: Bowler) -> Array:
    """The mean delivery of each line as kernels take it."""
    y = [board_to_y_m(float(board)) for board in laydown]
    return np.column_stack([y, launch_deg, np.tile(np.array(bowler.means()), (len(y), 1))])


def elsewhere(
    found: EntryMap,
    releases: Sequence[Bowler],
    balls: Sequence[Ball],
    closure: Film,
    film_um: Array,
) -> EntryMap:
    """The same lines met by another ball or lane, or with another mean delivery.

    The launches are thrown again; what scatters by everything else stays. Lines whose mean
    delivery now leaves the lane are dropped.
    """
    board, angle = (np.full(found.board.shape, np.nan) for _ in range(2))
    for i, (who, body) in enumerate(zip(releases, balls, strict=True)):
        ours = np.flatnonzero(found.release == i)
        base = _deliveries(found.laydown[ours], found.launch_deg[ours], who)
        thrown = np.repeat(base, len(NODES), axis=0)
        thrown[:, 1] += np.tile(NODES * who.spreads()[5], len(ours))
        out = averaged.run_many(thrown, *body, closure.numbers(), film_um, STEPS)
        on = out[:, shape.ON_LANE] > 0.5
        entered = np.where(on, out[:, shape.ENTRY_BOARD], np.nan)
        board[ours] = entered.reshape(len(ours), len(NODES))
        angle[ours] = out[:, shape.ENTRY_ANGLE_DEG].reshape(len(ours), len(NODES))
    moved = replace(found, board=board, angle_deg=angle, along=_slopes(board))
    return rows(moved, np.flatnonzero(np.isfinite(board[:, MIDDLE])))


def rows(found: EntryMap, which: NDArray[np.intp]) -> EntryMap:
    """The lines of these indices."""
    return EntryMap(*(getattr(found, field.name)[which] for field in fields(EntryMap)))


def _slopes(board: Array) -> Array:
    """Boards by one node, from the neighbours still on the lane (lines x nodes)."""
    steps = np.abs(np.diff(board, axis=1))
    before = np.column_stack([np.full(len(board), np.nan), steps])
    after = np.column_stack([steps, np.full(len(board), np.nan)])
    both = np.where(
        np.isnan(before), after, np.where(np.isnan(after), before, (before + after) / 2)
    )
    return np.nan_to_num(both)
