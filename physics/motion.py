"""The reference solver: a full rigid body on a level lane, slipping, rolling and between.

Lane frame: x down-lane, y left, z up; positions are those of the ball's centre.
State vector ``s`` of the kernels (14 numbers):
    0 x, 1 y, 2 vx, 3 vy, 4-7 quaternion (w, x, y, z) from the principal body frame to the lane,
    8-10 angular momentum about the centre in the lane frame, 11 film on the ball's last ring (um),
    12 arc the axis has moved on the ball's surface (m), 13 the part of it moved on oil (m).

Angular momentum, not angular velocity, is integrated because then K = L + m R z x v, which friction
can't change, is a linear invariant and kept to rounding by every Runge-Kutta method. While the ball
rolls K gives the velocities outright (Chaplygin's ball, 1903), so only orientation and path are
integrated. Steps are cut exactly at zone edges, sample times and the lane's end.

The centre of mass may lie off the geometric centre (:mod:`physics.unbalanced`): the normal force
then swings with each turn and K is no longer kept. Positions and velocities stay those of the
geometric centre, the angular momentum is about the centre of mass.
"""

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from physics.errors import InputError
from physics.friction import FILM, ZONES, Friction, bilinear
from physics.rigid import closing_rate, conserved, rotation, slip_speed, spin
from physics.stepping import (
    CREEPING,
    ROLLING,
    SLIDING,
    STATES,
    lane_holds,
    last_hold,
    meet,
    rates,
    step,
    to_roll,
    zone_of,
)
from physics.units import FOUL_LINE_TO_HEAD_PIN_M, STANDARD_GRAVITY_M_S2

Array = NDArray[np.float64]

SAMPLE = 17
PROFILE = 7
ROLL_SLIP_M_S = 1e-8
# Where the lane only just holds, slip dies away so slowly, and its direction follows so fast, that
# steps shrink to nothing: where it dies more slowly than friction alone would stop a block, and not
# some three times as fast as a ball's does, the last of it is taken at once.
LAST_SLIP_M_S = 2e-6
# Below this slip a contact without hold creeps: the slip's direction then lags behind the force
# asked for by some 1e-4 rad, worth 1e-8 m/s by the time it slides on.
CREEP_SLIP_M_S = 1e-5
STANDSTILL_M_S = 1e-9
MOST_STEPS = 400_000
# How a delivery ends, as the kernel tells it.
UNDER_WAY, ENDED, LIFTED = range(3)


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
    most_steps: int = MOST_STEPS,
    centre_of_mass_m: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> Shot:
    """Integrate one delivery until the centre passes ``lane_length_m`` or the ball stops short.

    ``orientation`` is a unit quaternion from the principal body frame to the lane, ``tolerance``
    the local error per step in metres, metres per second and relative angular momentum.
    ``centre_of_mass_m`` is that of the centre of mass from the geometric centre, in the principal
    frame; the moments are about the centre of mass. Raises
    :class:`InputError` for a delivery that does neither within ``most_steps``: it is never taken
    for one that stopped; and for an offset that lifts the ball off the lane.
    """
    inertia = mass_kg * np.asarray(principal_rg_m, float) ** 2
    start = np.zeros(STATES)
    start[0:2] = position_m
    start[2:4] = velocity_m_s
    start[4:8] = np.asarray(orientation, float) / np.linalg.norm(orientation)
    start[8:11] = rotation(*start[4:8]) @ (inertia * np.asarray(omega_body_rad_s, float))
    moments = (float(inertia[0]), float(inertia[1]), float(inertia[2]))
    offset = (float(centre_of_mass_m[0]), float(centre_of_mass_m[1]), float(centre_of_mass_m[2]))
    times = np.zeros(0) if sample_times_s is None else np.asarray(sample_times_s, float)
    rows = math.floor(lane_length_m / profile_step_m + 1e-9) + 1 if profile_step_m > 0 else 0
    end, roll, status, reached, samples, profile, flare = _integrate(
        start,
        (mass_kg, radius_m, gravity_m_s2, moments, offset),
        (
            friction.kind,
            friction.x_m,
            friction.y_m,
            friction.zone_mu,
            friction.table,
            friction.film,
        ),
        lane_length_m,
        times,
        np.argsort(times),
        profile_step_m,
        rows,
        tolerance,
        most_steps,
    )
    if status == LIFTED:
        raise InputError(
            "ball.centre_of_mass_m",
            list(offset),
            f"an offset that leaves the ball on the lane; this one lifts it after {end[0]:.3f} s",
        )
    if status == UNDER_WAY:
        raise InputError(
            "release",
            [float(v) for v in velocity_m_s],
            f"a delivery that passes the lane's end or stops within {most_steps} steps; this one "
            f"is too slow or spins too fast (after {end[0]:.0f} s it is at {end[1]:.2f} m)",
        )
    return Shot(
        end=end,
        roll=None if math.isnan(roll[0]) else (float(roll[0]), float(roll[1]), float(roll[2])),
        reached=bool(reached),
        samples=samples,
        profile=profile,
        flare_m=float(flare[0]),
        visible_flare_m=float(flare[1]),
    )


