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

from bowlers.duplicates.models import CustomerMerge
from bowlers.models import Bowler

AT_ONCE = 5_000


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


def belongings_of(bowler: Bowler) -> Belongings:
    """Everything of a customer, and of those merged into them. Some queries for each kind."""
    found = Belongings(bowler)
    gone = CustomerMerge.objects.filter(kept=bowler).values_list("gone_number", flat=True)
    waiting: list[tuple[Any, set[Any]]] = [(Bowler, {bowler.pk, *gone})]
    while waiting:
        model, numbers = waiting.pop()
        new = numbers - found.numbers[model]
        if not new:
            continue
        found.numbers[model] |= new
        for other, name, key in _owned_by(model):
            more: set[Any] = set()
            for part in _parts(new):
                rows = other._base_manager.filter(**{f"{name}__in": part})
                more |= set(rows.values_list(key, flat=True))
            if more:
                waiting.append((getattr(other, "instance_type", other), more))
    return found


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
