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
# More laydowns that may be thrown on either side of a tile, to follow a top over its edge.
BEYOND = 4
# Launches of a tile: as far as so many deviations, and so many degrees or deviations for mean
# launches other than the middle one. At the outer places, which count for little, every second one.
LAUNCHES = 13
EVERY: Indices = np.array([2, 1, 1, 1, 2])
WIDE, REACH_DEG, REACH_SD = 3.0, 0.35, 0.75
# Where neighbours enter more than so many boards apart about the pocket, on either side of the head
# pin, more are thrown between them.
NEAR_BOARDS = (15.5, 24.5)
FINE_BOARDS, MOST_BETWEEN = 1.25, 3
# Between two that enter further than this beyond the boards that strike nothing needs reading.
BEYOND_BOARDS = 1.0
# Chances are read about every so many degrees, and kept every so many deviations.
READ_DEG, MOST_READ = 0.05, 12
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
    """Room to work in, made once for many tiles of up to so many laydowns and those beyond."""
    rows = laydowns * PLACES.shape[0]
    most = rows * (LAUNCHES + MOST_BETWEEN * (LAUNCHES - 1))
    return (
        np.empty((most, 6)),
        np.empty((most, RESULTS)),
        np.empty((laydowns + 2 * BEYOND, MOST_FINE)),
        np.empty((laydowns + 2 * BEYOND + 1, MOST_FINE)),
        np.empty((rows, LAUNCHES - 1), np.int64),
        np.empty(MOST_FINE * MOST_READ),
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
def _throw(  # type: ignore[no-untyped-def]
    board, launch, low, high, middle, finer, apart, way, means, spreads, body, oil, pins, steps,
    room,
):  # fmt: skip
    """Throw laydowns ``low`` to ``high`` of a tile, so far from its ``middle``; leaves chances of a
    strike by laydown and launch in ``room[2]``, averaged over the mixture. Returns (launches read,
    the first of them, degrees between them)."""
    thrown, out, fine, _, between, chances = room
    places = PLACES.shape[0]
    sd = max(spreads[5], LEAST_SD_DEG)
    spacing = step_deg(spreads)
    half = 0.5 * (LAUNCHES - 1) * spacing
    rows = (high - low) * places
    i = 0
    for k in range(rows):
        y = (board + (low + k // places - middle) * apart - CENTRE_BOARD) * BOARD_M
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
    for k in range(rows):
        if finer and EVERY[k % places] == 1:
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
    fine[low:high, :count] = 0.0
    most = LAUNCHES * (MOST_BETWEEN + 1)
    nodes, along = np.empty((most, 4)), np.empty(most)
    i, at = wide, 0
    for k in range(rows):
        every = EVERY[k % places]
        last = 0
        closer = finer and every == 1
        for n in range(0, LAUNCHES, every):
            _node(out[at], float(n), pins, nodes[last], along, last)
            at, last = at + 1, last + 1
            if closer and n < LAUNCHES - 1:
                more = between[k, n]
                for m in range(more):
                    _node(out[i], n + (m + 1.0) / (more + 1.0), pins, nodes[last], along, last)
                    i, last = i + 1, last + 1
        _along(
            nodes[:last], along[:last], lead / spacing, step / spacing, count,
            readings if closer else 1, WEIGHTS[k % places], pins, chances,
            fine[low + k // places],
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
def _node(out, place, pins, node, along, last):  # type: ignore[no-untyped-def]
    """A delivery as :func:`_along` takes it: board, angle, odds of a strike at its speed over those
    at the speed the surface is for (-1 off the lane), breakpoint."""
    along[last] = place
    node[0], node[1], node[2] = out[ENTRY_BOARD], out[ENTRY_ANGLE_DEG], -1.0
    node[3] = out[BREAK_BOARD]
    if out[ON_LANE] > 0.5:
        node[2] = math.exp(pins[5] * (out[ENTRY_SPEED_M_S] * M_S_TO_MPH - pins[6]))


@njit(nogil=True, cache=True, error_model="numpy")
def _along(nodes, along, lead, step, count, readings, weight, pins, chances, fine):  # type: ignore[no-untyped-def]
    """Add the weighted chances along one row of launches to ``fine``: each the mean of so many
    readings about it. Between two nodes boards and angles are cubic (:func:`_bends`)."""
    first, per_board, last = pins[1], 1.0 / pins[2], pins[0].shape[0] - 1
    lowest, highest = first - BEYOND_BOARDS, first + last * pins[2] + BEYOND_BOARDS
    total = count * readings
    chances[:total] = 0.0
    every = step / readings
    start = lead - 0.5 * step + 0.5 * every
    bends = np.zeros((2, 2))
    k = max(0, math.ceil(-start / every))
    for n in range(nodes.shape[0] - 1):
        until = min(total, math.ceil((along[n + 1] - start) / every))
        here, there = nodes[n], nodes[n + 1]
        begin, k = k, max(k, until)
        if until <= begin or here[2] <= 0.0:
            continue
        if there[2] > 0.0:
            low, high = min(here[0], there[0]), max(here[0], there[0])
            if high < lowest or low > highest:
                continue
            _bends(nodes, along, n, bends)
            per = 1.0 / (along[n + 1] - along[n])
            for m in range(begin, until):
                f = (start + m * every - along[n]) * per
                g = 1.0 - f
                left, right = f * g * g, f * f * g
                board = (
                    here[0] + f * (there[0] - here[0]) + left * bends[0, 0] + right * bends[1, 0]
                )
                angle = (
                    here[1] + f * (there[1] - here[1]) + left * bends[0, 1] + right * bends[1, 1]
                )
                at = (board - first) * per_board
                if 0.0 <= at <= last:
                    value, odds = _chance(at, angle, pins), here[2] + f * (there[2] - here[2])
                    chances[m] = value * odds / (1.0 - value + value * odds)
        elif n > 0 and nodes[n - 1, 2] > 0.0:
            # Into the gutter somewhere before the next launch: as far as the last two lead. A
            # reading counts by the part of its stretch that stays on the lane.
            before = nodes[n - 1]
            gap = along[n] - along[n - 1]
            edge, outwards = along[n + 1], here[3] - before[3]
            if outwards < 0.0:
                edge = min(edge, along[n] + gap * (GUTTER_BOARD - here[3]) / outwards)
            for m in range(begin, total):
                place = start + m * every
                part = min((edge - place) / every + 0.5, 1.0)
                if part <= 0.0:
                    break
                f = (min(place, edge) - along[n]) / gap
                at = (here[0] + f * (here[0] - before[0]) - first) * per_board
                if 0.0 <= at <= last:
                    value = _chance(at, here[1] + f * (here[1] - before[1]), pins)
                    chances[m] = part * value * here[2] / (1.0 - value + value * here[2])
    for m in range(count):
        mean = 0.0
        for r in range(m * readings, (m + 1) * readings):
            mean += chances[r]
        fine[m] += weight / readings * mean


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
def tile(  # type: ignore[no-untyped-def]
    board, launch, laydowns, side, beyond, way, means, spreads, body, oil, pins, steps, room, best
):  # fmt: skip
    """Best line in the middle of a tile about a line. ``best`` gets laydown, launch, value, and 1
    if it lies inside, 0 if at an edge: then there may be a better one beyond.

    ``side``: laydowns either side of a line that its scatter is averaged over, 0 for none: rougher.
    ``beyond``: laydowns that may be thrown besides on either side, while the best lies at that
    edge. ``way``: :func:`mixture`; ``room``: :func:`room_for`.
    """
    apart = step_boards(spreads)
    low, high = beyond, beyond + laydowns
    centre = beyond + 0.5 * (laydowns - 1)
    count, first, step = _throw(
        board, launch, low, high, centre, side > 0, apart, way, means, spreads, body, oil, pins,
        steps, room,
    )  # fmt: skip
    points = min(POINTS, count)
    along_by, across_by = _normal(points, APART), _normal(2 * side + 1, 1.0)
    # A line for each laydown that has so many on either side.
    left, right = low + side, high - side - 1
    lines, tries = room[3], count - points + 1
    from_deg = first + 0.5 * (points - 1) * step
    top, at, along = -1.0, left, 0
    for a in range(left, right + 1):
        there = board + (a - centre) * apart
        value, t = _best_launch(room, a, there, count, from_deg, step, across_by, along_by)
        if value > top:
            top, at, along = value, a, t
    enough = lines[(left + right) // 2, :tries].max() + FLAT
    while 0 < along < tries - 1 and top > enough:
        there = board + (at - centre) * apart
        if not LAYDOWN_BOARDS[0] + apart < there < LAYDOWN_BOARDS[1] - apart:
            break
        if at == left and low > 0:
            low, left = low - 1, left - 1
            a, row = left, low
        elif at == right and high < laydowns + 2 * beyond:
            a, row = right + 1, high
            high, right = high + 1, right + 1
        else:
            break
        _throw(
            board, launch, row, row + 1, centre, side > 0, apart, way, means, spreads, body, oil,
            pins, steps, room,
        )  # fmt: skip
        there = board + (a - centre) * apart
        value, t = _best_launch(room, a, there, count, from_deg, step, across_by, along_by)
        if value > top:
            top, at, along = value, a, t
    best[0] = board + (at - centre) * apart
    best[1] = from_deg + along * step
    best[2] = max(top, 0.0)
    best[3] = 1.0
    # The top of the parabolas through it and its neighbours, along each of the two.
    if 0 < along < tries - 1:
        by, more = _peak(lines[at, along - 1], top, lines[at, along + 1])
        best[1] += by * step
        best[2] += more
    else:
        best[3] = 0.0
    if left < at < right:
        # Along the ridge: the best launch of each neighbour.
        by, more = _peak(lines[at - 1, :tries].max(), top, lines[at + 1, :tries].max())
        best[0] += by * apart
        best[1] += by * apart * DEG_BY_BOARD
        best[2] += more
    elif top > enough and LAYDOWN_BOARDS[0] + apart < best[0] < LAYDOWN_BOARDS[1] - apart:
        best[3] = 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def _normal(points, apart):  # type: ignore[no-untyped-def]
    """Shares of so many points of a normal distribution, so many deviations apart."""
    shares = np.empty(points)
    for i in range(points):
        z = (i - 0.5 * (points - 1)) * apart
        shares[i] = math.exp(-0.5 * z * z)
    return shares / shares.sum()


@njit(nogil=True, cache=True, error_model="numpy")
def _best_launch(room, row, board, count, first, step, across_by, along_by):  # type: ignore[no-untyped-def]
    """Value of the best launch of one laydown and its place among the mean launches; a value of -1
    where nobody can stand. ``room[3]`` gets the values of all, averaged over the scatter."""
    fine, lines = room[2], room[3]
    side, spare = across_by.shape[0] // 2, lines.shape[0] - 1
    for m in range(count):
        value = 0.0
        for i in range(across_by.shape[0]):
            value += across_by[i] * fine[row - side + i, m]
        lines[spare, m] = value
    top, along = -1.0, 0
    for t in range(count - along_by.shape[0] + 1):
        value = 0.0
        for i in range(along_by.shape[0]):
            value += along_by[i] * lines[spare, t + i]
        lines[row, t] = value
        if value > top and LAUNCH_DEG[0] <= first + t * step <= LAUNCH_DEG[1]:
            top, along = value, t
    if not LAYDOWN_BOARDS[0] <= board <= LAYDOWN_BOARDS[1]:
        top = -1.0
    return top, along


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
        tile(
            board,
            launch,
            LAYDOWNS,
            SIDE,
            0 if about else BEYOND,
            way,
            means,
            spreads,
            body,
            oil,
            pins,
            steps,
            room,
            best,
        )
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
def best_line(means, spreads, body, oil, pins, steps, starts, about, line):  # type: ignore[no-untyped-def]
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
            found[i, 0], found[i, 1], 1, 0, 0, other, means, spreads, body, oil, pins, steps, room,
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
        settle(found[i, 0], found[i, 1], means, spreads, body, oil, pins, steps, about, room, best)
        if best[2] > line[2]:
            line[:] = best[:3]
        board = found[i, 0]
        for j in range(count):
            # Its neighbours lead to the same top.
            if abs(found[j, 0] - board) < 1.5 * LOOK_BOARDS:
                worth[j] = -1.0
    return count
