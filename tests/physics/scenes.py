"""A drilled ball, a bowler and lanes of our own, for the rungs above single shots."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from physics import body, bowler, confirming, friction, lane, layout, shape, worth
from physics.units import FT_TO_M, MPH_TO_M_S, RPM_TO_RAD_S, board_to_y_m

Array = NDArray[np.float64]

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


@dataclass(frozen=True)
class Thrown:
    """Deliveries of many bodies and closures as the batches take them, on one lane."""

    film_um: Array
    options: list[worth.Option]
    deliveries: Array
    bodies: Array
    closures: Array

    def by(self, solver: Any, steps: int) -> Array:
        """Rows of results by a module with a ``run_each``."""
        found: Array = solver.run_each(
            self.deliveries, self.bodies, self.closures, self.film_um, steps
        )
        return found

    def by_motion(self, tolerance: float = 1e-7) -> Array:
        """Rows of results by :mod:`physics.motion`, the slow way, tightly."""
        meet, rows = worth.Task(self.film_um, 1.0), []
        for option, delivery in zip(self.options, self.deliveries, strict=True):
            shot = worth.reference_shot(
                man(), option, meet, 1.0, delivery, profile_step_m=FT_TO_M, tolerance=tolerance
            )
            ball = option.body
            rows.append(
                shape.row_of(shot, float(delivery[1]), ball.mass_kg, ball.radius_m, FT_TO_M)
            )
        return np.array(rows)


def thrown(count: int, oil: lane.OilTable = HOUSE, seed: int = 20) -> Thrown:
    """Random balls, surfaces and deliveries, each its own, that stay on the lane.

    Wider than what is bowled: 14 to 20 mph and 150 to 500 rpm in any combination, rotation 15 to
    75 and tilt 2 to 25 degrees, differentials of 0.01 to 0.06 in, roughness 0.1 to 1 micrometre.
    """
    rng = np.random.default_rng(seed)
    film_um = oil.own_side_film_um("right")
    options: list[worth.Option] = []
    rows: list[tuple[Any, ...]] = []
    while len(rows) < count:
        ball = drilled(
            drilling=rng.uniform(20, 90),
            pin=rng.uniform(2.5, 6),
            val=rng.uniform(15, 80),
            low=rng.uniform(2.46, 2.58),
            differential=rng.uniform(0.01, 0.06),
            intermediate=float(rng.choice([0.0, 0.0, 0.01, 0.02])),
        )
        one = option(ball, film(rng.uniform(0.1, 1.0)))
        delivery = throw(
            rng.uniform(12, 32),
            rng.uniform(0, 4),
            rng.uniform(14, 20),
            rng.uniform(150, 500),
            rng.uniform(15, 75),
            rng.uniform(2, 25),
        )
        (mass, radius, gravity, moments), p = worth.body_tuple(ball)
        body_row, closure = (mass, radius, gravity, *moments, *p), one.closure.numbers()
        one_row: list[Any] = [np.array([part]) for part in (delivery, body_row, closure)]
        throws, bodies, closures = one_row
        found = confirming.run_each(throws, bodies, closures, film_um, confirming.STEPS)
        if found[0, shape.ON_LANE] > 0.5:
            options.append(one)
            rows.append((delivery, body_row, closure))
    columns = [np.array(part) for part in zip(*rows, strict=True)]
    return Thrown(film_um, options, *columns)
