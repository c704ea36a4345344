"""The door of grips to the numeric package: measures in, holes out, and back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from bowlers.grips.models import Grip, SpanEdge
from bowlers.holding import Thumb
from bowlers.models import Bowler
from physics import grip as hand
from physics.body import Hole
from physics.errors import InputError

# A ten-thousandth of an inch: finer than any press.
PLACES = 4
# Left out of a round hole.
OF_AN_OVAL = ("longer_in", "oval_angle_deg")


def grip_in_use(bowler: Bowler) -> Grip | None:
    """The newest grip measured for how this customer holds a ball today, or None."""
    held: Grip | None = (
        bowler.grips.held_as(thumb=bowler.thumb, fingers=bowler.fingers).newest_first().first()
    )
    return held


def holes_of_grip(grip: Grip) -> list[dict[str, Any]]:
    """The holes that put this grip in a ball; raises InputError naming what doesn't fit."""
    return [
        {
            "kind": kind,
            **{
                name: round(value, PLACES)
                for name, value in asdict(hole).items()
                if value or name not in OF_AN_OVAL
            },
        }
        for kind, hole in hand.holes(_numbers(grip)).items()
    ]


def measures_of_holes(holes: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """A ball's holes as the measures of a grip, by the grip's field names.

    Raises InputError when a finger hole is missing.
    """
    drilled = {
        hole["kind"]: Hole(**{name: float(v) for name, v in hole.items() if name != "kind"})
        for hole in holes
    }
    found = hand.measured(drilled)
    numbers: dict[str, Any] = {
        "thumb": Thumb.IN if found.thumb else Thumb.NONE,
        "span_edge": SpanEdge.DRILLED,
        "span_middle_in": found.span_middle_in,
        "span_ring_in": found.span_ring_in,
        "bridge_in": found.bridge_in,
    }
    for kind in ("middle", "ring", "thumb"):
        digit: hand.Digit | None = getattr(found, kind)
        if digit is not None:
            numbers |= {
                f"{kind}_hole_in": digit.hole_in or digit.drilled_in,
                f"{kind}_depth_in": digit.depth_in,
                f"{kind}_forward_in": digit.pitch_forward_in,
                f"{kind}_lateral_in": digit.pitch_lateral_in,
            }
        if kind == "thumb" and digit is not None and digit.oval_in:
            width, depth = digit.oval_in
            oval = {"oval_width_in": width, "oval_depth_in": depth}
            numbers |= oval | {"thumb_hole_in": None, "oval_angle_deg": digit.oval_angle_deg}
    return {n: round(v, PLACES) if isinstance(v, float) else v for n, v in numbers.items()}


def spans_both_ways(grip: Grip) -> dict[str, tuple[float, float]]:
    """Both spans, middle and ring finger, between the holes as drilled and where the hand rests."""
    numbers = _numbers(grip)
    return {
        edge.value: (round(g.span_middle_in, PLACES), round(g.span_ring_in, PLACES))
        for edge, g in (
            (SpanEdge.DRILLED, numbers.as_drilled()),
            (SpanEdge.HELD, numbers.as_held()),
        )
    }


def on_map(over_in: float, up_in: float) -> tuple[float, float]:
    """A point of the ball on the flat map about the grip centre, inches over and up."""
    return hand.on_map(over_in, up_in)


def _numbers(grip: Grip) -> hand.Grip:
    thumb = None
    if grip.thumb != Thumb.NONE:
        oval = None
        if grip.oval_width_in is not None and grip.oval_depth_in is not None:
            oval = (grip.oval_width_in, grip.oval_depth_in)
        if grip.thumb_depth_in is None or (grip.thumb_hole_in is None and oval is None):
            raise InputError("thumb_hole_in", grip.thumb_hole_in, "the size and depth of its hole")
        thumb = _digit(grip, "thumb", oval)
    return hand.Grip(
        span_middle_in=grip.span_middle_in,
        span_ring_in=grip.span_ring_in,
        bridge_in=grip.bridge_in,
        middle=_digit(grip, "middle"),
        ring=_digit(grip, "ring"),
        thumb=thumb,
        finished=grip.span_edge == SpanEdge.HELD,
    )


def _digit(grip: Grip, kind: str, oval: tuple[float, float] | None = None) -> hand.Digit:
    return hand.Digit(
        hole_in=getattr(grip, f"{kind}_hole_in"),
        depth_in=getattr(grip, f"{kind}_depth_in"),
        inside_in=getattr(grip, f"{kind}_inside_in"),
        pitch_forward_in=getattr(grip, f"{kind}_forward_in"),
        pitch_lateral_in=getattr(grip, f"{kind}_lateral_in"),
        oval_in=oval,
        oval_angle_deg=grip.oval_angle_deg if oval else 0.0,
    )
