"""A drilled ball, a bowler and lanes of our own, for the rungs above single shots."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from physics import body, bowler, friction, lane, layout, worth
from physics.units import MPH_TO_M_S, RPM_TO_RAD_S, board_to_y_m

RADIUS_IN = 4.2975
HOLES = (
    body.Hole(-0.609, 2.609, 0.96875, 1.75),
    body.Hole(0.609, 2.609, 0.96875, 1.75),
    body.Hole(0.0, -2.625, 1.0, 2.75),
)


def drilled(
    *,
    drilling: float = 45.0,
    pin: float = 4.5,
    val: float = 35.0,
    low: float = 2.5,
    differential: float = 0.048,
    intermediate: float = 0.0,
) -> body.Body:
    """A 15 lb ball with two fingers and a thumb, PAP 5 over 1/2 up: the ball of the first study."""
    pap = layout.on_sphere(5.0 / RADIUS_IN, 0.5 / RADIUS_IN)
    placed = layout.from_angles(pap, drilling, pin, val, RADIUS_IN)
    label = body.Label(15.0, RADIUS_IN, low, differential, intermediate, 2.5, 2.5)
    return body.drill(label, placed, HOLES)


def film(roughness_um: float = 0.5, **changed: Any) -> friction.Film:
    """Closure of the first study: dry 0.22, oil 0.025, c 1.2, p 1, absorption 0.3/s, 0.6 in."""
    plain = friction.Film(0.025, 0.22, 1.2 * roughness_um, 1.0, 0.3, 0.6 * 0.0254)
    return replace(plain, **changed)


def option(ball: body.Body | None = None, closure: friction.Film | None = None) -> worth.Option:
    return worth.Option(ball or drilled(), closure or film(), "hybrid", "2000", "ours")


def man(**changed: Any) -> bowler.Bowler:
    """A matched bowler of the first study: 17.5 mph, 350 rpm, rotation 45, tilt 12 degrees."""
    plain = bowler.Bowler(
        speed_m_s=17.5 * MPH_TO_M_S,
        spin_rad_s=350 * RPM_TO_RAD_S,
        rotation_deg=45.0,
        tilt_deg=12.0,
        repeatability=bowler.prior_repeatability(200.0),
        thrown=(0.1, 1.0, 2.0, 1.5),
    )
    return replace(plain, **changed)


HOUSE = lane.picked(41, 25, 8, "blended")
FLAT = lane.picked(44, 28, 2.5, "flat")


def task(oil: lane.OilTable = HOUSE, weight: float = 1.0, hand: str = "right") -> worth.Task:
    return worth.Task(oil.own_side_film_um(hand), weight)


def throw(
    board: float = 18.0,
    launch_deg: float = 2.4,
    mph: float = 17.5,
    rpm: float = 350.0,
    rotation_deg: float = 45.0,
    tilt_deg: float = 12.0,
) -> tuple[float, float, float, float, float, float]:
    """A delivery as the solvers take it."""
    return (
        board_to_y_m(board),
        launch_deg,
        mph * MPH_TO_M_S,
        rpm * RPM_TO_RAD_S,
        rotation_deg,
        tilt_deg,
    )
