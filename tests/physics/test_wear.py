"""Oil worn by play: where it goes, that none is lost on the way, and the trade's directions.

Statuses: "derived" (conservation, closed forms of the split), "read" (trade articles), "common
practice, no source". Games, mixes and the width of the exchanged line are estimates of this
project: only signs, orders and loose bounds are asserted of them.
"""

from __future__ import annotations

import functools
import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from physics import averaged, lane, shape, wear, worth
from physics.errors import InputError
from physics.traffic import LEAGUE, Traffic
from physics.units import BOARD_M, FT_TO_M, board_to_y_m
from tests.physics import scenes

Array = NDArray[np.float64]

HOUSE = lane.picked(40, 24, 8, "blended")


@functools.cache
def worn(games: int, oil: str = "house") -> wear.Worn:
    return wear.play(HOUSE if oil == "house" else lane.picked(34, 7.21, 4, "blended"), games)


def alone(**changes: object) -> Traffic:
    """Everybody throws as the middling bowler of the league does, but for the changes."""
    return Traffic((replace(LEAGUE.throwers[1], share=1.0, **changes),))  # type: ignore[arg-type]


def lost_film(state: wear.Worn) -> Array:
    """Micrometres gone, on a right-hander's own-side grid."""
    return HOUSE.own_side_film_um("right") - state.table.own_side_film_um("right")


@pytest.mark.parametrize("games", [1, 5, 15, 30])
def test_what_the_lane_lost_is_in_covers_and_on_balls(games: int) -> None:
    """Derived: the lane gains and loses what the ball does; mL, to rounding."""
    state = worn(games)
    assert state.lost_ml > 0
    assert state.lost_ml == pytest.approx(state.absorbed_ml + state.on_balls_ml, rel=1e-9)
    # The table has rows of its own at the pattern's end besides the feet that are played on, so its
    # volume differs from the grid's by what is lost in that last half foot.
    gone = HOUSE.volume_ml - state.table.volume_ml
    assert gone == pytest.approx(state.lost_ml, rel=0.03)


@pytest.mark.parametrize("patch_m", [0.6 * 0.0254, 1e-9])
@pytest.mark.parametrize("launch_deg", [2.4, 7.5])
def test_one_delivery_moves_oil_and_makes_none(patch_m: float, launch_deg: float) -> None:
    """Also of one that ends in the gutter (7.5 degrees), and of one whose flare clears its ring."""
    film, account = HOUSE.own_side_film_um("right"), np.zeros(2)
    before = wear.volume_ml(film)
    closure = scenes.film(patch_m=patch_m).numbers()
    ball, p = worth.body_tuple(scenes.drilled())
    wear.pass_over(
        board_to_y_m(20.0), launch_deg, *scenes.man().means(), ball, p, closure, film, account
    )
    assert account.min() > 0
    assert before - wear.volume_ml(film) == pytest.approx(account.sum(), rel=1e-9)
    assert film.min() >= 0


def test_a_ring_that_never_moves_fills_to_the_lane_s_own_film() -> None:
    """Derived: a ball without flare or absorption ends with r = h (1 - (1/2)^turns) on its ring."""
    film, account = np.full((lane.FILM_ROWS, 39), 2.0), np.zeros(2)
    ball, _ = worth.body_tuple(scenes.drilled())
    round_ball = (ball[0], ball[1], ball[2], (ball[3][0],) * 3)
    closure = replace(scenes.film(), absorption_per_s=0.0).numbers()
    means = scenes.man().means()
    wear.pass_over(
        board_to_y_m(20.0), 2.0, *means, round_ball, (0.0, 0.0, 1.0), closure, film, account
    )
    area = 2 * math.pi * ball[1] * math.cos(math.radians(means[3])) * wear.LINE_M
    # A dozen turns down the lane, so the ring is full to a thousandth.
    assert account[wear.ON_BALLS] == pytest.approx(2.0 * area, rel=2e-3)
    assert account[wear.ABSORBED] == 0


def test_a_ring_that_always_moves_on_takes_half_the_film_each_turn() -> None:
    """Derived: where no ring lies on the last one, a turn takes h/2 over the ring's area."""
    film, account = np.full((lane.FILM_ROWS, 39), 2.0), np.zeros(2)
    ball, p = worth.body_tuple(scenes.drilled())
    closure = replace(scenes.film(patch_m=1e-9), absorption_per_s=0.0).numbers()
    means, throw = scenes.man().means(), (board_to_y_m(20.0), 2.0)
    out, path = np.empty(shape.RESULTS), np.full((60, averaged.PATH_COLUMNS), np.nan)
    averaged.follow(*throw, *means, ball, p, closure, film.copy(), 60, out, path)
    y = np.concatenate([[throw[0]], path[:, averaged.PATH_Y]])
    seconds = np.hypot(FT_TO_M, np.diff(y)) / path[:, averaged.PATH_SPEED]
    turns = (path[:, averaged.PATH_SPIN] * seconds).sum() / (2 * math.pi)
    wear.pass_over(*throw, *means, ball, p, closure, film, account)
    area = 2 * math.pi * ball[1] * math.cos(math.radians(means[3])) * wear.LINE_M
    # The ball takes from under itself, so it meets a film thinner by a few percent.
    assert account[wear.ON_BALLS] == pytest.approx(turns * area * 2.0 / 2, rel=0.05)


