"""Choices as sets of balls that score games: first balls on their lines, second balls at spares."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from arsenal.engine.options import Choice
from physics import bag, pins, spares, worlds, worth
from physics.entry_map import EntryMap

if TYPE_CHECKING:
    from arsenal.engine.ranking import Setting

Array = NDArray[np.float64]
# Deliveries that what the best ball of a task leaves is told by, before any is confirmed.
ROUGHLY = 512


@cache
def surfaces() -> spares.SpareSurfaces:
    """The spare surfaces of the table that ships, smeared; made once."""
    return spares.smeared(pins.table())


@dataclass
class Thrown:
    """A ball thrown at spares: where it goes from every line of every task, made when it is
    asked for."""

    option: worth.Option
    setting: Setting

    @cached_property
    def maps(self) -> list[EntryMap]:
        met = self.setting
        return bag.entry_maps(met.at_spares, [self.option], met.tasks, met.factors)[0]


@dataclass(frozen=True)
class Seconds:
    """What choices do as second balls. ``thrown`` by choice; None where it isn't asked."""

    thrown: list[Thrown | None]
    convert: Array
    felled: Array


def seconds(choices: Sequence[Choice], setting: Setting, asked: Sequence[bool]) -> Seconds:
    """Second balls of the choices asked for; the others take nothing.

    A choice that isn't asked for but changes an owned ball that is takes what that ball takes now.
    """
    rows = [i for i, wanted in enumerate(asked) if wanted]
    taken = setting.solved.second_balls(
        setting.at_spares,
        [choices[i].option for i in rows],
        setting.tasks,
        setting.factors,
        surfaces(),
    )
    thrown: list[Thrown | None] = [None] * len(choices)
    size = (len(choices), len(setting.tasks), len(pins.table().leaves))
    convert, felled = np.zeros(size), np.zeros(size)
    convert[rows], felled[rows] = taken
    for i in rows:
        thrown[i] = Thrown(choices[i].option, setting)
    for i, choice in enumerate(choices):
        own = choice.replaces
        if thrown[i] is None and own is not None:
            thrown[i], convert[i], felled[i] = thrown[own], convert[own], felled[own]
    return Seconds(thrown, convert, felled)


def rough(
    choices: Sequence[Choice], lines: worth.Lines, setting: Setting, second: Seconds
) -> bag.Balls:
    """Balls whose leaves, when they don't strike, are those of the best ball of each task.

    One that no line brings to the pins fells and leaves nothing that could be told.
    """
    count = len(setting.tasks)
    felled, leaves = np.zeros(count), np.zeros((count, len(pins.table().leaves)))
    best = lines.value.argmax(axis=0)

    def told(j: int) -> None:
        i = int(best[j])
        one = worth.Lines(
            lines.board[[i], j : j + 1],
            lines.launch_deg[[i], j : j + 1],
            lines.value[[i], j : j + 1],
        )
        taken, left = bag.first_balls(
            setting.who, [choices[i].option], [setting.tasks[j]], one, [setting.factors[j]],
            samples=ROUGHLY,
        )  # fmt: skip
        felled[j], leaves[j] = taken[0, 0], left[0, 0]

    worth.each(told, count, None)
    reached = np.isfinite(lines.board)
    every = np.broadcast_to(leaves, (*reached.shape, leaves.shape[1]))
    if not reached.all():
        every = np.where(reached[..., None], every, 0.0)
    return _balls(lines, np.where(reached, felled, 0.0), every, second)


def exact(
    choices: Sequence[Choice], lines: worth.Lines, setting: Setting, second: Seconds, seed: int
) -> bag.Balls:
    """Balls each with its own leaves."""
    felled, leaves = setting.solved.first_balls(
        setting.who,
        [choice.option for choice in choices],
        setting.tasks,
        lines,
        setting.factors,
        seed=seed,
        leaves=len(pins.table().leaves),
    )
    return _balls(lines, felled, leaves, second)


def _balls(lines: worth.Lines, felled: Array, leaves: Array, second: Seconds) -> bag.Balls:
    return bag.Balls(
        strike=lines.value,
        other_pins=felled,
        other_leaves=leaves,
        convert=second.convert,
        felled=second.felled,
        leave_pins=bag.leave_pins(pins.table()),
    )


def drawn(
    balls: bag.Balls,
    choices: Sequence[Choice],
    setting: Setting,
    second: Seconds,
    met: worlds.Worlds,
    strikes: Array,
) -> Iterator[bag.Balls]:
    """The same balls in each drawn world: other strikes (draws x choices x tasks), and second
    balls as that world's lane and bowler make of them."""
    convert, felled = bag.second_balls_in(
        met,
        setting.who,
        setting.at_spares,
        [choice.option for choice in choices],
        [None if one is None else one.maps for one in second.thrown],
        surfaces(),
        setting.factors,
    )
    for n, chances in enumerate(strikes):
        yield balls.with_strikes(np.clip(chances, 0, 1)).with_spares(convert[n], felled[n])
