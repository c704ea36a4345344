"""Layouts and drilled balls worked out apart from the package, for the checks alone.

Layout points are vectors in the grip frame (over towards the PAP, up towards the fingers, out at
the grip centre); inches on the surface are angles times the radius. A drilled ball is found by
adding up small pieces of each cylinder instead of by formulas for a cylinder.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LB_TO_OZ = 16.0
OZ_TO_KG = 0.45359237 / 16
IN_TO_M = 0.0254
IN3_TO_CM3 = 16.387064


def point(over_in: float, up_in: float, radius_in: float) -> Array:
    """The point over along the midline, then up at right angles to it."""
    a, b = over_in / radius_in, up_in / radius_in
    return np.array([math.cos(b) * math.sin(a), math.sin(b), math.cos(b) * math.cos(a)])


def over_up_in(p: Array, radius_in: float) -> tuple[float, float]:
    up = math.asin(max(-1.0, min(1.0, float(p[1]))))
    return radius_in * math.atan2(float(p[0]), float(p[2])), radius_in * up


def arc_in(p: Array, q: Array, radius_in: float) -> float:
    """Distance on the surface, by the half chord so that it holds near 0 and half round."""
    return radius_in * 2 * math.atan2(float(np.linalg.norm(p - q)), float(np.linalg.norm(p + q)))


def marks(
    pap_over_in: float,
    pap_up_in: float,
    drilling_deg: float,
    pin_to_pap_in: float,
    val_deg: float,
    radius_in: float,
) -> tuple[Array, Array, Array]:
    """PAP, pin and PSA of a layout by its angles, walking great circles by rotation.

    From the PAP turn from the VAL's upper half by the VAL angle towards the grip and walk to the
    pin; there turn from the way back to the PAP by the drilling angle, clockwise seen from outside
    on a right-hander's ball, and walk a quarter round to the PSA.
    """
    pap = point(pap_over_in, pap_up_in, radius_in)
    north = np.array([0.0, 1.0, 0.0])
    up = north - (north @ pap) * pap
    up /= np.linalg.norm(up)
    # Counter-clockwise seen from outside (the grip lies to the PAP's left).
    heading = turn(up, pap, val_deg)
    pin = walk(pap, heading, pin_to_pap_in / radius_in)
    back = -walk_heading(pap, heading, pin_to_pap_in / radius_in)
    psa = walk(pin, turn(back, pin, -drilling_deg), math.pi / 2)
    return pap, pin, psa


def turn(direction: Array, about: Array, angle_deg: float) -> Array:
    """A tangent turned counter-clockwise seen from outside."""
    angle = math.radians(angle_deg)
    turned: Array = math.cos(angle) * direction + math.sin(angle) * np.cross(about, direction)
    return turned


def walk(start: Array, heading: Array, angle: float) -> Array:
    there: Array = math.cos(angle) * start + math.sin(angle) * heading
    return there


def walk_heading(start: Array, heading: Array, angle: float) -> Array:
    onwards: Array = math.cos(angle) * heading - math.sin(angle) * start
    return onwards


@dataclass(frozen=True)
class DrilledBall:
    """Mass (kg), centre of mass (in), RGs (in), principal axes as rows, first moment (oz in)."""

    mass_kg: float
    centre_in: Array
    rg_in: Array
    axes: Array
    inertia_kg_in2: Array
    moment_oz_in: Array


def hole_pieces(hole: dict[str, float], radius_in: float) -> tuple[Array, Array]:
    """Masses (kg) and places (in) of small pieces of a flat-bottomed cylinder, round or oval.

    Gauss points along the depth and in the square of the radius, equal steps round: moments to the
    second order come out exactly.
    """
    n = point(hole["over_in"], hole["up_in"], radius_in)
    grip = np.array([0.0, 0.0, 1.0])
    forward = grip - (grip @ n) * n
    length = float(np.linalg.norm(forward))
    pitch = math.hypot(hole["pitch_forward_in"], hole["pitch_lateral_in"])
    axis = -n * math.sqrt(1 - (pitch / radius_in) ** 2)
    if length > 1e-9:
        forward /= length
        lateral = np.cross(n, forward)
        if lateral[0] < -1e-12 or (abs(lateral[0]) < 1e-12 and lateral[1] < 0):
            lateral = -lateral
        axis = (
            axis
            + (hole["pitch_forward_in"] * forward + hole["pitch_lateral_in"] * lateral) / radius_in
        )
    stretch = 1.0
    if hole.get("longer_in"):
        # Straight up where its middle meets the surface, the upper end turned to the PAP's side.
        turned = math.radians(hole["oval_angle_deg"])
        over, up = hole["over_in"] / radius_in, hole["up_in"] / radius_in
        east = np.array([math.cos(over), 0.0, -math.sin(over)])
        north = np.array(
            [-math.sin(up) * math.sin(over), math.cos(up), -math.sin(up) * math.cos(over)]
        )
        side = math.cos(turned) * north + math.sin(turned) * east
        side = side - (side @ axis) * axis
        stretch = hole["longer_in"] / hole["diameter_in"]
    else:
        side = np.cross(axis, [0.3, -0.5, 0.81])
    side /= np.linalg.norm(side)
    other = np.cross(axis, side)
    nodes, weights = np.polynomial.legendre.leggauss(4)
    bore, depth = hole["diameter_in"] / 2, hole["depth_in"]
    volume = math.pi * bore**2 * stretch * depth
    mass = volume * IN3_TO_CM3 * hole["density_g_cm3"] / 1000
    masses, places = [], []
    rounds = 12
    for z, wz in zip((nodes + 1) / 2, weights / 2, strict=True):
        for q, wq in zip((nodes + 1) / 2, weights / 2, strict=True):
            for k in range(rounds):
                angle = 2 * math.pi * k / rounds
                out = bore * math.sqrt(q)
                places.append(
                    radius_in * n
                    + depth * z * axis
                    + out * (stretch * math.cos(angle) * side + math.sin(angle) * other)
                )
                masses.append(mass * wz * wq / rounds)
    return np.array(masses), np.array(places)


def inertia_of(masses: Array, places: Array) -> Array:
    square = (masses[:, None, None] * places[:, :, None] * places[:, None, :]).sum(axis=0)
    tensor: Array = np.trace(square) * np.eye(3) - square
    return tensor


def drilled(case: dict[str, Any], pin: Array, psa: Array) -> DrilledBall:
    """The drilled ball of a `drill` case whose pin and PSA are known."""
    ball = case["ball"]
    radius = float(ball["radius_in"])
    mass = ball["weight_lb"] * 0.45359237
    low = ball["rg_low_in"]
    high = low + ball["differential_in"]
    rgs = np.array([low, high - ball["intermediate_differential_in"], high])
    frame = np.array([pin, np.cross(psa, pin), psa])
    if "cg_over_in" in ball:
        mark = point(ball["cg_over_in"], ball["cg_up_in"], radius)
    else:
        along = ball["pin_to_cg_in"] / radius
        mark = math.cos(along) * pin + math.sin(along) * psa
    moment = ball["top_weight_oz"] * OZ_TO_KG * radius * mark
    centre = moment / mass
    # The label's RGs are about the ball's own centre of mass.
    tensor = mass * frame.T @ np.diag(rgs**2) @ frame
    tensor = tensor + inertia_of(np.array([mass]), centre[None, :])
    for hole in case["holes"]:
        masses, places = hole_pieces(hole, radius)
        mass -= float(masses.sum())
        moment = moment - masses @ places
        tensor = tensor - inertia_of(masses, places)
    centre = moment / mass
    tensor = tensor - inertia_of(np.array([mass]), centre[None, :])
    values, vectors = np.linalg.eigh(tensor)
    return DrilledBall(
        mass_kg=mass,
        centre_in=centre,
        rg_in=np.sqrt(values / mass),
        axes=vectors.T,
        inertia_kg_in2=tensor,
        moment_oz_in=moment / OZ_TO_KG,
    )
