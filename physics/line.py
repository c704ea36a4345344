"""The line: where to lay the ball down and which way, and what that is worth on average.

A line's worth is the expected carry over the bowler's own scatter. A strike is a small target in
six scattering numbers, so a few dozen thrown samples are mostly noise, and a search over lines
would pick the luckiest. Instead each candidate line gets a local picture of the entry: exact along
the launch, which matters most and isn't linear (the oil steers misses back), and linear in speed,
revs, rotation, tilt and laydown, with slopes that change along the launch. Hundreds of fixed
low-discrepancy samples are then read off the picture for next to nothing. What is shown to a person
is thrown in full, on other samples, and with the reference solver (:func:`physics.worth.confirm`).
"""

import math

import numpy as np
from numba import njit

from physics.averaged import run_into, run_many
from physics.pins import chance
from physics.shape import ENTRY_ANGLE_DEG, ENTRY_BOARD, ENTRY_SPEED_M_S, ON_LANE, RESULTS
from physics.units import BOARD_M, CENTRE_BOARD, M_S_TO_MPH

# What a person can stand for and throw: laydown boards (own side) and launch (positive towards the
# ball-hand gutter). Estimates; high revs need laydowns past board 30.
LAYDOWN_BOARDS = (4.0, 38.0)
LAUNCH_DEG = (-3.0, 7.0)
POCKET_BOARD = 17.5
SCAN_LAYDOWN, SCAN_LAUNCH = 2.0, 0.5
SCAN_STEPS = 60
SCAN_LAUNCHES = 21
MOST_CANDIDATES = 64

# The picture: launches ``SPACING`` standard deviations apart (within limits in degrees), as far
# as three standard deviations beyond the shifts of the mean launch that are tried.
SPACING, CLOSEST_DEG, WIDEST_DEG = 0.5, 0.1, 0.35
SHIFT_DEG = 0.6
MOST_NODES = 41
# Launches at which slopes are taken, in standard deviations from the middle.
SLOPES_AT = 1.3
# Scatter of the entry board from all but the launch, to sort candidates by (an estimate).
ROUGH_BOARDS = 1.5
ROUGH = np.array([-1.5, -0.75, 0.0, 0.75, 1.5])


@njit(nogil=True, cache=True, error_model="numpy")
def entries(board, launch, means, spreads, samples, body, oil, steps):  # type: ignore[no-untyped-def]
    """How every sample thrown on a line meets the pins, by the fast solver.

    ``body``: (ball, p); ``oil``: (closure, film) as :func:`physics.averaged.run` takes them. Rows
    of entry board, angle (deg), speed (mph), and 1 if the ball stayed on the lane.
    """
    throws = np.empty((samples.shape[0], 6))
    for i in range(samples.shape[0]):
        z = samples[i]
        throws[i, 0] = (board - CENTRE_BOARD) * BOARD_M + spreads[4] * z[4]
        throws[i, 1] = launch + spreads[5] * z[5]
        throws[i, 2] = max(2.0, means[0] + spreads[0] * z[0])
        throws[i, 3] = max(0.5, means[1] + spreads[1] * z[1])
        throws[i, 4] = means[2] + spreads[2] * z[2]
        throws[i, 5] = max(0.0, means[3] + spreads[3] * z[3])
    rows = run_many(throws, body[0], body[1], oil[0], oil[1], steps)
    found = np.empty((samples.shape[0], 4))
    for i in range(samples.shape[0]):
        found[i, 0] = rows[i, ENTRY_BOARD]
        found[i, 1] = rows[i, ENTRY_ANGLE_DEG]
        found[i, 2] = rows[i, ENTRY_SPEED_M_S] * M_S_TO_MPH
        found[i, 3] = rows[i, ON_LANE]
    return found


@njit(nogil=True, cache=True, error_model="numpy")
def strikes_at(entered, pins):  # type: ignore[no-untyped-def]
    """Chance of a strike of each of :func:`entries`' rows; 0 for a ball in the gutter."""
    found = np.zeros(entered.shape[0])
    for i in range(entered.shape[0]):
        if entered[i, 3] > 0.5:
            found[i] = chance(entered[i, 0], entered[i, 1], entered[i, 2], pins)
    return found


@njit(nogil=True, cache=True, error_model="numpy")
def carries(board, launch, means, spreads, samples, body, oil, pins, steps):  # type: ignore[no-untyped-def]
    """Chance of a strike of every sample thrown on a line: the measure of the picture."""
    return strikes_at(entries(board, launch, means, spreads, samples, body, oil, steps), pins)


