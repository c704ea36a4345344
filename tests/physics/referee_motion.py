"""An independent ball on a lane, written from Newton and Euler for the checks alone.

It shares nothing with the package under test: the state is the centre's place and velocity, the
angular momentum in the lane frame and the quaternion of the body, and SciPy's DOP853 integrates it.

    m dv/dt = F,   dL/dt = (-R z) x F,   F = -mu m g u/|u|,   u = v + w x (-R z)

so L + m R z x v never changes. In rolling that constant and the attitude alone give the spin, which
is solved from three linear equations instead of being integrated (Chaplygin's ball).
Lane frame: x down-lane, y to the left, z up. SI units. Quaternions are (w, x, y, z), body to lane.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

Array = NDArray[np.float64]
Friction = Callable[[float, float], float]

STANDARD_GRAVITY_M_S2 = 9.80665
LANE_M = 18.288
# Slip below this counts as none. The rest would take 1e-7 s more at a few m/s^2, and setting the
# velocity to exact rolling moves it by less than this: far inside every tolerance here.
SLIP_TAKEN_AS_NONE_M_S = 1e-7
UP = np.array([0.0, 0.0, 1.0])


def quaternion_to_matrix(quaternion: Sequence[float] | Array) -> Array:
    """Rotation matrix (body to lane) of a (w, x, y, z) quaternion."""
    w, x, y, z = (float(part) for part in quaternion)
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )


def matrix_to_quaternion(matrix: Array) -> Array:
    """A (w, x, y, z) quaternion of a rotation matrix, by its largest component."""
    m = matrix
    candidates = np.array(
        [
            1 + m[0, 0] + m[1, 1] + m[2, 2],
            1 + m[0, 0] - m[1, 1] - m[2, 2],
            1 - m[0, 0] + m[1, 1] - m[2, 2],
            1 - m[0, 0] - m[1, 1] + m[2, 2],
        ]
    )
    largest = int(np.argmax(candidates))
    s = 2 * math.sqrt(candidates[largest])
    if largest == 0:
        q = [s / 4, (m[2, 1] - m[1, 2]) / s, (m[0, 2] - m[2, 0]) / s, (m[1, 0] - m[0, 1]) / s]
    elif largest == 1:
        q = [(m[2, 1] - m[1, 2]) / s, s / 4, (m[0, 1] + m[1, 0]) / s, (m[0, 2] + m[2, 0]) / s]
    elif largest == 2:
        q = [(m[0, 2] - m[2, 0]) / s, (m[0, 1] + m[1, 0]) / s, s / 4, (m[1, 2] + m[2, 1]) / s]
    else:
        q = [(m[1, 0] - m[0, 1]) / s, (m[0, 2] + m[2, 0]) / s, (m[1, 2] + m[2, 1]) / s, s / 4]
    return np.array(q)


def moments_kg_m2(ball: dict[str, Any]) -> Array:
    """Principal moments (low, intermediate, high) of a case's ball: mass times RG squared."""
    return float(ball["mass_kg"]) * np.asarray(ball["principal_rg_m"], dtype=float) ** 2


def friction_of(spec: dict[str, Any]) -> Friction:
    """The coefficient of friction as a function of place, read from the written contract."""
    kind = spec["type"]
    if kind == "constant":
        constant = float(spec["mu"])
        return lambda x, y: constant
    if kind == "zones":
        until, values = [float(v) for v in spec["until_m"]], [float(v) for v in spec["mu"]]
        return lambda x, y: values[sum(1 for edge in until if x >= edge)]
    xs, ys = [float(v) for v in spec["x_m"]], [float(v) for v in spec["y_m"]]
    table = [[float(v) for v in row] for row in spec["mu"]]

    def on_the_grid(x: float, y: float) -> float:
        x, y = min(max(x, xs[0]), xs[-1]), min(max(y, ys[0]), ys[-1])
        i = min(max(bisect_right(xs, x) - 1, 0), len(xs) - 2)
        j = min(max(bisect_right(ys, y) - 1, 0), len(ys) - 2)
        s, t = (x - xs[i]) / (xs[i + 1] - xs[i]), (y - ys[j]) / (ys[j + 1] - ys[j])
        near = (1 - t) * table[i][j] + t * table[i][j + 1]
        far = (1 - t) * table[i + 1][j] + t * table[i + 1][j + 1]
        return (1 - s) * near + s * far

    return on_the_grid


