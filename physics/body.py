"""The ball as a rigid body: undrilled from its label, drilled by taking real holes out of it.

Vectors are in the grip frame of :mod:`physics.layout` (over, up, out). Inside, lengths are metres
and masses kilograms; labels keep the trade's units in their names.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from physics.errors import InputError
from physics.layout import Layout, on_sphere, tangents
from physics.units import IN_TO_M, KG_TO_OZ, LB_TO_KG, M_TO_IN, OZ_TO_KG

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]


@dataclass(frozen=True)
class Label:
    """An undrilled ball: RG figures of its model and weight, and what its own label says.

    The centre of gravity lies ``pin_to_cg_in`` from the pin: on the pin-to-PSA line, or
    ``cg_off_line_in`` from that line, on a right-hander's ball to the right of somebody who looks
    along it. ``cg_over_in`` and ``cg_up_in`` say instead where its mark is in the grip frame.
    """

    weight_lb: float
    radius_in: float
    rg_low_in: float
    differential_in: float
    intermediate_differential_in: float
    top_weight_oz: float = 0.0
    pin_to_cg_in: float = 0.0
    cg_over_in: float | None = None
    cg_up_in: float | None = None
    cg_off_line_in: float = 0.0


@dataclass(frozen=True)
class Hole:
    """A flat-bottomed cylinder drilled from a surface point.

    Pitches are the distances by which its axis misses the ball's centre: forward towards the grip
    centre, lateral towards the PAP side. ``density_g_cm3`` is that of what is taken out, less that
    of what was put in its place. An oval hole is an ellipse across, ``longer_in`` its longer axis
    (0 for a round hole) and ``diameter_in`` its shorter; ``oval_angle_deg`` turns the longer one
    from straight up, its upper end to the PAP side.
    """

    over_in: float
    up_in: float
    diameter_in: float
    depth_in: float
    pitch_forward_in: float = 0.0
    pitch_lateral_in: float = 0.0
    density_g_cm3: float = 1.2
    longer_in: float = 0.0
    oval_angle_deg: float = 0.0

    @property
    def widest_in(self) -> float:
        """Its diameter, or an oval's longer axis."""
        return max(self.longer_in, self.diameter_in)


@dataclass(frozen=True)
class Body:
    """A drilled ball.

    ``principal_rg_m``: radii of gyration about the centre of mass, low, intermediate, high.
    ``principal_axes``: their directions as rows in the grip frame. Row 1 points to the pin's side,
    row 3 to the PSA's, and the three are right-handed on the physical ball, which makes their
    determinant in the mirrored grip frame of a left-hander −1.
    ``pap_body``: the PAP in the principal frame. ``cg_offset_m``: centre of mass from the
    geometric centre. ``static_oz``: first moment over radius as top, side (PAP), finger ounces.
    """

    mass_kg: float
    radius_m: float
    principal_rg_m: tuple[float, float, float]
    principal_axes: Matrix
    pap_body: Vector
    cg_offset_m: Vector
    static_oz: tuple[float, float, float]

    @property
    def centre_of_mass_m(self) -> tuple[float, float, float]:
        """Centre of mass from the geometric centre in the principal frame, for the solver."""
        one, two, three = (float(v) for v in self.principal_axes @ self.cg_offset_m)
        return one, two, three

    @property
    def differential_in(self) -> float:
        return (self.principal_rg_m[2] - self.principal_rg_m[0]) * M_TO_IN

    @property
    def intermediate_differential_in(self) -> float:
        return (self.principal_rg_m[2] - self.principal_rg_m[1]) * M_TO_IN

    def numbers(self) -> dict[str, Any]:
        """The drilled ball in the trade's units, keyed as the ``drill`` command prints it."""
        top, side, finger = self.static_oz
        return {
            "mass_kg": self.mass_kg,
            "principal_rg_in": [rg * M_TO_IN for rg in self.principal_rg_m],
            "differential_in": self.differential_in,
            "intermediate_differential_in": self.intermediate_differential_in,
            "principal_axes": self.principal_axes.tolist(),
            "pap_body": self.pap_body.tolist(),
            "cg_offset_mm": (self.cg_offset_m * 1000).tolist(),
            "centre_of_mass_m": list(self.centre_of_mass_m),
            "static_oz": {"top": top, "side": side, "finger": finger},
        }


