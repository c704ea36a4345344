"""The fast solver: motion averaged over a turn, distance as the step, many deliveries at once.

Averaged over a turn the spin lies along the angular momentum L: omega = L D with D = p J^-1 p and
p the direction of L in the body, which follows the free polhode dp/dt = |L| p x J^-1 p. Along a
polhode D never changes (twice the energy over L squared), so down the lane the ball is a plain
sphere of moment 1/D, and what is known of that holds (derived; Coriolis, 1835, known by title
only). With K = L + m R z x v kept,

    slip u = v + omega x (-R z) = c (v - v_roll),   c = 1 + m R^2 D,   du/dt = -c mu g u/|u|

the slip keeps its direction and falls to nothing, and v_roll, the velocity of rolling, is known
from the start. Velocity, spin and direction are functions of one number, the slip speed s:

    ds/dx = -c mu g / vx,   dy/dx = vy/vx

where mu follows from the film on the lane and on the ball's last ring, and that from how far the
polhode carries the axis in a turn. Shares of the turn, breakpoint and roll are levels of s.

The contact's torque, steady in the lane, rocks p once a turn about the mean that follows the
polhode, by mu m g R sin(L, torque) / (|L| omega): a few degrees. At release and where friction
changes within a turn the mean moves by as much as the rocking grows, to a side that depends on how
the ball then stands; so each lane carries the direction of the torque in the body. Without the
rocking slow revs under strong friction end up to 0.4 board off, with it a tenth.

Each step is an explicit midpoint step that takes the way to its middle from the step before.
Deliveries go side by side in lanes of one array, its rows a fixed distance apart: so LLVM sees that
they don't overlap, and takes eight at a time. Every lane does the same operations whatever its
neighbours are, so results don't depend on them. Frames, signs and closure as in
:mod:`physics.motion`, in the bowler's own-side frame. How they came to be: ``physics/SOLVERS.md``.
"""

import math

import numpy as np
from numba import njit

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
from physics.units import BOARD_M, BOARDS, CENTRE_BOARD, FOUL_LINE_TO_HEAD_PIN_M, FT_TO_M

STEPS = 120
# Columns of a path: offset, speed, spin, and the speed of the axis over the ball.
PATH_Y, PATH_SPEED, PATH_SPIN, PATH_AXIS, PATH_COLUMNS = 0, 1, 2, 3, 4
FILM_STEP_M = FILM_STEP_FT * FT_TO_M
LAST_COLUMN = BOARDS - 1
# A ball slower than this down the lane is taken for one that never arrives.
SLOWEST_M_S = 0.5
# The rocking is a small one, or the average means nothing: no further than this (rad).
MOST_ROCKING = 0.25
# Square of a momentum (kg^2 m^4/s^2) that is none, but can be divided by.
LEAST = 1e-12
# What is divided by where there may be nothing.
LEAST_SUM = 1e-300

# 1/n! of the series of sine and cosine.
PER_3F, PER_4F, PER_5F, PER_6F, PER_7F, PER_8F, PER_9F = (
    1.0 / math.factorial(n) for n in range(3, 10)
)
PER_10F, PER_11F, PER_12F, PER_13F, PER_14F, PER_15F, PER_16F = (
    1.0 / math.factorial(n) for n in range(10, 17)
)
# 1/n of the series of the arctangent.
PER_3, PER_5, PER_7, PER_9, PER_11, PER_13, PER_15 = (1.0 / n for n in range(3, 16, 2))