@dataclass(frozen=True)
class RawState:
    """A moving ball: centre and velocity on the lane, body-to-lane quaternion, spin in the body."""

    position_m: Array
    velocity_m_s: Array
    orientation: Array
    omega_body_rad_s: Array

    def as_release(self) -> dict[str, Any]:
        """The same state as the `release` object of the contract."""
        return {
            "position_m": self.position_m.tolist(),
            "velocity_m_s": self.velocity_m_s.tolist(),
            "orientation": self.orientation.tolist(),
            "omega_body_rad_s": self.omega_body_rad_s.tolist(),
        }


def release_state(ball: dict[str, Any], release: dict[str, Any], hand: str = "right") -> RawState:
    """The bowler's numbers as a raw state, by the written convention.

    Rotation and tilt, from the launch direction, are the direction of the angular momentum:
    (-cos t sin r, cos t cos r, sin t) along J.pap for a right-hander and
    (cos t sin r, cos t cos r, -sin t) along -J.pap for a left-hander; the spin about it averages to
    the rev rate; the low-RG axis starts in the upright plane through it, on the upper side, and is
    turned about it by the spin phase.
    """
    moments = moments_kg_m2(ball)
    side = 1.0 if hand == "right" else -1.0
    launch = -side * math.radians(release["launch_deg"])
    rotation = math.radians(release["axis_rotation_deg"])
    tilt = math.radians(release["axis_tilt_deg"])
    local = np.array(
        [
            -side * math.cos(tilt) * math.sin(rotation),
            math.cos(tilt) * math.cos(rotation),
            side * math.sin(tilt),
        ]
    )
    turn = np.array(
        [
            [math.cos(launch), -math.sin(launch), 0.0],
            [math.sin(launch), math.cos(launch), 0.0],
            [0.0, 0.0, 1.0],
        ]
    )
    lane_direction = turn @ local
    body_direction = side * moments * np.asarray(release["pap_body"], dtype=float)
    body_direction /= np.linalg.norm(body_direction)
    mean_spin = release["rev_rate_rpm"] * 2 * math.pi / 60
    size = mean_spin / float(body_direction @ (body_direction / moments))
    omega_body = size * body_direction / moments

    # Two right-handed triads with the momentum first and the low-RG axis (or the vertical) second.
    def triad(first: Array, towards: Array) -> Array:
        second = towards - (towards @ first) * first
        second /= np.linalg.norm(second)
        return np.column_stack([first, second, np.cross(first, second)])

    in_body = triad(body_direction, np.array([1.0, 0.0, 0.0]))
    in_lane = triad(lane_direction, UP)
    phase = math.radians(release.get("spin_phase_deg", 0.0))
    about_first = np.array(
        [
            [1.0, 0.0, 0.0],
            [0.0, math.cos(phase), -math.sin(phase)],
            [0.0, math.sin(phase), math.cos(phase)],
        ]
    )
    speed = float(release["speed_m_s"])
    return RawState(
        position_m=np.asarray(release["position_m"], dtype=float),
        velocity_m_s=speed * np.array([math.cos(launch), math.sin(launch)]),
        orientation=matrix_to_quaternion(in_lane @ about_first @ in_body.T),
        omega_body_rad_s=omega_body,
    )


def lane_quantities(case: dict[str, Any], sample: dict[str, Any]) -> dict[str, Any]:
    """What mechanics asks of one sample: spin, momentum, conserved K, energy, slip (lane frame)."""
    ball = case["ball"]
    mass, radius, moments = float(ball["mass_kg"]), float(ball["radius_m"]), moments_kg_m2(ball)
    attitude = quaternion_to_matrix(sample["orientation"])
    omega_body = np.asarray(sample["omega_body_rad_s"], dtype=float)
    momentum = attitude @ (moments * omega_body)
    omega = attitude @ omega_body
    velocity = np.array([sample["vx_m_s"], sample["vy_m_s"], 0.0])
    return {
        "omega": omega,
        "velocity": velocity,
        "L": momentum,
        "K": momentum + mass * radius * np.cross(UP, velocity),
        "energy": 0.5 * mass * float(velocity @ velocity)
        + 0.5 * float(omega_body @ (moments * omega_body)),
        "slip": (velocity + np.cross(omega, -radius * UP))[:2],
        "attitude": attitude,
    }


@dataclass(frozen=True)
class RefereeShot:
    """Where the referee's ball ended, where it first rolled, and its samples (contract names)."""

    end: dict[str, Any]
    roll: dict[str, float] | None
    samples: list[dict[str, Any] | None]
    slipped_again: int


