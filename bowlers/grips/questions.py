"""What is possible but out of family, asked about and kept."""

from __future__ import annotations

from bowlers.grips import starting
from bowlers.grips.measures import MEASURES, OF_THE_THUMB, SPANS
from bowlers.grips.models import Grip
from bowlers.grips.words import sized, told
from bowlers.holding import Thumb


def questions(grip: Grip, hand: str) -> list[str]:
    """Each unusual number of a grip as a question."""
    thumb = grip.thumb != Thumb.NONE
    found = []
    for measure in MEASURES:
        value = getattr(grip, measure.name)
        if value is None or measure.usual is None or (not thumb and measure.name in OF_THE_THUMB):
            continue
        if not measure.usual[0] <= value <= measure.usual[1]:
            found.append(f"{measure.label} {told(measure, value, hand)}: is that right?")
    usual = starting.USUAL_SPANS.get(grip.fingers) if thumb else None
    for measure in SPANS if usual else ():
        value = getattr(grip, measure.name)
        if value is not None and usual and not usual[0] <= value <= usual[1]:
            found.append(f"{measure.label} {sized(measure, value)}: is that right?")
    if grip.span_middle_in is not None and grip.span_ring_in is not None:
        apart = abs(grip.span_middle_in - grip.span_ring_in)
        if apart > starting.USUAL_SPANS_APART_IN + 1e-9:
            found.append(f"Spans {sized(SPANS[0], apart)} apart: is that right?")
    if thumb and grip.oval_width_in is not None and grip.oval_depth_in is not None:
        wider = grip.oval_width_in - grip.oval_depth_in
        if wider > starting.USUAL_OVAL_IN + 1e-9:
            found.append(f"Oval {sized(SPANS[0], wider)} wider than deep: is that right?")
    return found
