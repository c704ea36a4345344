"""Options read between others that were solved on the same lane.

Where and how steeply a few *probes* enter, deliveries on lines that suit weak, middling and strong
balls, are an option's coordinates; their principal components say it in order of size. A Gaussian
process through the solved values reads the others, and leaving each solved one out in turn says how
far off it is there. All sums are in plain loops of a fixed order: a library's may add up in another
order on another number of threads.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

COMPONENTS = 8
# Scales the process is tried with: of the first component, and of the others as a share of it.
SCALES = (0.15, 0.3, 0.6, 1.2)
SHARES = (1.0, 0.5, 0.25)
NUGGET = 1e-4
# Square of a distance over the scales at which two places have nothing in common.
NOTHING = 78.0
# Options stand in clusters, and what is off within one says how steep it is there: so much of that
# by distance (squared) goes for the way to another cluster.
LOCAL = 0.25
# Neighbours whose errors, left out in turn, are an option's.
NEIGHBOURS = 8


@dataclass(frozen=True)
class Axes:
    """Principal axes (width x ``COMPONENTS``, over the spread along the first) of what probes do,
    and its mean (width)."""

    mean: Array
    axes: Array

    @classmethod
    def of(cls, columns: Array) -> Axes:
        mean, products = _moments(columns)
        sizes, axes = np.linalg.eigh(products)
        kept = min(COMPONENTS, len(mean))
        out = np.zeros((len(mean), COMPONENTS))
        out[:, :kept] = axes[:, ::-1][:, :kept] / math.sqrt(max(float(sizes[-1]), 1e-12))
        return cls(mean, out)

    def at(self, columns: Array) -> Array:
        """Coordinates of options (rows x ``COMPONENTS``), largest first."""
        found: Array = _along(columns, self.mean, self.axes)
        return found


@dataclass(frozen=True)
class Process:
    """A Gaussian process through ``values`` at ``places`` (over the ``scales``): ``left_out`` says
    how far off each is read without itself; ``apart``: squares of the distance of each from the
    nearest other."""

    places: Array
    values: Array
    weights: Array
    left_out: Array
    scales: Array
    apart: Array

    @classmethod
    def through(cls, places: Array, values: Array, scales: Array) -> Process:
        weights, left_out = _fitted(places / scales, values)
        return cls.of(places, values, weights, left_out, scales)

    @classmethod
    def of(
        cls, places: Array, values: Array, weights: Array, left_out: Array, scales: Array
    ) -> Process:
        """One that was fitted before."""
        at = places / scales
        return cls(at, values, weights, left_out, scales, _apart(at))

    @property
    def usual_error(self) -> float:
        return math.sqrt(float((self.left_out**2).mean()))

    def read(self, places: Array) -> tuple[Array, Array]:
        """Values at other places, and their errors."""
        value, error = _read_off(
            places / self.scales, self.places, self.values, self.weights, self.left_out, self.apart
        )
        return value, error


def best_scales(places: Array, values: Array) -> Array:
    """The scales under which each value is told best by the others."""
    if len(values) < 2:
        return np.ones(COMPONENTS)
    tried = [
        scale * np.array([1.0] + [share] * (COMPONENTS - 1)) for scale in SCALES for share in SHARES
    ]
    off = [Process.through(places, values, scales).usual_error for scales in tried]
    return tried[int(np.argmin(off))]


@njit(nogil=True, cache=True, error_model="numpy")
def _moments(columns):  # type: ignore[no-untyped-def]
    """Means of columns, and the means of their products about them."""
    rows, width = columns.shape
    mean, products = np.zeros(width), np.zeros((width, width))
    for i in range(rows):
        for k in range(width):
            mean[k] += columns[i, k]
    mean /= rows
    for i in range(rows):
        for k in range(width):
            off = columns[i, k] - mean[k]
            for m in range(width):
                products[k, m] += off * (columns[i, m] - mean[m])
    return mean, products / rows


@njit(nogil=True, cache=True, error_model="numpy")
def _along(columns, mean, axes):  # type: ignore[no-untyped-def]
    rows, width = columns.shape
    out = np.zeros((rows, axes.shape[1]))
    for i in range(rows):
        for k in range(width):
            off = columns[i, k] - mean[k]
            for c in range(axes.shape[1]):
                out[i, c] += off * axes[k, c]
    return out


@njit(nogil=True, cache=True, error_model="numpy")
def spread_out(at, count):  # type: ignore[no-untyped-def]
    """Indices of so many rows, each as far as can be from those before; the first is central."""
    rows, width = at.shape
    out = np.empty(count, np.intp)
    nearest = np.full(rows, np.inf)
    central, least = 0, np.inf
    for i in range(rows):
        away = 0.0
        for k in range(width):
            away += at[i, k] * at[i, k]
        if away < least:
            central, least = i, away
    out[0] = central
    for n in range(1, count):
        last, furthest, far = out[n - 1], 0, -1.0
        for i in range(rows):
            away = 0.0
            for k in range(width):
                away += (at[i, k] - at[last, k]) ** 2
            nearest[i] = min(nearest[i], away)
            if nearest[i] > far:
                furthest, far = i, nearest[i]
        out[n] = furthest
    return out


@njit(nogil=True, cache=True, error_model="numpy")
def alike(at, within):  # type: ignore[no-untyped-def]
    """For each row one that lies no further from it than so, the same for all such; itself for
    most. ``at``: places whose first coordinate tells most of them apart."""
    order, out = np.argsort(at[:, 0]), np.arange(at.shape[0])
    for n in range(at.shape[0]):
        i = order[n]
        for m in range(n - 1, -1, -1):
            j = order[m]
            if at[i, 0] - at[j, 0] > within:
                break
            if out[j] == j and _square(at[i], at[j]) <= within * within:
                out[i] = j
                break
    return out


@njit(nogil=True, cache=True, error_model="numpy")
def nearest(at, rows, among):  # type: ignore[no-untyped-def]
    """For each of some rows the place in ``among`` of the nearest, and the square of how far."""
    out, squares = np.empty(rows.shape[0], np.intp), np.empty(rows.shape[0])
    for n in range(rows.shape[0]):
        best, least = 0, np.inf
        for m in range(among.shape[0]):
            away = 0.0
            for k in range(at.shape[1]):
                away += (at[rows[n], k] - at[among[m], k]) ** 2
            if away < least:
                best, least = m, away
        out[n], squares[n] = best, least
    return out, squares


@njit(nogil=True, cache=True, error_model="numpy")
def _square(one, other):  # type: ignore[no-untyped-def]
    """Of the distance between two places over the scales."""
    total = 0.0
    for k in range(one.shape[0]):
        total += (one[k] - other[k]) ** 2
    return total


@njit(nogil=True, cache=True, error_model="numpy")
def _likeness(one, other):  # type: ignore[no-untyped-def]
    """Of two places over the scales; none where it would be less than 1e-17."""
    away = _square(one, other)
    return math.exp(-0.5 * away) if away < NOTHING else 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def _fitted(at, values):  # type: ignore[no-untyped-def]
    """Weights of a Gaussian process through values, and how far off each is read without itself.

    ``at``: places over the scales. Leave-one-out residuals are w_i / (K^-1)_ii (Rasmussen and
    Williams, Gaussian Processes for Machine Learning, 2006, 5.4.2; from memory). Rows are taken off
    one another whole, which vectorises; K = U'U is worked out in place.
    """
    count = values.shape[0]
    upper, inverse = np.zeros((count, count)), np.zeros((count, count))
    for i in range(count):
        for j in range(i, count):
            upper[i, j] = _likeness(at[i], at[j])
        upper[i, i] += NUGGET
        inverse[i, i] = 1.0
    for k in range(count):
        upper[k, k] = math.sqrt(max(upper[k, k], 1e-12))
        per = 1.0 / upper[k, k]
        for j in range(k + 1, count):
            upper[k, j] *= per
        # Row k of the inverse of U' is done once the rows before are taken off it.
        for j in range(k + 1):
            inverse[k, j] *= per
        for i in range(k + 1, count):
            by = upper[k, i]
            for j in range(i, count):
                upper[i, j] -= by * upper[k, j]
            for j in range(k + 1):
                inverse[i, j] -= by * inverse[k, j]
    mean = values.mean()
    weights, diagonal = np.zeros(count), np.zeros(count)
    for k in range(count):
        half = 0.0
        for j in range(k + 1):
            half += inverse[k, j] * (values[j] - mean)
        for j in range(k + 1):
            weights[j] += inverse[k, j] * half
            diagonal[j] += inverse[k, j] * inverse[k, j]
    return weights, weights / diagonal


@njit(nogil=True, cache=True, error_model="numpy")
def _apart(at):  # type: ignore[no-untyped-def]
    """Square of the distance of each place from the nearest other."""
    out = np.full(at.shape[0], 1e-12)
    for i in range(at.shape[0]):
        least = math.inf
        for j in range(at.shape[0]):
            if j != i:
                least = min(least, _square(at[i], at[j]))
        if least < math.inf:
            out[i] += least
    return out


@njit(nogil=True, cache=True, error_model="numpy")
def _read_off(rest, at, values, weights, left_out, apart):  # type: ignore[no-untyped-def]
    """Values of the process at other places, and their errors: those of the nodes nearest to each,
    and what they grow by on the way from the nearest, as much as all do or those near do. Places
    over the scales."""
    count = rest.shape[0]
    value, error = np.empty(count), np.empty(count)
    nodes = at.shape[0]
    few = min(NEIGHBOURS, nodes)
    near, off, far = np.empty(few), np.empty(few), np.empty(few)
    growth = (left_out * left_out).sum() / apart.sum()
    mean = values.mean()
    for i in range(count):
        total, least = mean, math.inf
        near[:] = -1.0
        for n in range(nodes):
            away = _square(rest[i], at[n])
            least = min(least, away)
            alike = math.exp(-0.5 * away) if away < NOTHING else 0.0
            total += weights[n] * alike
            if alike > near[few - 1]:
                m = few - 1
                while m > 0 and near[m - 1] < alike:
                    near[m], off[m], far[m] = near[m - 1], off[m - 1], far[m - 1]
                    m -= 1
                near[m], off[m], far[m] = alike, left_out[n], apart[n]
        value[i] = total
        square, between = 0.0, 0.0
        for m in range(few):
            square += off[m] * off[m]
            between += far[m]
        by = max(growth, LOCAL * square / between)
        error[i] = math.sqrt(square / few + by * least)
    return value, error
