"""A PostgreSQL server of a benchmark's own, in a directory that is gone afterwards.

``python -m tests.bench.postgres COMMAND …`` runs a command with such a server as its DATABASE_URL.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path


def binaries() -> Path | None:
    """Where the newest server's programs are; None without one."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3])
    )
    return found[-1].parent if found else None


@contextmanager
def server(programs: Path) -> Iterator[str]:
    """The address of an empty database."""
    with logged(programs) as (address, _):
        yield address


@contextmanager
def logged(programs: Path, settings: Sequence[str] = ()) -> Iterator[tuple[str, Path]]:
    """The address of an empty database on a server with these settings, and the server's log."""
    home = Path(tempfile.mkdtemp(prefix="bench-postgres-"))
    # PostgreSQL refuses to run as root.
    before = ["runuser", "-u", "postgres", "--"] if os.getuid() == 0 else []
    if before:
        shutil.chown(home, "postgres")
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port = trial.getsockname()[1]

    def run(program: str, *arguments: str) -> None:
        command = [*before, str(programs / program), "-D", str(home / "db"), *arguments]
        subprocess.run(command, cwd=home, check=True, stdout=subprocess.DEVNULL)

    told = " ".join(f"-c {setting}" for setting in ("listen_addresses=127.0.0.1", *settings))
    options = f"-p {port} -k {home} {told}"
    try:
        run("initdb", "-U", "hookwright", "--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8")
        run("pg_ctl", "-w", "-l", str(home / "log"), "-o", options, "start")
        try:
            yield f"postgres://hookwright@127.0.0.1:{port}/postgres", home / "log"
        finally:
            run("pg_ctl", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(home, ignore_errors=True)


def main(command: Sequence[str]) -> int:
    """The command's own status; 1 in words where no server is installed."""
    programs = binaries()
    if programs is None:
        print(
            "*** NOT RUN: no PostgreSQL server is installed. "
            "On Debian: apt-get install postgresql ***"
        )
        return 1
    with server(programs) as address:
        env = {**os.environ, "DATABASE_URL": address}
        return subprocess.run(command, env=env, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