# Deliveries side by side.
LANES = 32
# Rows of the array they go in, by where each begins. What changes: offset, slip speed, film on the
# ring, axis in the body, arc of the axis over the radius and the part of it on oil, distance come;
# slopes of slip, offset and ring by distance, from the step before.
Y, SLIP, RING, P0, P1, P2, FLARE, VISIBLE, COME, SLIP_BY, Y_BY, RING_BY = range(
    0, 12 * LANES, LANES
)
# What doesn't: velocity of rolling, and velocity by slip speed; square of the momentum as a
# polynomial of slip; fall of slip on oil, and how much more on dry; 1 / film scale.
ROLL_X, ROLL_Y, BY_X, BY_Y, LL_0, LL_1, LL_2, FALL_OIL, FALL_DRY, PER_SCALE, EXPONENT = range(
    12 * LANES, 23 * LANES, LANES
)
# The ring's advance in a turn over the patch, by the axis's rate; how fast the ring takes film and
# the cover takes it in; differences of 1/moment; radius; 1/moment about the axis.
ADVANCE, TAKES, ABSORBS, J_10, J_21, J_02, RADIUS, PER_MOMENT = range(23 * LANES, 31 * LANES, LANES)
# Levels of slip; where they and roll were met; offsets at the breakpoint and at the arrows.
AT_SKID, AT_QUARTER, AT_THREE, AT_BREAK = range(31 * LANES, 35 * LANES, LANES)
SKID, QUARTER, THREE, BREAK, ROLL, BREAK_Y, ARROW_Y = range(35 * LANES, 42 * LANES, LANES)
# What a step works with: place between two boards, film there, film ratio, rate of the axis.
BETWEEN, FILM_HERE, RATIO, AXIS_BY = range(42 * LANES, 46 * LANES, LANES)
# The rocking of the axis: direction of the torque in the body, how far it rocks; that by friction
# times the cube of the momentum, on oil and how much more on dry; momentum over speed from the step
# before; 1/moments.
N0, N1, N2, ROCKING, ROCKS_OIL, ROCKS_DRY, TURN_BY, J_0, J_1, J_2 = range(
    46 * LANES, 56 * LANES, LANES
)
# What a delivery is: its release; its ball and closure, which stay from one delivery to the next.
LAID, LAUNCH, SPEED, SPIN, ROTATION, TILT = range(56 * LANES, 62 * LANES, LANES)
MASS, GRAVITY, A0, A1, A2, MU_OIL, MU_DRY, ABSORPTION, PATCH = range(62 * LANES, 71 * LANES, LANES)
# What it came to: direction, that of rolling, speed, spin.
DIRECTION, FULL, FINAL_SPEED, FINAL_SPIN = range(71 * LANES, 75 * LANES, LANES)
SIZE = 75 * LANES


@njit(nogil=True, cache=True, error_model="numpy")
def _turn(z):  # type: ignore[no-untyped-def]
    """Sine over an angle and (1 - cosine) over its square, from its square; up to three radians."""
    sine = PER_11F - z * (PER_13F - z * PER_15F)
    sine = 1.0 - z * (PER_3F - z * (PER_5F - z * (PER_7F - z * (PER_9F - z * sine))))
    vers = PER_12F - z * (PER_14F - z * PER_16F)
    vers = 0.5 - z * (PER_4F - z * (PER_6F - z * (PER_8F - z * (PER_10F - z * vers))))
    return sine, vers


@njit(nogil=True, cache=True, error_model="numpy")
def _of_ball(s, i, ball, p, closure):  # type: ignore[no-untyped-def]
    """Fill lane ``i`` of ``s`` with a ball and its closure."""
    mass, radius, gravity, inertia = ball
    mu_oil, mu_dry, scale, exponent, absorption, patch = closure
    s[MASS + i], s[RADIUS + i], s[GRAVITY + i] = mass, radius, gravity
    s[J_0 + i], s[J_1 + i], s[J_2 + i] = 1.0 / inertia[0], 1.0 / inertia[1], 1.0 / inertia[2]
    s[A0 + i], s[A1 + i], s[A2 + i] = p
    s[MU_OIL + i], s[MU_DRY + i], s[PER_SCALE + i], s[EXPONENT + i] = (
        mu_oil, mu_dry, 1.0 / scale, exponent
    )  # fmt: skip
    s[ABSORPTION + i], s[PATCH + i] = absorption, patch


@njit(nogil=True, cache=True, error_model="numpy")
def _across(ex, ey, ez, tx, ty, tz, ix, iy, iz):  # type: ignore[no-untyped-def]
    """:func:`physics.rigid.across` without a way round: the same operations for every lane."""
    along = tx * ex + ty * ey + tz * ez
    x, y, z = tx - along * ex, ty - along * ey, tz - along * ez
    lies = x * x + y * y + z * z < 1e-18
    tx, ty, tz = (ix if lies else tx), (iy if lies else ty), (iz if lies else tz)
    along = tx * ex + ty * ey + tz * ez
    x, y, z = tx - along * ex, ty - along * ey, tz - along * ez
    per = 1.0 / math.sqrt(x * x + y * y + z * z)
    x, y, z = x * per, y * per, z * per
    return x, y, z, ey * z - ez * y, ez * x - ex * z, ex * y - ey * x


@njit(nogil=True, cache=True, error_model="numpy")
def _sine_cosine(angle):  # type: ignore[no-untyped-def]
    """Of an angle up to half a turn, from half of it."""
    half = 0.5 * angle
    z = half * half
    sine, vers = _turn(z)
    sine *= half
    return 2.0 * sine * (1.0 - z * vers), 1.0 - 2.0 * sine * sine


