"""A grip's numbers in words, as somebody looking at the ball with the fingers up sees them.

Stored signs are the grip frame's, the same for either hand; left and right are the viewer's, so
they alone turn with the hand: the PAP lies to the viewer's right on a right-hander's ball.
"""

from __future__ import annotations

from bowlers.grips.measures import PALM, Measure
from bowlers.holding import Hand
from bowlers.measures import inches, with_minus

LEFT, RIGHT = "left", "right"
TOWARD, AWAY = "toward", "away"
PALM_WORDS = {TOWARD: "toward the palm", AWAY: "away from the palm"}
SIDE_WORDS = {LEFT: "to your left", RIGHT: "to your right"}


def pap_side(hand: str) -> str:
    """The viewer's side on which the PAP lies."""
    return LEFT if hand == Hand.LEFT else RIGHT


def way_of(measure: Measure, value: float, hand: str) -> str:
    """The direction of a pitch or of the oval's lean; empty for none."""
    if not value or not measure.way:
        return ""
    if measure.way == PALM:
        return TOWARD if value > 0 else AWAY
    return pap_side(hand) if value > 0 else _other(pap_side(hand))


def signed(measure: Measure, size: float, way: str, hand: str) -> float:
    """The stored number of a size and a direction."""
    plus = TOWARD if measure.way == PALM else pap_side(hand)
    return size if not size or way == plus else -size


def way_words(measure: Measure, way: str) -> str:
    return PALM_WORDS[way] if measure.way == PALM else SIDE_WORDS[way]


def told(measure: Measure, value: float | None, hand: str) -> str:
    """A measure in words: ``1/8 in toward the palm``, ``31/32 in``; a dash when not taken."""
    if value is None:
        return "—"
    size = sized(measure, abs(value) if measure.way else value)
    if not measure.way:
        return size
    if not value:
        return "none" if measure.unit == "in" else "along the centreline"
    way = way_words(measure, way_of(measure, value, hand))
    return f"{size} {way}"


def sized(measure: Measure, value: float) -> str:
    if measure.unit == "in":
        return f"{inches(value)} in"
    if measure.unit == "°":
        return f"{with_minus(value)}°"
    return f"{value:g}"


def change_told(measure: Measure, then: float | None, now: float | None, hand: str) -> str:
    """What changed since: ``+1/16 in``, ``1/16 in further to your left``; empty when the same."""
    if then is None or now is None:
        return "" if then == now else "newly measured" if then is None else "not measured now"
    moved = round(now - then, 4)
    if not moved:
        return "no change"
    if not measure.way:
        return f"{'+' if moved > 0 else '−'}{sized(measure, abs(moved))}"
    size, way = sized(measure, abs(moved)), way_words(measure, way_of(measure, moved, hand))
    return f"{size} further {way}"


def _other(side: str) -> str:
    return LEFT if side == RIGHT else RIGHT
