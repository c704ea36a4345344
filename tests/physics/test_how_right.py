"""The page *How right is it?*: it names every check, shows what fails, and can be made anew."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import numpy as np
import pytest

from physics import MODEL_VERSION
from tests.physics.how_right import __main__ as command
from tests.physics.how_right import answers, checks, demonstrations, page, pictures
from tests.physics.how_right.ladder import LADDER
from tests.physics.how_right.rungs import DERIVED, Finding, Found, Rung, short, within

FILES = {path.stem.removeprefix("test_") for path in Path(__file__).parent.glob("test_*.py")}


def test_the_rungs_name_every_file_of_checks_once() -> None:
    """A new file belongs in a rung of ``how_right/ladder.py``, and the page is then made anew."""
    named = [name for rung in LADDER for name in rung.files]
    assert sorted(named) == sorted(FILES)


@pytest.mark.slow
def test_the_page_is_made_on_its_quick_part(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["--quick"]) == 0
    made = capsys.readouterr().out
    for number, rung in enumerate(LADDER, start=1):
        assert f"## {number}. {rung.title}\n" in made
    assert made.count("Left out of this quick run.") == sum(not rung.quick for rung in LADDER)
    assert MODEL_VERSION in made
    # The two rungs known to fail are shown as failed, in their tables and at the head.
    assert made.count("**FAILED**") >= 2
    head = made.split("## 1.")[0]
    assert "What reports teach" in head
    assert "Published deliveries" in head


def test_the_page_in_the_tree_has_the_rungs_and_pictures_of_today() -> None:
    kept = command.PAGE.read_text(encoding="utf-8")
    for number, rung in enumerate(LADDER, start=1):
        assert f"## {number}. {rung.title}\n" in kept
    drawn = {path.name for path in command.PICTURES.glob("*.svg")}
    assert drawn == {word.split(")")[0] for word in kept.split("how_right/pictures/")[1:]}


def test_what_lies_outside_is_shown_as_failed() -> None:
    bad = within("a sum", "by hand", DERIVED, -2.0, 1.0, "in")
    good = within("another", "by hand", DERIVED, -1.0, 1.0, "in")
    told = Finding("a size", "nobody", DERIVED, "reported", "3 in", None)
    step = page.Step(Rung("Sums", "Three.", ("units",)), Found([bad, good, told]))
    made = page.page([step], {"units": checks.Count(4, 1)}, "2026-01-02")
    assert (
        "**1 of 2 findings hold.** Of the automatic checks behind them 4 hold and 1 fail." in made
    )
    assert "| a sum | by hand | derived | 1 in | -2 in | **FAILED** |" in made
    assert "| another | by hand | derived | 1 in | -1 in | holds |" in made
    assert "[Sums](#1-sums): a sum: -2 in, asked for 1 in" in made
    assert "1 FAILED" in made


def test_counts_are_read_by_file(tmp_path: Path) -> None:
    report = tmp_path / "checks.xml"
    case = '<testcase classname="tests.physics.test_units" name="a">{}</testcase>'
    rows = ("", "<failure/>", "<error/>", "<skipped/>", "")
    report.write_text(f"<testsuites>{''.join(case.format(row) for row in rows)}</testsuites>")
    assert checks.read(report) == {"units": checks.Count(passed=2, failed=2, skipped=1)}


def test_a_long_answer_is_kept_with_its_date_and_anything_else_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in command.KEPT_FIELDS:
        told = answers.kept(name)
        assert told["answer"]["model_version"].count(".") == 2
        assert len(told["made_on"].split("-")) == 3
    monkeypatch.setattr(answers, "KEPT", tmp_path)
    wrong = tmp_path / "wrong.json"
    wrong.write_text('{"rows": []}')
    assert command.main(["--quick", "--spread", str(wrong)]) == 2
    assert "what the spread command prints" in capsys.readouterr().err
    assert command.main(["--quick", "--learning", str(tmp_path / "none.json")]) == 2
    assert "learning" in capsys.readouterr().err
    assert not (tmp_path / "spread.json").exists()


def test_a_seal_is_that_of_the_file_and_changes_with_the_case(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = tmp_path / "case.json"
    seals = []
    for text in ("{}", '{"mph": 16}'):
        case.write_text(text)
        assert command.main(["--seal", str(case)]) == 0
        told = capsys.readouterr()
        # As sha256sum of the file that standard output was sent to.
        seals.append(hashlib.sha256(told.out.encode()).hexdigest())
        assert told.err.split() == ["SHA-256", seals[-1]]
        assert json.loads(told.out)["throws_of_each"] == demonstrations.THROWS
    assert seals[0] != seals[1]
    assert seals[0] in demonstrations.at_home()


@pytest.mark.parametrize(
    ("text", "named"),
    [('{"mph": 90}', "mph"), ('{"speed": 17}', "speed"), ('{"cover": "glass"}', "cover")],
)
def test_a_case_that_cannot_be_sealed_is_refused_by_field(
    text: str, named: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = tmp_path / "case.json"
    case.write_text(text)
    assert command.main(["--seal", str(case)]) == 2
    told = capsys.readouterr()
    assert told.err.startswith(named)
    assert not told.out


def test_duller_finishes_are_sealed_as_entering_further_in() -> None:
    """Common practice, no source: on one line a duller surface finishes further left."""
    found = demonstrations.predicted(demonstrations.Case())
    boards = [one["entry_board"] for one in found["finishes"].values()]
    assert boards == sorted(boards, reverse=True)
    # Apart by more than eight throws of each leave open, or the trial could show nothing.
    error = found["standard_error_of_a_mean_boards"]
    assert np.diff(boards).max() < -2 * error


def test_weighing_on_a_plank_reads_a_static_as_said() -> None:
    """Derived: moments about the edge, the ball's centre over it, before and after half a turn."""
    ball = demonstrations.drilled()
    side_in = float(ball.cg_offset_m[0]) / 0.0254
    arm_in = demonstrations.statics()["arm_in"]
    ounces = ball.mass_kg / 0.028349523125
    reading = [ounces * turned * side_in / arm_in for turned in (1, -1)]
    # Grams of a kitchen scale are a thirtieth of an ounce.
    assert reading[0] - reading[1] == pytest.approx(ball.static_oz[1], abs=1e-6)


def test_pictures_are_plain_svg_with_every_name_in_them() -> None:
    rows = [pictures.Range("a & b", 0.0, 1.0, 2.0), pictures.Range("c", 0.0, 1.0, 0.5)]
    svg = pictures.ranges("boards", rows)
    assert "a &amp; b" in svg
    assert svg.count("<circle") == 1
    assert svg.count("<path") == 1
    line = pictures.plot("x", "y", [pictures.Series("one", [(0.0, 1.0), (1.0, 1.0)])])
    assert "nan" not in line


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.0, "0"), (0.00052, "5.2 × 10⁻⁴"), (17.75, "18"), (0.062, "0.062"), (-1e7, "-1 × 10⁷")],
)
def test_numbers_are_written_short(value: float, words: str) -> None:
    assert short(value) == words