@njit(nogil=True, cache=True, error_model="numpy")
def _angle(x, y):  # type: ignore[no-untyped-def]
    """atan2(y, x), from an eighth of it; for y = 0 always 0."""
    u = y / max(math.sqrt(x * x + y * y) + x, LEAST_SUM)
    u = u / (1.0 + math.sqrt(1.0 + u * u))
    u = u / (1.0 + math.sqrt(1.0 + u * u))
    z = u * u
    series = PER_9 - z * (PER_11 - z * (PER_13 - z * PER_15))
    return 8.0 * u * (1.0 - z * (PER_3 - z * (PER_5 - z * (PER_7 - z * series))))


@njit(nogil=True, cache=True, error_model="numpy")
def _begin(s, count, columns, film):  # type: ignore[no-untyped-def]
    """Release the first ``count`` deliveries of ``s``. As in :func:`_step` the film is looked up in
    passes of its own. Returns whether every lane's film ratio counts as it is."""
    plain = True
    for i in range(count):
        at = s[LAID + i] * (1.0 / BOARD_M) + (CENTRE_BOARD - 1)
        at = min(max(at, 0.0), float(LAST_COLUMN))
        j = min(np.int64(at), LAST_COLUMN - 1)
        columns[i] = j
        s[BETWEEN + i] = at - j
    for i in range(count):
        j = columns[i]
        s[FILM_HERE + i] = film[0, j] + s[BETWEEN + i] * (film[0, j + 1] - film[0, j])
        s[RATIO + i] = max(s[FILM_HERE + i], 0.0) * s[PER_SCALE + i]
        plain = plain and s[EXPONENT + i] == 1.0
    if not plain:
        for i in range(count):
            s[RATIO + i] = s[RATIO + i] ** s[EXPONENT + i]
    for i in range(count):
        mass, radius, gravity, patch = s[MASS + i], s[RADIUS + i], s[GRAVITY + i], s[PATCH + i]
        mu_oil, mu_more = s[MU_OIL + i], s[MU_DRY + i] - s[MU_OIL + i]
        j0, j1, j2 = s[J_0 + i], s[J_1 + i], s[J_2 + i]
        p0, p1, p2 = s[A0 + i], s[A1 + i], s[A2 + i]
        speed, spin = s[SPEED + i], s[SPIN + i]
        aside, ahead = _sine_cosine(s[LAUNCH + i])
        sin_rotation, cos_rotation = _sine_cosine(s[ROTATION + i])
        ez, level = _sine_cosine(s[TILT + i])
        vx, vy = speed * ahead, -speed * aside
        sx, sy = -level * sin_rotation, level * cos_rotation
        ex, ey = sx * ahead + sy * aside, sy * ahead - sx * aside
        per_moment = p0 * p0 * j0 + p1 * p1 * j1 + p2 * p2 * j2
        momentum = spin / per_moment
        lx, ly, lz = momentum * ex, momentum * ey, momentum * ez
        mu = mu_oil + mu_more / (1.0 + s[RATIO + i])
        ux, uy = vx - radius * ly * per_moment, vy + radius * lx * per_moment
        slip = math.sqrt(ux * ux + uy * uy)
        # The torque lies level, across the slip; its part across L, in the body, where the low-RG
        # axis lies in the upright plane through L, on the upper side.
        per_slip = 1.0 / max(slip, LEAST_SUM)
        tx, ty = -uy * per_slip, ux * per_slip
        up_x, up_y, _, aside_x, aside_y, _ = _across(ex, ey, ez, 0.0, 0.0, 1.0, -1.0, 0.0, 0.0)
        a0, a1, a2, b0, b1, b2 = _across(p0, p1, p2, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0)
        by_up, by_aside = tx * up_x + ty * up_y, tx * aside_x + ty * aside_y
        size = math.sqrt(by_up * by_up + by_aside * by_aside)
        per_size = 1.0 / max(size, LEAST_SUM)
        f, g = by_up * per_size, by_aside * per_size
        rocks_it = slip > 0.0 and momentum * spin > 0.0
        n0, n1, n2 = f * a0 + g * b0, f * a1 + g * b1, f * a2 + g * b2
        n0, n1, n2 = (n0 if rocks_it else 0.0), (n1 if rocks_it else 0.0), (n2 if rocks_it else 0.0)
        rocks = mass * gravity * radius * size * momentum / per_moment if rocks_it else 0.0
        cube = momentum * momentum * momentum
        rocking = min(mu * rocks / cube, MOST_ROCKING) if rocks_it else 0.0
        p0, p1, p2 = (
            p0 - rocking * (p1 * n2 - p2 * n1),
            p1 - rocking * (p2 * n0 - p0 * n2),
            p2 - rocking * (p0 * n1 - p1 * n0),
        )
        n = 1.0 / math.sqrt(p0 * p0 + p1 * p1 + p2 * p2)
        p0, p1, p2 = p0 * n, p1 * n, p2 * n
        per_moment = p0 * p0 * j0 + p1 * p1 * j1 + p2 * p2 * j2
        ux, uy = vx - radius * ly * per_moment, vy + radius * lx * per_moment
        slip = math.sqrt(ux * ux + uy * uy)
        lever = mass * radius
        c = 1.0 + lever * radius * per_moment
        per_c = 1.0 / c
        roll_x, roll_y = vx - ux * per_c, vy - uy * per_c
        per_slip = per_c / slip if slip > 0.0 else 0.0
        by_x, by_y = ux * per_slip, uy * per_slip
        # L = K - m R z x v, and v goes by the slip speed.
        ax, ay = lx + lever * (roll_y - vy), ly - lever * (roll_x - vx)
        s[Y + i], s[SLIP + i] = s[LAID + i], slip
        s[N0 + i], s[N1 + i], s[N2 + i], s[ROCKING + i] = n0, n1, n2, rocking
        s[ROCKS_OIL + i], s[ROCKS_DRY + i] = rocks * mu_oil, rocks * mu_more
        per_vx = 1.0 / vx
        turn_by = momentum * per_vx
        s[TURN_BY + i] = turn_by
        s[P0 + i], s[P1 + i], s[P2 + i] = p0, p1, p2
        s[FLARE + i], s[VISIBLE + i], s[COME + i] = 0.0, 0.0, 0.0
        s[ROLL_X + i], s[ROLL_Y + i], s[BY_X + i], s[BY_Y + i] = roll_x, roll_y, by_x, by_y
        s[LL_0 + i] = ax * ax + ay * ay + lz * lz
        s[LL_1 + i] = 2.0 * lever * (ax * by_y - ay * by_x)
        s[LL_2 + i] = lever * lever * (by_x * by_x + by_y * by_y)
        s[FALL_OIL + i], s[FALL_DRY + i] = c * gravity * mu_oil, c * gravity * mu_more
        s[J_10 + i], s[J_21 + i], s[J_02 + i] = j1 - j0, j2 - j1, j0 - j2
        s[PER_MOMENT + i] = per_moment
        s[SLIP_BY + i] = -c * gravity * mu * per_vx
        s[Y_BY + i] = vy * per_vx
        # In a turn the axis goes 2 pi R |p x J^-1 p| / D; film splits evenly at each contact.
        rings = patch > 0.0
        takes = 0.25 * per_moment / math.pi if rings else 0.0
        s[ADVANCE + i] = 2.0 * math.pi * radius / (per_moment * patch) if rings else 0.0
        s[TAKES + i], s[ABSORBS + i] = takes, s[ABSORPTION + i] if rings else 0.0
        s[RING + i], s[RING_BY + i] = 0.0, takes * s[FILM_HERE + i] * turn_by
        # The slip speeds at which the ball has turned so far, and moves straight down the lane:
        # directions between launch and roll by halving the angle; the first twentieth by chord,
        # which is good to a thousandth of the turn.
        first_x, first_y = ahead, -aside
        n = 1.0 / math.sqrt(roll_x * roll_x + roll_y * roll_y)
        last_x, last_y = roll_x * n, roll_y * n
        half_x, half_y = first_x + last_x, first_y + last_y
        n = 1.0 / math.sqrt(half_x * half_x + half_y * half_y)
        half_x, half_y = half_x * n, half_y * n
        quarter_x, quarter_y = first_x + half_x, first_y + half_y
        n = 1.0 / math.sqrt(quarter_x * quarter_x + quarter_y * quarter_y)
        share = 4.0 * SKID_SHARE
        skid_x = first_x + share * (quarter_x * n - first_x)
        skid_y = first_y + share * (quarter_y * n - first_y)
        s[AT_SKID + i] = _slip_towards(roll_x, roll_y, by_x, by_y, skid_x, skid_y)
        s[AT_QUARTER + i] = _slip_towards(roll_x, roll_y, by_x, by_y, quarter_x, quarter_y)
        s[AT_THREE + i] = _slip_towards(
            roll_x, roll_y, by_x, by_y, half_x + last_x, half_y + last_y
        )
        turns_back = first_y < 0.0 and roll_y > 0.0
        s[AT_BREAK + i] = -roll_y / by_y if turns_back else math.nan
        s[SKID + i], s[QUARTER + i], s[THREE + i] = math.nan, math.nan, math.nan
        s[BREAK + i], s[ROLL + i] = math.nan, math.nan
        s[BREAK_Y + i], s[ARROW_Y + i] = math.nan, math.nan
    return plain


