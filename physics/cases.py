"""The package's front door: one JSON-like case in, one JSON-like result out.

Each function checks every field it is given and refuses those it doesn't know, so that a typing
error never becomes a default. Errors are :class:`physics.errors.InputError`.
"""

import itertools
import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from physics import body as bodies
from physics import friction, motion, release
from physics import layout as layouts
from physics.cases_measure import measure
from physics.errors import InputError
from physics.fields import Fields, checked_list
from physics.units import (
    FOUL_LINE_TO_HEAD_PIN_M,
    RPM_TO_RAD_S,
    STANDARD_GRAVITY_M_S2,
)

# A centre of mass further out than this is a typing error: rules allow under a millimetre.
MOST_OFFSET_M = 0.02

MISSING_LAYOUT = (
    "one of {drilling_angle_deg, pin_to_pap_in, val_angle_deg}, "
    "{pin_to_pap_in, psa_to_pap_in, pin_buffer_in, val_branch}, "
    "{pin_over_in, pin_up_in, psa_over_in, psa_up_in}"
)


def layout(case: Mapping[str, Any]) -> dict[str, float]:
    """``layout``: one notation in, all of them out."""
    fields = Fields(case)
    circumference = fields.number("ball_circumference_in", 27.0, low=20.0, high=30.0)
    _hand(fields)
    found = _layout(fields, circumference / (2 * math.pi))
    fields.done()
    return found.numbers()


def drill(case: Mapping[str, Any]) -> dict[str, Any]:
    """``drill``: label, layout and holes in; drilled mass properties and statics out."""
    fields = Fields(case)
    label = _label(fields.child("ball"))
    hand = _hand(fields)
    placed = _layout(fields, label.radius_in)
    holes = [_hole(child, label.radius_in) for child in fields.children("holes")]
    fields.done()
    return bodies.drill(label, placed, holes, hand).numbers()


def shot(case: Mapping[str, Any]) -> dict[str, Any]:
    """``shot``: ball, release and friction in; the end, the first rolling and samples out.

    Lane frame: x down-lane, y left whatever the hand; the origin of y is that of the caller's grid.
    ``ball.centre_of_mass_m``, if given, is that of the centre of mass from the geometric centre in
    the principal frame (the axes of the moments, which are about the centre of mass). Positions
    and velocities are the geometric centre's, angular momentum is about the centre of mass.
    """
    fields = Fields(case)
    hand = _hand(fields)
    ball = fields.child("ball")
    mass = ball.number("mass_kg", above=0.0, high=20.0)
    radius = ball.number("radius_m", low=0.05, high=0.2)
    rg = _principal_rg(ball)
    offset = _centre_of_mass(ball)
    ball.done()
    start = _release(fields.child("release"), [mass * k * k for k in rg], hand)
    times = fields.numbers("sample_times_s", low=0.0) if fields.has("sample_times_s") else []
    lane = _friction(fields.child("friction"))
    length = fields.number("lane_length_m", FOUL_LINE_TO_HEAD_PIN_M, above=start[0][0], high=100.0)
    gravity = fields.number("gravity_m_s2", STANDARD_GRAVITY_M_S2, above=0.0, high=100.0)
    fields.done()
    result = motion.deliver(
        mass_kg=mass,
        radius_m=radius,
        principal_rg_m=rg,
        position_m=start[0],
        velocity_m_s=start[1],
        orientation=start[2],
        omega_body_rad_s=start[3],
        friction=lane,
        lane_length_m=length,
        gravity_m_s2=gravity,
        sample_times_s=np.array(times),
        centre_of_mass_m=offset,
    )
    roll = result.roll
    return {
        "end": _moment(result.end),
        "roll": None if roll is None else {"t_s": roll[0], "x_m": roll[1], "y_m": roll[2]},
        "reached": result.reached,
        "samples": [None if np.isnan(row[0]) else _moment(row) for row in result.samples],
    }


def _moment(row: Any) -> dict[str, Any]:
    names = ("t_s", "x_m", "y_m", "vx_m_s", "vy_m_s")
    values = [float(v) for v in row]
    return {
        **dict(zip(names, values[:5], strict=True)),
        "orientation": values[5:9],
        "omega_body_rad_s": values[9:12],
        "angular_momentum_lane": values[12:15],
    }


def _principal_rg(ball: Fields) -> tuple[float, float, float]:
    low, middle, high = ball.numbers("principal_rg_m", count=3, low=1e-6, high=1.0)
    if not low <= middle <= high:
        raise InputError(
            ball.name("principal_rg_m"), [low, middle, high], "low, intermediate, high in order"
        )
    if low**2 + middle**2 < high**2 * (1 - 1e-12):
        raise InputError(
            ball.name("principal_rg_m"),
            [low, middle, high],
            "moments no larger than the sum of the other two (no real body has such a high RG)",
        )
    return low, middle, high


