"""Real workers on a database of their own, killed at random moments: every job is done once.

``make faults`` kills forty on either database; the suite kills three.
"""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection

from tests.arsenal.scratch_site import TAKES_S
from tests.databases import own_database
from tests.long_runs import Run, keep

KILLS = int(os.environ.get("KILLS", "3"))
# Each piece of the long run is written down when it is done.
IS_LONG = bool(os.environ.get("LONG_RUN"))
# Two workers, each of whom gets at most two done between one kill and the next.
CUSTOMERS = 4 * KILLS
# Far longer than a run takes, so that whoever is alive is never taken for dead.
SILENT_S = 8
PATIENCE_S = 300.0


@pytest.fixture
def database(transactional_db: None, tmp_path: Path) -> Iterator[str]:
    """The address of a database of the kind the suite runs on, gone afterwards."""
    with own_database(tmp_path) as address:
        yield address


@pytest.fixture
def site(database: str, tmp_path: Path) -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Starts a command of the scratch site; whatever still runs at the end is ended."""
    surroundings = os.environ | {
        "DATABASE_URL": database,
        "DIARY": str(tmp_path / "diary"),
        # Nobody's ranking is given up for being unlucky.
        "ATTEMPTS": str(KILLS + 1),
    }
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


@dataclass(frozen=True)
class Line:
    what: str
    customer: int
    process: int


def test_what_killed_workers_had_is_done_once_by_others(
    site: Callable[..., subprocess.Popen[str]], tmp_path: Path
) -> None:
    # Each piece of the long run kills at moments of its own.
    chance, began = random.Random(None if IS_LONG else 11), time.monotonic()
    said(site("furnish", str(CUSTOMERS)))
    assert f"{CUSTOMERS} waiting" in said(site("rerank", "--all"))

    def diary() -> list[Line]:
        """Each run that began or ended, as it came."""
        file = tmp_path / "diary"
        rows = [row.split() for row in file.read_text().splitlines()] if file.exists() else []
        return [Line(what, int(customer), int(process)) for what, customer, process in rows]

    def at_work(worker: subprocess.Popen[str]) -> bool:
        own = [line.what for line in diary() if line.process == worker.pid]
        return own[-1:] == ["begin"]

    work = ["db_worker", "--no-warm", "--no-startup-delay", "--interval", "0.1"]
    look_after = ["reap_jobs", "--age", str(SILENT_S)]
    workers, killed, in_the_middle = [site(*work), site(*work)], set[int](), 0
    for _ in range(KILLS):
        until(lambda: any(map(at_work, workers)))
        # Into the middle of a run, its end or what comes after it.
        time.sleep(chance.uniform(0, 1.1 * TAKES_S))
        doomed = workers.pop(chance.randrange(len(workers)))
        doomed.send_signal(signal.SIGKILL)
        doomed.wait()
        killed.add(doomed.pid)
        in_the_middle += at_work(doomed)
        workers.append(site(*work))
        site(*look_after)

    told: dict[str, Any] = {}

    def nothing_is_left() -> bool:
        said(site(*look_after))
        told.update(json.loads(said(site("report"))))
        rankings = {row["status"] for row in told["rankings"]}
        return not rankings & {"waiting", "running"} and not {*told["jobs"]} & {"READY", "RUNNING"}

    until(nothing_is_left)
    for worker in workers:
        worker.send_signal(signal.SIGTERM)
    for worker in workers:
        worker.wait(timeout=PATIENCE_S)

    lines, wrong = diary(), []
    last_of = {line.process: line for line in lines}
    for row in told["rankings"]:
        own = [line for line in lines if line.customer == row["bowler_id"]]
        runs = [line for line in own if line.what == "begin"]
        # A run is made again only where its worker got no further before it was killed, and the
        # last one came to its end.
        again = [run.process for run in runs[:-1]]
        cut_off = [p for p in again if p in killed and last_of[p].customer == row["bowler_id"]]
        if (
            row["status"] != "done"
            or cut_off != again
            or own[-1:] != [Line("end", row["bowler_id"], runs[-1].process)]
        ):
            wrong.append((row, own))
    # A worker may die between taking a ranking and beginning to run it.
    begun = sum(line.what == "begin" for line in lines)
    attempts = sum(row["attempts"] for row in told["rankings"])
    if IS_LONG:
        keep(
            Run(
                "make faults",
                connection.display_name,
                KILLS,
                "kills of one of two workers while they rank",
                len(wrong),
                (time.monotonic() - began) / 60,
                found=f"{CUSTOMERS} rankings, {CUSTOMERS - len(wrong)} done once; {in_the_middle} "
                "cut off in the middle",
            ),
            adds=True,
        )
    assert not wrong
    assert len(told["rankings"]) == CUSTOMERS
    assert begun <= attempts <= begun + KILLS
    assert in_the_middle > 0
    assert told["jobs"] == ["SUCCESSFUL"] * CUSTOMERS
