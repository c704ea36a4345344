"""Friction at the contact: constant, by zones, by grid, or from oil film and roughness.

All are Coulomb: independent of slip speed (IMU measurements of the UC Davis sports biomechanics
lab favour it over a viscous law). The film-ratio closure is a prior of this model, not a law.
"""

from dataclasses import dataclass, replace

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Kinds of friction map, as the kernels see them.
ZONES, GRID, FILM = 0, 1, 2

# Film on which closures of another power give the friction of this one, micrometres: with it most
# enter where they did. Of 96 pairs of bowler, oil and finish, powers of 2/3 and 3/2 matched by the
# entry board asked for 0.3 to 2.7, half of them for 0.8 to 1.7 (this model, an estimate).
PIVOT_UM = 1.2

_NO_TABLE = np.zeros(1)
_NO_GRID = np.zeros((1, 1))


@dataclass(frozen=True)
class Film:
    """The film-ratio closure of one ball on one lane.

    μ = μ_oil + (μ_dry − μ_oil)/(1 + λ^p), λ = h/(c·Ra): film thickness over ``scale_um`` = c·Ra.
    The ball carries film on its last ring: ``absorption_per_s`` of it is taken in by the cover,
    and the contact feels it as far as the ring hasn't moved on by ``patch_m`` since the last turn.
    A patch of 0 leaves ring oil out.
    """

    mu_oil: float
    mu_dry: float
    scale_um: float
    exponent: float = 1.0
    absorption_per_s: float = 0.3
    patch_m: float = 0.6 * 0.0254

    def numbers(self) -> tuple[float, float, float, float, float, float]:
        return (
            self.mu_oil,
            self.mu_dry,
            self.scale_um,
            self.exponent,
            self.absorption_per_s,
            self.patch_m,
        )

    def sharper(self, times: float) -> "Film":
        """The film ratio to ``times`` the power, with the same friction on a film of PIVOT_UM.

        Above 1 thin oil takes less friction away than it did, and thick oil more.
        """
        at_pivot = self.scale_um / PIVOT_UM
        return replace(
            self,
            exponent=self.exponent * times,
            scale_um=self.scale_um * at_pivot ** (1 / times - 1),
        )


@dataclass(frozen=True)
class Friction:
    """A friction map in the form the reference kernel takes.

    ``x_m``: zone ends or grid distances; ``y_m``: grid offsets; ``table``: μ by zone or by grid
    (rows by x), or film in micrometres for a ``FILM``; ``film``: the closure's six numbers.
    """

    kind: int
    x_m: Array
    y_m: Array
    zone_mu: Array
    table: Array
    film: tuple[float, float, float, float, float, float] = (0.0, 0.0, 1.0, 1.0, 0.0, 0.0)


def constant(mu: float) -> Friction:
    return Friction(ZONES, np.zeros(0), _NO_TABLE, np.array([mu]), _NO_GRID)


def zones(until_m: Array, mu: Array) -> Friction:
    """μ by distance: ``mu[i]`` up to ``until_m[i]``, the last one beyond."""
    return Friction(ZONES, np.asarray(until_m, float), _NO_TABLE, np.asarray(mu, float), _NO_GRID)


def grid(x_m: Array, y_m: Array, mu: Array) -> Friction:
    """Bilinear μ on a rectangular grid, edges held."""
    return Friction(
        GRID, np.asarray(x_m, float), np.asarray(y_m, float), _NO_TABLE, np.asarray(mu, float)
    )


def oiled(x_m: Array, y_m: Array, film_um: Array, closure: Film) -> Friction:
    """Friction from an oil film in micrometres on a grid, and the ball's closure."""
    return Friction(FILM, x_m, y_m, _NO_TABLE, film_um, closure.numbers())


@njit(nogil=True, cache=True, error_model="numpy")
def bilinear(xs, ys, table, x, y):  # type: ignore[no-untyped-def]
    """Bilinear value of ``table`` (rows by ``xs``) at a point, edges held."""
    i, fx = _cell(xs, x)
    j, fy = _cell(ys, y)
    i1 = min(i + 1, xs.shape[0] - 1)
    j1 = min(j + 1, ys.shape[0] - 1)
    low = table[i, j] + fy * (table[i, j1] - table[i, j])
    high = table[i1, j] + fy * (table[i1, j1] - table[i1, j])
    return low + fx * (high - low)


@njit(nogil=True, cache=True, error_model="numpy")
def _cell(points, at):  # type: ignore[no-untyped-def]
    last = points.shape[0] - 1
    if last == 0 or at <= points[0]:
        return 0, 0.0
    if at >= points[last]:
        return last, 0.0
    low, high = 0, last
    while high - low > 1:
        middle = (low + high) // 2
        if points[middle] <= at:
            low = middle
        else:
            high = middle
    return low, (at - points[low]) / (points[low + 1] - points[low])


@njit(nogil=True, cache=True, error_model="numpy")
def film_mu(film_um, mu_oil, mu_dry, scale_um, exponent):  # type: ignore[no-untyped-def]
    """μ of the film-ratio closure."""
    if film_um <= 0.0:
        return mu_dry
    ratio = film_um / scale_um
    if exponent != 1.0:
        ratio = ratio**exponent
    return mu_oil + (mu_dry - mu_oil) / (1.0 + ratio)


@njit(nogil=True, cache=True, error_model="numpy")
def ring_overlap(advance_m, patch_m):  # type: ignore[no-untyped-def]
    """Share of the contact that falls on the last turn's ring."""
    if patch_m <= 0.0:
        return 0.0
    return max(0.0, 1.0 - advance_m / patch_m)
