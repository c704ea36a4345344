"""What a ball is likely to leave, and to have said of it, at the levels its lane may have: what
leaves and words are set beside.

Levels are drawn from weights over the grids of :mod:`physics.expect`, evenly along them, so the
same weights always give the same leaves. At each, shots of the bowler's own scatter are played down
the lane and read off the pin table.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from physics import expect, line, pins, seen, spares, worth
from physics.bowler import normal_samples
from physics.learn import evenly
from physics.units import BOARD_M

Array = NDArray[np.float64]

NODES, SHOTS = 48, 32
# A leave under this share of those that are left isn't named as likely: fewer than one in twenty
# five says nothing beside a table of some thousand balls.
LEAST_SHARE = 0.04


@dataclass(frozen=True)
class Left:
    """What is expected to be left. ``strike``: chance of a strike.

    ``leaves``: pins as bits (:mod:`physics.pins`) with their share of the first balls that leave
    something, likeliest first; what the table lumps together is missing from them. ``families``:
    chance of light, pocket and high among leaves, a row for each level drawn.
    """

    strike: float
    leaves: tuple[tuple[int, float], ...]
    families: Array

    def likeliest(self, count: int) -> tuple[tuple[int, float], ...]:
        """The first few that are worth naming."""
        return tuple((mask, share) for mask, share in self.leaves[:count] if share >= LEAST_SHARE)

    def as_far_out(self, told: Sequence[int]) -> float:
        """Share of reports of as many leaves that would be no likelier than the families told."""
        ways = _multinomials(self.families, len(told))
        counts = Counter(told)
        here = ways[tuple(counts.get(family, 0) for family in range(3))]
        # Ties count whole, whatever the last digit.
        return float(sum(chance for chance in ways.values() if chance <= here * (1 + 1e-9)))


def left(play: expect.Play, response: expect.Response, weights: Array) -> Left:
    """Leaves expected of a play about its line.

    ``weights`` (grip x film x launches x scatter): how likely each level is.
    """
    places = [np.array(at) for at in np.unravel_index(evenly(weights, NODES), weights.shape)]
    strike, shares = 0.0, np.zeros(len(pins.table().leaves))
    table = pins.table()
    table = replace(table, strike=table.strikes(play.option.body.mass_kg)[0])
    samples = normal_samples(SHOTS, 11)
    for g, f, d, w in zip(*places, strict=True):
        thrown = _entries(play, response, (int(g), int(f), int(d), int(w)), samples)
        met = spares.first_ball(thrown, table)
        strike += met.strike / NODES
        shares += (1.0 - met.strike) * met.other_leaves / NODES
    missed = max(1.0 - strike, 1e-9)
    order = np.argsort(-shares, kind="stable")
    return Left(
        strike=strike,
        leaves=tuple((pins.table().leaves[k], float(shares[k] / missed)) for k in order),
        families=np.column_stack([family[tuple(places)] for family in response.families]),
    )


@dataclass(frozen=True)
class Said:
    """A word used, the ``chance`` it would be, and the share of words no likelier than it."""

    word: str
    chance: float
    as_far_out: float


def said(weights: Array, response: expect.Response, report: seen.Report) -> tuple[Said, ...]:
    """Words of a report beside how likely each is (grip x film x launches x scatter)."""
    by_mean_shot = weights.sum(axis=3) / weights.sum()

    def of(word: str, chances: dict[str, float]) -> Said:
        out = sum(c for c in chances.values() if c <= chances[word] * (1 + 1e-9))
        return Said(word, chances[word], out)

    found = []
    if report.motion:
        finish = {
            word: float(
                (
                    by_mean_shot * seen.motion_chance(word, response.rolled_ft, response.left_over)
                ).sum()
            )
            for word in seen.MOTIONS
        }
        found.append(of(report.motion, finish | {"": max(0.0, 1.0 - sum(finish.values()))}))
    if report.shape:
        looks = {
            word: float((by_mean_shot * seen.shape_chance(word, response.hook_ft)).sum())
            for word in seen.SHAPES
        }
        found.append(of(report.shape, looks))
    return tuple(found)


def _entries(
    play: expect.Play, response: expect.Response, at: tuple[int, ...], samples: Array
) -> Array:
    """How the shots of one level meet the pins, by the fast solver."""
    g, f, d, w = at
    offsets = expect.TOLD_AT if response.told else expect.ASSUMED_AT
    grip, film, wide = (
        math.exp(grid[n]) for grid, n in ((expect.GRIP, g), (expect.FILM, f), (expect.SCATTER, w))
    )
    lane = worth.on_lane(play.option.closure, play.lane_factor * grip)
    # More oil by a factor is a finer scale of the film ratio, as in physics.expect.
    lane = replace(lane, scale_um=lane.scale_um / film)
    spreads = [wide * spread for spread in play.who.spreads()]
    if response.told:
        spreads[4] = math.hypot(spreads[4], expect.TOLD_LAYDOWN_BOARDS * BOARD_M)
    entered: Array = line.entries(
        response.line[0], response.line[1] + float(offsets[d]), play.who.means(), tuple(spreads),
        samples, worth.body_tuple(play.option.body),
        (lane.numbers(), play.film_um), expect.STEPS,
    )  # fmt: skip
    return entered


def _multinomials(families: Array, count: int) -> dict[tuple[int, ...], float]:
    """Chance of every way to tell so many leaves by family, over the levels drawn."""
    logs = np.log(np.maximum(families, 1e-12))
    found: dict[tuple[int, ...], float] = {}
    for light in range(count + 1):
        for pocket in range(count + 1 - light):
            told = (light, pocket, count - light - pocket)
            ways = math.lgamma(count + 1) - sum(math.lgamma(n + 1) for n in told)
            found[told] = float(np.exp(ways + logs @ np.array(told)).mean())
    return found
