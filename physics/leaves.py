"""Leaves in the trade's names, and what a leave says of where the ball met the pins.

A leave is written by its pins, lowest first, with hyphens: ``10``, ``4-9``, ``5-7``. Pins are
numbered for a right-hander's eye; a left-hander's leave is mirrored before it is read.
"""

import math
import re

from numba import njit

from physics.errors import InputError
from physics.pins import bits_of, leave_name

# The three places on the head pin a leave can speak of, in the order of the entry board.
LIGHT, POCKET, HIGH = range(3)
FAMILIES = ("light", "pocket", "high")

# Right-hander's leaves by what the trade reads in them (trade articles and common practice, no
# single source). A leave that isn't here says nothing.
_LEAVES = {
    LIGHT: (
        "5", "5-7", "8-10", "5-7-10", "2", "2-8", "2-10", "2-8-10", "2-4-5", "2-4-5-8",
        "1-2-10", "1-2-4-10", "1-2-4", "1-2",
    ),
    POCKET: ("10", "8", "7", "7-10", "8-9"),
    HIGH: (
        "4", "9", "4-9", "6-7-9-10", "3-10", "3-6-10", "4-6", "4-6-7-10", "6-7-10", "4-10", "6-7",
        "4-7-10", "4-6-7", "4-6-7-9-10", "4-7", "3-6-7-10", "6-7-9",
    ),
}  # fmt: skip
_FAMILY_OF = {leave: family for family, leaves in _LEAVES.items() for leave in leaves}

# High past board 18.5, pocket 17-18, light under 16.5 (trade article on reading leaves): the
# thresholds are the middles of what lies between, and how softly one turns into the other is an
# estimate, about the half board to which anybody sees where a ball went in.
LIGHT_UNDER_BOARD, HIGH_OVER_BOARD, SOFT_BOARDS = 16.75, 18.25, 0.45
# A leave is what another place would have left too, now and then, or is misread: an estimate.
MISREAD = 0.10


def pins_of(text: str) -> tuple[int, ...]:
    """The pins of a leave as it is written, lowest first; InputError if it isn't one."""
    allowed = "pins 1 to 10 with hyphens, like 10, 4-9 or 5-7"
    if not re.fullmatch(r"\d{1,2}(-\d{1,2})*", text):
        raise InputError("leaves", text, allowed)
    pins = tuple(sorted(int(pin) for pin in text.split("-")))
    if len(set(pins)) != len(pins) or not all(1 <= pin <= 10 for pin in pins):
        raise InputError("leaves", text, f"{allowed}, each pin once")
    return pins


def family_of(text: str, hand: str) -> int | None:
    """LIGHT, POCKET or HIGH; None for a leave that says nothing of the entry."""
    return _FAMILY_OF.get(leave_name(bits_of(pins_of(text)), hand))


@njit(nogil=True, cache=True, error_model="numpy")
def leave_chance(board, angle_deg):  # type: ignore[no-untyped-def]
    """Chances that a ball which left something left one of each family: light, pocket, high.

    ``board``: own-side board at the head pin's row, ``angle_deg``: entry angle (not used by this
    first form: soft thresholds on the board). They add up to one.
    """
    light = 1.0 / (1.0 + math.exp(min(40.0, max(-40.0, (board - LIGHT_UNDER_BOARD) / SOFT_BOARDS))))
    high = 1.0 / (1.0 + math.exp(min(40.0, max(-40.0, (HIGH_OVER_BOARD - board) / SOFT_BOARDS))))
    pocket = max(0.0, 1.0 - light - high)
    known, any_of_three = 1.0 - MISREAD, MISREAD / 3.0
    return known * light + any_of_three, known * pocket + any_of_three, known * high + any_of_three