Triple = tuple[float, float, float]


def _rows(quaternion: Array) -> tuple[Triple, Triple, Triple]:
    """Rows of the body-to-lane matrix as plain floats, the quaternion normalised first."""
    w, x, y, z = quaternion.tolist()
    n = 2 / (w * w + x * x + y * y + z * z)
    return (
        (1 - n * (y * y + z * z), n * (x * y - w * z), n * (x * z + w * y)),
        (n * (x * y + w * z), 1 - n * (x * x + z * z), n * (y * z - w * x)),
        (n * (x * z - w * y), n * (y * z + w * x), 1 - n * (x * x + y * y)),
    )


def _to_lane(rows: tuple[Triple, Triple, Triple], b: Triple) -> Triple:
    one, two, three = (row[0] * b[0] + row[1] * b[1] + row[2] * b[2] for row in rows)
    return one, two, three


def _to_body(rows: tuple[Triple, Triple, Triple], v: Triple) -> Triple:
    r, s, t = rows
    return (
        r[0] * v[0] + s[0] * v[1] + t[0] * v[2],
        r[1] * v[0] + s[1] * v[1] + t[1] * v[2],
        r[2] * v[0] + s[2] * v[1] + t[2] * v[2],
    )


class _Body:
    """Slipping and rolling right-hand sides for one ball on one friction map.

    Plain floats rather than small arrays: the referee evaluates these some ten thousand times.
    """

    def __init__(self, case: dict[str, Any]) -> None:
        self.mass = float(case["ball"]["mass_kg"])
        self.radius = float(case["ball"]["radius_m"])
        self.moments = moments_kg_m2(case["ball"])
        self.moment = (float(self.moments[0]), float(self.moments[1]), float(self.moments[2]))
        self.gravity = float(case.get("gravity_m_s2", STANDARD_GRAVITY_M_S2))
        self.friction = friction_of(case["friction"])
        self.lane_end = float(case.get("lane_length_m", LANE_M))

    def omega_lane(self, quaternion: Array, momentum: Array) -> Triple:
        rows = _rows(quaternion)
        lx, ly, lz = momentum.tolist()
        one, two, three = _to_body(rows, (lx, ly, lz))
        i = self.moment
        return _to_lane(rows, (one / i[0], two / i[1], three / i[2]))

    @staticmethod
    def quaternion_rate(quaternion: Array, omega: Triple) -> list[float]:
        w, x, y, z = quaternion.tolist()
        p, q, r = omega
        return [
            0.5 * (-p * x - q * y - r * z),
            0.5 * (p * w + q * z - r * y),
            0.5 * (q * w + r * x - p * z),
            0.5 * (r * w + p * y - q * x),
        ]

    def slip(self, state: Array) -> tuple[float, float]:
        omega = self.omega_lane(state[4:8], state[8:11])
        return float(state[2]) - self.radius * omega[1], float(state[3]) + self.radius * omega[0]

    def slipping(self, _t: float, state: Array) -> list[float]:
        omega = self.omega_lane(state[4:8], state[8:11])
        x, y, vx, vy = state[:4].tolist()
        ux, uy = vx - self.radius * omega[1], vy + self.radius * omega[0]
        pull = -self.friction(x, y) * self.gravity / math.hypot(ux, uy)
        ax, ay = pull * ux, pull * uy
        lever = self.radius * self.mass
        turn = self.quaternion_rate(state[4:8], omega)
        return [vx, vy, ax, ay, *turn, lever * ay, -lever * ax, 0.0]

    def _about_contact(self, gamma: Triple, k: Triple) -> Triple:
        """Solve (J + m R^2 (1 - gamma gamma')) w = k in the body frame (Sherman and Morrison)."""
        extra = self.mass * self.radius**2
        d = [moment + extra for moment in self.moment]
        g = [gamma[n] / d[n] for n in range(3)]
        along = sum(g[n] * k[n] for n in range(3))
        share = extra * along / (1 - extra * sum(g[n] * gamma[n] for n in range(3)))
        one, two, three = (k[n] / d[n] + share * g[n] for n in range(3))
        return one, two, three

    def rolling_spin(self, quaternion: Array, conserved: Triple) -> tuple[Triple, Triple]:
        """Spin and angular momentum of a rolling ball, lane frame."""
        rows = _rows(quaternion)
        body = self._about_contact(rows[2], _to_body(rows, conserved))
        i = self.moment
        momentum = (i[0] * body[0], i[1] * body[1], i[2] * body[2])
        return _to_lane(rows, body), _to_lane(rows, momentum)

    def rolling(self, _t: float, state: Array, conserved: Triple) -> list[float]:
        omega, _ = self.rolling_spin(state[2:6], conserved)
        turn = self.quaternion_rate(state[2:6], omega)
        return [self.radius * omega[1], -self.radius * omega[0], *turn]

    def asked_m_s2(self, quaternion: Array, conserved: Triple) -> tuple[float, float]:
        """Acceleration of the centre that rolling needs from friction: R (dw_y, -dw_x)/dt.

        From K constant in space, A dw/dt = -(w x J w) with A the inertia about the contact.
        """
        rows = _rows(quaternion)
        w = self._about_contact(rows[2], _to_body(rows, conserved))
        i = self.moment
        twist = (
            (i[1] - i[2]) * w[1] * w[2],
            (i[2] - i[0]) * w[2] * w[0],
            (i[0] - i[1]) * w[0] * w[1],
        )
        rate = _to_lane(rows, self._about_contact(rows[2], twist))
        return self.radius * rate[1], -self.radius * rate[0]

    def margin_m_s2(self, x: float, y: float, quaternion: Array, conserved: Triple) -> float:
        """What friction can give less what rolling asks, as acceleration of the centre."""
        asked = self.asked_m_s2(quaternion, conserved)
        return self.friction(x, y) * self.gravity - math.hypot(*asked)


