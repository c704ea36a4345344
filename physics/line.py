"""The line: where to lay the ball down and which way, and what that is worth on average.

A line's worth is the expected carry over the bowler's own scatter, on fixed samples. The best line
is sought over laydown and launch: for each laydown the launches that bring a mean delivery to the
pocket, the most promising of them then improved by a pattern search on the expected carry itself.
"""

import math

import numpy as np
from numba import njit

from physics.averaged import run
from physics.carry import strike_chance
from physics.shape import ENTRY_ANGLE_DEG, ENTRY_BOARD, ENTRY_SPEED_M_S, ON_LANE, RESULTS
from physics.units import BOARD_M, CENTRE_BOARD, M_S_TO_MPH

# What a person can stand for and throw: laydown boards (own side) and launch (positive towards the
# ball-hand gutter). Estimates; high revs need laydowns past board 30.
LAYDOWN_BOARDS = (4.0, 38.0)
LAUNCH_DEG = (-3.0, 7.0)
POCKET_BOARD = 17.5
SCAN_LAYDOWN, SCAN_LAUNCH = 2.0, 0.5
SCAN_STEPS = 60
FEW = 8
MOST_CANDIDATES = 64


@njit(nogil=True, cache=True, error_model="numpy")
def expected(y, launch, means, spreads, samples, count, body, oil, pins, steps):  # type: ignore[no-untyped-def]
    """Expected carry of a line over the first ``count`` samples.

    ``body``: (ball, p); ``oil``: (closure, film) as :func:`physics.averaged.run` takes them.
    """
    out = np.empty(RESULTS)
    total = 0.0
    for i in range(count):
        z = samples[i]
        run(
            y + spreads[4] * z[4],
            launch + spreads[5] * z[5],
            max(2.0, means[0] + spreads[0] * z[0]),
            max(0.5, means[1] + spreads[1] * z[1]),
            means[2] + spreads[2] * z[2],
            max(0.0, means[3] + spreads[3] * z[3]),
            body[0],
            body[1],
            oil[0],
            oil[1],
            steps,
            out,
        )
        total += _carry(out, pins)
    return total / count


@njit(nogil=True, cache=True, error_model="numpy")
def _carry(out, pins):  # type: ignore[no-untyped-def]
    if out[ON_LANE] < 0.5:
        return 0.0
    speed_mph = out[ENTRY_SPEED_M_S] * M_S_TO_MPH
    return strike_chance(out[ENTRY_BOARD], out[ENTRY_ANGLE_DEG], speed_mph, pins)


@njit(nogil=True, cache=True, error_model="numpy")
def candidates(means, body, oil, low_board, high_board):  # type: ignore[no-untyped-def]
    """Lines (laydown board, launch) whose mean delivery meets the pocket, and how many."""
    found = np.empty((MOST_CANDIDATES, 2))
    count = 0
    out = np.empty(RESULTS)
    board = low_board
    while board <= high_board + 1e-9:
        y = (board - CENTRE_BOARD) * BOARD_M
        before = math.nan
        launch = LAUNCH_DEG[0]
        while launch <= LAUNCH_DEG[1] + 1e-9:
            run(
                y, launch, means[0], means[1], means[2], means[3], body[0], body[1], oil[0], oil[1],
                SCAN_STEPS, out,
            )  # fmt: skip
            miss = out[ENTRY_BOARD] - POCKET_BOARD if out[ON_LANE] > 0.5 else math.nan
            # NaN compares false: a line with a neighbour off the lane is no crossing.
            if before * miss <= 0.0 and before != miss and count < MOST_CANDIDATES:
                found[count, 0] = board
                found[count, 1] = launch - SCAN_LAUNCH * miss / (miss - before)
                count += 1
            before = miss
            launch += SCAN_LAUNCH
        board += SCAN_LAYDOWN
    return found, count


@njit(nogil=True, cache=True, error_model="numpy")
def improve(board, launch, value, means, spreads, samples, count, body, oil, pins, steps, rounds):  # type: ignore[no-untyped-def]
    """Pattern search from a line: along lines that meet the same board, and across them."""
    stride = 1.0
    for _ in range(rounds):
        moved = True
        tries = 0
        while moved and tries < 4:
            moved = False
            tries += 1
            for direction in range(4):
                sign = 1.0 if direction % 2 == 0 else -1.0
                if direction < 2:
                    new_board, new_launch = board + sign * stride, launch + sign * 0.12 * stride
                else:
                    new_board, new_launch = board, launch + sign * 0.15 * stride
                if not LAYDOWN_BOARDS[0] <= new_board <= LAYDOWN_BOARDS[1]:
                    continue
                if not LAUNCH_DEG[0] <= new_launch <= LAUNCH_DEG[1]:
                    continue
                y = (new_board - CENTRE_BOARD) * BOARD_M
                new = expected(
                    y, new_launch, means, spreads, samples, count, body, oil, pins, steps
                )
                if new > value + 1e-9:
                    board, launch, value = new_board, new_launch, new
                    moved = True
        stride *= 0.5
    return board, launch, value


@njit(nogil=True, cache=True, error_model="numpy")
def best_line(  # type: ignore[no-untyped-def]
    means, spreads, samples, body, oil, pins, steps, starts, rounds, low_board, high_board
):
    """Best line between two laydown boards: (board, launch, expected carry); NaN board if none."""
    found, count = candidates(means, body, oil, low_board, high_board)
    if count == 0:
        return math.nan, math.nan, 0.0
    values = np.empty(count)
    few = min(FEW, samples.shape[0])
    for i in range(count):
        y = (found[i, 0] - CENTRE_BOARD) * BOARD_M
        values[i] = expected(
            y, found[i, 1], means, spreads, samples, few, body, oil, pins, SCAN_STEPS
        )
    best_board, best_launch, best = math.nan, math.nan, -1.0
    for _ in range(min(starts, count)):
        i = int(np.argmax(values))
        values[i] = -1.0
        y = (found[i, 0] - CENTRE_BOARD) * BOARD_M
        size = samples.shape[0]
        value = expected(y, found[i, 1], means, spreads, samples, size, body, oil, pins, steps)
        board, launch, value = improve(
            found[i, 0], found[i, 1], value, means, spreads, samples, size, body, oil, pins, steps,
            rounds,
        )  # fmt: skip
        if value > best:
            best_board, best_launch, best = board, launch, value
        # Neighbouring laydowns lead to the same line.
        for j in range(count):
            if abs(found[j, 0] - found[i, 0]) <= 2.5 * SCAN_LAYDOWN:
                values[j] = -1.0
        if values.max() < 0.0:
            break
    return best_board, best_launch, best
