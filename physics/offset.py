"""How many boards a centre of mass off the ball's centre moves it at the pins.

One drilled ball is thrown by the reference solver as a balanced one and with its own static
balance, with 1 oz and with the rule book's 3 oz on each side, on the same line and with the same
moments of inertia. Each figure is over eight spin phases: the mean is what the offset does to the
path, the largest what it can do to one delivery.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from physics import body, friction, lane, layout, motion, release
from physics.lane import own_side_grid_m
from physics.rules import NO_BALANCE_HOLE
from physics.units import MPH_TO_M_S, OZ_TO_KG, RPM_TO_RAD_S, board_to_y_m, y_m_to_board

Array = NDArray[np.float64]

PHASES_DEG = tuple(45.0 * i for i in range(8))
TOLERANCE = 1e-6


@dataclass(frozen=True)
class Delivery:
    """A release and a line; launch positive towards the ball-hand gutter."""

    name: str
    laydown_board: float
    launch_deg: float
    mph: float
    rpm: float
    rotation_deg: float
    tilt_deg: float


# Releases of our own about the bands of common practice.
DELIVERIES = (
    Delivery("slow, few revs", 18.0, 1.8, 15.0, 180.0, 30.0, 15.0),
    Delivery("matched", 22.0, 2.4, 17.5, 350.0, 45.0, 12.0),
    Delivery("fast, few revs", 18.0, 1.0, 19.0, 220.0, 60.0, 17.0),
    Delivery("many revs", 28.0, 3.0, 18.0, 500.0, 50.0, 8.0),
)
HOUSE = (41.0, 25.0, 8.0, "blended")
CLOSURE = friction.Film(0.026, 0.215, 0.46)
# Static balances (top, side, finger) to try, ounces.
SIDES = (
    ("top", (1.0, 0.0, 0.0)),
    ("bottom", (-1.0, 0.0, 0.0)),
    ("PAP side", (0.0, 1.0, 0.0)),
    ("side away from the PAP", (0.0, -1.0, 0.0)),
    ("finger", (0.0, 0.0, 1.0)),
    ("thumb", (0.0, 0.0, -1.0)),
)


def plain_ball() -> body.Body:
    """A 15 lb ball with two fingers and a thumb, PAP 5 over 1/2 up, laid out 45 x 4 1/2 x 35."""
    radius_in = 4.2975
    pap = layout.on_sphere(5.0 / radius_in, 0.5 / radius_in)
    placed = layout.from_angles(pap, 45.0, 4.5, 35.0, radius_in)
    holes = [
        body.Hole(-0.609, 2.609, 0.96875, 1.75),
        body.Hole(0.609, 2.609, 0.96875, 1.75),
        body.Hole(0.0, -2.625, 1.0, 2.75),
    ]
    return body.drill(body.Label(15.0, radius_in, 2.5, 0.048, 0.0, 3.0, 2.5), placed, holes)


def with_static(ball: body.Body, top_oz: float, side_oz: float, finger_oz: float) -> body.Body:
    """The same moments of inertia with another static balance, and its centre of mass."""
    moment = np.array([side_oz, finger_oz, top_oz]) * OZ_TO_KG * ball.radius_m
    return replace(ball, cg_offset_m=moment / ball.mass_kg, static_oz=(top_oz, side_oz, finger_oz))


def entries(ball: body.Body, thrown: Delivery, film_um: Array) -> Array:
    """Entry board of each spin phase by the reference solver, offset included."""
    x_m, y_m = own_side_grid_m()
    oil = friction.oiled(x_m, y_m, film_um, CLOSURE)
    found = []
    for phase in PHASES_DEG:
        orientation, omega = release.orientation_and_spin(
            inertia=[ball.mass_kg * rg**2 for rg in ball.principal_rg_m],
            pap_body=ball.pap_body,
            direction=release.spin_direction(
                thrown.rotation_deg, thrown.tilt_deg, thrown.launch_deg, "right"
            ),
            rev_rate_rad_s=thrown.rpm * RPM_TO_RAD_S,
            spin_phase_deg=phase,
            hand="right",
        )
        shot = motion.deliver(
            mass_kg=ball.mass_kg,
            radius_m=ball.radius_m,
            principal_rg_m=ball.principal_rg_m,
            position_m=(0.0, board_to_y_m(thrown.laydown_board)),
            velocity_m_s=release.launch_velocity(
                thrown.mph * MPH_TO_M_S, thrown.launch_deg, "right"
            ),
            orientation=orientation,
            omega_body_rad_s=omega,
            friction=oil,
            tolerance=TOLERANCE,
            centre_of_mass_m=ball.centre_of_mass_m,
        )
        found.append(y_m_to_board(float(shot.end[2])))
    return np.array(found)


def moved_boards(
    ball: body.Body, deliveries: Sequence[Delivery] = DELIVERIES
) -> list[tuple[float, float]]:
    """Mean and largest move (boards, left positive) of the offset against none, by delivery."""
    film = lane.picked(*HOUSE).own_side_film_um("right")
    balanced = replace(ball, cg_offset_m=np.zeros(3))
    rows = []
    for thrown in deliveries:
        apart = entries(ball, thrown, film) - entries(balanced, thrown, film)
        rows.append((float(apart.mean()), float(apart[np.argmax(np.abs(apart))])))
    return rows


def balls() -> list[tuple[str, body.Body]]:
    """The ball as drilled, and with 1 oz and the limit on each side."""
    plain = plain_ball()
    limit = NO_BALANCE_HOLE.largest_static_oz()
    rows = [("as drilled", plain)]
    for ounces in (1.0, limit):
        for name, (top, side, finger) in SIDES:
            heavy = with_static(plain, ounces * top, ounces * side, ounces * finger)
            rows.append((f"{ounces:g} oz {name}", heavy))
    return rows


def report() -> dict[str, Any]:
    """Every ball with every delivery, and the most a legal ball moves among them."""
    rows = []
    for name, ball in balls():
        for thrown, (mean, most) in zip(DELIVERIES, moved_boards(ball), strict=True):
            rows.append(
                {
                    "ball": name,
                    "static_oz": list(ball.static_oz),
                    "offset_mm": 1000 * math.dist(ball.cg_offset_m, (0.0, 0.0, 0.0)),
                    "delivery": thrown.name,
                    "mean_boards": mean,
                    "most_boards": most,
                }
            )
    return {"deliveries": [vars(thrown) for thrown in DELIVERIES], "rows": rows}


def table(result: dict[str, Any]) -> str:
    """The report for people."""
    names = [thrown["name"] for thrown in result["deliveries"]]
    lines = [
        "Boards a centre of mass off the centre moves the ball at the pins, left positive:",
        "mean over eight spin phases, and in brackets the largest of them.",
        "",
        f"{'':30}{'offset':>9}" + "".join(f"{name:>20}" for name in names),
    ]
    for i in range(0, len(result["rows"]), len(names)):
        several = result["rows"][i : i + len(names)]
        lines.append(
            f"{several[0]['ball']:30}{several[0]['offset_mm']:6.2f} mm"
            + "".join(f"{r['mean_boards']:+12.2f} ({r['most_boards']:+.2f})" for r in several)
        )
    return "\n".join(lines)
