"""What benchmarks record is what the page, the plots and the last line say."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.bench import results


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name, place in (
        ("RUN", "run.json"),
        ("LONG_RUN", "long_run.json"),
        ("PAGE", "RESULTS.md"),
        ("PLOTS", "plots"),
    ):
        monkeypatch.setattr(results, name, tmp_path / place)
    return tmp_path


def test_numbers_and_curves_come_out_as_they_went_in(elsewhere: Path) -> None:
    results.record("shots_per_s", 123456.7, "deliveries/s", goal="≥ 100,000")
    results.record("brute_force_h", 3.25, "hours", long_run=True)
    results.plot("growth", "Growth", "options", "s", {"a": [(1, 2), (2, 3)]}, log=True)
    said = json.loads(json.dumps(results.tell()))
    assert said["shots_per_s"] == 123500
    assert said["brute_force_h"] == 3.25
    assert said["long_run_commit"] == results.commit()
    assert "cores" in said["processor"]
    page = (elsewhere / "RESULTS.md").read_text()
    assert "| `shots_per_s` | 123,500 | ≥ 100,000 | deliveries/s |" in page
    assert results.commit() in page.splitlines()[-3]
    assert "plots/growth.svg" in page
    assert "options" in (elsewhere / "plots" / "growth.svg").read_text()


def test_a_plot_nobody_drew_again_is_taken_away(elsewhere: Path) -> None:
    results.plot("old", "Old", "x", "y", {"a": [(1, 2)]})
    results.tell()
    results.RUN.unlink()
    results.tell()
    assert not list((elsewhere / "plots").iterdir())
    assert "old" not in (elsewhere / "RESULTS.md").read_text()
