"""Making records what they should be, leaving alone those that are already."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, TypeVar

from django.db import models
from simple_history.utils import bulk_create_with_history

from proshop.models import ShopRecord

Record = TypeVar("Record", bound=models.Model)

# Kept by the records themselves, or computed once they are there.
THEIR_OWN = {
    *("id", "version", "created_at", "updated_at", "search_key", "phone_key"),
    *("evidence", "evidence_model", "evidence_key"),
    *("predicted", "measured_top_oz", "measured_side_oz", "measured_finger_oz"),
}


class Keeper:
    """Keeps the records asked for, by natural key, and in the end removes the others.

    Primary keys stay what they are, so that addresses and stored rankings hold from one load to
    the next; nothing is written where nothing differs.
    """

    def __init__(self) -> None:
        self._others: list[tuple[type[models.Model], list[int]]] = []

    def keep(
        self,
        scope: models.QuerySet[Record],
        key: Sequence[str],
        rows: Iterable[Mapping[str, Any]],
    ) -> list[Record]:
        """The records of ``rows`` in their order; what else ``scope`` holds goes with `sweep`.

        ``key`` names columns (``bowler_id``, not ``bowler``) that tell the rows apart.
        """
        there: dict[tuple[Any, ...], Record] = {}
        others: list[int] = []
        for record in scope.order_by("pk"):
            if there.setdefault(_key(record, key), record) is not record:
                others.append(record.pk)
        kept, new = [], []
        for row in rows:
            wanted = scope.model(**row)
            found = there.pop(_key(wanted, key), None)
            kept.append(wanted if found is None else _as_wanted(found, wanted))
            if found is None:
                new.append(wanted)
        _create(scope.model, new)
        others += [record.pk for record in there.values()]
        self._others.append((scope.model, others))
        return kept

    def sweep(self) -> None:
        """Remove the others, those kept last first: they lean on those kept before."""
        for model, others in reversed(self._others):
            if others:
                model._default_manager.filter(pk__in=others).delete()
        self._others = []


def _key(record: models.Model, key: Sequence[str]) -> tuple[Any, ...]:
    return tuple(getattr(record, name) for name in key)


def _create(model: type[Record], new: list[Record]) -> None:
    """Store them with their history, in two writes where nothing is worked out on saving."""
    if any(field.name == "search_key" for field in model._meta.concrete_fields):
        for record in new:
            record.save()
    elif new and hasattr(model, "history"):
        bulk_create_with_history(new, model, batch_size=200)
    elif new:
        model._default_manager.bulk_create(new, batch_size=200)


def _as_wanted(found: Record, wanted: Record) -> Record:
    differing = False
    for field in wanted._meta.concrete_fields:
        if field.name in THEIR_OWN:
            continue
        value = field.to_python(getattr(wanted, field.attname))
        if value != getattr(found, field.attname):
            setattr(found, field.attname, value)
            differing = True
    if differing and isinstance(found, ShopRecord):
        found.save_checked(found.version)
    elif differing:
        found.save()
    return found
