"""The reference solver: a full rigid body on a level lane, slipping, rolling and between.

Lane frame: x down-lane, y left, z up, origin at the foul line's level under the ball's centre.
State vector ``s`` of the kernels (14):
    0 x, 1 y, 2 vx, 3 vy, 4-7 quaternion (w, x, y, z) from the principal body frame to the lane,
    8-10 angular momentum about the centre in the lane frame, 11 film on the ball's last ring (um),
    12 arc the axis has moved on the ball's surface (m), 13 the part of it moved on oil (m).

Angular momentum, not angular velocity, is integrated because then K = L + m R z x v, which friction
can't change, is a linear invariant and kept to rounding by every Runge-Kutta method. While the ball
rolls, K gives the velocities outright: omega solves (J + m R^2 (1 - z z')) omega = K (Chaplygin,
1903), so only the orientation and the path are integrated.

Method: the embedded 5(4) pair of Dormand & Prince (J. Comp. Appl. Math. 6, 19-26, 1980), steps cut
exactly at zone edges, sample times and the lane's end.
"""

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from physics.friction import FILM, GRID, ZONES, Friction, bilinear, film_mu, ring_overlap
from physics.units import FOUL_LINE_TO_HEAD_PIN_M, STANDARD_GRAVITY_M_S2

Array = NDArray[np.float64]

STATES = 14
SAMPLE = 17
ROLL_SLIP_M_S = 1e-8
LONGEST_S = 120.0
MOST_STEPS = 400_000
# A ring can be seen on a ball where the lane's film is at least about a unit of oil (estimate).
VISIBLE_FILM_UM = 0.18

SLIDING, ROLLING = 0, 1

A = np.array(
    [
        [0, 0, 0, 0, 0, 0],
        [1 / 5, 0, 0, 0, 0, 0],
        [3 / 40, 9 / 40, 0, 0, 0, 0],
        [44 / 45, -56 / 15, 32 / 9, 0, 0, 0],
        [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729, 0, 0],
        [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656, 0],
        [35 / 384, 0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],
    ]
)
ERROR = np.array(
    [71 / 57600, 0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40]
)  # fifth-order weights less fourth-order ones


@dataclass(frozen=True)
class Shot:
    """Result of one delivery.

    ``end`` and the rows of ``samples``: t, x, y, vx, vy, quaternion (4), omega in the body (3),
    angular momentum in the lane frame (3), ring film (um), arc of the axis (m). Rows of samples
    past the end are NaN. ``roll`` is (t, x, y) of the first rolling, or None. ``profile`` has a row
    for each distance asked for: t, y, vx, vy, slip speed, friction coefficient, lane film (um).
    ``flare_m`` is the arc the axis moved on the surface, ``visible_flare_m`` the part on oil.
    """

    end: Array
    roll: tuple[float, float, float] | None
    reached: bool
    samples: Array
    profile: Array
    flare_m: float
    visible_flare_m: float


def deliver(
    *,
    mass_kg: float,
    radius_m: float,
    principal_rg_m: tuple[float, float, float],
    position_m: tuple[float, float],
    velocity_m_s: tuple[float, float],
    orientation: Array,
    omega_body_rad_s: Array,
    friction: Friction,
    lane_length_m: float = FOUL_LINE_TO_HEAD_PIN_M,
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2,
    sample_times_s: Array | None = None,
    profile_step_m: float = 0.0,
    tolerance: float = 1e-10,
) -> Shot:
    """Integrate one delivery until the centre passes ``lane_length_m`` or the ball stops short.

    ``orientation`` is a unit quaternion from the principal body frame to the lane,
    ``tolerance`` the local error per step in metres, metres per second and relative angular
    momentum.
    """
    inertia = mass_kg * np.asarray(principal_rg_m, float) ** 2
    start = np.zeros(STATES)
    start[0:2] = position_m
    start[2:4] = velocity_m_s
    start[4:8] = np.asarray(orientation, float) / np.linalg.norm(orientation)
    start[8:11] = rotate(start[4:8], inertia * np.asarray(omega_body_rad_s, float))
    times = np.zeros(0) if sample_times_s is None else np.asarray(sample_times_s, float)
    rows = 0
    if profile_step_m > 0:
        rows = int(math.floor(lane_length_m / profile_step_m + 1e-9)) + 1
    end, roll, reached, samples, profile = _integrate(
        start,
        mass_kg,
        radius_m,
        inertia,
        friction.kind,
        friction.x_m,
        friction.y_m,
        friction.zone_mu,
        friction.table,
        friction.film,
        lane_length_m,
        gravity_m_s2,
        times,
        profile_step_m,
        rows,
        tolerance,
    )
    return Shot(
        end=end,
        roll=None if math.isnan(roll[0]) else (float(roll[0]), float(roll[1]), float(roll[2])),
        reached=bool(reached),
        samples=samples,
        profile=profile,
        flare_m=float(end[16]),
        visible_flare_m=float(profile[-1, 7]) if rows else math.nan,
    )


