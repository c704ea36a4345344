"""Several readings of one quantity: mean and spread, and one bad entry set aside.

Source: modified z-scores, Iglewicz & Hoaglin, "How to Detect and Handle Outliers" (ASQC, 1993):
0.6745 |x - median| / MAD > 3.5 (from memory, high confidence). Means and deviations are compared
with numpy's.
"""

from __future__ import annotations

import random
from dataclasses import FrozenInstanceError

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from physics.measure import MODIFIED_Z_CUT, summarise

SPEEDS_MPH = [17.2, 17.5, 16.9, 17.3, 17.1]


def test_readings_that_agree_give_the_plain_mean_and_sample_deviation() -> None:
    found = summarise(SPEEDS_MPH)
    assert found is not None
    assert found.mean == pytest.approx(float(np.mean(SPEEDS_MPH)), rel=1e-12)
    assert found.sd == pytest.approx(float(np.std(SPEEDS_MPH, ddof=1)), rel=1e-12)
    assert found.count == 5
    assert found.set_aside == ()


@pytest.mark.parametrize("slip", [71.2, 1.72, 172.0])
def test_one_slip_of_the_finger_is_set_aside_and_named(slip: float) -> None:
    found = summarise([*SPEEDS_MPH[:2], slip, *SPEEDS_MPH[2:]])
    assert found is not None
    assert found.set_aside == (2,)
    assert found.mean == pytest.approx(float(np.mean(SPEEDS_MPH)), rel=1e-12)
    assert found.count == 5


def test_the_published_rule_decides_which_reading_goes() -> None:
    readings = [2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3]
    found = summarise(readings)
    assert found is not None
    middle = float(np.median(readings))
    spread = float(np.median(np.abs(np.array(readings) - middle)))
    beyond = tuple(
        i for i, value in enumerate(readings) if 0.6745 * abs(value - middle) / spread > 3.5
    )
    assert found.set_aside == beyond == (8, 9)


def test_no_readings_give_nothing_and_one_gives_no_spread() -> None:
    assert summarise([]) is None
    one = summarise([330.0])
    assert one is not None
    assert one.mean == 330.0
    assert one.sd is None
    assert one.count == 1


def test_equal_readings_do_not_make_the_next_honest_one_look_wild() -> None:
    found = summarise([17.2, 17.2, 17.2, 17.2, 17.3])
    assert found is not None
    assert found.set_aside == ()


def test_a_reading_that_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="finite"):
        summarise([17.0, float("nan")])


@settings(deadline=None)
@given(
    readings=st.lists(st.floats(100.0, 600.0), min_size=4, max_size=12),
    order=st.randoms(use_true_random=False),
)
def test_the_order_of_readings_changes_nothing(readings: list[float], order: random.Random) -> None:
    shuffled = list(readings)
    order.shuffle(shuffled)
    one, other = summarise(readings), summarise(shuffled)
    assert one is not None
    assert other is not None
    assert one.mean == pytest.approx(other.mean, rel=1e-12)
    assert one.count == other.count
    assert one.count + len(one.set_aside) == len(readings)
    # Dividing a sum rounds: the mean of three equal readings may differ in its last bit.
    assert min(readings) - 1e-9 <= one.mean <= max(readings) + 1e-9


@settings(deadline=None)
@given(
    readings=st.lists(st.floats(16.0, 18.0), min_size=5, max_size=9), wild=st.floats(60.0, 500.0)
)
def test_one_wild_reading_never_moves_the_mean_out_of_the_honest_range(
    readings: list[float], wild: float
) -> None:
    found = summarise([*readings, wild])
    assert found is not None
    assert len(readings) in found.set_aside
    assert min(readings) - 1e-9 <= found.mean <= max(readings) + 1e-9


def test_three_readings_can_t_outvote_one_and_four_can() -> None:
    three, four = summarise([10.0, 10.1, 50.0]), summarise([10.0, 10.1, 9.9, 50.0])
    assert three is not None
    assert four is not None
    assert three.set_aside == ()
    assert four.set_aside == (3,)
    assert four.count == 3
    assert four.mean == pytest.approx(10.0, rel=1e-12)


@pytest.mark.parametrize(
    ("readings", "resolution", "cut"),
    [
        # Deviations from 100 of 0 to 3 and the last: their median is 2, so 3.5 × 1.4826 × 2.
        ([97.0, 98.0, 99.0, 100.0, 101.0, 102.0], 0.0, 10.3782),
        # All alike: half a percent of the median, 0.5, stands in for the deviation.
        ([100.0] * 5, 0.0, 1.75),
        # Or what the instrument tells apart, where that is more.
        ([100.0] * 5, 1.0, 3.5),
    ],
)
def test_a_reading_is_set_aside_beyond_the_cut_and_not_before(
    readings: list[float], resolution: float, cut: float
) -> None:
    """Derived by hand from the rule above; a hundredth of the unit on either side of it."""
    last = len(readings)
    inside = summarise([*readings, 100.0 + cut - 0.01], resolution=resolution)
    beyond = summarise([*readings, 100.0 + cut + 0.01], resolution=resolution)
    below = summarise([*readings, 100.0 - cut - 0.01], resolution=resolution)
    assert inside is not None
    assert beyond is not None
    assert below is not None
    assert inside.set_aside == ()
    assert beyond.set_aside == (last,)
    if len(set(readings)) == 1:
        assert below.set_aside == (last,)


def test_readings_of_nought_have_no_scale_to_judge_by() -> None:
    found = summarise([0.0, 0.0, 0.0, 0.0, 1.0])
    assert found is not None
    assert found.set_aside == ()
    assert found.mean == pytest.approx(0.2, rel=1e-12)


@pytest.mark.parametrize("wild", [float("nan"), float("inf"), float("-inf")])
def test_what_is_no_number_is_refused(wild: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        summarise([1.0, wild])


def test_two_readings_have_a_spread() -> None:
    found = summarise([1.0, 3.0])
    assert found is not None
    assert found.sd == pytest.approx(2.0**0.5, rel=1e-12)


def test_readings_of_any_size_are_judged_by_their_own_scale() -> None:
    """Unless something is said of the instrument: small numbers count as finely as large ones."""
    small = summarise([0.100, 0.101, 0.099, 0.100, 0.130])
    assert small is not None
    assert small.set_aside == (4,)


def test_a_reading_exactly_at_the_cut_is_kept() -> None:
    """The published rule labels what lies beyond 3.5, not what lies at it."""
    told = summarise([0.0, -1.0, 1.0, 0.0, MODIFIED_Z_CUT * 2.0], resolution=2.0)
    assert told is not None
    assert told.set_aside == ()


def test_what_was_found_stays_as_found() -> None:
    told = summarise([1.0, 2.0])
    assert told is not None
    with pytest.raises(FrozenInstanceError):
        told.mean = 3.0  # type: ignore[misc]
