"""What an answer to nonsense may be: no breakdown, nothing half saved, and the field named."""

from __future__ import annotations

import hashlib
import html
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.apps import apps
from django.contrib import messages
from django.contrib.messages import get_messages
from django.db import connection
from django.forms import BaseForm
from django.forms.formsets import BaseFormSet
from django.utils.safestring import SafeData

# Sessions, tries at signing in, and tokens that say that a form came: about the request itself.
OF_THE_REQUEST = ("axes_", "django_session", "proshop_submittedform")
_TAG = re.compile(r"<[^>]*>")
_WRITES = re.compile(r"\s*(insert|update|delete|replace)\b", re.IGNORECASE)


def stored() -> str:
    """All rows of all records as one hash."""
    found = hashlib.sha256()
    tables = sorted({model._meta.db_table for model in apps.get_models(include_auto_created=True)})
    with connection.cursor() as cursor:
        for table in tables:
            if not table.startswith(OF_THE_REQUEST):
                cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")  # noqa: S608
                found.update(repr((table, sorted(map(repr, cursor.fetchall())))).encode())
    return found.hexdigest()


@contextmanager
def writes() -> Iterator[list[str]]:
    """The statements that change something, while this lasts."""
    seen: list[str] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if _WRITES.match(sql):
            seen.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        yield seen


def forms_of(answer: Any) -> list[BaseForm]:
    """Every form with errors that the answer was drawn with, those of form sets one by one."""
    found: dict[int, BaseForm] = {}
    for context in answer.context or []:
        for layer in getattr(context, "dicts", [context]):
            for value in list(layer.values()):
                for form in _forms_in(value):
                    if form.is_bound and form.errors:
                        found[id(form)] = form
    return list(found.values())


def _forms_in(value: Any) -> list[BaseForm]:
    if isinstance(value, BaseForm):
        more = [one for held in vars(value).values() for one in _sets_in(held)]
        return [value, *more]
    return _sets_in(value)


def _sets_in(value: Any) -> list[BaseForm]:
    return list(value.forms) if isinstance(value, BaseFormSet) else []


def errors_told(answer: Any) -> list[str]:
    """Words of trouble that are shown on the page that follows."""
    return [
        str(message)
        for message in get_messages(answer.wsgi_request)
        if message.level >= messages.WARNING
    ]


def faults(answer: Any) -> list[str]:
    """What is wrong with how a refusal is told; nothing where all is well."""
    if answer.status_code >= 500:
        return [f"status {answer.status_code}"]
    wrong: list[str] = []
    text = _text(answer) if answer.status_code in {200, 400, 422} else ""
    for form in forms_of(answer):
        for name, told in form.errors.items():
            wrong += [
                f"{name}: {fault}" for one in told for fault in _unsaid(form, name, one, text)
            ]
    return wrong


def _unsaid(form: BaseForm, name: str, told: Any, text: str) -> Iterator[str]:
    # A refusal that is marked up already stands on the page as it is, any other one escaped.
    words = (
        _plain(_TAG.sub("", str(told)))
        if isinstance(told, SafeData)
        else " ".join(str(told).split())
    )
    if not words:
        yield "refused without a word"
    elif words not in text and not (name in form.fields and _names(form, name, text)):
        yield f"{told!r} isn't on the page"


def _names(form: BaseForm, name: str, text: str) -> bool:
    """Whether a part of a page, without the form, names the field."""
    return "Something picked here" in text and str(form[name].label) in text


def _text(answer: Any) -> str:
    return _plain(_TAG.sub("", answer.content.decode()))


def _plain(text: str) -> str:
    return " ".join(html.unescape(text).split())
