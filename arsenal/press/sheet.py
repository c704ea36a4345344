"""The drill sheet's lines: what is marked and drilled, in the order of the press, in words.

Left and right are those of somebody looking at the ball with the fingers up: on a right-hander's
ball the PAP lies to the right.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from arsenal.bag.models import Hole
from arsenal.press.models import DrillPlan, PlannedHole
from bowlers.grips.words import LEFT, RIGHT, pap_side
from bowlers.holding import Hand
from bowlers.measures import FINEST, inches, with_minus

# Fingers first, the thumb fitted to their span last (common practice, no source).
PRESS_ORDER = (Hole.Kind.MIDDLE, Hole.Kind.RING, Hole.Kind.THUMB)


@dataclass(frozen=True)
class Place:
    """A point of the ball to mark: over and up from the grip centre, with the viewer's side."""

    name: str
    over: str
    up: str
    from_grip: str


@dataclass(frozen=True)
class HoleLine:
    """One hole as the press needs it."""

    name: str
    over: str
    up: str
    place_words: str
    size: str
    lean: str
    depth: str
    forward: str
    forward_words: str
    lateral: str
    lateral_words: str
    sleeve: str
    clearance: float | None

    @property
    def short(self) -> str:
        return self.name.split()[0]


def ruler(value: float) -> str:
    """A length as a ruler shows it, to the nearest 64th: 2.609 → ``2 39/64``."""
    return inches(float(Fraction(round(abs(value) * FINEST), FINEST)))


def across(value: float, hand: str) -> str:
    """Over, with the viewer's side: ``39/64 right``."""
    if round(abs(value) * FINEST) == 0:
        return "0"
    side = pap_side(hand) if value > 0 else _other(pap_side(hand))
    return f"{ruler(value)} {side}"


def upward(value: float) -> str:
    if round(abs(value) * FINEST) == 0:
        return "0"
    return f"{ruler(value)} {'up' if value > 0 else 'down'}"


def places(numbers: Mapping[str, Any], hand: str) -> list[Place]:
    return [
        Place(
            mark["name"],
            across(mark["over_in"], hand),
            upward(mark["up_in"]),
            ruler(mark["from_grip_in"]),
        )
        for mark in numbers["marks"]
    ]


def marking_steps(plan: DrillPlan, numbers: Mapping[str, Any], hand: str) -> list[str]:
    """How to find the grip centre from the pin, step by step.

    From outside, on a right-hander's ball, the pin-to-PSA line lies clockwise of the pin-to-PAP
    line by the drilling angle, and the upper VAL clockwise of the PAP-to-pin line by the VAL
    angle; on a left-hander's ball counterclockwise. Derived from the definitions of the angles.
    """
    layout = numbers["layout"]
    right = hand != Hand.LEFT
    psa = "PSA mark" if plan.spec.intermediate_differential_in else "CG (PSA of this layout)"
    drilling, val = layout["drilling_angle_deg"], layout["val_angle_deg"]
    up = plan.pap_up_in
    steps = [
        f"Draw the line from the pin through the {psa}.",
        f"At the pin turn {_turn(not right, drilling)} from that line and go "
        f"{ruler(layout['pin_to_pap_in'])} in: the PAP.",
        f"At the PAP turn {_turn(right, val)} from the line back to the pin: the upper half of "
        "the VAL. Draw all of it.",
    ]
    if round(abs(up) * FINEST):
        way = "down" if up > 0 else "up"
        steps.append(f"Go {way} the VAL {ruler(up)} in from the PAP: the midline.")
    steps.append(
        f"From there at right angles to the VAL go {ruler(plan.pap_over_in)} in to the "
        f"{_other(pap_side(hand))}: the grip centre. The line up and down through it, parallel to "
        "the VAL there, is the centreline."
    )
    return steps


