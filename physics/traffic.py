"""Who has bowled on a lane before: the mix of deliveries that wears its oil.

A lane is right-handed or left-handed on the spot where the traffic is, so every kind of bowler has
a hand, and nothing is mirrored for a left-hander who comes after them.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from physics import body, bowler, care, friction, layout, surface
from physics.errors import InputError
from physics.units import (
    IN_TO_M,
    MPH_TO_M_S,
    RPM_TO_RAD_S,
)

Array = NDArray[np.float64]

RADIUS_IN = 4.2975
POCKET_BOARD = 17.5
# As the rankings take it (an estimate). A ball in use is some games past its last care.
PATCH_IN = 0.6
PLAYED = care.Played(finish=12.0, oil=12.0, clean=12.0)
# The balls of the mix are laid out and drilled as most are (common practice, no source).
PAP_IN, LAYOUT = (5.0, 0.5), (50.0, 4.5, 40.0)
RG_IN = 2.50
HOLES = (
    body.Hole(-0.609, 2.609, 31 / 32, 1.75),
    body.Hole(0.609, 2.609, 31 / 32, 1.75),
    body.Hole(0.0, -2.625, 1.0, 2.75),
)


@dataclass(frozen=True)
class Thrower:
    """One kind of delivery: who throws it, with what, from where and at what.

    ``share`` of all deliveries; ``laydown_board`` is where they like to stand on fresh oil and
    ``target_board`` where the ball is to pass the head pin's row, both counted from their own
    ball-hand gutter; ``average`` says how closely they repeat themselves.
    """

    name: str
    share: float
    hand: str
    speed_mph: float
    rev_rate_rpm: float
    rotation_deg: float
    tilt_deg: float
    laydown_board: float
    cover: str
    finish: str
    differential_in: float
    average: float
    target_board: float = POCKET_BOARD

    def means(self) -> tuple[float, float, float, float]:
        """Speed m/s, spin rad/s, rotation and tilt in degrees."""
        return (
            self.speed_mph * MPH_TO_M_S,
            self.rev_rate_rpm * RPM_TO_RAD_S,
            float(self.rotation_deg),
            float(self.tilt_deg),
        )

    def spreads(self) -> Array:
        """Standard deviations from shot to shot: m/s, rad/s, deg, deg, boards, deg."""
        speed, spin, _, _ = self.means()
        r = bowler.prior_repeatability(self.average)
        return np.array(
            [
                r.speed * speed,
                r.rev_rate * spin,
                r.rotation_deg,
                r.tilt_deg,
                r.laydown_boards,
                r.launch_deg,
            ]
        )

    def ball(self) -> body.Body:
        """Their ball, drilled: the right-hander's, as the own-side frame has it."""
        pap = layout.on_sphere(PAP_IN[0] / RADIUS_IN, PAP_IN[1] / RADIUS_IN)
        placed = layout.from_angles(pap, *LAYOUT, RADIUS_IN)
        label = body.Label(15.0, RADIUS_IN, RG_IN, self.differential_in, 0.0, 2.5, 2.5)
        return body.drill(label, placed, HOLES)

    def closure(self, lane_factor: float) -> friction.Film:
        """Their ball's friction on a lane of this friction."""
        kind = surface.COVERS[self.cover]
        return friction.Film(
            mu_oil=kind.mu_oil * lane_factor,
            mu_dry=care.dry_friction(self.cover, PLAYED) * lane_factor,
            scale_um=surface.FILM_SCALE * care.roughness_um(self.finish, PLAYED.finish),
            exponent=1.0,
            absorption_per_s=kind.absorption_per_s,
            patch_m=PATCH_IN * IN_TO_M,
        )


@dataclass(frozen=True)
class Traffic:
    """A mix of deliveries and how many of them one person's game puts on the lane."""

    throwers: tuple[Thrower, ...]
    deliveries_a_game: float = 17.0

    def __post_init__(self) -> None:
        if not self.throwers:
            raise InputError("throwers", [], "at least one kind of delivery")
        for i, one in enumerate(self.throwers):
            if one.share <= 0:
                raise InputError(f"throwers[{i}].share", one.share, "a share above 0")
            for name, known in (("cover", surface.COVERS), ("finish", surface.FINISHES)):
                if getattr(one, name) not in known:
                    raise InputError(
                        f"throwers[{i}].{name}", getattr(one, name), "one of " + ", ".join(known)
                    )
            if one.hand not in ("right", "left"):
                raise InputError(f"throwers[{i}].hand", one.hand, '"right" or "left"')

    def order(self, count: int, rng: np.random.Generator) -> NDArray[np.int64]:
        """Indices of who throws ``count`` deliveries: evenly by the shares, then shuffled."""
        shares = np.array([one.share for one in self.throwers])
        marks = (rng.random() + np.arange(count)) / count * shares.sum()
        found = np.searchsorted(np.cumsum(shares), marks, side="right")
        return rng.permutation(np.minimum(found, len(shares) - 1)).astype(np.int64)


PLASTIC = ("polyester", "polished", 0.010)

# A league on a house pattern. Every number is an estimate: releases within the trade's bands for
# league bowlers (15-18 mph, 200-350 rpm, a few stronger), about one in ten left-handed, first
# balls hooked at the pocket, second balls mostly plastic and straight.
LEAGUE = Traffic(
    (
        Thrower("straighter", 0.17, "right", 16.0, 230, 40, 14, 16, "hybrid", "2000", 0.046, 170),
        Thrower("middling", 0.17, "right", 17.0, 300, 50, 12, 20, "solid", "2000", 0.050, 190),
        Thrower("power", 0.10, "right", 17.5, 400, 50, 10, 26, "pearl", "3000", 0.050, 205),
        Thrower("slow", 0.11, "right", 14.5, 180, 40, 16, 14, "pearl", "polished", 0.040, 150),
        Thrower("urethane", 0.04, "right", 16.5, 320, 50, 10, 15, "urethane", "500", 0.030, 195),
        Thrower("plastic", 0.06, "right", 14.5, 110, 20, 10, 12, *PLASTIC, 120),
        Thrower("left", 0.07, "left", 16.5, 270, 45, 13, 18, "hybrid", "2000", 0.048, 180),
        Thrower("second", 0.11, "right", 16.0, 230, 40, 14, 18, "hybrid", "2000", 0.046, 170),
        Thrower("ten pin", 0.09, "right", 16.5, 180, 15, 10, 29, *PLASTIC, 170, 3.1),
        Thrower("seven pin", 0.05, "right", 16.5, 180, 15, 10, 11, *PLASTIC, 170, 36.9),
        Thrower("left spares", 0.03, "left", 16.5, 180, 15, 10, 28, *PLASTIC, 175, 3.1),
    )
)
