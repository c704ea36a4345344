"""The reference solver as rankings use it: the full rigid body on oil, many deliveries at once.

The equations are those of :mod:`physics.motion` for a balanced ball on an oil film; the step is
distance. From the middle of one step to the middle of the next the ball flies free: the centre
goes straight, L stands still in the lane, and the body turns about it by Magnus' expansion to the
fourth order in its own frame, where the spin hardly changes. In the middle of each step the lane
pushes all at once: what would bring the slip to nothing by the step's end, or as much as friction
can give in the time if that is less (Moreau's time-stepping, known by title only). So sliding,
rolling, and rolling that the lane can't quite hold are one case, no moment of change needs to be
found, and a step may be a good part of a turn. Second order; K = L + m R z x v is kept to
rounding, because L is read off it.

Deliveries go side by side in lanes, as in :mod:`physics.averaged`, and results don't depend on
the neighbours. Frames, signs and closure as there, in the bowler's own-side frame; the ball leaves
the hand with its low-RG axis in the upright plane through L, on the upper side.
"""

import math

import numpy as np
from numba import njit

from physics.averaged import LAST_COLUMN, SLOWEST_M_S, oil_row
from physics.rigid import across
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
from physics.units import BOARD_M, BOARDS, CENTRE_BOARD, FOUL_LINE_TO_HEAD_PIN_M

STEPS = 360
LANES = 32
# Rows of the array deliveries go in, by where each begins. What changes: offset at the middle of a
# step and at its end, velocity, attitude (body to lane), angular momentum in the body, film on the
# ring, arc of the axis and the part of it on oil, distance come, spin.
Y, ROW_Y, VX, VY, Q0, Q1, Q2, Q3, L_0, L_1, L_2, RING, FLARE, VISIBLE, COME, SPIN = range(
    0, 16 * LANES, LANES
)
# What doesn't: K, mass, radius, gravity, 1/moments, friction on oil and how much more on dry,
# 1 / film scale, the power of the film ratio, absorption and 1 / patch of the ring's oil.
K_X, K_Y, L_Z, LEVER, RADIUS, GRAVITY, J_0, J_1, J_2 = range(16 * LANES, 25 * LANES, LANES)
MU_OIL, MU_MORE, PER_SCALE, EXPONENT, ABSORBS, PER_PATCH, TAKES = range(
    25 * LANES, 32 * LANES, LANES
)
# Directions at a twentieth, a quarter and three quarters of the turn, its side put in; how far the
# velocity was from each; where each was met, roll, the breakpoint, the offset at the arrows.
SKID_BX, SKID_BY, QUARTER_BX, QUARTER_BY, THREE_BX, THREE_BY = range(32 * LANES, 38 * LANES, LANES)
TO_SKID, TO_QUARTER, TO_THREE = range(38 * LANES, 41 * LANES, LANES)
SKID, QUARTER, THREE, ROLL, BREAK, BREAK_Y, ARROW_Y = range(41 * LANES, 48 * LANES, LANES)
# What a step works with: place between two boards, film there, film ratio; film on the ring in the
# middle of the step, how fast it takes and loses film, rate of the axis, spin over the turn.
BETWEEN, FILM_HERE, RATIO, HELD, RING_RATE, AXIS_RATE, MEAN = range(48 * LANES, 55 * LANES, LANES)
SIZE = 55 * LANES
# Sine over angle and cosine as series: half a step's turn is under a radian from 60 steps on.
SIXTH, PER_120, PER_5040, PER_362880 = 1 / 6, 1 / 120, 1 / 5040, 1 / 362880
PER_24, PER_720, PER_40320, PER_3628800 = 1 / 24, 1 / 720, 1 / 40320, 1 / 3628800


