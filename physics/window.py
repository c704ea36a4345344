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


def missed_side(
    intervals: Sequence[tuple[float, float]],
    hook_length_ft: float | None,
    late: bool,
) -> str | None:
    """On which side of the window a ball misses it: too "rolly" or too "angular".

    Too angular below every interval and too rolly above; None where the shape lies in the window,
    or has no hook length, and the ball fails for another reason. A late ball still has turn left
    at the pins: what it lacks is an earlier, rollier shape, so it misses on the angular side.
    """
    if late:
        return "angular"
    if hook_length_ft is None or not intervals:
        return None
    if any(low <= hook_length_ft <= high for low, high in intervals):
        return None
    nearest = min(
        intervals,
        key=lambda pair: min(abs(hook_length_ft - pair[0]), abs(hook_length_ft - pair[1])),
    )
    return "angular" if hook_length_ft < nearest[0] else "rolly"
