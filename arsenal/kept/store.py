"""Pieces out of the database and into it: one query each, whichever process asks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta

from django.utils import timezone

from arsenal.kept.models import Piece

# Pieces that nobody has used for so long are thrown away.
UNUSED = timedelta(days=45)


def fetch(keys: Sequence[str]) -> dict[str, bytes]:
    """The pieces there are, by key; they count as used today."""
    if not keys:
        return {}
    today = timezone.localdate()
    found: dict[str, bytes] = {}
    old = []
    rows = Piece.objects.filter(key__in=keys).values_list("key", "cells", "used_on")
    for key, cells, used_on in rows:
        found[key] = bytes(cells)
        if used_on != today:
            old.append(key)
    if old:
        Piece.objects.filter(key__in=old).update(used_on=today)
    return found


def keep(pieces: Mapping[str, bytes]) -> None:
    """Store pieces; of two workers with one piece the later one's stays, and either will do."""
    if not pieces:
        return
    today = timezone.localdate()
    Piece.objects.bulk_create(
        [Piece(key=key, cells=cells, used_on=today) for key, cells in pieces.items()],
        update_conflicts=True,
        unique_fields=["key"],
        update_fields=["cells", "used_on"],
    )


def throw_away_unused() -> int:
    """How many pieces nobody has used for long; they are gone."""
    count, _ = Piece.objects.filter(used_on__lt=timezone.localdate() - UNUSED).delete()
    return count
