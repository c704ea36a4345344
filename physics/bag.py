"""What a set of balls does on each task, first ball and second, and the game that makes.

The first ball is thrown on its best line (:mod:`physics.worth`); what it leaves, and what each ball
would do about that (:mod:`physics.spares`), come off the pin table. A game is then scored with the
best ball first and, for each leave, the best ball for it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from physics import averaged, entry_map, line, pins, score, spares
from physics.bowler import Bowler, normal_samples
from physics.entry_map import EntryMap
from physics.worlds import Worlds, about_another_pap
from physics.worth import Lines, Option, Progress, Task, body_tuple, each, on_lane

Array = NDArray[np.float64]

# Samples a first ball's leaves are averaged over.
THROWN = 256
# Of leaves without a name of their own (splits, most of the rack): their chance as a share of the
# mean of the named leaves of several pins, and the share of their pins a second ball takes.
# Estimates.
OTHER_CHANCE, OTHER_PINS = 0.5, 0.5


@dataclass(frozen=True)
class Balls:
    """What each ball does on each task; balls are rows, tasks columns, leaves the last axis.

    ``strike``: chance with the first ball; ``other_pins``: its mean pins when it isn't one;
    ``other_leaves``: chance of each named leave then; ``convert`` and ``felled``: chance to take
    each leave with this ball as the second, and the pins it takes of it. ``leave_pins``: pins in
    each leave.
    """

    strike: Array
    other_pins: Array
    other_leaves: Array
    convert: Array
    felled: Array
    leave_pins: Array

    def __len__(self) -> int:
        return len(self.strike)

    def part(self, rows: Sequence[int]) -> Balls:
        index = list(rows)
        return Balls(
            self.strike[index], self.other_pins[index], self.other_leaves[index],
            self.convert[index], self.felled[index], self.leave_pins,
        )  # fmt: skip

    def with_strikes(self, strike: Array) -> Balls:
        """The same balls with other chances of a strike; what they leave otherwise stays."""
        return replace(self, strike=strike)

    def with_spares(self, convert: Array, felled: Array) -> Balls:
        """The same balls, taking other shares of the leaves."""
        return replace(self, convert=convert, felled=felled)

    def only_first(self) -> Balls:
        """The same balls, never thrown at a spare."""
        return self.with_spares(np.zeros_like(self.convert), np.zeros_like(self.felled))

    def games(self, second: Balls | None = None) -> Array:
        """Expected score of a game (balls x tasks) with each ball thrown first.

        Spares are taken with the best of ``second`` (by default the same balls) for each leave.
        """
        bag = self if second is None else second
        tasks = self.strike.shape[1]
        if not len(bag):
            return np.zeros((len(self), tasks))
        best = bag.convert.argmax(axis=0)
        convert = np.take_along_axis(bag.convert, best[None], axis=0)[0]
        felled = np.take_along_axis(bag.felled, best[None], axis=0)[0]
        several = self.leave_pins > 1
        hard = OTHER_CHANCE * (
            convert[:, several].mean(axis=1) if several.any() else np.zeros(tasks)
        )
        unnamed = np.clip(1 - self.other_leaves.sum(axis=2), 0, 1)
        spare_else = (self.other_leaves * convert).sum(axis=2) + unnamed * hard
        standing = 10 - self.other_pins - self.other_leaves @ self.leave_pins
        second_pins = (self.other_leaves * felled).sum(axis=2) + OTHER_PINS * np.maximum(
            standing, 0
        )
        missed = 1 - self.strike
        first = 10 * self.strike + missed * self.other_pins
        frame = np.minimum(10.0, first + missed * second_pins)
        # A ball that no line brings to the pins takes nothing.
        reaches = (self.strike > 0) | (self.other_pins > 0)
        return np.where(reaches, score.game(self.strike, missed * spare_else, first, frame), 0.0)


def joined(first: Balls, second: Balls) -> Balls:
    """Two sets of balls as one."""
    whole = {
        name: np.concatenate([getattr(first, name), getattr(second, name)])
        for name in ("strike", "other_pins", "other_leaves", "convert", "felled")
    }
    return Balls(leave_pins=first.leave_pins, **whole)


def leave_pins(table: pins.PinTable) -> Array:
    """Number of pins in each of the table's leaves."""
    return np.array([mask.bit_count() for mask in table.leaves], float)


