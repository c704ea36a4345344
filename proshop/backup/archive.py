"""The backup file: a zip of one text file a table, uploaded files, and a list of it all.

It is written under another name and renamed when whole, and read through and checked before a
row of the database is touched.
"""

import hashlib
import io
import json
import os
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import DatabaseError, connections, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from . import rows

FORMAT = 1
LIST = "contents.json"


class Refused(Exception):
    """Why a file or a database can't be used, and what to do about it."""


@dataclass(frozen=True)
class Difference:
    """A table that isn't the same in two places: rows and digests."""

    table: str
    here: tuple[int, str]
    there: tuple[int, str]

    def __str__(self) -> str:
        if self.here[0] != self.there[0]:
            return f"{self.table}: {self.here[0]} rows here, {self.there[0]} there"
        return f"{self.table}: {self.here[0]} rows in both, not all the same"


def migrations(using: str) -> list[str]:
    """What the database has been migrated by: "app.name", sorted."""
    return sorted(f"{app}.{name}" for app, name in _applied(using))


def write(path: Path, using: str = "default") -> dict[str, Any]:
    """Write all of the database and the uploaded files; the list of contents."""
    path.parent.mkdir(parents=True, exist_ok=True)
    half = path.with_name(path.name + ".half")
    try:
        with zipfile.ZipFile(half, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as file:
            contents = _fill(file, using)
        # A backup holds customers' records: for its owner's eyes only.
        half.chmod(0o600)
        with half.open("rb") as written:
            os.fsync(written.fileno())
        half.rename(path)
    finally:
        half.unlink(missing_ok=True)
    return contents


def _fill(file: zipfile.ZipFile, using: str) -> dict[str, Any]:
    contents: dict[str, Any] = {
        "format": FORMAT,
        "made_at": timezone.now().isoformat(timespec="seconds"),
        "database": connections[using].vendor,
        "tables": {},
        "files": {},
    }
    with rows.snapshot(using):
        contents["migrations"] = migrations(using)
        for model in rows.tables():
            label, tally = model._meta.label_lower, rows.Tally()
            with file.open(f"rows/{label}.jsonl", "w", force_zip64=True) as part:
                for line in tally.watch(rows.lines(model, using)):
                    part.write(line.encode() + b"\n")
            contents["tables"][label] = {"rows": tally.count, "digest": tally.digest}
    for name, source in _uploaded():
        file.write(source, f"files/{name}")
        contents["files"][name] = hashlib.sha256(source.read_bytes()).hexdigest()
    file.writestr(LIST, json.dumps(contents, indent=1))
    return contents


def check(path: Path) -> dict[str, Any]:
    """The list of contents of a file that was read through and is whole, else `Refused`."""
    try:
        with zipfile.ZipFile(path) as file:
            contents: dict[str, Any] = json.loads(file.read(LIST))
            if contents.get("format") != FORMAT:
                raise Refused(
                    f"{path} is of format {contents.get('format')}; this release reads {FORMAT}. "
                    "Restore it with the release that made it."
                )
            for label, said in contents["tables"].items():
                tally = rows.Tally.of(_lines(file, label))
                if (tally.count, tally.digest) != (said["rows"], said["digest"]):
                    raise Refused(f"{path} is damaged at table {label}. Take an earlier backup.")
            for name, digest in contents["files"].items():
                if hashlib.sha256(file.read(f"files/{name}")).hexdigest() != digest:
                    raise Refused(f"{path} is damaged at file {name}. Take an earlier backup.")
    except FileNotFoundError:
        raise Refused(f"There is no file {path}.") from None
    except (zipfile.BadZipFile, KeyError, TypeError, ValueError, EOFError, OSError) as trouble:
        raise Refused(f"{path} isn't a whole backup ({trouble}). Take an earlier one.") from None
    return contents


def restore(path: Path, using: str = "default", *, replace: bool = False) -> dict[str, Any]:
    """Put a backup's rows in place of the database's, all of them or none; its list of contents.

    Without ``replace`` a database that holds a shop already is left alone.
    """
    contents = check(path)
    _same_tables(contents["migrations"], migrations(using))
    places = {name: _place(name) for name in contents["files"]}
    if not replace:
        _unused(using)
    with zipfile.ZipFile(path) as file:
        try:
            _replace(file, contents, using)
        except DatabaseError as trouble:
            raise Refused(f"Nothing was changed, the database refuses: {trouble}") from None
        for name, place in places.items():
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(file.read(f"files/{name}"))
    return contents


def _replace(file: zipfile.ZipFile, contents: dict[str, Any], using: str) -> None:
    with transaction.atomic(using=using):
        rows.empty(using)
        for model in rows.tables():
            if model._meta.label_lower in contents["tables"]:
                rows.load(model, _lines(file, model._meta.label_lower), using)
        rows.number_on(using)
        unlike = compare(contents, using)
        if unlike:
            raise Refused("Nothing was changed: " + "; ".join(map(str, unlike)))


def compare(contents: dict[str, Any], using: str = "default") -> list[Difference]:
    """Tables of the database that aren't row for row what the list of contents says."""
    unlike = []
    for model in rows.tables():
        label = model._meta.label_lower
        said = contents["tables"].get(label, {"rows": 0, "digest": rows.Tally().digest})
        tally = rows.Tally.of(rows.lines(model, using))
        here, there = (tally.count, tally.digest), (said["rows"], said["digest"])
        if here != there:
            unlike.append(Difference(label, here, there))
    return unlike


def copy(source: str, target: str, *, replace: bool = False) -> dict[str, int]:
    """Copy one database's rows into another, migrated alike; rows by table. All or none."""
    if not replace:
        _unused(target)
    counts, digests = {}, {}
    with rows.snapshot(source), transaction.atomic(using=target):
        _same_tables(migrations(source), migrations(target))
        rows.empty(target)
        for model in rows.tables():
            tally = rows.Tally()
            rows.load(model, tally.watch(rows.lines(model, source)), target)
            label = model._meta.label_lower
            counts[label], digests[label] = tally.count, tally.digest
        rows.number_on(target)
        said = {
            "tables": {label: {"rows": counts[label], "digest": digests[label]} for label in counts}
        }
        unlike = compare(said, target)
        if unlike:
            raise Refused("Nothing was copied: " + "; ".join(map(str, unlike)))
    return counts


def _lines(file: zipfile.ZipFile, label: str) -> Iterator[str]:
    with file.open(f"rows/{label}.jsonl") as part:
        for line in io.TextIOWrapper(part, "utf-8", newline="\n"):
            yield line.rstrip("\n")


def _applied(using: str) -> Iterator[tuple[str, str]]:
    return iter(MigrationRecorder(connections[using]).applied_migrations())


def _same_tables(theirs: list[str], ours: list[str]) -> None:
    if theirs == ours:
        return
    missing = sorted(set(theirs) - set(ours))
    extra = sorted(set(ours) - set(theirs))
    if extra and not missing:
        raise Refused(
            "The backup is from an earlier release: it doesn't know "
            + ", ".join(extra)
            + ". Restore it into a database migrated by that release (or take these back with "
            "`manage.py migrate APP NUMBER`), then run `manage.py migrate`."
        )
    raise Refused(
        "The database lacks "
        + ", ".join(missing)
        + ". Run `manage.py migrate`, with the release that made the backup or a later one."
    )


def _unused(using: str) -> None:
    from proshop.models import Shop

    if Shop.objects.using(using).exists():
        raise Refused(
            "There are shops in this database already, and all of it would be replaced. Add "
            "--replace if that is meant; make a backup of it first."
        )


def _uploaded() -> Iterator[tuple[str, Path]]:
    """Uploaded files by name, if the site takes any."""
    if not settings.MEDIA_ROOT:
        return
    root = Path(settings.MEDIA_ROOT)
    for path in sorted(root.rglob("*")):
        if path.is_file():
            yield path.relative_to(root).as_posix(), path


def _place(name: str) -> Path:
    """Where an uploaded file goes; `Refused` if nowhere."""
    if not settings.MEDIA_ROOT:
        raise Refused("The backup holds uploaded files, and MEDIA_ROOT isn't set. Set it first.")
    root = Path(settings.MEDIA_ROOT).resolve()
    place = (root / name).resolve()
    if not place.is_relative_to(root):
        raise Refused(f"The backup has a file outside its folder: {name}. Don't trust it.")
    return place
