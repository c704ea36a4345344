"""From a hand's spans to the holes of a ball and back.

Sources: where a span runs and where the grip centre lies, rule-book text quoted in a trade
article; masses of holes, volumes of cylinders at 1.2 g/cm3 (derived). Arcs are measured by the
referee's own spherical geometry.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from physics.body import Hole
from physics.errors import InputError
from physics.grip import RADIUS_IN, Digit, Grip, holes, measured, on_map
from tests.physics.referee_geometry import Array, arc_in, point

FINGER = Digit(hole_in=31 / 32, depth_in=1.75)
THUMB = Digit(hole_in=1.0, depth_in=2.75)
PLAIN = Grip(4.25, 4.25, 0.25, FINGER, FINGER, THUMB)
# Arcs of a few inches in double precision: rounding is some 1e-14 in, acos near 1 costs half.
EXACT_IN = 1e-6

spans = st.floats(2.5, 5.5)
sizes = st.floats(0.5, 1.25)


def at(hole: Hole) -> Array:
    return point(hole.over_in, hole.up_in, RADIUS_IN)


@settings(deadline=None, max_examples=50, suppress_health_check=[HealthCheck.too_slow])
@given(spans, st.floats(-0.4, 0.4), st.floats(0.1, 0.6), sizes, sizes, st.one_of(st.none(), sizes))
def test_spans_and_bridge_come_back_from_the_holes(
    span: float, more: float, bridge: float, middle: float, ring: float, thumb: float | None
) -> None:
    grip = Grip(
        span,
        span + more,
        bridge,
        replace(FINGER, hole_in=middle),
        replace(FINGER, hole_in=ring),
        None if thumb is None else replace(THUMB, hole_in=thumb),
    )
    assume(abs(more + (ring - middle) / 2) < bridge + (middle + ring) / 2)
    found = measured(holes(grip))
    assert found.span_middle_in == pytest.approx(grip.span_middle_in, abs=EXACT_IN)
    assert found.span_ring_in == pytest.approx(grip.span_ring_in, abs=EXACT_IN)
    assert found.bridge_in == pytest.approx(bridge, abs=EXACT_IN)


def test_spans_lie_between_the_edges_nearest_each_other() -> None:
    drilled = holes(replace(PLAIN, span_ring_in=4.375))
    for kind, span in (("middle", 4.25), ("ring", 4.375)):
        between = arc_in(at(drilled[kind]), at(drilled["thumb"]), RADIUS_IN)
        edges = (drilled[kind].diameter_in + drilled["thumb"].diameter_in) / 2
        assert between - edges == pytest.approx(span, abs=EXACT_IN)
    apart = arc_in(at(drilled["middle"]), at(drilled["ring"]), RADIUS_IN)
    assert apart - 31 / 32 == pytest.approx(0.25, abs=EXACT_IN)


def test_the_grip_centre_lies_halfway_between_the_cuts() -> None:
    """Even spans: the finger's and the thumb's cut are as far from it, straight across the ball."""
    drilled = holes(PLAIN)
    centre = point(0, 0, RADIUS_IN)
    thumb = at(drilled["thumb"])
    total = arc_in(at(drilled["middle"]), thumb, RADIUS_IN)
    to_thumb = arc_in(centre, thumb, RADIUS_IN)
    assert drilled["thumb"].over_in == pytest.approx(0, abs=EXACT_IN)
    # Along the span the middle lies half the span past the thumb's cut; the centre lies straight
    # across from there on the centreline, so in a right-angled triangle with it.
    middle = 0.5 + 4.25 / 2
    half_angle = math.asin(
        math.sin(arc_in(at(drilled["middle"]), at(drilled["ring"]), RADIUS_IN) / 2 / RADIUS_IN)
        / math.sin(total / RADIUS_IN)
    )
    across = math.atan(math.tan(middle / RADIUS_IN) * math.cos(half_angle))
    assert to_thumb == pytest.approx(RADIUS_IN * across, abs=EXACT_IN)


def test_the_ring_finger_lies_on_the_side_of_the_pap_and_fingers_are_up() -> None:
    drilled = holes(PLAIN)
    assert drilled["ring"].over_in > 0 > drilled["middle"].over_in
    assert drilled["ring"].up_in > 0 > drilled["thumb"].up_in


def test_a_longer_ring_span_puts_the_ring_finger_higher() -> None:
    drilled = holes(replace(PLAIN, span_ring_in=4.5))
    assert drilled["ring"].up_in > drilled["middle"].up_in


def test_without_a_thumb_the_palm_mark_is_the_grip_centre() -> None:
    grip = replace(PLAIN, span_middle_in=1.875, span_ring_in=2.0, thumb=None)
    drilled = holes(grip)
    assert set(drilled) == {"middle", "ring"}
    mark = point(0, 0, RADIUS_IN)
    for kind, span in (("middle", 1.875), ("ring", 2.0)):
        to_mark = arc_in(at(drilled[kind]), mark, RADIUS_IN)
        assert to_mark - drilled[kind].diameter_in / 2 == pytest.approx(span, abs=EXACT_IN)


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 90.0])
def test_an_oval_cut_in_the_ball_is_an_oval_hole_and_comes_back_as_one(angle_deg: float) -> None:
    """Derived: its reach along the span is half the width of an ellipse in that direction,
    √(a² cos² + b² sin²)."""
    oval = replace(THUMB, hole_in=None, oval_in=(1.125, 0.9375), oval_angle_deg=angle_deg)
    grip = replace(PLAIN, thumb=oval)
    drilled = holes(grip)
    thumb = drilled["thumb"]
    assert (thumb.diameter_in, thumb.longer_in) == (0.9375, 1.125)
    assert thumb.oval_angle_deg == angle_deg
    turned = math.radians(angle_deg)
    reach = math.hypot(1.125 / 2 * math.cos(turned), 0.9375 / 2 * math.sin(turned))
    span = arc_in(at(drilled["middle"]), at(thumb), RADIUS_IN)
    assert span - 31 / 64 - reach == pytest.approx(4.25, abs=EXACT_IN)
    back = measured(drilled)
    assert back.span_middle_in == pytest.approx(4.25, abs=EXACT_IN)
    assert back.thumb is not None
    assert back.thumb.oval_in == (1.125, 0.9375)


def test_a_span_where_the_hand_rests_is_longer_by_the_walls() -> None:
    """Trade articles: full span = cut span + the insert's wall on the span's side."""
    insert = replace(FINGER, inside_in=23 / 32)
    slug = replace(THUMB, hole_in=1.25, inside_in=1.0)
    held = Grip(4.5, 4.5, 0.25, insert, insert, slug, finished=True)
    assert held.as_drilled().span_middle_in == pytest.approx(4.5 - 1 / 8 - 1 / 8)
    assert held.as_drilled().as_held().span_ring_in == pytest.approx(4.5)
    assert measured(holes(held)).span_middle_in == pytest.approx(4.25, abs=EXACT_IN)


def test_an_oval_reaches_by_its_angle() -> None:
    oval = replace(THUMB, hole_in=None, oval_in=(1.0625, 0.9375))
    assert oval.reach_in(True) == pytest.approx(1.0625 / 2)
    assert replace(oval, oval_angle_deg=90).reach_in(False) == pytest.approx(0.9375 / 2)
    assert oval.drilled_in == pytest.approx(math.sqrt(1.0625 * 0.9375))


def test_a_slug_puts_back_what_was_drilled_beyond_its_inside() -> None:
    """Derived rows: 1 1/4 × 2 3/4 in takes 66.4 g out, 1 × 2 3/4 in 42.5 g."""

    def grams(thumb: Digit) -> float:
        hole = holes(replace(PLAIN, thumb=thumb))["thumb"]
        volume_cm3 = math.pi / 4 * hole.diameter_in**2 * hole.depth_in * 2.54**3
        return volume_cm3 * hole.density_g_cm3

    assert grams(replace(THUMB, hole_in=1.25)) == pytest.approx(66.4, abs=0.05)
    assert grams(replace(THUMB, hole_in=1.25, inside_in=1.0)) == pytest.approx(42.5, abs=0.05)
    assert grams(THUMB) == pytest.approx(42.5, abs=0.05)


def test_pitches_and_depths_pass_through() -> None:
    thumb = replace(THUMB, pitch_forward_in=-0.125, pitch_lateral_in=0.0625)
    hole = holes(replace(PLAIN, thumb=thumb))["thumb"]
    assert (hole.pitch_forward_in, hole.pitch_lateral_in, hole.depth_in) == (-0.125, 0.0625, 2.75)


@pytest.mark.parametrize(
    "grip",
    [
        replace(PLAIN, span_ring_in=6.5),
        replace(PLAIN, span_middle_in=0.05, span_ring_in=0.05, thumb=None),
    ],
)
def test_spans_that_never_meet_are_refused_by_name(grip: Grip) -> None:
    with pytest.raises(InputError, match="span_ring_in"):
        holes(grip)


def test_a_ball_without_a_finger_hole_has_no_spans() -> None:
    drilled = holes(PLAIN)
    del drilled["ring"]
    with pytest.raises(InputError, match="ring"):
        measured(drilled)


def test_the_map_keeps_distances_and_directions_from_the_centre() -> None:
    assert on_map(0, 0) == (0, 0)
    assert on_map(0, 2.5) == pytest.approx((0, 2.5))
    assert on_map(-3, 0) == pytest.approx((-3, 0))
    x, y = on_map(0.7, -2.6)
    centre_arc = arc_in(point(0.7, -2.6, RADIUS_IN), point(0, 0, RADIUS_IN), RADIUS_IN)
    assert math.hypot(x, y) == pytest.approx(centre_arc, abs=EXACT_IN)


def test_a_grip_measured_as_it_is_held_is_held_as_it_was_measured() -> None:
    held = replace(PLAIN, finished=True, thumb=replace(THUMB, inside_in=0.875))
    assert held.as_held() == held


def test_an_oval_cut_in_a_slug_leaves_its_own_area_open() -> None:
    """Areas of an ellipse and a circle: by hand, 1 x 0.75 over 1.25 squared."""
    thumb = replace(THUMB, hole_in=1.25, oval_in=(1.0, 0.75))
    assert thumb.open_share == pytest.approx(0.48)
    assert replace(thumb, hole_in=None).open_share == 1.0
