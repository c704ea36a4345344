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
# Launches of a tile: as far as so many deviations, and so many degrees for mean launches other than
# the middle one. They are read every so many deviations.
LAUNCHES = 13
WIDE, REACH_DEG = 3.0, 0.35
APART = 0.25
POINTS = 25
MOST_FINE = 256
LEAST_SD_DEG = 0.05
GUTTER_BOARD = CENTRE_BOARD - GUTTER_M / BOARD_M
# Lines looked at before tiles are thrown: every so many boards and degrees.
LOOK_BOARDS, LOOK_DEG = 2.0, 0.5
LOOKS = 21
MOST_FOUND = 40
# A board of laydown is made up for by about so much launch.
DEG_BY_BOARD = 0.12
MOST_TILES = 6
# Launches at which tiles have their middles.
GRID_DEG = 0.1


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
    rows = laydowns * PLACES.shape[0] * LAUNCHES
    return (
        np.empty((rows, 6)),
        np.empty((rows, RESULTS)),
        np.empty((laydowns, MOST_FINE)),
        np.empty((laydowns + 1, MOST_FINE)),
    )


@njit(nogil=True, cache=True, error_model="numpy")
def step_boards(spreads):  # type: ignore[no-untyped-def]
    """Boards between the laydowns of a tile."""
    return max(STEP_SD * spreads[4] / BOARD_M, LEAST_STEP_BOARDS)


@njit(nogil=True, cache=True, error_model="numpy")
def _throw(board, launch, laydowns, apart, way, means, spreads, body, oil, pins, steps, room):  # type: ignore[no-untyped-def]
    """Throw a tile; leaves chances of a strike by laydown and launch in ``room[2]``, averaged over
    the mixture. Returns (launches read, the first of them, degrees between them)."""
    thrown, out, fine, _ = room
    places = PLACES.shape[0]
    sd = max(spreads[5], LEAST_SD_DEG)
    half = WIDE * sd + REACH_DEG
    spacing = 2.0 * half / (LAUNCHES - 1)
    i = 0
    for a in range(laydowns):
        y = (board + (a - 0.5 * (laydowns - 1)) * apart - CENTRE_BOARD) * BOARD_M
        for r in range(places):
            z = PLACES[r]
            for n in range(LAUNCHES):
                row = thrown[i]
                row[0], row[1] = y, launch - half + n * spacing
                row[2] = max(2.0, means[0] + spreads[0] * z * way[0])
                row[3] = max(0.5, means[1] + spreads[1] * z * way[1])
                row[4] = means[2] + spreads[2] * z * way[2]
                row[5] = max(0.0, means[3] + spreads[3] * z * way[3])
                i += 1
    run_into(thrown[:i], body[0], body[1], oil[0], oil[1], steps, out)
    step = APART * sd
    count = min(int(2.0 * half / step) + 1, MOST_FINE)
    lead = half - 0.5 * (count - 1) * step
    for a in range(laydowns):
        for m in range(count):
            fine[a, m] = 0.0
        for r in range(places):
            at = (a * places + r) * LAUNCHES
            _along(out[at : at + LAUNCHES], spacing, lead, step, count, WEIGHTS[r], pins, fine[a])
    return count, launch - half + lead, step


@njit(nogil=True, cache=True, error_model="numpy")
def _along(out, spacing, lead, step, count, weight, pins, fine):  # type: ignore[no-untyped-def]
    """Add the weighted chances along one row of launches to ``fine``."""
    values, first, by, first_deg, by_deg, slope, mean_mph = pins
    last, widest = values.shape[0] - 1, values.shape[1] - 1.0
    middle = out[LAUNCHES // 2]
    odds = math.exp(slope * (middle[ENTRY_SPEED_M_S] * M_S_TO_MPH - mean_mph))
    for m in range(count):
        place = (lead + m * step) / spacing
        n = min(int(place), LAUNCHES - 2)
        f = place - n
        here, there = out[n], out[n + 1]
        if here[ON_LANE] > 0.5 and there[ON_LANE] > 0.5:
            board = here[ENTRY_BOARD] + f * (there[ENTRY_BOARD] - here[ENTRY_BOARD])
            angle = here[ENTRY_ANGLE_DEG] + f * (there[ENTRY_ANGLE_DEG] - here[ENTRY_ANGLE_DEG])
        elif here[ON_LANE] > 0.5 and n > 0 and out[n - 1, ON_LANE] > 0.5:
            # Into the gutter somewhere before the next launch: as far as the last two lead.
            before = out[n - 1]
            if here[BREAK_BOARD] + f * (here[BREAK_BOARD] - before[BREAK_BOARD]) < GUTTER_BOARD:
                continue
            board = here[ENTRY_BOARD] + f * (here[ENTRY_BOARD] - before[ENTRY_BOARD])
            angle = here[ENTRY_ANGLE_DEG] + f * (here[ENTRY_ANGLE_DEG] - before[ENTRY_ANGLE_DEG])
        else:
            continue
        at = (board - first) / by
        if not 0.0 <= at <= last:
            continue
        i = min(int(at), last - 1)
        g = at - i
        across = min(max((angle - first_deg) / by_deg, 0.0), widest)
        j = min(int(across), values.shape[1] - 2)
        h = across - j
        low = values[i, j] + g * (values[i + 1, j] - values[i, j])
        high = values[i, j + 1] + g * (values[i + 1, j + 1] - values[i, j + 1])
        value = low + h * (high - low)
        fine[m] += weight * value * odds / (1.0 - value + value * odds)


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
    elif LAYDOWN_BOARDS[0] + apart < best[0] < LAYDOWN_BOARDS[1] - apart:
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
def settle(board, launch, means, spreads, body, oil, pins, steps, room, best):  # type: ignore[no-untyped-def]
    """Best line near a line: tiles are thrown until it lies inside one. Returns their number.

    Their middles lie on a grid, so that a top is worth the same from wherever it is reached.
    """
    apart = step_boards(spreads)
    top, way = np.zeros(4), np.empty(4)
    top[2] = -1.0
    for n in range(MOST_TILES):
        board = round(board / apart) * apart
        launch = round(launch / GRID_DEG) * GRID_DEG
        mixture(board, launch, means, spreads, body, oil, steps, way)
        tile(board, launch, LAYDOWNS, SIDE, way, means, spreads, body, oil, pins, steps, room, best)
        if best[2] <= top[2]:
            best[:] = top
            return n + 1
        top[:] = best
        if best[3] > 0.5:
            return n + 1
        board, launch = best[0], best[1]
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
        settle(found[i, 0], found[i, 1], means, spreads, body, oil, pins, steps, room, best)
        if best[2] > line[2]:
            line[:] = best[:3]
        board = found[i, 0]
        for j in range(count):
            # Its neighbours lead to the same top.
            if abs(found[j, 0] - board) < 1.5 * LOOK_BOARDS:
                worth[j] = -1.0
    return count