@njit(nogil=True, cache=True, error_model="numpy")
def _slip_towards(roll_x, roll_y, by_x, by_y, x, y):  # type: ignore[no-untyped-def]
    """Slip speed at which the ball of a lane moves in a direction; NaN if it only ever does."""
    across = by_x * y - by_y * x
    return (roll_y * x - roll_x * y) / across if across != 0.0 else math.nan


@njit(nogil=True, cache=True, error_model="numpy")
def oil_row(film, x, row):  # type: ignore[no-untyped-def]
    """Film of every board at a distance."""
    at = x / FILM_STEP_M
    i = min(max(math.floor(at), 0), film.shape[0] - 2)
    f = min(max(at - i, 0.0), 1.0)
    for j in range(BOARDS):
        row[j] = film[i, j] + f * (film[i + 1, j] - film[i, j])


@njit(nogil=True, cache=True, error_model="numpy")
def _step(s, count, columns, row, x, dx, flown, plain):  # type: ignore[no-untyped-def]
    """Move the first ``count`` lanes on by ``dx``; ``row``: film halfway along, by board.

    Four passes, because a table can't be read among writes that might hit it and a power isn't
    vectorised. ``plain``: every lane's film ratio counts as it is.
    """
    h = 0.5 * dx
    for i in range(count):
        at = (s[Y + i] + h * s[Y_BY + i]) * (1.0 / BOARD_M) + (CENTRE_BOARD - 1)
        at = min(max(at, 0.0), float(LAST_COLUMN))
        j = min(np.int64(at), LAST_COLUMN - 1)
        columns[i] = j
        s[BETWEEN + i] = at - j
    for i in range(count):
        j = columns[i]
        s[FILM_HERE + i] = row[j] + s[BETWEEN + i] * (row[j + 1] - row[j])
    for i in range(count):
        p0, p1, p2 = s[P0 + i], s[P1 + i], s[P2 + i]
        n0, n1, n2 = s[N0 + i], s[N1 + i], s[N2 + i]
        # The torque's direction turns in the body; the axis is where the rocking has it.
        turned = flown * s[TURN_BY + i]
        # More than the series are good for only where a ball all but spins on the spot.
        turned = turned if turned * s[PER_MOMENT + i] < 3.0 else 0.0
        t0, t1, t2 = turned * p0 * s[J_0 + i], turned * p1 * s[J_1 + i], turned * p2 * s[J_2 + i]
        z = t0 * t0 + t1 * t1 + t2 * t2
        sine, vers = _turn(z)
        cosine = 1.0 - z * vers
        along = (n0 * t0 + n1 * t1 + n2 * t2) * vers
        n0, n1, n2 = (
            n0 * cosine + (n1 * t2 - n2 * t1) * sine + t0 * along,
            n1 * cosine + (n2 * t0 - n0 * t2) * sine + t1 * along,
            n2 * cosine + (n0 * t1 - n1 * t0) * sine + t2 * along,
        )
        s[N0 + i], s[N1 + i], s[N2 + i] = n0, n1, n2
        rock = s[ROCKING + i]
        p0, p1, p2 = (
            p0 + rock * (p1 * n2 - p2 * n1),
            p1 + rock * (p2 * n0 - p0 * n2),
            p2 + rock * (p0 * n1 - p1 * n0),
        )
        c0, c1, c2 = p1 * p2 * s[J_21 + i], p2 * p0 * s[J_02 + i], p0 * p1 * s[J_10 + i]
        axis_by = math.sqrt(c0 * c0 + c1 * c1 + c2 * c2)
        s[AXIS_BY + i] = axis_by
        overlap = max(0.0, 1.0 - s[ADVANCE + i] * axis_by)
        felt = s[FILM_HERE + i] + overlap * (s[RING + i] + h * s[RING_BY + i])
        s[RATIO + i] = max(felt, 0.0) * s[PER_SCALE + i]
    if not plain:
        for i in range(count):
            s[RATIO + i] = s[RATIO + i] ** s[EXPONENT + i]
    for i in range(count):
        y, slip, ring = s[Y + i], s[SLIP + i], s[RING + i]
        # Halfway in distance; where slip runs out in the step, halfway to that.
        middle = max(slip + h * s[SLIP_BY + i], 0.5 * slip)
        vx = s[ROLL_X + i] + s[BY_X + i] * middle
        square = s[LL_0 + i] + middle * (s[LL_1 + i] + middle * s[LL_2 + i])
        momentum = math.sqrt(max(square, LEAST))
        beyond = 1.0 + s[RATIO + i]
        per_both = 1.0 / (vx * beyond)
        t = per_both * beyond
        slip_by = -(s[FALL_OIL + i] * beyond + s[FALL_DRY + i]) * per_both
        film, held = s[FILM_HERE + i], ring + h * s[RING_BY + i]
        ring_by = (s[TAKES + i] * (film - held) * momentum - s[ABSORBS + i] * held) * t
        new = slip + dx * slip_by
        per_fall = 1.0 / (slip - new)
        mean = 0.5 * (slip + new) if new > 0.0 else 0.5 * slip * slip * per_fall
        y_by = (s[ROLL_Y + i] + s[BY_Y + i] * mean) / (s[ROLL_X + i] + s[BY_X + i] * mean)
        p0, p1, p2 = s[P0 + i], s[P1 + i], s[P2 + i]
        j_10, j_21, j_02 = s[J_10 + i], s[J_21 + i], s[J_02 + i]
        # What the rocking grows by goes off the mean, which then follows the polhode by a midpoint
        # step of its own.
        turned = dx * momentum * t
        n0, n1, n2 = s[N0 + i], s[N1 + i], s[N2 + i]
        rocking = (s[ROCKS_OIL + i] + s[ROCKS_DRY + i] / beyond) / (momentum * momentum * momentum)
        rocking = min(rocking, MOST_ROCKING)
        more = rocking - s[ROCKING + i]
        p0, p1, p2 = (
            p0 - more * (p1 * n2 - p2 * n1),
            p1 - more * (p2 * n0 - p0 * n2),
            p2 - more * (p0 * n1 - p1 * n0),
        )
        q = 0.5 * turned
        c0, c1, c2 = p1 * p2 * j_21, p2 * p0 * j_02, p0 * p1 * j_10
        m0, m1, m2 = p0 + q * c0, p1 + q * c1, p2 + q * c2
        c0, c1, c2 = m1 * m2 * j_21, m2 * m0 * j_02, m0 * m1 * j_10
        arc = turned * s[AXIS_BY + i]
        # A ball in the gutter, or that has all but stopped, stays as it is for good.
        left = max(new, 0.0)
        slowest = min(vx, s[ROLL_X + i] + s[BY_X + i] * left)
        goes = abs(y) <= GUTTER_M and slowest > SLOWEST_M_S and s[COME + i] > x - h
        if goes:
            s[P0 + i], s[P1 + i], s[P2 + i] = p0 + turned * c0, p1 + turned * c1, p2 + turned * c2
            s[FLARE + i] += arc
            s[VISIBLE + i] += arc if film > VISIBLE_FILM_UM else 0.0
            s[Y + i] = y + dx * y_by
            s[SLIP + i] = left
            s[RING + i] = ring + dx * ring_by
            s[COME + i] = x + dx
            s[SLIP_BY + i], s[Y_BY + i], s[RING_BY + i] = slip_by, y_by, ring_by
            s[ROCKING + i], s[TURN_BY + i] = rocking, momentum * t
        new = new if goes else slip
        by = dx * per_fall
        level = s[AT_SKID + i]
        s[SKID + i] = x + by * (slip - level) if slip > level >= new else s[SKID + i]
        level = s[AT_QUARTER + i]
        s[QUARTER + i] = x + by * (slip - level) if slip > level >= new else s[QUARTER + i]
        level = s[AT_THREE + i]
        s[THREE + i] = x + by * (slip - level) if slip > level >= new else s[THREE + i]
        s[ROLL + i] = x + by * slip if slip > 0.0 >= new else s[ROLL + i]
        level = s[AT_BREAK + i]
        turns = slip > level >= new
        s[BREAK + i] = x + by * (slip - level) if turns else s[BREAK + i]
        s[BREAK_Y + i] = y + by * (slip - level) * y_by if turns else s[BREAK_Y + i]


