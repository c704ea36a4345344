"""The hands of the demo's customers as they were measured: inputs, all invented.

Spans, bridge, sizes and pitches are those the customer's balls are drilled with, read to the
thirty-second of an inch; what holes don't say, and how a hand changed, is told here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from arsenal.bag.starting_grip import sleeves_of_grip
from arsenal.demo.kinds import Ball, Drilled, Person
from arsenal.demo.people import (
    BEGINNER,
    COMEBACK,
    CORNERS,
    FULL_ROLLER,
    JUNIOR,
    LEFT,
    MATCHED,
    NINE,
    NOWHERE_YET,
    REVS,
    SENIOR,
    SPEED,
    SPORT,
    STROKER,
    TILTED,
    TWO_HANDS,
    URETHANE,
    WORN,
    YOUTH,
)
from bowlers.engine_grip import holes_of_grip, measures_of_holes
from bowlers.models import Grip

READ_TO_IN = 1 / 32


@dataclass(frozen=True)
class Hand:
    """One measuring: how long ago when the demo was first loaded, by how much both spans lay off
    those of the balls, and what else was read or said."""

    days_ago: int
    spans_off_in: float = 0.0
    said: Mapping[str, Any] = field(default_factory=dict)


INSERTS = {"middle_inside_in": 0.75, "ring_inside_in": 0.71875}
SLUG = {"thumb_hole_in": 1.25, "thumb_inside_in": 1.0}
BEVELLED = {"finger_bevel_in": 0.0625, "thumb_bevel_in": 0.125}


def _hand(days_ago: int, spans_off_in: float = 0.0, **said: Any) -> Hand:
    return Hand(days_ago, spans_off_in, said)


HANDS: dict[str, tuple[Hand, ...]] = {
    REVS.name: (_hand(40, **BEVELLED, tape_front=1, flexibility="supple", webbing="loose"),),
    SPEED.name: (_hand(31, **BEVELLED, tape_back=2, webbing="ordinary"),),
    MATCHED.name: (
        _hand(400, **INSERTS, tape_front=2, flexibility="ordinary", webbing="ordinary"),
        _hand(
            19,
            **INSERTS,
            **BEVELLED,
            tape_front=3,
            flexibility="ordinary",
            webbing="ordinary",
            thumb_lateral_in=0.0625,
            notes="Two pieces of tape by the first game, a third by the last.",
        ),
    ),
    TILTED.name: (
        _hand(
            66,
            **INSERTS,
            flexibility="stiff",
            webbing="tight",
            hurts="base of the thumb",
            hurts_words="It aches on the drive home.",
        ),
    ),
    LEFT.name: (_hand(180, **INSERTS), _hand(12, **INSERTS, **SLUG, **BEVELLED, tape_back=1)),
    TWO_HANDS.name: (
        _hand(
            25,
            middle_inside_in=0.75,
            ring_inside_in=0.75,
            finger_bevel_in=0.0625,
            notes="Palm mark in the middle of the palm as it lies on the ball.",
        ),
    ),
    JUNIOR.name: (
        _hand(290, webbing="ordinary", flexibility="supple"),
        _hand(
            10,
            0.21875,
            middle_hole_in=0.78125,
            ring_hole_in=0.78125,
            thumb_hole_in=0.84375,
            webbing="ordinary",
            flexibility="supple",
            hurts="fingers",
            hurts_words="They pinch.",
            to_change="Wider holes and longer spans, for a hand that has grown.",
        ),
    ),
    FULL_ROLLER.name: (_hand(90, flexibility="stiff", webbing="ordinary", thumb_bevel_in=0.125),),
    SENIOR.name: (
        _hand(370, webbing="tight", flexibility="stiff"),
        _hand(
            33,
            thumb_hole_in=None,
            oval_width_in=1.0,
            oval_depth_in=0.9375,
            oval_angle_deg=15.0,
            thumb_bevel_in=0.1875,
            webbing="tight",
            flexibility="stiff",
            notes="The oval takes the pinch off the knuckle.",
        ),
    ),
    CORNERS.name: (_hand(22, **BEVELLED),),
    WORN.name: (_hand(8, **BEVELLED, tape_front=1),),
    BEGINNER.name: (_hand(5, flexibility="ordinary", webbing="ordinary"),),
    NINE.name: (_hand(260), _hand(15, **BEVELLED, tape_front=2)),
    SPORT.name: (_hand(28, **INSERTS, **BEVELLED, tape_front=2, tape_back=1),),
    STROKER.name: (_hand(51, thumb_bevel_in=0.125, webbing="ordinary"),),
    COMEBACK.name: (
        _hand(540, 0.125, **INSERTS, hurts="wrist, web of the thumb"),
        _hand(
            150,
            **INSERTS,
            hurts="wrist",
            hurts_words="Only after the second game.",
            to_change="Spans an eighth shorter, and a pound less ball.",
        ),
        _hand(16, **INSERTS, **BEVELLED, notes="No pain today."),
    ),
    YOUTH.name: (_hand(44, notes="Fingers only: bare holes, palm centre marked."),),
    URETHANE.name: (_hand(73, **BEVELLED),),
    NOWHERE_YET.name: (_hand(6),),
}


def measured(person: Person, hand: Hand) -> dict[str, Any]:
    """The columns of one grip of this customer."""
    numbers = measures_of_holes(asdict(hole) for hole in person.holes)
    for name, value in numbers.items():
        if isinstance(value, float) and name.startswith(("span", "bridge")):
            off = hand.spans_off_in if name.startswith("span") else 0.0
            numbers[name] = round((value + off) / READ_TO_IN) * READ_TO_IN
    return {**numbers, "thumb": person.thumb, "fingers": person.fingers, **hand.said}


def holes_of(person: Person) -> tuple[Drilled, ...]:
    """The holes of this customer's balls, with what inserts and slug of the hand measured last put
    back into them."""
    if person.name not in HANDS:
        return person.holes
    last = Grip(**measured(person, HANDS[person.name][-1]))
    left = {hole["kind"]: hole["density_g_cm3"] for hole in holes_of_grip(last)}
    return tuple(replace(hole, density_g_cm3=left[hole.kind]) for hole in person.holes)


def sleeve_of(person: Person, hole: Drilled, ball: Ball) -> dict[str, Any]:
    """What is in a hole of this ball and how wide that is open, where the hand has such."""
    if ball.holes is not None or person.name not in HANDS:
        return {}
    last = Grip(**measured(person, HANDS[person.name][-1]))
    found = sleeves_of_grip(last).get(hole.kind, {})
    inside = found.get("inside_in")
    return found if isinstance(inside, float) and inside < hole.diameter_in else {}