def _centre_of_mass(ball: Fields) -> tuple[float, float, float]:
    if not ball.has("centre_of_mass_m"):
        return 0.0, 0.0, 0.0
    one, two, three = ball.numbers(
        "centre_of_mass_m", count=3, low=-MOST_OFFSET_M, high=MOST_OFFSET_M
    )
    return one, two, three


def _release(given: Fields, inertia: list[float], hand: str) -> tuple[Any, Any, Any, Any]:
    """Position, velocity, orientation and body spin, from either form of a release."""
    x, y = given.numbers("position_m", count=2, low=-100.0, high=100.0)
    if given.has("velocity_m_s") or given.has("orientation") or given.has("omega_body_rad_s"):
        vx, vy = given.numbers("velocity_m_s", count=2, low=-100.0, high=100.0)
        orientation = np.array(given.numbers("orientation", count=4, low=-2.0, high=2.0))
        if abs(float(np.linalg.norm(orientation)) - 1) > 1e-3:
            raise InputError(
                given.name("orientation"), orientation.tolist(), "a unit quaternion [w, x, y, z]"
            )
        omega = np.array(given.numbers("omega_body_rad_s", count=3, low=-1000.0, high=1000.0))
        return given.done(((x, y), (vx, vy), orientation, omega))
    speed = given.number("speed_m_s", above=0.0, high=100.0)
    launch = given.number("launch_deg", low=-89.0, high=89.0)
    direction = release.spin_direction(
        given.number("axis_rotation_deg", low=-180.0, high=180.0),
        given.number("axis_tilt_deg", low=-90.0, high=90.0),
        launch,
        hand,
    )
    pap = release.unit_pap(
        given.numbers("pap_body", count=3, low=-1.1, high=1.1), given.name("pap_body")
    )
    orientation, omega = release.orientation_and_spin(
        inertia=inertia,
        pap_body=pap,
        direction=direction,
        rev_rate_rad_s=given.number("rev_rate_rpm", low=0.0, high=5000.0) * RPM_TO_RAD_S,
        spin_phase_deg=given.number("spin_phase_deg", 0.0, low=-360.0, high=360.0),
        hand=hand,
    )
    velocity = release.launch_velocity(speed, launch, hand)
    return given.done(((x, y), velocity, orientation, omega))


def _friction(given: Fields) -> friction.Friction:
    kind = given.choice("type", ("constant", "zones", "grid"))
    if kind == "constant":
        return given.done(friction.constant(given.number("mu", low=0.0, high=5.0)))
    if kind == "zones":
        until = given.numbers("until_m")
        _rising(given.name("until_m"), until)
        mu = given.numbers("mu", count=len(until) + 1, low=0.0, high=5.0)
        return given.done(friction.zones(np.array(until), np.array(mu)))
    xs, ys = given.numbers("x_m"), given.numbers("y_m")
    for name, points in (("x_m", xs), ("y_m", ys)):
        if not points:
            raise InputError(given.name(name), points, "at least one grid point")
        _rising(given.name(name), points)
    rows = given.value("mu", f"{len(xs)} rows of {len(ys)} numbers")
    if not isinstance(rows, list | tuple) or len(rows) != len(xs):
        raise InputError(given.name("mu"), rows, f"{len(xs)} rows of {len(ys)} numbers")
    table = [
        checked_list(f"{given.name('mu')}[{i}]", row, count=len(ys), low=0.0, high=5.0)
        for i, row in enumerate(rows)
    ]
    return given.done(friction.grid(np.array(xs), np.array(ys), np.array(table)))


def _rising(name: str, points: list[float]) -> None:
    if any(b <= a for a, b in itertools.pairwise(points)):
        raise InputError(name, points, "numbers in rising order")


def _quarter_in(radius_in: float) -> float:
    """A quarter circumference, with the rounding of its inches: 6.75 in is allowed at 27 round."""
    return radius_in * math.pi / 2 * (1 + 1e-9)


def _hand(fields: Fields) -> str:
    return fields.choice("hand", ("right", "left"), "right")


def _layout(fields: Fields, radius_in: float) -> layouts.Layout:
    quarter = _quarter_in(radius_in)
    over = fields.number("pap_over_in", low=-2 * quarter, high=2 * quarter)
    up = fields.number("pap_up_in", low=-quarter, high=quarter)
    return _placed(fields.child("layout"), over, up, radius_in)