@njit(nogil=True, cache=True, error_model="numpy")
def _cross(s, count, columns, row, film, steps, plain, path):  # type: ignore[no-untyped-def]
    """Take the first ``count`` lanes to the pins; the first writes its path, if it has rows."""
    dx = FOUL_LINE_TO_HEAD_PIN_M / steps
    arrows = min(int(ARROWS_M / dx + 1e-9), steps - 1)
    part = ARROWS_M / dx - arrows
    for step in range(steps):
        x = step * dx
        oil_row(film, x + 0.5 * dx, row)
        if step == arrows:
            for i in range(count):
                s[ARROW_Y + i] = s[Y + i]
        _step(s, count, columns, row, x, dx, dx if step > 0 else 0.5 * dx, plain)
        if step == arrows:
            for i in range(count):
                before, arrived = s[ARROW_Y + i], s[COME + i] > x
                s[ARROW_Y + i] = before + part * (s[Y + i] - before) if arrived else math.nan
        if path.shape[0] > 0 and s[COME] > x:
            vx, vy, momentum = _motion(s, 0)
            path[step, PATH_Y], path[step, PATH_SPEED] = s[Y], math.sqrt(vx * vx + vy * vy)
            path[step, PATH_SPIN] = momentum * s[PER_MOMENT]
            path[step, PATH_AXIS] = momentum * s[AXIS_BY] * s[RADIUS]


