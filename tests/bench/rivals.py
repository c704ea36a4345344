"""The same delivery by SciPy's integrators and by a rigid-body engine, each as fast as it can be.

For holding our solvers against: nothing here may be slower than it need be. SciPy gets plain
Python floats, events that need no small steps, and no check of whether the lane holds a rolling
ball; the engine gets all its steps in one call of its own loop.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import mujoco
import numpy as np
from scipy.integrate import solve_ivp

from physics import release, worth
from physics.units import BOARD_M, FOUL_LINE_TO_HEAD_PIN_M, FT_TO_M
from tests.physics.referee_engine import SCENE
from tests.physics.referee_motion import STANDARD_GRAVITY_M_S2, moments_kg_m2, release_state


class PlainPython:
    """Newton's and Euler's equations of one delivery on oil, ring oil on, in plain floats."""

    def __init__(self, option: worth.Option, film_um: Any, delivery: Any) -> None:
        body = option.body
        self.film = film_um.tolist()
        self.closure = option.closure.numbers()
        self.mass, self.radius = body.mass_kg, body.radius_m
        self.moments = tuple(body.mass_kg * rg**2 for rg in body.principal_rg_m)
        y, launch, speed, spin, rotation, tilt = map(float, delivery)
        direction = release.spin_direction(rotation, tilt, launch, "right")
        orientation, omega = release.orientation_and_spin(
            inertia=self.moments,
            pap_body=body.pap_body,
            direction=direction,
            rev_rate_rad_s=spin,
            spin_phase_deg=0.0,
            hand="right",
        )
        size = float(np.linalg.norm(np.array(self.moments) * omega))
        vx, vy = release.launch_velocity(speed, launch, "right")
        self.start = np.array([0.0, y, vx, vy, *orientation, *(size * direction), 0.0])
        lever = self.mass * self.radius
        self.k = (
            size * direction[0] - lever * vy,
            size * direction[1] + lever * vx,
            size * direction[2],
        )

    def _spin(self, q: Any, momentum: Any) -> tuple[float, ...]:
        """Spin in the lane and in the body."""
        w, x, y, z = q
        n = 2.0 / (w * w + x * x + y * y + z * z)
        a, b, c = 1 - n * (y * y + z * z), n * (x * y - w * z), n * (x * z + w * y)
        d, e, f = n * (x * y + w * z), 1 - n * (x * x + z * z), n * (y * z - w * x)
        g, h, i = n * (x * z - w * y), n * (y * z + w * x), 1 - n * (x * x + y * y)
        lx, ly, lz = momentum
        i1, i2, i3 = self.moments
        p = (a * lx + d * ly + g * lz) / i1
        q_ = (b * lx + e * ly + h * lz) / i2
        r = (c * lx + f * ly + i * lz) / i3
        return a * p + b * q_ + c * r, d * p + e * q_ + f * r, g * p + h * q_ + i * r, p, q_, r

    def _film(self, x: float, y: float) -> float:
        along, over = x / FT_TO_M, y / BOARD_M + 19.0
        i, j = min(max(int(along), 0), 59), min(max(int(over), 0), 37)
        s, t = min(max(along - i, 0.0), 1.0), min(max(over - j, 0.0), 1.0)
        one, two = self.film[i], self.film[i + 1]
        low = one[j] + t * (one[j + 1] - one[j])
        return float(low + s * (two[j] + t * (two[j + 1] - two[j]) - low))

    def slide(self, _t: float, s: Any) -> list[float]:
        x, y, vx, vy, *rest = s.tolist()
        q, momentum, ring = rest[:4], rest[4:7], rest[7]
        wx, wy, wz, p, q_, r = self._spin(q, momentum)
        i1, i2, i3 = self.moments
        l1, l2, l3 = i1 * p, i2 * q_, i3 * r
        square = l1 * l1 + l2 * l2 + l3 * l3
        mean = (l1 * p + l2 * q_ + l3 * r) / math.sqrt(square)
        c1, c2, c3 = l2 * r - l3 * q_, l3 * p - l1 * r, l1 * q_ - l2 * p
        axis = math.sqrt((c1 * c1 + c2 * c2 + c3 * c3) / square)
        oil, dry, scale, _, absorption, patch = self.closure
        film, turn = self._film(x, y), 2 * math.pi / mean
        felt = film + max(0.0, 1 - self.radius * axis * turn / patch) * ring
        mu = oil + (dry - oil) / (1 + felt / scale)
        ux, uy = vx - self.radius * wy, vy + self.radius * wx
        pull = -mu * STANDARD_GRAVITY_M_S2 / math.hypot(ux, uy)
        ax, ay = pull * ux, pull * uy
        lever = self.radius * self.mass
        ring_rate = 0.5 * (film - ring) / turn - absorption * ring
        return [vx, vy, ax, ay, *_turning(q, wx, wy, wz), lever * ay, -lever * ax, 0.0, ring_rate]

    def _rolling(self, q: Any) -> tuple[float, float, float]:
        """Spin in the lane of a rolling ball: (J + m R^2 (1 - z z')) w = K, in the body."""
        w, x, y, z = q
        n = 2.0 / (w * w + x * x + y * y + z * z)
        a, b, c = 1 - n * (y * y + z * z), n * (x * y - w * z), n * (x * z + w * y)
        d, e, f = n * (x * y + w * z), 1 - n * (x * x + z * z), n * (y * z - w * x)
        g, h, i = n * (x * z - w * y), n * (y * z + w * x), 1 - n * (x * x + y * y)
        kx, ky, kz = self.k
        extra = self.mass * self.radius**2
        d1, d2, d3 = (moment + extra for moment in self.moments)
        k1, k2, k3 = a * kx + d * ky + g * kz, b * kx + e * ky + h * kz, c * kx + f * ky + i * kz
        g1, g2, g3 = g / d1, h / d2, i / d3
        share = extra * (g1 * k1 + g2 * k2 + g3 * k3) / (1 - extra * (g1 * g + g2 * h + g3 * i))
        p, q_, r = k1 / d1 + share * g1, k2 / d2 + share * g2, k3 / d3 + share * g3
        return a * p + b * q_ + c * r, d * p + e * q_ + f * r, g * p + h * q_ + i * r

    def roll(self, _t: float, s: Any) -> list[float]:
        _, _, *q = s.tolist()
        wx, wy, wz = self._rolling(q)
        return [self.radius * wy, -self.radius * wx, *_turning(q, wx, wy, wz)]

    def play(self, method: str, rtol: float) -> float:
        """Offset at the pins (m)."""
        settings: dict[str, Any] = {"method": method, "rtol": rtol, "atol": 1e-2 * rtol}
        wx, wy, *_ = self._spin(self.start[4:8], self.start[8:11])
        first_x, first_y = self.start[2] - self.radius * wy, self.start[3] + self.radius * wx

        def slips(_t: float, s: Any) -> float:
            _, _, vx, vy, *rest = s.tolist()
            wx, wy, *_ = self._spin(rest[:4], rest[4:7])
            along = (vx - self.radius * wy) * first_x
            return float(along + (vy + self.radius * wx) * first_y)

        def arrives(_t: float, s: Any) -> float:
            return float(s[0] - FOUL_LINE_TO_HEAD_PIN_M)

        for event in (slips, arrives):
            event.terminal = True  # type: ignore[attr-defined]
        slid = solve_ivp(self.slide, (0.0, 10.0), self.start, events=[slips, arrives], **settings)
        end = slid.y[:, -1]
        if slid.t_events[0].size:
            rolled = solve_ivp(
                self.roll, (0.0, 10.0), [*end[:2], *end[4:8]], events=arrives, **settings
            )
            end = rolled.y[:, -1]
        return float(end[1])


def _turning(q: Any, wx: float, wy: float, wz: float) -> list[float]:
    w, x, y, z = q
    return [
        0.5 * (-wx * x - wy * y - wz * z),
        0.5 * (wx * w + wy * z - wz * y),
        0.5 * (wy * w + wz * x - wx * z),
        0.5 * (wz * w + wx * y - wy * x),
    ]


@dataclass
class Engine:
    """A ball on a lane of one friction in MuJoCo, ready to be thrown again and again."""

    case: dict[str, Any]
    step_s: float
    settles_in: int

    def __post_init__(self) -> None:
        ball = self.case["ball"]
        self.start = release_state(ball, self.case["release"], "right")
        self.model = mujoco.MjModel.from_xml_string(
            SCENE.format(
                step=self.step_s,
                soft=self.settles_in * self.step_s,
                gravity=STANDARD_GRAVITY_M_S2,
                mu=self.case["friction"]["mu"],
                radius=ball["radius_m"],
                offset="0 0 0",
                mass=ball["mass_kg"],
                moments=" ".join(repr(float(v)) for v in moments_kg_m2(ball)),
            )
        )
        self.data = mujoco.MjData(self.model)
        self.steps = 0

    def play(self) -> float:
        """Offset at the pins (m); the first call finds out how many steps it takes."""
        data = self.data
        mujoco.mj_resetData(self.model, data)
        data.qpos[:2] = self.start.position_m
        data.qpos[2] = self.case["ball"]["radius_m"]
        data.qpos[3:7] = self.start.orientation
        data.qvel[:2] = self.start.velocity_m_s
        data.qvel[3:6] = self.start.omega_body_rad_s
        if self.steps:
            mujoco.mj_step(self.model, data, nstep=self.steps)
        while not self.steps or data.qpos[0] < FOUL_LINE_TO_HEAD_PIN_M:
            mujoco.mj_step(self.model, data)
            if data.qpos[0] >= FOUL_LINE_TO_HEAD_PIN_M:
                self.steps = round(data.time / self.step_s)
        past = (data.qpos[0] - FOUL_LINE_TO_HEAD_PIN_M) / data.qvel[0]
        return float(data.qpos[1] - past * data.qvel[1])
