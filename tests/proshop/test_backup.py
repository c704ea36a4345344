"""Backup and restore: every row and file comes back, on either database, all or nothing."""

import json
import os
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command

from bowlers.models import Bowler
from proshop.backup import archive, rows
from proshop.models import Membership, Shop
from tests.conftest import member
from tests.databases import own_database, sqlite_file
from tests.furnished import furnish
from tests.units import lines

AWKWARD = "Zoë “O’Neil” \u202eRTL\u202c e\u0301 🎳 'a';--\t\\n"


@pytest.fixture
def furnished(transactional_db: None) -> Shop:
    """A shop with one of everything, in a database that commits."""
    shop = Shop.objects.create(name=AWKWARD)
    sam = member("sam", shop, Membership.Role.STAFF)
    furnish(shop, sam)
    return shop


def digests() -> dict[str, tuple[int, str]]:
    found = {}
    for model in rows.tables():
        tally = rows.Tally.of(rows.lines(model, "default"))
        found[model._meta.label_lower] = (tally.count, tally.digest)
    return found


def spoil(path: Path, change: dict[str, bytes]) -> Path:
    """A copy of a backup with other contents in some of its files."""
    spoilt = path.with_name("spoilt.zip")
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(spoilt, "w") as target:
        for name in source.namelist():
            target.writestr(name, change.get(name, source.read(name)))
        for name in change.keys() - set(source.namelist()):
            target.writestr(name, change[name])
    return spoilt


def test_every_row_comes_back_after_all_is_lost(furnished: Shop, tmp_path: Path) -> None:
    before = digests()
    assert before["bowlers.bowler"][0] == 1
    assert before["bowlers.historicalbowler"][0] >= 1
    file = tmp_path / "all.zip"
    call_command("backup", str(file))
    rows.empty("default")
    assert not Shop.objects.exists()
    call_command("restore", str(file))
    assert digests() == before
    assert Shop.objects.get().name == AWKWARD
    call_command("restore", str(file), "--compare")


def test_new_rows_are_numbered_after_the_restored_ones(furnished: Shop, tmp_path: Path) -> None:
    last = Bowler.objects.latest("pk")
    archive.write(tmp_path / "all.zip")
    archive.restore(tmp_path / "all.zip", replace=True)
    new = Bowler.objects.create(shop=furnished, name="New", hand="right")
    assert new.pk > last.pk


def test_what_was_written_since_is_told_apart(furnished: Shop, tmp_path: Path) -> None:
    file = tmp_path / "all.zip"
    archive.write(file)
    Bowler.objects.update(name="Changed")
    with pytest.raises(CommandError, match=r"bowlers\.bowler: 1 rows in both, not all the same"):
        call_command("restore", str(file), "--compare")
    User.objects.create_user("late")
    assert {unlike.table for unlike in archive.compare(archive.check(file))} == {
        "auth.user",
        "bowlers.bowler",
    }


def test_a_shop_is_never_replaced_without_saying_so(furnished: Shop, tmp_path: Path) -> None:
    archive.write(tmp_path / "all.zip")
    before = digests()
    with pytest.raises(CommandError, match="--replace"):
        call_command("restore", str(tmp_path / "all.zip"))
    assert digests() == before


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"rows/bowlers.bowler.jsonl": b"[]\n"}, "damaged at table bowlers.bowler"),
        ({"rows/bowlers.bowler.jsonl": b""}, "damaged at table bowlers.bowler"),
        ({"contents.json": b'{"format": 99}'}, "format 99"),
        ({"contents.json": b"{"}, "isn't a whole backup"),
    ],
)
def test_a_damaged_file_changes_nothing(
    furnished: Shop, tmp_path: Path, change: dict[str, bytes], said: str
) -> None:
    archive.write(tmp_path / "all.zip")
    before = digests()
    spoilt = spoil(tmp_path / "all.zip", change)
    with pytest.raises(CommandError, match=said):
        call_command("restore", str(spoilt), "--replace")
    assert digests() == before


def test_a_name_no_file_can_have_is_refused(furnished: Shop) -> None:
    with pytest.raises(CommandError, match="no NUL in it"):
        call_command("backup", "a\0b.zip")
    with pytest.raises(CommandError, match="No file can have that name"):
        call_command("backup", "\ud800.zip")
    with pytest.raises(CommandError, match=r"can't be written: .*name too long"):
        call_command("backup", "x" * 5000)


@pytest.mark.parametrize("content", [b"", b"not a zip", b"PK\x03\x04"])
def test_what_isn_t_a_backup_is_refused(furnished: Shop, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "x.zip").write_bytes(content)
    with pytest.raises(CommandError, match="isn't a whole backup"):
        call_command("restore", str(tmp_path / "x.zip"), "--replace")
    with pytest.raises(CommandError, match="There is no file"):
        call_command("restore", str(tmp_path / "none.zip"), "--replace")


