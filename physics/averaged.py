"""The fast solver: motion averaged over a turn, distance as the step variable. It only screens.

Averaged over a turn the spin lies along the angular momentum L: omega = L (p J^-1 p), with p the
direction of L in the body, which follows the free polhode dp/dt = |L| p x J^-1 p. The contact
force is that of the reference solver. Once slip vanishes the ball runs straight along the
direction K sets. Midpoint steps; frames, signs and closure as in :mod:`physics.motion`, in the
bowler's own-side frame.
"""

import math

import numpy as np
from numba import njit

from physics.friction import film_mu, ring_overlap
from physics.lane import FILM_STEP_FT
from physics.shape import (
    ARROW_BOARD,
    ARROWS_M,
    BREAK_BOARD,
    BREAK_M,
    ENTRY_ANGLE_DEG,
    ENTRY_BOARD,
    ENTRY_SPEED_M_S,
    ENTRY_SPIN_RAD_S,
    FLARE_M,
    FULL_TURN_DEG,
    GUTTER_M,
    ON_LANE,
    QUARTER_M,
    RESULTS,
    ROLL_M,
    SKID_M,
    SKID_SHARE,
    THREE_QUARTERS_M,
    TURN_SPENT,
    VISIBLE_FLARE_M,
)
from physics.stepping import VISIBLE_FILM_UM
from physics.units import BOARD_M, CENTRE_BOARD, FOUL_LINE_TO_HEAD_PIN_M, FT_TO_M

STEPS = 120
# Columns of a path: offset, speed, spin, and the speed of the axis over the ball.
PATH_Y, PATH_SPEED, PATH_SPIN, PATH_AXIS, PATH_COLUMNS = 0, 1, 2, 3, 4
FILM_STEP_M = FILM_STEP_FT * FT_TO_M


@njit(nogil=True, cache=True, error_model="numpy")
def film_at(film, x, y):  # type: ignore[no-untyped-def]
    """Bilinear film of an own-side table (rows each foot, columns by board), edges held."""
    fx = x / FILM_STEP_M
    fy = y / BOARD_M + (CENTRE_BOARD - 1)
    i = min(max(math.floor(fx), 0), film.shape[0] - 2)
    j = min(max(math.floor(fy), 0), film.shape[1] - 2)
    fx = min(max(fx - i, 0.0), 1.0)
    fy = min(max(fy - j, 0.0), 1.0)
    low = film[i, j] + fy * (film[i, j + 1] - film[i, j])
    high = film[i + 1, j] + fy * (film[i + 1, j + 1] - film[i + 1, j])
    return low + fx * (high - low)


@njit(nogil=True, cache=True, error_model="numpy")
def _slopes(x, y, vx, vy, lx, ly, lz, p0, p1, p2, ring, ball, closure, film):  # type: ignore[no-untyped-def]
    """Derivatives by distance, and the slip components."""
    mass, radius, gravity, inertia = ball
    mu_oil, mu_dry, scale, exponent, absorption, patch = closure
    q0, q1, q2 = p0 / inertia[0], p1 / inertia[1], p2 / inertia[2]
    inverse = p0 * q0 + p1 * q1 + p2 * q2
    momentum = math.sqrt(lx * lx + ly * ly + lz * lz)
    ux = vx - radius * ly * inverse
    uy = vy + radius * lx * inverse
    slip = math.sqrt(ux * ux + uy * uy)
    c0 = momentum * (p1 * q2 - p2 * q1)
    c1 = momentum * (p2 * q0 - p0 * q2)
    c2 = momentum * (p0 * q1 - p1 * q0)
    move = radius * math.sqrt(c0 * c0 + c1 * c1 + c2 * c2)
    value = film_at(film, x, y)
    felt = value
    ring_change = 0.0
    spin = momentum * inverse
    if patch > 0.0 and spin > 1e-6:
        turn = 2.0 * math.pi / spin
        felt = value + ring_overlap(move * turn, patch) * ring
        ring_change = 0.5 * (value - ring) / turn - absorption * ring
    push = film_mu(felt, mu_oil, mu_dry, scale, exponent) * gravity / (slip * vx)
    ax, ay = -push * ux, -push * uy
    t = 1.0 / vx
    visible = move * t if value > VISIBLE_FILM_UM else 0.0
    return (
        vy * t,
        ax,
        ay,
        radius * mass * ay,
        -radius * mass * ax,
        c0 * t,
        c1 * t,
        c2 * t,
        ring_change * t,
        move * t,
        visible,
        ux,
        uy,
    )


