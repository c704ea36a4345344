"""Counts of the checks behind the rungs, by running them."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

# Written by the run that is parsed here, so it holds nothing hostile.
from xml.etree import ElementTree

TESTS = Path(__file__).parents[1]
ROOT = TESTS.parents[1]


@dataclass(frozen=True)
class Count:
    """Checks of one file."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0

    def words(self) -> str:
        said = [f"{self.passed} hold"]
        if self.failed:
            said.append(f"**{self.failed} FAILED**")
        if self.skipped:
            said.append(f"{self.skipped} skipped")
        return ", ".join(said)


def run() -> dict[str, Count]:
    """Count of every file of the ladder (without ``test_`` and ``.py``), slow checks included."""
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "checks.xml"
        subprocess.run(
            [sys.executable, "-m", "pytest", str(TESTS), f"--junitxml={report}"],
            cwd=ROOT,
            check=False,
            stdout=sys.stderr,
        )
        return read(report)


def read(report: Path) -> dict[str, Count]:
    """Counts of a JUnit report by file."""
    found: dict[str, Counter[str]] = {}
    for case in ElementTree.parse(report).iter("testcase"):  # noqa: S314
        name = case.get("classname", "").split("test_", 1)[-1].split(".")[0]
        outcome = "passed"
        if case.find("failure") is not None or case.find("error") is not None:
            outcome = "failed"
        elif case.find("skipped") is not None:
            outcome = "skipped"
        found.setdefault(name, Counter())[outcome] += 1
    return {name: Count(**counts) for name, counts in found.items()}
