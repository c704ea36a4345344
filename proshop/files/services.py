"""Keeping a file that was sent, saying what importing it would do, and doing that or nothing."""

from __future__ import annotations

import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from proshop.files.kinds import FileKind, Plan, kind_of
from proshop.files.reading import read
from proshop.models import SentFile, Shop

# Files that nobody imported hold names and numbers of people: they go after a day.
KEPT_FOR = datetime.timedelta(days=1)


class PlanChanged(Exception):
    """Records were changed since the file was checked: importing would do something else now."""


@transaction.atomic
def keep_file(*, shop: Shop, user: Any, kind: FileKind, name: str, text: str) -> SentFile:
    SentFile.objects.filter(
        imported_at__isnull=True, sent_at__lt=timezone.now() - KEPT_FOR
    ).delete()
    sent: SentFile = SentFile.objects.create(
        shop=shop, sent_by=user, kind=kind.slug, name=name, text=text
    )
    return sent


def plan_of(sent: SentFile, *, lock: bool = False) -> Plan:
    """What importing the file would do by what is stored now."""
    kind = kind_of(sent.kind)
    return kind.plan(sent.shop, read(sent.text, kind.columns), lock=lock)


@transaction.atomic
def import_file(*, sent: SentFile, fingerprint: str, user: Any) -> SentFile:
    """Import all of a file as it was checked; a second time does nothing.

    Raises :class:`PlanChanged` if that would no longer do what the fingerprint stands for.
    """
    # One file at a time in a shop.
    Shop.objects.select_for_update().get(pk=sent.shop_id)
    now: SentFile = SentFile.objects.select_for_update().select_related("shop").get(pk=sent.pk)
    if now.is_imported:
        return now
    plan = plan_of(now, lock=True)
    if not plan.does_something or plan.fingerprint != fingerprint:
        raise PlanChanged
    kind_of(now.kind).store(plan, user=user, reason=f"From the file {now.name}")
    now.added, now.changed, now.same = len(plan.added), len(plan.changed), plan.same
    now.imported_at, now.text = timezone.now(), ""
    now.save()
    return now
