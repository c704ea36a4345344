"""Cases the checks share: plain balls, random bodies on random friction, and reference tables."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

IN_TO_M = 0.0254
REFERENCE = Path(__file__).parent / "reference"


def reference(name: str) -> dict[str, Any]:
    """A reference table by the name of its file."""
    table: dict[str, Any] = json.loads((REFERENCE / f"{name}.json").read_text(encoding="utf-8"))
    return table


def uniform_ball(beta: float, radius_m: float = 0.108, mass_kg: float = 6.8) -> dict[str, Any]:
    """A ball with one moment of inertia, beta m R^2 about every axis."""
    rg = radius_m * beta**0.5
    return {"mass_kg": mass_kg, "radius_m": radius_m, "principal_rg_m": [rg, rg, rg]}


def spinning(
    position_m: tuple[float, float],
    velocity_m_s: tuple[float, float],
    omega_rad_s: tuple[float, float, float],
) -> dict[str, Any]:
    """A raw release with the body frame along the lane frame."""
    return {
        "position_m": list(position_m),
        "velocity_m_s": list(velocity_m_s),
        "orientation": [1.0, 0.0, 0.0, 0.0],
        "omega_body_rad_s": list(omega_rad_s),
    }


def bowlers_numbers(**changed: Any) -> dict[str, Any]:
    """A plain delivery of a right-hander or left-hander; any number can be changed."""
    return {
        "position_m": [0.0, 0.0],
        "speed_m_s": 7.8,
        "launch_deg": 1.5,
        "rev_rate_rpm": 330.0,
        "axis_rotation_deg": 48.0,
        "axis_tilt_deg": 14.0,
        "pap_body": [0.64, 0.48, 0.6],
        **changed,
    }


def random_ball(rng: np.random.Generator) -> dict[str, Any]:
    """Any body inside the rule book's ranges and a little past them (differential to 0.08 in)."""
    low = rng.uniform(2.43, 2.75)
    total = rng.uniform(0.005, 0.08)
    rg = [low, low + total * rng.uniform(0.0, 1.0), low + total]
    return {
        "mass_kg": rng.uniform(3.0, 7.26),
        "radius_m": rng.uniform(4.25, 4.2975) * IN_TO_M,
        "principal_rg_m": [value * IN_TO_M for value in rg],
    }


def random_friction(rng: np.random.Generator, kind: str) -> dict[str, Any]:
    """Friction that varies strongly: constant, in zones with jumps, or a rough grid."""
    if kind == "constant":
        return {"type": "constant", "mu": rng.uniform(0.06, 0.25)}
    if kind == "zones":
        until = np.sort(rng.uniform(2.0, 16.0, size=4))
        return {
            "type": "zones",
            "until_m": until.tolist(),
            "mu": rng.uniform(0.01, 0.3, size=5).tolist(),
        }
    xs = np.concatenate([[0.0], np.sort(rng.uniform(0.5, 18.0, size=9)), [18.5]])
    ys = np.linspace(-0.6, 0.6, 8)
    return {
        "type": "grid",
        "x_m": xs.tolist(),
        "y_m": ys.tolist(),
        "mu": rng.uniform(0.01, 0.3, size=(len(xs), len(ys))).tolist(),
    }


def random_raw_release(rng: np.random.Generator) -> dict[str, Any]:
    """Any attitude and any spin to 55 rad/s, backspin and side spin included."""
    attitude = rng.normal(size=4)
    axis = rng.normal(size=3)
    spin = rng.uniform(15.0, 55.0)
    return {
        "position_m": [0.0, rng.uniform(-0.3, 0.3)],
        "velocity_m_s": [rng.uniform(6.5, 9.5), rng.uniform(-0.4, 0.4)],
        "orientation": (attitude / np.linalg.norm(attitude)).tolist(),
        "omega_body_rad_s": (spin * axis / np.linalg.norm(axis)).tolist(),
    }


def random_bowler(rng: np.random.Generator) -> dict[str, Any]:
    """A human delivery within the ranges a fitting accepts."""
    pap = rng.normal(size=3)
    return {
        "position_m": [0.0, rng.uniform(-0.3, 0.3)],
        "speed_m_s": rng.uniform(6.3, 9.2),
        "launch_deg": rng.uniform(-1.0, 4.0),
        "rev_rate_rpm": rng.uniform(120.0, 520.0),
        "axis_rotation_deg": rng.uniform(5.0, 85.0),
        "axis_tilt_deg": rng.uniform(0.0, 35.0),
        "pap_body": (pap / np.linalg.norm(pap)).tolist(),
        "spin_phase_deg": rng.uniform(0.0, 360.0),
    }
