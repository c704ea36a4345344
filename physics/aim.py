"""Where to aim a ball, and what that is worth, by few deliveries thrown where they tell most.

A bowler scatters in six numbers. Launch and laydown are what a line is made of, and the oil steers
misses in them back: so deliveries are thrown on a grid of both, wide enough for their scatter. The
other four (speed, revs, rotation, tilt) act nearly as one: they make the ball hook more or less. So
the grid is thrown at five places along their steepest mixture, those of the five-point Gauss rule
of a normal distribution. Chances of a strike read off one such *tile* are then averaged over all
three, about every line in its middle, and the best of them found, with nothing but deliveries that
were thrown: gutters, dry boards and steering are in it as they are.
"""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from physics.averaged import run_into
from physics.line import LAUNCH_DEG, LAYDOWN_BOARDS, POCKET_BOARD
from physics.shape import (
    BREAK_BOARD,
    ENTRY_ANGLE_DEG,
    ENTRY_BOARD,
    ENTRY_SPEED_M_S,
    GUTTER_M,
    ON_LANE,
    RESULTS,
)
from physics.units import BOARD_M, CENTRE_BOARD, M_S_TO_MPH

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

STEPS = 40
# Places along the mixture and their weights: five-point Gauss-Hermite (probabilists').
PLACES: Array = np.array([-2.8569700138728056, -1.3556261799742659, 0.0, 1.3556261799742659,
                          2.8569700138728056])  # fmt: skip
WEIGHTS: Array = np.array([0.011257411327720693, 0.22207592200561264, 0.5333333333333333,
                           0.22207592200561264, 0.011257411327720693])  # fmt: skip
# Laydowns of a tile, about a standard deviation apart: the scatter takes two either side of each,
# so lines can be laid down at the middle ones. The step makes up for the tails left out.
LAYDOWNS, SIDE, STEP_SD = 7, 2, 1.04
LEAST_STEP_BOARDS = 0.2
# Launches of a tile: as far as so many deviations, and so many degrees or deviations for mean
# launches other than the middle one. At the outer places, which count for little, every second one.
LAUNCHES = 13
EVERY: Indices = np.array([2, 1, 1, 1, 2])
WIDE, REACH_DEG, REACH_SD = 3.0, 0.35, 0.75
# Where neighbours enter more than so many boards apart about the pocket, on either side of the head
# pin, more are thrown between them.
NEAR_BOARDS = (15.5, 24.5)
FINE_BOARDS, MOST_BETWEEN = 1.25, 3
# Chances are read about every so many degrees, and kept every so many deviations.
READ_DEG, MOST_READ = 0.035, 12
APART = 0.25
POINTS = 25
MOST_FINE = 256
# A laydown at the edge that is worth no more than so much more than the middle one leads nowhere.
FLAT = 0.001
LEAST_SD_DEG = 0.05
GUTTER_BOARD = CENTRE_BOARD - GUTTER_M / BOARD_M
# Lines looked at before tiles are thrown: every so many boards and degrees.
LOOK_BOARDS, LOOK_DEG = 2.0, 0.5
LOOKS = 21
MOST_FOUND = 40
# A board of laydown is made up for by about so much launch.
DEG_BY_BOARD = 0.12
MOST_TILES = 6


@njit(nogil=True, cache=True, error_model="numpy")
def mixture(board, launch, means, spreads, body, oil, steps, way):  # type: ignore[no-untyped-def]
    """The steepest mixture of speed, revs, rotation and tilt, into ``way`` (four, length 1)."""
    thrown, out = np.empty((8, 6)), np.empty((8, RESULTS))
    for k in range(4):
        for n in range(2):
            row = thrown[2 * k + n]
            row[0], row[1] = (board - CENTRE_BOARD) * BOARD_M, launch
            row[2], row[3], row[4], row[5] = means[0], means[1], means[2], means[3]
            row[2 + k] = max(0.5, row[2 + k] + spreads[k] * (1.0 if n == 0 else -1.0))
    run_into(thrown, body[0], body[1], oil[0], oil[1], steps, out)
    square = 0.0
    for k in range(4):
        way[k] = 0.0
        if out[2 * k, ON_LANE] > 0.5 and out[2 * k + 1, ON_LANE] > 0.5:
            way[k] = 0.5 * (out[2 * k, ENTRY_BOARD] - out[2 * k + 1, ENTRY_BOARD])
        square += way[k] * way[k]
    for k in range(4):
        way[k] = way[k] / math.sqrt(square) if square > 0.0 else 0.5


