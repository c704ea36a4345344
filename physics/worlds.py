"""What isn't known, drawn: the worlds that every choice meets alike.

One world is one guess at everything a ranking had to assume: the bowler's true means and scatter,
where the axis really comes out of the ball, each house's friction, each condition's oil, what
covers and finishes are really like, the law of friction, ring oil and the pins. Every option of a
draw meets the same world (common random numbers), so that what two options share drops out of their
difference: Law, Simulation Modeling and Analysis, 5th ed. (2015), section 11.2, from memory.

Each unknown is one standard normal with a name, kept beside the results, so that one can ask
afterwards which of them decided (:mod:`physics.doubt`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from physics import friction, layout, pins
from physics.body import Body
from physics.bowler import Bowler
from physics.units import IN_TO_M

if TYPE_CHECKING:
    from physics.worth import Option, Task

Array = NDArray[np.float64]

# What an unknown is, and which one of its kind: ("cover", "pearl"), ("rev_rate", "").
Name = tuple[str, str]
RELEASE = ("speed", "rev_rate", "rotation", "tilt")
PAP = ("pap_over", "pap_up")
PINS = ("pins_place", "pins_angle", "pins_level")
SPARES = "pins_spares"


@dataclass(frozen=True)
class Priors:
    """Spreads of what isn't known, as shares unless named; all estimates, stated with each result.

    Friction is shared by all balls at a house, cover and finish by all balls of that cover or
    finish; what is left is each ball's own. ``oil_amount`` is that of an oil table as measured,
    the picker's own spreads stand in :class:`physics.lane.PickSpread`. ``repeatability`` is that of
    the spreads expected of an average; a bowler says how far theirs are known.
    """

    lane_friction: float = 0.06
    oil_amount: float = 0.03
    cover_friction: float = 0.04
    finish_roughness: float = 0.20
    own_friction: float = 0.03
    ring_patch: float = 0.30
    ring_absorption: float = 0.40
    repeatability: float = 0.25
    # Of the pin table's own spreads, so much.
    pins: float = 1.0
    # The law of friction itself: log of the power of the film ratio. One deviation is the power of
    # 1.5 that learning doubts it by (physics.expect); nine robot shots would have it nearer 2.
    film_power: float = 0.40
    # How much more or less than thought games have worn a finish and soaked a cover.
    finish_wear: float = 0.40
    soaking: float = 0.50


@dataclass(frozen=True)
class OilDoubt:
    """How a condition's oil may differ from what was said of it.

    ``names``: what each number is; ``film_um``: own-side film for as many standard normals.
    """

    names: tuple[str, ...]
    film_um: Callable[[Array], Array]


@dataclass(frozen=True)
class World:
    """One draw. ``lane`` and ``film_um`` go by task, the factors by cover, finish and ball."""

    bowler: Bowler
    pap_shift_in: tuple[float, float]
    lane: tuple[float, ...]
    film_um: tuple[Array, ...]
    ring_patch: float
    ring_absorption: float
    cover: dict[str, float]
    finish: dict[str, float]
    own: dict[str, float]
    pins: pins.PinTable
    # Log odds by which second balls take a leave more often than the table says.
    spares_level: float = 0.0
    film_power: float = 1.0
    wear: float = 1.0
    soaking: float = 1.0

    def closure(self, option: Option) -> friction.Film:
        """The option's friction in this world, on a lane of factor 1."""
        plain = option.closure
        grip = self.cover[option.cover] * self.own[option.ball]
        rough_left, grip_left = option.worn
        here = replace(
            plain,
            mu_dry=plain.mu_dry * grip * grip_left ** (self.soaking - 1),
            mu_oil=plain.mu_oil * grip,
            scale_um=plain.scale_um * self.finish[option.finish] * rough_left ** (self.wear - 1),
            patch_m=plain.patch_m * self.ring_patch,
            absorption_per_s=plain.absorption_per_s * self.ring_absorption,
        )
        return here.sharper(self.film_power)

    def body(self, option: Option) -> Body:
        """The option thrown about where the axis really comes out."""
        return about_another_pap(option.body, *self.pap_shift_in)


@dataclass(frozen=True)
class Worlds:
    """Draws from the priors. ``normals``: draws x unknowns; ``middle``: all of them nought."""

    names: tuple[Name, ...]
    normals: Array
    drawn: tuple[World, ...]
    middle: World


def about_another_pap(ball: Body, over_in: float, up_in: float) -> Body:
    """The same drilled ball with its PAP moved over and up by so many inches on the surface."""
    if not over_in and not up_in:
        return ball
    radius_in = ball.radius_m / IN_TO_M
    over, up = layout.over_up_rad(ball.principal_axes.T @ ball.pap_body)
    moved = layout.on_sphere(over + over_in / radius_in, up + up_in / radius_in)
    return replace(ball, pap_body=ball.principal_axes @ moved)


def names_of(options: Sequence[Option], tasks: Sequence[Task]) -> tuple[Name, ...]:
    """Every unknown that these options and tasks meet, in a fixed order."""
    found: list[Name] = [(kind, "") for kind in (*RELEASE, *PAP, "release_spread", "aim_spread")]
    found += [("ring_patch", ""), ("ring_absorption", ""), ("film_power", "")]
    found += [(kind, "") for kind in (*PINS, SPARES)]
    found += [("lane_friction", house) for house in sorted({task.house for task in tasks})]
    found += [("cover", cover) for cover in sorted({option.cover for option in options})]
    found += [("finish", finish) for finish in sorted({option.finish for option in options})]
    found += [("ball", ball) for ball in sorted({option.ball for option in options})]
    for j, task in enumerate(tasks):
        kinds = ("oil_amount",) if task.oil is None else task.oil.names
        found += [(kind, str(j)) for kind in kinds]
    for kind, share in (("finish_wear", 0), ("soaking", 1)):
        if any(option.worn[share] != 1.0 for option in options):
            found.append((kind, ""))
    return tuple(found)