def test_following_a_delivery_changes_nothing_of_it() -> None:
    ball, p = worth.body_tuple(scenes.drilled())
    closure, film = scenes.film().numbers(), HOUSE.own_side_film_um("right")
    throw = (board_to_y_m(20.0), 2.4, *scenes.man().means())
    plain, followed = np.empty(shape.RESULTS), np.empty(shape.RESULTS)
    path = np.full((60, averaged.PATH_COLUMNS), np.nan)
    averaged.run(*throw, ball, p, closure, film, 60, plain)
    averaged.follow(*throw, ball, p, closure, film, 60, followed, path)
    np.testing.assert_array_equal(plain, followed)
    assert path[-1, averaged.PATH_Y] / BOARD_M + 20 == pytest.approx(plain[shape.ENTRY_BOARD])
    assert path[-1, averaged.PATH_SPEED] == pytest.approx(plain[shape.ENTRY_SPEED_M_S])


def test_the_same_play_wears_the_lane_the_same_and_more_games_wear_it_more() -> None:
    np.testing.assert_array_equal(worn(5).table.units, wear.play(HOUSE, 5).table.units)
    volumes = [worn(games).table.volume_ml for games in (0, 1, 5, 15, 30)]
    assert volumes == sorted(volumes, reverse=True)
    assert volumes[0] == pytest.approx(24)
    other = wear.play(HOUSE, 5, seed=1).table
    assert not np.allclose(other.units, worn(5).table.units)
    assert other.volume_ml == pytest.approx(volumes[2], rel=0.02)


def test_oil_goes_where_the_balls_go() -> None:
    """Right-handed traffic: read, trade articles (the track burns first)."""
    gone = lost_film(worn(15))
    inside = gone[:41]
    assert inside[:, :19].sum() > 0.65 * inside.sum()
    # Late in the pattern the lost oil lies about where balls turn, near the second arrow.
    boards = np.arange(1, 40)
    share = gone[30:38].sum(axis=0) / HOUSE.own_side_film_um("right")[30:38].sum(axis=0)
    assert 5 <= boards[int(share.argmax())] <= 12


def test_some_oil_is_carried_past_the_end_but_little() -> None:
    """Read: burn first, then little true carrydown on modern oil (trade articles)."""
    state = worn(15)
    assert 0 < state.carried_ml < 0.1 * state.lost_ml
    carried = -lost_film(state)[41:].sum(axis=1)
    assert carried[:6].sum() > 2 * carried[-6:].sum() > 0


def test_urethane_carries_more_down_than_reactive() -> None:
    """Common practice, read in trade articles: low flare and little absorption leave oil on it."""
    reactive = wear.play(HOUSE, 10, traffic=alone())
    urethane = wear.play(
        HOUSE, 10, traffic=alone(cover="urethane", finish="500", differential_in=0.03)
    )
    assert urethane.carried_ml > 2 * reactive.carried_ml
    assert urethane.absorbed_ml < reactive.absorbed_ml


def test_the_same_line_on_a_burnt_lane_reads_earlier() -> None:
    """The trade's direction, with the wear played: common practice, no source."""
    ball, p = worth.body_tuple(scenes.drilled())
    throw = np.array([[board_to_y_m(22.0), 2.4, *scenes.man().means()]])
    seen = []
    for games in (0, 15, wear.BURNT_GAMES):
        film = worn(games).table.own_side_film_um("right")
        seen.append(averaged.run_many(throw, ball, p, scenes.film().numbers(), film, 120)[0])
    quarter = [row[shape.QUARTER_M] / FT_TO_M for row in seen]
    entry = [row[shape.ENTRY_BOARD] for row in seen]
    assert quarter[0] > quarter[1] + 0.5 > quarter[2] + 1.0
    assert entry[0] < entry[1] - 0.5 < entry[2] - 1.0


def test_a_left_hander_s_own_side_stays_fresher() -> None:
    """Wear isn't mirrored: it lies where the right-handed traffic is (common practice)."""
    left = {}
    for hand in ("left", "right"):
        fresh = HOUSE.own_side_film_um(hand)[:38, 4:14].sum()
        left[hand] = worn(15).table.own_side_film_um(hand)[:38, 4:14].sum() / fresh
    assert left["right"] < 0.75
    assert left["left"] > 0.85


