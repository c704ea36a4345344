"""Oil tables: volume, length, crosswise ratio and class, and which side is whose.

Definitions: the trade's ratio is mean units on boards 18L-18R over mean units on boards 3-7 (two
independent trade pages, one citing the US governing body). A unit is 0.0167 mL per square foot
(from memory, high confidence). Classes: pages of the US governing body.
"""

from __future__ import annotations

import numpy as np
import pytest

from physics import lane
from physics.errors import InputError
from physics.units import UNIT_TO_UM


def even_table(units: float, feet: float) -> lane.OilTable:
    row = [units] * 39
    return lane.table([0.0, feet, feet + 0.001, 60.0], [row, row, [0.0] * 39, [0.0] * 39])


def test_a_unit_of_oil_is_a_film_of_0_18_micrometre() -> None:
    """0.0167 mL per square foot spread evenly: derived, 0.1798 um (7.08 microinch)."""
    assert pytest.approx(0.1798, abs=5e-5) == UNIT_TO_UM


@pytest.mark.parametrize(
    ("volume_ml", "feet", "mean_units"),
    [(27, 42, 11.13), (25, 40, 10.82), (20, 38, 9.11), (30, 45, 11.54), (7.21, 34, 3.67)],
)
def test_mean_units_give_back_the_volume(volume_ml: float, feet: float, mean_units: float) -> None:
    """Derived rows of the trade reference: mL / (ft x 41.5/12) / 0.0167, printed to 0.01 unit."""
    assert even_table(mean_units, feet).volume_ml == pytest.approx(volume_ml, rel=1.5e-3)


@pytest.mark.parametrize("shape", lane.SHAPES)
@pytest.mark.parametrize("ratio", [1.0, 1.6, 3.0])
def test_a_picked_pattern_has_the_numbers_picked(shape: str, ratio: float) -> None:
    oil = lane.picked(42, 26, ratio, shape)
    assert oil.volume_ml == pytest.approx(26, rel=1e-12)
    assert oil.ratio == pytest.approx(ratio, rel=1e-12)
    assert oil.length_ft == pytest.approx(42, abs=0.1)
    np.testing.assert_allclose(oil.units, oil.units[:, ::-1], atol=1e-12)


def test_ratio_is_of_the_middle_five_boards_over_boards_three_to_seven() -> None:
    row = np.full(39, 5.0)
    row[17:22] = 20.0
    row[2:7] = row[32:37] = 4.0
    oil = lane.table([0, 40], [row.tolist(), row.tolist()])
    assert oil.ratio == pytest.approx(5.0, rel=1e-12)
    assert oil.pattern_class == "challenge"


def test_the_other_ratio_is_of_what_lies_between_the_second_arrows() -> None:
    """The wording of another page of the governing body: inside over outside of board 10."""
    row = np.full(39, 2.0)
    row[10:29] = 12.0
    row[17:22] = 20.0
    oil = lane.table([0, 40], [row.tolist(), row.tolist()])
    between = (14 * 12.0 + 5 * 20.0) / 19
    assert oil.board_10_ratio == pytest.approx(between / 2.0, rel=1e-12)
    assert oil.ratio == pytest.approx(10.0, rel=1e-12)


def test_a_class_is_told_by_the_trades_ratio_alone() -> None:
    """Above 4:1 by one definition and below it by the other: challenge, not sport."""
    oil = lane.picked(40, 24, 5, "blended")
    assert oil.ratio == pytest.approx(5)
    assert oil.board_10_ratio is not None
    assert oil.board_10_ratio < lane.SPORT_RATIO < 5
    assert oil.pattern_class == "challenge"


def test_drawn_tables_lie_about_the_numbers_picked() -> None:
    """Means and spreads of 400 draws within three standard errors of what is stated."""
    drawn = lane.drawn_tables(42, 26, 3, "blended", 400, 7)
    for values, mean, spread in (
        ([t.length_ft for t in drawn], 42.05, lane.PICKED_SPREAD.length_ft),
        ([np.log(t.volume_ml) for t in drawn], np.log(26), lane.PICKED_SPREAD.volume),
        ([np.log(t.ratio or np.nan) for t in drawn], np.log(3), lane.PICKED_SPREAD.ratio),
    ):
        assert np.mean(values) == pytest.approx(mean, abs=3 * spread / 20)
        assert np.std(values) == pytest.approx(spread, rel=3 / np.sqrt(2 * 400))


def test_drawn_tables_are_the_same_for_a_seed_and_sound_for_every_shape() -> None:
    for shape in lane.SHAPES:
        # The steepest flat pattern there is, and a gentle one: draws are held to what can be.
        for ratio in (1.0, 3.2):
            drawn = lane.drawn_tables(40, 24, ratio, shape, 30, 3)
            again = lane.drawn_tables(40, 24, ratio, shape, 30, 3)
            for one, same in zip(drawn, again, strict=True):
                np.testing.assert_array_equal(one.units, same.units)
                lane.table(one.distance_ft.tolist(), one.units.tolist())
            other = lane.drawn_tables(40, 24, ratio, shape, 30, 4)
            assert not np.allclose(other[0].units[0], drawn[0].units[0])


