"""Algebra of a ball whose centre of mass lies off its geometric centre: kernels of the solver.

With r from the centre to the centre of mass, rho = R z + r from the contact to it, and w the spin,

    a_mass = a_centre + alpha x r + w x (w x r)
    m a_mass = F + (N - m g) z,   J alpha + w x J w = -rho x (F + N z)

the normal force N swings as the offset goes round, and N, alpha and (rolling) F are solved
together. While the contact slips F = mu N d, with d along the friction, which leaves one equation
for N; while it rolls a_centre = alpha x R z, which leaves three for alpha.

Source: Newton and Euler (derived); the same class of model is Huston et al., J. Appl. Mech. 46
(1979), and Frohlich, Am. J. Phys. 72 (2004), both known by title only. ``s`` and ``ball`` as in
:mod:`physics.rigid`: the place and velocity in ``s`` are the geometric centre's, the angular
momentum is about the centre of mass.
"""

import math

import numpy as np
from numba import njit

from physics.rigid import rotation, solve3, spin


@njit(nogil=True, cache=True, error_model="numpy")
def is_balanced(ball):  # type: ignore[no-untyped-def]
    """Whether the centre of mass is the geometric centre."""
    r = ball[4]
    return r[0] == 0.0 and r[1] == 0.0 and r[2] == 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def _attitude(s):  # type: ignore[no-untyped-def]
    n = 1.0 / math.sqrt(s[4] * s[4] + s[5] * s[5] + s[6] * s[6] + s[7] * s[7])
    return rotation(s[4] * n, s[5] * n, s[6] * n, s[7] * n)


@njit(nogil=True, cache=True, error_model="numpy")
def _gyration(ball, b0, b1, b2):  # type: ignore[no-untyped-def]
    """w x J w and w x (w x r), both in the body."""
    _, _, _, i, r = ball
    along, square = b0 * r[0] + b1 * r[1] + b2 * r[2], b0 * b0 + b1 * b1 + b2 * b2
    return (
        (i[2] - i[1]) * b1 * b2,
        (i[0] - i[2]) * b2 * b0,
        (i[1] - i[0]) * b0 * b1,
        along * b0 - square * r[0],
        along * b1 - square * r[1],
        along * b2 - square * r[2],
    )


@njit(nogil=True, cache=True, error_model="numpy")
def slipping(s, ball, dx, dy, mu):  # type: ignore[no-untyped-def]
    """What a contact does that rubs with F = mu N (dx, dy): lane-frame components.

    Acceleration of the centre (2), torque about the centre of mass (3) and N over m g.
    """
    mass, radius, gravity, i, r = ball
    a = _attitude(s)
    b0, b1, b2, _, _, _ = spin(s, i)
    g0, g1, g2, c0, c1, c2 = _gyration(ball, b0, b1, b2)
    z0, z1, z2 = a[2, 0], a[2, 1], a[2, 2]
    # Force and torque for N = 1, in the body.
    f0 = mu * (a[0, 0] * dx + a[1, 0] * dy) + z0
    f1 = mu * (a[0, 1] * dx + a[1, 1] * dy) + z1
    f2 = mu * (a[0, 2] * dx + a[1, 2] * dy) + z2
    p0, p1, p2 = radius * z0 + r[0], radius * z1 + r[1], radius * z2 + r[2]
    t0, t1, t2 = p2 * f1 - p1 * f2, p0 * f2 - p2 * f0, p1 * f0 - p0 * f1
    # The vertical part of alpha x r is alpha . (r x z).
    e0, e1, e2 = r[1] * z2 - r[2] * z1, r[2] * z0 - r[0] * z2, r[0] * z1 - r[1] * z0
    free = gravity + c0 * z0 + c1 * z1 + c2 * z2
    free -= e0 * g0 / i[0] + e1 * g1 / i[1] + e2 * g2 / i[2]
    normal = mass * free / (1.0 - mass * (e0 * t0 / i[0] + e1 * t1 / i[1] + e2 * t2 / i[2]))
    w0 = (normal * t0 - g0) / i[0]
    w1 = (normal * t1 - g1) / i[1]
    w2 = (normal * t2 - g2) / i[2]
    # Acceleration of the centre of mass over that of the centre, in the body.
    q0, q1, q2 = w1 * r[2] - w2 * r[1] + c0, w2 * r[0] - w0 * r[2] + c1, w0 * r[1] - w1 * r[0] + c2
    push = mu * normal / mass
    return (
        push * dx - (a[0, 0] * q0 + a[0, 1] * q1 + a[0, 2] * q2),
        push * dy - (a[1, 0] * q0 + a[1, 1] * q1 + a[1, 2] * q2),
        normal * (a[0, 0] * t0 + a[0, 1] * t1 + a[0, 2] * t2),
        normal * (a[1, 0] * t0 + a[1, 1] * t1 + a[1, 2] * t2),
        normal * (a[2, 0] * t0 + a[2, 1] * t1 + a[2, 2] * t2),
        normal / (mass * gravity),
    )


