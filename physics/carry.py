"""Carry: the chance of a strike from where, how steeply and how fast the ball meets the pins.

An estimate, kept behind the signature that a table of simulated pins will fill. It is built from
the published optimum (entry at boards 17-18, 4-6 degrees, six best: governing-body engineers) and
the geometry of two discs meeting: the head pin must leave along the line it leaves on at that
optimum, about half a degree short of the row of pins behind it. How much it misses by, how wide
the forgiving zone is at each angle, and the level are read off a study of ten pins in a rigid-body
engine: smeared over 0.6 board of aim the estimate follows that study's best strike rate within 0.03
from three degrees up. At 1-2 degrees the study strikes too often, so up to 0.06 less is given.
"""

import math
from dataclasses import astuple, dataclass

from numba import njit

from physics.units import BOARD_M, CENTRE_BOARD, IN_TO_M


@dataclass(frozen=True)
class Pins:
    """What the carry estimate depends on; every number an estimate but the geometry.

    ``contact_m``: distance of ball and pin centres at contact. ``aim_deg``: direction of the head
    pin, from straight down-lane to the left, that carries best. ``best``: chance at the optimum.
    ``width_deg``: error of that direction at which chance falls by 1 - 1/sqrt(e), at no angle, and
    ``width_per_deg`` how it widens with angle. ``full_angle_deg``: entry angle that carries best;
    ``flat_share``: share of the best that is left at no angle. ``slow_mph``: entry speed under
    which pins begin to be left standing.
    """

    contact_m: float = (4.2975 + 2.383) * IN_TO_M
    aim_deg: float = 29.507
    best: float = 0.96
    width_deg: float = 9.0
    width_per_deg: float = 0.7
    full_angle_deg: float = 6.0
    flat_share: float = 0.72
    slow_mph: float = 12.0

    def numbers(self) -> tuple[float, ...]:
        return astuple(self)


@njit(nogil=True, cache=True, error_model="numpy")
def strike_chance(board, angle_deg, speed_mph, pins):  # type: ignore[no-untyped-def]
    """Chance of a strike, 0 to 1.

    ``board``: own-side board of the ball's centre as it passes the head pin's row; ``angle_deg``:
    direction of travel from straight down-lane, positive away from the ball-hand side;
    ``pins``: :meth:`Pins.numbers`. Zero where the ball doesn't touch the head pin on its own side.
    """
    contact, aim, best, width, width_per, full, flat, slow = pins
    offset = (CENTRE_BOARD - board) * BOARD_M
    reach = offset * math.cos(math.radians(angle_deg)) / contact
    if abs(reach) >= 1.0:
        return 0.0
    head_pin_deg = math.degrees(math.asin(reach)) + angle_deg
    wide = width + width_per * max(0.0, min(angle_deg, full))
    miss = (head_pin_deg - aim) / wide
    # Flatter-topped than a bell: near the optimum a board either way costs little.
    where = math.exp(-0.5 * miss * miss * (0.5 + 0.5 * min(1.0, miss * miss)))
    lacking = (full - angle_deg) / full
    steep = 1.0 - (1.0 - flat) * max(0.0, lacking) ** 1.5 if lacking < 1.0 else flat
    if angle_deg > full + 2.0:
        steep -= 0.06 * (angle_deg - full - 2.0)
    drive = 1.0 if speed_mph >= slow else max(0.0, 1.0 - 0.05 * (slow - speed_mph))
    return best * where * max(0.0, steep) * drive
