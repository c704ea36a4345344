"""What to do when a ball reads early or late, from the engine.

Common practice, no source: a ball that hooks too soon is met by moving the feet, and less the eyes,
away from the ball-hand side, or by throwing faster; one that hooks too late the other way.
"""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from arsenal.engine import adjust
from physics import shape
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


class Known(adjust._Bag):
    """Two balls on one condition whose lines are known: boards and strike chances by lane."""

    def __init__(
        self, old_line: float = 0.3, **lanes: tuple[tuple[float, float], tuple[float, float]]
    ) -> None:
        self.inputs = {"conditions": [{"name": "House blend", "id": 1, "house": "Long Meadow"}]}
        names: Any = [SimpleNamespace(ball_id=n, ball=name) for n, name in enumerate(BOTH)]
        self.balls = names
        self.old_line = old_line
        self.played = {}
        for lane in adjust.LANES:
            boards, values = lanes.get(lane, ((20.0, 25.0), (0.3, 0.2)))
            lines: Any = SimpleNamespace(
                board=np.array([boards]).T, launch_deg=np.zeros((2, 1)), value=np.array([values]).T
            )
            shots = np.zeros((2, 1, shape.RESULTS))
            shots[:, 0, shape.ARROW_BOARD] = np.array(boards) - 8.0
            self.played[lane] = adjust._Played(lines, shots)

    def _on_old_line(self, ball: int, task: int, lane: str, pace_mph: float = 0.0) -> float:
        return self.old_line


BOTH = ("Hornbeam", "Rowan")
NONE = (math.nan, math.nan)


def test_where_no_ball_finds_the_pocket_there_is_no_start_and_a_line_scores_nothing() -> None:
    bag = Known(as_thought=(NONE, (0.0, 0.0)))
    (row,) = bag.rows()
    assert row["start"] is None
    assert "early" not in row
    assert adjust._Bag._on_old_line(bag, 0, 0, "early") == 0.0


def test_moving_that_brings_nothing_is_told_as_staying() -> None:
    then = Known(early=((22.0, 27.0), (0.31, 0.2)))._then(0, 0, "early")
    assert (then["feet"], then["eyes"], then["change"]) == (0, 0, None)
    moves = Known(early=((22.0, 27.0), (0.36, 0.2)))._then(0, 0, "early")
    assert (moves["feet"], moves["eyes"], moves["moved"]) == (2, 2, 0.36)


def test_a_ball_that_is_left_no_line_is_changed_for_one_that_has() -> None:
    found = Known(old_line=0.0, late=((math.nan, 24.0), (0.0, 0.3)))._then(0, 0, "late")
    assert (found["feet"], found["eyes"], found["stay"]) == (None, None, 0.0)
    assert found["change"] == {
        "ball_id": 1,
        "ball": "Rowan",
        "line": {"laydown_board": 24.0, "arrow_board": 16.0},
        "carry": 0.3,
    }
