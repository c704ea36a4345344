"""A file to rows of values and faults, and records to a file."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from proshop.files.columns import Column, Refused
from proshop.files.faults import Fault, Faulty
from proshop.files.guard import EMPTIED
from proshop.files.text import folded, numbered_rows, separator_of

MOST_BYTES = 5_000_000
MOST_ROWS = 20_000
LIMITS = f"{MOST_ROWS:,} rows and {MOST_BYTES // 1_000_000} MB"


@dataclass(frozen=True)
class Row:
    """One row: what it tells, by attribute. A cell left empty tells nothing."""

    line: int
    told: Mapping[str, Any]
    # As the cells were written, for faults found later on.
    written: Mapping[str, str] = field(default_factory=dict)

    def fault(self, column: Column, told: str) -> Fault:
        return Fault(self.line, column.name, self.written.get(column.attribute, ""), told)


@dataclass(frozen=True)
class Table:
    """What a file holds. Rows with faults are left out of ``rows``."""

    rows: list[Row]
    faults: list[Fault]


def read(text: str, columns: Sequence[Column]) -> Table:
    """Every row of a CSV file with headings, and every fault of it."""
    separator = separator_of(text, [column.name for column in columns])
    faults: list[Fault] = []
    rows: list[Row] = []
    lines = numbered_rows(text, separator)
    try:
        line, headings = next(lines, (0, []))
        if not line:
            return Table([], [Fault(0, "", "", "is empty: the first line must hold the headings.")])
        places, faults = _places(line, headings, columns)
        if not places:
            return Table([], faults)
        count = 0
        for line, cells in lines:
            count += 1
            if count > MOST_ROWS:
                told = f"holds more than {MOST_ROWS:,} rows: split it and send the parts."
                return Table([], [*faults, Fault(0, "", "", told)])
            row, wrong = _row(line, cells, places, len(headings), comma=separator != ",")
            faults += wrong
            if row is not None:
                rows.append(row)
    except Faulty as stop:
        return Table(rows, [*faults, *stop.faults])
    if not count:
        faults.append(Fault(0, "", "", "holds headings only: add a row for each record."))
    return Table(rows, faults)


def _places(
    line: int, headings: list[str], columns: Sequence[Column]
) -> tuple[dict[int, Column], list[Fault]]:
    """Which column stands where, and what is wrong with the headings."""
    by_name = {folded(column.name): column for column in columns}
    places: dict[int, Column] = {}
    faults: list[Fault] = []
    for place, heading in enumerate(headings):
        if not heading.strip():
            continue
        column = by_name.get(folded(heading))
        if column is None:
            names = ", ".join(column.name for column in columns)
            told = f"isn’t a heading known here: rename or remove the column. Known are {names}."
            faults.append(Fault(line, "headings", heading, told))
        elif column in places.values():
            told = "is there twice: keep one of the two columns."
            faults.append(Fault(line, "headings", heading, told))
        else:
            places[place] = column
    return places, faults


def _row(
    line: int, cells: list[str], places: Mapping[int, Column], width: int, *, comma: bool
) -> tuple[Row | None, list[Fault]]:
    if any(cell.strip() for cell in cells[width:]):
        told = (
            f"has {len(cells)} cells under {width} headings: put text that holds the separator in "
            "double quotes, or name the column."
        )
        return None, [Fault(line, "", "", told)]
    told_here: dict[str, Any] = {}
    written: dict[str, str] = {}
    faults: list[Fault] = []
    for place, column in places.items():
        cell = cells[place] if place < len(cells) else ""
        stripped = cell.strip()
        if not stripped:
            continue
        written[column.attribute] = cell
        try:
            if stripped.casefold() == EMPTIED:
                if not column.may_be_emptied:
                    raise Refused("can’t be emptied: write a value, or leave the cell empty.")
                told_here[column.attribute] = column.empty
            else:
                told_here[column.attribute] = column.read(cell, comma=comma)
        except Refused as refused:
            faults.append(Fault(line, column.name, cell, str(refused)))
    return (None if faults else Row(line, told_here, written)), faults


def write(columns: Sequence[Column], records: Iterable[Mapping[str, Any]]) -> str:
    """The records as a CSV file (RFC 4180) which :func:`read` reads back."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([column.name for column in columns])
    for record in records:
        writer.writerow([column.write(record.get(column.attribute)) for column in columns])
    return out.getvalue()
