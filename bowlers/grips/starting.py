"""Where a number of a grip may start when nothing better is known, and where that comes from.

A table to edit, not law: each row says its source. The customer's hand, and the grip in hand when
it doesn't hurt, come first. Spans have no start: they are measured.
"""

from __future__ import annotations

from dataclasses import dataclass

from bowlers.holding import Fingers
from bowlers.measures import inches

COMMON = "common practice, no source"
BY_SPAN = (
    "trade articles at spans of 4 in and 4 1/4 in; the rest continued from those two, "
    "so common practice, no source"
)


@dataclass(frozen=True)
class Start:
    """A starting value, or a usual range, of one measure."""

    name: str
    words: str
    source: str
    value: float | None = None


# Middle of the usual depths 1 1/2–2, 2–2 1/2 and 2 1/2–3 in; bridges and an insert's hole.
BY_FINGERS: dict[str, tuple[Start, ...]] = {
    Fingers.FINGERTIP: (
        Start("bridge_in", "1/4 in", COMMON, 0.25),
        Start("middle_hole_in", "31/32 in, for an insert", COMMON, 0.96875),
        Start("ring_hole_in", "31/32 in, for an insert", COMMON, 0.96875),
        Start("middle_depth_in", "1 1/2 to 2 in", COMMON, 1.75),
        Start("ring_depth_in", "1 1/2 to 2 in", COMMON, 1.75),
        Start("middle_forward_in", "1/4 in away from the palm to 3/8 in toward it", COMMON),
        Start("ring_forward_in", "1/4 in away from the palm to 3/8 in toward it", COMMON),
        Start("middle_lateral_in", "up to 1/8 in", COMMON),
        Start("ring_lateral_in", "up to 1/8 in", COMMON),
    ),
    Fingers.SEMI: (),
    Fingers.CONVENTIONAL: (
        Start("bridge_in", "3/8 in", COMMON, 0.375),
        Start("middle_depth_in", "2 to 2 1/2 in", COMMON, 2.25),
        Start("ring_depth_in", "2 to 2 1/2 in", COMMON, 2.25),
    ),
}
FOR_EVERYBODY = (Start("finger_bevel_in", "1/32 to 1/16 in", COMMON),)
OF_A_THUMB = (
    Start("thumb_depth_in", "2 1/2 to 3 in", COMMON, 2.75),
    Start("thumb_inside_in", "3/4 to 1 1/8 in", COMMON),
    Start("thumb_bevel_in", "more at the front and the web than at the back", COMMON),
    Start("oval_width_in", "1/32 to 1/8 in more than its depth", COMMON),
)
# Pitch of the thumb by span, inches: plus is toward the palm.
THUMB_PITCH_BY_SPAN: dict[float, float] = {
    3.75: 0.25,
    3.875: 0.1875,
    4.0: 0.125,
    4.125: 0.0625,
    4.25: 0.0,
    4.375: -0.0625,
    4.5: -0.125,
    4.625: -0.1875,
    4.75: -0.25,
    5.0: -0.375,
}
# Usual spans by kind of grip, inches, with the thumb in.
USUAL_SPANS: dict[str, tuple[float, float]] = {
    Fingers.FINGERTIP: (3.5, 5.0),
    Fingers.CONVENTIONAL: (2.5, 4.0),
}
# Between spans further apart than this somebody should look again; an oval's width less its depth.
USUAL_SPANS_APART_IN, USUAL_OVAL_IN = 0.25, 0.125


def starts(fingers: str, *, thumb: bool, span_in: float | None = None) -> list[Start]:
    """The starting points for this kind of grip, the thumb's pitch by its span if it is known."""
    found = [*BY_FINGERS.get(fingers, ()), *FOR_EVERYBODY]
    if thumb:
        found += OF_A_THUMB
        if span_in is not None and (pitch := thumb_pitch_start(span_in)):
            found.append(pitch)
    return found


def thumb_pitch_start(span_in: float) -> Start | None:
    """The thumb's pitch for the nearest span of the table; None beyond its ends."""
    nearest = min(THUMB_PITCH_BY_SPAN, key=lambda span: abs(span - span_in))
    if abs(nearest - span_in) > 0.125:
        return None
    pitch = THUMB_PITCH_BY_SPAN[nearest]
    way = "toward the palm" if pitch > 0 else "away from the palm"
    words = f"{inches(abs(pitch))} in {way}" if pitch else "none: aims at the centre"
    return Start("thumb_forward_in", f"{words}, at a span of {inches(nearest)} in", BY_SPAN, pitch)


def prefilled(fingers: str, *, thumb: bool) -> dict[str, float]:
    """Values an empty form may start with: the middle of each usual range that has one."""
    found = starts(fingers, thumb=thumb)
    return {start.name: start.value for start in found if start.value is not None}