def test_rows_that_point_nowhere_change_nothing(furnished: Shop, tmp_path: Path) -> None:
    """A file consistent in itself whose rows don't fit together: the database refuses, whole."""
    archive.write(tmp_path / "all.zip")
    before = digests()
    contents: dict[str, Any] = archive.check(tmp_path / "all.zip")
    contents["tables"]["proshop.shop"] = {"rows": 0, "digest": rows.Tally().digest}
    spoilt = spoil(
        tmp_path / "all.zip",
        {"rows/proshop.shop.jsonl": b"", "contents.json": json.dumps(contents).encode()},
    )
    with pytest.raises(CommandError, match=r"the database refuses: (?i:.*foreign key)"):
        call_command("restore", str(spoilt), "--replace")
    assert digests() == before


def test_a_backup_of_another_release_is_refused(furnished: Shop, tmp_path: Path) -> None:
    archive.write(tmp_path / "all.zip")
    contents = archive.check(tmp_path / "all.zip")
    newer = {**contents, "migrations": [*contents["migrations"], "arsenal.9999_later"]}
    older = {**contents, "migrations": contents["migrations"][:-1]}
    for changed, said in ((newer, r"lacks arsenal\.9999_later"), (older, "earlier release")):
        spoilt = spoil(tmp_path / "all.zip", {"contents.json": json.dumps(changed).encode()})
        with pytest.raises(CommandError, match=said):
            call_command("restore", str(spoilt), "--replace")


def test_uploaded_files_come_back_and_stay_in_their_folder(
    furnished: Shop, tmp_path: Path, settings: Any
) -> None:
    settings.MEDIA_ROOT = str(tmp_path / "uploads")
    upload = tmp_path / "uploads" / "deep" / "Zoë.csv"
    upload.parent.mkdir(parents=True)
    upload.write_bytes(b"\x00\xffany bytes")
    archive.write(tmp_path / "all.zip")
    upload.unlink()
    archive.restore(tmp_path / "all.zip", replace=True)
    assert upload.read_bytes() == b"\x00\xffany bytes"
    contents = archive.check(tmp_path / "all.zip")
    digest = contents["files"].pop("deep/Zoë.csv")
    contents["files"]["../outside"] = digest
    spoilt = spoil(
        tmp_path / "all.zip",
        {"files/../outside": upload.read_bytes(), "contents.json": json.dumps(contents).encode()},
    )
    with pytest.raises(archive.Refused, match="outside its folder"):
        archive.restore(spoilt, replace=True)
    assert not (tmp_path / "outside").exists()


def test_old_backups_are_deleted_only_when_asked(
    furnished: Shop, tmp_path: Path, settings: Any
) -> None:
    settings.VAR_DIR = tmp_path
    folder = tmp_path / "backups"
    folder.mkdir()
    for day in ("20200101-000000", "20200102-000000"):
        (folder / f"hookwright-{day}.zip").touch()
    (folder / "mine.zip").touch()
    call_command("backup")
    assert len(list(folder.glob("hookwright-*.zip"))) == 3
    call_command("backup", "--keep", "1")
    assert len(list(folder.glob("hookwright-*.zip"))) == 1
    assert not (folder / "hookwright-20200102-000000.zip").exists()
    assert (folder / "mine.zip").exists()


def test_a_backup_is_for_its_owner_s_eyes(furnished: Shop, tmp_path: Path) -> None:
    archive.write(tmp_path / "all.zip")
    assert (tmp_path / "all.zip").stat().st_mode & 0o077 == 0


def manage(source: Path, *command: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, settings.BASE_DIR / "manage.py", *command],
        env={**os.environ, "DATABASE_URL": f"sqlite:///{source}"},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def elsewhere(transactional_db: None, tmp_path: Path) -> Iterator[str]:
    """The address of another database, of the kind that the tests run on."""
    with own_database(tmp_path, empty=True) as address:
        yield address


def test_a_whole_shop_moves_from_sqlite_to_another_database(elsewhere: str, tmp_path: Path) -> None:
    source = tmp_path / "source.sqlite3"
    sqlite_file(source)
    done = manage(source, "demo")
    assert not done.returncode, done.stderr
    moved = manage(source, "move_to", elsewhere)
    assert "Copied and compared" in moved.stdout, moved.stderr
    again = manage(source, "move_to", elsewhere)
    assert "--replace" in again.stderr
    assert not manage(source, "move_to", elsewhere, "--replace").returncode
    # And back by a backup of the other, held against the first.
    file = str(tmp_path / "moved.zip")
    written = subprocess.run(
        [sys.executable, settings.BASE_DIR / "manage.py", "backup", file],
        env={**os.environ, "DATABASE_URL": elsewhere},
        capture_output=True,
        text=True,
        check=True,
    )
    assert "read back whole" in written.stdout
    assert "row for row" in manage(source, "restore", file, "--compare").stdout


@pytest.fixture
def spare(transactional_db: None, tmp_path: Path) -> Iterator[str]:
    """A database of its own with all tables and nothing in them, as on a machine set up anew."""
    place = tmp_path / "spare"
    place.mkdir()
    with own_database(place) as address:
        yield address