def rotate(quaternion: Array, vector: Array) -> Array:
    """A body vector in the lane frame."""
    return _rotation(*quaternion) @ vector


@njit(nogil=True, cache=True, error_model="numpy")
def _rotation(w, x, y, z):  # type: ignore[no-untyped-def]
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
def _spin(s, inertia):  # type: ignore[no-untyped-def]
    """Rotation matrix entries times J^-1: omega in body and lane, from L in the lane."""
    n = 1.0 / math.sqrt(s[4] * s[4] + s[5] * s[5] + s[6] * s[6] + s[7] * s[7])
    w, x, y, z = s[4] * n, s[5] * n, s[6] * n, s[7] * n
    a00, a01, a02 = 1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)
    a10, a11, a12 = 2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)
    a20, a21, a22 = 2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)
    b0 = (a00 * s[8] + a10 * s[9] + a20 * s[10]) / inertia[0]
    b1 = (a01 * s[8] + a11 * s[9] + a21 * s[10]) / inertia[1]
    b2 = (a02 * s[8] + a12 * s[9] + a22 * s[10]) / inertia[2]
    return (
        b0,
        b1,
        b2,
        a00 * b0 + a01 * b1 + a02 * b2,
        a10 * b0 + a11 * b1 + a12 * b2,
        a20 * b0 + a21 * b1 + a22 * b2,
    )


@njit(nogil=True, cache=True, error_model="numpy")
def _lane_inertia(s, inertia):  # type: ignore[no-untyped-def]
    r = _rotation(s[4], s[5], s[6], s[7])
    j = np.zeros((3, 3))
    for a in range(3):
        for b in range(3):
            for k in range(3):
                j[a, b] += r[a, k] * inertia[k] * r[b, k]
    return j


@njit(nogil=True, cache=True, error_model="numpy")
def _solve3(m, b0, b1, b2):  # type: ignore[no-untyped-def]
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
def _settle(s, mass, radius, inertia, kx, ky, kz):  # type: ignore[no-untyped-def]
    """Set velocities of ``s`` to pure rolling with the given K; returns the lane-frame omega."""
    m = _lane_inertia(s, inertia)
    m[0, 0] += mass * radius * radius
    m[1, 1] += mass * radius * radius
    wx, wy, wz = _solve3(m, kx, ky, kz)
    s[2] = radius * wy
    s[3] = -radius * wx
    # L = K - m R z x v
    s[8] = kx + mass * radius * s[3]
    s[9] = ky - mass * radius * s[2]
    s[10] = kz
    return wx, wy, wz


@njit(nogil=True, cache=True, error_model="numpy")
def _rolling_force(s, mass, radius, inertia, wx, wy, wz):  # type: ignore[no-untyped-def]
    """Horizontal force the lane must give to keep the ball rolling."""
    m = _lane_inertia(s, inertia)
    lx, ly, lz = s[8], s[9], s[10]
    m[0, 0] += mass * radius * radius
    m[1, 1] += mass * radius * radius
    ax, ay, _ = _solve3(m, -(wy * lz - wz * ly), -(wz * lx - wx * lz), -(wx * ly - wy * lx))
    return mass * radius * ay, -mass * radius * ax