@njit(nogil=True, cache=True, error_model="numpy")
def _motion(s, i):  # type: ignore[no-untyped-def]
    """Velocity down the lane and to the left, and angular momentum, of a lane as it is."""
    slip = s[SLIP + i]
    square = s[LL_0 + i] + slip * (s[LL_1 + i] + slip * s[LL_2 + i])
    return (
        s[ROLL_X + i] + s[BY_X + i] * slip,
        s[ROLL_Y + i] + s[BY_Y + i] * slip,
        math.sqrt(max(square, LEAST)),
    )


@njit(nogil=True, cache=True, error_model="numpy")
def _end(s, count, out):  # type: ignore[no-untyped-def]
    """Write the results of the first ``count`` lanes into the rows of ``out``."""
    for i in range(count):
        slip, per_moment = s[SLIP + i], s[PER_MOMENT + i]
        square = s[LL_0 + i] + slip * (s[LL_1 + i] + slip * s[LL_2 + i])
        vx, vy = s[ROLL_X + i] + s[BY_X + i] * slip, s[ROLL_Y + i] + s[BY_Y + i] * slip
        s[DIRECTION + i], s[FULL + i] = _angle(vx, vy), _angle(s[ROLL_X + i], s[ROLL_Y + i])
        s[FINAL_SPEED + i] = math.sqrt(vx * vx + vy * vy)
        s[FINAL_SPIN + i] = math.sqrt(max(square, LEAST)) * per_moment
    for i in range(count):
        row = out[i]
        direction, first = s[DIRECTION + i], -s[LAUNCH + i]
        full = s[FULL + i] - first
        row[ENTRY_BOARD] = s[Y + i] / BOARD_M + CENTRE_BOARD
        row[ENTRY_ANGLE_DEG] = math.degrees(direction)
        row[ENTRY_SPEED_M_S] = s[FINAL_SPEED + i]
        row[SKID_M], row[QUARTER_M] = s[SKID + i], s[QUARTER + i]
        row[THREE_QUARTERS_M], row[ROLL_M] = s[THREE + i], s[ROLL + i]
        row[TURN_SPENT] = (direction - first) / full if full != 0.0 else 0.0
        row[ENTRY_SPIN_RAD_S] = s[FINAL_SPIN + i]
        row[FULL_TURN_DEG] = math.degrees(full)
        row[ARROW_BOARD] = s[ARROW_Y + i] / BOARD_M + CENTRE_BOARD
        low, low_x = s[LAID + i], 0.0
        if not math.isnan(s[BREAK + i]):
            low, low_x = s[BREAK_Y + i], s[BREAK + i]
        elif s[Y + i] < low:
            low, low_x = s[Y + i], s[COME + i]
        row[BREAK_BOARD], row[BREAK_M] = low / BOARD_M + CENTRE_BOARD, low_x
        row[FLARE_M] = s[FLARE + i] * s[RADIUS + i]
        row[VISIBLE_FLARE_M] = s[VISIBLE + i] * s[RADIUS + i]
        arrives = s[COME + i] >= FOUL_LINE_TO_HEAD_PIN_M - 1e-9
        row[ON_LANE] = 1.0 if arrives and abs(s[Y + i]) <= GUTTER_M else 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def _of_release(s, i, y, launch_deg, speed, spin, rotation_deg, tilt_deg):  # type: ignore[no-untyped-def]
    """Fill lane ``i`` of ``s`` with a release."""
    s[LAID + i], s[LAUNCH + i] = y, math.radians(launch_deg)
    s[SPEED + i], s[SPIN + i] = speed, spin
    s[ROTATION + i], s[TILT + i] = math.radians(rotation_deg), math.radians(tilt_deg)


