"""Two people on one record: what the second of them typed beside what the first stored.

A field only one of the two changed is taken from whoever changed it unless the second says
otherwise; where both did, the second's own is picked. Nothing is stored before it is sent again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.datastructures import MultiValueDict

MINE, STORED = "mine", "stored"
# What a form sends back: of each field whose version counts, or one for all of them.
KEEP, WHOLE = "keep_", "keep_whole"
NOTHING = "nothing"


@dataclass(frozen=True)
class Difference:
    """One field in which the two differ, both in words, and which is picked to begin with."""

    name: str
    label: str
    mine: str
    stored: str
    picked: str
    changed_by_both: bool


def differences(form: Any, stored: Any, opened: Any) -> list[Difference]:
    """Field by field; ``opened``: the record as the second opened it, None if not known."""
    now = form.values_of(stored)
    before = form.values_of(opened) if opened is not None else None
    found = []
    for name, field in form.fields.items():
        if name in form.own_fields or name not in now or isinstance(field, forms.FileField):
            continue
        typed = form[name].data
        if not field.has_changed(now[name], typed):
            continue
        mine_changed = before is None or field.has_changed(before[name], typed)
        theirs_changed = before is None or before[name] != now[name]
        found.append(
            Difference(
                name=name,
                label=str(field.label or name.replace("_", " ").capitalize()),
                mine=words(field, typed),
                stored=words(field, field.prepare_value(now[name])),
                picked=MINE if mine_changed else STORED,
                changed_by_both=before is not None and mine_changed and theirs_changed,
            )
        )
    return found


def as_chosen(form: Any) -> Any:
    """What was sent, with the stored value wherever that was chosen."""
    if form.data.get(WHOLE) == MINE:
        return form.data
    chosen = [name for name in form.fields if form.data.get(f"{KEEP}{name}") == STORED]
    if not chosen:
        return form.data
    now = form.values_of(form.instance)
    data = MultiValueDict({key: form.data.getlist(key) for key in form.data})
    for name in chosen:
        if name in now and name not in form.own_fields:
            _put(data, form, name, now[name])
    return data


def _put(data: MultiValueDict[str, Any], form: Any, name: str, value: Any) -> None:
    """A stored value as the field's own widget would send it."""
    field, key = form.fields[name], form.add_prefix(name)
    value = field.prepare_value(value)
    if isinstance(field.widget, forms.CheckboxInput):
        data.pop(key, None)
        if value:
            data[key] = "on"
    elif isinstance(value, list | tuple):
        data.setlist(key, [str(one) for one in value])
    elif value is None:
        data[key] = ""
    else:
        said = field.widget.format_value(value)
        data[key] = str(said[0] if isinstance(said, list) and said else said or "")


def words(field: Any, value: Any) -> str:
    """A value of a field as a person reads it."""
    if isinstance(field, forms.BooleanField):
        return "yes" if value and value != "False" else "no"
    if value in (None, "", []):
        return NOTHING
    values = value if isinstance(value, list | tuple) else [value]
    named = dict(_choices(field))
    return ", ".join(named.get(str(one), str(one)) for one in values)


def _choices(field: Any) -> Iterator[tuple[str, str]]:
    for value, label in getattr(field, "choices", ()):
        if isinstance(label, list | tuple):
            yield from ((str(inner), str(text)) for inner, text in label)
        else:
            yield str(value), str(label)


def rows_in_words(record: Any, rows_of: Mapping[str, str]) -> list[tuple[str, list[str]]]:
    """The rows that belong to a record, as they are stored: by what they are called."""
    return [
        (label, [_row(row) for row in getattr(record, name).all()])
        for name, label in rows_of.items()
    ]


def _row(row: Any) -> str:
    parts = []
    for column in row._meta.concrete_fields:
        if column.primary_key or column.remote_field or not column.editable:
            continue
        display = getattr(row, f"get_{column.name}_display", None)
        value = display() if display else getattr(row, column.name)
        if value not in (None, ""):
            parts.append(f"{column.verbose_name} {value}")
    return ", ".join(parts)
