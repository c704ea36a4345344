"""A menu by brute force: the whole lane searched for every option on every task."""

from __future__ import annotations

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

    def one(i: int) -> None:
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
                out[i, j],
            )

    worth.each(one, len(options), None)
    return worth.Lines(out[..., 0], out[..., 1], out[..., 2])


@dataclass(frozen=True)
class Short:
    """How short an answer falls of the truth on one task, in percentage points.

    ``regret``: what its first choice is worth less than the best; ``tenth``: what the worst of its
    first ten is worth less than the true tenth; ``tau``: Kendall's over the true first fifty, pairs
    within 0.2 points left out; ``worst``: furthest off a value, ``solved_off``: the same of those
    solved.
    """

    regret: float
    tenth: float
    tau: float
    worst: float
    solved_off: float


def shortfall(true: Array, got: Array, solved: NDArray[np.bool_]) -> Short:
    order = np.argsort(-got, kind="stable")
    ranked = -np.sort(-true)
    tenth = min(10, len(true)) - 1
    off = np.abs(got - true)
    return Short(
        regret=float(ranked[0] - true[order[0]]) / POINT,
        tenth=max(0.0, float(ranked[tenth] - true[order[: tenth + 1]].min()) / POINT),
        tau=tau(true, got),
        worst=float(off.max()) / POINT,
        solved_off=float(off[solved].max()) / POINT,
    )


def tau(true: Array, got: Array, leaders: int = 50) -> float:
    """Kendall's tau over the true leaders: pairs that truly differ by more than a tie, those in the
    right order less those in the wrong one, as a share."""
    top = np.argsort(-true, kind="stable")[:leaders]
    apart = true[top][:, None] - true[top][None, :]
    differ = apart > TIE
    agree = np.sign(got[top][:, None] - got[top][None, :])
    return float(agree[differ].mean()) if differ.any() else 1.0
