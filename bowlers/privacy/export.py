"""A customer's record as one file for the customer: every record and what it said before."""

from __future__ import annotations

import datetime as dt
import json
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User
from django.utils import timezone
from django.utils.text import capfirst

from bowlers.models import Bowler
from bowlers.privacy.belongings import belongings_of

# Keys and counters of the site's own, which say nothing of anybody; those of a link open a page.
UNTOLD = {
    *("version", "search_key", "phone_key", "row_key", "form_token", "inputs_key"),
    *("nonce", "token_digest", "history_id"),
}
HISTORY = {"history_date": "when", "history_user": "by", "history_type": "what"}
HISTORY |= {"history_change_reason": "why"}
KINDS = {"+": "added", "~": "changed", "-": "deleted"}


def export(bowler: Bowler) -> str:
    """Readable JSON: kinds of records in words, each record by its fields in words."""
    found = belongings_of(bowler)
    told = {
        "customer": bowler.name,
        "number": bowler.pk,
        "shop": bowler.shop.name,
        "given out at": timezone.localtime().isoformat(timespec="minutes"),
        "about this file": (
            "Everything the shop’s site keeps of this customer: the records as they are, and under "
            "“earlier” what each of them said before. Lengths are in inches, speeds in miles an "
            "hour, angles in degrees where nothing else is said."
        ),
        "records": {
            _kind(model): [_row(row, found.numbers) for row in rows] for model, rows in found.rows()
        },
        "earlier": {
            _kind(model): [_row(row, found.numbers) for row in rows]
            for model, rows in found.histories()
        },
    }
    return json.dumps(told, indent=2, ensure_ascii=False, default=_plain) + "\n"


def _kind(model: Any) -> str:
    return str(capfirst(model._meta.verbose_name_plural))


def _row(row: Any, own: Any) -> dict[str, Any]:
    said: dict[str, Any] = {}
    for column in row._meta.concrete_fields:
        if column.name in UNTOLD:
            continue
        label = HISTORY.get(column.name, str(column.verbose_name))
        label = column.name if label in said else label
        said[label] = _value(row, column, own)
    return said


def _value(row: Any, column: Any, own: Any) -> Any:
    value = getattr(row, column.attname)
    if column.name == "history_type":
        return KINDS.get(value, value)
    if column.choices and not isinstance(value, dict | list):
        return getattr(row, f"get_{column.name}_display")()
    if column.remote_field is None or value is None:
        return value
    other = column.remote_field.model
    if value in own.get(other, ()):
        return value
    if other is Bowler:
        return "another customer"
    linked = other._base_manager.filter(pk=value).first()
    if isinstance(linked, User):
        return linked.get_full_name() or linked.get_username()
    return f"{linked} ({value})" if linked is not None else value


def _plain(value: Any) -> Any:
    if isinstance(value, dt.datetime | dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, Decimal | UUID):
        return str(value)
    if isinstance(value, bytes | memoryview):
        return f"{len(bytes(value))} bytes"
    raise TypeError(f"{type(value)} in a record")