def test_no_spread_draws_the_table_itself() -> None:
    for one in lane.drawn_tables(40, 24, 6, "blended", 3, 1, lane.NO_SPREAD):
        np.testing.assert_array_equal(one.units, lane.picked(40, 24, 6, "blended").units)


@pytest.mark.parametrize(
    ("ratio", "name"), [(1.0, "sport"), (4.0, "sport"), (5.0, "challenge"), (8.0, "house")]
)
def test_class_follows_the_ratio(ratio: float, name: str) -> None:
    row = np.full(39, 3.0)
    row[17:22] = 3.0 * ratio
    assert lane.table([0, 40], [row.tolist(), row.tolist()]).pattern_class == name


def test_a_dry_outside_has_no_ratio_and_is_a_house_pattern() -> None:
    row = np.zeros(39)
    row[10:29] = 20.0
    oil = lane.table([0, 40], [row.tolist(), row.tolist()])
    assert oil.ratio is None
    assert oil.pattern_class == "house"


def test_the_own_side_film_counts_boards_from_the_ball_hand_gutter() -> None:
    """Board 1 from the left gutter is a left-hander's board 1 and a right-hander's board 39."""
    row = np.arange(39.0)
    oil = lane.table([0, 60], [row.tolist(), row.tolist()])
    left, right = oil.own_side_film_um("left"), oil.own_side_film_um("right")
    assert left[0, 0] == 0
    assert right[0, 0] == pytest.approx(38 * UNIT_TO_UM)
    np.testing.assert_array_equal(left, right[:, ::-1])


@pytest.mark.parametrize(
    ("numbers", "field"),
    [
        ((19, 25, 6, "blended"), "length_ft"),
        ((41, 0, 6, "blended"), "volume_ml"),
        ((41, 25, 0.5, "blended"), "inside_to_outside_ratio"),
        ((41, 25, 9, "flat"), "inside_to_outside_ratio"),
        ((41, 25, 6, "wavy"), "shape"),
    ],
)
def test_what_cannot_be_picked_names_its_field(
    numbers: tuple[float, float, float, str], field: str
) -> None:
    with pytest.raises(InputError) as refused:
        lane.picked(*numbers)
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("feet", "units", "field"),
    [
        ([0, 40], [[1.0] * 39, [1.0] * 38], "units[1]"),
        ([0, 40], [[1.0] * 39, [1.0] * 38 + [-1.0]], "units[1][38]"),
        ([0, 40], [[1.0] * 39], "units"),
        ([5, 40], [[1.0] * 39, [1.0] * 39], "distance_ft"),
        ([0, 0], [[1.0] * 39, [1.0] * 39], "distance_ft"),
        ([0, 70], [[1.0] * 39, [1.0] * 39], "distance_ft"),
    ],
)
def test_a_wrong_table_names_the_row_and_board(
    feet: list[float], units: list[list[float]], field: str
) -> None:
    with pytest.raises(InputError) as refused:
        lane.table(feet, units)
    assert refused.value.field == field


def test_an_edge_told_of_lies_there_and_the_numbers_stay() -> None:
    """Derived: the smooth ramp is half full in its middle, whatever the board it is moved to."""
    for board in (7.5, 9.0, 12.0):
        oil = lane.picked(40, 24, 4.5, "blended", board)
        assert oil.ratio == pytest.approx(4.5)
        assert oil.volume_ml == pytest.approx(24)
        across = oil.units[0]
        half = (across[0] + across[19]) / 2
        assert np.interp(half, across[:20], np.arange(1, 21)) == pytest.approx(board, abs=0.3)
    usual = lane.picked(40, 24, 4.5, "blended")
    np.testing.assert_array_equal(usual.units, lane.picked(40, 24, 4.5, "blended", 9.0).units)
    at_rest = lane.table_at(40, 24, 4.5, "blended", np.zeros(7), ramp_board=12.0)
    np.testing.assert_allclose(at_rest.units, lane.picked(40, 24, 4.5, "blended", 12.0).units)


def test_a_dry_lane_has_no_length() -> None:
    assert even_table(0.0, 40).length_ft == 0.0
    assert even_table(1.0, 40).reach_ft(2.0) == 0.0


@pytest.mark.parametrize("board", [-1.0, 40.0])
def test_a_ramp_beside_the_lane_is_refused(board: float) -> None:
    with pytest.raises(InputError) as refused:
        lane.picked(42, 26, 3.0, "blended", board)
    assert refused.value.field == "ramp_board"
