"""One ball of one bowler on one condition: thrown along a line, and what that says."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from physics import averaged, bowler, line, pins, shape, worth
from physics.motion import Shot
from physics.units import MPH_TO_M_S, board_to_y_m, y_m_to_board

Array = NDArray[np.float64]

# Room to miss: how far a mean delivery may stray and keep this share of the best carry in reach.
KEPT_SHARE = 0.5
MISSES_DEG = np.arange(0.0, 3.01, 0.05)
SLOWEST_M_S = 2.0


@dataclass(frozen=True)
class OnLane:
    """``factor``: the lane's friction against the reference lane. Boards are the bowler's own."""

    who: bowler.Bowler
    option: worth.Option
    task: worth.Task
    factor: float

    def best_line(self, seed: int) -> tuple[float, float, float]:
        """Laydown board (NaN where no line meets the pocket), launch in degrees, strike chance."""
        found = worth.seek(
            self.who, [self.option], [self.task], lane_factors=[self.factor], seed=seed
        )
        return tuple(float(a[0, 0]) for a in (found.board, found.launch_deg, found.value))  # type: ignore[return-value]

    def delivery(self, board: float, launch_deg: float, pace_mph: float = 0.0) -> list[float]:
        """The mean delivery on a line, so much faster."""
        speed, *others = self.who.means()
        paced = max(SLOWEST_M_S, speed + pace_mph * MPH_TO_M_S)
        return [board_to_y_m(board), launch_deg, paced, *others]

    def throw(self, deliveries: Sequence[Sequence[float]]) -> Array:
        """Rows of the fast solver (columns of ``shape``)."""
        ball, p = worth.body_tuple(self.option.body)
        closure = worth.on_lane(self.option.closure, self.factor).numbers()
        found: Array = averaged.run_many(
            np.array(deliveries), ball, p, closure, self.task.film_um, averaged.STEPS
        )
        return found

    def shot(self, delivery: Sequence[float], step_m: float) -> Shot:
        """One delivery by the reference solver, its path known every so far."""
        return worth.reference_shot(
            self.who, self.option, self.task, self.factor, delivery, profile_step_m=step_m
        )

    def entries(self, delivery: Sequence[float], samples: Array) -> Array:
        """How the scatter about a delivery meets the pins (:func:`physics.line.entries`)."""
        board = y_m_to_board(delivery[0])
        found: Array = line.entries(
            float(board),
            float(delivery[1]),
            tuple(map(float, delivery[2:])),
            self.who.spreads(),
            samples,
            worth.body_tuple(self.option.body),
            (worth.on_lane(self.option.closure, self.factor).numbers(), self.task.film_um),
            averaged.STEPS,
        )
        return found

    def room(self, board: float, launch_deg: float, pace_mph: float = 0.0) -> tuple[float, float]:
        """Boards at the arrows a mean delivery may stray away from and towards the ball-hand side.

        As far as it keeps half of the best carry met on the way; none without a line.
        """
        if not math.isfinite(board):
            return 0.0, 0.0
        # A launch further towards the ball-hand gutter is a miss towards it.
        sides = [
            self.throw([self.delivery(board, launch_deg + s * d, pace_mph) for d in MISSES_DEG])
            for s in (-1.0, 1.0)
        ]
        strikes = pins.table().strikes(self.option.body.mass_kg)
        kept = [
            np.array([worth.strike_chance_of(shot, strikes) for shot in shots]) for shots in sides
        ]
        least = KEPT_SHARE * max(values.max() for values in kept)
        return _kept(sides[0], kept[0], least), _kept(sides[1], kept[1], least)


def _kept(shots: Any, values: Array, least: float) -> float:
    """Boards at the arrows between the line itself and the last miss that keeps enough."""
    under = np.flatnonzero(values < least)
    last = max(int(under[0]) - 1, 0) if len(under) else len(MISSES_DEG) - 1
    arrows = shots[[0, last], shape.ARROW_BOARD]
    return abs(float(arrows[1] - arrows[0])) if np.isfinite(arrows).all() else 0.0
