"""Ranking: bags as facility location, swaps, families, draws, and the line search.

Facility location (the value of a set is the sum over tasks of its best member) is monotone and
submodular: Nemhauser, Wolsey & Fisher, Mathematical Programming 14, 265-294 (1978).
"""

from __future__ import annotations

import itertools
import math
from statistics import NormalDist
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from physics import averaged, bag, bowler, lane, line, menu, pins, rank, shape, worth
from tests.physics import scenes

VALUES = st.lists(st.lists(st.floats(0, 1), min_size=3, max_size=3), min_size=2, max_size=6).map(
    np.array
)
WEIGHTS = np.array([0.5, 0.3, 0.2])


def strikers(strike: np.ndarray, convert: float = 0.5) -> bag.Balls:
    """Balls that differ in strikes only: the rest leave a corner pin, which all take alike."""
    strike = np.asarray(strike, float)
    one = np.ones((*strike.shape, 1))
    return bag.Balls(
        strike, np.full(strike.shape, 9.0), one, convert * one, convert * one, one[0, 0]
    )


@settings(deadline=None)
@given(VALUES)
def test_adding_a_ball_never_lowers_a_bag_and_adds_less_to_a_bigger_one(values: np.ndarray) -> None:
    new, small, big = (strikers(part) for part in (values[-1:], values[:1], values[:-1]))
    to_small = rank.gains_by_task(small, new, [None], WEIGHTS).sum()
    to_big = rank.gains_by_task(big, new, [None], WEIGHTS).sum()
    assert to_big >= -1e-9
    assert to_small >= to_big - 1e-9


@settings(deadline=None)
@given(VALUES)
def test_gain_is_the_bag_after_less_the_bag_before(values: np.ndarray) -> None:
    ours, new = strikers(values[:-1]), strikers(values[-1:])
    gain = rank.gains_by_task(ours, new, [None], WEIGHTS).sum()
    after = rank.bag_value(strikers(values), WEIGHTS)
    assert gain == pytest.approx(after - rank.bag_value(ours, WEIGHTS), abs=1e-9)
    swapped = rank.gains_by_task(ours, new, [0], WEIGHTS).sum()
    after = rank.bag_value(strikers(values[1:]), WEIGHTS)
    assert swapped == pytest.approx(after - rank.bag_value(ours, WEIGHTS), abs=1e-9)


def test_a_swap_can_lose_and_an_addition_cannot() -> None:
    ours, new = strikers(np.array([[0.6, 0.5, 0.4]])), strikers(np.array([[0.3, 0.3, 0.3]]))
    assert rank.gains_by_task(ours, new, [0], WEIGHTS).sum() < 0
    assert rank.gains_by_task(ours, new, [None], WEIGHTS).sum() == 0


def test_a_ball_that_never_strikes_adds_the_pins_of_the_spares_it_takes() -> None:
    """By hand: strikes .4, else nine and the corner pin; spares from half to nine in ten."""
    ours, new = strikers(np.full((1, 3), 0.4)), strikers(np.zeros((1, 3)), 0.9)
    gain = rank.gains_by_task(ours, new, [None], WEIGHTS).sum()

    def game(convert: float) -> float:
        first, spare = 4 + 0.6 * 9, 0.6 * convert
        frame = first + 0.6 * convert
        return 10 * (frame + spare * first + 0.4 * (frame + 0.4 * first))

    assert gain == pytest.approx(game(0.9) - game(0.5), abs=1e-9)
    # A ball for strikes alone adds nothing at the corner.
    assert rank.gains_by_task(ours, new.only_first(), [None], WEIGHTS).sum() == pytest.approx(0)


def test_families_are_led_by_their_best_and_hold_what_is_within_the_noise() -> None:
    gains = [0.050, 0.048, 0.046, 0.040, 0.049]
    alike = ["order", "order", "order", "order", "surface"]
    balls = ["a", "b", "c", "d", "e"]
    assert rank.families(gains, alike, balls, 0.005) == [[0, 1, 2], [4], [3]]


def test_a_ball_is_not_listed_again_for_less_but_its_family_is_kept_for_others() -> None:
    gains = [0.050, 0.040, 0.038, 0.010]
    balls = ["a", "a", "b", "b"]
    # The second "a" would lead a family: it is left out, and "b" leads that family instead.
    assert rank.families(gains, ["order"] * 4, balls, 0.005) == [[0], [2]]


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


@pytest.mark.parametrize(("count", "error"), [(64, 0.04), (256, 0.015)])
def test_samples_integrate_a_smooth_bump_nearly_exactly(count: int, error: float) -> None:
    """Mean of exp(-z'z/8) over six normals: (1 + 1/4)^(-1/2) each, so 1.25^-3 in all."""
    points = bowler.normal_samples(count)
    assert np.exp(-(points**2).sum(axis=1) / 8).mean() == pytest.approx(1.25**-3, rel=error)


def test_repeatability_narrows_with_the_average_and_with_deliveries() -> None:
    """Estimates: only the direction is asserted."""
    poor, good = bowler.prior_repeatability(120), bowler.prior_repeatability(210)
    assert good.launch_deg < poor.launch_deg
    assert good.speed < poor.speed
    assert bowler.narrowed(0.05, 0.01, 10) < bowler.narrowed(0.05, 0.01, 4) < 0.05
    assert bowler.narrowed(0.05, None, 0) == 0.05


def thrown(
    who: bowler.Bowler,
    option: worth.Option,
    meet: worth.Task,
    board: float,
    launch: float,
    count: int,
) -> float:
    """Expected carry of a line by throwing every one of so many samples."""
    return float(
        line.carries(
            float(board),
            float(launch),
            who.means(),
            who.spreads(),
            bowler.normal_samples(count, 9),
            worth.body_tuple(option.body),
            (option.closure.numbers(), meet.film_um),
            pins.table().strikes(option.body.mass_kg),
            averaged.STEPS,
        ).mean()
    )


