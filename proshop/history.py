"""What changed in a record, told in words for `proshop/_history.html`."""

import datetime
from typing import Any, NamedTuple

KINDS = {"+": "Added", "-": "Deleted"}
# Told by every entry anyway, or no business of the reader's.
UNTOLD = {"version", "updated_at", "created_at", "search_key", "phone_key", "shop"}


class Change(NamedTuple):
    words: str
    who: str
    when: datetime.datetime


def changes(record: Any, limit: int = 10) -> list[Change]:
    """The newest changes of a record with `history`, newest first."""
    entries = list(record.history.select_related("history_user")[: limit + 1])
    earlier = [*entries[1:], None]
    return [
        Change(_words(entry, before), _who(entry), entry.history_date)
        for entry, before in zip(entries[:limit], earlier, strict=False)
    ]


def _who(entry: Any) -> str:
    user = entry.history_user
    return (user.get_full_name() or user.get_username()) if user else "the site"


def _words(entry: Any, before: Any) -> str:
    reason = entry.history_change_reason
    return f"{_what(entry, before)} ({reason})" if reason else _what(entry, before)


def _what(entry: Any, before: Any) -> str:
    if entry.history_type in KINDS:
        return KINDS[entry.history_type]
    if before is None:
        return "Changed"
    told = [
        f"{_label(entry, change.field)}: {_value(change.old)} to {_value(change.new)}"
        for change in entry.diff_against(before).changes
        if change.field not in UNTOLD
    ]
    return "; ".join(told) or "Saved without a change"


def _label(entry: Any, field: str) -> str:
    name = str(entry.instance_type._meta.get_field(field).verbose_name)
    return name[:1].upper() + name[1:]


def _value(value: Any) -> str:
    text = "nothing" if value in (None, "") else str(value)
    return text if len(text) <= 40 else f"{text[:37]}…"
