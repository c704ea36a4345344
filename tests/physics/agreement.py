"""Rung 4 as rows: the reference solver against two independent ones on the same shots.

SciPy (DOP853, relative tolerance 1e-10, transitions found as events) on equations written apart
from the package, and MuJoCo, a rigid-body engine that knows no bowling at all. :func:`rows` is what
a page or a test shows of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from physics.cases import shot
from physics.units import BOARD_M
from tests.physics import referee_engine, referee_motion, referee_unbalanced
from tests.physics.balls_and_lanes import bowlers_numbers

SCIPY, ENGINE = "SciPy", "MuJoCo"
SYMMETRIC = {"mass_kg": 6.8, "radius_m": 0.1088, "principal_rg_m": [0.0635, 0.0647, 0.0647]}
ASYMMETRIC = {"mass_kg": 6.5, "radius_m": 0.1086, "principal_rg_m": [0.0630, 0.0636, 0.0643]}
# Along the PAP of these releases, where it counts: the part across the axis averages out.
UNBALANCED = {**ASYMMETRIC, "centre_of_mass_m": [0.00064, 0.00048, 0.0006]}
ONE_FRICTION = {"type": "constant", "mu": 0.12}
OILED_THEN_DRY = {"type": "zones", "until_m": [12.0], "mu": [0.04, 0.20]}
STRONG = bowlers_numbers(rev_rate_rpm=450.0, axis_rotation_deg=60.0, launch_deg=3.0)

SHOTS: dict[str, dict[str, Any]] = {
    "symmetric, one friction": {
        "ball": SYMMETRIC,
        "release": bowlers_numbers(),
        "friction": ONE_FRICTION,
    },
    "symmetric, oiled then dry": {
        "ball": SYMMETRIC,
        "release": bowlers_numbers(),
        "friction": OILED_THEN_DRY,
    },
    "asymmetric, many revs, oiled then dry": {
        "ball": ASYMMETRIC,
        "release": STRONG,
        "friction": OILED_THEN_DRY,
    },
    "asymmetric, left-hander, one friction": {
        "ball": ASYMMETRIC,
        "release": bowlers_numbers(),
        "friction": ONE_FRICTION,
        "hand": "left",
    },
    "mass 1 mm off the centre, one friction": {
        "ball": UNBALANCED,
        "release": bowlers_numbers(),
        "friction": {"type": "constant", "mu": 0.2},
    },
    "mass 1 mm off the centre, oiled then dry": {
        "ball": UNBALANCED,
        "release": bowlers_numbers(),
        "friction": OILED_THEN_DRY,
    },
}


@dataclass(frozen=True)
class Row:
    """How far the reference solver ends from another: boards and m/s sideways, s at the pins."""

    shot: str
    solver: str
    boards: float
    sideways_m_s: float
    seconds: float


def by_scipy(case: dict[str, Any]) -> tuple[float, float, float]:
    """Time, offset and sideways speed at the pins."""
    if "centre_of_mass_m" in case["ball"]:
        end = referee_unbalanced.play(case, rtol=1e-10).end
        return float(end[0]), float(end[2]), float(end[4])
    balanced = referee_motion.play(case, rtol=1e-10).end
    return balanced["t_s"], balanced["y_m"], balanced["vy_m_s"]


def by_engine(case: dict[str, Any]) -> tuple[float, float, float]:
    found = referee_engine.play(case)
    return found.t_s, found.y_m, found.vy_m_s


SOLVERS: dict[str, Callable[[dict[str, Any]], tuple[float, float, float]]] = {
    SCIPY: by_scipy,
    ENGINE: by_engine,
}


def row(name: str, solver: str) -> Row:
    case = SHOTS[name]
    end = shot(case)["end"]
    t, y, vy = SOLVERS[solver](case)
    return Row(name, solver, (end["y_m"] - y) / BOARD_M, end["vy_m_s"] - vy, end["t_s"] - t)


def rows() -> Iterator[Row]:
    """Every shot with every solver."""
    for name in SHOTS:
        for solver in SOLVERS:
            yield row(name, solver)