@njit(nogil=True, cache=True, error_model="numpy")
def _integrate(start, ball, lane, length, times, order, spacing, rows, tolerance, most_steps):  # type: ignore[no-untyped-def]
    # Loops where slices would do: each slice assignment costs the compiler a second.
    s = start.copy()
    new = np.empty(STATES)
    work = np.empty((9, STATES))
    begin = np.empty(STATES)
    samples = np.full((times.shape[0], SAMPLE), np.nan)
    profile = np.full((rows, PROFILE), np.nan)
    roll = np.full(3, np.nan)
    next_time, next_row = 0, 0
    t, want = 0.0, 1e-3
    phase = SLIDING
    status, reached = UNDER_WAY, False
    k = conserved(s, ball)
    for _ in range(most_steps):
        while next_time < times.shape[0] and times[order[next_time]] <= t + 1e-13:
            _write(t, s, ball[3], samples[order[next_time]])
            next_time += 1
        reached = s[0] >= length - 1e-12
        if reached:
            status = ENDED
            break
        zone = zone_of(lane[1], s[0]) if lane[0] == ZONES else 0
        ux, uy, mu, load = rates(s, work[0], phase, ball, lane, zone, k)
        slip = math.hypot(ux, uy)
        if phase != ROLLING:
            phase = _phase_of_slip(s, work[0], slip, mu, phase, ball, k)
            if phase == ROLLING and math.isnan(roll[0]):
                roll[0], roll[1], roll[2] = t, s[0], s[1]
            ux, uy, mu, load = rates(s, work[0], phase, ball, lane, zone, k)
            slip = math.hypot(ux, uy)
        if load <= 0.0:
            status = LIFTED
            break
        if s[2] <= STANDSTILL_M_S and (phase == ROLLING or work[0, 2] <= 0.0):
            status = ENDED
            break
        for i in range(STATES):
            begin[i] = work[0, i]
        h = _step_length(want, phase, s, begin, slip, ball)
        if next_time < times.shape[0]:
            h = min(h, times[order[next_time]] - t)
        error = step(s, h, new, work, phase, ball, lane, zone, k)
        if error > tolerance and h > 1e-9:
            want = h * max(0.1, 0.9 * (tolerance / error) ** 0.2)
            continue
        # A step cut short by an edge says nothing against the longer one wanted before.
        grown = h * min(5.0, 0.9 * (tolerance / max(error, 1e-30)) ** 0.2)
        want = max(1e-6, grown if h == want else max(want, grown))
        wall = length
        if lane[0] == ZONES and zone < lane[1].shape[0]:
            wall = min(wall, lane[1][zone])
        if new[0] > wall + 1e-12:
            h = meet(s, h, new, work, phase, ball, lane, zone, k, 0, wall)
        elif new[2] < 0.0 and s[2] > STANDSTILL_M_S:
            h = meet(s, h, new, work, phase, ball, lane, zone, k, 2, 0.0)
        lost = False
        if phase == ROLLING:
            _, _, mu, _ = rates(new, work[8], phase, ball, lane, zone, k)
            lost = not lane_holds(new, mu, ball)
            if lost:
                h = last_hold(s, h, new, work, ball, lane, zone, k)
        if next_row < rows and new[0] >= next_row * spacing - 1e-12:
            _, _, mu_new, _ = rates(new, work[8], phase, ball, lane, zone, k)
            next_row = _fill(
                profile, next_row, spacing, t, h, s, begin, new, work[8], mu, mu_new, ball, lane
            )
        t += h
        for i in range(STATES):
            s[i] = new[i]
        if lost:
            phase = CREEPING
    end = np.empty(SAMPLE)
    _write(t, s, ball[3], end)
    while next_time < times.shape[0] and times[order[next_time]] <= t + 1e-12:
        for i in range(SAMPLE):
            samples[order[next_time], i] = end[i]
        next_time += 1
    return end, roll, status, reached, samples, profile, s[12:14].copy()