def hole_lines(plan: DrillPlan, numbers: Mapping[str, Any], hand: str) -> list[HoleLine]:
    """Every planned hole in press order."""
    holes = {hole.kind: hole for hole in plan.holes.all()}
    stored = list(plan.holes.all())
    clear = [row["clearance_in"] for row in numbers["clearance_in"]] or [None] * len(stored)
    by_kind = dict(zip((hole.kind for hole in stored), clear, strict=False))
    return [
        _line(holes[kind], by_kind.get(kind.value), hand) for kind in PRESS_ORDER if kind in holes
    ]


def _line(hole: PlannedHole, clearance: float | None, hand: str) -> HoleLine:
    forward, lateral = hole.pitch_forward_in, hole.pitch_lateral_in
    side = pap_side(hand) if lateral > 0 else _other(pap_side(hand))
    lean = ""
    if hole.longer_in:
        way = pap_side(hand) if hole.oval_angle_deg > 0 else _other(pap_side(hand))
        leans = round(hole.oval_angle_deg) != 0
        lean = f"upper end {abs(hole.oval_angle_deg):.0f}° {way}" if leans else "upright"
    sleeve = hole.opening_words or "nothing"
    if hole.sleeve and lean:
        sleeve, lean = f"{sleeve}, {lean}", ""
    return HoleLine(
        name=str(hole.get_kind_display()),
        over=across(hole.over_in, hand),
        up=upward(hole.up_in),
        place_words=f"{with_minus(hole.over_in)}, {with_minus(hole.up_in)}",
        size=hole.size_words,
        lean=lean,
        depth=inches(hole.depth_in),
        forward=_pitch(forward, "forward", "reverse"),
        forward_words="" if not forward else _bottom("toward" if forward > 0 else "away from"),
        lateral=_pitch(lateral, side, side),
        lateral_words="" if not lateral else f"bottom to your {side}",
        sleeve=f"{sleeve[:1].upper()}{sleeve[1:]}" if hole.sleeve else sleeve,
        clearance=clearance,
    )


def _bottom(way: str) -> str:
    return f"bottom {way} the palm"


def _pitch(value: float, plus: str, minus: str) -> str:
    return f"{inches(abs(value))} {plus if value > 0 else minus}" if value else "0"


def _turn(clockwise: bool, degrees: float) -> str:
    if degrees < 0:
        clockwise, degrees = not clockwise, -degrees
    return f"{degrees:.1f}° {'clockwise' if clockwise else 'counterclockwise'}"


def _other(side: str) -> str:
    return LEFT if side == RIGHT else RIGHT


STATIC_WORDS = {
    "top_oz": ("top", "Top (− bottom)"),
    "side_oz": ("side", "PAP side (− other)"),
    "finger_oz": ("finger", "Fingers (− thumb)"),
}


def static_lines(numbers: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Each static as expected, beside its limit; a limit from memory carries a star."""
    rows = {row["quantity"]: row for row in numbers["check"]}
    found = []
    for quantity, (key, words) in STATIC_WORDS.items():
        row = rows.get(quantity)
        limit = "none"
        if row:
            star = " *" if row["from_memory"] else " (house)" if row["status"] == "house" else ""
            limit = row["limit"].removeprefix("not more than ") + star
        found.append(
            {
                "words": words,
                "expected": numbers["static_oz"][key],
                "limit": limit,
                "fails": bool(row and row["fails"]),
                "by": row["by"] if row else "",
            }
        )
    return found


def other_rules(numbers: Mapping[str, Any]) -> dict[str, Any]:
    """The other rules: broken, kept, and those nobody measured for."""
    rows = [row for row in numbers["check"] if row["quantity"] not in STATIC_WORDS]
    return {
        "fails": [row for row in rows if row["fails"]],
        "passes": [row for row in rows if row["known"] and not row["fails"]],
        "open": [row for row in rows if not row["known"]],
        "memory": any(row["from_memory"] for row in numbers["check"]),
    }


def minds(found: list[str], numbers: Mapping[str, Any]) -> list[str]:
    """What is to be minded that the sheet doesn't say elsewhere."""
    said = {row["words"].casefold() for row in numbers["check"] if row["fails"]}
    return [words for words in found if words.rstrip(".").casefold() not in said]
