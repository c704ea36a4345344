"""The window of reaction shapes that score, and whether a bag leaves a gap in it.

A shape is a hook length in feet: short is angular, long is rolly. Shapes that score within five
percent of the best available form the window.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SHARE = 0.95
# Shapes nearer than this are one shape: about what a finish changes in a few games (estimate).
RESOLUTION_FT = 0.75
# Two intervals nearer than this are told apart by nothing a technician could drill.
LEAST_BREAK_FT = 1.0
# Under this carry nothing is playable and there is no window to speak of.
PLAYABLE = 0.02


def window(hook_length_ft: Array, value: Array) -> list[tuple[float, float]] | None:
    """Intervals of hook length whose best value is within five percent of the best of all.

    Both arrays have one entry an option; NaN hook lengths (no shape) are left out. Each scoring
    option covers half a resolution either way; between two scoring options the interval is
    broken only by at least ``LEAST_BREAK_FT`` in which options lie and none of them scores.
    None if nothing is playable.
    """
    known = np.isfinite(hook_length_ft) & np.isfinite(value)
    lengths, values = hook_length_ft[known], value[known]
    if not len(values) or values.max() < PLAYABLE:
        return None
    best = float(values.max())
    half = RESOLUTION_FT / 2
    intervals: list[tuple[float, float]] = []
    scoring = np.sort(lengths[values >= SHARE * best])
    poor = np.sort(lengths[values < SHARE * best])
    for at in scoring:
        low, high = float(at) - half, float(at) + half
        if intervals:
            last_low, last_high = intervals[-1]
            between = np.any((poor > last_high) & (poor < low))
            if low - last_high < LEAST_BREAK_FT or not between:
                intervals[-1] = (last_low, high)
                continue
        intervals.append((low, high))
    return [(max(0.0, low), high) for low, high in intervals]


def is_gap(best_owned: float, best_available: float) -> bool:
    """Whether the best owned ball scores under 95 % of the best available."""
    return best_available >= PLAYABLE and best_owned < SHARE * best_available


def missing_side(
    intervals: Sequence[tuple[float, float]],
    hook_length_ft: float | None,
    late: bool,
) -> str | None:
    """The side of the window the bag leaves open, seen from its nearest ball: "rolly" or "angular".

    The nearest ball below every interval is too angular, so a rollier one is missing; None where
    the ball's shape lies in the window and it fails for another reason. A late ball, which hasn't
    spent its turn at the pins, misses the rolly side: it needs to turn sooner.
    """
    if late or hook_length_ft is None:
        return "rolly"
    if any(low <= hook_length_ft <= high for low, high in intervals):
        return None
    nearest = min(
        intervals,
        key=lambda pair: min(abs(hook_length_ft - pair[0]), abs(hook_length_ft - pair[1])),
    )
    return "rolly" if hook_length_ft < nearest[0] else "angular"
