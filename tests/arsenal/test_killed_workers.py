"""Real workers on a database of their own, one of them killed in the middle of its job."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psycopg
import pytest
from django.conf import settings

CUSTOMERS = 5
# Longer than a run takes, so that whoever is alive is never taken for dead.
SILENT_S = 4
PATIENCE_S = 300.0


@pytest.fixture
def database(tmp_path: Path) -> Iterator[str]:
    """The address of an empty database of the kind the suite runs on, gone afterwards."""
    given = settings.DATABASES["default"]
    if given["ENGINE"].endswith("sqlite3"):
        yield f"sqlite:///{tmp_path / 'scratch.sqlite3'}"
        return
    name = f"scratch_{os.getpid()}_{time.monotonic_ns()}"
    server = {"host": given["HOST"], "port": given["PORT"], "user": given["USER"]}
    known = {key: value for key, value in server.items() if value}
    password = given["PASSWORD"] or None
    with psycopg.connect(
        dbname="postgres", autocommit=True, password=password, **known
    ) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
        who = quote(given["USER"]) + (f":{quote(password)}" if password else "")
        yield f"postgres://{who}@{given['HOST']}:{given['PORT']}/{name}"
        connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture
def site(database: str, tmp_path: Path) -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Starts a command of the scratch site; whatever still runs at the end is ended."""
    surroundings = os.environ | {"DATABASE_URL": database, "DIARY": str(tmp_path / "diary")}
    started: list[subprocess.Popen[str]] = []

    def start(*command: str) -> subprocess.Popen[str]:
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.arsenal.scratch_site", *command],
            cwd=settings.BASE_DIR,
            env=surroundings,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        started.append(process)
        return process

    yield start
    for process in started:
        if process.poll() is None:
            process.kill()
        process.wait()


def said(process: subprocess.Popen[str]) -> str:
    output, _ = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 0, output
    return output


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.1)


def test_what_a_killed_worker_had_is_done_once_by_another(
    site: Callable[..., subprocess.Popen[str]], tmp_path: Path
) -> None:
    said(site("migrate", "--verbosity", "0"))
    said(site("furnish", str(CUSTOMERS)))
    assert f"{CUSTOMERS} waiting" in said(site("rerank", "--all"))
    diary = tmp_path / "diary"

    def lines(what: str) -> list[tuple[int, int]]:
        """(customer, process) of each run that began or ended."""
        written = diary.read_text().splitlines() if diary.exists() else []
        rows = [line.split() for line in written]
        return [(int(row[1]), int(row[2])) for row in rows if row[0] == what]

    work = ["db_worker", "--no-warm", "--no-startup-delay", "--interval", "0.1"]
    doomed, other = site(*work), site(*work)
    until(lambda: any(process == doomed.pid for _, process in lines("begin")))
    doomed.send_signal(signal.SIGKILL)
    doomed.wait()
    lost = [customer for customer, process in lines("begin") if process == doomed.pid]
    time.sleep(SILENT_S + 0.5)
    assert "1 rankings looked after" in said(site("reap_jobs", "--age", str(SILENT_S)))
    another = site(*work)
    until(lambda: len(lines("end")) >= CUSTOMERS)
    for worker in (other, another):
        worker.send_signal(signal.SIGTERM)
    for worker in (other, another):
        worker.wait(timeout=PATIENCE_S)

    told: dict[str, Any] = json.loads(said(site("report")))
    attempts = {row["bowler_id"]: row["attempts"] for row in told["rankings"]}
    assert [row["status"] for row in told["rankings"]] == ["done"] * CUSTOMERS
    assert Counter(customer for customer, _ in lines("end")) == dict.fromkeys(attempts, 1)
    assert {who for who, tried in attempts.items() if tried == 2} == {lost[-1]}
    assert sorted(attempts.values()) == [1] * (CUSTOMERS - 1) + [2]
    assert told["jobs"] == ["SUCCESSFUL"] * CUSTOMERS
