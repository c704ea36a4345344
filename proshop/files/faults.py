"""What is wrong with a file, and where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

LONGEST_VALUE = 60


@dataclass(frozen=True, order=True)
class Fault:
    """One fault. ``told`` says what is wrong and what to do, beginning in lower case.

    ``line`` is the line of the file on which the row begins, 0 for the file as a whole (or for what
    ``column`` calls it); ``column`` and ``value`` are empty where it isn't about one cell.
    """

    line: int
    column: str
    value: str
    told: str

    @property
    def words(self) -> str:
        if not self.line:
            return f"The {self.column or 'file'} {self.told}"
        if not self.column:
            return f"Line {self.line} {self.told}"
        shown = f"“{shortened(self.value)}” " if self.value.strip() else ""
        return f"Line {self.line}, {self.column}: {shown}{self.told}"


def shortened(text: str) -> str:
    return text if len(text) <= LONGEST_VALUE else f"{text[: LONGEST_VALUE - 1]}…"


class Faulty(ValueError):
    """A file that can't be read further."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__(" ".join(fault.words for fault in faults))
        self.faults = list(faults)
