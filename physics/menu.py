"""Every option on every task at once: few are solved, the rest are read between them.

An option meets the lane through few numbers. Covers, finishes, layouts and models differ in half a
dozen (dry and oiled friction, roughness, moment about the spin, how far flare carries the ring of
oil), but what these do to a delivery is nearly one number on a given lane, its strength, and what
is left over is small. So on each task

1. a handful of probes gives every option its coordinates (:mod:`physics.between`);
2. nodes spread over those coordinates are solved (:mod:`physics.aim`), each from the line of its
   nearest solved neighbour, the first few by a search of the whole lane;
3. a Gaussian process through the solved values reads the others, and says how far off it is;
4. whatever might, within that error, be among the best is solved too, round after round, until the
   rest can't change who leads; leaders are worth what the tile about their line says, so that none
   leads by where it was sought from.

So what is shown of the leaders was solved, never interpolated. A few more options, such as what one
owned ball could become, are read between the nodes of such a menu: then only those of them are
solved that lead among themselves or might lead the menu.

Tasks are worked on side by side, each by one thread in a fixed order and knowing nothing of the
others: results depend neither on how many threads there are nor on which other tasks are asked
about.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from physics import aim, averaged, pins
from physics.between import (
    COMPONENTS,
    NEIGHBOURS,
    Axes,
    Process,
    alike,
    best_scales,
    nearest,
    spread_out,
)
from physics.bowler import Bowler
from physics.line import LAUNCH_DEG
from physics.shape import ENTRY_ANGLE_DEG, ENTRY_BOARD, ON_LANE
from physics.units import board_to_y_m
from physics.worth import Lines, Option, Progress, Rows, Task, each

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

# Options solved before any is interpolated, and how many of them by searching the whole lane; no
# menu smaller than this is interpolated at all.
NODES, ANCHORS = 80, 1
STARTS = 2
# Options solved in a round, and how many leaders of a task are solved.
ROUND, LEADERS = 16, 50
MOST_SOLVED = 400
# So many of a few more options that lead among themselves are solved.
OWN = 3
# Options this near each other (in spreads of the strength) are worth the same line alike: by 0.03
# points at most for nineteen in twenty, and four times as far apart by 0.7.
ALIKE = 0.001
# How far off they are without being solved (of another mass, say) is alike over so many times the
# scales of the menu they are read from.
OWN_SCALE = 3.0
# None of the others may reach the leaders by more than so much within so many of its errors; of a
# few more options none the first ten, nor the rest of the leaders within one.
FIRST, WITHIN, SURE = 10, 0.002, 2.0
# A node this far below what the others say of it may have missed its top.
MISSED = 0.005
# One worth so much less than its nearest neighbour has; one so far from it (in spreads of the
# strength) can't go by its line.
FELL, FAR = 0.08, 0.6
# One that can't within so many errors and so much more isn't asked again.
DROPPED, FAR_OFF = 4.0, 0.03
# One so far below a leader so near has missed the leader's top.
CLOSE, BELOW = 0.15, 0.02
# Probes: on the best line of balls at these shares of the order of strength, and so far beside.
PROBED_AT = (0.06, 0.35, 0.65, 0.94)
BESIDE_DEG = (-0.3, 0.3)
# Coarser than lines are sought with: what is off in all of them alike tells them apart as well.
PROBE_STEPS = 20
# A degree of entry counts as so many boards.
BOARDS_BY_DEG = 2.0
# Of an option's neighbours, those whose lines lie this far apart lead to tops of their own; so many
# are tried.
OTHER_TOP_BOARDS = 2.5
MOST_TOPS = 2
# Degrees beside a line at which its slope is taken, and the flattest slope to go by (boards by a
# degree).
BESIDE, LEAST_SLOPE = 0.25, -0.5


@dataclass(frozen=True)
class Nodes:
    """What was solved of a menu on one task, for others to be read between.

    ``probes`` (rows of laydown board and launch) and ``axes`` give coordinates; ``cuts`` are what
    the last of the first ten and of the leaders are worth. Of each node: its place, best line and
    value, the board its mean delivery enters on, and how many of these a degree of launch is.
    """

    probes: Array
    axes: Axes
    scales: Array
    cuts: tuple[float, float]
    at: Array
    line: Array
    value: Array
    entry: Array
    process: Array

    def through(self) -> Process | None:
        """The process through them."""
        within = np.isfinite(self.process[:, 0])
        if within.sum() < 2:
            return None
        weights, left_out = self.process[within].T
        return Process.of(self.at[within], self.value[within], weights, left_out, self.scales)

    def numbers(self) -> Array:
        """All of it as one row."""
        nodes = np.column_stack([self.at, self.line, self.value, self.entry, self.process])
        sizes = [len(self.probes), len(nodes)]
        axes = np.concatenate([self.axes.mean, self.axes.axes.ravel()])
        whole = [sizes, self.cuts, self.scales, self.probes.ravel(), axes, nodes.ravel()]
        return np.concatenate([np.asarray(part, float) for part in whole])

    @classmethod
    def of(cls, numbers: Array) -> Nodes:
        """Inverse of :meth:`numbers`."""
        probes, count = int(numbers[0]), int(numbers[1])
        width = 2 * probes
        ends = np.cumsum([2, 2, COMPONENTS, width, width, width * COMPONENTS])
        _, cuts, scales, lines, mean, axes, rest = np.split(numbers, ends)
        nodes = rest.reshape(count, COMPONENTS + 7)
        at, line, value, entry, process = np.split(
            nodes, COMPONENTS + np.array([0, 2, 3, 5]), axis=1
        )
        return cls(
            lines.reshape(probes, 2), Axes(mean, axes.reshape(width, COMPONENTS)), scales,
            (float(cuts[0]), float(cuts[1])), at, line, value.ravel(), entry, process,
        )  # fmt: skip


@dataclass(frozen=True)
class Answer:
    """Best lines of each option on each task (options x tasks), which of them were solved, and by
    how much the others may be off: a standard error of their values, 0 for those solved. ``nodes``:
    of each task, where there were enough options to read others between."""

    lines: Lines
    solved: NDArray[np.bool_]
    error: Array
    nodes: list[Nodes]


def answer(
    bowler: Bowler,
    options: Sequence[Option],
    tasks: Sequence[Task],
    *,
    lane_factors: Sequence[float] | None = None,
    leaders: int = LEADERS,
    progress: Progress | None = None,
) -> Answer:
    """Best line and expected carry of every option on every task, solved where it matters.

    ``leaders``: how many of the best on each task must have been solved. ``progress`` is told the
    share done.
    """
    sorts, back = Rows.of(options).sorts()
    found = answer_rows(
        bowler, sorts, tasks, lane_factors=lane_factors, leaders=leaders, progress=progress
    )
    lines = found.lines
    return Answer(
        Lines(lines.board[back], lines.launch_deg[back], lines.value[back]),
        found.solved[back],
        found.error[back],
        found.nodes,
    )


def answer_rows(
    bowler: Bowler,
    rows: Rows,
    tasks: Sequence[Task],
    *,
    lane_factors: Sequence[float] | None = None,
    leaders: int = LEADERS,
    between: Sequence[Nodes] = (),
    surely: Sequence[int] = (),
    progress: Progress | None = None,
) -> Answer:
    """:func:`answer` for options none of which are alike, as :meth:`physics.worth.Rows.sorts` has
    them.

    ``between``: a larger menu's nodes of each task, which these options are read between; those of
    the indices ``surely`` are solved whatever they are worth.
    """
    if not len(rows) or not tasks:
        empty = np.zeros((len(rows), len(tasks)))
        return Answer(Lines(empty, empty, empty), empty > 0, empty, [])
    factors = lane_factors or [1.0] * len(tasks)
    found = [_Task(bowler, rows, task, factor) for task, factor in zip(tasks, factors, strict=True)]

    def work(j: int) -> None:
        if between:
            found[j].follow(between[j], np.array(surely, np.intp))
        else:
            found[j].lead(leaders)

    each(work, len(tasks), progress)
    count = len(rows)
    lines = Lines(
        np.column_stack([task.board[task.like] for task in found]),
        np.column_stack([task.launch[task.like] for task in found]),
        np.column_stack([task.value[task.like] for task in found]),
    )
    solved = np.column_stack([task.solved[task.like] for task in found])
    error = np.column_stack([task.error[task.like] for task in found])
    nodes = [] if between or count <= NODES else [task.nodes(leaders) for task in found]
    return Answer(lines, solved, error, nodes)


def settled(
    bowler: Bowler,
    options: Sequence[Option],
    tasks: Sequence[Task],
    near: Lines,
    *,
    lane_factors: Sequence[float] | None = None,
    progress: Progress | None = None,
) -> Lines:
    """Best lines near those given, each solved; where none is given the whole lane is searched."""
    factors = lane_factors or [1.0] * len(tasks)
    found = Lines(near.board.copy(), near.launch_deg.copy(), near.value.copy())
    if not options or not tasks:
        return found
    rows = Rows.of(options)
    everyone = np.arange(len(options))

    def work(j: int) -> None:
        task = _Task(bowler, rows, tasks[j], factors[j])
        task.board[:], task.launch[:] = near.board[:, j], near.launch_deg[:, j]
        known = np.isfinite(task.board)
        task.settle(everyone[known])
        task.search(everyone[~known])
        found.board[:, j], found.launch_deg[:, j] = task.board, task.launch
        found.value[:, j] = task.value

    each(work, len(tasks), progress)
    return found


def _surface(masses_kg: Array) -> tuple[pins.Surface, Array]:
    """One strike surface for all masses, and the speed in mph it is for with each.

    Mass moves the log odds of a strike as speed does, so a heavier ball is one that much faster.
    """
    table = pins.table()
    heavier = table.mass_slope * (masses_kg - table.mean_kg)
    slope = table.speed_slope or 1e-12
    return pins.surface(table.strike, slope, table.mean_mph), table.mean_mph - heavier / slope


class _Task:
    """The options of a menu on one task: solved, or between those that are. Behind them may stand
    the nodes of another menu, which have coordinates, lines and values but no body."""

    def __init__(self, bowler: Bowler, rows: Rows, task: Task, factor: float) -> None:
        self.count = count = len(rows)
        self.means, self.spreads = bowler.means(), bowler.spreads()
        self.bodies, self.closures = rows.bodies, rows.closures_on(factor)
        self.film = np.ascontiguousarray(task.film_um)
        self.pins, self.mean_mph = _surface(rows.bodies[:, 0])
        self.board, self.launch = np.full(count, np.nan), np.full(count, np.nan)
        self.value, self.error = np.zeros(count), np.zeros(count)
        self.solved, self.searched = np.zeros(count, np.bool_), np.zeros(count, np.bool_)
        self.about, self.tried = np.zeros(count, np.bool_), np.zeros(count, np.bool_)
        self.at, self.entry = np.zeros((count, COMPONENTS)), np.zeros((count, 2))
        self.probes, self.scales = np.empty((0, 2)), np.ones(COMPONENTS)
        self.axes = Axes(np.empty(0), np.empty((0, COMPONENTS)))
        self.process: Process | None = None
        # Whose line and value each option takes: its own, or those of one all but equal to it.
        self.like = np.arange(count)
        self.room = aim.room_for(aim.LAYDOWNS)

    def lead(self, leaders: int) -> None:
        """Solve nodes, and then all that might be among so many leaders; read the rest."""
        self._place()
        sorts = self._sorts(np.flatnonzero(self.solved))
        count = len(sorts)
        first = sorts[spread_out(self.at[sorts], min(NODES, count))]
        self.search(first[: ANCHORS if count > NODES else 1])
        self.solve(first)
        nodes = self._nodes()
        self.scales = best_scales(self.at[nodes], self.value[nodes])
        self.process = process = self._search_missed()
        if count <= NODES:
            return
        alive = sorts
        while self.solved.sum() < MOST_SOLVED:
            alive = alive[~self.solved[alive]]
            process = self._search_missed()
            self._read(process, alive)
            cut = self._cuts(leaders)[1] + WITHIN
            value, error = self.value[alive], self.error[alive]
            rows = alive[value + SURE * error >= cut]
            if not len(rows):
                break
            order = np.argsort(-(self.value[rows] + self.error[rows]), kind="stable")
            self.solve(rows[order[:ROUND]])
            alive = alive[value + DROPPED * error + FAR_OFF >= cut]
            self._try_leaders_tops(cut)
        self._settle_leaders(self._cuts(leaders)[1])
        rest = sorts[~self.solved[sorts]]
        self.process = self._search_missed()
        self._read(self.process, rest)
        self._aim_like_neighbours(rest)

    def follow(self, nodes: Nodes, surely: Indices) -> None:
        """Solve what is asked for, enough to read the others, what leads among these options, and
        all that might be among the leaders of the nodes' menu; read the rest."""
        count = self.count
        self.probes, self.scales = nodes.probes, nodes.scales
        self.at = np.concatenate([nodes.axes.at(self._probed()), nodes.at])
        self.board = np.concatenate([self.board, nodes.line[:, 0]])
        self.launch = np.concatenate([self.launch, nodes.line[:, 1]])
        self.value = np.concatenate([self.value, nodes.value])
        self.error = np.concatenate([self.error, np.zeros(len(nodes.value))])
        self.solved = np.concatenate([self.solved, np.ones(len(nodes.value), np.bool_)])
        self.entry = np.concatenate([self.entry, nodes.entry])
        self._read(nodes.through(), np.arange(count))
        read, doubt = self.value[:count].copy(), self.error[:count].copy()
        sorts = self._sorts(surely)

        def left() -> Indices:
            return sorts[~self.solved[sorts]]

        def solve(rows: Indices) -> None:
            """Solve rows, and read the rest by how far off those solved were."""
            self.solve(rows)
            ours, rest = sorts[self.solved[sorts]], left()
            off = Process.through(
                self.at[ours], self.value[ours] - read[ours], self.scales * OWN_SCALE
            )
            more, error = off.read(self.at[rest])
            self.value[rest] = np.clip(read[rest] + more, 0.0, 1.0)
            self.error[rest] = np.hypot(doubt[rest], error)

        def first() -> Indices:
            return sorts[np.argsort(-self.value[sorts], kind="stable")[:OWN]]

        solve(np.union1d(surely, first()))
        # Until none is too far from those solved to be read.
        while len(rest := left()):
            _, away = nearest(self.at, rest, np.flatnonzero(self.solved))
            if away.max() <= FAR * FAR:
                break
            solve(rest[[int(away.argmax())]])
        first_cut, cut = (one + WITHIN for one in nodes.cuts)
        own = -math.inf
        while len(rest := left()):
            value, error = self.value[rest], self.error[rest]
            if own < math.inf:
                own = float(self.value[first()[-1]])
            might = (value + SURE * error >= min(own, first_cut)) | (value + error >= cut)
            rows = rest[might]
            if not len(rows):
                break
            order = np.argsort(-(self.value[rows] + self.error[rows]), kind="stable")[:OWN]
            solve(rows[order])
            # Balls that all but equal one another needn't all be solved to know the first.
            leads = first()
            if self.solved[leads].all() and not np.isin(rows[order], leads).any():
                own = math.inf
        self._settle_leaders(min(float(self.value[first()[-1]]), nodes.cuts[1]))
        self._aim_like_neighbours(rest)

    def _sorts(self, first: Indices) -> Indices:
        """One option of each sort that is all but equal, and which each option is like; of those
        like them, the ``first`` ones stand for all."""
        self.like = alike(self.at[: self.count], ALIKE)
        for i in first:
            self.like[self.like == self.like[i]] = i
        return np.unique(self.like)

    def _try_leaders_tops(self, cut: float) -> None:
        """Settle those far below a leader near them from its line too, once."""
        nodes = self._nodes()
        leads = self.value[nodes] >= cut
        low, leaders = nodes[~leads & ~self.tried[nodes]], nodes[leads]
        if not len(low) or not len(leaders):
            return
        near, away = nearest(self.at, low, leaders)
        near = leaders[near]
        missed = (away <= CLOSE * CLOSE) & (self.value[low] < self.value[near] - BELOW)
        low, near = low[missed], near[missed]
        self.tried[low] = True
        board, launch, value = self.board[low], self.launch[low], self.value[low]
        self.board[low], self.launch[low] = self.board[near], self.launch[near]
        self.settle(low)
        worse = self.value[low] < value
        back = low[worse]
        self.board[back], self.launch[back] = board[worse], launch[worse]
        self.value[back] = value[worse]

    def _settle_leaders(self, cut: float) -> None:
        """Let solved rows worth so much be worth what the tile about their line says, as wherever
        they were settled from."""
        rows = self._nodes()
        rows = rows[rows < self.count]
        self.settle(rows[~self.about[rows] & (self.value[rows] >= cut)])

    def nodes(self, leaders: int) -> Nodes:
        """What others can be read between."""
        rows = np.flatnonzero(self.solved)
        line = np.column_stack([self.board[rows], self.launch[rows]])
        process = np.full((len(rows), 2), np.nan)
        if self.process is not None:
            process[np.isin(rows, self._nodes())] = np.column_stack(
                [self.process.weights, self.process.left_out]
            )
        return Nodes(
            self.probes, self.axes, self.scales, self._cuts(leaders), self.at[rows], line,
            self.value[rows], self.entry[rows], process,
        )  # fmt: skip

    def _cuts(self, leaders: int) -> tuple[float, float]:
        """Values of the last of the first ten and of the leaders."""
        ordered = -np.sort(-self.value[self.like])
        first, last = (min(place, len(ordered)) - 1 for place in (FIRST, leaders))
        return float(ordered[first]), float(ordered[last])

    def solve(self, rows: Indices) -> None:
        """Solve the rows that aren't yet, each from the lines of its nearest solved neighbours."""
        _solve(
            rows, self.at, self.board, self.launch, self.value, self.error, self.solved,
            self.about, self.bodies, self.closures, self.film, self.pins, self.mean_mph, self.means,
            self.spreads, self.room,
        )  # fmt: skip

    def settle(self, rows: Indices) -> None:
        """Solve rows from the lines they have."""
        _settle(
            rows, self.board, self.launch, self.value, self.error, self.solved, self.about,
            self.bodies, self.closures, self.film, self.pins, self.mean_mph, self.means,
            self.spreads, self.room,
        )  # fmt: skip

    def search(self, rows: Indices) -> None:
        """Solve rows by searching the whole lane."""
        self.searched[rows] = True
        _search(
            rows, self.board, self.launch, self.value, self.error, self.solved, self.about,
            self.bodies, self.closures, self.film, self.pins, self.mean_mph, self.means,
            self.spreads,
        )  # fmt: skip

    def _aim_like_neighbours(self, rest: Indices) -> None:
        """Lines for rows that aren't solved: their nearest neighbour's, with the launch moved
        until the mean delivery enters where that one's does."""
        done = np.flatnonzero(self.solved)
        ours = done[(done < self.count) & np.isfinite(self.board[done])]
        board, launch = self.board[ours], self.launch[ours]
        entered = self._thrown(ours, board, launch)[:, ENTRY_BOARD]
        beside = self._thrown(ours, board, launch + BESIDE)[:, ENTRY_BOARD]
        self.entry[ours] = np.column_stack([entered, (beside - entered) / BESIDE])
        near = done[nearest(self.at, rest, done)[0]]
        reached = np.isfinite(self.board[near])
        self.value[rest[~reached]] = 0.0
        rest, near = rest[reached], near[reached]
        board, launch = self.board[near], self.launch[near]
        want, slope = self.entry[near].T
        # Further towards the gutter a ball enters further out, or it is no launch to go by.
        by = np.where(slope < LEAST_SLOPE, 1.0 / np.minimum(slope, LEAST_SLOPE), 0.0)
        for _ in range(2):
            out = self._thrown(rest, board, launch)
            move = np.where(out[:, ON_LANE] > 0.5, (want - out[:, ENTRY_BOARD]) * by, 0.0)
            launch = np.clip(launch + np.clip(move, -0.5, 0.5), *LAUNCH_DEG)
        self.board[rest], self.launch[rest] = board, launch

    def _thrown(self, rows: Indices, board: Array, launch: Array, steps: int = aim.STEPS) -> Array:
        """The mean delivery of each row's option on a line of its own."""
        thrown = np.empty((len(rows), 6))
        thrown[:, 0], thrown[:, 1], thrown[:, 2:] = board_to_y_m(board), launch, self.means
        out: Array = averaged.run_each(
            thrown, self.bodies[rows], self.closures[rows], self.film, steps
        )
        return out

    def _place(self) -> None:
        """Coordinates of every option."""
        count = self.count
        everyone = np.arange(count)
        # In order of strength: by dry friction and roughness until a lane says better.
        guess = self.closures[:, 1] * np.log1p(self.closures[:, 2])
        middle = int(np.argsort(guess, kind="stable")[count // 2])
        self.search(np.array([middle]))
        board, launch = self._line_or_usual(middle)
        entered = self._thrown(everyone, np.full(count, board), np.full(count, launch))
        order = np.argsort(entered[:, ENTRY_BOARD], kind="stable")
        probes = []
        for share in PROBED_AT if count > NODES else (0.5,):
            i = int(order[round(share * (count - 1))])
            if not self.solved[i]:
                self.search(np.array([i]))
            board, launch = self._line_or_usual(i)
            probes += [(board, launch + beside) for beside in BESIDE_DEG]
        self.probes = np.array(probes)
        columns = self._probed()
        self.axes = Axes.of(columns)
        self.at = self.axes.at(columns)

    def _probed(self) -> Array:
        """What the probes do with every option: where and how steeply each enters."""
        count = self.count
        everyone = np.arange(count)
        columns = np.empty((count, 2 * len(self.probes)))
        for n, (board, launch) in enumerate(self.probes):
            out = self._thrown(everyone, np.full(count, board), np.full(count, launch), PROBE_STEPS)
            columns[:, 2 * n] = np.clip(out[:, ENTRY_BOARD], 0.0, 40.0)
            columns[:, 2 * n + 1] = BOARDS_BY_DEG * np.clip(out[:, ENTRY_ANGLE_DEG], -10.0, 15.0)
        return columns

    def _line_or_usual(self, i: int) -> tuple[float, float]:
        if math.isfinite(self.board[i]):
            return float(self.board[i]), float(self.launch[i])
        return 20.0, 1.5

    def _nodes(self) -> Indices:
        """Rows that were solved and have a line."""
        return np.flatnonzero(self.solved & np.isfinite(self.board))

    def _search_missed(self) -> Process | None:
        """Search the whole lane for nodes far below what the others say of them, which have missed
        their top; the process through all of them then."""
        nodes = self._nodes()
        if len(nodes) < 2:
            return None
        process = Process.through(self.at[nodes], self.value[nodes], self.scales)
        low = process.left_out < -max(SURE * process.usual_error, MISSED)
        missed = nodes[low & ~self.searched[nodes]]
        if len(missed):
            self.search(missed)
            process = Process.through(self.at[nodes], self.value[nodes], self.scales)
        return process

    def _read(self, process: Process | None, rows: Indices) -> None:
        """Values and errors of rows that aren't solved."""
        if process is not None:
            value, self.error[rows] = process.read(self.at[rows])
            self.value[rows] = np.clip(value, 0.0, 1.0)


@njit(nogil=True, cache=True, error_model="numpy")
def _meets(i, bodies, closures, film, pins, mean_mph):  # type: ignore[no-untyped-def]
    """Ball, lane and pins of a row as the kernels take them."""
    b, c = bodies[i], closures[i]
    body = ((b[0], b[1], b[2], (b[3], b[4], b[5])), (b[6], b[7], b[8]))
    closure = (c[0], c[1], c[2], c[3], c[4], c[5])
    return body, (closure, film), (*pins[:6], mean_mph[i])


@njit(nogil=True, cache=True, error_model="numpy")
def _search(  # type: ignore[no-untyped-def]
    rows, board, launch, value, error, solved, about, bodies, closures, film, pins, mean_mph, means,
    spreads,
):  # fmt: skip
    line = np.empty(3)
    for i in rows:
        body, oil, there = _meets(i, bodies, closures, film, pins, mean_mph)
        aim.best_line(means, spreads, body, oil, there, aim.STEPS, STARTS, False, line)
        if not solved[i] or line[2] > value[i]:
            board[i], launch[i], value[i] = line[0], line[1], line[2]
            about[i] = False
        solved[i], error[i] = True, 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def _solve(  # type: ignore[no-untyped-def]
    rows, at, board, launch, value, error, solved, about, bodies, closures, film, pins, mean_mph,
    means, spreads, room,
):  # fmt: skip
    best, line = np.empty(4), np.empty(3)
    near, away = np.empty(NEIGHBOURS, np.intp), np.empty(NEIGHBOURS)
    for i in rows:
        if solved[i]:
            continue
        found = _neighbours(i, at, board, solved, near, away)
        body, oil, there = _meets(i, bodies, closures, film, pins, mean_mph)
        value[i] = 0.0
        tops = 0
        for n in range(found):
            start, new = near[n], tops < MOST_TOPS
            for m in range(n):
                new = new and abs(board[near[m]] - board[start]) >= OTHER_TOP_BOARDS
            if not new:
                continue
            tops += 1
            aim.settle(
                board[start], launch[start], means, spreads, body, oil, there, aim.STEPS, False,
                room, best,
            )  # fmt: skip
            if best[2] > value[i]:
                board[i], launch[i], value[i] = best[0], best[1], best[2]
                about[i] = best[3] > 0.5
        # No neighbour, none near, or one worth far more: there may be a better top somewhere.
        if found == 0 or away[0] > FAR * FAR or value[i] < value[near[0]] - FELL:
            aim.best_line(means, spreads, body, oil, there, aim.STEPS, STARTS, False, line)
            if found == 0 or line[2] > value[i]:
                board[i], launch[i], value[i] = line[0], line[1], line[2]
                about[i] = False
        solved[i], error[i] = True, 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def _settle(  # type: ignore[no-untyped-def]
    rows, board, launch, value, error, solved, about, bodies, closures, film, pins, mean_mph, means,
    spreads, room,
):  # fmt: skip
    best = np.empty(4)
    for i in rows:
        body, oil, there = _meets(i, bodies, closures, film, pins, mean_mph)
        aim.settle(
            board[i], launch[i], means, spreads, body, oil, there, aim.STEPS, True, room, best
        )
        board[i], launch[i], value[i] = best[0], best[1], best[2]
        solved[i], about[i], error[i] = True, True, 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def _neighbours(i, at, board, solved, near, away):  # type: ignore[no-untyped-def]
    """The nearest solved rows that have a line, nearest first; how many there are."""
    found = 0
    for n in range(at.shape[0]):
        if not solved[n] or math.isnan(board[n]):
            continue
        square = 0.0
        for k in range(at.shape[1]):
            square += (at[n, k] - at[i, k]) ** 2
        if found < near.shape[0]:
            found += 1
        elif square >= away[found - 1]:
            continue
        m = found - 1
        while m > 0 and away[m - 1] > square:
            near[m], away[m] = near[m - 1], away[m - 1]
            m -= 1
        near[m], away[m] = n, square
    return found
