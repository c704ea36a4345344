"""Layouts: one placing of pin and PSA on the ball, under each of its names.

Grip frame, for either hand: axis 1 towards the PAP side ("over"), axis 2 up towards the fingers,
axis 3 out of the ball at the grip centre. Over is positive towards the PAP for both hands, so the
numbers of a left-hander's layout are those of a right-hander's; only the physical ball is its
mirror image. Arc lengths are inches on the surface; angle = arc / radius.

Sources: vectors and closed forms of spherical trigonometry; definitions of the angles are those
of the trade (drilling angle at the pin, VAL angle at the PAP).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from physics.errors import InputError

Vector = NDArray[np.float64]
TINY = 1e-9


def on_sphere(over_rad: float, up_rad: float) -> Vector:
    """Unit vector of the point so far over along the midline, then up at right angles to it."""
    return np.array(
        [
            math.cos(up_rad) * math.sin(over_rad),
            math.sin(up_rad),
            math.cos(up_rad) * math.cos(over_rad),
        ]
    )


def over_up_rad(point: Vector) -> tuple[float, float]:
    """Inverse of :func:`on_sphere`; over is 0 by choice at the poles of the up axis."""
    over = math.atan2(point[0], point[2]) if math.hypot(point[0], point[2]) > TINY else 0.0
    return over, math.asin(max(-1.0, min(1.0, float(point[1]))))


@dataclass(frozen=True)
class Layout:
    """Pin and PSA of one ball as unit vectors in the grip frame, with the PAP they refer to.

    ``radius_in`` turns angles into the trade's inches. Pin and PSA are at right angles.
    """

    pap: Vector
    pin: Vector
    psa: Vector
    radius_in: float

    @property
    def pin_to_pap_in(self) -> float:
        return self.radius_in * _angle(self.pin, self.pap)

    @property
    def psa_to_pap_in(self) -> float:
        return self.radius_in * _angle(self.psa, self.pap)

    @property
    def pin_buffer_in(self) -> float:
        """Distance of the pin from the VAL, positive on the grip side of it."""
        return self.radius_in * math.asin(_unit(float(self.pin @ tangents(self.pap)[1])))

    @property
    def val_angle_deg(self) -> float:
        """Angle at the PAP from the VAL's upper half to the pin, positive towards the grip."""
        up, grip = tangents(self.pap)
        return math.degrees(math.atan2(float(self.pin @ grip), float(self.pin @ up)))

    @property
    def drilling_angle_deg(self) -> float:
        """Angle at the pin from the pin-to-PAP line to the pin-to-PSA line, clockwise from outside
        for a right-hander."""
        towards_pap = self.pap - float(self.pap @ self.pin) * self.pin
        towards_pap /= np.linalg.norm(towards_pap)
        return math.degrees(
            math.atan2(
                -float(self.psa @ np.cross(self.pin, towards_pap)), float(self.psa @ towards_pap)
            )
        )

    def numbers(self) -> dict[str, float]:
        """Every notation's numbers, keyed as the ``layout`` command prints them."""
        pin_over, pin_up = over_up_rad(self.pin)
        psa_over, psa_up = over_up_rad(self.psa)
        return {
            "drilling_angle_deg": self.drilling_angle_deg,
            "pin_to_pap_in": self.pin_to_pap_in,
            "val_angle_deg": self.val_angle_deg,
            "pin_over_in": pin_over * self.radius_in,
            "pin_up_in": pin_up * self.radius_in,
            "pin_buffer_in": self.pin_buffer_in,
            "psa_to_pap_in": self.psa_to_pap_in,
            "psa_over_in": psa_over * self.radius_in,
            "psa_up_in": psa_up * self.radius_in,
        }


def from_angles(
    pap: Vector,
    drilling_angle_deg: float,
    pin_to_pap_in: float,
    val_angle_deg: float,
    radius_in: float,
) -> Layout:
    """Layout from drilling angle, pin-to-PAP distance and VAL angle."""
    distance = pin_to_pap_in / radius_in
    if not TINY < distance < math.pi - TINY:
        raise InputError(
            "layout.pin_to_pap_in",
            pin_to_pap_in,
            "more than 0 and less than half a circumference: with the pin on the PAP the "
            "drilling and VAL angles mean nothing; use the read-off notation",
        )
    up, grip = tangents(pap)
    val = math.radians(val_angle_deg)
    pin = math.cos(distance) * pap + math.sin(distance) * (
        math.cos(val) * up + math.sin(val) * grip
    )
    towards_pap = (pap - math.cos(distance) * pin) / math.sin(distance)
    drilling = math.radians(drilling_angle_deg)
    psa = math.cos(drilling) * towards_pap - math.sin(drilling) * np.cross(pin, towards_pap)
    return Layout(pap, pin, psa, radius_in)


