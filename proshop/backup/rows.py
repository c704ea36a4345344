"""A table's rows as lines of JSON, the same lines from either kind of database."""

import base64
import datetime as dt
import hashlib
import json
import uuid
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from itertools import islice
from typing import Any

from django.apps import apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connections, models, transaction

# Sign-ins end with the database they were made in.
LEFT_OUT = {"sessions.session"}
BATCH = 1000
Model = type[models.Model]


def tables() -> list[Model]:
    """Every table with rows to keep, many-to-many ones included, in a settled order."""
    kept = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy and model._meta.label_lower not in LEFT_OUT
    ]
    return sorted(kept, key=lambda model: model._meta.label_lower)


def columns(model: Model) -> list[models.Field[Any, Any]]:
    return [field for field in model._meta.concrete_fields if not field.generated]


def lines(model: Model, using: str) -> Iterator[str]:
    """Each row as a JSON array of its columns' values, by primary key."""
    names = [field.attname for field in columns(model)]
    query = model._base_manager.using(using).order_by("pk").values_list(*names)
    for row in query.iterator(chunk_size=BATCH):
        yield json.dumps([_plain(value) for value in row], sort_keys=True, ensure_ascii=False)


def load(model: Model, given: Iterable[str], using: str) -> None:
    """Insert rows as they are: no defaults, no "changed at" of today, no history of its own."""
    connection = connections[using]
    fields = columns(model)
    quote = connection.ops.quote_name
    into = ", ".join(quote(field.column) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    insert = f"INSERT INTO {quote(model._meta.db_table)} ({into}) VALUES ({places})"  # noqa: S608
    with connection.cursor() as cursor:
        for part in _batches(given):
            cursor.executemany(
                insert,
                [
                    [
                        field.get_db_prep_save(field.to_python(value), connection)
                        for field, value in zip(fields, json.loads(line), strict=True)
                    ]
                    for line in part
                ],
            )


def empty(using: str) -> None:
    """Delete every row of every table, what Django itself puts there included."""
    call_command(
        "flush",
        database=using,
        interactive=False,
        verbosity=0,
        inhibit_post_migrate=True,
        reset_sequences=True,
    )


def number_on(using: str) -> None:
    """Let new rows be numbered after those that were loaded."""
    connection = connections[using]
    statements = connection.ops.sequence_reset_sql(no_style(), tables())
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


class Tally:
    """How many lines there were, and a digest that doesn't depend on their order.

    Databases sort text differently, so that the same rows may come in another order.
    """

    def __init__(self) -> None:
        self.count = 0
        self._sum = 0

    def watch(self, given: Iterable[str]) -> Iterator[str]:
        for line in given:
            self.count += 1
            self._sum += int.from_bytes(hashlib.sha256(line.encode()).digest())
            yield line

    @property
    def digest(self) -> str:
        return f"{self._sum % 2**256:064x}"

    @classmethod
    def of(cls, given: Iterable[str]) -> "Tally":
        tally = cls()
        for _ in tally.watch(given):
            pass
        return tally


@contextmanager
def snapshot(using: str) -> Iterator[None]:
    """Reads within see the database at one moment, while others go on writing."""
    connection = connections[using]
    if connection.in_atomic_block:
        yield
        return
    if connection.vendor == "sqlite":
        # Not `atomic`: that would take the writers' lock (settings: IMMEDIATE).
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
    else:
        with transaction.atomic(using=using):
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield


def _batches(given: Iterable[str]) -> Iterator[list[str]]:
    rest = iter(given)
    while part := list(islice(rest, BATCH)):
        yield part


def _plain(value: Any) -> Any:
    """A value as JSON has it; the same text whichever database it came from."""
    if isinstance(value, dt.datetime):
        return value.astimezone(dt.UTC).isoformat(timespec="microseconds")
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, Decimal | uuid.UUID):
        return str(value)
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(bytes(value)).decode("ascii")
    if isinstance(value, float):
        # PostgreSQL's JSON has no negative zero.
        return value + 0.0
    if isinstance(value, dict):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    return value
