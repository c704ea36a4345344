"""`make run`: the site and its worker start together, and end together whatever ends first."""

from __future__ import annotations

import io
import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest.mock import Mock

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import OperationalError

from proshop.management.commands import serve
from tests.databases import sqlite_file
from tests.proshop.test_jobs import running_job

MANAGE = [sys.executable, str(settings.BASE_DIR / "manage.py")]
# Far longer than it takes: it only ends a test whose site never comes.
PATIENCE_S = 600.0


@pytest.fixture
def address(transactional_db: None, tmp_path: Path) -> str:
    return sqlite_file(tmp_path / "served.sqlite3")


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@pytest.mark.slow
def test_site_and_worker_come_and_go_together(address: str, tmp_path: Path) -> None:
    port, log = free_port(), tmp_path / "log"
    env = {**os.environ, "DATABASE_URL": address, "DEBUG": "1"}
    with log.open("wb") as said:
        site = subprocess.Popen(
            [*MANAGE, "serve", f"--port={port}"], env=env, stdout=said, stderr=said
        )
    try:
        end = time.monotonic() + PATIENCE_S
        while f"Hookwright is at http://127.0.0.1:{port}/" not in log.read_text():
            assert site.poll() is None, log.read_text()
            assert time.monotonic() < end, log.read_text()
            time.sleep(0.05)
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/health/") as answer:
            assert json.load(answer)["status"] == "well"
        children = Path(f"/proc/{site.pid}/task/{site.pid}/children").read_text().split()
        started = [Path(f"/proc/{one}/cmdline").read_text() for one in children]
        assert ["gunicorn" in one for one in started] == [True, False]
        assert ["db_worker" in one for one in started] == [False, True]
    finally:
        site.send_signal(signal.SIGTERM)
        code = site.wait(PATIENCE_S)
    assert code == 0, log.read_text()
    assert log.read_text().rstrip().endswith("Stopped.")
    assert [one for one in children if Path(f"/proc/{one}").exists()] == []
    with pytest.raises(OSError, match="refused"):
        socket.create_connection(("127.0.0.1", port), 1)


# ---- What ends by itself, with children that do nothing.


@pytest.fixture
def command() -> Iterator[serve.Command]:
    made = serve.Command(stdout=io.StringIO(), stderr=io.StringIO(), no_color=True)
    made.children, made.stopping = {}, False
    yield made
    for child in made.children.values():
        child.kill()
        child.wait()


def said(stream: Any) -> str:
    return str(stream._out.getvalue())


def test_a_worker_that_ends_is_started_again(
    command: serve.Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    command._start("server", ["sleep", "600"])
    command._start("worker", ["true"])
    first = command.children["worker"]
    first.wait()

    def sleep(seconds: float) -> None:
        command.stopping = command.children["worker"] is not first

    looked: list[bool] = []
    monkeypatch.setattr(serve, "time", SimpleNamespace(sleep=sleep, monotonic=time.monotonic))
    monkeypatch.setattr(serve, "REAP_EVERY_S", -1.0)
    monkeypatch.setattr(command, "_reap", lambda: looked.append(True))
    command._watch({"worker": ["sleep", "600"]})
    assert looked
    assert "The job worker stopped by itself; starting another." in said(command.stderr)
    assert [child.poll() for child in command.children.values()] == [None, None]
    command._end_children()
    assert command._living() == []
    assert said(command.stdout) == "Stopped.\n"


def test_children_that_don_t_listen_are_killed(
    command: serve.Command, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(serve, "PATIENCE_S", 0.0)
    deaf = tmp_path / "deaf"
    does = "signal.signal(signal.SIGTERM, signal.SIG_IGN); open(sys.argv[1], 'w'); time.sleep(600)"
    command._start(
        "worker", [sys.executable, "-S", "-c", f"import signal, sys, time; {does}", str(deaf)]
    )
    while not deaf.exists():
        assert command._living()
        time.sleep(0.01)
    command._end_children()
    assert command.children["worker"].wait(PATIENCE_S) == -signal.SIGKILL


def test_told_to_stop_it_waits_for_no_server(command: serve.Command) -> None:
    command.stopping = True
    command._wait_until_open(free_port())
    assert command.children == {}


def test_a_server_that_ends_ends_the_site_and_says_so(command: serve.Command) -> None:
    command._start("server", ["false"])
    command.children["server"].wait()
    with pytest.raises(CommandError, match=r"The server didn't start\."):
        command._wait_until_open(free_port())
    with pytest.raises(CommandError, match=r"The server stopped by itself\."):
        command._watch({})


def test_a_port_that_is_taken_is_said_with_the_remedy() -> None:
    listened_to = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
    before = [signal.getsignal(number) for number in listened_to]
    try:
        with socket.socket() as taken:
            taken.bind(("127.0.0.1", 0))
            taken.listen()
            port = taken.getsockname()[1]
            with pytest.raises(CommandError, match=f"Port {port} is taken. Try: make run PORT="):
                call_command("serve", port=port)
    finally:
        for number, handler in zip(listened_to, before, strict=True):
            signal.signal(number, handler)


@pytest.mark.django_db
def test_lost_jobs_are_put_back_and_a_lost_database_is_told(
    command: serve.Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A test's own connection is open for as long as its transaction.
    let_go = Mock()
    monkeypatch.setattr(serve, "close_old_connections", let_go)
    job = running_job(minutes=60)
    command._reap()
    job.refresh_from_db()
    assert job.status == "READY"

    def gone(*args: Any, **kwargs: Any) -> None:
        raise OperationalError("server closed the connection")

    monkeypatch.setattr(serve, "call_command", gone)
    command._reap()
    assert "Lost jobs weren't looked for: server closed the connection" in said(command.stderr)
    assert let_go.call_count == 2
