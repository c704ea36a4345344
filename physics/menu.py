"""Every option on every task at once: few are solved, the rest are read between them.

An option meets the lane through few numbers. Covers, finishes, layouts and models differ in half a
dozen (dry and oiled friction, roughness, moment about the spin, how far flare carries the ring of
oil), but what these do to a delivery is nearly one number on a given lane, its strength, and what
is left over is small. So on each task

1. a handful of *probes* is thrown with every option: deliveries on lines that suit weak, middling
   and strong balls. Where and how steeply they enter are the option's coordinates; their principal
   components, of which eight are kept, say it in order of size;
2. nodes spread over those coordinates are solved (:mod:`physics.aim`), each from the line of its
   nearest solved neighbour, the first few by a search of the whole lane;
3. a Gaussian process through the solved values reads the others; leaving each node out in turn
   says how far off it is there;
4. whatever might, within that error, be among the best is solved too, round after round, until the
   rest can't change who leads.

So what is shown of the leaders was solved, never interpolated. Tasks are worked on side by side,
each by one thread in a fixed order and knowing nothing of the others: results depend neither on how
many threads there are nor on which other tasks are asked about.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from physics import aim, averaged, pins
from physics.bowler import Bowler
from physics.line import LAUNCH_DEG
from physics.shape import ENTRY_ANGLE_DEG, ENTRY_BOARD, ON_LANE
from physics.units import board_to_y_m
from physics.worth import Lines, Option, Progress, Task, body_tuple, each

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

# Options solved before any is interpolated, and how many of them by searching the whole lane; no
# menu smaller than this is interpolated at all.
NODES, ANCHORS = 64, 3
STARTS = 2
# Options solved in a round, and how many leaders of a task are solved.
ROUND, LEADERS = 32, 50
MOST_SOLVED = 400
# None of the others may reach the first ten by more than so much within so many of its errors, nor
# the rest of the leaders within one.
FIRST, WITHIN, SURE = 10, 0.002, 2.0
# A node this far below what the others say of it may have missed its top.
MISSED = 0.005
# One worth so much less than its nearest neighbour has; one so far from it (in spreads of the
# strength) can't go by its line.
FELL, FAR = 0.08, 0.6
# One that can't within so many errors isn't asked again.
DROPPED = 4.0
# Probes: on the best line of balls at these shares of the order of strength, and so far beside.
PROBED_AT = (0.06, 0.35, 0.65, 0.94)
BESIDE_DEG = (-0.3, 0.3)
COMPONENTS = 8
# A degree of entry counts as so many boards.
BOARDS_BY_DEG = 2.0
# Scales the process is tried with: of the first component, and of the others as a share of it.
SCALES = (0.15, 0.3, 0.6, 1.2)
SHARES = (1.0, 0.5, 0.25)
NUGGET = 1e-4
# Neighbours whose errors, left out in turn, are an option's.
NEIGHBOURS = 8
# Of an option's neighbours, those whose lines lie this far apart lead to tops of their own; so many
# are tried.
OTHER_TOP_BOARDS = 2.5
MOST_TOPS = 2


@dataclass(frozen=True)
class Answer:
    """Best lines of each option on each task (options x tasks), which of them were solved, and by
    how much the others may be off: a standard error of their values, 0 for those solved."""

    lines: Lines
    solved: NDArray[np.bool_]
    error: Array


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
    if not options or not tasks:
        empty = np.zeros((len(options), len(tasks)))
        return Answer(Lines(empty, empty, empty), empty > 0, empty)
    factors = lane_factors or [1.0] * len(tasks)
    bodies, closures = _rows_of(options)
    which, back = _alike(bodies, closures)
    masses_kg = np.array([options[i].body.mass_kg for i in which])
    found = [
        _Task(bowler, bodies[which], closures[which], masses_kg, task, factor)
        for task, factor in zip(tasks, factors, strict=True)
    ]

    def work(j: int) -> None:
        found[j].lead(leaders)
        found[j].finish()

    each(work, len(tasks), progress)
    lines = Lines(
        np.column_stack([task.board for task in found])[back],
        np.column_stack([task.launch for task in found])[back],
        np.column_stack([task.value for task in found])[back],
    )
    solved = np.column_stack([task.solved for task in found])[back]
    error = np.column_stack([task.error for task in found])[back]
    return Answer(lines, solved, error)


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
    masses_kg = np.array([option.body.mass_kg for option in options])
    found = Lines(near.board.copy(), near.launch_deg.copy(), near.value.copy())
    if not options or not tasks:
        return found
    bodies, closures = _rows_of(options)
    everyone = np.arange(len(options))

    def work(j: int) -> None:
        task = _Task(bowler, bodies, closures, masses_kg, tasks[j], factors[j])
        task.board[:], task.launch[:] = near.board[:, j], near.launch_deg[:, j]
        known = np.isfinite(task.board)
        task.settle(everyone[known])
        task.search(everyone[~known])
        found.board[:, j], found.launch_deg[:, j] = task.board, task.launch
        found.value[:, j] = task.value

    each(work, len(tasks), progress)
    return found


def _rows_of(options: Sequence[Option]) -> tuple[Array, Array]:
    """Bodies and closures as :func:`physics.averaged.run_each` takes them."""
    bodies, closures, made = [], [], dict[int, list[float]]()
    for option in options:
        row = made.get(id(option.body))
        if row is None:
            (mass, radius, gravity, moments), p = body_tuple(option.body)
            row = made[id(option.body)] = [mass, radius, gravity, *moments, *p]
        bodies.append(row)
        closures.append(option.closure.numbers())
    return np.array(bodies), np.array(closures)


def _alike(bodies: Array, closures: Array) -> tuple[Indices, Indices]:
    """One of each sort of options that meet a lane alike, and the sort of each option."""
    rows = np.column_stack([bodies, closures])
    _, which, back = np.unique(rows, axis=0, return_index=True, return_inverse=True)
    return which, back.reshape(-1)


def _surface(masses_kg: Array) -> tuple[pins.Surface, Array]:
    """One strike surface for all masses, and the speed in mph it is for with each.

    Mass moves the log odds of a strike as speed does, so a heavier ball is one that much faster.
    """
    table = pins.table()
    heavier = table.mass_slope * (masses_kg - table.mean_kg)
    slope = table.speed_slope or 1e-12
    return pins.surface(table.strike, slope, table.mean_mph), table.mean_mph - heavier / slope


class _Task:
    """The options of a menu on one task: solved, or between those that are."""

    def __init__(
        self,
        bowler: Bowler,
        bodies: Array,
        closures: Array,
        masses_kg: Array,
        task: Task,
        factor: float,
    ) -> None:
        count = len(bodies)
        self.means, self.spreads = bowler.means(), bowler.spreads()
        self.bodies, self.closures = bodies, closures.copy()
        self.closures[:, :2] *= factor
        self.film = np.ascontiguousarray(task.film_um)
        self.pins, self.mean_mph = _surface(masses_kg)
        self.board, self.launch = np.full(count, np.nan), np.full(count, np.nan)
        self.value, self.error = np.zeros(count), np.zeros(count)
        self.solved, self.searched = np.zeros(count, np.bool_), np.zeros(count, np.bool_)
        self.at = np.zeros((count, COMPONENTS))
        self.scales = np.ones(COMPONENTS)
        self.room = aim.room_for(aim.LAYDOWNS)

    def lead(self, leaders: int) -> None:
        """Solve nodes, and then all that might be among so many leaders."""
        count = len(self.value)
        self._place()
        first = _spread_out(self.at, min(NODES, count))
        self.search(first[: ANCHORS if count > NODES else 1])
        self.solve(first)
        self.scales = self._best_scales()
        self._search_missed()
        if count <= NODES:
            return
        alive = np.arange(count)
        while self.solved.sum() < MOST_SOLVED:
            alive = alive[~self.solved[alive]]
            self._read(alive)
            ordered = -np.sort(-self.value)
            first_cut = ordered[min(FIRST, count) - 1] + WITHIN
            cut = ordered[min(leaders, count) - 1] + WITHIN
            value, error = self.value[alive], self.error[alive]
            might = (value + SURE * error >= first_cut) | (value + error >= cut)
            rows = alive[might]
            if not len(rows):
                break
            order = np.argsort(-(self.value[rows] + self.error[rows]), kind="stable")
            self.solve(rows[order[:ROUND]])
            alive = alive[value + DROPPED * error + WITHIN >= cut]

    def solve(self, rows: Indices) -> None:
        """Solve the rows that aren't yet, each from the lines of its nearest solved neighbours."""
        _solve(
            rows, self.at, self.board, self.launch, self.value, self.error, self.solved,
            self.bodies, self.closures, self.film, self.pins, self.mean_mph, self.means,
            self.spreads, self.room,
        )  # fmt: skip

    def settle(self, rows: Indices) -> None:
        """Solve rows from the lines they have."""
        _settle(
            rows, self.board, self.launch, self.value, self.error, self.solved, self.bodies,
            self.closures, self.film, self.pins, self.mean_mph, self.means, self.spreads, self.room,
        )  # fmt: skip

    def finish(self) -> None:
        """Values of those not solved, and lines for them: their nearest neighbour's, with the
        launch moved until the mean delivery enters where that one's does."""
        if self.solved.all():
            return
        self._read(np.flatnonzero(~self.solved))
        done, rest = np.flatnonzero(self.solved), np.flatnonzero(~self.solved)
        near = done[_nearest(self.at, rest, done)]
        board, launch = self.board[near], self.launch[near]
        reached = np.isfinite(board)
        self.value[rest[~reached]] = 0.0
        rest, near, board, launch = rest[reached], near[reached], board[reached], launch[reached]
        theirs = self._thrown(near, board, launch)
        for _ in range(2):
            ours = self._thrown(rest, board, launch)
            beside = self._thrown(rest, board, launch + 0.25)
            slope = (beside[:, ENTRY_BOARD] - ours[:, ENTRY_BOARD]) / 0.25
            off = theirs[:, ENTRY_BOARD] - ours[:, ENTRY_BOARD]
            on = (ours[:, ON_LANE] > 0.5) & (beside[:, ON_LANE] > 0.5) & (slope < -0.5)
            move = np.where(on, off / np.where(on, slope, 1.0), 0.0)
            launch = np.clip(launch + np.clip(move, -0.5, 0.5), *LAUNCH_DEG)
        self.board[rest], self.launch[rest] = board, launch

    def search(self, rows: Indices) -> None:
        """Solve rows by searching the whole lane."""
        self.searched[rows] = True
        _search(
            rows, self.board, self.launch, self.value, self.error, self.solved, self.bodies,
            self.closures, self.film, self.pins, self.mean_mph, self.means, self.spreads,
        )  # fmt: skip

    def _thrown(self, rows: Indices, board: Array, launch: Array) -> Array:
        """The mean delivery of each row's option on a line of its own."""
        y = board_to_y_m(1.0) + (board - 1.0) * (board_to_y_m(2.0) - board_to_y_m(1.0))
        mean = np.tile(np.array(self.means), (len(rows), 1))
        thrown = np.column_stack([y, launch, mean])
        out: Array = averaged.run_each(
            thrown, self.bodies[rows], self.closures[rows], self.film, aim.STEPS
        )
        return out

    def _place(self) -> None:
        """Coordinates of every option: principal components of what probes do."""
        count = len(self.value)
        everyone = np.arange(count)
        # In order of strength: by dry friction and roughness until a lane says better.
        guess = self.closures[:, 1] * np.log1p(self.closures[:, 2])
        middle = int(np.argsort(guess, kind="stable")[count // 2])
        self.search(np.array([middle]))
        board, launch = self._line_or_usual(middle)
        entered = self._thrown(everyone, np.full(count, board), np.full(count, launch))
        order = np.argsort(entered[:, ENTRY_BOARD], kind="stable")
        columns = []
        for share in PROBED_AT if count > NODES else (0.5,):
            i = int(order[round(share * (count - 1))])
            if not self.solved[i]:
                self.search(np.array([i]))
            board, launch = self._line_or_usual(i)
            for beside in BESIDE_DEG:
                out = self._thrown(everyone, np.full(count, board), np.full(count, launch + beside))
                columns.append(np.clip(out[:, ENTRY_BOARD], 0.0, 40.0))
                columns.append(BOARDS_BY_DEG * np.clip(out[:, ENTRY_ANGLE_DEG], -10.0, 15.0))
        self.at = _components(np.ascontiguousarray(np.column_stack(columns)), COMPONENTS)

    def _line_or_usual(self, i: int) -> tuple[float, float]:
        if math.isfinite(self.board[i]):
            return float(self.board[i]), float(self.launch[i])
        return 20.0, 1.5

    def _nodes(self) -> Indices:
        """Rows that were solved and have a line."""
        return np.flatnonzero(self.solved & np.isfinite(self.board))

    def _best_scales(self) -> Array:
        """The scales under which each node is told best by the others."""
        nodes = self._nodes()
        if len(nodes) < 2:
            return np.ones(COMPONENTS)
        at, values = self.at[nodes], self.value[nodes]
        best, least = np.ones(COMPONENTS), math.inf
        for scale in SCALES:
            for share in SHARES:
                scales = scale * np.array([1.0] + [share] * (COMPONENTS - 1))
                _, left_out = _process(at, values, scales)
                off = float((left_out**2).mean())
                if off < least:
                    best, least = scales, off
        return best

    def _search_missed(self) -> tuple[Array, Array]:
        """Search the whole lane for nodes far below what the others say of them, which have missed
        their top; the process through all of them then."""
        nodes = self._nodes()
        if len(nodes) < 2:
            return np.zeros(len(nodes)), np.zeros(len(nodes))
        at = self.at[nodes]
        weights, left_out = _process(at, self.value[nodes], self.scales)
        usual = math.sqrt(float((left_out**2).mean()))
        missed = nodes[(left_out < -max(usual, MISSED)) & ~self.searched[nodes]]
        if len(missed):
            self.search(missed)
            weights, left_out = _process(at, self.value[nodes], self.scales)
        return weights, left_out

    def _read(self, rows: Indices) -> None:
        """Values and errors of rows that aren't solved, off those that are."""
        nodes = self._nodes()
        if len(nodes) < 2:
            return
        at = self.at[nodes]
        weights, left_out = self._search_missed()
        mean = self.value[nodes].mean()
        value, error = _read_off(self.at[rows], at, weights, mean, left_out, self.scales)
        self.value[rows] = np.clip(value, 0.0, 1.0)
        self.error[rows] = error


@njit(nogil=True, cache=True, error_model="numpy")
def _meets(i, bodies, closures, film, pins, mean_mph):  # type: ignore[no-untyped-def]
    """Ball, lane and pins of a row as the kernels take them."""
    b, c = bodies[i], closures[i]
    body = ((b[0], b[1], b[2], (b[3], b[4], b[5])), (b[6], b[7], b[8]))
    closure = (c[0], c[1], c[2], c[3], c[4], c[5])
    return body, (closure, film), (*pins[:6], mean_mph[i])


@njit(nogil=True, cache=True, error_model="numpy")
def _search(  # type: ignore[no-untyped-def]
    rows, board, launch, value, error, solved, bodies, closures, film, pins, mean_mph, means,
    spreads,
):  # fmt: skip
    line = np.empty(3)
    for i in rows:
        body, oil, there = _meets(i, bodies, closures, film, pins, mean_mph)
        aim.best_line(means, spreads, body, oil, there, aim.STEPS, STARTS, line)
        if not solved[i] or line[2] > value[i]:
            board[i], launch[i], value[i] = line[0], line[1], line[2]
        solved[i], error[i] = True, 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def _solve(  # type: ignore[no-untyped-def]
    rows, at, board, launch, value, error, solved, bodies, closures, film, pins, mean_mph, means,
    spreads, room,
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
                board[start], launch[start], means, spreads, body, oil, there, aim.STEPS, room, best
            )
            if best[2] > value[i]:
                board[i], launch[i], value[i] = best[0], best[1], best[2]
        # No neighbour, none near, or one worth far more: there may be a better top somewhere.
        if found == 0 or away[0] > FAR * FAR or value[i] < value[near[0]] - FELL:
            aim.best_line(means, spreads, body, oil, there, aim.STEPS, STARTS, line)
            if found == 0 or line[2] > value[i]:
                board[i], launch[i], value[i] = line[0], line[1], line[2]
        solved[i], error[i] = True, 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def _settle(  # type: ignore[no-untyped-def]
    rows, board, launch, value, error, solved, bodies, closures, film, pins, mean_mph, means,
    spreads, room,
):  # fmt: skip
    best = np.empty(4)
    for i in rows:
        body, oil, there = _meets(i, bodies, closures, film, pins, mean_mph)
        aim.settle(board[i], launch[i], means, spreads, body, oil, there, aim.STEPS, room, best)
        board[i], launch[i], value[i] = best[0], best[1], best[2]
        solved[i], error[i] = True, 0.0


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


@njit(nogil=True, cache=True, error_model="numpy")
def _components(columns, count):  # type: ignore[no-untyped-def]
    """Principal components (rows x count) over the spread of the first, largest first."""
    rows, width = columns.shape
    for k in range(width):
        columns[:, k] -= columns[:, k].mean()
    products = np.zeros((width, width))
    for i in range(rows):
        for k in range(width):
            for m in range(k + 1):
                products[k, m] += columns[i, k] * columns[i, m]
    for k in range(width):
        for m in range(k):
            products[m, k] = products[k, m]
    sizes, axes = np.linalg.eigh(products / rows)
    size = math.sqrt(max(sizes[width - 1], 1e-12))
    out = np.zeros((rows, count))
    for c in range(min(count, width)):
        for i in range(rows):
            total = 0.0
            for k in range(width):
                total += columns[i, k] * axes[k, width - 1 - c]
            out[i, c] = total / size
    return out


@njit(nogil=True, cache=True, error_model="numpy")
def _spread_out(at, count):  # type: ignore[no-untyped-def]
    """Indices of so many rows, each as far as can be from those before; the first is central."""
    rows, width = at.shape
    out = np.empty(count, np.intp)
    nearest = np.full(rows, np.inf)
    central, least = 0, np.inf
    for i in range(rows):
        away = 0.0
        for k in range(width):
            away += at[i, k] * at[i, k]
        if away < least:
            central, least = i, away
    out[0] = central
    for n in range(1, count):
        last, furthest, far = out[n - 1], 0, -1.0
        for i in range(rows):
            away = 0.0
            for k in range(width):
                away += (at[i, k] - at[last, k]) ** 2
            nearest[i] = min(nearest[i], away)
            if nearest[i] > far:
                furthest, far = i, nearest[i]
        out[n] = furthest
    return out


@njit(nogil=True, cache=True, error_model="numpy")
def _nearest(at, rows, among):  # type: ignore[no-untyped-def]
    """For each of some rows the place in ``among`` of the nearest."""
    out = np.empty(rows.shape[0], np.intp)
    for n in range(rows.shape[0]):
        best, least = 0, np.inf
        for m in range(among.shape[0]):
            away = 0.0
            for k in range(at.shape[1]):
                away += (at[rows[n], k] - at[among[m], k]) ** 2
            if away < least:
                best, least = m, away
        out[n] = best
    return out


@njit(nogil=True, cache=True, error_model="numpy")
def _likeness(one, other, scales):  # type: ignore[no-untyped-def]
    total = 0.0
    for k in range(scales.shape[0]):
        total += ((one[k] - other[k]) / scales[k]) ** 2
    return math.exp(-0.5 * total)


@njit(nogil=True, cache=True, error_model="numpy")
def _process(at, values, scales):  # type: ignore[no-untyped-def]
    """Weights of a Gaussian process through values, and how far off each is read without itself.

    Leave-one-out residuals are w_i / (K^-1)_ii (Rasmussen and Williams, Gaussian Processes for
    Machine Learning, 2006, 5.4.2; from memory). Cholesky in plain loops: the library's may add up
    in another order on other numbers of threads.
    """
    count = values.shape[0]
    low = np.zeros((count, count))
    for i in range(count):
        for j in range(i + 1):
            low[i, j] = _likeness(at[i], at[j], scales)
        low[i, i] += NUGGET
    for i in range(count):
        for j in range(i + 1):
            total = low[i, j]
            for k in range(j):
                total -= low[i, k] * low[j, k]
            low[i, j] = math.sqrt(max(total, 1e-12)) if i == j else total / low[j, j]
    # Rows of the inverse of the triangle, then of K.
    inverse = np.zeros((count, count))
    for j in range(count):
        inverse[j, j] = 1.0 / low[j, j]
        for i in range(j + 1, count):
            total = 0.0
            for k in range(j, i):
                total -= low[i, k] * inverse[k, j]
            inverse[i, j] = total / low[i, i]
    mean = values.mean()
    half = np.zeros(count)
    for i in range(count):
        for k in range(i + 1):
            half[i] += inverse[i, k] * (values[k] - mean)
    weights, left_out = np.zeros(count), np.zeros(count)
    for i in range(count):
        diagonal = 0.0
        for k in range(i, count):
            weights[i] += inverse[k, i] * half[k]
            diagonal += inverse[k, i] * inverse[k, i]
        left_out[i] = weights[i] / diagonal
    return weights, left_out


@njit(nogil=True, cache=True, error_model="numpy")
def _read_off(rest, at, weights, mean, left_out, scales):  # type: ignore[no-untyped-def]
    """Values of the process at other places, and the errors of the nodes nearest to each."""
    count = rest.shape[0]
    value, error = np.empty(count), np.empty(count)
    nodes = at.shape[0]
    few = min(NEIGHBOURS, nodes)
    near, off = np.empty(few), np.empty(few)
    for i in range(count):
        total = mean
        near[:] = -1.0
        for n in range(nodes):
            alike = _likeness(rest[i], at[n], scales)
            total += weights[n] * alike
            if alike > near[few - 1]:
                m = few - 1
                while m > 0 and near[m - 1] < alike:
                    near[m], off[m] = near[m - 1], off[m - 1]
                    m -= 1
                near[m], off[m] = alike, left_out[n]
        value[i] = total
        square = 0.0
        for m in range(few):
            square += off[m] * off[m]
        error[i] = math.sqrt(square / few)
    return value, error
