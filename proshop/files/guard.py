"""Cells that a spreadsheet would run as formulas.

A text that begins with one of the signs below is taken for a formula when the file is opened, and
a formula can send what is in the sheet elsewhere (OWASP, “CSV Injection”, which lists them). An
apostrophe before it stops that. Reading takes it off again, so a file comes back as it was.
"""

from __future__ import annotations

import re

# What a cell holds to empty a field: an empty cell leaves what is there.
EMPTIED = "(empty)"

_RUN = re.compile(r"'*(?:\s*[=+\-@＝＋－＠\t\r\n]|\(empty\)\Z)", re.IGNORECASE)


def defused(text: str) -> str:
    """The text as a cell that no spreadsheet runs, and that isn't read as an instruction."""
    return f"'{text}" if _RUN.match(text) else text


def undone(cell: str) -> str:
    """The text that :func:`defused` made this cell of; any other cell is itself."""
    return cell[1:] if cell.startswith("'") and _RUN.match(cell) else cell