@njit(nogil=True, cache=True, error_model="numpy")
def _begin(s, i, y, launch_deg, speed, spin, rotation_deg, tilt_deg, ball, p, closure):  # type: ignore[no-untyped-def]
    """Fill lane ``i`` of ``s`` with a delivery."""
    mass, radius, gravity, inertia = ball
    mu_oil, mu_dry, scale, exponent, absorption, patch = closure
    launch = math.radians(launch_deg)
    rotation, tilt = math.radians(rotation_deg), math.radians(tilt_deg)
    ahead, aside = math.cos(launch), math.sin(launch)
    vx, vy = speed * ahead, -speed * aside
    sx, sy = -math.cos(tilt) * math.sin(rotation), math.cos(tilt) * math.cos(rotation)
    e = (sx * ahead + sy * aside, sy * ahead - sx * aside, math.sin(tilt))
    j0, j1, j2 = 1.0 / inertia[0], 1.0 / inertia[1], 1.0 / inertia[2]
    momentum = max(spin, 1e-6) / (p[0] * p[0] * j0 + p[1] * p[1] * j1 + p[2] * p[2] * j2)
    lever = mass * radius
    s[Y + i], s[ROW_Y + i], s[VX + i], s[VY + i] = y, y, vx, vy
    s[Q0 + i], s[Q1 + i], s[Q2 + i], s[Q3 + i] = _attitude(e, p)
    s[L_0 + i], s[L_1 + i], s[L_2 + i] = momentum * p[0], momentum * p[1], momentum * p[2]
    s[RING + i], s[FLARE + i], s[VISIBLE + i], s[COME + i] = 0.0, 0.0, 0.0, 0.0
    s[SPIN + i], s[MEAN + i] = spin, spin
    s[K_X + i], s[K_Y + i] = momentum * e[0] - lever * vy, momentum * e[1] + lever * vx
    s[L_Z + i] = momentum * e[2]
    s[LEVER + i], s[RADIUS + i], s[GRAVITY + i] = lever, radius, gravity
    s[J_0 + i], s[J_1 + i], s[J_2 + i] = j0, j1, j2
    s[MU_OIL + i], s[MU_MORE + i], s[PER_SCALE + i] = mu_oil, mu_dry - mu_oil, 1.0 / scale
    s[EXPONENT + i] = exponent
    carries = patch > 0.0
    s[ABSORBS + i] = absorption if carries else 0.0
    s[PER_PATCH + i] = 1.0 / patch if carries else 0.0
    # Half the film's difference a turn.
    s[TAKES + i] = 0.25 / math.pi if carries else 0.0
    first = -launch
    full = math.atan2(-s[K_X + i], s[K_Y + i]) - first
    side = 1.0 if full > 0.0 else -1.0
    for at, to, share in (
        (SKID_BX, TO_SKID, SKID_SHARE),
        (QUARTER_BX, TO_QUARTER, 0.25),
        (THREE_BX, TO_THREE, 0.75),
    ):
        direction = first + share * full
        s[at + i], s[at + LANES + i] = side * math.cos(direction), side * math.sin(direction)
        s[to + i] = s[at + i] * vy - s[at + LANES + i] * vx if full != 0.0 else math.nan
    s[SKID + i], s[QUARTER + i], s[THREE + i], s[ROLL + i] = math.nan, math.nan, math.nan, math.nan
    s[BREAK + i], s[BREAK_Y + i], s[ARROW_Y + i] = 0.0, y, math.nan


