"""Algebra of the spinning ball: kernels shared by the steps of the reference solver.

``s`` is the state vector of :mod:`physics.motion`, ``ball`` the tuple (mass, radius, gravity,
(three principal moments), (centre of mass from the geometric centre, in the body)), ``k`` the
conserved vector K of a balanced ball. All in SI units and the lane frame.
"""

import math

import numpy as np
from numba import njit


@njit(nogil=True, cache=True, error_model="numpy")
def rotation(w, x, y, z):  # type: ignore[no-untyped-def]
    """Rotation matrix of a unit quaternion, body to lane."""
    r = np.empty((3, 3))
    r[0, 0] = 1 - 2 * (y * y + z * z)
    r[0, 1] = 2 * (x * y - w * z)
    r[0, 2] = 2 * (x * z + w * y)
    r[1, 0] = 2 * (x * y + w * z)
    r[1, 1] = 1 - 2 * (x * x + z * z)
    r[1, 2] = 2 * (y * z - w * x)
    r[2, 0] = 2 * (x * z - w * y)
    r[2, 1] = 2 * (y * z + w * x)
    r[2, 2] = 1 - 2 * (x * x + y * y)
    return r


@njit(nogil=True, cache=True, error_model="numpy")
def spin(s, inertia):  # type: ignore[no-untyped-def]
    """Angular velocity from angular momentum: three components in the body, three in the lane."""
    n = 1.0 / math.sqrt(s[4] * s[4] + s[5] * s[5] + s[6] * s[6] + s[7] * s[7])
    w, x, y, z = s[4] * n, s[5] * n, s[6] * n, s[7] * n
    a00, a01, a02 = 1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)
    a10, a11, a12 = 2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)
    a20, a21, a22 = 2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)
    b0 = (a00 * s[8] + a10 * s[9] + a20 * s[10]) / inertia[0]
    b1 = (a01 * s[8] + a11 * s[9] + a21 * s[10]) / inertia[1]
    b2 = (a02 * s[8] + a12 * s[9] + a22 * s[10]) / inertia[2]
    lane_x = a00 * b0 + a01 * b1 + a02 * b2
    lane_y = a10 * b0 + a11 * b1 + a12 * b2
    lane_z = a20 * b0 + a21 * b1 + a22 * b2
    return b0, b1, b2, lane_x, lane_y, lane_z


@njit(nogil=True, cache=True, error_model="numpy")
def across(e, towards, instead):  # type: ignore[no-untyped-def]
    """Unit vector across a unit vector, as far ``towards`` another as it goes; and the third of a
    right-handed three. ``instead`` where the other lies along the first, as :mod:`physics.release`.
    """
    for n in range(2):
        t = towards if n == 0 else instead
        along = t[0] * e[0] + t[1] * e[1] + t[2] * e[2]
        a0, a1, a2 = t[0] - along * e[0], t[1] - along * e[1], t[2] - along * e[2]
        size = math.sqrt(a0 * a0 + a1 * a1 + a2 * a2)
        if size >= 1e-9:
            break
    a0, a1, a2 = a0 / size, a1 / size, a2 / size
    third = (e[1] * a2 - e[2] * a1, e[2] * a0 - e[0] * a2, e[0] * a1 - e[1] * a0)
    return (a0, a1, a2), third


@njit(nogil=True, cache=True, error_model="numpy")
def slip_speed(s, ball):  # type: ignore[no-untyped-def]
    """Speed of the contact point over the lane."""
    _, _, _, wx, wy, _ = spin(s, ball[3])
    return math.hypot(s[2] - ball[1] * wy, s[3] + ball[1] * wx)


@njit(nogil=True, cache=True, error_model="numpy")
def mean_spin_and_axis_rate(inertia, b0, b1, b2):  # type: ignore[no-untyped-def]
    """Spin averaged over a turn, and the rate at which the free polhode carries the axis (rad/s).

    The contact's torque rocks the axis in the body too, but there and back each turn, so only the
    polhode moves the track on.
    """
    l0, l1, l2 = inertia[0] * b0, inertia[1] * b1, inertia[2] * b2
    square = l0 * l0 + l1 * l1 + l2 * l2
    if square <= 0.0:
        return 0.0, 0.0
    mean = (l0 * b0 + l1 * b1 + l2 * b2) / math.sqrt(square)
    c0, c1, c2 = l1 * b2 - l2 * b1, l2 * b0 - l0 * b2, l0 * b1 - l1 * b0
    return mean, math.sqrt((c0 * c0 + c1 * c1 + c2 * c2) / square)


