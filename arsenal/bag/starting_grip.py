"""The holes of a customer's grip: as measured, else as in their newest ball, else a start.

The numbers of the start are common practice, no source. The customer's hand is measured before
anything is drilled.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NotRequired, TypedDict, cast

from django.utils.formats import date_format

from arsenal.bag.models import GripHole, OwnedBall
from bowlers.engine_grip import grip_in_use, holes_of_grip
from bowlers.holding import Fingers, Thumb
from bowlers.models import Grip
from physics.errors import InputError

if TYPE_CHECKING:
    from arsenal.press.models import DrillPlan
    from bowlers.models import Bowler


class HoleNumbers(TypedDict):
    """One hole as the form and the engine name it; an oval has its two numbers more."""

    kind: str
    over_in: float
    up_in: float
    diameter_in: float
    depth_in: float
    pitch_forward_in: float
    pitch_lateral_in: float
    density_g_cm3: float
    longer_in: NotRequired[float]
    oval_angle_deg: NotRequired[float]


@dataclass(frozen=True)
class _Usual:
    """A plain grip of one kind: one span for both fingers, the bridge, and the fingers' holes."""

    span_in: float
    bridge_in: float
    finger_in: tuple[float, float]
    thumb_forward_in: float


# Spans and bridges edge to edge, holes across and deep; the pitches of a thumb.
USUAL: dict[str, _Usual] = {
    Fingers.FINGERTIP: _Usual(4.25, 0.25, (0.96875, 1.75), 0.0),
    Fingers.SEMI: _Usual(3.75, 0.3125, (0.90625, 2.0), 0.25),
    Fingers.CONVENTIONAL: _Usual(3.25, 0.375, (0.875, 2.25), 0.25),
}
THUMB_IN = (1.0, 2.75)


def starting_holes(fingers: str, thumb: str) -> list[HoleNumbers]:
    """A starting grip for this kind of grip; without a thumb hole when the thumb stays out."""
    usual = USUAL.get(fingers, USUAL[Fingers.FINGERTIP])
    across, deep = usual.finger_in
    grip = Grip(
        thumb=Thumb.IN,
        span_middle_in=usual.span_in,
        span_ring_in=usual.span_in,
        bridge_in=usual.bridge_in,
        middle_hole_in=across,
        middle_depth_in=deep,
        ring_hole_in=across,
        ring_depth_in=deep,
        thumb_hole_in=THUMB_IN[0],
        thumb_depth_in=THUMB_IN[1],
        thumb_forward_in=usual.thumb_forward_in,
    )
    holes = cast("list[HoleNumbers]", holes_of_grip(grip))
    return [hole for hole in holes if thumb != Thumb.NONE or hole["kind"] != "thumb"]


def holes_of(ball: OwnedBall | DrillPlan) -> list[HoleNumbers]:
    """The holes of a ball or of a plan as numbers."""
    return [hole_numbers(hole) for hole in ball.holes.all()]


def hole_numbers(hole: GripHole) -> HoleNumbers:
    found: HoleNumbers = {
        "kind": hole.kind,
        "over_in": hole.over_in,
        "up_in": hole.up_in,
        "diameter_in": hole.diameter_in,
        "depth_in": hole.depth_in,
        "pitch_forward_in": hole.pitch_forward_in,
        "pitch_lateral_in": hole.pitch_lateral_in,
        "density_g_cm3": hole.density_g_cm3,
    }
    if hole.cut_longer_in:
        found |= {"longer_in": hole.longer_in, "oval_angle_deg": hole.oval_angle_deg}
    return found


def holes_in_hand(bowler: Bowler) -> tuple[list[HoleNumbers], str]:
    """The holes a new ball gets, and where they are from in words (empty for a start).

    Of the grip measured for how they hold a ball today; without one those of the newest ball.
    """
    holes, said, _ = _in_hand(bowler)
    return holes, said


def rows_in_hand(bowler: Bowler) -> tuple[list[dict[str, object]], str]:
    """The same holes as the rows of a form: with the inserts and the slug that go into them."""
    holes, said, sleeves = _in_hand(bowler)
    return [{**hole, **sleeves.get(hole["kind"], {})} for hole in holes], said


def _in_hand(bowler: Bowler) -> tuple[list[HoleNumbers], str, dict[str, dict[str, object]]]:
    """Holes, where they are from, and by kind what is in them."""
    grip = grip_in_use(bowler)
    if grip is not None:
        try:
            holes = cast("list[HoleNumbers]", holes_of_grip(grip))
        except InputError:
            pass  # A grip kept before a rule was known that refuses it: look further.
        else:
            said = f"the grip of {date_format(grip.measured_on, 'j F Y')}"
            return holes, said, sleeves_of_grip(grip)
    drilled = bowler.bag.with_holes().filter(holes__isnull=False)
    last = drilled.order_by("retired", "-pk").first()
    if last is None:
        return starting_holes(bowler.fingers, bowler.thumb), "", {}
    holes = [h for h in holes_of(last) if bowler.thumb != Thumb.NONE or h["kind"] != "thumb"]
    names = ("sleeve", "inside_in", "longer_in", "oval_angle_deg")
    sleeves = {
        hole.kind: {name: getattr(hole, name) for name in names}
        for hole in last.holes.all()
        if hole.sleeve
    }
    return holes, str(last), sleeves


def sleeves_of_grip(grip: Grip) -> dict[str, dict[str, object]]:
    """What a grip has in its holes, by their kind: inserts, and a slug, round or cut oval."""
    found: dict[str, dict[str, object]] = {}
    for kind in GripHole.Kind.values:
        hole, inside = getattr(grip, f"{kind}_hole_in"), getattr(grip, f"{kind}_inside_in")
        is_thumb = kind == GripHole.Kind.THUMB
        oval = (grip.oval_depth_in, grip.oval_width_in) if is_thumb else (None, None)
        if hole is None or (inside is None and None in oval):
            continue
        sleeve = GripHole.Sleeve.SLUG if is_thumb else GripHole.Sleeve.INSERT
        found[kind] = {"sleeve": sleeve.value, "inside_in": inside}
        if None not in oval:
            found[kind] |= {"inside_in": oval[0], "longer_in": oval[1]}
            found[kind] |= {"oval_angle_deg": grip.oval_angle_deg}
    return found