def hole_axis(hole: Hole, radius_in: float, where: str = "hole") -> tuple[Vector, Vector]:
    """Surface point (unit vector) of a hole, and the unit vector along which it is drilled in."""
    surface = on_sphere(hole.over_in / radius_in, hole.up_in / radius_in)
    pitch = math.hypot(hole.pitch_forward_in, hole.pitch_lateral_in)
    if pitch == 0:
        return surface, -surface
    forward = np.array([0.0, 0.0, 1.0]) - surface[2] * surface
    length = float(np.linalg.norm(forward))
    if length < 1e-9:
        raise _pitch_error(
            hole,
            where,
            "0 for a hole at the grip centre: forward and lateral have no direction there",
        )
    if pitch >= radius_in:
        raise _pitch_error(hole, where, "pitches that together are shorter than the radius")
    forward /= length
    lateral = np.cross(surface, forward)
    if lateral[0] < -1e-12 or (abs(lateral[0]) <= 1e-12 and lateral[1] < 0):
        lateral = -lateral
    inward = -surface * math.sqrt(1 - (pitch / radius_in) ** 2)
    inward += (hole.pitch_forward_in * forward + hole.pitch_lateral_in * lateral) / radius_in
    return surface, inward


def _pitch_error(hole: Hole, where: str, allowed: str) -> InputError:
    """An error that names the larger of the two pitches."""
    name = (
        "pitch_forward_in"
        if abs(hole.pitch_forward_in) >= abs(hole.pitch_lateral_in)
        else "pitch_lateral_in"
    )
    return InputError(f"{where}.{name}", getattr(hole, name), allowed)


def oval_directions(hole: Hole, radius_in: float) -> tuple[Vector, Vector]:
    """An oval's longer and shorter directions, square to its axis and to one another."""
    surface, inward = hole_axis(hole, radius_in)
    up, away = tangents(surface)
    angle = math.radians(hole.oval_angle_deg)
    long = math.cos(angle) * up - math.sin(angle) * away
    long = long - float(long @ inward) * inward
    long /= np.linalg.norm(long)
    return long, np.cross(long, inward)


def oval_inertia(mass: float, radii: tuple[float, float], length: float, axes: Matrix) -> Matrix:
    """Inertia tensor of a uniform solid elliptic cylinder about its own centre.

    ``radii``: half its axes, in the directions of the first two rows of ``axes``; its length lies
    along the third. Standard form: m (b²/4 + L²/12), m (a²/4 + L²/12), m (a² + b²)/4.
    """
    a2, b2 = radii[0] ** 2 / 4, radii[1] ** 2 / 4
    l2 = length**2 / 12
    turned: Matrix = mass * axes.T @ np.diag([b2 + l2, a2 + l2, a2 + b2]) @ axes
    return turned


def cylinder_inertia(mass: float, radius: float, length: float, axis: Vector) -> Matrix:
    """Inertia tensor of a uniform solid cylinder about its own centre."""
    along = 0.5 * mass * radius**2
    across = mass * (3 * radius**2 + length**2) / 12
    return across * np.eye(3) + (along - across) * np.outer(axis, axis)


def point_inertia(mass: float, at: Vector) -> Matrix:
    """Inertia tensor of a point mass about the origin (the parallel-axis term)."""
    return mass * (float(at @ at) * np.eye(3) - np.outer(at, at))


def undrilled_rg_in(label: Label) -> tuple[float, float, float]:
    """Low, intermediate and high radius of gyration of the undrilled ball, inches."""
    high = label.rg_low_in + label.differential_in
    return label.rg_low_in, high - label.intermediate_differential_in, high


def undrilled_cg(label: Label, layout: Layout) -> Vector:
    """Unit vector towards the centre-of-gravity mark of the undrilled ball."""
    if label.cg_over_in is not None and label.cg_up_in is not None:
        return on_sphere(label.cg_over_in / label.radius_in, label.cg_up_in / label.radius_in)
    away = label.pin_to_cg_in / label.radius_in
    # Napier's rule in the triangle of pin, CG and the line's foot: sin(off) = sin(away) sin(turn).
    sine = math.sin(label.cg_off_line_in / label.radius_in)
    if abs(sine) > math.sin(away) + 1e-12:
        raise InputError(
            "label.cg_off_line_in",
            label.cg_off_line_in,
            f"no more than the CG lies from the pin, {label.pin_to_cg_in:.2f} in: measure both "
            "from the same CG mark",
        )
    turn = math.asin(max(-1.0, min(1.0, sine / math.sin(away)))) if sine else 0.0
    right = np.cross(layout.psa, layout.pin)
    towards = math.cos(turn) * layout.psa + math.sin(turn) * right
    return np.asarray(math.cos(away) * layout.pin + math.sin(away) * towards)


def drill(label: Label, layout: Layout, holes: Sequence[Hole], hand: str = "right") -> Body:
    """Take the holes out of the ball and find the principal axes of what is left.

    Raises :class:`InputError` naming the hole that can't be drilled.
    """
    return drill_many(label, [layout], holes, hand)[0]


