"""Tilt, track and the clearance of holes; rev rate and speed readings.

Sources: circles on the sphere (derived); the ring across the negative axis point, the frame and
clock methods and the speed over sixty feet are common practice, read in trade articles.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from physics import track
from tests.physics.balls_and_lanes import reference
from tests.physics.referee_geometry import arc_in, point

TABLE = reference("track_rows")
RADIUS_IN = 27 / (2 * math.pi)


@pytest.mark.parametrize("row", TABLE["radius"])
def test_with_tilt_the_track_lies_farther_from_the_pap_than_a_quarter(row: list[float]) -> None:
    tilt, expected = row
    assert track.track_radius_in(tilt) == pytest.approx(expected, rel=0, abs=1e-9)


@pytest.mark.parametrize("row", TABLE["tilt"], ids=lambda row: f"ring {row[0]} in")
def test_the_ring_across_the_negative_axis_point_tells_the_same_tilt(row: list[float]) -> None:
    # The ring's width across its far side is what a half circumference leaves after the two arcs
    # from the PAP: L = 27 - 2 r.
    ring, tilt = row
    # Tilt is printed to 0.01 degree, or 0.0015 in of ring.
    assert 27 - 2 * track.track_radius_in(tilt) == pytest.approx(ring, rel=0, abs=0.001)


@pytest.mark.parametrize("row", TABLE["clearance"], ids=lambda row: f"PAP {row[0]} up {row[1]}")
def test_the_worked_clearances_come_out_to_their_digits(row: list[float]) -> None:
    over, up, tilt, grip, thumb, finger = row
    hole_t, hole_f = TABLE["thumb"], TABLE["finger"]
    centre = track.hole_clearance_in(over, up, tilt, 0.0, 0.0, 0.0)
    assert centre == pytest.approx(grip, rel=0, abs=0.006)
    for hole, expected in ((hole_t, thumb), (hole_f, finger)):
        found = track.hole_clearance_in(
            over, up, tilt, hole["over_in"], hole["up_in"], hole["diameter_in"]
        )
        # Printed to 0.01 in.
        assert found == pytest.approx(expected, rel=0, abs=0.006)


@settings(deadline=None)
@given(
    over=st.floats(3.0, 6.75),
    up=st.floats(-2.0, 2.0),
    tilt=st.floats(0.0, 30.0),
    hole_over=st.floats(-1.5, 1.5),
    hole_up=st.floats(-3.5, 3.5),
    diameter=st.floats(0.5, 1.4),
)
def test_clearance_is_the_least_distance_from_the_edge_to_the_ring(
    over: float, up: float, tilt: float, hole_over: float, hole_up: float, diameter: float
) -> None:
    pap = point(over, up, RADIUS_IN)
    hole = point(hole_over, hole_up, RADIUS_IN)
    # Walk round the ring itself and take the nearest point.
    across = np.cross(pap, [0.1, 0.2, 0.97])
    across /= np.linalg.norm(across)
    other = np.cross(pap, across)
    angle = math.radians(90 + tilt)
    turns = np.linspace(0, 2 * math.pi, 501)
    ring = math.cos(angle) * pap + math.sin(angle) * (
        np.outer(np.cos(turns), across) + np.outer(np.sin(turns), other)
    )
    nearest = min(arc_in(at, hole, RADIUS_IN) for at in ring)
    found = track.hole_clearance_in(over, up, tilt, hole_over, hole_up, diameter)
    # Points stand 0.054 in apart on the ring; at a distance d that reads long by 0.027^2/(2 d),
    # and right on the ring by up to 0.027.
    assert -1e-9 < nearest - diameter / 2 - found < 0.028


def test_a_full_roller_s_track_runs_through_the_grip_centre() -> None:
    assert track.hole_clearance_in(6.75, 0.0, 0.0, 0.0, 0.0, 0.0) == pytest.approx(0.0, abs=1e-9)


def test_another_circumference_scales_the_inches_only() -> None:
    for tilt in (0.0, 12.0):
        assert track.track_radius_in(tilt, 26.7) == pytest.approx(
            track.track_radius_in(tilt) * 26.7 / 27, rel=1e-12
        )
    scale = 26.7 / 27
    numbers = (5.0, 0.5, 0.0, -2.625, 1.0)
    small = track.hole_clearance_in(
        5.0 * scale, 0.5 * scale, 15.0, 0.0, -2.625 * scale, 1.0 * scale, 26.7
    )
    large = track.hole_clearance_in(numbers[0], numbers[1], 15.0, *numbers[2:])
    assert small == pytest.approx(large * scale, rel=1e-9)


def test_more_tilt_gives_every_hole_more_room() -> None:
    found = [track.hole_clearance_in(5.0, 0.5, tilt, 0.0, -2.6, 1.0) for tilt in (0, 8, 16, 24)]
    assert found == sorted(found)
