"""The strip's numbers: two shots by the reference solver on the task with the largest gain."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from arsenal.engine import bodies, reasons, spare_rows
from physics import shape, worth
from physics.motion import Shot
from physics.units import BOARDS, FT_TO_M, M_S_TO_MPH, board_to_y_m, y_m_to_board

if TYPE_CHECKING:
    from arsenal.engine.results import Answer

STEP_FT = 0.5
OIL_STEP_FT = 2


def strip_of(answer: Answer, rows: list[dict[str, Any]]) -> dict[str, Any] | None:
    """First choice and best owned ball, each on its own best line; None with nothing to throw.

    Where nothing is needed the best available stands in for the first choice.
    """
    totals = answer.gains.sum(axis=1)
    if not len(totals):
        return None
    first = answer.bag_size + int(np.argmax(totals))
    j = int(np.argmax(answer.gains[first - answer.bag_size]))
    ours = max(range(answer.bag_size), key=lambda i: answer.confirmed.values[i, j], default=None)
    shots = [_shot(answer, first, j, "first choice")]
    if ours is not None:
        shots.append(_shot(answer, ours, j, "owned"))
    found = [shot for shot in shots if shot is not None]
    if not found:
        return None
    oil = oil_shown(answer.inputs["conditions"][j], answer.inputs["customer"]["hand"])
    return {"task": rows[j]["name"], "shots": found, "oil": oil}


def _shot(answer: Answer, row: int, j: int, kind: str) -> dict[str, Any] | None:
    board = float(answer.confirmed.lines.board[row, j])
    if not math.isfinite(board):
        return None
    choice = answer.confirmed.choices[row]
    launch = float(answer.confirmed.lines.launch_deg[row, j])
    shot = worth.reference_shot(
        answer.setting.who,
        choice.option,
        answer.setting.tasks[j],
        answer.setting.factors[j],
        (board_to_y_m(board), launch, *answer.setting.who.means()),
        profile_step_m=STEP_FT * FT_TO_M,
    )
    full = math.radians(float(answer.confirmed.shots[row, j, shape.FULL_TURN_DEG]))
    said = {"label": reasons.name_of(choice), "kind": kind}
    return said | numbers_of(shot, launch, full) | {"leaves": spare_rows.left_by(answer, row, j)}


def numbers_of(shot: Shot, launch_deg: float, full_turn: float) -> dict[str, Any]:
    """Path, share of turn, entry and breakpoint of a reference shot, by the bowler's own boards."""
    known = shot.profile[np.isfinite(shot.profile[:, 1])]
    direction = np.arctan2(known[:, 3], known[:, 2])
    share = (direction + math.radians(launch_deg)) / full_turn if full_turn else 0 * direction
    boards = np.array([y_m_to_board(y) for y in known[:, 1]])
    turns = int(np.argmin(boards))
    vx, vy = float(shot.end[3]), float(shot.end[4])
    return {
        "feet": [round(STEP_FT * i, 2) for i in range(len(known))],
        "board": boards.round(3).tolist(),
        "share": np.clip(share, 0, 1.2).round(4).tolist(),
        "entry": {
            "board": round(y_m_to_board(float(shot.end[2])), 2),
            "angle_deg": round(math.degrees(math.atan2(vy, vx)), 2),
            "speed_mph": round(math.hypot(vx, vy) * M_S_TO_MPH, 1),
        },
        "breakpoint": {"board": round(float(boards[turns]), 1), "ft": round(STEP_FT * turns, 1)},
    }


def oil_shown(asked: Mapping[str, Any], hand: str) -> dict[str, Any]:
    """Units of oil by the bowler's own boards, every two feet as far as there is any."""
    table = bodies.oil_of(asked["oil"])
    units = table.units[:, ::-1] if hand == "right" else table.units
    end = min(math.ceil(table.length_ft) + OIL_STEP_FT, shape.LANE_FT + 1)
    feet = np.arange(0, end, OIL_STEP_FT, dtype=float)
    return {
        "feet": feet.tolist(),
        "boards": list(range(1, BOARDS + 1)),
        "units": [
            [round(float(np.interp(at, table.distance_ft, units[:, b])), 2) for b in range(BOARDS)]
            for at in feet
        ],
    }
