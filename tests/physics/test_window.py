"""The window of hook lengths that score, and the side on which a ball misses it."""

from __future__ import annotations

import numpy as np
import pytest

from physics.window import PLAYABLE, is_gap, missed_side, window


def test_the_window_covers_what_scores_within_five_percent_of_the_best() -> None:
    lengths = np.array([14.0, 16.0, 18.0, 19.0, 20.0, 24.0])
    values = np.array([0.30, 0.50, 0.575, 0.60, 0.571, 0.40])
    found = window(lengths, values)
    assert found is not None
    assert len(found) == 1
    low, high = found[0]
    assert 17.0 < low < 18.0
    assert 20.0 < high < 21.0


def test_two_stretches_that_score_are_two_intervals() -> None:
    lengths = np.array([14.0, 16.0, 18.0, 20.0, 22.0])
    values = np.array([0.60, 0.30, 0.30, 0.30, 0.59])
    found = window(lengths, values)
    assert found is not None
    assert len(found) == 2


def test_nothing_playable_is_no_window() -> None:
    assert window(np.array([15.0, 20.0]), np.array([0.0, PLAYABLE / 2])) is None
    assert window(np.array([np.nan]), np.array([0.5])) is None
    assert window(np.array([]), np.array([])) is None


def test_a_gap_is_a_best_owned_ball_under_95_percent_of_the_best_available() -> None:
    assert is_gap(0.5, 0.6)
    assert not is_gap(0.571, 0.6)
    assert not is_gap(0.95 * 0.6, 0.6)
    assert not is_gap(0.0, 0.0)


@pytest.mark.parametrize(
    ("length", "late", "side"),
    [
        (15.0, False, "angular"),
        (26.0, False, "rolly"),
        (20.0, False, None),
        (15.0, True, "angular"),
        (None, False, None),
    ],
)
def test_the_side_missed_is_that_of_the_nearest_interval(
    length: float | None, late: bool, side: str | None
) -> None:
    assert missed_side([(18.0, 21.0)], length, late) == side
