"""The expected score of a game against whole games scored by the rules.

The scoring rules are those of the governing bodies' rule books; 300 for twelve strikes and 150 for
nine-spare frames throughout are their standing examples (common knowledge of the trade).
"""

from __future__ import annotations

import numpy as np
import pytest

from physics import score

CASES = [
    # strike, spare given no strike, mean of an open frame's two balls decided below
    (0.0, 0.0),
    (0.2, 0.5),
    (0.45, 0.8),
    (0.7, 0.95),
    (1.0, 0.0),
]


def of_frames(first_pins: list[list[int]]) -> int:
    """Score of one game by the rules: ten frames of the pins each ball took.

    Nine frames of one (a strike) or two balls, a tenth of two or three.
    """
    balls = [pins for frame in first_pins for pins in frame]
    total, at = 0, 0
    for _ in range(10):
        if balls[at] == 10:
            total += sum(balls[at : at + 3])
            at += 1
        elif balls[at] + balls[at + 1] == 10:
            total += sum(balls[at : at + 3])
            at += 2
        else:
            total += balls[at] + balls[at + 1]
            at += 2
    return total


def one_game(rng: np.random.Generator, strike: float, spare: float) -> list[list[int]]:
    """Frames of independent balls: a first ball of 10 or of 5 to 9, a second that clears or not."""

    def frame() -> list[int]:
        if rng.random() < strike:
            return [10]
        first = int(rng.integers(5, 10))
        left = 10 - first
        return [first, left if rng.random() < spare else int(rng.integers(0, left))]

    frames = [frame() for _ in range(9)]
    tenth = frame()
    if tenth == [10]:
        fill = frame()
        tenth += fill if fill != [10] else [10, frame()[0]]
    elif sum(tenth) == 10:
        tenth.append(frame()[0])
    return [*frames, tenth]


def apart(strike: float, spare: float) -> float:
    """The closed form less the mean of 20,000 games played by the rules, in its standard errors."""
    rng = np.random.default_rng(3)
    games = np.array([of_frames(one_game(rng, strike, spare)) for _ in range(20_000)])
    firsts = np.arange(5, 10)
    # A second ball that doesn't clear takes 0 to one under what is left, each as likely.
    missed = np.array([(left - 1) / 2 for left in 10 - firsts])
    first = 10 * strike + (1 - strike) * firsts.mean()
    frame = 10 * (strike + (1 - strike) * spare) + (1 - strike) * (1 - spare) * float(
        (firsts + missed).mean()
    )
    expected = score.game(
        np.array(strike), np.array((1 - strike) * spare), np.array(first), np.array(frame)
    )
    # Twelve strikes scatter by nothing: a billionth of a pin is rounding.
    return float((expected - games.mean()) / (games.std() / 141 + 1e-9))


@pytest.mark.slow
@pytest.mark.parametrize(("strike", "spare"), CASES)
def test_the_closed_form_is_the_mean_of_whole_games(strike: float, spare: float) -> None:
    assert abs(apart(strike, spare)) < 4


@pytest.mark.parametrize(
    ("frames", "pins"),
    [
        ([[10]] * 9 + [[10, 10, 10]], 300),
        ([[0, 0]] * 10, 0),
        ([[9, 1]] * 9 + [[9, 1, 9]], 190),
        ([[5, 5]] * 9 + [[5, 5, 5]], 150),
        ([[9, 0]] * 10, 90),
        ([[10]] * 9 + [[0, 0]], 240),
    ],
)
def test_games_score_by_the_rules(frames: list[list[int]], pins: int) -> None:
    assert of_frames(frames) == pins


def test_the_closed_form_reaches_both_ends() -> None:
    one, none, ten = np.array(1.0), np.array(0.0), np.array(10.0)
    assert score.game(one, none, ten, ten) == 300
    assert score.game(none, none, none, none) == 0
    # Ten spares of nine and one.
    assert score.game(none, one, np.array(9.0), ten) == pytest.approx(190)