def first_balls(
    bowler: Bowler,
    options: Sequence[Option],
    tasks: Sequence[Task],
    lines: Lines,
    lane_factors: Sequence[float],
    *,
    samples: int = THROWN,
    seed: int = 0,
) -> tuple[Array, Array]:
    """Mean pins (options x tasks) and chances of leaves (options x tasks x leaves) of first balls
    that aren't strikes, on the given lines; a ball without a line leaves everything."""
    table = pins.table()
    scatter = normal_samples(samples, seed + 2)
    felled = np.zeros(lines.value.shape)
    leaves = np.zeros((*lines.value.shape, len(table.leaves)))

    def one(index: int) -> None:
        i, j = divmod(index, len(tasks))
        if not math.isfinite(lines.board[i, j]):
            return
        entered = line.entries(
            float(lines.board[i, j]),
            float(lines.launch_deg[i, j]),
            bowler.means(),
            bowler.spreads(),
            scatter,
            body_tuple(options[i].body),
            (on_lane(options[i].closure, lane_factors[j]).numbers(), tasks[j].film_um),
            averaged.STEPS // 2,
        )
        found = spares.first_ball(entered, table)
        felled[i, j], leaves[i, j] = found.other_pins, found.other_leaves

    each(one, len(options) * len(tasks), None)
    return felled, leaves


def entry_maps(
    releases: Sequence[Bowler],
    options: Sequence[Option],
    tasks: Sequence[Task],
    lane_factors: Sequence[float],
    *,
    progress: Progress | None = None,
) -> list[list[EntryMap]]:
    """Where each option goes from every line on every task, for its second balls; ``releases``
    are those the bowler has for them."""
    found: dict[int, EntryMap] = {}

    def one(index: int) -> None:
        i, j = divmod(index, len(tasks))
        closure = on_lane(options[i].closure, lane_factors[j])
        balls = [
            body_tuple(about_another_pap(options[i].body, *who.pap_shift_in)) for who in releases
        ]
        found[index] = entry_map.entry_map(releases, balls, closure, tasks[j].film_um)

    count = len(tasks)
    each(one, len(options) * count, progress)
    return [[found[i * count + j] for j in range(count)] for i in range(len(options))]


def second_balls_in(
    met: Worlds,
    bowler: Bowler,
    releases: Sequence[Bowler],
    options: Sequence[Option],
    maps: Sequence[Sequence[EntryMap] | None],
    surfaces: spares.SpareSurfaces,
    lane_factors: Sequence[float],
) -> tuple[Array, Array]:
    """:func:`second_balls` in each drawn world (draws x options x tasks x leaves).

    A world's friction, oil, PAP and release move what second balls do, and so does how forgiving
    its pins are; the best line for each leave is sought again among those that led it. ``bowler``
    is whom the worlds were drawn about, and each of ``releases`` is off as far as theirs.
    """
    tasks, left = len(lane_factors), leave_pins(pins.table())
    size = (len(met.drawn), len(options), tasks, surfaces.convert.shape[-1])
    convert, felled = np.zeros(size), np.zeros(size)
    lines = [
        None if row is None else [spares.leading(one, surfaces) for one in row] for row in maps
    ]

    def one(n: int) -> None:
        world = met.drawn[n]
        off = np.array(world.bowler.means()) - np.array(bowler.means())
        aim = world.bowler.repeatability.launch_deg / bowler.repeatability.launch_deg
        thrown = [_moved(who, off, aim) for who in releases]
        release = world.bowler.repeatability.speed / bowler.repeatability.speed
        for i, option in enumerate(options):
            row = lines[i]
            if row is None:
                continue
            body, closure = world.body(option), world.closure(option)
            balls = [body_tuple(about_another_pap(body, *who.pap_shift_in)) for who in releases]
            for j in range(tasks):
                there = on_lane(closure, lane_factors[j] * world.lane[j])
                found = entry_map.elsewhere(row[j], thrown, balls, there, world.film_um[j])
                took = spares.conversions(found, surfaces, release)
                convert[n, i, j] = pins.likelier(took.chance, world.spares_level)
                # A leave taken more often loses so many more of its pins.
                felled[n, i, j] = took.pins + (convert[n, i, j] - took.chance) * left

    each(one, len(met.drawn), None)
    return convert, felled


def _moved(who: Bowler, off: Array, aim: float) -> Bowler:
    """The release with its means off by so much, and its launch scattered so many times as
    widely."""
    speed, spin, rotation, tilt = np.array(who.means()) + off
    known = who.repeatability
    return replace(
        who,
        speed_m_s=max(2.0, float(speed)),
        spin_rad_s=max(0.5, float(spin)),
        rotation_deg=float(rotation),
        tilt_deg=max(0.0, float(tilt)),
        repeatability=replace(known, launch_deg=aim * known.launch_deg),
    )


def second_balls(
    maps: Sequence[Sequence[EntryMap]], surfaces: spares.SpareSurfaces
) -> tuple[Array, Array]:
    """Chance to take each leave and pins taken of it (options x tasks x leaves), on the best
    lines."""
    found = [[spares.conversions(one, surfaces) for one in row] for row in maps]
    return (
        np.array([[one.chance for one in row] for row in found]),
        np.array([[one.pins for one in row] for row in found]),
    )
