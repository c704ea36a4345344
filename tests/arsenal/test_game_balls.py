"""Choices as sets of balls that score: what no line brings to the pins leaves and takes nothing."""

from __future__ import annotations

import numpy as np

from arsenal.engine import games, options, ranking
from physics import pins, worth
from tests.arsenal import questions


def test_a_ball_without_a_line_does_not_score_with_the_leaves_of_another() -> None:
    bag = [questions.owned(n, "Hornbeam", "solid", "1000") for n in (1, 2)]
    question = questions.question(bag=bag, catalogue=[])
    setting = ranking.setting_of(question)
    owned = list(options.menu_of(question, setting.who).owned)
    size = (len(owned), len(setting.tasks))
    board, value = np.full(size, 24.0), np.full(size, 0.4)
    board[1, 0], value[1, 0] = np.nan, 0.0
    lines = worth.Lines(board, np.full(size, 2.0), value)
    # Anything left is taken, so that leaves alone decide.
    taken = np.ones((*size, len(pins.table().leaves)))
    balls = games.rough(owned, lines, setting, games.Seconds([None, None], taken, taken))
    assert not balls.other_pins[1, 0]
    assert not balls.other_leaves[1, 0].any()
    assert balls.games()[1, 0] == 0
    assert (balls.games()[:, 1] > 100).all()