@njit(nogil=True, cache=True, error_model="numpy")
def _axis_rate(s, inertia, b0, b1, b2):  # type: ignore[no-untyped-def]
    """Mean spin over a turn, and the rate at which the free polhode carries the axis (rad/s).

    The contact's torque also rocks the axis in the body, but once each turn and back again, so
    only the polhode moves the track on.
    """
    l0, l1, l2 = inertia[0] * b0, inertia[1] * b1, inertia[2] * b2
    square = l0 * l0 + l1 * l1 + l2 * l2
    if square <= 0.0:
        return 0.0, 0.0
    spin = (l0 * b0 + l1 * b1 + l2 * b2) / math.sqrt(square)
    c0, c1, c2 = l1 * b2 - l2 * b1, l2 * b0 - l0 * b2, l0 * b1 - l1 * b0
    return spin, math.sqrt((c0 * c0 + c1 * c1 + c2 * c2) / square)


@njit(nogil=True, cache=True, error_model="numpy")
def _contact(s, kind, zone, xs, ys, zone_mu, table, film, spin, rate, radius):  # type: ignore[no-untyped-def]
    """Friction coefficient, lane film, and the rate of change of the ring's film."""
    if kind == ZONES:
        return zone_mu[zone], 0.0, 0.0
    value = bilinear(xs, ys, table, s[0], s[1])
    if kind == GRID:
        return value, 0.0, 0.0
    mu_oil, mu_dry, scale, exponent, absorption, patch = film
    if patch <= 0.0 or spin < 1e-6:
        return film_mu(value, mu_oil, mu_dry, scale, exponent), value, 0.0
    turn = 2.0 * math.pi / spin
    felt = value + ring_overlap(radius * rate * turn, patch) * s[11]
    change = 0.5 * (value - s[11]) / turn - absorption * s[11]
    return film_mu(felt, mu_oil, mu_dry, scale, exponent), value, change


@njit(nogil=True, cache=True, error_model="numpy")
def _rates(
    s,
    d,
    phase,
    mass,
    radius,
    inertia,
    gravity,
    kind,
    zone,
    xs,
    ys,
    zone_mu,
    table,
    film,
    kx,
    ky,
    kz,
):  # type: ignore[no-untyped-def]
    """Time derivative ``d`` of state ``s``; returns slip (x, y) and friction coefficient."""
    if phase == ROLLING:
        _settle(s, mass, radius, inertia, kx, ky, kz)
    b0, b1, b2, wx, wy, _ = _spin(s, inertia)
    spin, rate = _axis_rate(s, inertia, b0, b1, b2)
    mu, oil, change = _contact(s, kind, zone, xs, ys, zone_mu, table, film, spin, rate, radius)
    ux, uy = s[2] - radius * wy, s[3] + radius * wx
    d[0], d[1] = s[2], s[3]
    d[2], d[3], d[8], d[9], d[10] = 0.0, 0.0, 0.0, 0.0, 0.0
    if phase == SLIDING:
        slip = math.sqrt(ux * ux + uy * uy)
        if slip > 0.0:
            d[2] = -mu * gravity * ux / slip
            d[3] = -mu * gravity * uy / slip
            # torque (-R z) x F
            d[8] = radius * mass * d[3]
            d[9] = -radius * mass * d[2]
    w, x, y, z = s[4], s[5], s[6], s[7]
    d[4] = 0.5 * (-x * b0 - y * b1 - z * b2)
    d[5] = 0.5 * (w * b0 + y * b2 - z * b1)
    d[6] = 0.5 * (w * b1 + z * b0 - x * b2)
    d[7] = 0.5 * (w * b2 + x * b1 - y * b0)
    d[11] = change
    d[12] = radius * rate
    d[13] = radius * rate if oil > VISIBLE_FILM_UM else 0.0
    return ux, uy, mu