LOOK = """
from django.contrib.auth.models import User
from django.test import Client
client = Client(HTTP_HOST="localhost")
client.force_login(User.objects.get(), "django.contrib.auth.backends.ModelBackend")
page = client.get("/customers/")
found = "Wren Marsh" in page.content.decode()
print("REPORT", page.status_code, found, client.get("/health/").json())
"""


def test_what_the_night_keeps_makes_a_site_elsewhere(
    spare: str, furnished: Shop, tmp_path: Path, settings: Any
) -> None:
    """The drill: the nightly unit's own command, its file taken to another machine, put into what
    is set up there, and the site of it looked at."""
    settings.VAR_DIR = tmp_path
    call_command(*lines("hookwright-nightly.service")[0].split()[2:])
    (kept,) = (tmp_path / "backups").iterdir()

    def there(*command: str) -> str:
        done = subprocess.run(
            [sys.executable, settings.BASE_DIR / "manage.py", *command],
            env={**os.environ, "DATABASE_URL": spare, "DEBUG": "1"},
            capture_output=True,
            text=True,
            check=False,
        )
        assert not done.returncode, done.stderr
        return done.stdout

    assert "Restored and compared" in there("restore", str(kept))
    *_, found = there("shell", "--no-imports", "-c", LOOK).split("REPORT")
    assert found.split(maxsplit=2)[:2] == ["200", "True"], found
    assert "'status': 'well'" in found


def test_an_address_that_is_none_is_refused() -> None:
    with pytest.raises(CommandError, match="isn't a database's address"):
        call_command("move_to", "nowhere")


def test_an_uploaded_file_that_is_damaged_or_has_no_place_changes_nothing(
    furnished: Shop, tmp_path: Path, settings: Any
) -> None:
    settings.MEDIA_ROOT = str(tmp_path / "uploads")
    (tmp_path / "uploads").mkdir()
    (tmp_path / "uploads" / "sheet.csv").write_bytes(b"whole")
    file = tmp_path / "all.zip"
    archive.write(file)
    before = digests()
    spoilt = spoil(file, {"files/sheet.csv": b"holed"})
    with pytest.raises(CommandError, match=r"damaged at file sheet\.csv"):
        call_command("restore", str(spoilt), "--replace")
    settings.MEDIA_ROOT = ""
    with pytest.raises(CommandError, match="MEDIA_ROOT isn't set"):
        call_command("restore", str(file), "--replace")
    assert digests() == before


def test_rows_that_arrive_otherwise_are_noticed_and_nothing_is_replaced(
    furnished: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was put in is read back before it counts: a database may change what it takes."""
    archive.write(tmp_path / "all.zip")
    before = digests()
    load = rows.load

    def loosely(model: Any, lines: Iterator[str], using: str) -> None:
        load(model, lines, using)
        if model is Bowler:
            Bowler.objects.update(name="Somebody else")

    monkeypatch.setattr(rows, "load", loosely)
    with pytest.raises(CommandError, match=r"Nothing was changed: .*bowlers\.bowler"):
        call_command("restore", str(tmp_path / "all.zip"), "--replace")
    assert digests() == before


def test_rows_gone_since_are_counted(furnished: Shop, tmp_path: Path) -> None:
    archive.write(tmp_path / "all.zip")
    Bowler.history.all().delete()
    with pytest.raises(CommandError, match=r"bowlers\.historicalbowler: 0 rows here, \d+ there"):
        call_command("restore", str(tmp_path / "all.zip"), "--compare")


def test_a_kind_of_record_that_the_file_doesn_t_know_is_empty_afterwards(
    furnished: Shop, tmp_path: Path
) -> None:
    archive.write(tmp_path / "all.zip")
    before = digests()
    contents = archive.check(tmp_path / "all.zip")
    label = "bowlers.historicalbowler"
    del contents["tables"][label]
    spoilt = spoil(tmp_path / "all.zip", {"contents.json": json.dumps(contents).encode()})
    archive.restore(spoilt, replace=True)
    assert not Bowler.history.exists()
    assert {name for name, one in digests().items() if one != before[name]} == {label}


def test_rows_that_arrive_otherwise_aren_t_copied(
    furnished: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Copied onto itself, by a database that changes what it takes."""
    before = digests()

    def loosely(model: Any, lines: Iterator[str], using: str) -> None:
        assert list(lines) is not None
        if model is Bowler:
            Bowler.objects.update(name="Somebody else")

    monkeypatch.setattr(rows, "snapshot", lambda using: nullcontext())
    monkeypatch.setattr(rows, "empty", lambda using: None)
    monkeypatch.setattr(rows, "load", loosely)
    with pytest.raises(archive.Refused, match=r"Nothing was copied: .*bowlers\.bowler"):
        archive.copy("default", "default", replace=True)
    assert digests() == before


def test_a_database_that_can_t_be_opened_is_told(tmp_path: Path) -> None:
    there = f"sqlite:///{tmp_path}/nowhere/moved.sqlite3"
    done = manage(tmp_path / "source.sqlite3", "move_to", there)
    assert done.returncode == 1
    assert "The other database: unable to open database file" in done.stderr