@njit(nogil=True, cache=True, error_model="numpy")
def _phase_of_slip(s, d, slip, mu, phase, ball, k):  # type: ignore[no-untyped-def]
    """What a contact that isn't rolling does next: roll, creep on without hold, or slide."""
    if slip > CREEP_SLIP_M_S:
        return SLIDING
    if not lane_holds(s, mu, ball):
        return CREEPING
    if slip > ROLL_SLIP_M_S and (slip > LAST_SLIP_M_S or closing_rate(s, d, ball) > mu * ball[2]):
        return phase
    to_roll(s, ball, k)
    return ROLLING


@njit(nogil=True, cache=True, error_model="numpy")
def _step_length(want, phase, s, d, slip, ball):  # type: ignore[no-untyped-def]
    h = min(want, 0.05)
    if phase != ROLLING and slip > 0.0:
        closing = closing_rate(s, d, ball)
        if closing > 0.0:
            # Near roll go nine tenths of the way each time, and the last bit at once.
            left = slip / closing
            h = min(h, left if slip < 20 * ROLL_SLIP_M_S else 0.9 * left)
    return max(h, 1e-13)


@njit(nogil=True, cache=True, error_model="numpy")
def _write(t, s, inertia, out):  # type: ignore[no-untyped-def]
    """A sample's row from a state."""
    b0, b1, b2, _, _, _ = spin(s, inertia)
    out[0] = t
    for i in range(8):
        out[1 + i] = s[i]
    out[9], out[10], out[11] = b0, b1, b2
    out[12], out[13], out[14] = s[8], s[9], s[10]
    out[15], out[16] = s[11], s[12]


@njit(nogil=True, cache=True, error_model="numpy")
def _hermite(f, h, y0, d0, y1, d1):  # type: ignore[no-untyped-def]
    """Cubic through two values and slopes, at fraction ``f`` of a step ``h``."""
    g = 1 - f
    return (1 + 2 * f) * g * g * y0 + h * f * g * (g * d0 - f * d1) + f * f * (3 - 2 * f) * y1


@njit(nogil=True, cache=True, error_model="numpy")
def _fill(profile, row, spacing, t, h, s, d, new, d_new, mu, mu_new, ball, lane):  # type: ignore[no-untyped-def]
    """Write the profile rows whose distance lies within the step just taken; the next row."""
    slip, slip_new = slip_speed(s, ball), slip_speed(new, ball)
    while row < profile.shape[0] and row * spacing <= new[0] + 1e-12:
        goal = row * spacing
        # Newton's way from the middle: a step is short, and the ball hardly slows within it.
        f = 0.5
        for _ in range(5):
            ahead = s[2] + f * (new[2] - s[2])
            if ahead <= 0.0 or h <= 0.0:
                break
            f += (goal - _hermite(f, h, s[0], d[0], new[0], d_new[0])) / (ahead * h)
        f = min(1.0, max(0.0, f))
        y = _hermite(f, h, s[1], d[1], new[1], d_new[1])
        profile[row, 0] = t + f * h
        profile[row, 1] = y
        profile[row, 2] = s[2] + f * (new[2] - s[2])
        profile[row, 3] = s[3] + f * (new[3] - s[3])
        profile[row, 4] = slip + f * (slip_new - slip)
        profile[row, 5] = mu + f * (mu_new - mu)
        profile[row, 6] = bilinear(lane[1], lane[2], lane[4], goal, y) if lane[0] == FILM else 0.0
        row += 1
    return row