@njit(nogil=True, cache=True, error_model="numpy")
def _step(
    s,
    h,
    out,
    work,
    phase,
    mass,
    radius,
    inertia,
    gravity,
    kind,
    zone,
    xs,
    ys,
    zone_mu,
    table,
    film,
    kx,
    ky,
    kz,
    scale_l,
):  # type: ignore[no-untyped-def]
    """One step of the pair from ``s`` (whose rates are in work[0]) to ``out``; scaled error."""
    trial = work[8]
    for stage in range(1, 7):
        for i in range(STATES):
            total = 0.0
            for j in range(stage):
                total += A[stage, j] * work[j, i]
            trial[i] = s[i] + h * total
        _rates(
            trial,
            work[stage],
            phase,
            mass,
            radius,
            inertia,
            gravity,
            kind,
            zone,
            xs,
            ys,
            zone_mu,
            table,
            film,
            kx,
            ky,
            kz,
        )
    error = 0.0
    for i in range(STATES):
        out[i] = trial[i]
        if i < 12:
            wrong = 0.0
            for j in range(7):
                wrong += ERROR[j] * work[j, i]
            wrong *= h
            if 8 <= i <= 10:
                wrong /= scale_l
            error += wrong * wrong
    n = 1.0 / math.sqrt(out[4] ** 2 + out[5] ** 2 + out[6] ** 2 + out[7] ** 2)
    for i in range(4, 8):
        out[i] *= n
    if phase == ROLLING:
        _settle(out, mass, radius, inertia, kx, ky, kz)
    return math.sqrt(error)


@njit(nogil=True, cache=True, error_model="numpy")
def _row(t, s, inertia, out):  # type: ignore[no-untyped-def]
    b0, b1, b2, _, _, _ = _spin(s, inertia)
    out[0] = t
    for i in range(8):
        out[1 + i] = s[i]
    out[9], out[10], out[11] = b0, b1, b2
    for i in range(3):
        out[12 + i] = s[8 + i]
    out[15], out[16] = s[11], s[12]


@njit(nogil=True, cache=True, error_model="numpy")
def _hermite(f, h, y0, d0, y1, d1):  # type: ignore[no-untyped-def]
    a = (1 + 2 * f) * (1 - f) ** 2
    b = f * (1 - f) ** 2
    c = f * f * (3 - 2 * f)
    e = f * f * (f - 1)
    return a * y0 + h * b * d0 + c * y1 + h * e * d1


@njit(nogil=True, cache=True, error_model="numpy")
def _zone_of(xs, x):  # type: ignore[no-untyped-def]
    zone = 0
    while zone < xs.shape[0] and xs[zone] <= x + 1e-11:
        zone += 1
    return zone


