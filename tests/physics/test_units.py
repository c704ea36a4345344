"""Conversions: each there and back, and each against a value defined elsewhere.

Inch, foot, pound, ounce and mile: the international yard and pound agreement of 1959 (exact).
Standard gravity: 3rd General Conference on Weights and Measures, 1901 (exact).
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from physics import units

PAIRS = [
    (units.IN_TO_M, units.M_TO_IN),
    (units.FT_TO_M, units.M_TO_FT),
    (units.MPH_TO_M_S, units.M_S_TO_MPH),
    (units.LB_TO_KG, units.KG_TO_LB),
    (units.OZ_TO_KG, units.KG_TO_OZ),
    (units.RPM_TO_RAD_S, units.RAD_S_TO_RPM),
    (units.DEG_TO_RAD, units.RAD_TO_DEG),
]


@pytest.mark.parametrize(("there", "back"), PAIRS)
@given(value=st.floats(1e-6, 1e6))
def test_there_and_back_gives_the_same(value: float, there: float, back: float) -> None:
    assert value * there * back == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(
    ("factor", "known"),
    [
        (units.IN_TO_M, 0.0254),
        (units.FT_TO_M, 12 * 0.0254),
        (units.MPH_TO_M_S, 5280 * 12 * 0.0254 / 3600),
        (units.LB_TO_KG, 0.45359237),
        (units.OZ_TO_KG, 0.45359237 / 16),
        (units.RPM_TO_RAD_S, math.tau / 60),
        (units.STANDARD_GRAVITY_M_S2, 9.80665),
        (units.FOUL_LINE_TO_HEAD_PIN_M, 18.288),
        (units.BOARD_M, 41.5 / 39 * 0.0254),
    ],
)
def test_factors_are_those_defined_elsewhere(factor: float, known: float) -> None:
    assert factor == pytest.approx(known, rel=1e-15)


@given(st.floats(-5, 45))
def test_boards_and_offsets_are_one_thing_under_two_names(board: float) -> None:
    assert units.y_m_to_board(units.board_to_y_m(board)) == pytest.approx(board, abs=1e-12)


def test_board_1_lies_at_the_ball_hand_gutter_and_20_on_the_centre() -> None:
    """Own-side frame: the ball-hand gutter is on the right, where y is negative."""
    assert units.board_to_y_m(20) == 0
    assert units.board_to_y_m(1) < 0
    # The 10 pin's centre is 18 in from the centre line: board 3.08 (derived, trade reference).
    assert units.y_m_to_board(-18 * units.IN_TO_M) == pytest.approx(3.08, abs=0.005)
    assert units.y_m_to_board(6 * units.IN_TO_M) == pytest.approx(25.64, abs=0.005)
