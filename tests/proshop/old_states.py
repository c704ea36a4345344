"""``python -m tests.proshop.old_states``: rows of every release, migrated to what the site is now.

An empty database is migrated to each release in turn and given a row of every kind there, by the
models as they were; at the end each row is compared with what it was. Prints one JSON object.
"""

from __future__ import annotations

import datetime
import json
import uuid
from decimal import Decimal
from typing import Any

import django

# Version → the last migration of each app in it. There are no tags: read from when the heading of
# the version came into CHANGELOG.md.
RELEASES = {
    "2026.11.1": {"proshop": "0001", "bowlers": "0001", "arsenal": "0002"},
    "2026.11.2": {"proshop": "0001", "bowlers": "0001", "arsenal": "0003"},
    "2026.11.4": {"proshop": "0001", "bowlers": "0002", "arsenal": "0004"},
    "2026.11.6": {"proshop": "0002", "bowlers": "0008", "arsenal": "0014"},
    "2026.11.9": {"proshop": "0003", "bowlers": "0010", "arsenal": "0020"},
    "2026.11.10": {"proshop": "0003", "bowlers": "0011", "arsenal": "0022"},
}
# These have the migrations of the one before.
AS_BEFORE = {"2026.11.3"}
OURS = ("proshop", "bowlers", "arsenal")
TODAY = datetime.date(2026, 11, 26)
NOW = datetime.datetime(2026, 11, 26, 12, tzinfo=datetime.UTC)

Rows = dict[str, dict[Any, dict[str, str]]]


def targets(executor: Any, release: dict[str, str]) -> list[tuple[str, str]]:
    """The migrations of a release by their whole names, and all of the packages we use."""
    nodes = executor.loader.graph.leaf_nodes()
    found = [node for node in nodes if node[0] not in OURS]
    for app, number in release.items():
        found += [
            node
            for node in executor.loader.graph.nodes
            if node[0] == app and node[1].startswith(number)
        ]
    return found


class Filler:
    """Rows by models as they were: one of each kind, and of what it needs."""

    def __init__(self, apps: Any, release: str) -> None:
        self.apps, self.release, self.count = apps, release, 0
        self.made: dict[str, Any] = {}

    def fill(self) -> int:
        for model in self.apps.get_models():
            if model._meta.app_label in OURS and model._meta.managed:
                self.row(model)
        return len(self.made)

    def row(self, model: Any) -> Any:
        label = model._meta.label_lower
        if label not in self.made:
            values = {
                field.attname: self.value(field)
                for field in model._meta.concrete_fields
                if not (field.primary_key and field.get_internal_type().endswith("AutoField"))
            }
            self.made[label] = model._base_manager.create(**values)
        return self.made[label]

    def value(self, field: Any) -> Any:
        self.count += 1
        if field.is_relation:
            # A row that points at its own kind would never end.
            itself = field.related_model is field.model
            if itself or (field.null and field.name != "history_user"):
                return None
            return None if field.name == "history_user" else self.row(field.related_model).pk
        if field.null:
            return None
        if field.choices:
            return (
                field.choices[0][0]
                if not isinstance(field.choices, dict)
                else next(iter(field.choices))
            )
        kind = field.get_internal_type()
        least = max(
            (
                v.limit_value
                for v in field.validators
                if v.__class__.__name__ == "MinValueValidator"
            ),
            default=1,
        )
        plain = {
            "BooleanField": False,
            "DateField": TODAY,
            "DateTimeField": NOW,
            "JSONField": {},
            "DecimalField": Decimal(str(least)),
            "FloatField": float(least),
        }
        if kind in plain:
            return plain[kind]
        if kind == "BinaryField":
            return self.release.encode()
        if kind == "UUIDField":
            return uuid.uuid5(uuid.NAMESPACE_URL, f"{self.release}/{self.count}")
        if kind.endswith("IntegerField"):
            return int(least)
        return f"{self.release} {self.count}"[: field.max_length or 200]


def read(columns: Rows | None = None) -> Rows:
    """Every row of ours by table and key; of the columns of ``columns`` that are still there."""
    from django.db import connection

    found: Rows = {}
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            if not table.startswith(tuple(f"{app}_" for app in OURS)):
                continue
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")  # noqa: S608
            names = [column[0] for column in cursor.description]
            key = next(name for name in ("id", "history_id", names[0]) if name in names)
            if "history_id" in names:
                key = "history_id"
            found[table] = {
                str(row[names.index(key)]): {
                    name: str(value) for name, value in zip(names, row, strict=True)
                }
                for row in cursor.fetchall()
            }
    return found


def unlike(before: Rows, after: Rows) -> list[str]:
    """What isn't as it was: rows gone, and values changed in columns that are still there."""
    wrong = []
    for table, rows in before.items():
        for key, values in rows.items():
            now = after.get(table, {}).get(key)
            if now is None:
                wrong.append(f"{table}: a row is gone")
                continue
            wrong += [
                f"{table}.{name}: {value!r} became {now[name]!r}"
                for name, value in values.items()
                if name in now and now[name] != value
            ]
    return sorted(set(wrong))


def main() -> None:
    django.setup()
    from django.apps import apps
    from django.core.management import call_command
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    filled: dict[str, int] = {}
    was: Rows = {}
    for release, names in RELEASES.items():
        executor = MigrationExecutor(connection)
        goal = targets(executor, names)
        executor.migrate(goal)
        state = executor.loader.project_state(goal)
        known = read()
        filled[release] = Filler(state.apps, release).fill()
        for table, rows in read().items():
            new = {key: row for key, row in rows.items() if key not in known.get(table, {})}
            was.setdefault(table, {}).update(new)
    call_command("migrate", verbosity=0)
    opened = {
        model._meta.label: len(list(model._default_manager.all()))
        for model in apps.get_models()
        if model._meta.app_label in OURS
    }
    print(
        "REPORT" + json.dumps({"filled": filled, "unlike": unlike(was, read()), "opened": opened})
    )


if __name__ == "__main__":
    main()