def read_layout(
    numbers: Mapping[str, Any], pap_over_in: float, pap_up_in: float, radius_in: float
) -> layouts.Layout:
    """A layout from the numbers of any one notation, named as in the ``layout`` command."""
    return _placed(Fields(numbers, "layout"), pap_over_in, pap_up_in, radius_in)


def _placed(
    given: Fields, pap_over_in: float, pap_up_in: float, radius_in: float
) -> layouts.Layout:
    quarter = _quarter_in(radius_in)
    pap = layouts.on_sphere(pap_over_in / radius_in, pap_up_in / radius_in)
    if given.has("drilling_angle_deg") or given.has("val_angle_deg"):
        placed = layouts.from_angles(
            pap,
            given.number("drilling_angle_deg", low=-180.0, high=180.0),
            given.number("pin_to_pap_in", low=0.0, high=2 * quarter),
            given.number("val_angle_deg", low=-180.0, high=180.0),
            radius_in,
        )
    elif given.has("pin_buffer_in") or given.has("psa_to_pap_in"):
        placed = layouts.from_buffer(
            pap,
            given.number("pin_to_pap_in", low=0.0, high=2 * quarter),
            given.number("psa_to_pap_in", low=0.0, high=2 * quarter),
            given.number("pin_buffer_in", low=-quarter, high=quarter),
            given.choice("val_branch", ("below_90", "above_90")),
            radius_in,
        )
    elif given.has("pin_over_in") or given.has("psa_over_in"):
        placed = layouts.read_off(
            pap,
            given.number("pin_over_in", low=-2 * quarter, high=2 * quarter),
            given.number("pin_up_in", low=-quarter, high=quarter),
            given.number("psa_over_in", low=-2 * quarter, high=2 * quarter),
            given.number("psa_up_in", low=-quarter, high=quarter),
            radius_in,
        )
    else:
        raise InputError("layout", dict(given.raw), MISSING_LAYOUT)
    given.done()
    return placed


def _label(ball: Fields) -> bodies.Label:
    radius = ball.number("radius_in", low=4.0, high=4.6)
    low = ball.number("rg_low_in", low=1.0, high=radius)
    differential = ball.number("differential_in", low=0.0, high=0.5)
    half = 2 * _quarter_in(radius)
    intermediate = ball.number("intermediate_differential_in", low=0.0, high=differential)
    high = low + differential
    if low**2 + (high - intermediate) ** 2 < high**2:
        raise InputError(
            ball.name("differential_in"),
            differential,
            "a differential a real body can have: no moment larger than the other two together",
        )
    marked = ball.has("cg_over_in") or ball.has("cg_up_in")
    return ball.done(
        bodies.Label(
            weight_lb=ball.number("weight_lb", above=0.0, high=20.0),
            radius_in=radius,
            rg_low_in=low,
            differential_in=differential,
            intermediate_differential_in=intermediate,
            top_weight_oz=ball.number("top_weight_oz", low=-16.0, high=16.0),
            pin_to_cg_in=ball.number("pin_to_cg_in", 0.0 if marked else None, low=0.0, high=half),
            cg_over_in=ball.number("cg_over_in", low=-half, high=half) if marked else None,
            cg_up_in=ball.number("cg_up_in", low=-half / 2, high=half / 2) if marked else None,
            cg_off_line_in=ball.number("cg_off_line_in", 0.0, low=-half / 2, high=half / 2),
        )
    )


def _hole(hole: Fields, radius_in: float) -> bodies.Hole:
    half = 2 * _quarter_in(radius_in)
    return hole.done(
        bodies.Hole(
            over_in=hole.number("over_in", low=-half, high=half),
            up_in=hole.number("up_in", low=-half / 2, high=half / 2),
            diameter_in=hole.number("diameter_in", above=0.0, high=radius_in),
            depth_in=hole.number("depth_in", above=0.0, high=2 * radius_in),
            pitch_forward_in=hole.number("pitch_forward_in", low=-radius_in, high=radius_in),
            pitch_lateral_in=hole.number("pitch_lateral_in", low=-radius_in, high=radius_in),
            density_g_cm3=hole.number("density_g_cm3", above=0.0, high=20.0),
            longer_in=hole.number("longer_in", 0.0, low=0.0, high=radius_in),
            oval_angle_deg=hole.number("oval_angle_deg", 0.0, low=-90.0, high=90.0),
        )
    )


COMMANDS: dict[str, Callable[[Mapping[str, Any]], dict[str, Any]]] = {
    "shot": shot,
    "layout": layout,
    "drill": drill,
    "measure": measure,
}
