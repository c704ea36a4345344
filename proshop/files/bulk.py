"""Writing many records at once, each with its entry in the history."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simple_history.utils import bulk_create_with_history

BATCH = 500
LONGEST_REASON = 100


def add_all(model: Any, records: Sequence[Any], *, user: Any, reason: str) -> None:
    if records:
        bulk_create_with_history(
            records,
            model,
            batch_size=BATCH,
            default_user=user,
            default_change_reason=reason[:LONGEST_REASON],
        )


def change_all(model: Any, records: Sequence[Any], *, user: Any, reason: str) -> None:
    """Store records that were changed, each one version on.

    By one INSERT … ON CONFLICT UPDATE a batch: an UPDATE with a CASE for every row takes seconds
    for what this does in one. The caller holds the rows, so none is made anew by it.
    """
    if not records:
        return
    kept = {"id", "shop", "created_at"}
    fields = [f.name for f in model._meta.concrete_fields if f.name not in kept]
    # Inserting stamps records as made now, which the rows don't take over: nor shall the history.
    made = [getattr(record, "created_at", None) for record in records]
    for record in records:
        if hasattr(record, "version"):
            record.version += 1
    model._base_manager.bulk_create(
        records,
        batch_size=BATCH,
        update_conflicts=True,
        unique_fields=["id"],
        update_fields=fields,
    )
    for record, moment in zip(records, made, strict=True):
        if moment is not None:
            record.created_at = moment
    model.history.bulk_history_create(
        records,
        batch_size=BATCH,
        update=True,
        default_user=user,
        default_change_reason=reason[:LONGEST_REASON],
    )