@njit(nogil=True, cache=True, error_model="numpy")
def run(y, launch_deg, speed, spin, rotation_deg, tilt_deg, ball, p, closure, film, steps, out):  # type: ignore[no-untyped-def]
    """One delivery into ``out`` (columns of :mod:`physics.shape`).

    ``y``: laydown offset (m, own-side frame); ``launch_deg`` positive towards the ball-hand
    gutter; ``speed`` m/s; ``spin`` mean rad/s; ``p``: direction of the angular momentum in the
    principal frame; ``closure``: :meth:`physics.friction.Film.numbers`; ``film``: own-side table.
    Many at once cost a tenth each: :func:`run_many`, :func:`run_each`.
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
    and how fast the axis moves over the ball (m/s). Rows of a ball that leaves the lane stay as
    they were.
    """
    s, columns, row = np.empty(SIZE), np.empty(LANES, np.int64), np.empty(BOARDS)
    _of_ball(s, 0, ball, p, closure)
    _of_release(s, 0, y, launch_deg, speed, spin, rotation_deg, tilt_deg)
    plain = _begin(s, 1, columns, film)
    _cross(s, 1, columns, row, film, steps, plain, path)
    _end(s, 1, out.reshape(1, RESULTS))


@njit(nogil=True, cache=True, error_model="numpy")
def run_many(deliveries, ball, p, closure, film, steps):  # type: ignore[no-untyped-def]
    """A row of results for each row (y, launch, speed, spin, rotation, tilt) of deliveries."""
    out = np.empty((deliveries.shape[0], RESULTS))
    run_into(deliveries, ball, p, closure, film, steps, out)
    return out


