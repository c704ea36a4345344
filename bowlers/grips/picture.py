"""A grip drawn as it is seen: the ball with the fingers up, on a flat map about the grip centre.

Distances and directions from the grip centre are true. An arrow shows which way the bottom of a
hole leans, three times as long as the pitch. A left-hander's drawing is the mirror image of a
right-hander's with the same numbers.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bowlers.engine_grip import holes_of_grip, on_map
from bowlers.grips.measures import DIGITS, HOLE_WORDS
from bowlers.grips.models import Grip
from bowlers.grips.words import told
from bowlers.holding import Hand, Thumb

UNITS_AN_IN = 60.0
ARROW_SCALE = 3.0
# Shorter arrows than this can't be seen to point anywhere.
SHORTEST_ARROW = 3.0
HEAD = 7.0
MARGIN = 34.0
LABEL = 17.0


@dataclass(frozen=True)
class Arrow:
    """From a hole's middle the way its bottom leans; ``head`` is the tip's three corners."""

    x: float
    y: float
    head: str


@dataclass(frozen=True)
class Drawn:
    """One hole: middle, radii and turn of its outline, what is inside it, and its arrow."""

    kind: str
    word: str
    x: float
    y: float
    rx: float
    ry: float
    turn_deg: float
    inside: float | None
    label_x: float
    label_y: float
    arrow: Arrow | None


@dataclass(frozen=True)
class SpanLine:
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True)
class Picture:
    """The drawing in its own units, x to the viewer's right and y down."""

    holes: list[Drawn]
    spans: list[SpanLine]
    left: float
    top: float
    width: float
    height: float
    right: float
    bottom: float
    pap_x: float
    pap_anchor: str
    has_thumb: bool
    words: str


def picture(grip: Grip, hand: str) -> Picture:
    """Raises InputError when no ball could be drilled like this."""
    side = -1.0 if hand == Hand.LEFT else 1.0
    holes = {hole["kind"]: hole for hole in holes_of_grip(grip)}
    drawn = [_drawn(grip, hole, side) for hole in holes.values()]
    at = {hole.kind: hole for hole in drawn}
    end = at.get("thumb")
    spans = [_span(at[kind], end) for kind in ("middle", "ring")]
    reach = max(abs(hole.x) + hole.rx for hole in drawn) + MARGIN
    top = min(hole.y - hole.rx for hole in drawn) - MARGIN
    bottom = max([hole.y + hole.rx for hole in drawn] + [0.0]) + MARGIN
    return Picture(
        holes=drawn,
        spans=spans,
        left=round(-reach, 1),
        top=round(top, 1),
        width=round(2 * reach, 1),
        height=round(bottom - top, 1),
        right=round(reach, 1),
        bottom=round(bottom, 1),
        pap_x=round(side * (reach - 4), 1),
        pap_anchor="end" if side > 0 else "start",
        has_thumb=end is not None,
        words=described(grip, hand),
    )


def described(grip: Grip, hand: str) -> str:
    """The drawing in a sentence for each hole, for those who can't see it."""
    said = []
    for kind, word in HOLE_WORDS.items():
        if kind == "thumb" and grip.thumb == Thumb.NONE:
            continue
        _, _, _, palm, side = DIGITS[kind]
        along = told(palm, getattr(grip, palm.name), hand)
        across = told(side, getattr(grip, side.name), hand)
        said.append(f"{word}: pitch {along}, sideways {across}.")
    if grip.thumb == Thumb.NONE:
        said.append("No thumb: the palm mark is the grip centre.")
    return " ".join(said)


def _drawn(grip: Grip, hole: Mapping[str, Any], side: float) -> Drawn:
    kind = hole["kind"]
    over, up = on_map(hole["over_in"], hole["up_in"])
    x, y = side * over * UNITS_AN_IN, -up * UNITS_AN_IN
    rx = ry = hole["diameter_in"] / 2 * UNITS_AN_IN
    turn, inside = 0.0, getattr(grip, f"{kind}_inside_in")
    if kind == "thumb" and grip.oval_width_in and grip.oval_depth_in:
        # Width along the ellipse's own x axis: upright is a quarter turn from there.
        rx, ry = (v / 2 * UNITS_AN_IN for v in (grip.oval_width_in, grip.oval_depth_in))
        turn = -90 + side * grip.oval_angle_deg
    return Drawn(
        kind=kind,
        word=HOLE_WORDS[kind].split()[0],
        x=round(x, 1),
        y=round(y, 1),
        rx=round(rx, 1),
        ry=round(ry, 1),
        turn_deg=round(turn, 1),
        inside=None if inside is None else round(inside / 2 * UNITS_AN_IN, 1),
        label_x=round(x, 1),
        label_y=round(y + max(rx, ry) + LABEL if kind == "thumb" else y - max(rx, ry) - 6, 1),
        arrow=_arrow(over, up, x, y, hole, side),
    )


def _arrow(
    over: float, up: float, x: float, y: float, hole: Mapping[str, Any], side: float
) -> Arrow | None:
    """Forward is straight to the centre of the map; lateral is at right angles, to the PAP."""
    away = math.hypot(over, up)
    if not away:
        return None
    to_x, to_y = -over / away, -up / away
    across = (-to_y, to_x) if -to_y > 0 else (to_y, -to_x)
    forward, lateral = hole["pitch_forward_in"], hole["pitch_lateral_in"]
    dx = side * (forward * to_x + lateral * across[0]) * ARROW_SCALE * UNITS_AN_IN
    dy = -(forward * to_y + lateral * across[1]) * ARROW_SCALE * UNITS_AN_IN
    long = math.hypot(dx, dy)
    if long < SHORTEST_ARROW:
        return None
    tip_x, tip_y, ux, uy = x + dx, y + dy, dx / long, dy / long
    corners = (
        (tip_x, tip_y),
        (tip_x - HEAD * ux - HEAD * uy / 2, tip_y - HEAD * uy + HEAD * ux / 2),
        (tip_x - HEAD * ux + HEAD * uy / 2, tip_y - HEAD * uy - HEAD * ux / 2),
    )
    head = " ".join(f"{cx:.1f},{cy:.1f}" for cx, cy in corners)
    return Arrow(round(tip_x, 1), round(tip_y, 1), head)


def _span(finger: Drawn, thumb: Drawn | None) -> SpanLine:
    """Between the edges nearest each other, or from a finger's edge to the palm mark."""
    end_x, end_y, end_edge = (thumb.x, thumb.y, thumb.rx) if thumb else (0.0, 0.0, 0.0)
    long = math.hypot(end_x - finger.x, end_y - finger.y)
    ux, uy = (end_x - finger.x) / long, (end_y - finger.y) / long
    return SpanLine(
        x1=round(finger.x + ux * finger.rx, 1),
        y1=round(finger.y + uy * finger.rx, 1),
        x2=round(end_x - ux * end_edge, 1),
        y2=round(end_y - uy * end_edge, 1),
    )
