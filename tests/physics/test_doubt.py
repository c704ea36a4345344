"""What draws say: intervals, who beats whom, and which input decides, against hand and literature.

First-order indices: Saltelli, Annoni, Azzini, Campolongo, Ratto & Tarantola, "Variance based
sensitivity analysis of model output", Computer Physics Communications 181, 259-270 (2010), table 2,
estimator (b) with two independent samples; Sobol', Mathematics and Computers in Simulation 55,
271-280 (2001).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from physics import doubt, worlds
from physics.errors import InputError

Array = np.ndarray
NAMES = [("a", ""), ("b", ""), ("c", ""), ("d", "")]
SLOPES = np.array([3.0, 2.0, 1.0, 0.0])


def linear(z: Array) -> Array:
    return np.asarray(z @ SLOPES)


def bent(z: Array) -> Array:
    """A line in a, a square in b: variances 1 and 2 by hand, so shares 1/3 and 2/3."""
    return np.asarray(z[:, 0] + z[:, 1] ** 2)


def pick_freeze(function: Callable[[Array], Array], inputs: int, draws: int = 200_000) -> Array:
    """First-order indices by the estimator of Saltelli et al. (2010)."""
    rng = np.random.default_rng(5)
    one, other = rng.standard_normal((2, draws, inputs))
    f_one, f_other = function(one), function(other)
    variance = np.concatenate([f_one, f_other]).var()
    found = []
    for i in range(inputs):
        mixed = one.copy()
        mixed[:, i] = other[:, i]
        found.append(float((f_other * (function(mixed) - f_one)).mean() / variance))
    return np.array(found)


@pytest.mark.parametrize("draws", [64, 512])
def test_shares_of_a_linear_answer_are_those_worked_out_by_hand_and_by_pick_freeze(
    draws: int,
) -> None:
    """By hand: squares of the slopes over their sum, 9/14, 4/14, 1/14 and none."""
    by_hand = SLOPES**2 / (SLOPES @ SLOPES)
    # Shares, by Monte Carlo on 200,000 draws of variance 14: good to 0.01.
    np.testing.assert_allclose(pick_freeze(linear, 4), by_hand, atol=0.01)
    normals = worlds.uncorrelated_normals(NAMES, draws, 3)
    found = doubt.sensitivity(NAMES, normals, linear(normals))
    # Columns are uncorrelated in the sample, so a line is read off exactly.
    shares = [found.shares.get(name, 0.0) for name in NAMES]
    np.testing.assert_allclose(shares, by_hand, atol=1e-9)
    assert found.explained == pytest.approx(1)
    assert ("d", "") not in found.shares


def test_an_input_that_bends_the_answer_gets_its_share_and_no_slope() -> None:
    np.testing.assert_allclose(pick_freeze(bent, 3)[:3], [1 / 3, 2 / 3, 0], atol=0.02)
    normals = worlds.uncorrelated_normals(NAMES, 512, 3)
    found = doubt.sensitivity(NAMES, normals, bent(normals))
    # Shares: the spread of a sample's fourth moment over 512 draws.
    assert found.shares["a", ""] == pytest.approx(1 / 3, abs=0.06)
    assert found.shares["b", ""] == pytest.approx(2 / 3, abs=0.06)
    assert abs(found.slopes["b", ""]) < 0.2 * abs(found.slopes["a", ""])


def test_what_acts_only_together_is_left_to_the_rest() -> None:
    normals = worlds.uncorrelated_normals(NAMES, 512, 3)
    found = doubt.sensitivity(NAMES, normals, normals[:, 0] * normals[:, 1])
    assert found.explained < 0.1


def test_an_answer_that_hangs_on_nothing_seldom_gets_an_input() -> None:
    """One false alarm in twenty is asked for; 200 answers of noise, three standard errors."""
    names = [("x", str(i)) for i in range(30)]
    normals = worlds.uncorrelated_normals(names, 64, 1)
    rng = np.random.default_rng(2)
    alarms = sum(
        bool(doubt.sensitivity(names, normals, rng.standard_normal(64)).shares) for _ in range(200)
    )
    assert alarms <= 200 * (doubt.FALSE_ALARM + 3 * math.sqrt(0.05 * 0.95 / 200))


def test_two_equal_choices_hang_on_nothing() -> None:
    normals = worlds.uncorrelated_normals(NAMES, 64, 3)
    assert doubt.sensitivity(NAMES, normals, np.zeros(64)).shares == {}


@pytest.mark.parametrize("freedom", [10, 38, 62])
@pytest.mark.parametrize("chance", [0.05, 0.002, 0.0005])
def test_the_limit_of_t_is_that_of_scipy(freedom: int, chance: float) -> None:
    # Relative; the series leaves 1/v to the fourth, most at 10 and far out.
    expected = stats.t.ppf(1 - chance / 2, freedom)
    assert doubt._student_limit(chance, freedom) == pytest.approx(expected, rel=0.01)


def test_the_interval_covers_four_of_five() -> None:
    """Of 600 answers, each with 64 draws and one more: new ones fall inside as often as said."""
    rng = np.random.default_rng(7)
    inside = 0
    for _ in range(600):
        low, high = doubt.interval(rng.standard_normal(64))
        inside += low <= rng.standard_normal() <= high
    # Three standard errors of a share of 0.8 in 600, and the quantiles' own bias at 64 draws.
    assert inside / 600 == pytest.approx(doubt.INTERVAL, abs=0.06)


@given(st.floats(0.02, 0.98))
def test_nothing_learnt_leaves_the_smaller_chance_and_everything_learnt_none(p: float) -> None:
    assert doubt.chance_wrong(p) == pytest.approx(min(p, 1 - p), abs=1e-6)
    assert doubt.chance_wrong(p, 1.0) == 0
    parts = [doubt.chance_wrong(p, learnt) for learnt in (0.0, 0.2, 0.5, 0.8, 1.0)]
    assert all(a >= b - 1e-3 for a, b in itertools.pairwise(parts))


@pytest.mark.parametrize(("mean", "learnt"), [(0.3, 0.5), (1.0, 0.3), (0.0, 0.8)])
def test_the_chance_of_being_wrong_is_that_of_someone_who_learns_then_picks(
    mean: float, learnt: float
) -> None:
    """Simulated: the part learnt is seen, the likelier picked, and the difference then drawn."""
    rng = np.random.default_rng(11)
    seen = mean + math.sqrt(learnt) * rng.standard_normal(400_000)
    truth = seen + math.sqrt(1 - learnt) * rng.standard_normal(400_000)
    wrong = float((np.sign(seen) != np.sign(truth)).mean())
    chance = float(stats.norm.cdf(mean))
    assert doubt.chance_wrong(chance, learnt) == pytest.approx(wrong, abs=0.004)


def test_reading_a_sum_teaches_as_a_regression_on_it_would() -> None:
    normals = worlds.uncorrelated_normals(NAMES, 4096, 3)
    answer = linear(normals)
    found = doubt.sensitivity(NAMES, normals, answer)
    noise = 0.7 * np.random.default_rng(4).standard_normal(4096)
    reading = normals[:, 0] - 0.5 * normals[:, 1] + noise
    squared = np.corrcoef(reading, answer)[0, 1] ** 2
    learnt = found.learnt({("a", ""): 1.0, ("b", ""): -0.5}, 0.7)
    # Share: the noise's chance correlation with the rest over 4,096 draws.
    assert learnt == pytest.approx(squared, abs=0.03)


def test_draws_are_moved_onto_the_confirmed_values_and_stay_bags() -> None:
    drawn = np.array([[[0.30, 0.10]], [[0.50, 0.02]]])
    middle, confirmed = np.array([[0.40, 0.10]]), np.array([[0.42, 0.05]])
    moved = doubt.centred(drawn, middle, confirmed)
    np.testing.assert_allclose(moved, [[[0.32, 0.05]], [[0.52, 0.0]]], atol=1e-12)
    np.testing.assert_array_equal(doubt.centred(middle[None], middle, confirmed)[0], confirmed)


def test_a_tie_is_half_a_win() -> None:
    assert doubt.beats(np.array([1.0, 2.0, 3.0, 0.0]), np.array([1.0, 1.0, 4.0, 0.0])) == 0.5


def test_draws_tell_apart_what_differs_by_more_than_their_own_noise() -> None:
    rng = np.random.default_rng(3)
    base = rng.standard_normal(64)
    assert doubt.told_apart(base + 0.1, base + 0.05 * rng.standard_normal(64))
    assert not doubt.told_apart(base + 0.001, base + rng.standard_normal(64))
    # One draw is all there is: it is taken at its word.
    assert doubt.told_apart(base[:1], base[:1])


def test_what_makes_no_sense_is_refused_by_name() -> None:
    with pytest.raises(InputError, match="drawn"):
        doubt.interval(np.array([1.0]))
    with pytest.raises(InputError, match="share"):
        doubt.interval(np.array([1.0, 2.0]), 1.0)
    with pytest.raises(InputError, match="normals"):
        doubt.sensitivity(NAMES, np.zeros((64, 3)), np.zeros(64))
    with pytest.raises(InputError, match="8 draws"):
        doubt.sensitivity(NAMES, np.zeros((4, 4)), np.zeros(4))
    with pytest.raises(InputError, match="chance"):
        doubt.chance_wrong(1.2)
    with pytest.raises(InputError, match="learnt"):
        doubt.chance_wrong(0.5, -0.1)
