"""Oil tables as text and as files: feet in the first column, then 39 boards from the left."""

from __future__ import annotations

import codecs
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


def text_of_file(content: bytes) -> str:
    """The text of a CSV file: UTF-8, or UTF-16 that says so, as spreadsheets save them.

    Raises :class:`OilTableError` for anything else, naming the line, with what to save instead.
    """
    if content.startswith((b"PK", b"\xd0\xcf")):
        raise OilTableError(
            ["The file is a spreadsheet, not a CSV: save the sheet as “CSV UTF-8” and send that."]
        )
    wide = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        text = content.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise OilTableError(
            [f"Line {line} of the file isn’t UTF-8 text: save the sheet as “CSV UTF-8”."]
        ) from error
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise OilTableError(
            [f"Line {line} of the file holds no plain text: save the sheet as “CSV UTF-8”."]
        )
    return text


def file_of_table(table: OilTable) -> str:
    """The table as a CSV file with a heading, which :func:`read_oil_table` reads back."""
    heading = ",".join(["feet", *(str(board) for board in range(1, BOARDS + 1))])
    return f"{heading}\n{write_oil_table(table)}\n"


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
            off = len(cells) - COLUMNS
            few = f"{abs(off)} {'board' if abs(off) == 1 else 'boards'}"
            complaints.append(
                f"Line {line} has {len(cells)} columns; it needs {COLUMNS}: feet, then {BOARDS} "
                f"boards from the left gutter. {few} {'too many' if off > 0 else 'missing'}: write "
                "0 where a board is dry."
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
    _check_whole([line for line, _ in rows], distances, units)
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
        value = float(text.replace(",", ".").replace("_", "?"))
    except ValueError:
        value = math.nan
    if not 0 <= value <= most:
        remedy = ""
        if not text.strip():
            remedy = " Write 0 where it is dry."
        elif value < 0:
            remedy = " There is no less oil than none." if column else ""
        elif value > most and not column:
            remedy = f" The head pin stands at {LANE_FT:g} ft: leave out what lies past it."
        complaints.append(
            f"Line {line}, {what}: “{text[:20]}” must be a number from 0 to {most:g}.{remedy}"
        )
        return 0.0
    return value


def _check_whole(lines: list[int], distances: list[float], units: list[list[float]]) -> None:
    if distances[0] != 0:
        raise OilTableError(
            [
                f"The first line must be at 0 feet, not {distances[0]:g}: copy it with 0 in front "
                "if the oil is the same from the foul line on."
            ]
        )
    for line, (earlier, later) in zip(lines[1:], pairwise(distances), strict=True):
        if later == earlier:
            raise OilTableError(
                [f"Line {line} is at {later:g} feet, as the line before it: keep one of the two."]
            )
        if later < earlier:
            raise OilTableError(
                [
                    f"Line {line}: feet must rise from line to line; {later:g} comes after "
                    f"{earlier:g}. Put the lines in order."
                ]
            )
    if not any(value > 0 for row in units for value in row):
        raise OilTableError(["The table holds no oil at all: every unit is 0."])