@njit(nogil=True, cache=True, error_model="numpy")
def rolling(s, ball):  # type: ignore[no-untyped-def]
    """What a rolling contact asks for: lane-frame components.

    Force of the lane on the ball (Fx, Fy, N), torque about the centre of mass (3), and the
    acceleration of the centre (2).
    """
    mass, radius, gravity, i, r = ball
    a = _attitude(s)
    b0, b1, b2, _, _, _ = spin(s, i)
    g0, g1, g2, c0, c1, c2 = _gyration(ball, b0, b1, b2)
    z0, z1, z2 = a[2, 0], a[2, 1], a[2, 2]
    p0, p1, p2 = radius * z0 + r[0], radius * z1 + r[1], radius * z2 + r[2]
    # Whatever alpha is, the mass has these accelerations besides alpha x rho.
    k0, k1, k2 = c0 + gravity * z0, c1 + gravity * z1, c2 + gravity * z2
    square = p0 * p0 + p1 * p1 + p2 * p2
    m = np.empty((3, 3))
    m[0, 0], m[0, 1], m[0, 2] = i[0] + mass * (square - p0 * p0), -mass * p0 * p1, -mass * p0 * p2
    m[1, 0], m[1, 1], m[1, 2] = m[0, 1], i[1] + mass * (square - p1 * p1), -mass * p1 * p2
    m[2, 0], m[2, 1], m[2, 2] = m[0, 2], m[1, 2], i[2] + mass * (square - p2 * p2)
    w0, w1, w2 = solve3(
        m,
        -g0 - mass * (p1 * k2 - p2 * k1),
        -g1 - mass * (p2 * k0 - p0 * k2),
        -g2 - mass * (p0 * k1 - p1 * k0),
    )
    f0 = mass * (w1 * p2 - w2 * p1 + k0)
    f1 = mass * (w2 * p0 - w0 * p2 + k1)
    f2 = mass * (w0 * p1 - w1 * p0 + k2)
    t0, t1, t2 = p2 * f1 - p1 * f2, p0 * f2 - p2 * f0, p1 * f0 - p0 * f1
    return (
        a[0, 0] * f0 + a[0, 1] * f1 + a[0, 2] * f2,
        a[1, 0] * f0 + a[1, 1] * f1 + a[1, 2] * f2,
        a[2, 0] * f0 + a[2, 1] * f1 + a[2, 2] * f2,
        a[0, 0] * t0 + a[0, 1] * t1 + a[0, 2] * t2,
        a[1, 0] * t0 + a[1, 1] * t1 + a[1, 2] * t2,
        a[2, 0] * t0 + a[2, 1] * t1 + a[2, 2] * t2,
        radius * (a[1, 0] * w0 + a[1, 1] * w1 + a[1, 2] * w2),
        -radius * (a[0, 0] * w0 + a[0, 1] * w1 + a[0, 2] * w2),
    )
