"""What changed in a record and in the rows that belong to it, newest first."""

from __future__ import annotations

from itertools import groupby
from types import SimpleNamespace
from typing import Any, Self

from proshop.history import Change, changes


class _Fetched(list[Any]):
    """History rows fetched beforehand, where `changes` expects to ask for them."""

    def select_related(self, *names: str) -> Self:
        return self


def changes_with_rows(
    record: Any, rows: type[Any], *, link: str, name: str, limit: int = 12
) -> list[Change]:
    """Changes of a record together with those of its ``rows``, removed ones too: two queries.

    ``link`` is the rows' field that leads to the record; ``name`` is the field a row goes by.
    """
    history: Any = rows.history
    entries = history.filter(**{link: record.pk}).select_related("history_user")
    told = list(changes(record, limit))
    for _, family in groupby(entries.order_by("id", "-history_date", "-history_id"), _row_id):
        fetched = _Fetched(family)
        word = _name(fetched[0], name)
        told += [
            change._replace(words=f"{word}: {change.words[:1].lower()}{change.words[1:]}")
            for change in changes(SimpleNamespace(history=fetched), limit)
        ]
    return sorted(told, key=lambda change: change.when, reverse=True)[:limit]


def _row_id(entry: Any) -> int:
    number: int = entry.id
    return number


def _name(entry: Any, name: str) -> str:
    display = getattr(entry, f"get_{name}_display", None)
    return str(display() if display else getattr(entry, name))