def uncorrelated_normals(names: Sequence[Name], count: int, seed: int) -> Array:
    """Standard normals (draws x names): each column of mean 0 and standard deviation 1, and no two
    correlated where there are draws enough, so that one unknown's part isn't taken for another's.

    A column's stream depends on its name and the seed alone: another ball in the list leaves the
    lane's friction what it was.
    """
    streams = [
        np.random.default_rng([seed, crc32("/".join(name).encode())]).standard_normal(count)
        for name in names
    ]
    columns = np.array(streams).T
    columns -= columns.mean(axis=0)
    if len(names) < count - 1:
        # Gram-Schmidt in order: each keeps what the ones before it don't explain.
        q, r = np.linalg.qr(columns)
        columns = q * np.sign(np.diag(r))
    spread = columns.std(axis=0)
    return np.asarray(columns / np.where(spread > 0, spread, 1.0))


def drawn(
    bowler: Bowler,
    options: Sequence[Option],
    tasks: Sequence[Task],
    *,
    count: int,
    seed: int,
    priors: Priors | None = None,
) -> Worlds:
    """``count`` worlds for these options and tasks, the same for a seed."""
    spread = priors or Priors()
    names = names_of(options, tasks)
    normals = uncorrelated_normals(names, count, seed)
    build = [
        _world(bowler, tasks, dict(zip(names, row, strict=True)), spread)
        for row in (*normals, np.zeros(len(names)))
    ]
    return Worlds(names, normals, tuple(build[:-1]), build[-1])


def _world(bowler: Bowler, tasks: Sequence[Task], z: dict[Name, float], spread: Priors) -> World:
    def factor(kind: str, which: str, sd: float) -> float:
        return math.exp(sd * float(z[kind, which]))

    def factors(kind: str, sd: float) -> dict[str, float]:
        return {name[1]: factor(*name, sd) for name in z if name[0] == kind}

    def extent(kind: str, sd: float) -> float:
        """1 where no option is worn, and so nothing was drawn."""
        return factor(kind, "", sd) if (kind, "") in z else 1.0

    return World(
        bowler=_bowler(bowler, z),
        pap_shift_in=(
            bowler.pap_error_in[0] * float(z["pap_over", ""]),
            bowler.pap_error_in[1] * float(z["pap_up", ""]),
        ),
        lane=tuple(
            factor(
                "lane_friction",
                task.house,
                spread.lane_friction if task.friction_sd is None else task.friction_sd,
            )
            for task in tasks
        ),
        film_um=tuple(_film(task, j, z, spread) for j, task in enumerate(tasks)),
        ring_patch=factor("ring_patch", "", spread.ring_patch),
        ring_absorption=factor("ring_absorption", "", spread.ring_absorption),
        cover=factors("cover", spread.cover_friction),
        finish=factors("finish", spread.finish_roughness),
        own=factors("ball", spread.own_friction),
        film_power=factor("film_power", "", spread.film_power),
        pins=pins.table().moved(*(spread.pins * float(z[kind, ""]) for kind in PINS)),
        spares_level=spread.pins * pins.SPARES_SD * float(z[SPARES, ""]),
        wear=extent("finish_wear", spread.finish_wear),
        soaking=extent("soaking", spread.soaking),
    )


def _film(task: Task, j: int, z: dict[Name, float], spread: Priors) -> Array:
    if task.oil is None:
        return task.film_um * math.exp(spread.oil_amount * float(z["oil_amount", str(j)]))
    numbers = np.array([z[kind, str(j)] for kind in task.oil.names])
    if not numbers.any():
        return task.film_um
    # As a difference, so that a film that play has worn stays worn.
    moved = task.oil.film_um(numbers) - task.oil.film_um(np.zeros(len(numbers)))
    return np.maximum(0.0, task.film_um + moved)


def _bowler(bowler: Bowler, z: dict[Name, float]) -> Bowler:
    """The bowler as they may really be: means off by their standard errors, spreads by theirs."""
    speed, spin, rotation, tilt = (
        mean + error * float(z[kind, ""])
        for kind, mean, error in zip(RELEASE, bowler.means(), bowler.thrown, strict=True)
    )
    repeat, release, aim = (
        bowler.repeatability,
        math.exp(bowler.spread_error[0] * float(z["release_spread", ""])),
        math.exp(bowler.spread_error[1] * float(z["aim_spread", ""])),
    )
    return replace(
        bowler,
        speed_m_s=max(2.0, speed),
        spin_rad_s=max(0.5, spin),
        rotation_deg=rotation,
        tilt_deg=max(0.0, tilt),
        repeatability=replace(
            repeat,
            speed=repeat.speed * release,
            rev_rate=repeat.rev_rate * release,
            rotation_deg=repeat.rotation_deg * release,
            tilt_deg=repeat.tilt_deg * release,
            laydown_boards=repeat.laydown_boards * aim,
            launch_deg=repeat.launch_deg * aim,
        ),
    )
