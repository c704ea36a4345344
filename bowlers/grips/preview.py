"""What is shown beside a grip while it is typed: drawing, questions, starting points."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bowlers.engine_grip import spans_both_ways
from bowlers.grips.measures import BY_NAME, SPANS
from bowlers.grips.models import Grip, SpanEdge
from bowlers.grips.picture import Picture, picture
from bowlers.grips.questions import questions
from bowlers.grips.starting import Start, starts
from bowlers.grips.words import sized
from bowlers.holding import Thumb
from physics.errors import InputError

NOT_YET = "Enter both spans, the bridge and the holes’ sizes and depths to see it drawn."


@dataclass(frozen=True)
class Preview:
    """``wanting`` says why there is no drawing."""

    picture: Picture | None
    wanting: str
    other_spans: str
    questions: list[str]
    starts: list[tuple[str, Start]]


def preview(grip: Grip, hand: str) -> Preview:
    """Of a grip that may be half typed: numbers not there yet are None."""
    span = None
    if grip.span_middle_in is not None and grip.span_ring_in is not None:
        span = (grip.span_middle_in + grip.span_ring_in) / 2
    begin = starts(grip.fingers, thumb=grip.thumb != Thumb.NONE, span_in=span)
    drawn, wanting, other = None, NOT_YET, ""
    if _drawable(grip):
        try:
            drawn, wanting = picture(grip, hand), ""
            other = _other_spans(grip)
        except InputError as error:
            name = BY_NAME[error.field].label if error.field in BY_NAME else "The grip"
            wanting = f"Not drawn: {name} must be {error.allowed}."
    return Preview(
        picture=drawn,
        wanting=wanting,
        other_spans=other,
        questions=questions(grip, hand),
        starts=[(BY_NAME[start.name].label, start) for start in begin],
    )


def half_typed(grip: Grip, numbers: Mapping[str, Any]) -> Grip:
    """The grip with the numbers a form starts from."""
    for name, value in numbers.items():
        setattr(grip, name, value)
    return grip


def _drawable(grip: Grip) -> bool:
    needed = ["span_middle_in", "span_ring_in", "bridge_in"]
    needed += [f"{kind}_{what}_in" for kind in ("middle", "ring") for what in ("hole", "depth")]
    if grip.thumb != Thumb.NONE:
        needed.append("thumb_depth_in")
        if not (grip.oval_width_in and grip.oval_depth_in):
            needed.append("thumb_hole_in")
    return all(getattr(grip, name) is not None for name in needed)


def _other_spans(grip: Grip) -> str:
    """The spans between the other pair of edges, when they differ."""
    both = spans_both_ways(grip)
    other = SpanEdge.HELD if grip.span_edge == SpanEdge.DRILLED else SpanEdge.DRILLED
    if both[other] == both[grip.span_edge]:
        return ""
    middle, ring = (sized(SPANS[0], value) for value in both[other])
    where = (
        "where finger and thumb rest" if other == SpanEdge.HELD else "between the holes as drilled"
    )
    return f"The same spans {where}: middle finger {middle}, ring finger {ring}."
