"""An independent unbalanced ball on a lane: Newton and Euler as they stand, solved by SciPy.

It shares nothing with the package under test. The state is the geometric centre's place and
velocity, the quaternion of the body and the spin in the lane frame. At every instant the equations

    m (a + alpha x r + w x (w x r)) = F + (N - m g) z,  a horizontal
    J alpha + w x J w = (-R z - r) x (F + N z)

and either F = -mu N u/|u| (slipping) or a = alpha x R z (rolling) are written out as one linear
system for the accelerations and the lane's force, and solved as such. r points from the geometric
centre to the centre of mass, J is the inertia about the centre of mass, u = v + w x (-R z).
Conventions as in :mod:`tests.physics.referee_motion`. Friction is constant or in zones.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from tests.physics.referee_motion import (
    LANE_M,
    SLIP_TAKEN_AS_NONE_M_S,
    STANDARD_GRAVITY_M_S2,
    UP,
    RawState,
    friction_of,
    moments_kg_m2,
    quaternion_to_matrix,
    release_state,
)

Array = NDArray[np.float64]


def cross(v: Array) -> Array:
    """The matrix that makes v x something."""
    return np.array([[0.0, -v[2], v[1]], [v[2], 0.0, -v[0]], [-v[1], v[0], 0.0]])


@dataclass(frozen=True)
class Instant:
    """Accelerations of the centre (2) and of the spin (3), the lane's force (F_x, F_y, N)."""

    centre: Array
    spin: Array
    force: Array


class UnbalancedBall:
    def __init__(self, case: dict[str, Any]) -> None:
        ball = case["ball"]
        self.mass, self.radius = float(ball["mass_kg"]), float(ball["radius_m"])
        self.moments = moments_kg_m2(ball)
        self.offset = np.asarray(ball["centre_of_mass_m"], dtype=float)
        self.gravity = float(case.get("gravity_m_s2", STANDARD_GRAVITY_M_S2))

    def slip(self, velocity: Array, omega: Array) -> Array:
        return np.array(
            [velocity[0] - self.radius * omega[1], velocity[1] + self.radius * omega[0]]
        )

    def instant(self, quaternion: Array, omega: Array, rubbing: Array | None) -> Instant:
        """The six unknowns (a_x, a_y, alpha, N) slipping or (alpha, F_x, F_y, N) rolling.

        ``rubbing``: F over N where the contact slips, None where it rolls.
        """
        attitude = quaternion_to_matrix(quaternion / np.linalg.norm(quaternion))
        inertia = attitude @ np.diag(self.moments) @ attitude.T
        r = attitude @ self.offset
        arm = cross(-self.radius * UP - r)
        known_force = -self.mass * (np.cross(omega, np.cross(omega, r)) + self.gravity * UP)
        known_torque = -np.cross(omega, inertia @ omega)
        system = np.zeros((6, 6))
        if rubbing is not None:
            pull = np.array([rubbing[0], rubbing[1], 1.0])
            system[:2, :2] = self.mass * np.eye(2)
            system[:3, 2:5] = -self.mass * cross(r)
            system[:3, 5] = -pull
            system[3:, 2:5] = inertia
            system[3:, 5] = -arm @ pull
            found = np.linalg.solve(system, np.concatenate([known_force, known_torque]))
            return Instant(found[:2], found[2:5], found[5] * pull)
        system[:3, :3] = -self.mass * cross(self.radius * UP + r)
        system[:3, 3:] = -np.eye(3)
        system[3:, :3] = inertia
        system[3:, 3:] = -arm
        found = np.linalg.solve(system, np.concatenate([known_force, known_torque]))
        alpha = found[:3]
        return Instant(self.radius * np.array([alpha[1], -alpha[0]]), alpha, found[3:])

    def energy(self, velocity: Array, quaternion: Array, omega: Array) -> float:
        """Kinetic energy of the mass centre and about it, and its height's potential energy."""
        attitude = quaternion_to_matrix(quaternion / np.linalg.norm(quaternion))
        r = attitude @ self.offset
        of_mass = np.array([*velocity, 0.0]) + np.cross(omega, r)
        body = attitude.T @ omega
        return (
            0.5 * self.mass * float(of_mass @ of_mass)
            + 0.5 * float(body @ (self.moments * body))
            + self.mass * self.gravity * float(r[2])
        )


def quaternion_rate(quaternion: Array, omega: Array) -> Array:
    w, x, y, z = quaternion
    p, q, r = omega
    return 0.5 * np.array(
        [
            -p * x - q * y - r * z,
            p * w + q * z - r * y,
            q * w + r * x - p * z,
            r * w + p * y - q * x,
        ]
    )


@dataclass(frozen=True)
class UnbalancedShot:
    """End and samples: rows (t, x, y, vx, vy, quaternion, omega in the lane); when it rolled."""

    end: Array
    samples: Array
    roll_s: float | None
    slipped_again: int


