"""Reading a pasted oil table: feet in the first column, then 39 boards from the left gutter."""

from __future__ import annotations

import csv
import math
from itertools import pairwise
from typing import TypedDict

from arsenal.fields import plain
from arsenal.lanes.models import BOARDS

COLUMNS = BOARDS + 1
LANE_FT = 60.0
# Some tens of units are a thick film; more than this is a typing slip.
MOST_UNITS = 200.0
# Beyond the last line the lane is dry: the film ends within this many feet of it.
ENDS_WITHIN_FT = 0.01
MOST_ROWS = 400
MOST_COMPLAINTS = 5


class OilTable(TypedDict):
    """Units of oil by distance from the foul line; boards count from the left gutter."""

    distance_ft: list[float]
    units: list[list[float]]


class OilTableError(ValueError):
    """What is wrong with a pasted table, one sentence for each fault found."""

    def __init__(self, complaints: list[str]) -> None:
        super().__init__(" ".join(complaints))
        self.complaints = complaints


def read_oil_table(text: str) -> OilTable:
    """The table in ``text``, separated by commas, semicolons or tabs; a heading line is skipped.

    The oil ends at the last line: when that line isn't dry, a dry one is put right behind it.
    Raises :class:`OilTableError` naming line and column of each fault (the first few of them).
    """
    rows = _rows(text)
    complaints: list[str] = []
    distances: list[float] = []
    units: list[list[float]] = []
    for line, cells in rows:
        if len(cells) != COLUMNS:
            complaints.append(
                f"Line {line} has {len(cells)} columns; it needs {COLUMNS}: feet, then {BOARDS} "
                "boards from the left gutter."
            )
        else:
            distances.append(_number(line, 0, cells[0], LANE_FT, complaints))
            units.append(
                [_number(line, n, c, MOST_UNITS, complaints) for n, c in enumerate(cells) if n]
            )
        if len(complaints) >= MOST_COMPLAINTS:
            raise OilTableError(complaints[:MOST_COMPLAINTS])
    if complaints:
        raise OilTableError(complaints)
    _check_whole(distances, units)
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
    separator = next((mark for mark in "\t;" if mark in text), ",")
    lines = [(n, line) for n, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if len(lines) > MOST_ROWS:
        raise OilTableError([f"The table has {len(lines)} lines; at most {MOST_ROWS} are read."])
    rows = []
    for number, line in lines:
        cells = [cell.strip() for cell in next(csv.reader([line], delimiter=separator))]
        # A line often ends in a separator.
        rows.append((number, cells[:-1] if len(cells) > 1 and cells[-1] == "" else cells))
    if rows and not any(character.isdigit() for character in rows[0][1][0]):
        rows = rows[1:]
    if len(rows) < 2:
        raise OilTableError(
            ["The table needs at least two lines of numbers, at two distances from the foul line."]
        )
    return rows


def _number(line: int, column: int, text: str, most: float, complaints: list[str]) -> float:
    what = f"board {column} from the left" if column else "feet"
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not 0 <= value <= most:
        complaints.append(
            f"Line {line}, {what}: “{text[:20]}” must be a number from 0 to {most:g}."
        )
        return 0.0
    return value


def _check_whole(distances: list[float], units: list[list[float]]) -> None:
    if distances[0] != 0:
        raise OilTableError(
            [
                f"The first line must be at 0 feet, not {distances[0]:g}: copy it with 0 in front "
                "if the oil is the same from the foul line on."
            ]
        )
    for earlier, later in pairwise(distances):
        if later <= earlier:
            raise OilTableError(
                [f"Feet must rise from line to line; {later:g} comes after {earlier:g}."]
            )
    if not any(value > 0 for row in units for value in row):
        raise OilTableError(["The table holds no oil at all: every unit is 0."])
