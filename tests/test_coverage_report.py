"""The page of what no test takes says all that is missing, and explains nothing by itself."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from fnmatch import fnmatchcase
from typing import Any

import pytest

from tests import coverage_report
from tests.bench.results import ROOT
from tests.coverage_report import (
    NOT_EXPLAINED,
    Gap,
    Reason,
    gaps,
    held_by,
    kernel_lines,
    reasons,
    tell,
)

PACKAGES = ("proshop", "bowlers", "arsenal", "physics")
SOURCE = '''"""A module of which a part runs."""
from numba import njit

@njit(cache=True)
def kernel(a):
    """Compiled."""
    if a:
        return 1
    return 2

class Counter:
    def serve(self, whom):
        for one in whom:
            if one == "olive":
                break
        else:
            raise LookupError(
                "nobody | none"
            )
        if whom:
            whom = ()
        return whom

    @property
    def open(self):
        opened = True
        return opened

Counter().serve(["sam", "olive"])
'''


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What coverage itself says of a file, so that another form of its answer is noticed."""
    place = tmp_path_factory.mktemp("measured")
    (place / "shop.py").write_text(SOURCE)
    # Not a part of a measuring that goes on around this test.
    env = {name: set_to for name, set_to in os.environ.items() if not name.startswith("COV")}
    for command in (["run", "--branch", "shop.py"], ["json", "-q", "-o", "found.json"]):
        subprocess.run([sys.executable, "-m", "coverage", *command], cwd=place, env=env, check=True)
    files: dict[str, Any] = json.loads((place / "found.json").read_text())["files"]
    return files


def test_every_gap_is_told_with_its_function(measured: dict[str, Any]) -> None:
    assert list(gaps("shop.py", measured["shop.py"], SOURCE.splitlines())) == [
        Gap("shop.py", "kernel", "7–9", "if a:", is_kernel=True),
        Gap("shop.py", "Counter.serve", "17", "raise LookupError("),
        Gap("shop.py", "Counter.serve", "20 → 22", "if whom:"),
        Gap("shop.py", "Counter.open", "26–27", "opened = True"),
    ]


@pytest.fixture(autouse=True)
def tests_of_kernels(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    if "measured" in request.fixturenames:
        monkeypatch.setattr(coverage_report, "held_by", lambda: {"shop.py": "`test_shop.py`"})


def test_only_the_gap_that_a_reason_is_for_is_explained(measured: dict[str, Any]) -> None:
    why = [
        Reason("shop.py", "Counter.serve", "LookupError", "Nobody comes."),
        Reason("shop.py", "Counter.open", "elsewhere", "Moved on."),
        Reason("other.py", "kernel", "if a", "Another file."),
    ]
    page = tell(measured, {"shop.py": SOURCE}, why)
    assert "| 17 | `raise LookupError(` | Nobody comes. |" in page
    assert page.count(NOT_EXPLAINED) == 2
    assert "4 places, of which 2 are not explained and 1 are in compiled kernels" in page
    assert "| `if a:` | not seen, compiled: `test_shop.py` |" in page
    idle = page.split("to be taken out:")[1]
    assert "Moved on" not in page
    assert [line.split("`")[1:4:2] for line in idle.strip().splitlines()] == [
        ["shop.py", "Counter.open"],
        ["other.py", "kernel"],
    ]


def test_totals_count_kernels_apart_and_never_round_up(measured: dict[str, Any]) -> None:
    page = tell(measured, {"shop.py": SOURCE}, [])
    assert "| shop.py, compiled kernels | 3 | 3 | 0.0 % | 2 | 2 | 0.0 % |" in page
    found = measured["shop.py"]["summary"]
    assert f"| all | {found['num_statements']} | {found['missing_lines']} |" in page
    assert f"| {found['num_branches']} | {found['missing_branches']} |" in page
    assert coverage_report._share(10_000, 1) == "99.9 %"


def test_each_reason_is_for_code_that_is_there() -> None:
    every = {
        str(path.relative_to(ROOT)): path.read_text()
        for package in PACKAGES
        for path in (ROOT / package).rglob("*.py")
    }
    for reason in reasons():
        sources = [source for file, source in every.items() if fnmatchcase(file, reason.file)]
        assert any(reason.code in source for source in sources), reason
        name = reason.function.split(".")[-1].strip("*")
        assert any(name in source for source in sources), reason
        assert len(reason.why) > 10


def test_every_module_with_kernels_names_tests_there_are() -> None:
    modules = (path.relative_to(ROOT) for path in (ROOT / "physics").rglob("*.py"))
    compiled = {str(path) for path in modules if kernel_lines((ROOT / path).read_text())}
    assert set(held_by()) == compiled
    for told in held_by().values():
        names = re.findall(r"`(test_\w+\.py)`", told)
        assert names
        assert all((ROOT / "tests" / "physics" / name).exists() for name in names), told


def test_no_comment_leaves_lines_out_of_the_count() -> None:
    for package in PACKAGES:
        for path in (ROOT / package).rglob("*.py"):
            assert "pragma: no" not in path.read_text(), path