@njit(nogil=True, cache=True, error_model="numpy")
def candidates(means, spreads, body, oil, pins, low_board, high_board):  # type: ignore[no-untyped-def]
    """Lines whose mean delivery meets the pocket: rows of (board, launch, rough value); count."""
    found = np.empty((MOST_CANDIDATES, 3))
    count = 0
    throws, out = np.empty((SCAN_LAUNCHES, 6)), np.empty((SCAN_LAUNCHES, RESULTS))
    row = np.empty((SCAN_LAUNCHES, 3))
    board = low_board
    while board <= high_board + 1e-9:
        y = (board - CENTRE_BOARD) * BOARD_M
        for n in range(SCAN_LAUNCHES):
            aim(throws[n], y, LAUNCH_DEG[0] + n * SCAN_LAUNCH, means)
        run_into(throws, body[0], body[1], oil[0], oil[1], SCAN_STEPS, out)
        for n in range(SCAN_LAUNCHES):
            row[n, 0] = out[n, ENTRY_BOARD] if out[n, ON_LANE] > 0.5 else math.nan
            row[n, 1] = out[n, ENTRY_ANGLE_DEG]
            row[n, 2] = out[n, ENTRY_SPEED_M_S] * M_S_TO_MPH
        for n in range(1, SCAN_LAUNCHES):
            before, after = row[n - 1, 0] - POCKET_BOARD, row[n, 0] - POCKET_BOARD
            # NaN compares false: a line with a neighbour off the lane is no crossing.
            if before * after <= 0.0 and before != after and count < MOST_CANDIDATES:
                part = before / (before - after)
                found[count, 0] = board
                found[count, 1] = LAUNCH_DEG[0] + (n - 1 + part) * SCAN_LAUNCH
                found[count, 2] = _rough(row, n - 1 + part, spreads[5], pins)
                count += 1
        board += SCAN_LAYDOWN
    return found, count


@njit(nogil=True, cache=True, error_model="numpy")
def _rough(row, at, launch_sd, pins):  # type: ignore[no-untyped-def]
    """Carry smeared over the launch and a guess at the rest, off a coarse row of launches."""
    total, weights = 0.0, 0.0
    for across in ROUGH:
        for along in ROUGH:
            place = at + along * launch_sd / SCAN_LAUNCH
            n = min(max(math.floor(place), 0), SCAN_LAUNCHES - 2)
            f = min(max(place - n, 0.0), 1.0)
            weight = math.exp(-0.5 * (across * across + along * along))
            weights += weight
            board = row[n, 0] + f * (row[n + 1, 0] - row[n, 0])
            if math.isnan(board):
                continue
            angle = row[n, 1] + f * (row[n + 1, 1] - row[n, 1])
            board += across * ROUGH_BOARDS
            total += weight * chance(board, angle, row[n, 2], pins)
    return total / weights


@njit(nogil=True, cache=True, error_model="numpy")
def aim(throw, y, launch, means):  # type: ignore[no-untyped-def]
    """Write the mean delivery on a line, laid down at ``y`` (m), into six numbers."""
    throw[0], throw[1] = y, launch
    throw[2], throw[3], throw[4], throw[5] = means[0], means[1], means[2], means[3]


@njit(nogil=True, cache=True, error_model="numpy")
def aside(throw, spreads, k, z):  # type: ignore[no-untyped-def]
    """Move the ``k``-th of speed, spin, rotation, tilt and laydown by ``z`` standard deviations."""
    if k == 4:
        throw[0] += spreads[4] * z
    else:
        throw[2 + k] += spreads[k] * z
    throw[2], throw[3], throw[5] = max(2.0, throw[2]), max(0.5, throw[3]), max(0.0, throw[5])


