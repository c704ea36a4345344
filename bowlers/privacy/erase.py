"""A customer erased, with every history; money stays, without the person."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db import transaction
from django.utils.text import capfirst

from bowlers.models import Bowler, search_key
from bowlers.privacy.belongings import Belongings, belongings_of
from bowlers.privacy.models import Erasure
from proshop.models import SentFile, StaleRecord

Keeper = Callable[[Bowler], list[dict[str, str]]]
_keepers: dict[str, Keeper] = {}


def register_kept(name: str, keeper: Keeper) -> None:
    """Say what the books need of a customer's records: lines of words, without the person."""
    _keepers[name] = keeper


def kept_of(bowler: Bowler) -> list[dict[str, str]]:
    return [line for keeper in _keepers.values() for line in keeper(bowler)]


def counts_of(found: Belongings) -> dict[str, int]:
    """What would go, by kind, histories as one."""
    each, earlier = found.counts()
    counts = {str(capfirst(model._meta.verbose_name_plural)): n for model, n in each.items()}
    counts |= {"Earlier versions of them": earlier} if earlier else {}
    if files := len(files_naming(found.bowler)):
        counts["Files that name them, sent and not imported"] = files
    return counts


def files_naming(bowler: Bowler) -> list[int]:
    """CSV files that still wait with their text, in which the name stands."""
    waiting = SentFile.objects.for_shop(bowler.shop).exclude(text="")
    return [
        pk
        for pk, text in waiting.values_list("pk", "text").iterator()
        if any(bowler.search_key in search_key(line) for line in text.splitlines())
    ]


@transaction.atomic
def erase(*, bowler: Bowler, version: int, user: Any) -> Erasure:
    """Remove everything that belongs to a customer. Raises ``StaleRecord`` if it was changed since
    ``version`` was read."""
    now: Bowler | None = Bowler.objects.select_for_update().filter(pk=bowler.pk).first()
    if now is None or now.version != version:
        raise StaleRecord(bowler, version)
    found = belongings_of(now)
    erasure = Erasure.objects.create(
        shop=now.shop,
        number=now.pk,
        erased_by=user,
        removed=counts_of(found),
        kept=kept_of(now),
    )
    SentFile.objects.filter(pk__in=files_naming(now)).delete()
    now.delete()
    # Last: deleting writes into the histories too.
    for _, rows in found.histories():
        told = type(rows[0])
        told._base_manager.filter(pk__in=[row.pk for row in rows]).delete()
    return erasure
