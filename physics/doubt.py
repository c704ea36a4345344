"""What the draws say of a ranking: how far a gain may lie off, who beats whom, and what decides it.

Nothing here cares what a value is counted in. Shares of variance are first-order indices (Saltelli
et al., Global Sensitivity Analysis: The Primer, 2008, section 4.5), read off a fit in the first two
Hermite polynomials of each input, as the variance of that input's part (Sudret, Reliability
Engineering and System Safety 93, 964-979, 2008). What bends more sharply or acts together is left
to the rest.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from physics.errors import InputError
from physics.worlds import Name

Array = NDArray[np.float64]

INTERVAL = 0.80
# Chance, over all inputs at once, that one which does nothing is taken to matter.
FALSE_ALARM = 0.05
_Z = NormalDist()


def centred(drawn: Array, middle: Array, confirmed: Array) -> Array:
    """Drawn values moved onto the confirmed ones (draws x options x tasks).

    Draws are made by a rougher search than the values shown. What a draw tells is how far it lies
    from the same rough search with every prior at its middle; that difference is added to the value
    shown. Values stay at 0 or above, so a bag is still worth its best ball in every draw.
    """
    return np.asarray(np.maximum(0.0, confirmed + (drawn - middle)))


def interval(drawn: Array, share: float = INTERVAL) -> tuple[float, float]:
    """The middle ``share`` of the draws: equal tails, quantiles interpolated between draws."""
    if drawn.ndim != 1 or len(drawn) < 2:
        raise InputError("drawn", list(drawn.shape), "one row of at least two draws")
    if not 0 < share < 1:
        raise InputError("share", share, "more than 0 and less than 1")
    low, high = np.quantile(drawn, [(1 - share) / 2, (1 + share) / 2])
    return float(low), float(high)


def beats(first: Array, second: Array) -> float:
    """Probability that the first is worth more, from paired draws; a tie is half a win."""
    return float(((first > second) + 0.5 * (first == second)).mean())


def told_apart(first: Array, second: Array) -> bool:
    """Whether the draws are many enough to tell which of two is worth more on average: their
    paired difference's mean is beyond twice its standard error."""
    difference = first - second
    if len(difference) < 2:
        return True
    error = float(difference.std(ddof=1)) / math.sqrt(len(difference))
    return abs(float(difference.mean())) > 2.0 * error


def chance_wrong(chance: float, learnt: float = 0.0) -> float:
    """Chance that the likelier of two is the wrong one to pick, if so much is learnt first.

    ``chance``: that the first beats the second now; ``learnt``: the share of their difference's
    variance that will be known before picking. Normal throughout: with D = m + l + e in units of
    its spread, l learnt, it is the mean of Φ(−|m + l|/sd(e)) over l. It never rises with ``learnt``
    and is 0 when all is known.
    """
    if not 0 <= chance <= 1:
        raise InputError("chance", chance, "0 to 1")
    if not 0 <= learnt <= 1:
        raise InputError("learnt", learnt, "0 to 1")
    # A few dozen draws can't tell the last percent from all or nothing.
    margin = _Z.inv_cdf(min(max(chance, 0.005), 0.995))
    left = math.sqrt(1 - learnt)
    if left < 1e-6:
        return 0.0
    moved = margin + math.sqrt(learnt) * _NODES
    return float(sum(_Z.cdf(-abs(m) / left) for m in moved) / len(moved))


# Equally likely normal values: enough that the mean over them is good to three figures.
_NODES = np.array([_Z.inv_cdf((i + 0.5) / 400) for i in range(400)])


@dataclass(frozen=True)
class Sensitivity:
    """A curve in each input through the draws of one answer.

    ``slopes``: its change by one standard deviation of each input that can be told from chance;
    ``shares``: of its variance, for the same, with how it bends; ``explained``: by all together;
    ``variance``: the answer's; ``floor``: the least share that would have been told from chance.
    """

    slopes: Mapping[Name, float]
    shares: Mapping[Name, float]
    explained: float
    variance: float
    floor: float

    def learnt(self, seen: Mapping[Name, float], noise: float = 0.0) -> float:
        """Share of the answer's variance that is learnt by reading a sum of inputs.

        ``seen``: how far a standard deviation of each input moves what is read, and ``noise`` the
        reading's own error in the same unit: cov² / var of the reading.
        """
        size = sum(move**2 for move in seen.values()) + noise**2
        if size <= 0 or self.variance <= 0:
            return 0.0
        along = sum(self.slopes.get(name, 0.0) * move for name, move in seen.items())
        return min(1.0, along**2 / size / self.variance)


def sensitivity(names: Sequence[Name], normals: Array, answer: Array) -> Sensitivity:
    """Which inputs an answer hangs on, from the draws it was made of (``normals``: draws x names).

    Least squares, taking in one term after another, an input's line or its bend, while the best of
    those left is beyond what the best of so many would reach by chance in one case of twenty
    (Student's t, Bonferroni), and no more than one for four draws. Raises InputError with under
    eight draws or ones that don't belong together.
    """
    draws, count = normals.shape
    if len(answer) != draws or len(names) != count:
        raise InputError(
            "normals", [draws, count], f"{len(answer)} draws by {len(names)} names, as answered"
        )
    if draws < 8:
        raise InputError("normals", draws, "at least 8 draws")
    variance = float(answer.var())
    # Under this two equal choices differ by rounding alone.
    if variance <= 1e-18 or not count:
        return Sensitivity({}, {}, 0.0, variance, 1.0)
    terms = np.hstack([normals, (normals**2 - 1) / math.sqrt(2)])
    chosen: list[int] = []
    while True:
        columns = np.column_stack([np.ones(draws), terms[:, chosen]])
        basis, _ = np.linalg.qr(columns)
        left = answer - basis @ (basis.T @ answer)
        others = terms - basis @ (basis.T @ terms)
        sizes = np.linalg.norm(others, axis=0) * np.linalg.norm(left)
        part = np.abs(others.T @ left) / np.where(sizes > 1e-9, sizes, np.inf)
        part[chosen] = 0.0
        freedom = draws - len(chosen) - 2
        limit = _student_limit(FALSE_ALARM / max(1, 2 * count - len(chosen)), freedom)
        least = limit**2 / (limit**2 + freedom)
        best = int(np.argmax(part))
        if len(chosen) >= min(2 * count, draws // 4) or part[best] ** 2 <= least:
            break
        chosen.append(best)
    found, *_ = np.linalg.lstsq(columns, answer, rcond=None)
    slopes: dict[Name, float] = {}
    parts: dict[Name, Array] = {}
    for i, b in zip(chosen, found[1:], strict=True):
        name = names[i % count]
        slopes[name] = slopes.get(name, 0.0) + (float(b) if i < count else 0.0)
        parts[name] = parts.get(name, np.zeros(draws)) + b * terms[:, i]
    shares = {name: min(1.0, float(part.var()) / variance) for name, part in parts.items()}
    rest = float(left.var()) / variance
    return Sensitivity(slopes, shares, 1 - rest, variance, least * rest)


def _student_limit(chance: float, freedom: int) -> float:
    """Two-sided limit of Student's t from the normal quantile.

    Cornish-Fisher series to 1/v³: Abramowitz & Stegun, Handbook of Mathematical Functions, 26.7.5.
    """
    z = _Z.inv_cdf(1 - chance / 2)
    v = float(freedom)
    first = (z**3 + z) / 4
    second = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    third = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    return z + first / v + second / v**2 + third / v**3