@njit(nogil=True, cache=True, error_model="numpy")
def improve(board, launch, means, spreads, samples, body, oil, pins, steps):  # type: ignore[no-untyped-def]
    """Best launch near a line and its expected carry, read off the local picture."""
    sd = max(spreads[5], 1e-3)
    spacing = min(max(SPACING * sd, CLOSEST_DEG), WIDEST_DEG)
    half = min(math.ceil((3.0 * sd + SHIFT_DEG) / spacing), (MOST_NODES - 1) // 2)
    count = 2 * half + 1
    # Launches, then slopes by one standard deviation of each number but the launch, either way at
    # three launches.
    apart = min(max(1, round(SLOPES_AT * sd / spacing)), half)
    throws, out = np.empty((count + 30, 6)), np.empty((count + 30, RESULTS))
    y = (board - CENTRE_BOARD) * BOARD_M
    for n in range(count):
        aim(throws[n], y, launch + (n - half) * spacing, means)
    for place in range(3):
        for k in range(5):
            for side in range(2):
                throw = throws[count + 10 * place + 2 * k + side]
                aim(throw, y, launch + (place - 1) * apart * spacing, means)
                aside(throw, spreads, k, 1.0 - 2.0 * side)
    run_into(throws, body[0], body[1], oil[0], oil[1], steps, out)
    nodes = np.empty((MOST_NODES, 4))
    for n in range(count):
        nodes[n, 0] = out[n, ENTRY_BOARD]
        nodes[n, 1] = out[n, ENTRY_ANGLE_DEG]
        nodes[n, 2] = out[n, ENTRY_SPEED_M_S] * M_S_TO_MPH
        nodes[n, 3] = out[n, ON_LANE]
    slopes = np.zeros((3, 5, 2))
    for place in range(3):
        for k in range(5):
            up, down = out[count + 10 * place + 2 * k], out[count + 10 * place + 2 * k + 1]
            if up[ON_LANE] > 0.5 and down[ON_LANE] > 0.5:
                slopes[place, k, 0] = 0.5 * (up[ENTRY_BOARD] - down[ENTRY_BOARD])
                slopes[place, k, 1] = 0.5 * (up[ENTRY_ANGLE_DEG] - down[ENTRY_ANGLE_DEG])
    best_launch, best = launch, -1.0
    tries = math.ceil(SHIFT_DEG / (0.5 * spacing))
    for n in range(-tries, tries + 1):
        shift = n * 0.5 * spacing
        if not LAUNCH_DEG[0] <= launch + shift <= LAUNCH_DEG[1]:
            continue
        value = _read(nodes, count, half, spacing, slopes, apart, shift, spreads, samples, pins)
        if value > best:
            best_launch, best = launch + shift, value
    return best_launch, best


@njit(nogil=True, cache=True, error_model="numpy")
def _read(nodes, count, half, spacing, slopes, apart, shift, spreads, samples, pins):  # type: ignore[no-untyped-def]
    """Expected carry with the mean launch shifted from the picture's middle."""
    total = 0.0
    for i in range(samples.shape[0]):
        z = samples[i]
        place = half + (shift + spreads[5] * z[5]) / spacing
        n = min(max(math.floor(place), 0), count - 2)
        f = min(max(place - n, 0.0), 1.0)
        if nodes[n, 3] < 0.5 or nodes[n + 1, 3] < 0.5:
            continue
        board = nodes[n, 0] + f * (nodes[n + 1, 0] - nodes[n, 0])
        angle = nodes[n, 1] + f * (nodes[n + 1, 1] - nodes[n, 1])
        # Slopes between the middle one and the one on this side, held beyond it.
        off = min(max((place - half) / apart, -1.0), 1.0)
        side = 2 if off > 0.0 else 0
        off = abs(off)
        for k in range(5):
            board += z[k] * ((1.0 - off) * slopes[1, k, 0] + off * slopes[side, k, 0])
            angle += z[k] * ((1.0 - off) * slopes[1, k, 1] + off * slopes[side, k, 1])
        total += chance(board, angle, nodes[n, 2], pins)
    return total / samples.shape[0]


@njit(nogil=True, cache=True, error_model="numpy")
def best_line(  # type: ignore[no-untyped-def]
    means, spreads, samples, body, oil, pins, steps, starts, rounds, low_board, high_board
):
    """Best line between two laydown boards: (board, launch, expected carry); NaN board if none.

    The ``starts`` most promising candidates get a picture each; the laydown of the best is then
    halved in on ``rounds`` times.
    """
    found, count = candidates(means, spreads, body, oil, pins, low_board, high_board)
    best_board, best_launch, best = math.nan, math.nan, 0.0
    for _ in range(min(starts, count)):
        i = 0
        for j in range(1, count):
            if found[j, 2] > found[i, 2]:
                i = j
        if found[i, 2] < 0.0:
            break
        found[i, 2] = -1.0
        board = found[i, 0]
        launch, value = improve(board, found[i, 1], means, spreads, samples, body, oil, pins, steps)
        if value > best:
            best_board, best_launch, best = board, launch, value
    if math.isnan(best_board):
        return best_board, best_launch, best
    stride = 0.5 * SCAN_LAYDOWN
    for _ in range(rounds):
        from_board, from_launch = best_board, best_launch
        for sign in (-1.0, 1.0):
            board = from_board + sign * stride
            if not LAYDOWN_BOARDS[0] <= board <= LAYDOWN_BOARDS[1]:
                continue
            # A board of laydown and about an eighth of a degree of launch meet the same board.
            near = from_launch + 0.12 * sign * stride
            launch, value = improve(board, near, means, spreads, samples, body, oil, pins, steps)
            if value > best:
                best_board, best_launch, best = board, launch, value
        stride *= 0.5
    return best_board, best_launch, best
