"""``python -m tests.fuzz 100000``: the long run, piece by piece, each written down when it is done.

Every piece is a process of its own that draws other cases; one that is stopped loses itself alone.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time

import pytest

from tests.fuzz import tried
from tests.long_runs import Run, keep

PIECE = 5000
TESTS = ("tests/fuzz", "tests/proshop/test_files_fuzz.py")


class Faults:
    """Counts the tests that failed: each is a way of breaking something."""

    def __init__(self) -> None:
        self.failed: list[str] = []

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid.rsplit("::", 1)[-1])


def piece() -> int:
    """The cases of one process, of which the environment says how many."""
    began, faults = time.monotonic(), Faults()
    ended = pytest.main([*TESTS, "-p", "no:logging", "-p", "no:cacheprovider"], plugins=[faults])
    address = os.environ.get("DATABASE_URL", "")
    run = keep(
        Run(
            "make fuzz",
            "PostgreSQL" if address.startswith("postgres") else "SQLite",
            tried.cases,
            "broken forms, files, JSON cases and command lines",
            len(faults.failed),
            (time.monotonic() - began) / 60,
            found=", ".join(sorted(set(faults.failed))) or "nothing broke",
        ),
        adds=True,
    )  # fmt: skip
    print(f"{run.tried:,} cases by now, {run.faults} faults", flush=True)
    return int(ended)


def main() -> int:
    told = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    told.add_argument("cases", type=int, nargs="?", default=100_000)
    told.add_argument("--piece", action="store_true", help=argparse.SUPPRESS)
    asked = told.parse_args()
    if asked.piece:
        return piece()
    worst = 0
    for _ in range(max(1, round(asked.cases / PIECE))):
        env = {**os.environ, "FUZZ": str(min(PIECE, asked.cases))}
        done = subprocess.run([sys.executable, "-m", "tests.fuzz", "--piece"], env=env, check=False)
        worst = max(worst, abs(done.returncode))
    return worst


if __name__ == "__main__":
    sys.exit(main())
