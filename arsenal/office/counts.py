"""How many customers have a gap, of which sort and when: what the page counts, filters and all."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from arsenal.office.models import TaskFound
from arsenal.office.table import Table


@dataclass(frozen=True)
class Bar:
    """Customers of one sort: how many, and how many of them have a gap."""

    label: str
    value: str
    customers: int
    with_gap: int

    @property
    def share(self) -> float:
        return self.with_gap / self.customers if self.customers else 0.0

    @property
    def percent(self) -> int:
        return round(100 * self.share)


@dataclass(frozen=True)
class Overview:
    """The counts of the page."""

    customers: int
    with_gap: int
    ranked: int
    oldest: dt.date | None
    groups: list[tuple[str, str, list[Bar]]]
    months: list[Bar]

    @property
    def percent(self) -> int:
        return round(100 * self.with_gap / self.customers) if self.customers else 0


GROUPS = (
    ("task", "By condition"),
    ("side", "By side"),
    ("kind", "By release"),
    ("hand", "By hand"),
    ("weight_lb", "By ball weight"),
    ("league", "By league"),
    ("house", "By house"),
)


def overview(table: Table, wanted: Mapping[str, str]) -> Overview:
    """Counts over active customers, of those that pass the filters."""
    chosen = table.chosen(wanted)
    now = chosen & table.now
    one = np.zeros(len(chosen), dtype=np.intp)
    return Overview(
        customers=int(table.count(now, one, 1)[0]),
        with_gap=int(table.count(now & table.gap, one, 1)[0]),
        ranked=int(table.count(table.now, one, 1)[0]),
        oldest=dt.date.fromordinal(int(table.day[now].min())) if now.any() else None,
        groups=[(name, title, _bars(table, now, name)) for name, title in GROUPS],
        months=_months(table, chosen & table.closing),
    )


def _bars(table: Table, rows: np.ndarray, name: str) -> list[Bar]:
    """One bar a value, most gaps first; sides are those of gaps."""
    codes, values = table.codes[name], table.values[name]
    rows = rows & table.gap if name == "side" else rows
    people = table.count(rows, codes, len(values))
    gaps = table.count(rows & table.gap, codes, len(values))
    bars = [
        Bar(label_of(name, value), value, int(people[n]), int(gaps[n]))
        for n, value in enumerate(values)
        if people[n]
    ]
    return sorted(bars, key=lambda bar: (-bar.with_gap, bar.label))


def _months(table: Table, rows: np.ndarray) -> list[Bar]:
    """A customer counts in every month they were ranked in, as their last ranking of it found."""
    people = table.count(rows, table.month, len(table.months))
    gaps = table.count(rows & table.gap, table.month, len(table.months))
    return [
        Bar(f"{dt.date.fromisoformat(f'{month}-01'):%b %Y}", month, int(people[n]), int(gaps[n]))
        for month, n in sorted((month, n) for n, month in enumerate(table.months))
        if people[n]
    ]


def label_of(name: str, value: Any) -> str:
    if name in {"side", "kind"}:
        choices = TaskFound.Side if name == "side" else TaskFound.Kind
        return str(dict(choices.choices).get(value, value))
    if name == "hand":
        return "Right-handed" if value == "right" else "Left-handed"
    if name == "weight_lb":
        return f"{value} lb"
    if name == "league":
        return str(value or "No league on record")
    return str(value or "No house")