@njit(nogil=True, cache=True, error_model="numpy")
def run(y, launch_deg, speed, spin, rotation_deg, tilt_deg, ball, p, closure, film, steps, out):  # type: ignore[no-untyped-def]
    """One delivery into ``out`` (columns of :mod:`physics.shape`).

    ``y``: laydown offset (m, own-side frame); ``launch_deg`` positive towards the ball-hand
    gutter; ``speed`` m/s; ``spin`` mean rad/s; ``p``: direction of the angular momentum in the
    principal frame; ``closure``: :meth:`physics.friction.Film.numbers`; ``film``: own-side table.
    """
    none = np.empty((0, PATH_COLUMNS))
    follow(
        y, launch_deg, speed, spin, rotation_deg, tilt_deg, ball, p, closure, film, steps, out, none
    )  # fmt: skip


@njit(nogil=True, cache=True, error_model="numpy")
def follow(  # type: ignore[no-untyped-def]
    y, launch_deg, speed, spin, rotation_deg, tilt_deg, ball, p, closure, film, steps, out, path
):
    """:func:`run`, writing its path besides: a row for each step, if ``path`` has any rows.

    Columns, at the end of the step: offset (m, own-side frame), speed (m/s), mean spin (rad/s),
    and how fast the axis moves over the ball (m/s; while rolling, as when it began to). Rows of a
    ball that leaves the lane stay as they were.
    """
    mass, radius, _, inertia = ball
    launch = math.radians(launch_deg)
    rotation, tilt = math.radians(rotation_deg), math.radians(tilt_deg)
    p0, p1, p2 = p
    momentum = spin / (p0 * p0 / inertia[0] + p1 * p1 / inertia[1] + p2 * p2 / inertia[2])
    vx, vy = speed * math.cos(launch), -speed * math.sin(launch)
    sx, sy = -math.cos(tilt) * math.sin(rotation), math.cos(tilt) * math.cos(rotation)
    lx = momentum * (sx * math.cos(launch) + sy * math.sin(launch))
    ly = momentum * (sy * math.cos(launch) - sx * math.sin(launch))
    lz = momentum * math.sin(tilt)
    ring, flare, visible = 0.0, 0.0, 0.0
    kx, ky = lx - mass * radius * vy, ly + mass * radius * vx
    first = -launch
    last = math.atan2(-kx, ky)
    full = last - first
    dx = FOUL_LINE_TO_HEAD_PIN_M / steps
    x, share = 0.0, 0.0
    skid, quarter, three_quarters, roll = math.nan, math.nan, math.nan, math.nan
    arrow = math.nan
    low_y, high_y, break_x = y, y, 0.0
    on_lane = abs(y) <= GUTTER_M
    rolling = False
    tangent, turning, axis_speed = 0.0, spin, 0.0
    for step in range(steps):
        y_before, share_before = y, share
        if rolling:
            y += tangent * dx
            x += dx
        else:
            k = _slopes(x, y, vx, vy, lx, ly, lz, p0, p1, p2, ring, ball, closure, film)
            h = 0.5 * dx
            a = _slopes(
                x + h,
                y + h * k[0],
                vx + h * k[1],
                vy + h * k[2],
                lx + h * k[3],
                ly + h * k[4],
                lz,
                p0 + h * k[5],
                p1 + h * k[6],
                p2 + h * k[7],
                ring + h * k[8],
                ball,
                closure,
                film,
            )
            y_new = y + dx * a[0]
            vx_new, vy_new = vx + dx * a[1], vy + dx * a[2]
            lx_new, ly_new = lx + dx * a[3], ly + dx * a[4]
            q0, q1, q2 = p0 + dx * a[5], p1 + dx * a[6], p2 + dx * a[7]
            n = 1.0 / math.sqrt(q0 * q0 + q1 * q1 + q2 * q2)
            q0, q1, q2 = q0 * n, q1 * n, q2 * n
            inverse = q0 * q0 / inertia[0] + q1 * q1 / inertia[1] + q2 * q2 / inertia[2]
            ux = vx_new - radius * ly_new * inverse
            uy = vy_new + radius * lx_new * inverse
            if vx_new <= 0.05:
                on_lane = False
                break
            before = math.sqrt(k[11] * k[11] + k[12] * k[12])
            after = math.sqrt(ux * ux + uy * uy)
            middle = math.sqrt(a[11] * a[11] + a[12] * a[12])
            early = k[11] * a[11] + k[12] * a[12] <= 0.0
            if early or k[11] * ux + k[12] * uy <= 0.0 or after < 1e-6:
                # Slip vanished within the step: it fell in a straight line to zero.
                part = 0.5 * before / (before + middle) if early else before / (before + after)
                roll = x + part * dx
                y += part * dx * 0.5 * (vy / vx + math.tan(last))
                eff = 1.0 / inverse
                spun = math.hypot(kx, ky) / (eff + mass * radius * radius)
                vx, vy = radius * spun * math.cos(last), radius * spun * math.sin(last)
                # Rolling turns about the lane as K has it, and spins on about the vertical.
                turning = math.sqrt(spun * spun + (lz / eff) ** 2)
                tangent = math.tan(last)
                y += (1.0 - part) * dx * tangent
                rolling = True
            else:
                y, vx, vy, lx, ly, p0, p1, p2 = y_new, vx_new, vy_new, lx_new, ly_new, q0, q1, q2
                turning = inverse * math.sqrt(lx * lx + ly * ly + lz * lz)
            ring += dx * a[8]
            flare += dx * a[9]
            axis_speed = a[9] * vx
            visible += dx * a[10]
            x += dx
        if rolling:
            share = 1.0
        elif full != 0.0:
            share = (math.atan2(vy, vx) - first) / full
        if share > share_before:
            if math.isnan(skid) and share >= SKID_SHARE:
                skid = x - dx * (share - SKID_SHARE) / (share - share_before)
            if math.isnan(quarter) and share >= 0.25:
                quarter = x - dx * (share - 0.25) / (share - share_before)
            if math.isnan(three_quarters) and share >= 0.75:
                three_quarters = x - dx * (share - 0.75) / (share - share_before)
        if math.isnan(arrow) and x >= ARROWS_M:
            arrow = y - (x - ARROWS_M) / dx * (y - y_before)
        if y < low_y:
            low_y, break_x = y, x
        high_y = max(high_y, y)
        if low_y < -GUTTER_M or high_y > GUTTER_M:
            on_lane = False
            break
        if path.shape[0] > 0:
            path[step, PATH_Y], path[step, PATH_SPEED] = y, math.hypot(vx, vy)
            path[step, PATH_SPIN], path[step, PATH_AXIS] = turning, axis_speed
    out[ENTRY_BOARD] = y / BOARD_M + CENTRE_BOARD
    out[ENTRY_ANGLE_DEG] = math.degrees(math.atan2(vy, vx))
    out[ENTRY_SPEED_M_S] = math.hypot(vx, vy)
    out[SKID_M], out[QUARTER_M], out[THREE_QUARTERS_M] = skid, quarter, three_quarters
    out[TURN_SPENT], out[ENTRY_SPIN_RAD_S] = share, turning
    out[FULL_TURN_DEG] = math.degrees(full)
    out[ARROW_BOARD] = arrow / BOARD_M + CENTRE_BOARD
    out[BREAK_BOARD], out[BREAK_M] = low_y / BOARD_M + CENTRE_BOARD, break_x
    out[ROLL_M], out[FLARE_M], out[VISIBLE_FLARE_M] = roll, flare, visible
    out[ON_LANE] = 1.0 if on_lane else 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def run_many(deliveries, ball, p, closure, film, steps):  # type: ignore[no-untyped-def]
    """A row of results for each row (y, launch, speed, spin, rotation, tilt) of deliveries."""
    out = np.empty((deliveries.shape[0], RESULTS))
    for i in range(deliveries.shape[0]):
        d = deliveries[i]
        run(d[0], d[1], d[2], d[3], d[4], d[5], ball, p, closure, film, steps, out[i])
    return out
