"""Rows written straight into tables, a million of them in a minute or so."""

from __future__ import annotations

import itertools
import json
from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import Any
from uuid import UUID

from django.db import connection, models
from django.db.models import Max

# So many rows of a table wait before they are written.
FLUSH = 5000


class Rows:
    """Rows gathered by table, in the order of its columns, and written by COPY where there is one.

    Numbers are given out here, so that a row can point at another that isn't written yet.
    """

    def __init__(self) -> None:
        self._waiting: dict[Any, list[Sequence[Any]]] = defaultdict(list)
        self._numbers: dict[Any, Iterator[int]] = {}
        self.written: dict[str, int] = defaultdict(int)

    def number(self, model: Any) -> int:
        """The next free number of a table."""
        if model not in self._numbers:
            last = model._base_manager.aggregate(last=Max("pk"))["last"] or 0
            self._numbers[model] = itertools.count(last + 1)
        return next(self._numbers[model])

    def add(self, model: Any, row: Sequence[Any]) -> None:
        waiting = self._waiting[model]
        waiting.append(row)
        if len(waiting) >= FLUSH:
            self._write(model)

    def write(self) -> None:
        """Everything that waits, and the tables' own counters set on."""
        for model in list(self._waiting):
            self._write(model)
        if connection.vendor != "postgresql":
            return
        with connection.cursor() as cursor:
            for model in self._numbers:
                table = model._meta.db_table
                cursor.execute(
                    f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), max(id)) FROM {table}"  # noqa: S608
                )

    def _write(self, model: Any) -> None:
        rows, self._waiting[model] = self._waiting[model], []
        if not rows:
            return
        self.written[model._meta.db_table] += len(rows)
        names = ", ".join(f'"{field.column}"' for field in model._meta.concrete_fields)
        table = f'"{model._meta.db_table}"'
        with connection.cursor() as cursor:
            if connection.vendor == "postgresql":
                with cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:
                    for row in rows:
                        copy.write_row(row)
                return
            marks = ", ".join(["%s"] * len(rows[0]))
            cursor.executemany(
                f"INSERT INTO {table} ({names}) VALUES ({marks})",  # noqa: S608
                [[_for_sqlite(value) for value in row] for row in rows],
            )


def _for_sqlite(value: Any) -> Any:
    if isinstance(value, UUID):
        return value.hex
    if hasattr(value, "isoformat"):
        return value.isoformat(" ") if hasattr(value, "hour") else value.isoformat()
    return str(value) if value.__class__.__name__ == "Decimal" else value


class Kind:
    """Rows of one table made like a pattern: a record's own values, some of them others."""

    def __init__(self, rows: Rows, model: Any) -> None:
        self.rows, self.model = rows, model
        self.fields: list[Any] = list(model._meta.concrete_fields)
        self.place = {field.attname: n for n, field in enumerate(self.fields)}

    def pattern(self, record: models.Model | None = None) -> list[Any]:
        """A record's values, or those of an empty one."""
        record = record if record is not None else self.model()
        return [_plain(field, getattr(record, field.attname)) for field in self.fields]

    def put(self, pattern: Sequence[Any], **changes: Any) -> int:
        """Another row like the pattern, with a number of its own; that number."""
        row = list(pattern)
        for name, value in changes.items():
            row[self.place[name]] = value
        number = self.rows.number(self.model)
        row[0] = number
        self.rows.add(self.model, row)
        return number


def _plain(field: Any, value: Any) -> Any:
    if isinstance(field, models.JSONField) and value is not None:
        return json.dumps(value)
    return value


def history_of(model: Any, moment: Any) -> None:
    """A first entry in the history for every record newer than those in it: what saving would
    leave."""
    past = model.history.model
    kept = [field.column for field in past._meta.concrete_fields]
    own = {field.column for field in model._meta.concrete_fields}
    shared = ", ".join(f'"{name}"' for name in kept if name in own)
    last = past._base_manager.aggregate(last=Max("id"))["last"] or 0
    with connection.cursor() as cursor:
        cursor.execute(
            f'INSERT INTO "{past._meta.db_table}" ({shared}, history_date, history_type)'  # noqa: S608
            f' SELECT {shared}, %s, %s FROM "{model._meta.db_table}" WHERE id > %s',
            [moment, "+", last],
        )