@njit(nogil=True, cache=True, error_model="numpy")
def _integrate(
    start,
    mass,
    radius,
    inertia,
    kind,
    xs,
    ys,
    zone_mu,
    table,
    film,
    lane_length,
    gravity,
    times,
    profile_step,
    profile_rows,
    tolerance,
):  # type: ignore[no-untyped-def]
    s = start.copy()
    new = np.empty(STATES)
    work = np.empty((9, STATES))
    begin, finish = np.empty(STATES), np.empty(STATES)
    samples = np.full((times.shape[0], SAMPLE), np.nan)
    profile = np.full((profile_rows, 8), np.nan)
    roll = np.full(3, np.nan)
    end = np.empty(SAMPLE)
    order = np.argsort(times)
    next_time, next_row = 0, 0
    t, want = 0.0, 1e-3
    phase = SLIDING
    reached = False
    # K = L + m R z x v: what friction at the contact can't change.
    kx = s[8] - mass * radius * s[3]
    ky = s[9] + mass * radius * s[2]
    kz = s[10]
    scale_l = max(math.sqrt(kx * kx + ky * ky + kz * kz), 1e-9)
    for _ in range(MOST_STEPS):
        while next_time < times.shape[0] and times[order[next_time]] <= t + 1e-13:
            _row(t, s, inertia, samples[order[next_time]])
            next_time += 1
        if s[0] >= lane_length - 1e-12:
            reached = True
            break
        if t >= LONGEST_S:
            break
        zone = _zone_of(xs, s[0]) if kind == ZONES else 0
        ux, uy, mu = _rates(
            s,
            work[0],
            phase,
            mass,
            radius,
            inertia,
            gravity,
            kind,
            zone,
            xs,
            ys,
            zone_mu,
            table,
            film,
            kx,
            ky,
            kz,
        )
        slip = math.sqrt(ux * ux + uy * uy)
        if phase == SLIDING and slip <= ROLL_SLIP_M_S * 1.0001:
            # Slip has vanished: roll if the lane can hold the ball, else slip on the way it must.
            kept_v0, kept_v1 = s[2], s[3]
            wx, wy, wz = _settle(s, mass, radius, inertia, kx, ky, kz)
            fx, fy = _rolling_force(s, mass, radius, inertia, wx, wy, wz)
            need = math.sqrt(fx * fx + fy * fy)
            if need <= mu * mass * gravity:
                phase = ROLLING
                if math.isnan(roll[0]):
                    roll[0], roll[1], roll[2] = t, s[0], s[1]
                continue
            if slip < 0.5 * ROLL_SLIP_M_S:
                # friction would have to push along F: the contact escapes the other way
                dx, dy = -fx / need * ROLL_SLIP_M_S * 2, -fy / need * ROLL_SLIP_M_S * 2
                beta = mass * radius * radius / (inertia[0] + mass * radius * radius)
                _kick(s, mass, radius, dx * (1 - beta), dy * (1 - beta))
            else:
                s[2], s[3] = kept_v0, kept_v1
                s[8] = kx + mass * radius * s[3]
                s[9] = ky - mass * radius * s[2]
            _rates(
                s,
                work[0],
                phase,
                mass,
                radius,
                inertia,
                gravity,
                kind,
                zone,
                xs,
                ys,
                zone_mu,
                table,
                film,
                kx,
                ky,
                kz,
            )
        if s[2] <= 1e-9 and (phase == ROLLING or work[0, 2] <= 0.0):
            break
        for i in range(STATES):
            begin[i] = work[0, i]
        h = min(want, 0.05)
        if phase == SLIDING and slip > 0.0:
            closing = _closing_rate(s, work[0], ux, uy, radius, inertia)
            if closing > 0.0:
                # Near roll, step no further than nine tenths of the way, and the last bit exactly.
                left = slip / closing
                h = min(h, left if slip < 20 * ROLL_SLIP_M_S else 0.9 * left)
        if next_time < times.shape[0]:
            h = min(h, times[order[next_time]] - t)
        h = max(h, 1e-13)
        error = _step(
            s,
            h,
            new,
            work,
            phase,
            mass,
            radius,
            inertia,
            gravity,
            kind,
            zone,
            xs,
            ys,
            zone_mu,
            table,
            film,
            kx,
            ky,
            kz,
            scale_l,
        )
        if error > tolerance and h > 1e-9:
            want = h * max(0.1, 0.9 * (tolerance / error) ** 0.2)
            continue
        wall = lane_length
        if kind == ZONES and zone < xs.shape[0]:
            wall = min(wall, xs[zone])
        taken = h
        if new[0] > wall + 1e-12:
            taken = _meet(
                s,
                h,
                new,
                work,
                phase,
                mass,
                radius,
                inertia,
                gravity,
                kind,
                zone,
                xs,
                ys,
                zone_mu,
                table,
                film,
                kx,
                ky,
                kz,
                scale_l,
                0,
                wall,
            )
        elif new[2] < 0.0 and s[2] > 1e-9:
            taken = _meet(
                s,
                h,
                new,
                work,
                phase,
                mass,
                radius,
                inertia,
                gravity,
                kind,
                zone,
                xs,
                ys,
                zone_mu,
                table,
                film,
                kx,
                ky,
                kz,
                scale_l,
                2,
                0.0,
            )
        escaped = False
        if phase == ROLLING:
            low, high = 0.0, taken
            if _exceeds(
                new, mass, radius, inertia, gravity, kind, zone, xs, ys, zone_mu, table, film
            ):
                escaped = True
                for _ in range(40):
                    middle = 0.5 * (low + high)
                    _step(
                        s,
                        middle,
                        new,
                        work,
                        phase,
                        mass,
                        radius,
                        inertia,
                        gravity,
                        kind,
                        zone,
                        xs,
                        ys,
                        zone_mu,
                        table,
                        film,
                        kx,
                        ky,
                        kz,
                        scale_l,
                    )
                    if _exceeds(
                        new,
                        mass,
                        radius,
                        inertia,
                        gravity,
                        kind,
                        zone,
                        xs,
                        ys,
                        zone_mu,
                        table,
                        film,
                    ):
                        high = middle
                    else:
                        low = middle
                taken = high
                _step(
                    s,
                    taken,
                    new,
                    work,
                    phase,
                    mass,
                    radius,
                    inertia,
                    gravity,
                    kind,
                    zone,
                    xs,
                    ys,
                    zone_mu,
                    table,
                    film,
                    kx,
                    ky,
                    kz,
                    scale_l,
                )
        if next_row < profile_rows:
            _rates(
                new,
                finish,
                phase,
                mass,
                radius,
                inertia,
                gravity,
                kind,
                zone,
                xs,
                ys,
                zone_mu,
                table,
                film,
                kx,
                ky,
                kz,
            )
            next_row = _fill(
                profile,
                next_row,
                profile_step,
                t,
                taken,
                s,
                begin,
                new,
                finish,
                mu,
                slip,
                inertia,
                radius,
                kind,
                xs,
                ys,
                table,
            )
        t += taken
        for i in range(STATES):
            s[i] = new[i]
        if escaped:
            phase = SLIDING
        # A step cut short by an edge says nothing against the longer one wanted before.
        grown = h * min(5.0, 0.9 * (tolerance / max(error, 1e-30)) ** 0.2)
        want = max(1e-6, grown if h == want else max(want, grown))
    _row(t, s, inertia, end)
    while next_time < times.shape[0] and times[order[next_time]] <= t + 1e-12:
        _row(t, s, inertia, samples[order[next_time]])
        next_time += 1
    while next_row < profile_rows and reached:
        _last_row(profile, next_row, t, s, inertia, radius, kind, xs, ys, table)
        next_row += 1
    if profile_rows > 0:
        profile[profile_rows - 1, 7] = s[13]
    return end, roll, reached, samples, profile


