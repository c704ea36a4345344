"""Run the site on this machine: web server and job worker together, stopped together."""

import contextlib
import os
import signal
import socket
import subprocess
import sys
import time
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import OperationalError, close_old_connections

REAP_EVERY_S = 60
# A worker in the middle of a ranking gets this long before it is told again, then ended.
PATIENCE_S = 3.0


class Command(BaseCommand):
    help = "Serve the site on 127.0.0.1 with a job worker beside it. Stop both with Ctrl-C."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=int(os.environ.get("PORT") or 8000))

    def handle(self, *args: Any, port: int, **options: Any) -> None:
        self.children: dict[str, subprocess.Popen[bytes]] = {}
        self.stopping = False
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, self._stop)
        manage = [sys.executable, str(settings.BASE_DIR / "manage.py")]
        commands = {
            "server": [
                sys.executable,
                "-m",
                "gunicorn",
                "proshop.wsgi",
                f"--bind=127.0.0.1:{port}",
                "--preload",
                "--workers=2",
                "--threads=4",
                "--timeout=120",
                "--log-level=warning",
            ],
            "worker": [*manage, "db_worker", "--interval", "0.5", "--no-startup-delay"],
        }
        with socket.socket() as trial:
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                trial.bind(("127.0.0.1", port))
            except OSError:
                raise CommandError(f"Port {port} is taken. Try: make run PORT=8001") from None
        # Nothing of ours runs yet, so whatever is marked running was left by a worker that died.
        call_command("reap_jobs", age=0, stdout=self.stdout)
        try:
            for name, command in commands.items():
                self._start(name, command)
            self._wait_until_open(port)
            self.stdout.write(
                self.style.SUCCESS(f"\nHookwright is at http://127.0.0.1:{port}/ (Ctrl-C stops it)")
            )
            self.stdout.flush()
            self._watch(commands)
        finally:
            self._end_children()

    def _start(self, name: str, command: list[str]) -> None:
        # A session of its own: Ctrl-C reaches this process alone, which ends the others in order.
        self.children[name] = subprocess.Popen(command, start_new_session=True)  # noqa: S603

    def _stop(self, number: int, frame: FrameType | None) -> None:
        self.stopping = True

    def _wait_until_open(self, port: int) -> None:
        """The server warms the engine before it listens."""
        while not self.stopping:
            if self.children["server"].poll() is not None:
                raise CommandError("The server didn't start. Its messages are above.")
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
                return
            time.sleep(0.1)

    def _watch(self, commands: dict[str, list[str]]) -> None:
        reaped = time.monotonic()
        while not self.stopping:
            time.sleep(0.3)
            if self.children["server"].poll() is not None:
                raise CommandError("The server stopped by itself. Its messages are above.")
            if self.children["worker"].poll() is not None:
                self.stderr.write("The job worker stopped by itself; starting another.")
                self._start("worker", commands["worker"])
                time.sleep(2)
            if time.monotonic() - reaped > REAP_EVERY_S:
                reaped = time.monotonic()
                self._reap()

    def _reap(self) -> None:
        try:
            call_command("reap_jobs", stdout=self.stdout)
        except OperationalError as trouble:
            self.stderr.write(f"Lost jobs weren't looked for: {trouble}")
        finally:
            close_old_connections()

    def _end_children(self) -> None:
        for number in (signal.SIGTERM, signal.SIGTERM, signal.SIGKILL):
            for child in self._living():
                child.send_signal(number)
            until = time.monotonic() + PATIENCE_S
            while self._living() and time.monotonic() < until:
                time.sleep(0.05)
        self.stdout.write("Stopped.")

    def _living(self) -> list[subprocess.Popen[bytes]]:
        return [child for child in self.children.values() if child.poll() is None]