def over_a_grid(oil: lane.OilTable) -> float:
    """Strike chance of the line found less that of the best of 234 lines thrown one by one."""
    who, option, meet = scenes.man(), scenes.option(), scenes.task(oil)
    found = worth.seek(who, [option], [meet])
    best = max(
        (thrown(who, option, meet, board, launch, 128), board, launch)
        for board in np.arange(6.0, 32.0, 2.0)
        for launch in np.arange(0.0, 4.5, 0.25)
    )
    # The luckiest of two hundred lines on few samples: thrown again on many.
    again = thrown(who, option, meet, best[1], best[2], 2048)
    ours = thrown(who, option, meet, found.board[0, 0], found.launch_deg[0, 0], 2048)
    return ours - again


@pytest.mark.slow
@pytest.mark.parametrize("oil", [scenes.HOUSE, scenes.FLAT])
def test_the_best_line_beats_a_grid_of_lines_thrown_in_full(oil: lane.OilTable) -> None:
    """The search against brute force over laydown and launch, in points of strike chance."""
    assert over_a_grid(oil) > -0.01


@pytest.mark.slow
@pytest.mark.parametrize("average", [120, 200])
def test_the_picture_of_a_line_reads_what_throwing_it_gives(average: int) -> None:
    """Points of strike chance: 256 read samples against 2,048 thrown ones."""
    who = scenes.man(repeatability=bowler.prior_repeatability(average))
    meets = [scenes.task(), scenes.task(scenes.FLAT)]
    for roughness in (0.1, 0.6):
        option = scenes.option(closure=scenes.film(roughness))
        found = worth.seek(who, [option], meets)
        for j, meet in enumerate(meets):
            full = thrown(who, option, meet, found.board[0, j], found.launch_deg[0, j], 2048)
            assert found.value[0, j] == pytest.approx(full, abs=0.04)


@pytest.mark.slow
def test_confirmed_values_are_near_the_screened_ones() -> None:
    who, option = scenes.man(), scenes.option()
    meet = [scenes.task(), scenes.task(scenes.FLAT)]
    lines = worth.seek(who, [option], meet)
    values, rows = worth.confirm(who, [option], meet, lines, [1.0, 1.0])
    # Strike chance: the picture's error of up to 0.04.
    np.testing.assert_allclose(values, lines.value, atol=0.04)
    assert np.isfinite(rows[..., 0]).all()


@pytest.mark.slow
def test_draws_are_paired_and_repeat_with_their_seed() -> None:
    who, option, meet = scenes.man(), scenes.option(), [scenes.task()]
    lines = worth.seek(who, [option, option], meet)
    drawn = worth.draws(who, [option, option], meet, lines, [1.0], count=6, seed=3).values
    # The same ball twice meets the same lane, pins, bowler and errors in every draw.
    np.testing.assert_array_equal(drawn[:, 0], drawn[:, 1])
    assert np.ptp(drawn[:, 0]) > 0
    again = worth.draws(who, [option, option], meet, lines, [1.0], count=6, seed=3)
    np.testing.assert_array_equal(drawn, again.values)


@settings(deadline=None)
@given(st.floats(0.01, 0.99))
def test_certainty_is_the_share_of_draws_that_gain(mean: float) -> None:
    drawn = np.array([NormalDist(mean - 0.5, 1).inv_cdf((i + 0.5) / 64) for i in range(64)])
    assert rank.certainty(drawn[:, None])[0] == pytest.approx((drawn > 0).mean())


def test_a_bag_without_a_ball_scores_nothing() -> None:
    ours = strikers(np.full((2, 3), 0.4))
    assert (ours.games(ours.part([])) == np.zeros((2, 3))).all()


def test_a_ball_without_a_line_fells_nothing_and_has_no_shape() -> None:
    nowhere = worth.Lines(*(np.full((1, 1), value) for value in (np.nan, np.nan, 0.0)))
    asked = (scenes.man(), [scenes.option()], [scenes.task()], nowhere, [1.0])
    felled, leaves = bag.first_balls(*asked, samples=8)
    assert not felled.any()
    assert not leaves.any()
    value, rows = worth.confirm(*asked, samples=8, exact=2)
    assert not value.any()
    assert np.isnan(rows).all()


def test_no_balls_have_no_lines() -> None:
    nothing = worth.Lines(*(np.zeros((0, 1)) for _ in range(3)))
    assert menu.settled(scenes.man(), [], [scenes.task()], nothing).board.shape == (0, 1)


def test_a_turn_that_is_there_from_the_start_begins_at_the_start() -> None:
    """By hand: half a share at the line, all of it a metre on; a quarter at once, 3/4 midway."""
    x, share = np.array([2.0, 3.0]), np.array([0.5, 1.0])
    assert [shape._first_at(x, share, level) for level in (0.25, 0.75)] == [2.0, 2.5]
    assert math.isnan(shape._first_at(x, share, 1.5))


def test_a_ball_never_thrown_at_spares_takes_none_in_any_world() -> None:
    met: Any = SimpleNamespace(drawn=[SimpleNamespace(bowler=scenes.man())])
    surfaces: Any = SimpleNamespace(convert=np.zeros((1, 1, len(pins.table().leaves))))
    who = scenes.man()
    convert, felled = bag.second_balls_in(
        met, who, [who], [scenes.option()], [None], surfaces, [1.0]
    )
    assert convert.shape == (1, 1, 1, len(pins.table().leaves))
    assert not convert.any()
    assert not felled.any()
