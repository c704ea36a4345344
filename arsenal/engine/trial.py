"""A throw whose end is known without the engine, to see whether the engine computes."""

from __future__ import annotations

import math

import numpy as np

from physics import friction, motion

# Of its speed a uniform ball that is thrown without spin keeps so much once it rolls, whatever the
# friction and the ball: Coriolis, Théorie mathématique des effets du jeu de billard (1835).
KEPT_ONCE_IT_ROLLS = 5 / 7
# Both ends of a throw are sums of some hundred steps, each good to 1e-10.
WITHIN = 1e-6


def computes() -> bool:
    """Whether that throw comes out as it must, by the reference solver. Takes a few
    milliseconds of a process that is warm."""
    radius_m, speed_m_s = 0.109, 8.0
    rg_m = math.sqrt(2 / 5) * radius_m
    shot = motion.deliver(
        mass_kg=6.8,
        radius_m=radius_m,
        principal_rg_m=(rg_m, rg_m, rg_m),
        position_m=(0.0, 0.0),
        velocity_m_s=(speed_m_s, 0.0),
        orientation=np.array([1.0, 0.0, 0.0, 0.0]),
        omega_body_rad_s=np.zeros(3),
        friction=friction.constant(0.2),
    )
    return abs(float(shot.end[3]) / speed_m_s - KEPT_ONCE_IT_ROLLS) < WITHIN