@njit(nogil=True, cache=True, error_model="numpy")
def _kick(s, mass, radius, dx, dy):  # type: ignore[no-untyped-def]
    """Change the velocity a little while keeping K."""
    s[2] += dx
    s[3] += dy
    s[8] += mass * radius * dy
    s[9] -= mass * radius * dx


@njit(nogil=True, cache=True, error_model="numpy")
def _closing_rate(s, d, ux, uy, radius, inertia):  # type: ignore[no-untyped-def]
    """Rate at which the slip speed falls, m/s^2."""
    j = _lane_inertia(s, inertia)
    _, _, _, wx, wy, wz = _spin(s, inertia)
    lx, ly, lz = s[8], s[9], s[10]
    ax, ay, _ = _solve3(
        j,
        d[8] - (wy * lz - wz * ly),
        d[9] - (wz * lx - wx * lz),
        d[10] - (wx * ly - wy * lx),
    )
    slip = math.sqrt(ux * ux + uy * uy)
    return -(ux * (d[2] - radius * ay) + uy * (d[3] + radius * ax)) / slip


@njit(nogil=True, cache=True, error_model="numpy")
def _exceeds(s, mass, radius, inertia, gravity, kind, zone, xs, ys, zone_mu, table, film):  # type: ignore[no-untyped-def]
    b0, b1, b2, wx, wy, wz = _spin(s, inertia)
    spin, rate = _axis_rate(s, inertia, b0, b1, b2)
    mu, _, _ = _contact(s, kind, zone, xs, ys, zone_mu, table, film, spin, rate, radius)
    fx, fy = _rolling_force(s, mass, radius, inertia, wx, wy, wz)
    limit = mu * mass * gravity
    return fx * fx + fy * fy > limit * limit


