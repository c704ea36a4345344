"""What belongs to one customer: every record that would go with theirs, and every history of it.

Found by the foreign keys themselves, so that a new kind of record is given out and erased as soon
as it exists.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.db import models
from django.db.models import Count, IntegerField, Value
from django.db.models.functions import Cast

from bowlers.duplicates.models import CustomerMerge
from bowlers.models import Bowler

# Numbers, and queries, that go into one statement.
AT_ONCE, TOGETHER = 5_000, 100


@dataclass
class Belongings:
    """``numbers``: of every kind the numbers of the records, those deleted long ago included."""

    bowler: Bowler
    numbers: dict[Any, set[Any]] = field(default_factory=lambda: defaultdict(set))

    def rows(self) -> Iterator[tuple[Any, list[Any]]]:
        """Every kind with the records that are there, in a settled order."""
        for model in sorted(self.numbers, key=lambda one: one._meta.label_lower):
            found = [
                row
                for part in _parts(self.numbers[model])
                for row in model._base_manager.filter(pk__in=part).order_by("pk")
            ]
            if found:
                yield model, found

    def histories(self) -> Iterator[tuple[Any, list[Any]]]:
        """Every kind with what its records said before, oldest first."""
        for model in sorted(self.numbers, key=lambda one: one._meta.label_lower):
            told = _history_of(model)
            if told is None:
                continue
            key = model._meta.pk.attname
            found = [
                row
                for part in _parts(self.numbers[model])
                for row in told._base_manager.filter(**{f"{key}__in": part}).order_by("history_id")
            ]
            if found:
                yield model, found

    def counts(self) -> tuple[dict[Any, int], int]:
        """How many records of each kind are there, and how many earlier versions of all of them.
        One query."""
        kinds, asked = sorted(self.numbers, key=lambda one: one._meta.label_lower), []
        for place, model in enumerate(kinds):
            told, key = _history_of(model), model._meta.pk.attname
            for part in _parts(self.numbers[model]):
                asked.append((place, model, "pk", part))
                if told is not None:
                    asked.append((len(kinds), told, key, part))
        counts = [0] * (len(kinds) + 1)
        queries = [
            (
                len(part),
                _rows_of(model, key, part)
                .annotate(at_place=Value(place, IntegerField()))
                .values("at_place")
                .annotate(count_of_rows=Count("*"))
                .values_list("at_place", "count_of_rows"),
            )
            for place, model, key, part in asked
        ]
        for place, count in _at_once(queries):
            counts[place] += count
        *each, earlier = counts
        return {kind: count for kind, count in zip(kinds, each, strict=True) if count}, earlier


def belongings_of(bowler: Bowler) -> Belongings:
    """Everything of a customer, and of those merged into them. One query for the records of a
    customer, one for what belongs to those, and so on."""
    found = Belongings(bowler)
    gone = CustomerMerge.objects.filter(kept=bowler).values_list("gone_number", flat=True)
    waiting: dict[Any, set[Any]] = {Bowler: {bowler.pk, *gone}}
    while waiting:
        asked = []
        for model, numbers in waiting.items():
            new = numbers - found.numbers[model]
            found.numbers[model] |= new
            asked += [(*owned, part) for owned in _owned_by(model) for part in _parts(new)]
        waiting = defaultdict(set)
        kinds = [getattr(other, "instance_type", other) for other, *_ in asked]
        queries = [
            (
                len(part),
                _rows_of(other, name, part)
                .annotate(at_place=Value(place, IntegerField()), own_number=_as_text(key))
                .values_list("at_place", "own_number"),
            )
            for place, (other, name, key, part) in enumerate(asked)
        ]
        for place, number in _at_once(queries):
            waiting[kinds[place]].add(kinds[place]._meta.pk.to_python(number))
    return found


def _rows_of(model: Any, name: str, some: list[Any]) -> Any:
    return model._base_manager.filter(**{f"{name}__in": some}).order_by()


def _as_text(key: str) -> Any:
    """Numbers of every sort in one column."""
    return Cast(key, models.CharField(max_length=64))


def _at_once(queries: Iterable[tuple[int, Any]]) -> Iterator[tuple[Any, ...]]:
    """The rows of many queries, each with how many numbers it asks for, by as few as may be."""
    together: list[Any] = []
    held = 0
    for size, query in queries:
        if together and (held + size > AT_ONCE or len(together) == TOGETHER):
            yield from _united(together)
            together, held = [], 0
        together.append(query)
        held += size
    if together:
        yield from _united(together)


def _united(queries: list[Any]) -> Any:
    first, *others = queries
    return first.union(*others, all=True) if others else first


def _owned_by(model: Any) -> Iterator[tuple[Any, str, str]]:
    """Kinds whose records go when one of this kind goes: the kind, or its history; the field that
    says so; and the field of the record's own number."""
    for relation in model._meta.get_fields(include_hidden=True):
        if not (relation.auto_created and (relation.one_to_many or relation.one_to_one)):
            continue
        other: Any = relation.related_model
        name = relation.field.name
        kind: Any = getattr(other, "instance_type", other)
        # Of a history it is the record itself that says whether it goes.
        on_delete = kind._meta.get_field(name).remote_field.on_delete if _has(kind, name) else None
        if on_delete is models.CASCADE:
            yield other, name, kind._meta.pk.attname if other is not kind else "pk"


def _has(model: Any, name: str) -> bool:
    return any(one.name == name for one in model._meta.fields)


def _history_of(model: Any) -> Any:
    manager = getattr(model, "history", None)
    return getattr(manager, "model", None)


def _parts(numbers: Iterable[Any]) -> Iterator[list[Any]]:
    settled = sorted(numbers, key=str)
    for n in range(0, len(settled), AT_ONCE):
        yield settled[n : n + AT_ONCE]
