"""What several readings of one quantity say: mean, spread, and which reading to set aside."""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

# Scale of the median absolute deviation to a normal standard deviation, and the cut of the
# modified z-score: Iglewicz & Hoaglin, "How to Detect and Handle Outliers" (ASQC, 1993).
MAD_TO_SD = 1.4826
MODIFIED_Z_CUT = 3.5
LEAST_RELATIVE_SCALE = 0.005


@dataclass(frozen=True)
class Spread:
    """Mean and sample standard deviation of the readings kept.

    ``sd`` is None with fewer than two readings kept; ``set_aside`` are the indices, in the order
    given, of readings left out of the mean.
    """

    mean: float
    sd: float | None
    count: int
    set_aside: tuple[int, ...] = ()


def summarise(values: Sequence[float], *, resolution: float = 0.0) -> Spread | None:
    """Mean and spread, robust to a bad entry; None without readings.

    With four or more readings, those further than 3.5 modified z-scores from the median are set
    aside. The scale has a floor, half a percent of the median, so that repeated readings don't
    make the next honest one look wild; ``resolution``, what the instrument can tell apart in the
    unit of the readings, raises that floor. With three or fewer no reading can be told to be wrong.
    """
    numbers = [float(v) for v in values]
    if not numbers:
        return None
    if any(not math.isfinite(v) for v in numbers):
        raise ValueError("readings must be finite numbers")
    aside: tuple[int, ...] = ()
    if len(numbers) >= 4:
        middle = statistics.median(numbers)
        deviation = statistics.median(abs(v - middle) for v in numbers)
        scale = max(MAD_TO_SD * deviation, LEAST_RELATIVE_SCALE * abs(middle), resolution)
        if scale > 0:
            aside = tuple(
                i for i, v in enumerate(numbers) if abs(v - middle) > MODIFIED_Z_CUT * scale
            )
    kept = [v for i, v in enumerate(numbers) if i not in aside]
    return Spread(
        mean=statistics.fmean(kept),
        sd=statistics.stdev(kept) if len(kept) > 1 else None,
        count=len(kept),
        set_aside=aside,
    )
