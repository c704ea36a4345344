"""A delivery played by MuJoCo, a general-purpose rigid-body engine, as a second referee.

The engine knows nothing of bowling: it is given a sphere with a mass, three moments and a centre
of mass, a plane, and a coefficient of friction that is set anew at each step by the zone the ball
is in. Its contacts are soft and its steps fixed, so it is the coarser referee; it shares no
equations with this project at all. A development dependency only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import mujoco
import numpy as np

from tests.physics.referee_motion import (
    LANE_M,
    STANDARD_GRAVITY_M_S2,
    RawState,
    friction_of,
    moments_kg_m2,
    release_state,
)

# A contact that settles in a millisecond, ten steps; friction cones, not pyramids.
SCENE = """
<mujoco>
  <option timestep="{step}" gravity="0 0 -{gravity}" cone="elliptic" impratio="50"
          integrator="implicitfast" tolerance="1e-14" iterations="200"/>
  <worldbody>
    <geom name="lane" type="plane" size="0 0 1" friction="{mu} 0 0" condim="3"
          solref="{soft} 1" solimp="0.999 0.9999 0.0001"/>
    <body pos="0 0 {radius}">
      <freejoint/>
      <inertial pos="{offset}" mass="{mass}" diaginertia="{moments}"/>
      <geom name="ball" type="sphere" size="{radius}" friction="{mu} 0 0" condim="3"
            solref="{soft} 1" solimp="0.999 0.9999 0.0001"/>
    </body>
  </worldbody>
</mujoco>
"""


@dataclass(frozen=True)
class EngineShot:
    """The geometric centre as it passes the lane's end."""

    t_s: float
    y_m: float
    vx_m_s: float
    vy_m_s: float


def play(case: dict[str, Any], *, step_s: float = 1e-4) -> EngineShot:
    """Play a shot case with the engine; friction constant or in zones."""
    ball, release = case["ball"], case["release"]
    start = (
        RawState(
            *(
                np.asarray(release[name], dtype=float)
                for name in ("position_m", "velocity_m_s", "orientation", "omega_body_rad_s")
            )
        )
        if "orientation" in release
        else release_state(ball, release, case.get("hand", "right"))
    )
    offset = np.asarray(ball.get("centre_of_mass_m", [0.0, 0.0, 0.0]), dtype=float)
    radius = float(ball["radius_m"])
    mu_at = friction_of(case["friction"])
    model = mujoco.MjModel.from_xml_string(
        SCENE.format(
            step=step_s,
            soft=10 * step_s,
            gravity=float(case.get("gravity_m_s2", STANDARD_GRAVITY_M_S2)),
            mu=mu_at(float(start.position_m[0]), 0.0),
            radius=radius,
            offset=" ".join(repr(float(v)) for v in offset),
            mass=float(ball["mass_kg"]),
            moments=" ".join(repr(float(v)) for v in moments_kg_m2(ball)),
        )
    )
    data = mujoco.MjData(model)
    data.qpos[:2] = start.position_m
    data.qpos[2] = radius
    data.qpos[3:7] = start.orientation
    # The engine's free joint: the body origin's velocity in the world, the spin in the body.
    data.qvel[:2] = start.velocity_m_s
    data.qvel[3:6] = start.omega_body_rad_s
    end = float(case.get("lane_length_m", LANE_M))
    before = (0.0, 0.0, 0.0, 0.0, 0.0)
    while True:
        x, y = float(data.qpos[0]), float(data.qpos[1])
        now = (float(data.time), x, y, float(data.qvel[0]), float(data.qvel[1]))
        if x >= end:
            break
        before = now
        model.geom_friction[:, 0] = mu_at(x, y)
        mujoco.mj_step(model, data)
    share = (end - before[1]) / (now[1] - before[1])
    t, _, y, vx, vy = (a + share * (b - a) for a, b in zip(before, now, strict=True))
    return EngineShot(t, y, vx, vy)