@njit(nogil=True, cache=True, error_model="numpy")
def _meet(
    s,
    h,
    new,
    work,
    phase,
    mass,
    radius,
    inertia,
    gravity,
    kind,
    zone,
    xs,
    ys,
    zone_mu,
    table,
    film,
    kx,
    ky,
    kz,
    scale_l,
    which,
    goal,
):  # type: ignore[no-untyped-def]
    """Shorten the step so that component ``which`` of the state ends on ``goal``; bracketed secant."""
    low, high = 0.0, h
    f_low, f_high = s[which] - goal, new[which] - goal
    side = 0
    at = h
    for _ in range(60):
        at = low + (high - low) * f_low / (f_low - f_high)
        _step(
            s,
            at,
            new,
            work,
            phase,
            mass,
            radius,
            inertia,
            gravity,
            kind,
            zone,
            xs,
            ys,
            zone_mu,
            table,
            film,
            kx,
            ky,
            kz,
            scale_l,
        )
        f = new[which] - goal
        if abs(f) < 1e-13 or high - low < 1e-16:
            break
        if (f > 0.0) == (f_high > 0.0):
            high, f_high = at, f
            if side == 1:
                f_low *= 0.5
            side = 1
        else:
            low, f_low = at, f
            if side == -1:
                f_high *= 0.5
            side = -1
    new[which] = goal
    return at


@njit(nogil=True, cache=True, error_model="numpy")
def _fill(profile, row, step, t, h, s, d0, new, d1, mu, slip, inertia, radius, kind, xs, ys, table):  # type: ignore[no-untyped-def]
    """Profile rows whose distance lies within the step just taken, by cubic Hermite in time."""
    while row < profile.shape[0] and row * step <= new[0] + 1e-12:
        goal = row * step
        f = 0.0
        if new[0] > s[0]:
            f = min(1.0, max(0.0, (goal - s[0]) / (new[0] - s[0])))
        for _ in range(4):
            x = _hermite(f, h, s[0], d0[0], new[0], d1[0])
            v = s[2] + f * (new[2] - s[2])
            if v <= 0.0 or h <= 0.0:
                break
            f = min(1.0, max(0.0, f + (goal - x) / (v * h)))
        y = _hermite(f, h, s[1], d0[1], new[1], d1[1])
        _, _, _, wx0, wy0, _ = _spin(s, inertia)
        _, _, _, wx1, wy1, _ = _spin(new, inertia)
        profile[row, 0] = t + f * h
        profile[row, 1] = y
        profile[row, 2] = _hermite(f, h, s[2], d0[2], new[2], d1[2])
        profile[row, 3] = _hermite(f, h, s[3], d0[3], new[3], d1[3])
        end_slip = math.sqrt((new[2] - radius * wy1) ** 2 + (new[3] + radius * wx1) ** 2)
        profile[row, 4] = slip + f * (end_slip - slip)
        profile[row, 5] = mu
        profile[row, 6] = bilinear(xs, ys, table, goal, y) if kind == FILM else 0.0
        row += 1
    return row


@njit(nogil=True, cache=True, error_model="numpy")
def _last_row(profile, row, t, s, inertia, radius, kind, xs, ys, table):  # type: ignore[no-untyped-def]
    _, _, _, wx, wy, _ = _spin(s, inertia)
    profile[row, 0], profile[row, 1], profile[row, 2], profile[row, 3] = t, s[1], s[2], s[3]
    profile[row, 4] = math.sqrt((s[2] - radius * wy) ** 2 + (s[3] + radius * wx) ** 2)
    profile[row, 6] = bilinear(xs, ys, table, s[0], s[1]) if kind == FILM else 0.0