@njit(nogil=True, cache=True, error_model="numpy")
def room_for(laydowns):  # type: ignore[no-untyped-def]
    """Room to work in, made once for many tiles of up to so many laydowns."""
    rows = laydowns * PLACES.shape[0]
    most = rows * (LAUNCHES + MOST_BETWEEN * (LAUNCHES - 1))
    return (
        np.empty((most, 6)),
        np.empty((most, RESULTS)),
        np.empty((laydowns, MOST_FINE)),
        np.empty((laydowns + 1, MOST_FINE)),
        np.empty((rows, LAUNCHES - 1), np.int64),
    )


@njit(nogil=True, cache=True, error_model="numpy")
def step_boards(spreads):  # type: ignore[no-untyped-def]
    """Boards between the laydowns of a tile."""
    return max(STEP_SD * spreads[4] / BOARD_M, LEAST_STEP_BOARDS)


@njit(nogil=True, cache=True, error_model="numpy")
def step_deg(spreads):  # type: ignore[no-untyped-def]
    """Degrees between the launches of a tile."""
    sd = max(spreads[5], LEAST_SD_DEG)
    return 2.0 * (WIDE * sd + max(REACH_DEG, REACH_SD * sd)) / (LAUNCHES - 1)


@njit(nogil=True, cache=True, error_model="numpy")
def _throw(board, launch, laydowns, apart, way, means, spreads, body, oil, pins, steps, room):  # type: ignore[no-untyped-def]
    """Throw a tile; leaves chances of a strike by laydown and launch in ``room[2]``, averaged over
    the mixture. Returns (launches read, the first of them, degrees between them)."""
    thrown, out, fine, _, between = room
    places = PLACES.shape[0]
    sd = max(spreads[5], LEAST_SD_DEG)
    spacing = step_deg(spreads)
    half = 0.5 * (LAUNCHES - 1) * spacing
    i = 0
    for k in range(laydowns * places):
        y = (board + (k // places - 0.5 * (laydowns - 1)) * apart - CENTRE_BOARD) * BOARD_M
        r = k % places
        z, every = PLACES[r], EVERY[r]
        for n in range(0, LAUNCHES, every):
            row = thrown[i]
            row[0], row[1] = y, launch - half + n * spacing
            row[2] = max(2.0, means[0] + spreads[0] * z * way[0])
            row[3] = max(0.5, means[1] + spreads[1] * z * way[1])
            row[4] = means[2] + spreads[2] * z * way[2]
            row[5] = max(0.0, means[3] + spreads[3] * z * way[3])
            i += 1
    run_into(thrown[:i], body[0], body[1], oil[0], oil[1], steps, out)
    wide, at = i, 0
    for k in range(laydowns * places):
        if laydowns > 1 and EVERY[k % places] == 1:
            for n in range(LAUNCHES - 1):
                more = _between(out[at + n], out[at + n + 1])
                between[k, n] = more
                for m in range(more):
                    thrown[i] = thrown[at + n]
                    thrown[i, 1] += spacing * (m + 1.0) / (more + 1.0)
                    i += 1
        at += (LAUNCHES - 1) // EVERY[k % places] + 1
    run_into(thrown[wide:i], body[0], body[1], oil[0], oil[1], steps, out[wide:i])
    step = APART * sd
    count = min(int(2.0 * half / step) + 1, MOST_FINE)
    lead = half - 0.5 * (count - 1) * step
    readings = min(math.ceil(step / READ_DEG), MOST_READ)
    fine[:laydowns, :count] = 0.0
    most = LAUNCHES * (MOST_BETWEEN + 1)
    nodes, along = np.empty((most, 4)), np.empty(most)
    i, at = wide, 0
    for k in range(laydowns * places):
        every = EVERY[k % places]
        last = 0
        finer = laydowns > 1 and every == 1
        for n in range(0, LAUNCHES, every):
            _node(out[at], float(n), nodes[last], along, last)
            at, last = at + 1, last + 1
            if finer and n < LAUNCHES - 1:
                more = between[k, n]
                for m in range(more):
                    _node(out[i], n + (m + 1.0) / (more + 1.0), nodes[last], along, last)
                    i, last = i + 1, last + 1
        _along(
            nodes[:last], along[:last], lead / spacing, step / spacing, count,
            readings if finer else 1, WEIGHTS[k % places], pins, fine[k // places],
        )  # fmt: skip
    return count, launch - half + lead, step


@njit(nogil=True, cache=True, error_model="numpy")
def _between(one, other):  # type: ignore[no-untyped-def]
    """How many launches to throw between two, by where they enter."""
    if one[ON_LANE] < 0.5 and other[ON_LANE] < 0.5:
        return 0
    if one[ON_LANE] > 0.5 and other[ON_LANE] > 0.5:
        low = min(one[ENTRY_BOARD], other[ENTRY_BOARD])
        high = max(one[ENTRY_BOARD], other[ENTRY_BOARD])
        if high < NEAR_BOARDS[0] or low > NEAR_BOARDS[1]:
            return 0
        return min(int((high - low) / FINE_BOARDS), MOST_BETWEEN)
    there = one[ENTRY_BOARD] if one[ON_LANE] > 0.5 else other[ENTRY_BOARD]
    return MOST_BETWEEN if NEAR_BOARDS[0] <= there <= NEAR_BOARDS[1] else 0


@njit(nogil=True, cache=True, error_model="numpy")
def _node(out, place, node, along, last):  # type: ignore[no-untyped-def]
    """A delivery as :func:`_along` takes it: board, angle, speed (-1 off the lane), breakpoint."""
    along[last] = place
    node[0], node[1] = out[ENTRY_BOARD], out[ENTRY_ANGLE_DEG]
    node[2] = out[ENTRY_SPEED_M_S] if out[ON_LANE] > 0.5 else -1.0
    node[3] = out[BREAK_BOARD]


@njit(nogil=True, cache=True, error_model="numpy")
def _along(nodes, along, lead, step, count, readings, weight, pins, fine):  # type: ignore[no-untyped-def]
    """Add the weighted chances along one row of launches to ``fine``: each the mean of so many
    readings about it. Between two nodes boards and angles are cubic (:func:`_bends`)."""
    first, by, last = pins[1], pins[2], pins[0].shape[0] - 1
    middle = nodes[nodes.shape[0] // 2]
    odds = math.exp(pins[5] * (middle[2] * M_S_TO_MPH - pins[6])) if middle[2] > 0.0 else 1.0
    n, ends, bent = 0, nodes.shape[0] - 2, -1
    bends = np.zeros((2, 2))
    for k in range(count * readings):
        m = k // readings
        place = lead + (m + (k - m * readings + 0.5) / readings - 0.5) * step
        if place < 0.0 or place > along[-1]:
            continue
        while n < ends and place >= along[n + 1]:
            n += 1
        here, there = nodes[n], nodes[n + 1]
        f = (place - along[n]) / (along[n + 1] - along[n])
        if here[2] > 0.0 and there[2] > 0.0:
            if bent != n:
                _bends(nodes, along, n, bends)
                bent = n
            left, right = f * (1.0 - f) * (1.0 - f), f * f * (1.0 - f)
            board = here[0] + f * (there[0] - here[0]) + left * bends[0, 0] + right * bends[1, 0]
            angle = here[1] + f * (there[1] - here[1]) + left * bends[0, 1] + right * bends[1, 1]
        elif here[2] > 0.0 and n > 0 and nodes[n - 1, 2] > 0.0:
            # Into the gutter somewhere before the next launch: as far as the last two lead.
            before = nodes[n - 1]
            f = (place - along[n]) / (along[n] - along[n - 1])
            if here[3] + f * (here[3] - before[3]) < GUTTER_BOARD:
                continue
            board = here[0] + f * (here[0] - before[0])
            angle = here[1] + f * (here[1] - before[1])
        else:
            continue
        at = (board - first) / by
        if 0.0 <= at <= last:
            value = _chance(at, angle, pins)
            fine[m] += weight / readings * value * odds / (1.0 - value + value * odds)


@njit(nogil=True, cache=True, error_model="numpy")
def _bends(nodes, along, n, bends):  # type: ignore[no-untyped-def]
    """How a node's slope and the next one's differ from the chord's between them, times its length:
    Hermite's cubic with the slopes of the parabolas through three nodes each. Where a neighbour is
    off the lane there is nothing to bend by."""
    here, there = nodes[n], nodes[n + 1]
    gap = along[n + 1] - along[n]
    for c in range(2):
        chord = (there[c] - here[c]) / gap
        bends[0, c], bends[1, c] = 0.0, 0.0
        if n > 0 and nodes[n - 1, 2] > 0.0:
            back = along[n] - along[n - 1]
            bend = chord - (here[c] - nodes[n - 1, c]) / back
            bends[0, c] = -bend * gap * gap / (gap + back)
        if n + 2 < nodes.shape[0] and nodes[n + 2, 2] > 0.0:
            ahead = along[n + 2] - along[n + 1]
            bend = (nodes[n + 2, c] - there[c]) / ahead - chord
            bends[1, c] = -bend * gap * gap / (gap + ahead)


@njit(nogil=True, cache=True, error_model="numpy")
def _chance(at, angle, pins):  # type: ignore[no-untyped-def]
    """Chance of a strike at a place along the boards of the surface and an angle in degrees."""
    values, first_deg, by_deg = pins[0], pins[3], pins[4]
    i = min(int(at), values.shape[0] - 2)
    g = at - i
    across = min(max((angle - first_deg) / by_deg, 0.0), values.shape[1] - 1.0)
    j = min(int(across), values.shape[1] - 2)
    h = across - j
    low = values[i, j] + g * (values[i + 1, j] - values[i, j])
    high = values[i, j + 1] + g * (values[i + 1, j + 1] - values[i, j + 1])
    return low + h * (high - low)


@njit(nogil=True, cache=True, error_model="numpy")
def tile(board, launch, laydowns, side, way, means, spreads, body, oil, pins, steps, room, best):  # type: ignore[no-untyped-def]
    """Best line in the middle of a tile about a line. ``best`` gets laydown, launch, value, and 1
    if it lies inside, 0 if at an edge: then there may be a better one beyond.

    ``side``: laydowns either side of a line that its scatter is averaged over, 0 for none: rougher.
    ``way``: :func:`mixture`; ``room``: :func:`room_for`.
    """
    apart = step_boards(spreads)
    count, first, step = _throw(
        board, launch, laydowns, apart, way, means, spreads, body, oil, pins, steps, room
    )
    fine, smooth = room[2], room[3]
    points = min(POINTS, count)
    tries = count - points + 1
    middle = 0.5 * (points - 1)
    weights, total = np.empty(POINTS), 0.0
    for i in range(points):
        z = (i - middle) * APART
        weights[i] = math.exp(-0.5 * z * z)
        total += weights[i]
    across = np.empty(2 * side + 1)
    for i in range(2 * side + 1):
        across[i] = math.exp(-0.5 * (i - side) ** 2)
    across /= across.sum()
    lines = laydowns - 2 * side
    top, at, along = -1.0, 0, 0
    for a in range(lines):
        there = board + (a - 0.5 * (lines - 1)) * apart
        for m in range(count):
            value = 0.0
            for i in range(2 * side + 1):
                value += across[i] * fine[a + i, m]
            smooth[lines, m] = value
        for t in range(tries):
            value = 0.0
            for i in range(points):
                value += weights[i] * smooth[lines, t + i]
            value /= total
            smooth[a, t] = value
            mean = first + (t + middle) * step
            can_stand = LAYDOWN_BOARDS[0] <= there <= LAYDOWN_BOARDS[1]
            if value > top and can_stand and LAUNCH_DEG[0] <= mean <= LAUNCH_DEG[1]:
                top, at, along = value, a, t
    best[0] = board + (at - 0.5 * (lines - 1)) * apart
    best[1] = first + (along + middle) * step
    best[2] = max(top, 0.0)
    best[3] = 1.0
    # The top of the parabolas through it and its neighbours, along each of the two.
    if 0 < along < tries - 1:
        by, more = _peak(smooth[at, along - 1], top, smooth[at, along + 1])
        best[1] += by * step
        best[2] += more
    else:
        best[3] = 0.0
    if 0 < at < lines - 1:
        # Along the ridge: the best launch of each neighbour.
        by, more = _peak(smooth[at - 1, :tries].max(), top, smooth[at + 1, :tries].max())
        best[0] += by * apart
        best[1] += by * apart * DEG_BY_BOARD
        best[2] += more
    elif (
        LAYDOWN_BOARDS[0] + apart < best[0] < LAYDOWN_BOARDS[1] - apart
        and top > smooth[lines // 2, :tries].max() + FLAT
    ):
        best[3] = 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def _peak(before, top, after):  # type: ignore[no-untyped-def]
    """How far from the middle of three the top of their parabola lies, and how much higher; none
    where the middle isn't the highest, as where nobody can stand for the next."""
    bend = before - 2.0 * top + after
    if bend >= 0.0 or before > top or after > top:
        return 0.0, 0.0
    by = 0.5 * (before - after) / bend
    return by, -0.125 * (before - after) ** 2 / bend


@njit(nogil=True, cache=True, error_model="numpy")
def settle(  # type: ignore[no-untyped-def]
    board, launch, means, spreads, body, oil, pins, steps, about, room, best
):
    """Best line near a line: tiles are thrown until it lies inside one, or, if ``about``, until one
    lies about it; ``best`` gets 1 last if that one does. Returns the number of tiles.

    Their middles lie on a grid, and so do the deliveries of all of them: a line is worth nearly the
    same by whatever tile it is found, and the same by the one that lies about it, from wherever
    that is reached.
    """
    apart, apart_deg = step_boards(spreads), step_deg(spreads)
    top, way = np.zeros(4), np.empty(4)
    top[2] = -1.0
    before, at = (0, 0), (round(board / apart), round(launch / apart_deg))
    for n in range(MOST_TILES):
        board, launch = at[0] * apart, at[1] * apart_deg
        mixture(board, launch, means, spreads, body, oil, steps, way)
        tile(board, launch, LAYDOWNS, SIDE, way, means, spreads, body, oil, pins, steps, room, best)
        towards = (round(best[0] / apart), round(best[1] / apart_deg))
        if towards == at:
            best[3] = 1.0
            return n + 1
        inside, better = best[3] > 0.5, best[2] > top[2]
        best[3] = 0.0
        if better:
            top[:] = best
        # To and fro between two, or as good as it gets.
        if (n > 0 and towards == before) or (not about and (inside or not better)):
            best[:] = top
            return n + 1
        before, at = at, towards
    best[:] = top
    return MOST_TILES


@njit(nogil=True, cache=True, error_model="numpy")
def pocket_lines(means, body, oil, steps, low, high, found):  # type: ignore[no-untyped-def]
    """Lines whose mean delivery meets the pocket, rows of (board, launch); their number."""
    thrown, out = np.empty((LOOKS, 6)), np.empty((LOOKS, RESULTS))
    count = 0
    board = low
    while board <= high + 1e-9:
        for n in range(LOOKS):
            row = thrown[n]
            row[0], row[1] = (board - CENTRE_BOARD) * BOARD_M, LAUNCH_DEG[0] + n * LOOK_DEG
            row[2], row[3], row[4], row[5] = means[0], means[1], means[2], means[3]
        run_into(thrown, body[0], body[1], oil[0], oil[1], steps, out)
        for n in range(1, LOOKS):
            if out[n - 1, ON_LANE] < 0.5 or out[n, ON_LANE] < 0.5 or count >= found.shape[0]:
                continue
            before = out[n - 1, ENTRY_BOARD] - POCKET_BOARD
            after = out[n, ENTRY_BOARD] - POCKET_BOARD
            if before * after <= 0.0 and before != after:
                found[count, 0] = board
                found[count, 1] = LAUNCH_DEG[0] + (n - 1 + before / (before - after)) * LOOK_DEG
                count += 1
        board += LOOK_BOARDS
    return count


@njit(nogil=True, cache=True, error_model="numpy")
def best_line(means, spreads, body, oil, pins, steps, starts, line):  # type: ignore[no-untyped-def]
    """Best line anywhere: ``line`` gets laydown, launch and value (NaN, NaN, 0 if none meets the
    pocket). The ``starts`` most promising looks are followed up."""
    found = np.empty((MOST_FOUND, 2))
    worth = np.empty(MOST_FOUND)
    count = pocket_lines(means, body, oil, steps, LAYDOWN_BOARDS[0], LAYDOWN_BOARDS[1], found)
    line[0], line[1], line[2] = math.nan, math.nan, 0.0
    if count == 0:
        return 0
    room = room_for(LAYDOWNS)
    best, other = np.empty(4), np.empty(4)
    # Each roughly, without the laydown's scatter.
    mixture(
        found[count // 2, 0], found[count // 2, 1], means, spreads, body, oil, steps, other
    )  # fmt: skip
    for i in range(count):
        tile(
            found[i, 0], found[i, 1], 1, 0, other, means, spreads, body, oil, pins, steps, room,
            best,
        )  # fmt: skip
        found[i, 1], worth[i] = best[1], best[2]
    for _ in range(min(starts, count)):
        i = 0
        for j in range(1, count):
            if worth[j] > worth[i]:
                i = j
        if worth[i] < 0.0:
            break
        settle(found[i, 0], found[i, 1], means, spreads, body, oil, pins, steps, True, room, best)
        if best[2] > line[2]:
            line[:] = best[:3]
        board = found[i, 0]
        for j in range(count):
            # Its neighbours lead to the same top.
            if abs(found[j, 0] - board) < 1.5 * LOOK_BOARDS:
                worth[j] = -1.0
    return count
