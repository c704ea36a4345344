"""The pin: the governing bodies' profile, its mass properties, and spheres that fill its shape.

Heights and diameters are those of the pin specification, from memory (high confidence); the belly,
neck, head, height and base agree with the values read in trade articles. Mass properties are those
of a solid of even density in that profile: its centre of gravity must come out inside the
5 40/64 to 5 60/64 in that the specification allows, which a test holds it to.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from physics.units import IN_TO_M

Array = NDArray[np.float64]

HEIGHT_IN = 15.0
BASE_RADIUS_IN = 2.031 / 2
TOP_ARC_IN = 1.273
# Height above the base and diameter there, inches.
PROFILE_IN: tuple[tuple[float, float], ...] = (
    (0.0, 2.031),
    (0.75, 2.828),
    (2.25, 3.906),
    (3.375, 4.510),
    (4.5, 4.766),
    (5.875, 4.563),
    (7.25, 3.703),
    (8.625, 2.472),
    (9.375, 1.965),
    (10.0, 1.797),
    (10.875, 1.870),
    (11.75, 2.094),
    (12.625, 2.406),
    (13.5, 2.547),
)
BELLY_IN, BELLY_RADIUS_IN = 4.5, 4.766 / 2


@dataclass(frozen=True)
class PinShape:
    """``centre_m``, ``radius_m``: spheres on the pin's axis (height above the base).
    ``mass_centre_m`` above the base; ``gyration_m2``: moment of inertia over mass across and along
    the axis, about the mass centre."""

    centre_m: Array
    radius_m: Array
    mass_centre_m: float
    gyration_m2: tuple[float, float]

    @property
    def belly_m(self) -> float:
        return BELLY_IN * IN_TO_M


def radius_in(height_in: Array) -> Array:
    """Radius of the outline at heights above the base; smooth through the profile's points."""
    heights, diameters = np.array(PROFILE_IN).T
    slopes = _slopes(heights, diameters / 2)
    return _hermite(np.asarray(height_in, float), heights, diameters / 2, slopes)


def shape(spacing_in: float = 0.5) -> PinShape:
    """Spheres that touch the outline from inside every ``spacing_in``, and the mass properties."""
    fine = np.linspace(0.0, HEIGHT_IN, 6001)
    outline = radius_in(fine)
    area = np.pi * outline**2
    mass = np.trapezoid(area, fine)
    centre = float(np.trapezoid(area * fine, fine) / mass)
    along = float(np.trapezoid(area * outline**2 / 2, fine) / mass)
    across = along / 2 + float(np.trapezoid(area * (fine - centre) ** 2, fine) / mass)
    at = np.append(np.arange(0.35, 13.5 - spacing_in / 2, spacing_in), 13.5)
    step = 1e-4
    slope = (radius_in(at + step) - radius_in(at - step)) / (2 * step)
    radius = radius_in(at) * np.sqrt(1 + slope**2)
    middle = at + radius_in(at) * slope
    # The head is the arc of its own radius up to the top.
    middle[-1], radius[-1] = HEIGHT_IN - TOP_ARC_IN, TOP_ARC_IN
    # A sphere tangent near the base would reach under the floor.
    radius = np.minimum(radius, middle - 0.01)
    return PinShape(
        middle * IN_TO_M, radius * IN_TO_M, centre * IN_TO_M,
        (across * IN_TO_M**2, along * IN_TO_M**2),
    )  # fmt: skip


def _slopes(x: Array, y: Array) -> Array:
    """Slopes at the points by three-point differences."""
    return np.gradient(y, x)


def _hermite(at: Array, x: Array, y: Array, slope: Array) -> Array:
    """Cubic through points and slopes; above the last point the head's arc."""
    i = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
    h = x[i + 1] - x[i]
    f = (at - x[i]) / h
    g = 1 - f
    inside = (
        (1 + 2 * f) * g * g * y[i]
        + f * g * (g * h * slope[i] - f * h * slope[i + 1])
        + f * f * (3 - 2 * f) * y[i + 1]
    )
    above = np.sqrt(np.maximum(0.0, TOP_ARC_IN**2 - (at - (HEIGHT_IN - TOP_ARC_IN)) ** 2))
    return np.asarray(np.where(at > x[-1], above, inside))
