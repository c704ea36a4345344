"""What to do when a ball reads early or late, from the engine.

Common practice, no source: a ball that hooks too soon is met by moving the feet, and less the eyes,
away from the ball-hand side, or by throwing faster; one that hooks too late the other way.
"""

from __future__ import annotations

from typing import Any

import pytest

from arsenal.engine import adjust
from tests.arsenal import questions

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def rows() -> list[dict[str, Any]]:
    return adjust.on_the_lanes(questions.question())


def test_every_condition_has_its_start(rows: list[dict[str, Any]]) -> None:
    asked = questions.question()
    assert [row["condition"] for row in rows] == [c["name"] for c in asked["conditions"]]
    names = {ball["name"] for ball in asked["bag"]}
    for row in rows:
        assert row["start"]["ball"] in names
        assert 4 <= row["start"]["line"]["laydown_board"] <= 38


def test_moves_go_the_way_the_trade_says(rows: list[dict[str, Any]]) -> None:
    """Feet that stay within a board go neither way: the eyes move then, and what counts is where
    the line over feet and arrows, 15 and 60 ft down, ends: further out early, further in late."""
    for row in rows:
        for lane, way in (("early", 1), ("late", -1)):
            feet, eyes = row[lane]["feet"], row[lane]["eyes"]
            if feet is None:
                continue
            if abs(feet) > 1:
                assert way * feet > 0
                assert abs(eyes) <= abs(feet)
            else:
                assert way * (feet + 4 * (eyes - feet)) <= 0
    assert any(abs(row[lane]["feet"] or 0) > 1 for row in rows for lane in ("early", "late"))


def test_moving_is_worth_it_where_it_is_told(rows: list[dict[str, Any]]) -> None:
    for row in rows:
        for lane in ("early", "late"):
            then = row[lane]
            if then["feet"]:
                assert then["moved"] > then["stay"] + adjust.SAME
            if then["change"]:
                assert then["change"]["carry"] > then["moved"] + adjust.ANOTHER_BALL


def test_the_same_question_has_the_same_answer(rows: list[dict[str, Any]]) -> None:
    assert adjust.on_the_lanes(questions.question()) == rows


def test_a_bag_of_nothing_has_no_start() -> None:
    asked = questions.question() | {"bag": []}
    assert all(row["start"] is None for row in adjust.on_the_lanes(asked))
