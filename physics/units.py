"""Conversion factors, each named by its direction: value_in_TO = value_in_FROM * FROM_TO_TO."""

import math
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Boards = TypeVar("Boards", float, NDArray[np.float64])

IN_TO_M = 0.0254
M_TO_IN = 1 / IN_TO_M
FT_TO_M = 0.3048
M_TO_FT = 1 / FT_TO_M
MPH_TO_M_S = 0.44704
M_S_TO_MPH = 1 / MPH_TO_M_S
LB_TO_KG = 0.45359237
KG_TO_LB = 1 / LB_TO_KG
OZ_TO_KG = LB_TO_KG / 16
KG_TO_OZ = 1 / OZ_TO_KG
RPM_TO_RAD_S = 2 * math.pi / 60
RAD_S_TO_RPM = 1 / RPM_TO_RAD_S
DEG_TO_RAD = math.pi / 180
RAD_TO_DEG = 180 / math.pi
MICROINCH_TO_UM = 0.0254
UM_TO_MICROINCH = 1 / MICROINCH_TO_UM

# 1 unit of oil is 0.0167 mL on a square foot (trade reference, from memory, high confidence);
# spread evenly that is a film of 0.1798 micrometre.
UNIT_TO_ML_FT2 = 0.0167
UNIT_TO_UM = UNIT_TO_ML_FT2 * 1e-6 / FT_TO_M**2 * 1e6

STANDARD_GRAVITY_M_S2 = 9.80665
LANE_WIDTH_IN = 41.5
BOARDS = 39
BOARD_M = LANE_WIDTH_IN / BOARDS * IN_TO_M
CENTRE_BOARD = 20
FOUL_LINE_TO_HEAD_PIN_M = 60 * FT_TO_M


def board_to_y_m(board: Boards) -> Boards:
    """Distance left of the lane's centre line in the bowler's own-side frame.

    Boards are counted from the ball-hand gutter; in the own-side frame that gutter is at the
    right, as it is for a right-hander, so board 1 has negative y.
    """
    return (board - CENTRE_BOARD) * BOARD_M


def y_m_to_board(y_m: Boards) -> Boards:
    """Inverse of :func:`board_to_y_m`."""
    return y_m / BOARD_M + CENTRE_BOARD
