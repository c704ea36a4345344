"""Oil tables as text and as files: feet in the first column, then 39 boards from the left."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TypedDict

from arsenal.fields import plain
from arsenal.lanes.models import BOARDS
from proshop.files.faults import Fault, Faulty
from proshop.files.text import numbered_rows, separator_of

COLUMNS = BOARDS + 1
LANE_FT = 60.0
# Some tens of units are a thick film; more than this is a typing slip.
MOST_UNITS = 200.0
# Beyond the last line the lane is dry: the film ends within this many feet of it.
ENDS_WITHIN_FT = 0.01
MOST_ROWS = 400
MOST_FAULTS = 5


class OilTable(TypedDict):
    """Units of oil by distance from the foul line; boards count from the left gutter."""

    distance_ft: list[float]
    units: list[list[float]]


def file_of_table(table: OilTable) -> str:
    """The table as a CSV file with a heading, which :func:`read_oil_table` reads back."""
    heading = ",".join(["feet", *(str(board) for board in range(1, BOARDS + 1))])
    return f"{heading}\n{write_oil_table(table)}\n"


def read_oil_table(text: str) -> OilTable:
    """The table in ``text``, separated by commas, semicolons or tabs; a heading line is skipped.

    The oil ends at the last line: when that line isn't dry, a dry one is put right behind it.
    Raises :class:`Faulty` with line and column of each fault (the first few of them).
    """
    faults: list[Fault] = []
    distances: list[float] = []
    units: list[list[float]] = []
    rows = _rows(text)
    for line, cells in rows:
        if len(cells) != COLUMNS:
            off = len(cells) - COLUMNS
            few = f"{abs(off)} {'board' if abs(off) == 1 else 'boards'}"
            told = (
                f"has {len(cells)} columns; it needs {COLUMNS}: feet, then {BOARDS} boards from "
                f"the left gutter. {few} {'too many' if off > 0 else 'missing'}: write 0 where a "
                "board is dry."
            )
            faults.append(Fault(line, "", "", told))
        else:
            distances.append(_number(line, 0, cells[0], LANE_FT, faults))
            units.append(
                [_number(line, n, c, MOST_UNITS, faults) for n, c in enumerate(cells) if n]
            )
        if len(faults) >= MOST_FAULTS:
            raise Faulty(faults[:MOST_FAULTS])
    faults += [] if faults else _order_faults([line for line, _ in rows], distances, units)
    if faults:
        raise Faulty(faults)
    if any(units[-1]) and distances[-1] < LANE_FT:
        distances.append(round(min(distances[-1] + ENDS_WITHIN_FT, LANE_FT), 4))
        units.append([0.0] * BOARDS)
    return {"distance_ft": distances, "units": units}


def write_oil_table(table: OilTable) -> str:
    """The table as text that :func:`read_oil_table` reads back."""
    return "\n".join(
        ",".join(plain(value) for value in [feet, *row])
        for feet, row in zip(table["distance_ft"], table["units"], strict=True)
    )


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """Numbered lines with something on them, split into cells, without a heading."""
    rows = []
    for line, row in numbered_rows(text, separator_of(text)):
        cells = [cell.strip() for cell in row]
        # A line often ends in a separator.
        rows.append((line, cells[:-1] if len(cells) > 1 and cells[-1] == "" else cells))
    if len(rows) > MOST_ROWS:
        told = f"has {len(rows)} lines; at most {MOST_ROWS} are read."
        raise Faulty([Fault(0, "table", "", told)])
    if rows and not any(character.isdigit() for character in rows[0][1][0]):
        rows = rows[1:]
    if len(rows) < 2:
        told = "needs at least two lines of numbers, at two distances from the foul line."
        raise Faulty([Fault(0, "table", "", told)])
    return rows


def _number(line: int, column: int, text: str, most: float, faults: list[Fault]) -> float:
    try:
        value = float(text.replace(",", ".").replace("_", "?"))
    except ValueError:
        value = math.nan
    if 0 <= value <= most:
        return value
    remedy = ""
    if not text.strip():
        remedy = " Write 0 where it is dry."
    elif value < 0:
        remedy = " There is no less oil than none." if column else ""
    elif value > most and not column:
        remedy = f" The head pin stands at {LANE_FT:g} ft: leave out what lies past it."
    what = f"board {column} from the left" if column else "feet"
    faults.append(Fault(line, what, text, f"must be a number from 0 to {most:g}.{remedy}"))
    return 0.0


def _order_faults(
    lines: list[int], distances: list[float], units: list[list[float]]
) -> list[Fault]:
    """What is wrong with distances that are numbers each, and with oil that is nowhere."""
    faults = []
    if distances[0] != 0:
        told = (
            "must be 0: the first line is at the foul line. Copy the line with 0 in front if the "
            "oil is the same from there on."
        )
        faults.append(Fault(lines[0], "feet", f"{distances[0]:g}", told))
    for line, (earlier, later) in zip(lines[1:], pairwise(distances), strict=True):
        if later > earlier:
            continue
        told = (
            "is the distance of the line before it too: keep one of the two."
            if later == earlier
            else f"comes after {earlier:g}, but feet must rise from line to line: put the lines in "
            "order."
        )
        faults.append(Fault(line, "feet", f"{later:g}", told))
    if not any(value > 0 for row in units for value in row):
        faults.append(Fault(0, "table", "", "holds no oil at all: every unit is 0."))
    return faults[:MOST_FAULTS]
