"""From the bowler's numbers to the state of the ball as it leaves the hand.

Rotation and tilt are what a camera averages over a turn: the direction of the angular momentum,
measured from the launch direction. For a right-hander it is (-cos t sin r, cos t cos r, sin t) with
the body's angular momentum along J pap; for a left-hander (cos t sin r, cos t cos r, -sin t), along
-J pap. The mean spin, |L| p J^-1 p with p the direction of L in the body, is the rev rate.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from physics.errors import InputError

Array = NDArray[np.float64]


def launch_velocity(speed_m_s: float, launch_deg: float, hand: str) -> tuple[float, float]:
    """Velocity in the lane frame; launch is positive towards the ball-hand gutter."""
    launch = math.radians(launch_deg)
    side = -1.0 if hand == "right" else 1.0
    return speed_m_s * math.cos(launch), side * speed_m_s * math.sin(launch)


def spin_direction(
    axis_rotation_deg: float, axis_tilt_deg: float, launch_deg: float, hand: str
) -> Array:
    """Unit angular momentum in the lane frame, rotation counted from the launch direction."""
    rotation, tilt = math.radians(axis_rotation_deg), math.radians(axis_tilt_deg)
    side = -1.0 if hand == "right" else 1.0
    # The launch turns the whole picture about the vertical.
    turn = side * math.radians(launch_deg)
    x = side * math.cos(tilt) * math.sin(rotation)
    y = math.cos(tilt) * math.cos(rotation)
    return np.array(
        [
            x * math.cos(turn) - y * math.sin(turn),
            x * math.sin(turn) + y * math.cos(turn),
            -side * math.sin(tilt),
        ]
    )


def orientation_and_spin(
    *,
    inertia: Sequence[float],
    pap_body: Array,
    direction: Array,
    rev_rate_rad_s: float,
    spin_phase_deg: float,
    hand: str,
) -> tuple[Array, Array]:
    """Unit quaternion (body to lane) and body angular velocity of a release.

    At ``spin_phase_deg`` 0 the low-RG axis (body axis 1) lies in the vertical plane through the
    angular momentum, on its upper side; the phase turns the ball about the angular momentum.
    """
    moments = np.asarray(inertia, float)
    momentum = moments * pap_body * (1.0 if hand == "right" else -1.0)
    p = momentum / np.linalg.norm(momentum)
    size = rev_rate_rad_s / float(p @ (p / moments))
    omega = size * p / moments
    body = _triad(p, np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0]))
    lane = _triad(direction, np.array([0.0, 0.0, 1.0]), np.array([-1.0, 0.0, 0.0]))
    phase = math.radians(spin_phase_deg)
    about = np.array(
        [
            [1, 0, 0],
            [0, math.cos(phase), -math.sin(phase)],
            [0, math.sin(phase), math.cos(phase)],
        ]
    )
    return quaternion_of(lane.T @ about @ body), omega


def _triad(first: Array, towards: Array, instead: Array) -> Array:
    """Rows of a right-handed frame: ``first``, then the part of ``towards`` across it."""
    across = towards - float(towards @ first) * first
    if np.linalg.norm(across) < 1e-9:
        across = instead - float(instead @ first) * first
    across = across / np.linalg.norm(across)
    return np.array([first, across, np.cross(first, across)])


def quaternion_of(rotation: Array) -> Array:
    """Unit quaternion (w, x, y, z) of a rotation matrix, by its largest component."""
    r = rotation
    squares = 0.25 * np.array(
        [
            1 + r[0, 0] + r[1, 1] + r[2, 2],
            1 + r[0, 0] - r[1, 1] - r[2, 2],
            1 - r[0, 0] + r[1, 1] - r[2, 2],
            1 - r[0, 0] - r[1, 1] + r[2, 2],
        ]
    )
    largest = int(np.argmax(squares))
    products = 0.25 * np.array(
        [
            [0.0, r[2, 1] - r[1, 2], r[0, 2] - r[2, 0], r[1, 0] - r[0, 1]],
            [r[2, 1] - r[1, 2], 0.0, r[1, 0] + r[0, 1], r[0, 2] + r[2, 0]],
            [r[0, 2] - r[2, 0], r[1, 0] + r[0, 1], 0.0, r[2, 1] + r[1, 2]],
            [r[1, 0] - r[0, 1], r[0, 2] + r[2, 0], r[2, 1] + r[1, 2], 0.0],
        ]
    )
    size = math.sqrt(float(squares[largest]))
    quaternion = products[largest] / size
    quaternion[largest] = size
    return np.asarray(quaternion if quaternion[0] >= 0 else -quaternion)


def unit_pap(pap_body: Sequence[float], field: str) -> Array:
    """The PAP as a unit vector; it must have been given as one."""
    pap = np.asarray(pap_body, float)
    length = float(np.linalg.norm(pap))
    if abs(length - 1) > 1e-3:
        raise InputError(field, list(pap_body), "a unit vector in the principal frame")
    return pap / length
