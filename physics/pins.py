"""The pin table: what ten pins do, and what is left, by where and how steeply the ball meets them.

The table ships as data (``physics/tables``), made offline by :mod:`physics.pindeck` from simulated
rigid pins. At run time it is only interpolated. Boards are the bowler's own, at the head pin's row;
angles from straight down-lane, positive away from the ball-hand side. A leave is a set of pins as
bits, pin 1 lowest, for a right-hander; :func:`leave_name` names it for either hand.
"""

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]

BOARDS: Array = np.arange(0.0, 40.01, 0.25)
ANGLES_DEG: Array = np.arange(-4.0, 8.01, 1.0)
FILE = Path(__file__).parent / "tables" / "pins.npz"
# A pin's mirror image.
_MIRROR = {1: 1, 2: 3, 3: 2, 4: 6, 5: 5, 6: 4, 7: 10, 8: 9, 9: 8, 10: 7}

# What a kernel takes for one surface: values (boards x angles), first board, boards a step, first
# angle, degrees a step, slope of the log odds by mph, and the speed the surface is for.
Surface = tuple[Array, float, float, float, float, float, float]


@dataclass(frozen=True)
class PinTable:
    """Surfaces over boards x angles.

    ``strike``: chance of a strike and ``strike_error`` its standard error; ``pinfall``: pins down;
    ``leaves``: pins left as bits, and ``leave_chance`` (leaves x boards x angles) the chance to
    leave just them; ``convert`` and ``felled`` (same shape): the chance that a second ball meeting
    the pins there takes all of a leave, and the pins it takes. ``speed_slope`` and ``mass_slope``:
    change of the strike's log odds by mph and by kg from the mean speed and mass thrown.
    """

    strike: Array
    strike_error: Array
    pinfall: Array
    leaves: tuple[int, ...]
    leave_chance: Array
    convert: Array
    felled: Array
    speed_slope: float
    mass_slope: float
    mean_mph: float
    mean_kg: float
    thrown: int

    def strikes(self, mass_kg: float | None = None) -> Surface:
        """The strike surface as kernels take it, for a ball of this mass."""
        values = self.strike
        if mass_kg is not None and self.mass_slope:
            values = likelier(values, self.mass_slope * (mass_kg - self.mean_kg))
        return surface(values, self.speed_slope, self.mean_mph)

    def moved(self, place: float, angle: float, level: float) -> "PinTable":
        """Another table this one could have been: moved across, stretched about four degrees, its
        strikes likelier or not, each by so many of its standard deviations (``BOARD_SD`` and on).
        """
        if not (place or angle or level):
            return self
        boards = BOARDS - BOARD_SD * place
        angles = 4.0 + (ANGLES_DEG - 4.0) * np.exp(ANGLE_SD * angle)
        return replace(self, strike=likelier(_at(self.strike, boards, angles), LEVEL_SD * level))


# How far a drawn table may lie from this one: boards across, log odds, and share of the angle.
# Estimates: the first about the misfit of the optimum, the second about what friction and
# restitution within their ranges change.
BOARD_SD, LEVEL_SD, ANGLE_SD = 0.3, 0.25, 0.15
# And the log odds that a second ball takes a leave, an estimate as well. Where it meets the pins is
# left alone: a bowler's scatter at spares is several times ``BOARD_SD``.
SPARES_SD = 0.25


def surface(values: Array, speed_slope: float = 0.0, mean_mph: float = 0.0) -> Surface:
    """Values over the table's boards and angles as kernels take them."""
    return (
        np.ascontiguousarray(values, dtype=np.float64),
        float(BOARDS[0]),
        float(BOARDS[1] - BOARDS[0]),
        float(ANGLES_DEG[0]),
        float(ANGLES_DEG[1] - ANGLES_DEG[0]),
        float(speed_slope),
        float(mean_mph),
    )


@njit(nogil=True, cache=True, error_model="numpy")
def chance(board, angle_deg, speed_mph, pins):  # type: ignore[no-untyped-def]
    """A surface's value at an entry, 0 beyond the lane and held beyond the angles.

    Speed moves the log odds of a chance strictly between 0 and 1.
    """
    values, first, by, first_deg, by_deg, slope, mean_mph = pins
    at = (board - first) / by
    if not 0.0 <= at <= values.shape[0] - 1:
        return 0.0
    i = min(int(at), values.shape[0] - 2)
    f = at - i
    along = min(max((angle_deg - first_deg) / by_deg, 0.0), values.shape[1] - 1.0)
    j = min(int(along), values.shape[1] - 2)
    g = along - j
    low = values[i, j] + f * (values[i + 1, j] - values[i, j])
    high = values[i, j + 1] + f * (values[i + 1, j + 1] - values[i, j + 1])
    value = low + g * (high - low)
    if slope != 0.0 and 0.0 < value < 1.0:
        odds = value / (1.0 - value) * np.exp(slope * (speed_mph - mean_mph))
        value = odds / (1.0 + odds)
    return value


@cache
def table() -> PinTable:
    """The table that ships; read once."""
    with np.load(FILE) as kept:

        def whole(name: str) -> Array:
            return np.asarray(kept[name], np.float64)

        return PinTable(
            strike=whole("strike"),
            strike_error=whole("strike_error"),
            pinfall=whole("pinfall"),
            leaves=tuple(int(mask) for mask in kept["leaves"]),
            leave_chance=whole("leave_chance"),
            convert=whole("convert"),
            felled=whole("felled"),
            speed_slope=float(kept["speed_slope"]),
            mass_slope=float(kept["mass_slope"]),
            mean_mph=float(kept["mean_mph"]),
            mean_kg=float(kept["mean_kg"]),
            thrown=int(kept["thrown"]),
        )


def pins_of(mask: int) -> tuple[int, ...]:
    """Pin numbers of a leave's bits."""
    return tuple(n for n in range(1, 11) if mask >> (n - 1) & 1)


def bits_of(numbers: tuple[int, ...]) -> int:
    """A leave's bits from its pin numbers."""
    return sum(1 << (n - 1) for n in set(numbers))


def mirrored(mask: int) -> int:
    """The leave's mirror image."""
    return bits_of(tuple(_MIRROR[n] for n in pins_of(mask)))


def leave_name(mask: int, hand: str = "right") -> str:
    """The trade's name for a leave: its pin numbers, "3-6-10"; a left-hander's are mirrored."""
    return "-".join(str(n) for n in pins_of(mask if hand == "right" else mirrored(mask)))


def likelier(values: Array, log_odds: float) -> Array:
    """Chances with their log odds moved; 0 and 1 stay."""
    inside = np.clip(values, 1e-9, 1 - 1e-9)
    odds = inside / (1 - inside) * np.exp(log_odds)
    return np.where((values <= 0) | (values >= 1), values, odds / (1 + odds))


def _at(values: Array, boards: Array, angles_deg: Array) -> Array:
    """Bilinear values at every pair of boards and angles, edges held."""
    across = np.array([np.interp(boards, BOARDS, column) for column in values.T]).T
    return np.array([np.interp(angles_deg, ANGLES_DEG, row) for row in across])
