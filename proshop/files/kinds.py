"""What a kind of file is about, and the plan of what importing one would do."""

from __future__ import annotations

import hashlib
from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

from django.db import models

from proshop.files.columns import Column
from proshop.files.faults import Fault, shortened
from proshop.files.guard import undone
from proshop.files.reading import Row, Table
from proshop.models import Shop


@dataclass(frozen=True)
class Changed:
    """One value that a row changes, as the file writes values."""

    column: str
    before: str
    after: str

    @property
    def words(self) -> str:
        texts = (undone(self.before), undone(self.after))
        before, after = (shortened(text) or "nothing" for text in texts)
        return f"{self.column}: {before} to {after}"


@dataclass(frozen=True)
class Planned:
    """What importing would do with one row: add a record, change one, or leave it as it is."""

    line: int
    name: str
    action: str
    changes: tuple[Changed, ...] = ()


ADD, CHANGE, SAME = "add", "change", "same"


@dataclass
class Plan:
    """What importing a file would do: everything in it, or nothing if there is one fault.

    ``notes`` are worth a look but stop nothing. ``fresh`` and ``stale`` hold the records to be
    added and changed, ready to be stored.
    """

    faults: list[Fault] = field(default_factory=list)
    notes: list[Fault] = field(default_factory=list)
    rows: list[Planned] = field(default_factory=list)
    fresh: list[Any] = field(default_factory=list)
    stale: list[Any] = field(default_factory=list)

    def count(self, action: str) -> int:
        return sum(row.action == action for row in self.rows)

    @property
    def added(self) -> list[Planned]:
        return [row for row in self.rows if row.action == ADD]

    @property
    def changed(self) -> list[Planned]:
        return [row for row in self.rows if row.action == CHANGE]

    @property
    def same(self) -> int:
        return self.count(SAME)

    @property
    def does_something(self) -> bool:
        return not self.faults and any(row.action != SAME for row in self.rows)

    @property
    def fingerprint(self) -> str:
        """Of all it would do: two plans with one fingerprint do the same to the same records."""
        return hashlib.sha256(repr((self.faults, self.rows)).encode()).hexdigest()


class FileKind(ABC):
    """Records of one kind as a file: its columns, its key, and what a file would do."""

    slug: ClassVar[str]
    title: ClassVar[str]
    # What one row is, and several: "a customer".
    row_word: ClassVar[str]
    # How a row finds the record it is about, in sentences.
    key: ClassVar[str]
    # The name of the address of the list of these records.
    home: ClassVar[str]
    columns: ClassVar[tuple[Column, ...]]

    @property
    def page(self) -> str:
        """Name of the address of its page; with what follows, of the files it gives."""
        return f"{self.slug}-file"

    @property
    def page_out(self) -> str:
        return f"{self.slug}-file-out"

    @property
    def page_template(self) -> str:
        return f"{self.slug}-template"

    @abstractmethod
    def records(self, shop: Shop) -> Iterable[Mapping[str, Any]]:
        """Everything the shop has, as rows of the file."""

    @abstractmethod
    def plan(self, shop: Shop, table: Table, *, lock: bool = False) -> Plan:
        """What importing would do; ``lock`` holds the records until the transaction ends."""

    @abstractmethod
    def store(self, plan: Plan, *, user: Any, reason: str) -> None:
        """Do what was planned. The caller holds the transaction."""


def put(record: models.Model, row: Row, columns: Sequence[Column]) -> tuple[Changed, ...]:
    """Write what a row tells into a record, and say which of its values that changes."""
    changes = []
    for column in columns:
        name = column.attribute
        if name not in row.told:
            continue
        before, after = column.write(getattr(record, name)), column.write(row.told[name])
        if before != after:
            changes.append(Changed(column.name, before, after))
            setattr(record, name, row.told[name])
    return tuple(changes)


def missing(row: Row, columns: Sequence[Column]) -> list[Fault]:
    """A fault for each column that a new record needs and the row doesn't tell."""
    return [
        row.fault(column, f"is missing: write {column.rule}.")
        for column in columns
        if column.needed and row.told.get(column.attribute) in (None, "")
    ]


_kinds: dict[str, FileKind] = {}


def register(kind: FileKind) -> None:
    """Offer a kind of file; apps do so in ``AppConfig.ready``."""
    _kinds[kind.slug] = kind


def kind_of(slug: str) -> FileKind:
    return _kinds[slug]
