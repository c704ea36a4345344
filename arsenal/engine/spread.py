"""Does surface outweigh layout? Entry and value over a menu, by finish and by layout.

A governing-body study ranks what belongs to the surface first to third of 18 factors, and its robot
found layouts of 3, 4 and 5 in nearly alike. Here each reactive or urethane ball of a customer's
catalogue is tried in every layout and finish of the menu, on the condition they meet most: the
board it enters at, all on one line, and its strike chance, each on its own best line.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from arsenal.engine import bodies, ranking
from physics import averaged, body, shape, worth
from physics.errors import InputError
from physics.units import board_to_y_m

Array = NDArray[np.float64]

SEED = 1
# What is compared, and how.
MEASURES = {"entry_boards": "board at the pins, one line", "value": "strike chance, own best line"}


@dataclass(frozen=True)
class Table:
    """One ball of one customer: entry board and strike chance by layout (rows) and finish."""

    entry_boards: Array
    value: Array


def tables_of(inputs: Mapping[str, Any], *, ring_oil: bool) -> Iterator[Table]:
    """A table for each ball of the catalogue that has a line to the pocket.

    Plastic is left out: it is only ever polished.
    """
    most = max(inputs["conditions"], key=lambda c: c["times_a_season"])
    setting = ranking.setting_of({**inputs, "conditions": [most]})
    delivery, finishes = inputs["delivery"], inputs["menu"]["finishes"]
    pap = (delivery["pap_over_in"]["mean"], delivery["pap_up_in"]["mean"])
    for ball in inputs["catalogue"]:
        drilled = _drilled(inputs, ball, pap)
        if ball["cover"] == "polyester" or len(drilled) < 2:
            continue
        options = [
            worth.Option(each, bodies.closure_of(ball["cover"], finish), ball["cover"], finish)
            for each in drilled
            for finish in finishes
        ]
        if not ring_oil:
            options = [worth.without_ring_oil(option) for option in options]
        found = _table(setting, options, (len(drilled), len(finishes)))
        if found is not None:
            yield found


def _drilled(
    inputs: Mapping[str, Any], ball: Mapping[str, Any], pap: tuple[float, float]
) -> list[body.Body]:
    """The ball in each layout of the menu that can be drilled."""
    found = []
    for numbers in inputs["menu"]["layouts"]:
        try:
            found.append(bodies.ball_of(ball["label"], numbers, inputs["grip"], pap)[0])
        except InputError:
            continue
    return found


def _table(
    setting: ranking.Setting, options: Sequence[worth.Option], size: tuple[int, int]
) -> Table | None:
    """Entry and value of every option; None where the middle one has no line to the pocket."""
    lines = worth.seek(
        setting.who,
        options,
        setting.tasks,
        lane_factors=setting.factors,
        seed=SEED,
        rounds=1,
        steps=60,
    )
    middle = (size[0] // 2) * size[1] + size[1] // 2
    board = float(lines.board[middle, 0])
    if not np.isfinite(board):
        return None
    throw = np.array(
        [[board_to_y_m(board), float(lines.launch_deg[middle, 0]), *setting.who.means()]]
    )
    rows = np.array([_row(setting, option, throw) for option in options])
    entry = np.where(rows[:, shape.ON_LANE] > 0.5, rows[:, shape.ENTRY_BOARD], np.nan)
    return Table(entry.reshape(size), lines.value[:, 0].reshape(size))


def _row(setting: ranking.Setting, option: worth.Option, throw: Array) -> Array:
    ball, p = worth.body_tuple(option.body)
    closure = worth.on_lane(option.closure, setting.factors[0]).numbers()
    film = setting.tasks[0].film_um
    found: Array = averaged.run_many(throw, ball, p, closure, film, averaged.STEPS)[0]
    return found


def spread_of(tables: Sequence[Table]) -> dict[str, Any]:
    """Standard deviation and range by finish and by layout, over all tables, of both measures.

    The deviation is the root mean square over tables and, in each, over what is held fixed; the
    range is the mean of largest less smallest. ``outweighs``: the share of tables in which finishes
    spread more than layouts.
    """
    return {"tables": len(tables)} | {
        measure: _both_ways([getattr(table, measure) for table in tables]) for measure in MEASURES
    }


def _both_ways(tables: Sequence[Array]) -> dict[str, Any]:
    by_finish = [_along(table) for table in tables]
    by_layout = [_along(table.T) for table in tables]
    more = [f[0] > ly[0] for f, ly in zip(by_finish, by_layout, strict=True)]
    return {
        "finish": _pooled(by_finish),
        "layout": _pooled(by_layout),
        "outweighs": round(float(np.mean(more)), 3),
    }


def _along(table: Array) -> tuple[float, float]:
    """Root mean square deviation and mean range within the rows of a table.

    A ball that left the lane (not a number) is left out, and a row with fewer than two others.
    """
    rows = [row[np.isfinite(row)] for row in table]
    rows = [row for row in rows if len(row) > 1]
    if not rows:
        return 0.0, 0.0
    deviation = float(np.sqrt(np.mean([row.var() for row in rows])))
    return deviation, float(np.mean([np.ptp(row) for row in rows]))


def _pooled(spreads: Sequence[tuple[float, float]]) -> dict[str, float]:
    deviations, ranges = np.array(spreads).T
    return {
        "sd": round(float(np.sqrt((deviations**2).mean())), 4),
        "range": round(float(ranges.mean()), 4),
    }
