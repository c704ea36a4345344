"""Making one customer of two."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from django.db import models, transaction
from django.utils.text import capfirst

from bowlers.duplicates.models import CustomerMerge
from bowlers.models import Bowler
from proshop.models import ShopRecord, StaleRecord

# What is told of a customer, in the order of the form.
FIELDS = (
    "name",
    "phone",
    "hand",
    "thumb",
    "hands",
    "fingers",
    "at_spares",
    "average",
    "born",
    "league",
    "goal",
    "complaint",
    "notes",
    "agreed_to",
    "agreed_on",
)
LONGEST_REASON = 100

Settle = Callable[[Any, Any], bool]
Afterwards = Callable[[Bowler], None]
_settlers: dict[str, Settle] = {}
_afterwards: dict[str, Afterwards] = {}


def register(label: str, settle: Settle) -> None:
    """Say what becomes of two records of a kind of which a customer can have one.

    ``settle(kept, other)`` changes the record that is kept by what the other says, and says
    whether it has to be stored. Without one the other's is written down and left.
    """
    _settlers[label] = settle


def register_afterwards(name: str, act: Afterwards) -> None:
    """Put in order what was counted of a customer, once everything of both is theirs."""
    _afterwards[name] = act


def said(bowler: Bowler) -> dict[str, str]:
    """Every field of a customer in words."""
    words = {}
    for name in FIELDS:
        display = getattr(bowler, f"get_{name}_display", None)
        value = display() if display else getattr(bowler, name)
        words[label_of(name)] = "" if value is None else str(value)
    return words


def label_of(name: str) -> str:
    column: Any = Bowler._meta.get_field(name)
    return str(capfirst(column.verbose_name))


def relations() -> Iterator[tuple[type[models.Model], str]]:
    """Every kind of record that belongs to a customer, with the name of the field that says so.

    Histories stay with the number they were written under, as does what is marked so.
    """
    for relation in Bowler._meta.get_fields(include_hidden=True):
        if not (relation.auto_created and (relation.one_to_many or relation.one_to_one)):
            continue
        model: Any = relation.related_model
        if hasattr(model, "instance_type") or getattr(model, "stays_when_merged", False):
            continue
        yield model, relation.field.name  # type: ignore[union-attr]


def counts(bowler: Bowler) -> list[tuple[str, int]]:
    """How many records of each kind belong to a customer."""
    found = []
    for model, name in relations():
        if not _is_told(model):
            continue
        if number := model._base_manager.filter(**{name: bowler}).count():
            found.append((str(model._meta.verbose_name_plural), number))
    return found


@transaction.atomic
def merge(
    *,
    kept: Bowler,
    gone: Bowler,
    values: Mapping[str, Any],
    versions: tuple[int, int],
    user: Any,
) -> CustomerMerge:
    """Give ``kept`` these values and every record of ``gone``, and remove ``gone``.

    Raises ``StaleRecord`` if either was changed since the versions were read.
    """
    pair = Bowler.objects.select_for_update().in_bulk([kept.pk, gone.pk])
    for bowler, version in zip((kept, gone), versions, strict=True):
        if bowler.pk not in pair or pair[bowler.pk].version != version:
            raise StaleRecord(bowler, version)
    kept, gone = pair[kept.pk], pair[gone.pk]
    record = CustomerMerge(
        shop=kept.shop,
        kept=kept,
        gone_number=gone.pk,
        gone_name=gone.name,
        kept_said=said(kept),
        gone_said=said(gone),
        merged_by=user,
    )
    reason = f"Merged with {gone.name}, customer {gone.pk}"[:LONGEST_REASON]
    for model, name in relations():
        _move(model, name, kept, gone, record, reason)
    for act in _afterwards.values():
        act(kept)
    for name, value in values.items():
        setattr(kept, name, value)
    _explained(kept, reason)
    kept.save_checked(kept.version)
    _explained(gone, f"Merged into {kept.name}, customer {kept.pk}"[:LONGEST_REASON])
    gone.delete()
    record.save()
    return record


def _is_told(model: type[models.Model]) -> bool:
    """What people made; what the site works out of that moves without a word."""
    return issubclass(model, ShopRecord)


def _move(
    model: Any, name: str, kept: Bowler, gone: Bowler, record: CustomerMerge, reason: str
) -> None:
    """Every record of one kind: moved, or settled with the one that is there already."""
    kind = str(model._meta.verbose_name_plural)
    for theirs in model._base_manager.filter(**{name: gone}).order_by("pk"):
        twin = _twin(model, name, kept, theirs)
        if twin is None:
            setattr(theirs, name, kept)
            _store(theirs, reason)
            if _is_told(model):
                record.moved.setdefault(kind, []).append(theirs.pk)
            continue
        settle = _settlers.get(model._meta.label)
        if settle is not None and settle(twin, theirs):
            _store(twin, reason)
        if _is_told(model):
            record.left.setdefault(kind, []).append(_in_words(theirs, name))
        _explained(theirs, reason)
        theirs.delete()


def _twin(model: Any, name: str, kept: Bowler, theirs: Any) -> Any:
    """The record of ``kept`` beside which this one can't stand, if there is one."""
    together: list[tuple[str, ...]] = [
        tuple(constraint.fields)
        for constraint in model._meta.constraints
        if isinstance(constraint, models.UniqueConstraint) and name in constraint.fields
    ]
    if model._meta.get_field(name).unique:
        together.append((name,))
    for fields in together:
        others = {other: getattr(theirs, other) for other in fields if other != name}
        twin = model._base_manager.filter(**{name: kept}, **others).first()
        if twin is not None:
            return twin
    return None


def _store(record: Any, reason: str) -> None:
    _explained(record, reason)
    if hasattr(record, "save_checked"):
        record.save_checked(record.version)
    else:
        record.save()


def _explained(record: Any, reason: str) -> None:
    """Let the entry of the history say why."""
    record._change_reason = reason


def _in_words(record: Any, owner: str) -> str:
    """A record that is left, with everything it says."""
    untold = {"id", "shop", "version", "created_at", "updated_at", owner}
    parts = []
    for column in record._meta.concrete_fields:
        if column.name in untold or not column.editable:
            continue
        display = getattr(record, f"get_{column.name}_display", None)
        value = display() if display else getattr(record, column.name)
        if value not in (None, "", [], {}):
            parts.append(f"{column.verbose_name} {value}")
    return ", ".join(parts)
