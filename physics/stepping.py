"""Steps of the reference solver: rates of change, the embedded pair, and meeting an edge.

State, ``ball`` and ``k`` as in :mod:`physics.rigid`; ``lane`` is the tuple (kind, x, y, zone
coefficients, table, film closure) of :class:`physics.friction.Friction`.
"""

import math

import numpy as np
from numba import njit

from physics.friction import GRID, ZONES, bilinear, film_mu, ring_overlap
from physics.rigid import mean_spin_and_axis_rate, rolling_force, settle, spin
from physics.unbalanced import is_balanced, rolling, slipping

STATES = 14
# Creeping: the contact has lost its hold, but slips too little for its direction to be followed in
# steps of useful length; Coulomb friction then lies along the force that rolling would ask for.
SLIDING, ROLLING, CREEPING = 0, 1, 2
# A ring can be seen on a ball where the lane's film is at least about a unit of oil (estimate).
VISIBLE_FILM_UM = 0.18

# Dormand & Prince, "A family of embedded Runge-Kutta formulae", J. Comp. Appl. Math. 6 (1980).
STAGES = np.array(
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
# Fifth-order weights less fourth-order ones.
ERROR = np.array([71 / 57600, 0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40])


@njit(nogil=True, cache=True, error_model="numpy")
def zone_of(edges, x):  # type: ignore[no-untyped-def]
    """Index of the friction zone a distance lies in; an edge belongs to the zone beyond it."""
    zone = 0
    while zone < edges.shape[0] and edges[zone] <= x + 1e-11:
        zone += 1
    return zone


@njit(nogil=True, cache=True, error_model="numpy")
def _contact(s, lane, zone, turn_rate, axis_rate, radius):  # type: ignore[no-untyped-def]
    """Friction coefficient, lane film, and the rate of change of the ring's film."""
    kind, xs, ys, zone_mu, table, film = lane
    if kind == ZONES:
        return zone_mu[zone], 0.0, 0.0
    value = bilinear(xs, ys, table, s[0], s[1])
    if kind == GRID:
        return value, 0.0, 0.0
    mu_oil, mu_dry, scale, exponent, absorption, patch = film
    if patch <= 0.0 or turn_rate < 1e-6:
        return film_mu(value, mu_oil, mu_dry, scale, exponent), value, 0.0
    turn = 2.0 * math.pi / turn_rate
    felt = value + ring_overlap(radius * axis_rate * turn, patch) * s[11]
    # At each contact the film splits evenly between ball and lane.
    change = 0.5 * (value - s[11]) / turn - absorption * s[11]
    return film_mu(felt, mu_oil, mu_dry, scale, exponent), value, change


@njit(nogil=True, cache=True, error_model="numpy")
def to_roll(s, ball, k):  # type: ignore[no-untyped-def]
    """Set the velocities of ``s`` to pure rolling."""
    if is_balanced(ball):
        settle(s, ball, k)
    else:
        _, _, _, wx, wy, _ = spin(s, ball[3])
        s[2], s[3] = ball[1] * wy, -ball[1] * wx


@njit(nogil=True, cache=True, error_model="numpy")
def rates(s, d, phase, ball, lane, zone, k):  # type: ignore[no-untyped-def]
    """Write the time derivative of ``s`` to ``d``; slip components, friction coefficient, load.

    The load is the normal force over the ball's weight.
    """
    _, radius, _, inertia, _ = ball
    if phase == ROLLING:
        to_roll(s, ball, k)
    b0, b1, b2, wx, wy, _ = spin(s, inertia)
    turn_rate, axis_rate = mean_spin_and_axis_rate(inertia, b0, b1, b2)
    mu, oil, change = _contact(s, lane, zone, turn_rate, axis_rate, radius)
    ux, uy = s[2] - radius * wy, s[3] + radius * wx
    d[0], d[1] = s[2], s[3]
    d[2], d[3], d[8], d[9], d[10] = 0.0, 0.0, 0.0, 0.0, 0.0
    load = 1.0
    if not is_balanced(ball):
        load = _push_unbalanced(s, d, phase, ball, ux, uy, mu)
    else:
        mass, gravity = ball[0], ball[2]
        slip = math.hypot(ux, uy)
        if phase == SLIDING and slip > 0.0:
            d[2], d[3] = -mu * gravity * ux / slip, -mu * gravity * uy / slip
            # Torque (-R z) x F.
            d[8], d[9] = radius * mass * d[3], -radius * mass * d[2]
        elif phase == CREEPING:
            fx, fy = rolling_force(s, ball)
            need = math.hypot(fx, fy)
            if need > 0.0:
                d[2], d[3] = mu * gravity * fx / need, mu * gravity * fy / need
                d[8], d[9] = radius * mass * d[3], -radius * mass * d[2]
    w, x, y, z = s[4], s[5], s[6], s[7]
    d[4] = 0.5 * (-x * b0 - y * b1 - z * b2)
    d[5] = 0.5 * (w * b0 + y * b2 - z * b1)
    d[6] = 0.5 * (w * b1 + z * b0 - x * b2)
    d[7] = 0.5 * (w * b2 + x * b1 - y * b0)
    d[11] = change
    d[12] = radius * axis_rate
    d[13] = radius * axis_rate if oil > VISIBLE_FILM_UM else 0.0
    return ux, uy, mu, load


@njit(nogil=True, cache=True, error_model="numpy")
def _push_unbalanced(s, d, phase, ball, ux, uy, mu):  # type: ignore[no-untyped-def]
    """The same of a ball with its centre of mass off the centre; the load."""
    if phase == ROLLING:
        _, _, normal, tx, ty, tz, ax, ay = rolling(s, ball)
        load = normal / (ball[0] * ball[2])
    else:
        dx, dy = -ux, -uy
        if phase == CREEPING:
            dx, dy, _, _, _, _, _, _ = rolling(s, ball)
        size = math.hypot(dx, dy)
        if size > 0.0:
            dx, dy = dx / size, dy / size
        ax, ay, tx, ty, tz, load = slipping(s, ball, dx, dy, mu)
    d[2], d[3], d[8], d[9], d[10] = ax, ay, tx, ty, tz
    return load


@njit(nogil=True, cache=True, error_model="numpy")
def step(s, h, new, work, phase, ball, lane, zone, k):  # type: ignore[no-untyped-def]
    """One step of the pair from ``s``, whose rates are in ``work[0]``, to ``new``; scaled error."""
    trial = work[7]
    for stage in range(1, 7):
        for i in range(STATES):
            total = 0.0
            for j in range(stage):
                total += STAGES[stage, j] * work[j, i]
            trial[i] = s[i] + h * total
        rates(trial, work[stage], phase, ball, lane, zone, k)
    momentum = max(math.sqrt(k[0] * k[0] + k[1] * k[1] + k[2] * k[2]), 1e-9)
    error = 0.0
    for i in range(STATES):
        new[i] = trial[i]
        wrong = 0.0
        for j in range(7):
            wrong += ERROR[j] * work[j, i]
        if 8 <= i <= 10:
            wrong /= momentum
        if i < 12:
            error += wrong * wrong
    n = 1.0 / math.sqrt(new[4] ** 2 + new[5] ** 2 + new[6] ** 2 + new[7] ** 2)
    for i in range(4, 8):
        new[i] *= n
    if phase == ROLLING:
        to_roll(new, ball, k)
    return h * math.sqrt(error)


@njit(nogil=True, cache=True, error_model="numpy")
def meet(s, h, new, work, phase, ball, lane, zone, k, which, goal):  # type: ignore[no-untyped-def]
    """Shorten a step so that component ``which`` ends on ``goal``; Illinois false position."""
    low, high = 0.0, h
    f_low, f_high = s[which] - goal, new[which] - goal
    side = 0
    at = h
    for _ in range(60):
        at = low + (high - low) * f_low / (f_low - f_high)
        step(s, at, new, work, phase, ball, lane, zone, k)
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
def lane_holds(s, mu, ball):  # type: ignore[no-untyped-def]
    """Whether friction ``mu`` is enough to keep the ball rolling."""
    if is_balanced(ball):
        fx, fy = rolling_force(s, ball)
        limit = mu * ball[0] * ball[2]
    else:
        fx, fy, normal, _, _, _, _, _ = rolling(s, ball)
        limit = mu * max(0.0, normal)
    return fx * fx + fy * fy <= limit * limit


@njit(nogil=True, cache=True, error_model="numpy")
def last_hold(s, h, new, work, ball, lane, zone, k):  # type: ignore[no-untyped-def]
    """Bisect a rolling step that loses its hold to the moment it does; length of the step."""
    low, high = 0.0, h
    d = work[8]
    for _ in range(40):
        middle = 0.5 * (low + high)
        step(s, middle, new, work, ROLLING, ball, lane, zone, k)
        _, _, mu, _ = rates(new, d, ROLLING, ball, lane, zone, k)
        if lane_holds(new, mu, ball):
            low = middle
        else:
            high = middle
    step(s, high, new, work, ROLLING, ball, lane, zone, k)
    return high
