"""Reading a pasted oil table: feet in the first column, then 39 boards from the left gutter."""

from __future__ import annotations

import csv
import math
from typing import TypedDict

from arsenal.lanes.models import BOARDS

COLUMNS = BOARDS + 1
LANE_FT = 60.0
# One pass of a lane machine lays some tens of units on a board; a film this thick is a typing slip.
MOST_UNITS = 300.0
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
    return {"distance_ft": distances, "units": units}


def write_oil_table(table: OilTable) -> str:
    """The table as text that :func:`read_oil_table` reads back."""
    return "\n".join(
        ",".join(f"{value:g}" for value in [feet, *row])
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
    for earlier, later in zip(distances, distances[1:], strict=False):
        if later <= earlier:
            raise OilTableError(
                [f"Feet must rise from line to line; {later:g} comes after {earlier:g}."]
            )
    if not any(value > 0 for row in units for value in row):
        raise OilTableError(["The table holds no oil at all: every unit is 0."])
