"""Which k balls fill the most gaps: a greedy cover, and what it guarantees.

The weight of gaps filled by a set of balls is monotone and submodular: another ball adds less the
more are there. Taking the ball that adds most, k times, fills at least 1 - 1/e (63 %) of what the
best k balls would (Nemhauser, Wolsey and Fisher, Mathematical Programming 14, 1978).
"""

from __future__ import annotations

import heapq
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

Ball = TypeVar("Ball", bound=Hashable)
GUARANTEE = 1 - 1 / 2.718281828459045


@dataclass(frozen=True)
class Step(Generic[Ball]):
    """The next ball, the weight it adds, the gaps it fills first, and the weight filled so far."""

    ball: Ball
    adds: float
    fills: tuple[int, ...]
    filled: float


def greedy(
    filled_by: Mapping[int, frozenset[Ball]], weights: Mapping[int, float], most: int
) -> list[Step[Ball]]:
    """Balls in the order taken. ``filled_by``: which balls fill each gap, ``weights``: of the gaps.

    Lazy: what a ball added once is the most it can add later, so few are looked at again. Ties go
    to the ball that sorts first, so that the same gaps have the same plan.
    """
    reach: dict[Ball, set[int]] = {}
    for gap, balls in filled_by.items():
        for ball in balls:
            reach.setdefault(ball, set()).add(gap)
    open_gaps = {gap for gap, balls in filled_by.items() if balls}
    heap = [(-_sum(gaps, weights), str(ball), ball, 0) for ball, gaps in reach.items()]
    heapq.heapify(heap)
    steps: list[Step[Ball]] = []
    filled = 0.0
    while heap and len(steps) < most:
        _, name, ball, seen = heapq.heappop(heap)
        new = reach[ball] & open_gaps
        adds = _sum(new, weights)
        if adds <= 0:
            continue
        if seen != len(steps):
            heapq.heappush(heap, (-adds, name, ball, len(steps)))
            continue
        open_gaps -= new
        filled += adds
        steps.append(Step(ball, adds, tuple(sorted(new)), filled))
    return steps


def _sum(gaps: set[int], weights: Mapping[int, float]) -> float:
    return sum(weights[gap] for gap in sorted(gaps))
