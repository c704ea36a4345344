"""What to do when a ball reads early or late, from the engine.

Common practice, no source: a ball that hooks too soon is met by moving the feet, and less the eyes,
away from the ball-hand side, so that it is aimed further out, or by throwing faster; one that hooks
too late the other way.
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


def at_the_pins(then: dict[str, Any]) -> float:
    """By how many boards the straight line over feet and arrows, 15 and 60 ft down, moved there."""
    return then["feet"] + 4 * (then["eyes"] - then["feet"]) if then["feet"] is not None else 0


def test_moves_go_the_way_the_trade_says(rows: list[dict[str, Any]]) -> None:
    """Aimed further from the head pin where it hooks soon, nearer where it hooks late.

    Feet alone, or eyes alone, may do it: where gains are small the best line's feet go either way.
    """
    for row in rows:
        assert at_the_pins(row["early"]) <= 0
        assert at_the_pins(row["late"]) >= 0
    assert any(row[lane]["feet"] for row in rows for lane in ("early", "late"))


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
