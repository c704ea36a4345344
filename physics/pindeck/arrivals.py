"""How balls arrive at the pins: speed and spin of deliveries played down the lane.

Deliveries of many bowlers, balls and oils are run with the reference solver; what is kept of each
is how it meets the pins. A pin simulation of a given entry angle then draws from those that came in
at about that angle, so that leftover side rotation and slip are a delivery's own.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from physics import lane, motion, surface, worth
from physics.body import Body
from physics.bowler import Bowler, prior_repeatability
from physics.errors import InputError
from physics.friction import Film
from physics.units import (
    BOARD_M,
    CENTRE_BOARD,
    IN_TO_M,
    LB_TO_KG,
    MPH_TO_M_S,
    RPM_TO_RAD_S,
    board_to_y_m,
)

Array = NDArray[np.float64]

# Columns: entry angle (deg), speed (m/s), spin x R / speed along travel, left of it, up; mass (kg).
ANGLE_DEG, SPEED_M_S, AHEAD, ACROSS, UP, MASS_KG = range(6)
COLUMNS = 6
# What comes to a lane: ranges and shares are estimates about the trade's usual bands.
WEIGHTS_LB = ((12.0, 0.10), (13.0, 0.10), (14.0, 0.25), (15.0, 0.40), (16.0, 0.15))
RG_IN, RADIUS_IN = (2.47, 2.60), 4.2975
NEAR = 60


def arrivals(count: int, seed: int = 0) -> Array:
    """``count`` arrivals between boards 12 and 24 at 0 to 10 degrees, one a row."""
    rng = np.random.default_rng(seed)
    rows: list[list[float]] = []
    while len(rows) < count:
        rows.extend(_of_one_bowler(rng))
    return np.array(rows[:count])


def near(table: Array, angle_deg: float, rng: np.random.Generator) -> Array:
    """One arrival drawn from those that came in at about this angle."""
    order = np.argpartition(np.abs(table[:, ANGLE_DEG] - angle_deg), NEAR)[:NEAR]
    return np.asarray(table[rng.choice(order)])


def _of_one_bowler(rng: np.random.Generator) -> Iterator[list[float]]:
    speed_mph = rng.uniform(14.0, 20.5)
    who = Bowler(
        speed_mph * MPH_TO_M_S,
        rng.uniform(80.0, 500.0) * RPM_TO_RAD_S,
        rng.uniform(5.0, 80.0),
        rng.uniform(3.0, 22.0),
        prior_repeatability(None),
        (0.0, 0.0, 0.0, 0.0),
    )
    pounds, shares = zip(*WEIGHTS_LB, strict=True)
    mass_kg = float(rng.choice(pounds, p=shares)) * LB_TO_KG
    low = rng.uniform(*RG_IN)
    axis = rng.normal(size=3)
    body = Body(
        mass_kg=mass_kg,
        radius_m=RADIUS_IN * IN_TO_M,
        principal_rg_m=(IN_TO_M * low, IN_TO_M * (low + 0.03), IN_TO_M * (low + 0.04)),
        principal_axes=np.eye(3),
        pap_body=axis / np.linalg.norm(axis),
        cg_offset_m=np.zeros(3),
        static_oz=(0.0, 0.0, 0.0),
    )
    cover = surface.COVERS[rng.choice(["solid", "hybrid", "pearl", "urethane"])]
    finish = surface.FINISHES[rng.choice(["500", "1000", "2000", "4000", "polished"])]
    closure = Film(
        mu_oil=cover.mu_oil,
        mu_dry=cover.mu_dry,
        scale_um=1.2 * finish.roughness_um,
        absorption_per_s=cover.absorption_per_s,
    )
    oil = lane.picked(rng.uniform(34, 46), rng.uniform(15, 30), rng.uniform(1.5, 8.0), "blended")
    task = worth.Task(oil.own_side_film_um("right"), 1.0)
    option = worth.Option(body, closure)
    for _ in range(12):
        delivery = (
            board_to_y_m(rng.uniform(8, 34)),
            rng.uniform(-2.0, 5.0),
            *who.means(),
        )
        try:
            shot = worth.reference_shot(who, option, task, 1.0, delivery)
        except InputError:
            continue
        row = _row(shot, body)
        if row is not None:
            yield row


def _row(shot: motion.Shot, body: Body) -> list[float] | None:
    """An arrival from the end of a shot, or None if it isn't one near the pocket.

    Spin is taken as angular momentum over the mean moment of inertia.
    """
    _, _, y, vx, vy = shot.end[:5]
    board = y / BOARD_M + CENTRE_BOARD
    speed = float(np.hypot(vx, vy))
    angle = float(np.degrees(np.arctan2(vy, vx)))
    if not (shot.reached and 12 < board < 24 and 0 <= angle <= 10):
        return None
    inertia = body.mass_kg * float(np.mean(np.square(body.principal_rg_m)))
    spin = shot.end[12:15] / inertia * body.radius_m / speed
    forward, left = vx / speed, vy / speed
    return [
        angle,
        speed,
        float(spin[0] * forward + spin[1] * left),
        float(spin[1] * forward - spin[0] * left),
        float(spin[2]),
        body.mass_kg,
    ]
