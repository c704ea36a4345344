"""A full disk and a lost database: a page in words, nothing acknowledged lost, and all well after.

A full SQLite database is full by its own limit of pages; a lost one has its directory taken away. A
PostgreSQL server has its tables on a small disk in memory, which is filled up, and is lost by
cutting the wire to it.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import sqlite3
import subprocess
import tempfile
import threading
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest
from django.db import connection

from tests.bench import postgres
from tests.databases import own_database, sqlite_file
from tests.faults.site import Answer, Clerk, Site
from tests.faults.wire import Wire

NAMES = """
import json
from bowlers.models import Bowler
print("REPORT" + json.dumps(list(Bowler.objects.values_list("name", flat=True))))
"""
CUSTOMERS_UNTIL_FULL = 400


@contextmanager
def running(site: Site, *options: str) -> Iterator[Clerk]:
    # Pages for people, where Django's own would stand for developers.
    site.env |= {"DEBUG": "0", "DJANGO_SETTINGS_MODULE": "tests.faults.settings"}
    site.furnish()
    site.start(*options)
    try:
        site.wait()
        clerk = Clerk(site, "Clerk")
        clerk.sign_in()
        yield clerk
    finally:
        site.kill()


def add_one(clerk: Clerk, name: str) -> Answer | None:
    """What comes of one try at adding a customer; None if nobody answered."""
    page = clerk.site.ask("GET", "/customers/new/", None, clerk.cookies)
    if page.status != 200:
        return page
    clerk.cookies |= page.cookies
    answer = clerk.site.ask("POST", "/customers/new/", clerk.form(page, name), clerk.cookies)
    if answer.status == 302:
        clerk.acknowledged.append(name)
    return answer


def names_stored(site: Site) -> list[str]:
    names: list[str] = json.loads(
        site.manage("shell", "--no-imports", "-c", NAMES).split("REPORT")[1]
    )
    return sorted(names)


def told_and_well_again(clerk: Clerk, in_the_way: Path) -> None:
    """Customers are added until one is refused in words, nothing saved is lost, and once what
    is in the way has gone they are kept again."""
    refused: Answer | None = None
    for number in range(CUSTOMERS_UNTIL_FULL):
        answer = add_one(clerk, f"Customer {number}" + " of many words" * 6)
        if answer is not None and answer.status != 302:
            refused = answer
            break
    assert refused is not None, "the disk never was full"
    assert (refused.status, "The disk is full" in refused.text) == (503, True)
    assert names_stored(clerk.site) == sorted(clerk.acknowledged)
    # Whoever only looks goes on.
    assert clerk.site.ask("GET", "/customers/", None, clerk.cookies).status == 200
    in_the_way.unlink()
    again = add_one(clerk, "After")
    assert again is not None
    assert again.status == 302
    assert names_stored(clerk.site) == sorted(clerk.acknowledged)


@pytest.mark.django_db(transaction=True)
def test_a_full_disk_is_told_and_keeps_what_was_saved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if connection.vendor != "sqlite":
        return
    limit, file = tmp_path / "most-pages", tmp_path / "small.sqlite3"
    monkeypatch.setenv("MOST_PAGES", str(limit))
    site = Site(sqlite_file(file), tmp_path)
    with running(site, "--config=python:tests.faults.small_disk") as clerk:
        assert add_one(clerk, "Before") is not None
        with sqlite3.connect(file) as stored:
            pages = stored.execute("PRAGMA page_count").fetchone()[0]
        limit.write_text(str(pages + 4))
        told_and_well_again(clerk, limit)


@contextmanager
def small_disk() -> Iterator[Path | None]:
    """A disk of its own, of a few megabytes; None where nothing may be mounted."""
    place = Path(tempfile.mkdtemp(prefix="small-disk-"))
    mount = ["mount", "-t", "tmpfs", "-o", "size=96m", "tmpfs", str(place)]
    try:
        done = subprocess.run(mount, check=False, capture_output=True)
        mounted = done.returncode == 0
    except FileNotFoundError:
        mounted = False
    try:
        yield place if mounted else None
    finally:
        if mounted:
            subprocess.run(["umount", "--lazy", str(place)], check=True)
        place.rmdir()


def fill(file: Path) -> None:
    """To the last byte."""
    with file.open("wb", buffering=0) as open_file:
        for size in (1 << 20, 1 << 12, 1):
            with contextlib.suppress(OSError):
                while True:
                    open_file.write(bytes(size))


@pytest.mark.django_db(transaction=True)
def test_a_full_disk_under_postgresql_is_told_and_keeps_what_was_saved(tmp_path: Path) -> None:
    if connection.vendor != "postgresql":
        return
    programs = postgres.binaries()
    with small_disk() as disk:
        if disk is None or programs is None or os.getuid() != 0:
            warnings.warn("Not tried: no small disk for a PostgreSQL server here.", stacklevel=1)
            return
        shutil.chown(disk, "postgres")
        with postgres.server(programs) as server:
            with psycopg.connect(server, autocommit=True) as asked:
                asked.execute(f"CREATE TABLESPACE small LOCATION '{disk}'")
                asked.execute("CREATE DATABASE faults TABLESPACE small")
            site = Site(server.replace("/postgres", "/faults"), tmp_path)
            site.manage("migrate", "--verbosity=0")
            with running(site) as clerk:
                assert add_one(clerk, "Before") is not None
                fill(disk / "everything else")
                told_and_well_again(clerk, disk / "everything else")


@contextmanager
def losable(folder: Path) -> Iterator[tuple[str, Callable[[], object], Callable[[], object]]]:
    """A database's address, what takes it away, and what brings it back."""
    place = folder / "disk"
    place.mkdir()
    with own_database(place) as address:
        if connection.vendor == "sqlite":
            gone = folder / "elsewhere"
            yield address, lambda: place.rename(gone), lambda: gone.rename(place)
            return
        where = connection.settings_dict
        wire = Wire(str(where["HOST"]), int(where["PORT"] or 5432))
        real = f"@{where['HOST']}:{where['PORT']}/"
        assert real in address
        try:
            yield address.replace(real, f"@127.0.0.1:{wire.port}/"), wire.cut, wire.mend
        finally:
            wire.close()


@pytest.mark.django_db(transaction=True)
def test_a_lost_database_is_told_and_comes_back_whole(tmp_path: Path) -> None:
    with losable(tmp_path) as (address, lose, bring_back):
        site = Site(address, tmp_path)
        with running(site) as clerk:
            for number in range(3):
                add_one(clerk, f"Before {number}")
            lose()
            told = site.ask("GET", "/customers/", None, clerk.cookies)
            assert (told.status, "The records can’t be reached" in told.text) == (503, True)
            health = site.ask("GET", "/health/")
            assert (health.status, json.loads(health.text)["database"]) == (503, "wrong")
            # A form sent meanwhile is held by whoever sends it, and taken once there is somebody.
            stopped = threading.Event()
            waiting = threading.Thread(target=clerk.add, args=["Meanwhile", stopped])
            waiting.start()
            waiting.join(1)
            assert waiting.is_alive()
            bring_back()
            waiting.join(60)
            stopped.set()
            assert clerk.acknowledged == ["Before 0", "Before 1", "Before 2", "Meanwhile"]
            assert site.ask("GET", "/health/").status == 200
            # No thread of the server holds on to a connection that was cut.
            for _ in range(12):
                assert site.ask("GET", "/customers/", None, clerk.cookies).status == 200
            assert names_stored(site) == sorted(clerk.acknowledged)