@njit(nogil=True, cache=True, error_model="numpy")
def _lane_inertia(s, inertia, extra):  # type: ignore[no-untyped-def]
    """Inertia tensor in the lane frame, with ``extra`` added to both horizontal moments."""
    r = rotation(s[4], s[5], s[6], s[7])
    j = np.zeros((3, 3))
    for a in range(3):
        for b in range(3):
            for i in range(3):
                j[a, b] += r[a, i] * inertia[i] * r[b, i]
    j[0, 0] += extra
    j[1, 1] += extra
    return j


@njit(nogil=True, cache=True, error_model="numpy")
def solve3(m, b0, b1, b2):  # type: ignore[no-untyped-def]
    """Solution of a 3 x 3 linear system by cofactors."""
    c00 = m[1, 1] * m[2, 2] - m[1, 2] * m[2, 1]
    c01 = m[1, 2] * m[2, 0] - m[1, 0] * m[2, 2]
    c02 = m[1, 0] * m[2, 1] - m[1, 1] * m[2, 0]
    det = m[0, 0] * c00 + m[0, 1] * c01 + m[0, 2] * c02
    c10 = m[0, 2] * m[2, 1] - m[0, 1] * m[2, 2]
    c11 = m[0, 0] * m[2, 2] - m[0, 2] * m[2, 0]
    c12 = m[0, 1] * m[2, 0] - m[0, 0] * m[2, 1]
    c20 = m[0, 1] * m[1, 2] - m[0, 2] * m[1, 1]
    c21 = m[0, 2] * m[1, 0] - m[0, 0] * m[1, 2]
    c22 = m[0, 0] * m[1, 1] - m[0, 1] * m[1, 0]
    return (
        (c00 * b0 + c10 * b1 + c20 * b2) / det,
        (c01 * b0 + c11 * b1 + c21 * b2) / det,
        (c02 * b0 + c12 * b1 + c22 * b2) / det,
    )


@njit(nogil=True, cache=True, error_model="numpy")
def conserved(s, ball):  # type: ignore[no-untyped-def]
    """K = L + m R z x v, which no friction at the contact can change."""
    m_r = ball[0] * ball[1]
    return s[8] - m_r * s[3], s[9] + m_r * s[2], s[10]


@njit(nogil=True, cache=True, error_model="numpy")
def restore_momentum(s, ball, k):  # type: ignore[no-untyped-def]
    """Set the angular momentum to what K and the velocity leave for it."""
    m_r = ball[0] * ball[1]
    s[8], s[9], s[10] = k[0] + m_r * s[3], k[1] - m_r * s[2], k[2]


@njit(nogil=True, cache=True, error_model="numpy")
def settle(s, ball, k):  # type: ignore[no-untyped-def]
    """Set the velocities of ``s`` to pure rolling with the given K; the lane-frame omega.

    omega solves (J + m R^2 (1 - z z')) omega = K.
    """
    mass, radius, _, inertia, _ = ball
    m = _lane_inertia(s, inertia, mass * radius * radius)
    wx, wy, wz = solve3(m, k[0], k[1], k[2])
    s[2], s[3] = radius * wy, -radius * wx
    restore_momentum(s, ball, k)
    return wx, wy, wz


@njit(nogil=True, cache=True, error_model="numpy")
def rolling_force(s, ball):  # type: ignore[no-untyped-def]
    """Horizontal force the lane must give to keep a rolling ball rolling."""
    mass, radius, _, inertia, _ = ball
    _, _, _, wx, wy, wz = spin(s, inertia)
    lx, ly, lz = s[8], s[9], s[10]
    m = _lane_inertia(s, inertia, mass * radius * radius)
    ax, ay, _ = solve3(m, wz * ly - wy * lz, wx * lz - wz * lx, wy * lx - wx * ly)
    return mass * radius * ay, -mass * radius * ax


@njit(nogil=True, cache=True, error_model="numpy")
def closing_rate(s, d, ball):  # type: ignore[no-untyped-def]
    """Rate at which the slip speed falls (m/s^2), given the time derivative ``d`` of ``s``."""
    _, radius, _, inertia, _ = ball
    _, _, _, wx, wy, wz = spin(s, inertia)
    lx, ly, lz = s[8], s[9], s[10]
    j = _lane_inertia(s, inertia, 0.0)
    ax, ay, _ = solve3(
        j, d[8] + wz * ly - wy * lz, d[9] + wx * lz - wz * lx, d[10] + wy * lx - wx * ly
    )
    ux, uy = s[2] - radius * wy, s[3] + radius * wx
    return -(ux * (d[2] - radius * ay) + uy * (d[3] + radius * ax)) / math.hypot(ux, uy)