def drill_many(
    label: Label, layouts: Sequence[Layout], holes: Sequence[Hole], hand: str = "right"
) -> list[Body]:
    """:func:`drill` in each of several layouts, all with the same holes.

    Mass, first moment and inertia about the geometric centre are those of the undrilled ball less
    those of the holes, which lie in the grip frame whatever the layout; each tensor is then moved
    to the new centre of mass and diagonalised. Raises :class:`InputError` if any can't be drilled.
    """
    if not layouts:
        return []
    radius = label.radius_in * IN_TO_M
    whole = label.weight_lb * LB_TO_KG
    taken, taken_moment, taken_inertia = _taken_out(label, holes)
    mass = whole - taken
    pins, psas = (np.array([getattr(one, name) for one in layouts]) for name in ("pin", "psa"))
    axes = np.stack([pins, np.cross(psas, pins), psas], axis=1)
    squares = np.array([(rg * IN_TO_M) ** 2 for rg in undrilled_rg_in(label)])
    towards = np.array([undrilled_cg(label, one) for one in layouts])
    moment = label.top_weight_oz * OZ_TO_KG * radius * towards
    # RG figures are about the ball's own centre of mass: bring the tensor to the geometric centre.
    inertia = np.einsum("nki,k,nkj->nij", axes, whole * squares, axes)
    inertia += _points_inertia(whole, moment / whole) - taken_inertia
    moment -= taken_moment
    offset = moment / mass
    inertia -= _points_inertia(mass, offset)
    moments, directions = np.linalg.eigh(inertia)
    if (moments[:, 0] <= 0).any() or (moments[:, 0] + moments[:, 1] < moments[:, 2]).any():
        raise InputError(
            "holes", len(holes), "holes that leave a ball with real moments of inertia"
        )
    rgs = np.sqrt(moments / mass)
    rows = _sign_axes(np.swapaxes(directions, 1, 2), pins, psas, hand)
    paps = np.einsum("nij,nj->ni", rows, np.array([one.pap for one in layouts]))
    static_oz = moment / radius * KG_TO_OZ
    return [
        Body(
            mass_kg=mass,
            radius_m=radius,
            principal_rg_m=(low, middle, high),
            principal_axes=rows[n],
            pap_body=paps[n],
            cg_offset_m=offset[n],
            static_oz=(top, side, finger),
        )
        for n, ((low, middle, high), (side, finger, top)) in enumerate(
            zip(rgs.tolist(), static_oz.tolist(), strict=True)
        )
    ]


def _taken_out(label: Label, holes: Sequence[Hole]) -> tuple[float, Vector, Matrix]:
    """Mass, first moment and inertia about the geometric centre of what holes take out."""
    radius = label.radius_in * IN_TO_M
    mass, moment, inertia = 0.0, np.zeros(3), np.zeros((3, 3))
    for i, hole in enumerate(holes):
        surface, inward = hole_axis(hole, label.radius_in, f"holes[{i}]")
        depth, hole_radius = hole.depth_in * IN_TO_M, hole.diameter_in * IN_TO_M / 2
        longer = (hole.longer_in * IN_TO_M / 2) or hole_radius
        taken = hole.density_g_cm3 * 1000 * math.pi * longer * hole_radius * depth
        centre = radius * surface + depth / 2 * inward
        mass += taken
        moment += taken * centre
        if hole.longer_in:
            across = np.array([*oval_directions(hole, label.radius_in), inward])
            inertia += oval_inertia(taken, (longer, hole_radius), depth, across)
        else:
            inertia += cylinder_inertia(taken, hole_radius, depth, inward)
        inertia += point_inertia(taken, centre)
        if mass >= label.weight_lb * LB_TO_KG:
            raise InputError(f"holes[{i}].depth_in", hole.depth_in, "holes lighter than the ball")
    return mass, moment, inertia


def _points_inertia(mass: float, at: Matrix) -> Matrix:
    """:func:`point_inertia` at each of several places (rows)."""
    squares = (at * at).sum(axis=1)
    apart: Matrix = squares[:, None, None] * np.eye(3) - at[:, :, None] * at[:, None, :]
    return mass * apart


def _sign_axes(rows: Matrix, pins: Matrix, psas: Matrix, hand: str) -> Matrix:
    first, third = rows[:, 0], rows[:, 2]
    first = first * np.where((first * pins).sum(axis=1) < 0, -1.0, 1.0)[:, None]
    third = third * np.where((third * psas).sum(axis=1) < 0, -1.0, 1.0)[:, None]
    second = np.cross(third, first) * (1.0 if hand == "right" else -1.0)
    return np.stack([first, second, third], axis=1)
