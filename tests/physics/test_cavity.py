"""Holes inside the ball: webs, depths, and an earlier drilling in another grip frame. Derived."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from physics import body, cavity
from physics.body import Hole
from physics.errors import InputError
from physics.layout import from_angles, on_sphere
from tests.physics.referee_geometry import arc_in, point

RADIUS_IN = 27 / (2 * math.pi)
FINGERS = (Hole(-0.609, 2.609, 31 / 32, 1.75), Hole(0.609, 2.609, 31 / 32, 1.75))
THUMB = Hole(0.0, -2.625, 1.0, 2.75)


def test_two_straight_holes_come_nearest_at_their_bottoms() -> None:
    left = cavity.web(*FINGERS, RADIUS_IN)
    # Both axes aim at the centre, an angle A apart. The inner wall, d deep, stands
    # (R − d) sin A − r cos A from the other axis, whose wall is r from it, and
    # R − (R − d) cos A − r sin A deep along it; the nearer way out counts.
    first, second = (point(h.over_in, h.up_in, RADIUS_IN) for h in FINGERS)
    angle = arc_in(first, second, RADIUS_IN) / RADIUS_IN
    rest, half = RADIUS_IN - np.linspace(0, 1.75, 2000), 31 / 64
    to_wall = rest * math.sin(angle) - half * math.cos(angle) - half
    to_bottom = RADIUS_IN - rest * math.cos(angle) - half * math.sin(angle) - 1.75
    # Walls are sampled every 0.04 in of depth.
    assert left.inches == pytest.approx(np.maximum(to_wall, to_bottom).min(), abs=0.01)
    assert left.inches < -0.25


def test_straight_holes_of_a_quarter_inch_bridge_meet_where_their_walls_do() -> None:
    apart = 31 / 32 + 0.25
    one, other = (Hole(side * apart / 2, 0.0, 31 / 32, 2.0) for side in (-1, 1))
    left = cavity.web(one, other, RADIUS_IN)
    # Walls of half width r, an angle A apart, cross on the bisector r / sin(A / 2) from the centre.
    crossing = RADIUS_IN - 31 / 64 / math.sin(apart / RADIUS_IN / 2)
    # Found on rings 0.045 in apart, where walls cross at a slant.
    assert left.meets_in == pytest.approx(crossing, abs=0.06)
    one, other = (replace(h, depth_in=crossing - 0.12) for h in (one, other))
    assert cavity.web(one, other, RADIUS_IN).meets_in is None


def test_parallel_holes_keep_what_lies_between_them() -> None:
    # Pitched so that both axes are square to the plane halfway between them.
    half = math.asin(0.75 / RADIUS_IN) * RADIUS_IN
    left, right = (Hole(side * half, 0.0, 1.0, 2.0, pitch_forward_in=-0.75) for side in (-1, 1))
    # The axis of such a hole misses the centre by 0.75 in: both run straight down, 1.5 in apart.
    for hole in (left, right):
        assert body.hole_axis(hole, RADIUS_IN)[1] == pytest.approx([0, 0, -1], abs=1e-9)
    assert cavity.web(left, right, RADIUS_IN).inches == pytest.approx(0.5, abs=1e-6)


@settings(deadline=None, max_examples=40)
@given(
    a=st.tuples(st.floats(-2, 2), st.floats(1, 3.5), st.floats(-0.5, 0.5), st.floats(-0.5, 0.5)),
    b=st.tuples(st.floats(-2, 2), st.floats(-3.5, 0), st.floats(-0.5, 0.5), st.floats(-0.5, 0.5)),
)
def test_no_two_points_of_two_holes_lie_nearer_than_the_web(
    a: tuple[float, ...], b: tuple[float, ...]
) -> None:
    one, other = (Hole(h[0], h[1] + 0.01, 1.0, 2.25, h[2], h[3]) for h in (a, b))
    left = cavity.web(one, other, RADIUS_IN).inches
    rng = np.random.default_rng(5)
    clouds = []
    for hole in (one, other):
        surface, inward = body.hole_axis(hole, RADIUS_IN)
        long, short = body.oval_directions(hole, RADIUS_IN)
        turn, size = rng.uniform(0, 2 * math.pi, 400), 0.5 * np.sqrt(rng.uniform(0, 1, 400))
        depth = rng.uniform(0.06, 2.25, 400)
        clouds.append(
            RADIUS_IN * surface
            + np.outer(size * np.cos(turn), long)
            + np.outer(size * np.sin(turn), short)
            + np.outer(depth, inward)
        )
    nearest = np.linalg.norm(clouds[0][:, None] - clouds[1][None], axis=2).min()
    assert nearest >= left - 0.02


def test_holes_that_meet_are_told_with_what_to_do() -> None:
    names = ["middle finger", "ring finger", "thumb"]
    ((two, left, words),) = cavity.meetings([*FINGERS, THUMB], names, RADIUS_IN)
    assert two == (0, 1)
    for said in ("middle finger and ring finger", f"{-left.inches:.2f} in", "less deep", "apart"):
        assert said in words
    apart = [replace(h, over_in=1.5 * h.over_in, depth_in=0.9) for h in FINGERS]
    assert cavity.meetings([*apart, THUMB], names, RADIUS_IN) == []
    cavity.refuse_impossible([*FINGERS, THUMB], names, RADIUS_IN)


def test_holes_that_overlap_at_the_surface_are_told_apart_from_those_that_meet_below() -> None:
    near = [FINGERS[0], replace(FINGERS[1], over_in=0.2)]
    with pytest.raises(InputError) as refused:
        cavity.refuse_impossible(near, ["middle finger", "ring finger"], RADIUS_IN)
    assert "overlap" in refused.value.allowed


def test_a_hole_deeper_than_the_ball_is_refused_where_it_comes_out() -> None:
    straight, pitched = Hole(0, -2.6, 1.0, 8.6), Hole(0, -2.6, 1.0, 8.4, 1.5)
    assert cavity.length_through_in(straight, RADIUS_IN) == pytest.approx(2 * RADIUS_IN)
    # A chord 1.5 in from the centre: 2 √(R² − 1.5²).
    assert cavity.length_through_in(pitched, RADIUS_IN) == pytest.approx(8.054, abs=0.001)
    for hole in (straight, pitched):
        with pytest.raises(InputError) as refused:
            cavity.refuse_impossible([hole], ["thumb"], RADIUS_IN)
        assert refused.value.field == "holes[0].depth_in"
        assert "far side" in refused.value.allowed
    cavity.refuse_impossible([THUMB], ["thumb"], RADIUS_IN)


layouts = st.tuples(
    st.floats(3.5, 6.5), st.floats(-1, 1), st.floats(10, 90), st.floats(2, 6), st.floats(10, 80)
)


@settings(deadline=None, max_examples=60)
@given(
    before=layouts,
    after=layouts,
    at=st.tuples(st.floats(-2, 2), st.floats(0.5, 3.5)),
    pitch=st.tuples(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5)),
)
def test_an_old_hole_stays_where_it_is_on_the_ball_when_the_ball_is_laid_out_anew(
    before: tuple[float, ...],
    after: tuple[float, ...],
    at: tuple[float, float],
    pitch: tuple[float, float],
) -> None:
    old, new = (
        from_angles(on_sphere(o / RADIUS_IN, u / RADIUS_IN), d, p, v, RADIUS_IN)
        for o, u, d, p, v in (before, after)
    )
    hole = Hole(*at, 1.0, 2.0, *pitch, longer_in=1.25, oval_angle_deg=20.0)
    there = cavity.carried(hole, cavity.rotation(old, new), RADIUS_IN)
    for h, layout in ((hole, old), (there, new)):
        assert h.depth_in == 2.0
        surface, inward = body.hole_axis(h, RADIUS_IN)
        seen = [float(v @ m) for v in (surface, inward) for m in (layout.pin, layout.psa)]
        long = body.oval_directions(h, RADIUS_IN)[0]
        lies = np.array([float(long @ m) for m in (layout.pin, layout.psa)])
        if h is hole:
            first, first_lies = seen, lies
    assert seen == pytest.approx(first, abs=2e-3)
    # An oval turned half round is the same oval.
    assert min(abs(lies - first_lies).max(), abs(lies + first_lies).max()) < 2e-3


def test_a_plugged_ball_drilled_again_weighs_and_spins_the_same_in_either_frame() -> None:
    label = body.Label(15.0, RADIUS_IN, 2.50, 0.048, 0.012, 2.5, 2.0)
    first, second = (
        from_angles(on_sphere(5.0 / RADIUS_IN, 0.1), *angles, RADIUS_IN)
        for angles in ((45.0, 4.0, 40.0), (70.0, 5.0, 70.0))
    )
    turn = cavity.rotation(first, second)
    holes = [replace(THUMB, pitch_forward_in=0.125), *FINGERS]
    then = body.drill(label, first, holes).numbers()
    now = body.drill(label, second, [cavity.carried(h, turn, RADIUS_IN) for h in holes]).numbers()
    for name in ("mass_kg", "principal_rg_in", "differential_in", "intermediate_differential_in"):
        assert now[name] == pytest.approx(then[name], rel=1e-9)
    assert np.linalg.norm(now["cg_offset_mm"]) == pytest.approx(
        np.linalg.norm(then["cg_offset_mm"]), rel=1e-9
    )


def test_a_pitched_hole_that_comes_to_the_grip_centre_points_where_it_did() -> None:
    """Forward has no direction there: what counts is where the bottom lies."""
    hole = Hole(0.0, 2.0, 1.0, 2.0, 0.25, 0.125)
    angle = 2.0 / RADIUS_IN
    turn = np.array(
        [
            [1.0, 0.0, 0.0],
            [0.0, math.cos(angle), -math.sin(angle)],
            [0.0, math.sin(angle), math.cos(angle)],
        ]
    )
    there = cavity.carried(hole, turn, RADIUS_IN)
    surface, inward = body.hole_axis(there, RADIUS_IN)
    was, bottom = body.hole_axis(hole, RADIUS_IN)
    assert turn @ was == pytest.approx([0.0, 0.0, 1.0], abs=1e-9)
    assert surface == pytest.approx([0.0, 0.0, 1.0], abs=2e-5)
    assert inward == pytest.approx(turn @ bottom, abs=2e-3)
