"""From the bytes of a file to numbered rows of cells."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator, Sequence

from proshop.files.faults import Fault, Faulty

SEPARATORS = ",;\t"
SAVE_AS = "save the sheet as “CSV UTF-8”"
# Some spreadsheets write the separator on a line of its own before anything else.
SEPARATOR_LINE = re.compile(r"sep=(.)\r?\n", re.IGNORECASE)


def text_of(content: bytes) -> str:
    """The text of a file: UTF-8 with or without its mark, or UTF-16 that says so.

    Raises :class:`Faulty` for anything else, naming the line, with what to save instead.
    """
    if content.startswith((b"PK", b"\xd0\xcf")):
        raise Faulty([Fault(0, "", "", f"is a spreadsheet, not a CSV: {SAVE_AS} and send that.")])
    wide = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        text = content.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise Faulty([Fault(line, "", "", f"isn’t UTF-8 text: {SAVE_AS}.")]) from error
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise Faulty([Fault(line, "", "", f"holds no plain text: {SAVE_AS}.")])
    return text


def separator_of(text: str, known: Sequence[str] = ()) -> str:
    """The separator of a file: the one that finds most of the known headings on the first line.

    Without known headings it is a tab or a semicolon if there is any, and else a comma.
    """
    if said := SEPARATOR_LINE.match(text):
        return said[1]
    if not known:
        return next((mark for mark in "\t;" if mark in text), ",")
    first = next((line for line in text.splitlines() if line.strip()), "")
    wanted = {folded(name) for name in known}

    def found(separator: str) -> int:
        cells = next(csv.reader([first], delimiter=separator), [])
        return len({folded(cell) for cell in cells} & wanted)

    return max(SEPARATORS, key=found)


def numbered_rows(text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """Rows with something on them, each with the line of the file it begins on.

    As in RFC 4180: cells may stand in double quotes, hold separators and line ends then, and
    write a quote as two. Raises :class:`Faulty` where quotes are not closed.
    """
    skipped = 0
    if said := SEPARATOR_LINE.match(text):
        text, skipped = text[said.end() :], 1
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    while True:
        line = reader.line_num + 1 + skipped
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise Faulty(
                [
                    Fault(
                        line,
                        "",
                        "",
                        "has a double quote that isn’t closed, or text behind one that is. Write "
                        "a quote inside a cell as two; what follows couldn’t be read.",
                    )
                ]
            ) from error
        if any(cell.strip() for cell in cells):
            yield line, cells


def folded(name: str) -> str:
    """A heading however it is spaced and capitalised."""
    return " ".join(name.split()).casefold()
