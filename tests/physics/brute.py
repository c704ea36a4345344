"""A menu by brute force: the whole lane searched for every option on every task."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from physics import aim, pins, worth
from physics.bowler import Bowler

Array = NDArray[np.float64]
STARTS = 4
POINT = 0.01
# Differences that count as ties, and what an answer may be short of the truth.
TIE = 0.2 * POINT


def lines(
    bowler: Bowler,
    options: Sequence[worth.Option],
    tasks: Sequence[worth.Task],
    factors: Sequence[float],
) -> worth.Lines:
    """Best lines of every option on every task, each sought from four starts."""
    strikes = worth.strikes_of(pins.table(), options)
    out = np.empty((len(options), len(tasks), 3))
    # Options that meet a lane alike are sought once.
    _, sort = worth.Rows.of(options).sorts()
    _, first = np.unique(sort, return_index=True)

    def one(n: int) -> None:
        i = first[n]
        option = options[i]
        for j, task in enumerate(tasks):
            aim.best_line(
                bowler.means(),
                bowler.spreads(),
                worth.body_tuple(option.body),
                (worth.on_lane(option.closure, factors[j]).numbers(), task.film_um),
                strikes[option.body.mass_kg],
                aim.STEPS,
                STARTS,
                True,
                out[i, j],
            )

    worth.each(one, len(first), None)
    out = out[first[sort]]
    return worth.Lines(out[..., 0], out[..., 1], out[..., 2])


@dataclass(frozen=True)
class Short:
    """How short an answer falls of the truth on one task, in percentage points.

    ``regret``: what its first choice is worth less than the best; ``tenth``: what the worst of its
    first ten is worth less than the true tenth; ``tau``: Kendall's over all pairs of the true first
    fifty, those truly within 0.2 points in the right order either way (of 1,225 pairs there may be
    one that is further apart, and an order that has only that to tell isn't wrong as a whole);
    ``apart``: how many pairs are further apart, ``agreed``: those in the right order less those in
    the wrong one; ``worst``: furthest off a value, ``solved_off``: the same of those solved.
    """

    regret: float
    tenth: float
    tau: float
    agreed: float
    apart: int
    worst: float
    solved_off: float


def shortfall(true: Array, got: Array, solved: NDArray[np.bool_] | None = None) -> Short:
    order = np.argsort(-got, kind="stable")
    ranked = -np.sort(-true)
    tenth = min(10, len(true)) - 1
    off = np.abs(got - true)
    agreed, told_apart = agreement(true, got)
    return Short(
        regret=float(ranked[0] - true[order[0]]) / POINT,
        tenth=max(0.0, float(ranked[tenth] - true[order[: tenth + 1]].min()) / POINT),
        tau=float(agreed.mean()) if len(agreed) else 1.0,
        agreed=float(agreed[told_apart].sum()),
        apart=int(told_apart.sum()),
        worst=float(off.max()) / POINT,
        solved_off=float(off[solved].max()) / POINT if solved is not None else math.nan,
    )


def agreement(true: Array, got: Array, leaders: int = 50) -> tuple[Array, NDArray[np.bool_]]:
    """Of each pair of the true leaders: 1 in the right order, -1 in the wrong one, 0 where the
    answer has them alike; and which pairs are truly apart.

    A pair truly within a tie is in the right order whichever way it is answered.
    """
    top = np.argsort(-true, kind="stable")[:leaders]
    one, other = np.triu_indices(len(top), 1)
    apart = true[top[one]] - true[top[other]]
    told_apart = apart > TIE
    order = np.sign(got[top[one]] - got[top[other]])
    return np.where(told_apart, order, 1.0), told_apart
