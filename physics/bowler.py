"""A bowler as a distribution of deliveries: means, repeatability, and how well both are known."""

import math
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from physics.units import BOARD_M

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Repeatability:
    """Standard deviations from shot to shot.

    Speed and revs as shares of their means, angles in degrees, laydown in boards.
    """

    speed: float
    rev_rate: float
    rotation_deg: float
    tilt_deg: float
    laydown_boards: float
    launch_deg: float


# Priors by average: estimates. The row at 215 is that of the good bowlers of the first study of
# these equations; one board at the arrows is about a third of a degree of launch.
PRIOR_BY_AVERAGE: tuple[tuple[float, Repeatability], ...] = (
    (100.0, Repeatability(0.045, 0.12, 9.0, 6.0, 2.0, 1.0)),
    (150.0, Repeatability(0.028, 0.07, 5.5, 4.0, 1.2, 0.62)),
    (180.0, Repeatability(0.020, 0.05, 4.2, 3.0, 0.9, 0.42)),
    (215.0, Repeatability(0.012, 0.03, 3.0, 2.0, 0.5, 0.24)),
)
USUAL_AVERAGE = 165.0
PRIOR_WEIGHT = 4.0
# How far a bowler's spreads lie from those expected of their average, and of nobody knows what
# average, as shares: estimates.
SPREAD_ERROR, SPREAD_ERROR_UNKNOWN = 0.25, 0.40


@dataclass(frozen=True)
class Bowler:
    """Mean delivery, repeatability, and the standard errors of the means.

    ``thrown`` are the means' standard errors in the same units: speed m/s, spin rad/s, degrees;
    ``pap_error_in`` those of the PAP, over and up. ``spread_error``: how far the spreads of the
    release, and of laydown and launch, are known, as shares. ``pap_shift_in``: how far this
    release's PAP lies over and up from the one that bodies are thrown about.
    """

    speed_m_s: float
    spin_rad_s: float
    rotation_deg: float
    tilt_deg: float
    repeatability: Repeatability
    thrown: tuple[float, float, float, float]
    pap_error_in: tuple[float, float] = (0.0, 0.0)
    spread_error: tuple[float, float] = (0.25, 0.25)
    pap_shift_in: tuple[float, float] = (0.0, 0.0)

    def means(self) -> tuple[float, float, float, float]:
        # Plain floats: whole numbers would have the kernels compiled anew for integers.
        return (
            float(self.speed_m_s),
            float(self.spin_rad_s),
            float(self.rotation_deg),
            float(self.tilt_deg),
        )

    def spreads(self) -> tuple[float, float, float, float, float, float]:
        """Standard deviations as the kernels take them: m/s, rad/s, deg, deg, m, deg."""
        r = self.repeatability
        return (
            r.speed * self.speed_m_s,
            r.rev_rate * self.spin_rad_s,
            float(r.rotation_deg),
            float(r.tilt_deg),
            r.laydown_boards * BOARD_M,
            float(r.launch_deg),
        )


def prior_repeatability(average: float | None) -> Repeatability:
    """Repeatability expected of a bowler with this average; an unknown one is taken as usual."""
    at = USUAL_AVERAGE if average is None else average
    points = [row[0] for row in PRIOR_BY_AVERAGE]
    values = {
        f.name: float(np.interp(at, points, [getattr(row[1], f.name) for row in PRIOR_BY_AVERAGE]))
        for f in fields(Repeatability)
    }
    return Repeatability(**values)


def narrowed(prior: float, measured_sd: float | None, count: int) -> float:
    """Prior standard deviation updated by a sample's, the prior worth four deliveries."""
    if measured_sd is None or count < 2:
        return prior
    total = PRIOR_WEIGHT * prior**2 + (count - 1) * measured_sd**2
    return math.sqrt(total / (PRIOR_WEIGHT + count - 1))


def spread_error(average_known: bool, count: int = 0) -> float:
    """How far spreads are known, as a share (standard deviation of their logarithm).

    The prior counts as 1/(2 error²) degrees of freedom, each delivery logged past the first as one
    more: the logarithm of a standard deviation on v of them is off by 1/sqrt(2 v) (delta method on
    the chi-square distribution).
    """
    prior = SPREAD_ERROR if average_known else SPREAD_ERROR_UNKNOWN
    return 1 / math.sqrt(1 / prior**2 + 2 * max(0, count - 1))


def with_logged(
    prior: Repeatability, shares: dict[str, float | None], counts: dict[str, int]
) -> Repeatability:
    """Repeatability with the logged standard deviations worked in, by field name."""
    return replace(
        prior,
        **{
            name: narrowed(getattr(prior, name), sd, counts.get(name, 0))
            for name, sd in shares.items()
        },
    )


def times(repeatability: Repeatability, factor: float) -> Repeatability:
    """Every spread so many times as wide."""
    return Repeatability(
        **{f.name: getattr(repeatability, f.name) * factor for f in fields(Repeatability)}
    )


# Powers of the generalised golden ratio in six dimensions: the additive recurrence of M. Roberts,
# "The unreasonable effectiveness of quasirandom sequences" (2018), a low-discrepancy sequence.
_PHI_6 = 1.1127756842787055


def normal_samples(count: int, seed: int = 0) -> Array:
    """Fixed low-discrepancy standard-normal points, ``count`` rows of six columns.

    The same for every ball, so that two balls are compared on the same throws. Columns are
    centred and scaled to mean 0 and standard deviation 1, so that a small sample neither aims off
    nor flatters. ``seed`` shifts the sequence.
    """
    return _normal_samples(count, seed).copy()


@lru_cache(maxsize=16)
def _normal_samples(count: int, seed: int) -> Array:
    alpha = np.array([(1 / _PHI_6) ** (j + 1) for j in range(6)])
    shift = np.random.default_rng(seed).random(6) if seed else np.full(6, 0.5)
    points = (shift + np.outer(np.arange(1, count + 1), alpha)) % 1.0
    inverse = NormalDist().inv_cdf
    normal = np.array([[inverse(min(max(u, 1e-4), 1 - 1e-4)) for u in row] for row in points])
    centred = normal - normal.mean(axis=0)
    return np.ascontiguousarray(centred / centred.std(axis=0))