@njit(nogil=True, cache=True, error_model="numpy")
def _attitude(e, p):  # type: ignore[no-untyped-def]
    """Unit quaternion (body to lane) that puts ``p`` along ``e`` and the low-RG axis above it.

    By its largest component, as :func:`physics.release.quaternion_of`.
    """
    up, aside = across(e, (0.0, 0.0, 1.0), (-1.0, 0.0, 0.0))
    a, b = across(p, (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    r00 = e[0] * p[0] + up[0] * a[0] + aside[0] * b[0]
    r01 = e[0] * p[1] + up[0] * a[1] + aside[0] * b[1]
    r02 = e[0] * p[2] + up[0] * a[2] + aside[0] * b[2]
    r10 = e[1] * p[0] + up[1] * a[0] + aside[1] * b[0]
    r11 = e[1] * p[1] + up[1] * a[1] + aside[1] * b[1]
    r12 = e[1] * p[2] + up[1] * a[2] + aside[1] * b[2]
    r20 = e[2] * p[0] + up[2] * a[0] + aside[2] * b[0]
    r21 = e[2] * p[1] + up[2] * a[1] + aside[2] * b[1]
    r22 = e[2] * p[2] + up[2] * a[2] + aside[2] * b[2]
    ww, xx = 1.0 + r00 + r11 + r22, 1.0 + r00 - r11 - r22
    yy, zz = 1.0 - r00 + r11 - r22, 1.0 - r00 - r11 + r22
    most = max(max(ww, xx), max(yy, zz))
    f = 0.5 / math.sqrt(most)
    if most == ww:
        return f * ww, f * (r21 - r12), f * (r02 - r20), f * (r10 - r01)
    if most == xx:
        return f * (r21 - r12), f * xx, f * (r10 + r01), f * (r02 + r20)
    if most == yy:
        return f * (r02 - r20), f * (r10 + r01), f * yy, f * (r21 + r12)
    return f * (r10 - r01), f * (r02 + r20), f * (r21 + r12), f * zz


@njit(nogil=True, cache=True, error_model="numpy")
def _fly(s, count, columns, distance):  # type: ignore[no-untyped-def]
    """Free flight over a distance; the column of the film each lane comes to, and how far past."""
    for i in range(count):
        h = distance / s[VX + i]
        y = s[Y + i] + h * s[VY + i]
        s[Y + i] = y
        at = min(max(y * (1.0 / BOARD_M) + (CENTRE_BOARD - 1), 0.0), float(LAST_COLUMN))
        j = min(np.int64(at), LAST_COLUMN - 1)
        columns[i] = j
        s[BETWEEN + i] = at - j
        j0, j1, j2 = s[J_0 + i], s[J_1 + i], s[J_2 + i]
        l0, l1, l2 = s[L_0 + i], s[L_1 + i], s[L_2 + i]
        w0, w1, w2 = l0 * j0, l1 * j1, l2 * j2
        d0, d1, d2 = (l1 * w2 - l2 * w1) * j0, (l2 * w0 - l0 * w2) * j1, (l0 * w1 - l1 * w0) * j2
        # Half the turn: the spin in the middle, and h^2/12 of its cross product with its rate.
        half = 0.5 * h
        w0, w1, w2 = w0 + half * d0, w1 + half * d1, w2 + half * d2
        m = h * h * (1.0 / 12.0)
        t0 = half * (w0 + m * (w1 * d2 - w2 * d1))
        t1 = half * (w1 + m * (w2 * d0 - w0 * d2))
        t2 = half * (w2 + m * (w0 * d1 - w1 * d0))
        z = t0 * t0 + t1 * t1 + t2 * t2
        sine = 1.0 - z * (SIXTH - z * (PER_120 - z * (PER_5040 - z * PER_362880)))
        c = 1.0 - z * (0.5 - z * (PER_24 - z * (PER_720 - z * (PER_40320 - z * PER_3628800))))
        t0, t1, t2 = t0 * sine, t1 * sine, t2 * sine
        q0, q1, q2, q3 = s[Q0 + i], s[Q1 + i], s[Q2 + i], s[Q3 + i]
        s[Q0 + i] = q0 * c - q1 * t0 - q2 * t1 - q3 * t2
        s[Q1 + i] = q0 * t0 + q1 * c + q2 * t2 - q3 * t1
        s[Q2 + i] = q0 * t1 - q1 * t2 + q2 * c + q3 * t0
        s[Q3 + i] = q0 * t2 + q1 * t1 - q2 * t0 + q3 * c


@njit(nogil=True, cache=True, error_model="numpy")
def _feel(s, count, columns, row, dx, plain):  # type: ignore[no-untyped-def]
    """Film under each lane; angular momentum in the body, how it goes on, and the film ratio.

    ``row``: film by board; ``plain``: every lane's film ratio counts as it is.
    """
    for i in range(count):
        j = columns[i]
        s[FILM_HERE + i] = row[j] + s[BETWEEN + i] * (row[j + 1] - row[j])
    for i in range(count):
        q0, q1, q2, q3 = s[Q0 + i], s[Q1 + i], s[Q2 + i], s[Q3 + i]
        lx = s[K_X + i] + s[LEVER + i] * s[VY + i]
        ly = s[K_Y + i] - s[LEVER + i] * s[VX + i]
        lz = s[L_Z + i]
        # L in the body: (q0^2 - |q|^2) L + 2 q (q . L) - 2 q0 q x L, with q0^2 + |q|^2 = 1.
        along = 2.0 * (q1 * lx + q2 * ly + q3 * lz)
        w, two = 2.0 * q0 * q0 - 1.0, 2.0 * q0
        l0 = w * lx + along * q1 - two * (q2 * lz - q3 * ly)
        l1 = w * ly + along * q2 - two * (q3 * lx - q1 * lz)
        l2 = w * lz + along * q3 - two * (q1 * ly - q2 * lx)
        w0, w1, w2 = l0 * s[J_0 + i], l1 * s[J_1 + i], l2 * s[J_2 + i]
        c0, c1, c2 = l1 * w2 - l2 * w1, l2 * w0 - l0 * w2, l0 * w1 - l1 * w0
        per_square = 1.0 / (l0 * l0 + l1 * l1 + l2 * l2)
        axis_rate = math.sqrt((c0 * c0 + c1 * c1 + c2 * c2) * per_square)
        mean = (l0 * w0 + l1 * w1 + l2 * w2) * math.sqrt(per_square)
        advance = 2.0 * math.pi * s[RADIUS + i] * axis_rate / mean
        overlap = max(0.0, 1.0 - advance * s[PER_PATCH + i])
        # The spin as it will be halfway through the push.
        takes = s[TAKES + i] * (1.5 * mean - 0.5 * s[MEAN + i])
        s[MEAN + i] = mean
        film = s[FILM_HERE + i]
        ring = s[RING + i]
        rate = takes * (film - ring) - s[ABSORBS + i] * ring
        held = ring + 0.5 * dx / s[VX + i] * rate
        s[L_0 + i], s[L_1 + i], s[L_2 + i] = l0, l1, l2
        s[AXIS_RATE + i], s[HELD + i] = axis_rate, held
        s[RING_RATE + i] = takes * (film - held) - s[ABSORBS + i] * held
        s[RATIO + i] = max(film + overlap * held, 0.0) * s[PER_SCALE + i]
    if not plain:
        for i in range(count):
            s[RATIO + i] = s[RATIO + i] ** s[EXPONENT + i]


@njit(nogil=True, cache=True, error_model="numpy")
def _push(s, count, x, dx):  # type: ignore[no-untyped-def]
    """The lane's push of the step that begins at ``x``, and what is noted at the step's end."""
    for i in range(count):
        q0, q1, q2, q3 = s[Q0 + i], s[Q1 + i], s[Q2 + i], s[Q3 + i]
        r00, r01, r02 = (
            1.0 - 2.0 * (q2 * q2 + q3 * q3),
            2.0 * (q1 * q2 - q0 * q3),
            2.0 * (q1 * q3 + q0 * q2),
        )
        r10, r11, r12 = (
            2.0 * (q1 * q2 + q0 * q3),
            1.0 - 2.0 * (q1 * q1 + q3 * q3),
            2.0 * (q2 * q3 - q0 * q1),
        )
        j0, j1, j2 = s[J_0 + i], s[J_1 + i], s[J_2 + i]
        l0, l1, l2 = s[L_0 + i], s[L_1 + i], s[L_2 + i]
        w0, w1, w2 = l0 * j0, l1 * j1, l2 * j2
        d0, d1, d2 = (l1 * w2 - l2 * w1) * j0, (l2 * w0 - l0 * w2) * j1, (l0 * w1 - l1 * w0) * j2
        vx, vy, radius, lever = s[VX + i], s[VY + i], s[RADIUS + i], s[LEVER + i]
        ux = vx - radius * (r10 * w0 + r11 * w1 + r12 * w2)
        uy = vy + radius * (r00 * w0 + r01 * w1 + r02 * w2)
        per_slip = 1.0 / max(math.sqrt(ux * ux + uy * uy), 1e-12)
        grip = (s[MU_OIL + i] + s[MU_MORE + i] / (1.0 + s[RATIO + i])) * s[GRAVITY + i]
        per_vx = 1.0 / vx
        # The step's first half goes at the velocity before the push, the second at that after it.
        slowed = vx - grip * ux * per_slip * dx * per_vx
        h = 0.5 * dx * (per_vx + 1.0 / slowed)
        # Slip at the step's end if nothing pushed, and how it answers a push.
        gone_x = ux - 0.5 * h * radius * (r10 * d0 + r11 * d1 + r12 * d2)
        gone_y = uy + 0.5 * h * radius * (r00 * d0 + r01 * d1 + r02 * d2)
        k = lever * radius
        a = 1.0 + k * (r10 * r10 * j0 + r11 * r11 * j1 + r12 * r12 * j2)
        b = -k * (r00 * r10 * j0 + r01 * r11 * j1 + r02 * r12 * j2)
        c = 1.0 + k * (r00 * r00 * j0 + r01 * r01 * j1 + r02 * r02 * j2)
        per = 1.0 / (a * c - b * b)
        fx, fy = (b * gone_y - c * gone_x) * per, (b * gone_x - a * gone_y) * per
        need, most = math.sqrt(fx * fx + fy * fy), grip * h
        holds = need <= most
        # Else against the slip, as it is halfway between before and after.
        mx = ux + gone_x - (a * ux + b * uy) * most * per_slip
        my = uy + gone_y - (b * ux + c * uy) * most * per_slip
        against = -most / max(math.sqrt(mx * mx + my * my), 1e-12)
        fx = fx if holds else against * mx
        fy = fy if holds else against * my
        new_vx, new_vy = vx + fx, vy + fy
        row_y = s[ROW_Y + i]
        # A ball in the gutter, or that has all but stopped, stays as it is for good.
        slowest = min(vx, new_vx)
        goes = abs(row_y) <= GUTTER_M and slowest > SLOWEST_M_S and s[COME + i] > x - 0.5 * dx
        if goes:
            row_y = s[Y + i] + 0.5 * dx * new_vy / new_vx
            s[VX + i], s[VY + i] = new_vx, new_vy
            s[L_0 + i] = l0 + lever * (r00 * fy - r10 * fx)
            s[L_1 + i] = l1 + lever * (r01 * fy - r11 * fx)
            s[L_2 + i] = l2 + lever * (r02 * fy - r12 * fx)
            s[SPIN + i] = math.sqrt(w0 * w0 + w1 * w1 + w2 * w2)
            s[RING + i] += h * s[RING_RATE + i]
            arc = h * radius * s[AXIS_RATE + i]
            s[FLARE + i] += arc
            s[VISIBLE + i] += arc if s[FILM_HERE + i] > VISIBLE_FILM_UM else 0.0
            s[COME + i] = x + dx
            s[ROW_Y + i] = row_y
        lower = goes and row_y < s[BREAK_Y + i]
        s[BREAK + i] = x + dx if lower else s[BREAK + i]
        s[BREAK_Y + i] = row_y if lower else s[BREAK_Y + i]
        rolls = goes and holds and math.isnan(s[ROLL + i])
        s[ROLL + i] = x + dx * need / most if rolls else s[ROLL + i]
        vx, vy = s[VX + i], s[VY + i]
        before, now = s[TO_SKID + i], s[SKID_BX + i] * vy - s[SKID_BY + i] * vx
        s[TO_SKID + i] = now
        met = before < 0.0 <= now and math.isnan(s[SKID + i])
        s[SKID + i] = x + dx * before / (before - now) if met else s[SKID + i]
        before, now = s[TO_QUARTER + i], s[QUARTER_BX + i] * vy - s[QUARTER_BY + i] * vx
        s[TO_QUARTER + i] = now
        met = before < 0.0 <= now and math.isnan(s[QUARTER + i])
        s[QUARTER + i] = x + dx * before / (before - now) if met else s[QUARTER + i]
        before, now = s[TO_THREE + i], s[THREE_BX + i] * vy - s[THREE_BY + i] * vx
        s[TO_THREE + i] = now
        met = before < 0.0 <= now and math.isnan(s[THREE + i])
        s[THREE + i] = x + dx * before / (before - now) if met else s[THREE + i]


@njit(nogil=True, cache=True, error_model="numpy")
def _cross(s, count, columns, row, film, steps):  # type: ignore[no-untyped-def]
    """Take the first ``count`` lanes to the pins."""
    dx = FOUL_LINE_TO_HEAD_PIN_M / steps
    plain = True
    for i in range(count):
        plain = plain and s[EXPONENT + i] == 1.0
    arrows = min(int(ARROWS_M / dx + 1e-9), steps - 1)
    part = ARROWS_M / dx - arrows
    for step in range(steps):
        x = step * dx
        _fly(s, count, columns, dx if step > 0 else 0.5 * dx)
        oil_row(film, x + 0.5 * dx, row)
        if step == arrows:
            for i in range(count):
                s[ARROW_Y + i] = s[ROW_Y + i]
        _feel(s, count, columns, row, dx, plain)
        _push(s, count, x, dx)
        if step == arrows:
            for i in range(count):
                before, arrived = s[ARROW_Y + i], s[COME + i] > x
                s[ARROW_Y + i] = before + part * (s[ROW_Y + i] - before) if arrived else math.nan


@njit(nogil=True, cache=True, error_model="numpy")
def _end(s, i, launch_deg, out):  # type: ignore[no-untyped-def]
    """Write the result of lane ``i`` into ``out``."""
    vx, vy = s[VX + i], s[VY + i]
    first = -math.radians(launch_deg)
    full = math.atan2(-s[K_X + i], s[K_Y + i]) - first
    direction = math.atan2(vy, vx)
    out[ENTRY_BOARD] = s[ROW_Y + i] / BOARD_M + CENTRE_BOARD
    out[ENTRY_ANGLE_DEG] = math.degrees(direction)
    out[ENTRY_SPEED_M_S] = math.sqrt(vx * vx + vy * vy)
    out[SKID_M], out[QUARTER_M] = s[SKID + i], s[QUARTER + i]
    out[THREE_QUARTERS_M], out[ROLL_M] = s[THREE + i], s[ROLL + i]
    out[TURN_SPENT] = (direction - first) / full if full != 0.0 else 0.0
    out[ENTRY_SPIN_RAD_S] = s[SPIN + i]
    out[FULL_TURN_DEG] = math.degrees(full)
    out[ARROW_BOARD] = s[ARROW_Y + i] / BOARD_M + CENTRE_BOARD
    out[BREAK_BOARD], out[BREAK_M] = s[BREAK_Y + i] / BOARD_M + CENTRE_BOARD, s[BREAK + i]
    out[FLARE_M], out[VISIBLE_FLARE_M] = s[FLARE + i], s[VISIBLE + i]
    arrives = s[COME + i] >= FOUL_LINE_TO_HEAD_PIN_M - 1e-9
    out[ON_LANE] = 1.0 if arrives and abs(s[ROW_Y + i]) <= GUTTER_M else 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def run_many(deliveries, ball, p, closure, film, steps):  # type: ignore[no-untyped-def]
    """A row of results (columns of :mod:`physics.shape`) for each row of deliveries.

    Arguments as :func:`physics.averaged.run_many`; ``steps``: a multiple of 60, a step of film
    each foot, or a little is lost at the film's kinks.
    """
    out = np.empty((deliveries.shape[0], RESULTS))
    s, columns, row = np.empty(SIZE), np.empty(LANES, np.int64), np.empty(BOARDS)
    for first in range(0, deliveries.shape[0], LANES):
        count = min(LANES, deliveries.shape[0] - first)
        for i in range(count):
            d = deliveries[first + i]
            _begin(s, i, d[0], d[1], d[2], d[3], d[4], d[5], ball, p, closure)
        _cross(s, count, columns, row, film, steps)
        for i in range(count):
            _end(s, i, deliveries[first + i, 1], out[first + i])
    return out


@njit(nogil=True, cache=True, error_model="numpy")
def run_each(deliveries, bodies, closures, film, steps):  # type: ignore[no-untyped-def]
    """:func:`run_many` with a body and a closure for each delivery, as in
    :func:`physics.averaged.run_each`."""
    out = np.empty((deliveries.shape[0], RESULTS))
    s, columns, row = np.empty(SIZE), np.empty(LANES, np.int64), np.empty(BOARDS)
    for first in range(0, deliveries.shape[0], LANES):
        count = min(LANES, deliveries.shape[0] - first)
        for i in range(count):
            d, b, c = deliveries[first + i], bodies[first + i], closures[first + i]
            _begin(
                s, i, d[0], d[1], d[2], d[3], d[4], d[5],
                (b[0], b[1], b[2], (b[3], b[4], b[5])), (b[6], b[7], b[8]),
                (c[0], c[1], c[2], c[3], c[4], c[5]),
            )  # fmt: skip
        _cross(s, count, columns, row, film, steps)
        for i in range(count):
            _end(s, i, deliveries[first + i, 1], out[first + i])
    return out