def from_buffer(
    pap: Vector,
    pin_to_pap_in: float,
    psa_to_pap_in: float,
    pin_buffer_in: float,
    val_branch: str,
    radius_in: float,
) -> Layout:
    """Layout from pin-to-PAP, PSA-to-PAP and pin buffer.

    Two VAL angles share a buffer, V and 180° − V, so ``val_branch`` ("below_90" or "above_90") is
    asked for, never chosen. The drilling angle is taken in 0–180°.
    """
    if val_branch not in ("below_90", "above_90"):
        raise InputError("layout.val_branch", val_branch, '"below_90" or "above_90"')
    distance = pin_to_pap_in / radius_in
    sine = math.sin(distance)
    if not TINY < distance < math.pi - TINY:
        raise InputError(
            "layout.pin_to_pap_in", pin_to_pap_in, "more than 0 and less than half a circumference"
        )
    cos_drilling = math.cos(psa_to_pap_in / radius_in) / sine
    if abs(cos_drilling) > 1 + TINY:
        raise InputError(
            "layout.psa_to_pap_in",
            psa_to_pap_in,
            "a PSA-to-PAP distance this pin-to-PAP distance allows: from "
            f"{radius_in * math.acos(_unit(sine)):.3f} to "
            f"{radius_in * math.acos(-_unit(sine)):.3f} in",
        )
    sin_val = math.sin(pin_buffer_in / radius_in) / sine
    if abs(pin_buffer_in) / radius_in > math.pi / 2 + TINY or abs(sin_val) > 1 + TINY:
        limit = radius_in * math.asin(_unit(sine))
        raise InputError(
            "layout.pin_buffer_in",
            pin_buffer_in,
            "a pin buffer no longer than this pin-to-PAP distance allows: "
            f"from {-limit:.3f} to {limit:.3f} in",
        )
    val = math.degrees(math.asin(_unit(sin_val)))
    if val_branch == "above_90":
        val = 180 - val
    drilling = math.degrees(math.acos(_unit(cos_drilling)))
    return from_angles(pap, drilling, pin_to_pap_in, val, radius_in)


def read_off(
    pap: Vector,
    pin_over_in: float,
    pin_up_in: float,
    psa_over_in: float,
    psa_up_in: float,
    radius_in: float,
) -> Layout:
    """Layout read off a drilled ball as over and up of its pin and PSA marks.

    Marks are never at exactly 90°: the PSA is moved along the pin-to-PSA great circle to the
    quarter circumference. Marks further than 1.5 in from there (the tolerance the US governing
    body allows for the mark) are refused.
    """
    pin = on_sphere(pin_over_in / radius_in, pin_up_in / radius_in)
    psa = on_sphere(psa_over_in / radius_in, psa_up_in / radius_in)
    off_in = radius_in * abs(_angle(pin, psa) - math.pi / 2)
    if off_in > 1.5 + 1e-6:
        raise InputError(
            "layout.psa_over_in",
            psa_over_in,
            "a PSA mark within 1.5 in of a quarter circumference from the pin "
            f"(these marks are off by {off_in:.2f} in); read both marks again",
        )
    psa = psa - float(psa @ pin) * pin
    psa /= np.linalg.norm(psa)
    if _angle(pin, pap) < TINY:
        raise InputError(
            "layout.pin_over_in",
            pin_over_in,
            "a pin away from the PAP: with the pin on the PAP drilling and VAL angles mean nothing",
        )
    return Layout(pap, pin, psa, radius_in)


def tangents(at: Vector) -> tuple[Vector, Vector]:
    """Unit tangents at a point: up at right angles to the midline (at the PAP along the VAL), and
    at right angles to that in the direction of falling over, which is to the grip."""
    over, up = over_up_rad(at)
    along = np.array([-math.sin(up) * math.sin(over), math.cos(up), -math.sin(up) * math.cos(over)])
    return along, np.array([-math.cos(over), 0.0, math.sin(over)])


def _angle(a: Vector, b: Vector) -> float:
    # atan2 keeps its precision where acos of a dot product near 1 loses half the digits.
    return math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b))


def _unit(value: float) -> float:
    return max(-1.0, min(1.0, value))