class _Play:
    def __init__(self, case: dict[str, Any], rtol: float) -> None:
        self.ball = UnbalancedBall(case)
        self.friction = friction_of(case["friction"])
        self.edges = [float(v) for v in case["friction"].get("until_m", [])]
        self.lane_end = float(case.get("lane_length_m", LANE_M))
        release = case["release"]
        start = (
            RawState(
                *(
                    np.asarray(release[name], dtype=float)
                    for name in ("position_m", "velocity_m_s", "orientation", "omega_body_rad_s")
                )
            )
            if "orientation" in release
            else release_state(case["ball"], release, case.get("hand", "right"))
        )
        omega = quaternion_to_matrix(start.orientation) @ start.omega_body_rad_s
        self.state = np.concatenate(
            [start.position_m, start.velocity_m_s, start.orientation, omega]
        )
        self.wanted = np.asarray(case.get("sample_times_s", []), dtype=float)
        self.samples = np.full((len(self.wanted), 12), np.nan)
        self.t, self.mu, self.rtol = 0.0, 0.0, rtol
        self.roll_s: float | None = None
        self.slipped_again = 0

    def slipping(self, _t: float, s: Array) -> Array:
        u = self.ball.slip(s[2:4], s[8:11])
        found = self.ball.instant(s[4:8], s[8:11], -self.mu * u / np.linalg.norm(u))
        return np.concatenate([s[2:4], found.centre, quaternion_rate(s[4:8], s[8:11]), found.spin])

    def rolling(self, _t: float, s: Array) -> Array:
        found = self.ball.instant(s[4:8], s[8:11], None)
        v = self.ball.radius * np.array([s[9], -s[8]])
        return np.concatenate([v, found.centre, quaternion_rate(s[4:8], s[8:11]), found.spin])

    def margin(self, _t: float, s: Array) -> float:
        force = self.ball.instant(s[4:8], s[8:11], None).force
        return self.mu * float(force[2]) - math.hypot(force[0], force[1])

    def slip_left(self, _t: float, s: Array) -> float:
        return float(np.linalg.norm(self.ball.slip(s[2:4], s[8:11]))) - SLIP_TAKEN_AS_NONE_M_S

    def stretch(
        self,
        rate: Callable[[float, Array], Array],
        leave: Callable[[float, Array], float],
        max_step_s: float,
    ) -> bool:
        """Integrate to the next edge or until ``leave`` falls through zero; whether it did."""
        ahead = [edge for edge in self.edges if edge > self.state[0]]
        stop = min([self.lane_end, *ahead])

        def at_stop(_t: float, s: Array) -> float:
            return float(s[0] - stop)

        def left(t: float, s: Array) -> float:
            return leave(t, s)

        at_stop.terminal, at_stop.direction = True, 1  # type: ignore[attr-defined]
        left.terminal, left.direction = True, -1  # type: ignore[attr-defined]
        got = solve_ivp(
            rate,
            (self.t, self.t + 60.0),
            self.state,
            method="DOP853",
            rtol=self.rtol,
            atol=1e-12,
            events=[at_stop, left],
            dense_output=True,
            max_step=max_step_s,
        )
        for k, when in enumerate(self.wanted):
            if self.t <= when <= got.t[-1] and np.isnan(self.samples[k, 0]):
                self.samples[k] = [when, *got.sol(when)]
        self.t, self.state = float(got.t[-1]), got.y[:, -1].copy()
        self.state[4:8] /= np.linalg.norm(self.state[4:8])
        if got.t_events[0].size:
            self.state[0] = stop + 1e-12
        return bool(got.t_events[1].size)

    def settle(self) -> None:
        self.state[2:4] = self.ball.radius * np.array([self.state[9], -self.state[8]])

    def let_go(self) -> None:
        """The first 30 microseconds of renewed slip: friction along the force rolling asks for."""
        dt, s = 3e-5, self.state
        asked = self.ball.instant(s[4:8], s[8:11], None).force[:2]
        found = self.ball.instant(s[4:8], s[8:11], self.mu * asked / np.linalg.norm(asked))
        s[0:2] += dt * s[2:4]
        s[2:4] += dt * found.centre
        half = s[4:8] + dt / 2 * quaternion_rate(s[4:8], s[8:11])
        s[4:8] += dt * quaternion_rate(half, s[8:11] + dt / 2 * found.spin)
        s[4:8] /= np.linalg.norm(s[4:8])
        s[8:11] += dt * found.spin
        self.t += dt
        self.slipped_again += 1

    def run(self) -> UnbalancedShot:
        rolls = self.slip_left(0.0, self.state) < 0
        while self.state[0] < self.lane_end:
            self.mu = self.friction(float(self.state[0]), float(self.state[1]))
            if not rolls:
                rolls = self.stretch(self.slipping, self.slip_left, 0.02)
                if rolls:
                    self.settle()
                    self.roll_s = self.t if self.roll_s is None else self.roll_s
            elif self.margin(0.0, self.state) < 0 or self.stretch(self.rolling, self.margin, 0.003):
                self.let_go()
                rolls = False
        return UnbalancedShot(
            np.array([self.t, *self.state]), self.samples, self.roll_s, self.slipped_again
        )


def play(case: dict[str, Any], *, rtol: float = 1e-10) -> UnbalancedShot:
    """Play a shot case whose ball has ``centre_of_mass_m``."""
    return _Play(case, rtol).run()