@njit(nogil=True, cache=True, error_model="numpy")
def run_into(deliveries, ball, p, closure, film, steps, out):  # type: ignore[no-untyped-def]
    """:func:`run_many` into the first rows of ``out``."""
    s, columns, row = np.empty(SIZE), np.empty(LANES, np.int64), np.empty(BOARDS)
    none = np.empty((0, PATH_COLUMNS))
    for i in range(min(LANES, deliveries.shape[0])):
        _of_ball(s, i, ball, p, closure)
    for first in range(0, deliveries.shape[0], LANES):
        count = min(LANES, deliveries.shape[0] - first)
        for i in range(count):
            d = deliveries[first + i]
            _of_release(s, i, d[0], d[1], d[2], d[3], d[4], d[5])
        plain = _begin(s, count, columns, film)
        _cross(s, count, columns, row, film, steps, plain, none)
        _end(s, count, out[first:])


@njit(nogil=True, cache=True, error_model="numpy")
def run_each(deliveries, bodies, closures, film, steps):  # type: ignore[no-untyped-def]
    """:func:`run_many` with a body and a closure for each delivery.

    Rows of ``bodies``: mass, radius, gravity, three moments, three of p; of ``closures`` the six
    of :meth:`physics.friction.Film.numbers`.
    """
    out = np.empty((deliveries.shape[0], RESULTS))
    s, columns, row = np.empty(SIZE), np.empty(LANES, np.int64), np.empty(BOARDS)
    none = np.empty((0, PATH_COLUMNS))
    for first in range(0, deliveries.shape[0], LANES):
        count = min(LANES, deliveries.shape[0] - first)
        for i in range(count):
            d, b, c = deliveries[first + i], bodies[first + i], closures[first + i]
            _of_ball(
                s, i, (b[0], b[1], b[2], (b[3], b[4], b[5])), (b[6], b[7], b[8]),
                (c[0], c[1], c[2], c[3], c[4], c[5]),
            )  # fmt: skip
            _of_release(s, i, d[0], d[1], d[2], d[3], d[4], d[5])
        plain = _begin(s, count, columns, film)
        _cross(s, count, columns, row, film, steps, plain, none)
        _end(s, count, out[first:])
    return out
