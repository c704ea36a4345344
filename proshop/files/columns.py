"""Columns of a file: what a cell may hold, how it is read and written, what is wrong with it."""

from __future__ import annotations

import datetime
import math
import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cached_property
from typing import Any

from django.db.models import TextChoices

from proshop.files.guard import defused, undone

# A column that can't be emptied.
NEVER = object()


class Refused(ValueError):
    """What is wrong with a cell and what to write instead, beginning in lower case."""


@dataclass(frozen=True)
class Column:
    """A column of text.

    ``name`` is its heading, in plain words with the unit; ``attribute`` what the value is called
    in the rows read; ``needed`` whether a new record needs it; ``empty`` what emptying it means.
    """

    name: str
    attribute: str
    about: str = ""
    needed: bool = False
    example: str = ""
    empty: Any = NEVER

    @property
    def may_be_emptied(self) -> bool:
        return self.empty is not NEVER

    def read(self, cell: str, *, comma: bool = False) -> Any:
        """The value of a cell that isn't empty; ``comma`` says that decimals have one."""
        raise NotImplementedError

    def write(self, value: Any) -> str:
        raise NotImplementedError

    @property
    def rule(self) -> str:
        """What may be written, in a few words."""
        raise NotImplementedError


@dataclass(frozen=True)
class Words(Column):
    """A text: of one line, or of several."""

    longest: int = 120
    several_lines: bool = False

    def read(self, cell: str, *, comma: bool = False) -> str:
        text = self._kept(undone(cell))
        if len(text) > self.longest:
            raise Refused(f"is {len(text)} characters long: shorten it to {self.longest}.")
        return text

    def write(self, value: Any) -> str:
        return defused(self._kept(str(value or "")))

    def _kept(self, text: str) -> str:
        return normal(text) if self.several_lines else " ".join(text.split())

    @property
    def rule(self) -> str:
        return f"text, {self.longest} characters at most"


def normal(text: str) -> str:
    """Text as it is kept and compared: line ends of one kind, nothing around it."""
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()


# Exponents as spreadsheets write them: two digits hold every number there is a column for.
NUMBER = re.compile(r"[+−-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,2})?", re.IGNORECASE | re.ASCII)


@dataclass(frozen=True)
class Number(Column):
    """A number within a range; ``places`` makes it a decimal number of so many places."""

    low: float = 0
    high: float = math.inf
    unit: str = ""
    places: int | None = None

    def read(self, cell: str, *, comma: bool = False) -> Any:
        text = undone(cell).strip()
        if comma and "." not in text:
            text = text.replace(",", ".", 1)
        if not NUMBER.fullmatch(text):
            raise Refused(f"must be {self.rule}, with digits and a point.")
        number = Decimal(text.replace("−", "-"))
        if not self.low <= number <= self.high:
            raise Refused(f"must be {self.rule}.")
        return self._kept(number)

    def _kept(self, number: Decimal) -> Any:
        if self.places is None:
            return float(number)
        try:
            return number.quantize(Decimal(1).scaleb(-self.places))
        except InvalidOperation as error:
            raise Refused(f"must be {self.rule}.") from error

    def write(self, value: Any) -> str:
        if value is None:
            return ""
        text = format(Decimal(repr(value) if isinstance(value, float) else str(value)), "f")
        return text.rstrip("0").rstrip(".") if "." in text and self.places is None else text

    @property
    def rule(self) -> str:
        return f"a number {self._span}"

    @property
    def _span(self) -> str:
        text = f"from {self.low:g} to {self.high:.10g}".replace("-", "−")
        return f"{text} {self.unit}".rstrip()


@dataclass(frozen=True)
class Whole(Number):
    """A whole number within a range."""

    def _kept(self, number: Decimal) -> int:
        if number != number.to_integral_value():
            raise Refused(f"must be {self.rule}.")
        return int(number)

    @property
    def rule(self) -> str:
        return f"a whole number {self._span}"


@dataclass(frozen=True)
class RecordNumber(Whole):
    """The number under which the site knows a record."""

    low: float = 1
    high: float = 9_999_999_999

    @property
    def rule(self) -> str:
        return "a whole number"


@dataclass(frozen=True)
class Choice(Column):
    """One of a few words: the label of a choice, or its key; capitals don't matter."""

    choices: type[TextChoices] = TextChoices
    # Which of the words on offer is written for a key.
    words: tuple[tuple[str, str], ...] = ()

    @cached_property
    def _labels(self) -> dict[str, str]:
        own = dict(self.words)
        return {str(key): own.get(str(key), str(label).lower()) for key, label in self._offered}

    @cached_property
    def _read(self) -> dict[str, str]:
        keys = {key.casefold(): key for key in self._labels}
        return keys | {label.casefold(): key for key, label in self._labels.items()}

    @property
    def _offered(self) -> list[tuple[str, Any]]:
        return list(self.choices.choices)

    def read(self, cell: str, *, comma: bool = False) -> str:
        text = " ".join(undone(cell).split()).casefold()
        if text not in self._read:
            raise Refused(f"must be {self.rule}.")
        return self._read[text]

    def write(self, value: Any) -> str:
        return self._labels.get(str(value), "")

    @property
    def rule(self) -> str:
        return "one of: " + ", ".join(f"“{label}”" for label in self._labels.values() if label)


YES, NO = "yes", "no"
# As spreadsheets write a ticked box, too.
SAID = {
    "yes": True,
    "y": True,
    "true": True,
    "1": True,
    "no": False,
    "n": False,
    "false": False,
    "0": False,
}


@dataclass(frozen=True)
class YesNo(Column):
    def read(self, cell: str, *, comma: bool = False) -> bool:
        try:
            return SAID[cell.strip().casefold()]
        except KeyError as error:
            raise Refused(f"must be {self.rule}.") from error

    def write(self, value: Any) -> str:
        return YES if value else NO

    @property
    def rule(self) -> str:
        return f"“{YES}” or “{NO}”"


@dataclass(frozen=True)
class Day(Column):
    """A date, year first: as ISO 8601 writes it."""

    def read(self, cell: str, *, comma: bool = False) -> datetime.date:
        try:
            return datetime.date.fromisoformat(cell.strip())
        except ValueError as error:
            raise Refused(f"must be {self.rule}.") from error

    def write(self, value: Any) -> str:
        return value.isoformat() if value else ""

    @property
    def rule(self) -> str:
        return "a date as year-month-day, like 2026-05-31"
