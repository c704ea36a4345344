"""What a delivery did, as one row of numbers that either solver fills, and its reaction shape.

The share of turn is f = (direction - launch) / (final - launch), where the final direction is the
one the conserved vector K sets: every ball would roll that way if the lane were long enough.
Hook length is the feet between f = 1/4 and f = 3/4: short is angular, long is rolly.
Phases by stated criteria: skid until a twentieth of the turn is spent, hook from there until slip
vanishes, roll after that.
"""

import math

import numpy as np
from numpy.typing import NDArray

from physics.motion import Shot
from physics.units import (
    BOARD_M,
    CENTRE_BOARD,
    FOUL_LINE_TO_HEAD_PIN_M,
    FT_TO_M,
    LANE_WIDTH_IN,
    M_TO_FT,
)

Array = NDArray[np.float64]

# Columns of a result: entry is where the ball's centre passes the head pin's row; boards are the
# bowler's own; the breakpoint is the point nearest the ball-hand gutter; NaN where never reached.
(
    ENTRY_BOARD,
    ENTRY_ANGLE_DEG,
    ENTRY_SPEED_M_S,
    SKID_M,
    QUARTER_M,
    THREE_QUARTERS_M,
    TURN_SPENT,
    FULL_TURN_DEG,
    ARROW_BOARD,
    BREAK_BOARD,
    BREAK_M,
    ROLL_M,
    FLARE_M,
    VISIBLE_FLARE_M,
    ENTRY_SPIN_RAD_S,
    ON_LANE,
) = range(16)
RESULTS = 16

SKID_SHARE = 0.05
ARROWS_M = 15 * FT_TO_M
# The contact point past the edge is in the gutter.
GUTTER_M = LANE_WIDTH_IN / 2 * 0.0254
# Under this much turn in all there is no shape to speak of.
LEAST_TURN_DEG = 0.5
# Rolled out with this much lane left is early.
EARLY_LEFT_FT = 12.0
LANE_FT = FOUL_LINE_TO_HEAD_PIN_M * M_TO_FT


def final_direction(shot: Shot, mass_kg: float, radius_m: float) -> float:
    """Direction K sets, radians from straight down-lane, positive left.

    K is the same at the end as at any time: K = L + m R z x v.
    """
    end = shot.end
    k_x = end[12] - mass_kg * radius_m * end[4]
    k_y = end[13] + mass_kg * radius_m * end[3]
    return math.atan2(-k_x, k_y)


def row_of(
    shot: Shot, launch_deg: float, mass_kg: float, radius_m: float, spacing_m: float
) -> Array:
    """The result row of a reference shot in the own-side frame.

    ``spacing_m`` is that of the shot's profile rows, which must start at the foul line.
    """
    out = np.full(RESULTS, np.nan)
    known = shot.profile[np.isfinite(shot.profile[:, 1])]
    x = np.asarray(spacing_m * np.arange(len(known)), np.float64)
    first = -math.radians(launch_deg)
    full = final_direction(shot, mass_kg, radius_m) - first
    direction = np.arctan2(known[:, 3], known[:, 2])
    share = (direction - first) / full if full else np.zeros(len(known))
    boards = known[:, 1] / BOARD_M + CENTRE_BOARD
    turning = int(np.argmin(boards))
    vx, vy = float(shot.end[3]), float(shot.end[4])
    out[ENTRY_BOARD] = shot.end[2] / BOARD_M + CENTRE_BOARD
    out[ENTRY_ANGLE_DEG] = math.degrees(math.atan2(vy, vx))
    out[ENTRY_SPEED_M_S] = math.hypot(vx, vy)
    out[SKID_M], out[QUARTER_M], out[THREE_QUARTERS_M] = (
        _first_at(x, share, level) for level in (SKID_SHARE, 0.25, 0.75)
    )
    out[TURN_SPENT] = (math.atan2(vy, vx) - first) / full if full else 0.0
    out[FULL_TURN_DEG] = math.degrees(full)
    out[ARROW_BOARD] = float(np.interp(ARROWS_M, x, boards))
    out[BREAK_BOARD], out[BREAK_M] = boards[turning], x[turning]
    if shot.roll is not None:
        out[ROLL_M] = shot.roll[1]
    out[FLARE_M], out[VISIBLE_FLARE_M] = shot.flare_m, shot.visible_flare_m
    momentum, omega = shot.end[12:15], shot.end[9:12]
    out[ENTRY_SPIN_RAD_S] = float(np.linalg.norm(omega)) if np.any(momentum) else 0.0
    out[ON_LANE] = float(shot.reached and np.abs(known[:, 1]).max() <= GUTTER_M)
    return out


def _first_at(x: Array, share: Array, level: float) -> float:
    """Distance at which the share of turn first reaches a level; NaN if it never does."""
    reached = np.flatnonzero(share >= level)
    if not len(reached):
        return math.nan
    i = int(reached[0])
    if i == 0:
        return float(x[0])
    part = (level - share[i - 1]) / (share[i] - share[i - 1])
    return float(x[i - 1] + part * (x[i] - x[i - 1]))


def hook_length_ft(rows: Array) -> Array:
    """Feet between a quarter and three quarters of the turn; to the pins where that isn't reached.

    NaN where there is no turn to speak of or a quarter of it isn't reached.
    """
    quarter, three = rows[..., QUARTER_M], rows[..., THREE_QUARTERS_M]
    end = np.where(np.isnan(three), FOUL_LINE_TO_HEAD_PIN_M, three)
    length = (end - quarter) * M_TO_FT
    return np.where(np.abs(rows[..., FULL_TURN_DEG]) < LEAST_TURN_DEG, np.nan, length)


def is_late(rows: Array) -> NDArray[np.bool_]:
    """Whether three quarters of the turn isn't spent at the pins."""
    thrown = np.isfinite(rows[..., ENTRY_BOARD])
    return np.asarray(np.isnan(rows[..., THREE_QUARTERS_M]) & thrown)


def is_early(rows: Array) -> NDArray[np.bool_]:
    """Whether the ball has rolled out well before the pins."""
    with np.errstate(invalid="ignore"):
        return np.asarray(rows[..., ROLL_M] * M_TO_FT < LANE_FT - EARLY_LEFT_FT)
