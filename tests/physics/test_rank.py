"""Ranking: bags as facility location, swaps, families, draws, and the line search.

Facility location (the value of a set is the sum over tasks of its best member) is monotone and
submodular: Nemhauser, Wolsey & Fisher, Mathematical Programming 14, 265-294 (1978).
"""

from __future__ import annotations

import itertools
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from physics import bowler, rank
from physics.units import BOARD_M
from tests.physics import scenes

VALUES = st.lists(st.lists(st.floats(0, 1), min_size=3, max_size=3), min_size=2, max_size=6).map(
    np.array
)
WEIGHTS = np.array([0.5, 0.3, 0.2])


@given(VALUES)
def test_adding_a_ball_never_lowers_a_bag_and_adds_less_to_a_bigger_one(values: np.ndarray) -> None:
    new, small, big = values[-1:], values[:1], values[:-1]
    to_small = rank.gains_by_task(small, new, [None], WEIGHTS).sum()
    to_big = rank.gains_by_task(big, new, [None], WEIGHTS).sum()
    assert to_big >= -1e-12
    assert to_small >= to_big - 1e-12


@given(VALUES)
def test_gain_is_the_bag_after_less_the_bag_before(values: np.ndarray) -> None:
    bag, new = values[:-1], values[-1:]
    gain = rank.gains_by_task(bag, new, [None], WEIGHTS).sum()
    after = rank.bag_value(values, WEIGHTS)
    assert gain == pytest.approx(after - rank.bag_value(bag, WEIGHTS), abs=1e-12)
    swapped = rank.gains_by_task(bag, new, [0], WEIGHTS).sum()
    after = rank.bag_value(np.vstack([bag[1:], new]), WEIGHTS)
    assert swapped == pytest.approx(after - rank.bag_value(bag, WEIGHTS), abs=1e-12)


def test_a_swap_can_lose_and_an_addition_cannot() -> None:
    bag, new = np.array([[0.6, 0.5, 0.4]]), np.array([[0.3, 0.3, 0.3]])
    assert rank.gains_by_task(bag, new, [0], WEIGHTS).sum() < 0
    assert rank.gains_by_task(bag, new, [None], WEIGHTS).sum() == 0


def test_families_are_led_by_their_best_and_hold_what_is_within_the_noise() -> None:
    gains = [0.050, 0.048, 0.046, 0.040, 0.049]
    alike = ["order", "order", "order", "order", "surface"]
    assert rank.families(gains, alike, 0.005) == [[0, 1, 2], [4], [3]]


@given(st.lists(st.floats(-1, 1), min_size=3, max_size=12), st.randoms())
def test_kendalls_tau_is_that_of_scipy_without_ties(gains: list[float], random: object) -> None:
    first = np.array(gains) + np.arange(len(gains)) * 1e-3
    second = np.roll(first, 1) * np.where(np.arange(len(gains)) % 2, 1, -1)
    pairs = itertools.combinations(range(len(gains)), 2)
    if any(first[i] == first[j] or second[i] == second[j] for i, j in pairs):
        return
    expected = stats.kendalltau(first, second).statistic
    assert rank.kendall_tau(first, second, 0.0) == pytest.approx(expected, abs=1e-12)


def test_samples_are_centred_scaled_and_nearly_uncorrelated() -> None:
    points = bowler.normal_samples(32)
    np.testing.assert_allclose(points.mean(axis=0), 0, atol=1e-12)
    np.testing.assert_allclose(points.std(axis=0), 1, rtol=1e-12)
    off = np.corrcoef(points.T) - np.eye(6)
    assert abs(off).max() < 0.3
    np.testing.assert_array_equal(points, bowler.normal_samples(32))


def test_thirty_two_samples_integrate_a_smooth_bump_nearly_exactly() -> None:
    """Mean of exp(-z'z/8) over six normals: (1 + 1/4)^(-1/2) each, so 1.25^-3 in all."""
    points = bowler.normal_samples(32)
    assert np.exp(-(points**2).sum(axis=1) / 8).mean() == pytest.approx(1.25**-3, rel=0.04)


def test_repeatability_narrows_with_the_average_and_with_deliveries() -> None:
    """Estimates: only the direction is asserted."""
    poor, good = bowler.prior_repeatability(120), bowler.prior_repeatability(210)
    assert good.launch_deg < poor.launch_deg
    assert good.speed < poor.speed
    assert bowler.narrowed(0.05, 0.01, 10) < bowler.narrowed(0.05, 0.01, 4) < 0.05
    assert bowler.narrowed(0.05, None, 0) == 0.05


@pytest.mark.slow
def test_the_best_line_beats_every_line_of_a_grid() -> None:
    """The search against brute force over laydown and launch, in points of strike chance."""
    who, option, meet = scenes.man(), scenes.option(), scenes.task()
    found = rank.seek(who, [option], [meet], starts=2)
    scatter = bowler.normal_samples(rank.SAMPLES)
    from physics import averaged, carry, line

    body, oil = rank.body_tuple(option.body), (option.closure.numbers(), meet.film_um)
    best = max(
        line.expected(
            (board - 20.0) * BOARD_M,
            launch,
            who.means(),
            who.spreads(),
            scatter,
            rank.SAMPLES,
            body,
            oil,
            carry.Pins().numbers(),
            averaged.STEPS,
        )
        for board in np.arange(6.0, 34.0, 1.0)
        for launch in np.arange(-1.0, 5.0, 0.125)
    )
    assert found.value[0, 0] > best - 0.003


@pytest.mark.slow
def test_confirmed_values_are_near_the_screened_ones() -> None:
    who, option = scenes.man(), scenes.option()
    meet = [scenes.task(), scenes.task(scenes.FLAT)]
    lines = rank.seek(who, [option], meet)
    values, rows = rank.confirm(who, [option], meet, lines, [1.0, 1.0])
    # Strike chance: averaged solver's error of under a tenth of a board on each of 32 throws.
    np.testing.assert_allclose(values, lines.value, atol=0.01)
    assert np.isfinite(rows[..., 0]).all()


@pytest.mark.slow
def test_draws_are_paired_and_repeat_with_their_seed() -> None:
    who, option, meet = scenes.man(), scenes.option(), [scenes.task()]
    lines = rank.seek(who, [option, option], meet)
    drawn = rank.draws(who, [option, option], meet, lines, [1.0], count=6, seed=3)
    # The same ball twice meets the same lane, pins, bowler and errors in every draw.
    np.testing.assert_array_equal(drawn[:, 0], drawn[:, 1])
    assert np.ptp(drawn[:, 0]) > 0
    again = rank.draws(who, [option, option], meet, lines, [1.0], count=6, seed=3)
    np.testing.assert_array_equal(drawn, again)


@settings(deadline=None)
@given(st.floats(0.01, 0.99))
def test_certainty_is_the_share_of_draws_that_gain(mean: float) -> None:
    drawn = np.array([NormalDist(mean - 0.5, 1).inv_cdf((i + 0.5) / 64) for i in range(64)])
    assert rank.certainty(drawn[:, None])[0] == pytest.approx((drawn > 0).mean())
