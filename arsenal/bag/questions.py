"""What is possible of a ball's grip and label but unusual: asked about, and kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from arsenal.bag.models import OwnedBall
from arsenal.bag.starting_grip import holes_of
from bowlers.engine_grip import measures_of_holes
from bowlers.grips import starting
from bowlers.grips.measures import BY_NAME
from bowlers.grips.models import Grip
from bowlers.grips.questions import questions
from bowlers.grips.words import told
from physics.errors import InputError

if TYPE_CHECKING:
    from arsenal.press.models import DrillPlan

# A pitch this far from where thumbs of the span mostly are, on the other side, is asked about.
TURNED_IN = 0.1875


def asked_about(ball: OwnedBall | DrillPlan) -> list[str]:
    """Each unusual number of a ball's grip and label as a question, or of a plan's."""
    found = []
    if not ball.top_weight_oz and ball.pin_to_cg_in:
        found.append(
            "Top weight is 0, so the CG lies in the middle and has no mark: is the top weight "
            "known, or is it still to be weighed?"
        )
    try:
        measures = measures_of_holes(holes_of(ball))
    except InputError:
        return found  # Without both fingers there is no grip to ask about.
    grip = Grip(**_of_a_ball(measures), fingers=ball.bowler.fingers)
    hand = ball.bowler.hand
    return found + _turned_round(grip, hand) + questions(grip, hand)


def _turned_round(grip: Grip, hand: str) -> list[str]:
    """A thumb pitched the other way than those of its span mostly are (common practice)."""
    pitch = grip.thumb_forward_in
    start = starting.thumb_pitch_start((grip.span_middle_in + grip.span_ring_in) / 2)
    if start is None or not start.value or pitch * start.value >= 0:
        return []
    if abs(pitch - start.value) < TURNED_IN:
        return []
    measure = BY_NAME["thumb_forward_in"]
    return [
        f"The thumb leans {told(measure, pitch, hand)}; at this span most lean "
        f"{start.words.split(',')[0]}: is the pitch the right way round?"
    ]


def _of_a_ball(measures: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in measures.items() if name in _FIELDS}


_FIELDS = {field.name for field in Grip._meta.concrete_fields}
