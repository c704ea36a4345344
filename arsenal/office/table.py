"""What rankings found, as columns of small numbers: a million rows counted in milliseconds.

A row is a task of a ranking that counts: the newest of a customer, or their last in a month. It is
gathered from the database by a job and kept, so that the page takes as long however large the shop.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from django.utils import timezone

from arsenal.office.models import TaskFound, active_since
from proshop.models import Shop

# What may be counted by, and filtered by; "weight_lb" is of the balls of the customer's bag.
FILTERS = ("task", "side", "kind", "hand", "weight_lb", "league", "house")
FIELDS = {"house": "house__name", "league": "bowler__league"}
# Rows read from the database at a time.
AT_A_TIME = 20_000
# Tables a process holds unpacked, a megabyte for ten thousand customers.
HELD = 4


@dataclass(frozen=True)
class Table:
    """Columns, and what their numbers stand for.

    ``codes``: by filter a number a row, its place among the filter's ``values``. ``person`` and
    ``month`` are places as well; ``day`` is counted from the year 1. ``now``: of the newest
    ranking of a customer; ``closing``: of their last in that month. Only a ``gap`` has a side.
    """

    codes: Mapping[str, np.ndarray]
    values: Mapping[str, list[str]]
    person: np.ndarray
    month: np.ndarray
    months: list[str]
    day: np.ndarray
    now: np.ndarray
    closing: np.ndarray
    gap: np.ndarray

    @property
    def people(self) -> int:
        return int(self.person.max()) + 1 if len(self.person) else 0

    def chosen(self, wanted: Mapping[str, str]) -> np.ndarray:
        """Which rows pass the filters; a value that no row has passes none."""
        rows = np.ones(len(self.person), dtype=bool)
        for name, value in wanted.items():
            known = self.values[name]
            rows &= self.codes[name] == known.index(value) if value in known else False
        return rows

    def count(self, rows: np.ndarray, groups: np.ndarray, size: int) -> np.ndarray:
        """Customers among these rows by group, each once in each."""
        met = np.zeros((size, max(1, self.people)), dtype=bool)
        met[groups[rows], self.person[rows]] = True
        # Row by row: along an axis numpy makes a number of every bit first.
        return np.array([np.count_nonzero(row) for row in met])

    def to_bytes(self) -> bytes:
        out = io.BytesIO()
        np.savez_compressed(
            out,
            allow_pickle=False,
            **{f"codes {name}": codes for name, codes in self.codes.items()},
            **{f"values {name}": np.array(values, str) for name, values in self.values.items()},
            **{name: getattr(self, name) for name in ("person", "month", "day", "now", "closing",
                                                      "gap")},
            months=np.array(self.months, str),
        )  # fmt: skip
        return out.getvalue()

    @classmethod
    def from_bytes(cls, kept: bytes) -> Table:
        with np.load(io.BytesIO(kept), allow_pickle=False) as held:
            return cls(
                codes={name: held[f"codes {name}"] for name in FILTERS},
                values={name: [str(v) for v in held[f"values {name}"]] for name in FILTERS},
                months=[str(month) for month in held["months"]],
                **{name: held[name] for name in ("person", "month", "day", "now", "closing",
                                                 "gap")},
            )  # fmt: skip


@lru_cache(maxsize=HELD)
def table_of(kept: bytes) -> Table:
    """:meth:`Table.from_bytes`, once as long as the same is kept. Not to be changed."""
    return Table.from_bytes(kept)


class _Places:
    """Values numbered in the order they are met."""

    def __init__(self) -> None:
        self.places: dict[object, int] = {}

    def of(self, value: object) -> int:
        return self.places.setdefault(value, len(self.places))

    @property
    def names(self) -> list[str]:
        return [str("" if value is None else value) for value in self.places]


def gather(shop: Shop) -> Table:
    """Everything the page counts, of one shop, as it is now."""
    places = {name: _Places() for name in FILTERS}
    people, months = _Places(), _Places()
    numbers = np.fromiter(
        (
            (
                people.of(bowler),
                months.of(f"{on:%Y-%m}"),
                on.toordinal(),
                ranking,
                latest,
                gap,
                *(places[name].of(value) for name, value in zip(FILTERS, found, strict=True)),
            )
            for bowler, on, ranking, latest, gap, *found in _rows(shop)
        ),
        dtype=np.dtype((np.int64, 6 + len(FILTERS))),
    )
    person, month, day, ranking, latest, gap = numbers[:, :6].T
    visit = month * (int(person.max()) + 1 if len(person) else 1) + person
    last = np.zeros(int(visit.max()) + 1 if len(visit) else 0, dtype=np.int64)
    np.maximum.at(last, visit, ranking)
    closing = ranking == last[visit]
    kept = closing | (latest == 1)
    return Table(
        codes={n: numbers[kept, 6 + k].astype(np.uint16) for k, n in enumerate(FILTERS)},
        values={name: places[name].names for name in FILTERS},
        person=person[kept].astype(np.uint32),
        month=month[kept].astype(np.uint8),
        months=months.names,
        day=day[kept].astype(np.uint32),
        now=latest[kept].astype(bool),
        closing=closing[kept],
        gap=gap[kept].astype(bool),
    )


def _rows(shop: Shop) -> Iterator[tuple[Any, ...]]:
    rows = TaskFound.objects.filter(shop=shop, found_on__gte=active_since(timezone.localdate()))
    fields = [FIELDS.get(name, name) for name in FILTERS]
    return rows.values_list("bowler", "found_on", "ranking", "latest", "gap", *fields).iterator(
        chunk_size=AT_A_TIME
    )