def test_bowlers_move_in_as_the_oil_goes() -> None:
    """Common practice, no source: strike balls are laid down further inside on a burnt lane."""
    now = np.array(worn(wear.BURNT_GAMES).laydown_board)
    hooked = [
        i for i, one in enumerate(LEAGUE.throwers) if one.target_board == 17.5 and one.share >= 0.1
    ]
    began = np.array([one.laydown_board for one in LEAGUE.throwers])
    assert (now - began)[hooked].mean() > 2


def test_oil_is_left_after_the_games_an_event_was_played_to() -> None:
    """Read: a world-body event ran 28 games a lane and more on 34 ft, 7.21 mL, 4:1.

    That it could be bowled on is taken as a third of the oil being left; it bounds the width of
    the exchanged line from above.
    """
    assert worn(28, "event").table.volume_ml > 7.21 / 3


def test_nobody_bowling_leaves_the_table_alone() -> None:
    state = worn(0)
    assert state.table is HOUSE
    assert (state.lost_ml, state.carried_ml, state.deliveries) == (0, 0, 0)


@pytest.mark.parametrize(
    ("games", "name"),
    [(0, "fresh"), (1, "after 1 game"), (15, "after 15 games"), (30, "burnt"), (60, "burnt")],
)
def test_states_have_names(games: int, name: str) -> None:
    assert wear.state_name(games) == name


@pytest.mark.parametrize("games", [-1, 61])
def test_games_nobody_bowls_on_one_oiling_are_refused(games: int) -> None:
    with pytest.raises(InputError, match="0 to 60 games"):
        wear.play(HOUSE, games)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"cover": "ice"}, "throwers[0].cover"),
        ({"finish": "7"}, "throwers[0].finish"),
        ({"hand": "both"}, "throwers[0].hand"),
        ({"share": 0.0}, "throwers[0].share"),
    ],
)
def test_a_mix_that_cannot_be_names_the_thrower(changes: dict[str, object], field: str) -> None:
    with pytest.raises(InputError) as refused:
        Traffic((replace(LEAGUE.throwers[0], **changes),))  # type: ignore[arg-type]
    assert refused.value.field == field


def test_deliveries_are_shared_out_by_the_mix() -> None:
    order = LEAGUE.order(500, np.random.default_rng(1))
    shares = np.bincount(order, minlength=len(LEAGUE.throwers)) / 500
    np.testing.assert_allclose(shares, [one.share for one in LEAGUE.throwers], atol=1 / 500 + 1e-9)
    assert sum(one.share for one in LEAGUE.throwers) == pytest.approx(1)


def test_a_table_like_the_one_played_on_is_worn_like_it() -> None:
    state = worn(15)
    same = wear.worn_alike(HOUSE, HOUSE, state.table)
    np.testing.assert_allclose(
        same.own_side_film_um("left"), state.table.own_side_film_um("left"), atol=1e-12
    )
    # Half as much oil again loses half as much again; what is carried down stays the same.
    more = wear.worn_alike(lane.picked(40, 36, 8, "blended"), HOUSE, state.table)
    assert more.volume_ml - 1.5 * state.table.volume_ml == pytest.approx(
        -0.5 * state.carried_ml, abs=0.1
    )
    longer = wear.worn_alike(lane.picked(42, 24, 8, "blended"), HOUSE, state.table)
    assert longer.volume_ml == pytest.approx(state.table.volume_ml, rel=0.03)


def test_a_worn_table_can_be_read_as_any_other() -> None:
    table = worn(15).table
    lane.table(table.distance_ft.tolist(), table.units.tolist())
    # Carrydown is thin: the pattern itself still ends about where it was laid down to.
    assert table.length_ft == pytest.approx(60)
    assert 36 <= table.reach_ft(lane.COUNTED_UNITS) <= 41


def test_a_mix_of_nobody_is_refused() -> None:
    with pytest.raises(InputError) as refused:
        Traffic(())
    assert refused.value.field == "throwers"


def test_a_dry_lane_wears_no_other_table() -> None:
    dry = lane.table([0.0, 60.0], [[0.0] * 39] * 2)
    same = wear.worn_alike(HOUSE, dry, dry)
    np.testing.assert_allclose(
        same.own_side_film_um("left"), HOUSE.own_side_film_um("left"), atol=1e-9
    )


def test_a_thrower_whom_no_line_brings_to_the_target_stays_where_they_are(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    one = wear._Ready(LEAGUE.throwers[0], 1.0)
    stood = one.laydown
    monkeypatch.setattr(wear, "find_line", lambda *asked: (math.nan, math.nan))
    one.look(np.zeros((60, 39)))
    assert (one.laydown, one.launch) == (stood, 1.0)
    one.launch = 2.5
    one.look(np.zeros((60, 39)))
    assert (one.laydown, one.launch) == (stood, 2.5)
