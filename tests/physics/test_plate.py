"""The plate: distances true from its middle, great circles, rims, bow ties and clearances.

Sources: the azimuthal equidistant projection's own property (J. P. Snyder, Map Projections: A
Working Manual, USGS Professional Paper 1395, 1987, chapter 25); layouts and clearances worked by
hand from the trade's definitions; the rest is spherical trigonometry.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from physics import body, plate, track
from physics.layout import Layout, from_angles, on_sphere
from tests.physics.balls_and_lanes import reference
from tests.physics.referee_geometry import arc_in, point

RADIUS_IN = 27 / (2 * math.pi)
IN_TO_M = 0.0254
Array = np.ndarray

places = st.tuples(st.floats(-13, 13), st.floats(-6.5, 6.5))


def laid_out(
    pap: tuple[float, float] = (5.0, 0.5), angles: tuple[float, float, float] = (45.0, 4.0, 40.0)
) -> Layout:
    over, up = (v / RADIUS_IN for v in pap)
    return from_angles(on_sphere(over, up), *angles, RADIUS_IN)


def drilled(layout: Layout, *holes: body.Hole, differential_in: float = 0.048) -> body.Body:
    label = body.Label(15.0, RADIUS_IN, 2.50, differential_in, 0.0)
    return body.drill(label, layout, holes)


@settings(deadline=None)
@given(at=places, pap=st.tuples(st.floats(2.5, 6.7), st.floats(-2, 2)))
def test_every_distance_from_the_middle_is_the_one_over_the_surface(
    at: tuple[float, float], pap: tuple[float, float]
) -> None:
    there = point(*at, RADIUS_IN)
    for view, middle in (
        (plate.about_pap(laid_out(pap)), point(*pap, RADIUS_IN)),
        (plate.about_grip(RADIUS_IN), point(0, 0, RADIUS_IN)),
    ):
        x, y = view.to_map(there)[0]
        assert math.hypot(x, y) == pytest.approx(arc_in(there, middle, RADIUS_IN), abs=1e-9)
        # And back again; opposite the middle every direction is the same point.
        assert view.from_map(np.array([[x, y]]))[0] == pytest.approx(there, abs=1e-7)


# Snyder's formulas of the equatorial aspect for a sphere of radius 1 (chapter 25, from memory):
# x = k cos(lat) sin(lon), y = k sin(lat), k = c / sin c, cos c = cos(lat) cos(lon); rows by hand.
@pytest.mark.parametrize(
    ("lat", "lon", "x", "y"),
    [(0, 90, 1.570796, 0.0), (30, 60, 0.934362, 0.622908), (60, 90, 0.785398, 1.360350)],
)
def test_the_map_is_the_azimuthal_equidistant_projection_of_the_handbook(
    lat: float, lon: float, x: float, y: float
) -> None:
    there = on_sphere(math.radians(lon), math.radians(lat))
    found = plate.about_grip(1.0).to_map(there)[0]
    assert found == pytest.approx((x, y), abs=2e-6)


@pytest.mark.parametrize(
    ("pap", "angles", "pin", "psa"),
    # Worked by hand: pin and PSA as over and up, printed to 0.001 and 0.01 in.
    [
        ((5.0, 0.0), (45.0, 3.375, 45.0), (2.355, 2.250), (3.78, -4.40)),
        ((5.0, 0.5), (45.0, 4.0, 40.0), (1.651, 3.211), (3.32, -3.37)),
        ((5.5, 0.0), (90.0, 4.5, 35.0), (2.139, 3.389), (-1.25, -2.63)),
    ],
)
def test_the_pin_lies_on_the_map_where_its_distance_and_angle_say(
    pap: tuple[float, float],
    angles: tuple[float, float, float],
    pin: tuple[float, float],
    psa: tuple[float, float],
) -> None:
    _, distance, val = angles
    view = plate.about_pap(laid_out(pap, angles))
    # The VAL angle is counted from straight up towards the grip, which is to the left.
    expected = (-distance * math.sin(math.radians(val)), distance * math.cos(math.radians(val)))
    assert view.to_map(point(*pin, RADIUS_IN))[0] == pytest.approx(expected, abs=0.002)
    psa_off = arc_in(point(*psa, RADIUS_IN), point(*pap, RADIUS_IN), RADIUS_IN)
    assert math.hypot(*view.to_map(point(*psa, RADIUS_IN))[0]) == pytest.approx(psa_off, abs=1e-9)


def test_the_grip_lies_left_of_the_pap_and_the_pap_right_of_the_grip() -> None:
    at_pap = plate.about_pap(laid_out((5.0, 0.0)))
    assert at_pap.to_map(plate.GRIP_CENTRE)[0] == pytest.approx((-5.0, 0.0), abs=1e-9)
    at_grip = plate.about_grip(RADIUS_IN)
    assert at_grip.to_map(point(5.0, 0.0, RADIUS_IN))[0] == pytest.approx((5.0, 0.0), abs=1e-9)


def test_midline_and_val_are_great_circles_that_cross_square_to_each_other() -> None:
    layout = laid_out((5.0, 0.75))
    up = plate.vertical_axis_line(layout.pap)
    over = plate.midline(RADIUS_IN)
    for line in (up, over):
        normal = np.cross(line[0], line[300])
        assert np.abs(line @ (normal / np.linalg.norm(normal))).max() < 1e-12
    assert np.abs(over[:, 1]).max() == 0
    # The VAL passes through the pole of the midline, so it stands square on it, and the PAP.
    assert (up @ np.array([0, 1, 0])).max() == pytest.approx(1, abs=1e-5)
    assert (up @ layout.pap).max() == pytest.approx(1, abs=1e-5)


def test_a_straight_hole_leaves_a_true_circle() -> None:
    hole = body.Hole(1.2, 2.4, 1.0, 2.0)
    middle = point(1.2, 2.4, RADIUS_IN)
    arcs = [arc_in(p, middle, RADIUS_IN) for p in plate.rim(hole, RADIUS_IN)]
    # The wall stands half an inch from the axis: asin(0.5 / R) of arc, a thousandth over half.
    assert arcs == pytest.approx([RADIUS_IN * math.asin(0.5 / RADIUS_IN)] * 73, abs=1e-9)


def test_the_rim_of_a_pitched_hole_lies_on_the_ball_and_on_its_wall() -> None:
    hole = body.Hole(-0.6, 2.6, 1.0, 2.0, 0.375, -0.125)
    surface, inward = body.hole_axis(hole, RADIUS_IN)
    for p in plate.rim(hole, RADIUS_IN):
        assert np.linalg.norm(p) == pytest.approx(1, abs=1e-12)
        off = RADIUS_IN * (p - surface)
        assert np.linalg.norm(off - (off @ inward) * inward) == pytest.approx(0.5, abs=1e-9)


def test_an_oval_reaches_as_far_as_each_of_its_axes_and_leans_to_the_pap_side() -> None:
    hole = body.Hole(0.0, -2.6, 1.0, 2.75, longer_in=1.25, oval_angle_deg=30.0)
    middle = point(0.0, -2.6, RADIUS_IN)
    edge = plate.rim(hole, RADIUS_IN)
    arcs = [arc_in(p, middle, RADIUS_IN) for p in edge]
    assert max(arcs) == pytest.approx(RADIUS_IN * math.asin(0.625 / RADIUS_IN), abs=1e-6)
    assert min(arcs) == pytest.approx(RADIUS_IN * math.asin(0.5 / RADIUS_IN), abs=1e-6)
    upper = max(edge[[0, 36]], key=lambda p: p[1])
    assert upper[0] > 0
    north = point(0.0, -2.6 + 6.75, RADIUS_IN)
    assert math.degrees(math.atan2(upper[0], upper @ north)) == pytest.approx(30, abs=1e-6)


def test_a_round_oval_drills_like_a_round_hole() -> None:
    round_hole = body.Hole(0.0, -2.6, 1.0, 2.75, 0.125, 0.0625)
    oval = body.Hole(0.0, -2.6, 1.0, 2.75, 0.125, 0.0625, longer_in=1.0, oval_angle_deg=20)
    one, other = (drilled(laid_out(), h).numbers() for h in (round_hole, oval))
    for name in ("mass_kg", "principal_rg_in", "differential_in", "cg_offset_mm"):
        assert one[name] == pytest.approx(other[name], rel=1e-12)


def test_an_oval_weighs_what_its_area_says_and_spins_as_many_small_pieces_would() -> None:
    a, b, length = 0.625, 0.5, 2.75
    axes = np.eye(3)
    found = body.oval_inertia(1.0, (a, b), length, axes)
    # Pieces on an even grid inside the ellipse: their mean squares are a²/4, b²/4 and L²/12.
    x, y = (g.ravel() for g in np.meshgrid(*[np.linspace(-0.6995, 0.6995, 1400)] * 2))
    inside = (x / a) ** 2 + (y / b) ** 2 <= 1
    x2, y2, z2 = (x[inside] ** 2).mean(), (y[inside] ** 2).mean(), length**2 / 12
    assert np.diag(found) == pytest.approx([y2 + z2, x2 + z2, x2 + y2], rel=1e-3)
    whole = drilled(laid_out()).mass_kg
    left = drilled(laid_out(), body.Hole(0, -2.6, 1.0, 2.75, longer_in=1.25)).mass_kg
    assert whole - left == pytest.approx(math.pi * a * b * length * 16.387064e-6 * 1200, rel=1e-9)


def test_the_first_track_is_a_circle_about_the_middle_of_the_map() -> None:
    layout = laid_out()
    flared = plate.flare(drilled(layout), 10.0, 0.12, 0.08)
    away = np.hypot(*plate.about_pap(layout).to_map(flared.first).T)
    # Worked by hand: 10° of tilt put the track 7.50 in from the PAP.
    assert away == pytest.approx(np.full(len(away), 7.5), abs=1e-9)


def test_the_bow_tie_of_a_little_flare_lies_on_the_great_circle_through_pap_and_pin() -> None:
    # Common practice puts it near where that circle meets the first track; on a symmetric ball
    # that has no holes the axis starts at right angles to it, which puts it exactly there.
    layout = laid_out()
    flared = plate.flare(drilled(layout), 12.0, 0.001, 0.001)
    assert flared.bow_ties is not None
    through = np.cross(layout.pap, layout.pin)
    through /= np.linalg.norm(through)
    for tie in flared.bow_ties:
        # Half of 0.04 in of flare turns the line about the pin by as much as it moves the axis.
        assert RADIUS_IN * abs(math.asin(float(tie @ through))) < 0.03
        assert arc_in(tie, layout.pap, RADIUS_IN) == pytest.approx(7.65, abs=0.001)


def test_first_and_last_track_both_run_through_both_bow_ties() -> None:
    flared = plate.flare(drilled(laid_out()), 15.0, 0.15, 0.10)
    assert flared.bow_ties is not None
    for tie in flared.bow_ties:
        for axis in (flared.axes[0], flared.axes[-1]):
            assert math.acos(float(tie @ axis)) == pytest.approx(math.radians(105), abs=1e-9)


def test_what_is_seen_of_the_flare_ends_where_the_oil_does() -> None:
    ball = drilled(laid_out())
    flared = plate.flare(ball, 15.0, 0.15, 0.10)
    way = track.axis_path(ball, 0.10)
    assert flared.axes[flared.seen - 1] == pytest.approx(way[-1], abs=1e-4)
    assert flared.axes[-1] == pytest.approx(track.axis_path(ball, 0.15)[-1], abs=1e-4)
    assert plate.flare(ball, 15.0, 0.15, 0.15).seen == len(flared.axes)
    assert plate.flare(ball, 15.0, 0.15, 0.0).seen == 1
    still = plate.flare(ball, 15.0, 0.0, 0.0)
    assert (len(still.axes), still.bow_ties) == (1, None)


@pytest.mark.parametrize("row", reference("track_rows")["clearance"])
def test_without_flare_the_worked_clearances_come_out(row: list[float]) -> None:
    over, up, tilt, _, thumb, finger = row
    holes = reference("track_rows")
    cut = [
        body.Hole(h["over_in"], h["up_in"], h["diameter_in"], 2.0)
        for h in (holes["thumb"], holes["finger"])
    ]
    flared = plate.flare(drilled(laid_out((over, up))), tilt, 0.0, 0.0)
    found = [c.inches for c in plate.clearances(flared, cut, RADIUS_IN)]
    # Printed to 0.01 in; the true rim lies a thousandth outside half the diameter.
    assert found == pytest.approx([thumb, finger], abs=0.008)


@settings(deadline=None, max_examples=60)
@given(
    at=st.tuples(st.floats(-3, 3), st.floats(-4, 4)),
    tilt=st.floats(0, 30),
    flare_in=st.floats(0.0, 7.0),
)
def test_clearance_to_a_round_edge_agrees_with_the_one_counted_from_its_middle(
    at: tuple[float, float], tilt: float, flare_in: float
) -> None:
    hole = body.Hole(*at, 1.0, 2.0)
    layout = laid_out()
    ball = drilled(layout)
    expected = track.flare_clearances_in(ball, layout, [hole], tilt, flare_in * IN_TO_M)[0]
    flared = plate.flare(ball, tilt, flare_in * IN_TO_M, 0.0)
    found = plate.clearances(flared, [hole], RADIUS_IN)[0]
    # Tracks stand up to 7/24 in apart in one, 7/32 in the other: on the hole either may miss the
    # middle by half of that.
    assert found.inches == pytest.approx(expected, abs=0.15 if expected < 0 else 0.02)
    if found.inches > 0:
        assert arc_in(found.edge, found.track, RADIUS_IN) == pytest.approx(found.inches, abs=1e-6)


def test_a_track_through_the_middle_of_a_hole_cuts_it_by_half_its_width() -> None:
    hole = body.Hole(0.0, 0.0, 1.0, 2.0)
    # A full roller: PAP 6 3/4 over, no tilt.
    flared = plate.flare(drilled(laid_out((6.749999, 0.0))), 0.0, 0.0, 0.0)
    found = plate.clearances(flared, [hole], RADIUS_IN)[0]
    assert found.inches == pytest.approx(-RADIUS_IN * math.asin(0.5 / RADIUS_IN), abs=1e-3)


def test_the_shorter_great_circle_is_as_long_as_the_two_points_lie_apart() -> None:
    start, end = point(5.0, 0.5, RADIUS_IN), point(1.0, 3.0, RADIUS_IN)
    line = plate.arc(start, end)
    steps = [arc_in(a, b, RADIUS_IN) for a, b in itertools.pairwise(line)]
    assert sum(steps) == pytest.approx(arc_in(start, end, RADIUS_IN), abs=1e-9)


@pytest.mark.parametrize("flare_m", [5e-324, 1e-322, 1e-305, 1e-160, 1e-17])
def test_a_flare_of_next_to_nothing_is_none(flare_m: float) -> None:
    """Of the smallest floats a step of the axis rounds to nothing; it must end all the same."""
    ball = drilled(laid_out())
    way = track.axis_path(ball, flare_m)
    assert way[-1] == pytest.approx(way[0], abs=1e-15)
    assert plate.flare(ball, 15.0, flare_m, 0.0).axes[-1] == pytest.approx(way[0], abs=1e-15)


def test_lines_that_have_no_direction_of_their_own() -> None:
    """About the grip centre itself, and from a point to itself."""
    around = plate.circle(plate.GRIP_CENTRE, 0.4)
    assert around @ plate.GRIP_CENTRE == pytest.approx(math.cos(0.4))
    assert around[0] == pytest.approx(around[-1])
    here = point(2.0, 1.0, RADIUS_IN)
    assert plate.arc(here, here) == pytest.approx(np.tile(here, (len(plate.arc(here, here)), 1)))


def test_tracks_too_small_to_meet_have_no_bow_ties() -> None:
    axes = point(5.0, 0.5, RADIUS_IN), point(5.0, 1.5, RADIUS_IN)
    # Half an inch between the two: circles nearer to their axes than that never meet.
    assert plate.bow_ties(*axes, 0.4 / RADIUS_IN) is None
    assert plate.bow_ties(*axes, 0.6 / RADIUS_IN) is not None