def _sample(body: _Body, t: float, state: Array) -> dict[str, Any]:
    quaternion = state[4:8] / np.linalg.norm(state[4:8])
    attitude = quaternion_to_matrix(quaternion)
    return {
        "t_s": t,
        "x_m": float(state[0]),
        "y_m": float(state[1]),
        "vx_m_s": float(state[2]),
        "vy_m_s": float(state[3]),
        "orientation": quaternion.tolist(),
        "omega_body_rad_s": ((attitude.T @ state[8:11]) / body.moments).tolist(),
        "angular_momentum_lane": state[8:11].tolist(),
    }


class _Play:
    """One delivery in progress: stretches of slip and roll, each ended by an event or an edge."""

    def __init__(self, case: dict[str, Any], longest_s: float, rtol: float) -> None:
        release = case["release"]
        start = (
            RawState(
                *(
                    np.asarray(release[name], dtype=float)
                    for name in (
                        "position_m",
                        "velocity_m_s",
                        "orientation",
                        "omega_body_rad_s",
                    )
                )
            )
            if "orientation" in release
            else release_state(case["ball"], release, case.get("hand", "right"))
        )
        self.body = _Body(case)
        attitude = quaternion_to_matrix(start.orientation)
        momentum = attitude @ (self.body.moments * start.omega_body_rad_s)
        self.state = np.concatenate(
            [start.position_m, start.velocity_m_s, start.orientation, momentum]
        )
        velocity = np.array([*start.velocity_m_s, 0.0])
        about_lane = momentum + self.body.mass * self.body.radius * np.cross(UP, velocity)
        self.conserved = (float(about_lane[0]), float(about_lane[1]), float(about_lane[2]))
        self.friction = self.body.friction
        self.edges = [float(v) for v in case["friction"].get("until_m", [])]
        self.wanted = [float(v) for v in case.get("sample_times_s", [])]
        self.samples: list[dict[str, Any] | None] = [None] * len(self.wanted)
        self.longest_s, self.rtol = longest_s, rtol
        self.t = 0.0
        self.roll: dict[str, float] | None = None
        self.slipped_again = 0

    def full(self, short: Array) -> Array:
        """The whole state of a rolling ball from its place and attitude."""
        omega, momentum = self.body.rolling_spin(short[2:6], self.conserved)
        v = [self.body.radius * omega[1], -self.body.radius * omega[0]]
        return np.concatenate([short[:2], v, short[2:6], momentum])

    def solve(
        self,
        rate: Callable[[float, Array], list[float]],
        state: Array,
        leave: Callable[[float, Array], float],
        to_full: Callable[[Array], Array],
        max_step_s: float,
    ) -> bool:
        """Integrate to the next edge or until ``leave`` falls through zero; whether it did."""
        ahead = [edge for edge in self.edges if edge > state[0]]
        stop = min([self.body.lane_end, *ahead])

        def at_stop(_t: float, s: Array) -> float:
            return float(s[0] - stop)

        at_stop.terminal, at_stop.direction = True, 1  # type: ignore[attr-defined]
        leave.terminal, leave.direction = True, -1  # type: ignore[attr-defined]
        got = solve_ivp(
            rate,
            (self.t, self.longest_s),
            state,
            method="DOP853",
            rtol=self.rtol,
            atol=1e-13,
            events=[at_stop, leave],
            dense_output=True,
            max_step=max_step_s,
        )
        for k, when in enumerate(self.wanted):
            if self.t <= when <= got.t[-1] and self.samples[k] is None:
                self.samples[k] = _sample(self.body, when, to_full(got.sol(when)))
        self.t, self.state = float(got.t[-1]), to_full(got.y[:, -1]).copy()
        self.state[4:8] /= np.linalg.norm(self.state[4:8])
        if got.t_events[0].size:
            self.state[0] = stop + 1e-12
        return bool(got.t_events[1].size)

    def holds(self) -> bool:
        """Whether the lane can keep the ball rolling where it is."""
        x, y = self.state[:2].tolist()
        return self.body.margin_m_s2(x, y, self.state[4:8], self.conserved) >= 0

    def slipless(self) -> bool:
        return math.hypot(*self.body.slip(self.state)) < SLIP_TAKEN_AS_NONE_M_S

    def slip_stretch(self) -> bool:
        """Slip until slip vanishes (True) or an edge."""

        def left(_t: float, s: Array) -> float:
            return math.hypot(*self.body.slip(s)) - SLIP_TAKEN_AS_NONE_M_S

        return self.solve(self.body.slipping, self.state, left, lambda s: s, 0.05)

    def roll_stretch(self) -> bool:
        """Roll until friction can't hold the ball (True) or an edge."""

        def margin(_t: float, s: Array) -> float:
            return self.body.margin_m_s2(float(s[0]), float(s[1]), s[2:6], self.conserved)

        def rate(when: float, s: Array) -> list[float]:
            return self.body.rolling(when, s, self.conserved)

        short = np.concatenate([self.state[:2], self.state[4:8]])
        # Rolling asks most twice a turn; steps must not jump over a short loss of hold.
        return self.solve(rate, short, margin, self.full, 0.003)

    def let_go(self) -> None:
        """The first moments of renewed slip, when its direction can't be read off the slip yet.

        Slip starts against the force that rolling would ask for, so friction points along that
        force for the first 30 microseconds (the ball moves on 0.2 mm).
        """
        dt = 3e-5
        omega, _ = self.body.rolling_spin(self.state[4:8], self.conserved)
        direction = np.array(self.body.asked_m_s2(self.state[4:8], self.conserved))
        direction /= np.linalg.norm(direction)
        mu = self.body.friction(float(self.state[0]), float(self.state[1]))
        force = self.body.mass * mu * self.body.gravity * direction
        half = np.array(self.body.quaternion_rate(self.state[4:8], omega)) * dt / 2
        turned = self.state[4:8] + dt * np.array(
            self.body.quaternion_rate(self.state[4:8] + half, omega)
        )
        new = self.state.copy()
        new[0:2] += dt * self.state[2:4]
        new[2:4] += dt * force / self.body.mass
        new[4:8] = turned / np.linalg.norm(turned)
        new[8:11] += dt * np.array([self.body.radius * force[1], -self.body.radius * force[0], 0.0])
        self.t += dt
        self.state = new
        self.slipped_again += 1

    def run(self) -> RefereeShot:
        rolling = self.slipless()
        while self.t < self.longest_s and self.state[0] < self.body.lane_end:
            if self.edges:
                # One zone to a stretch: a step may try places past the edge before it is cut there.
                here = self.friction(float(self.state[0]), float(self.state[1]))
                self.body.friction = friction_of({"type": "constant", "mu": here})
            if not rolling:
                rolling = self.slip_stretch()
                if rolling and self.roll is None:
                    x, y = float(self.state[0]), float(self.state[1])
                    self.roll = {"t_s": self.t, "x_m": x, "y_m": y}
            elif not self.holds() or self.roll_stretch():
                self.let_go()
                rolling = self.slipless()
        end = _sample(self.body, self.t, self.state)
        return RefereeShot(end, self.roll, self.samples, self.slipped_again)


def play(case: dict[str, Any], *, longest_s: float = 60.0, rtol: float = 1e-11) -> RefereeShot:
    """Play a shot case of the contract with the referee, raw state or bowler's numbers alike."""
    return _Play(case, longest_s, rtol).run()
