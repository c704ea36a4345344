"""What was solved before is found again, and a change computes anew only what it touches."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from django.utils import timezone

from arsenal.engine import TooMuch, run_ranking, solved
from arsenal.engine.solved import Solved
from arsenal.kept import store
from arsenal.kept.models import Piece
from physics import bowler, menu, worth
from tests.arsenal import questions
from tests.arsenal.drawer import Drawer
from tests.physics import scenes

SEARCH: dict[str, Any] = {"samples": 8, "starts": 1, "rounds": 1, "steps": 40, "seed": 3}
BALLS = [
    scenes.option(scenes.drilled(low=low), scenes.film(rough))
    for low, rough in ((2.48, 0.3), (2.5, 0.5), (2.56, 0.9))
]
LANES = [scenes.task(scenes.HOUSE), scenes.task(scenes.FLAT)]
FACTORS = [1.0, 1.05]


@pytest.fixture
def drawer() -> Drawer:
    """Holds three balls on two lanes."""
    drawer = Drawer()
    assert computed(drawer) == 6
    return drawer


def computed(
    drawer: Drawer,
    *,
    who: bowler.Bowler | None = None,
    balls: Sequence[worth.Option] = BALLS,
    lanes: Sequence[worth.Task] = LANES,
    factors: Sequence[float] = FACTORS,
    **search: Any,
) -> int:
    """How many best lines had to be sought; each is what it would be without the store."""
    known = Solved(drawer)
    asked = who or scenes.man()
    found = known.seek(asked, balls, lanes, factors, **(SEARCH | search))
    plain = worth.seek(asked, balls, lanes, lane_factors=factors, **(SEARCH | search))
    for kept, fresh in zip(
        (found.board, found.launch_deg, found.value),
        (plain.board, plain.launch_deg, plain.value),
        strict=True,
    ):
        np.testing.assert_array_equal(kept, fresh)
    return known.counts.computed["seek"]


def test_the_same_question_again_computes_nothing(drawer: Drawer) -> None:
    assert computed(drawer) == 0


def test_another_finish_touches_one_ball_on_every_lane(drawer: Drawer) -> None:
    changed = [replace(BALLS[0], closure=scenes.film(0.31)), *BALLS[1:]]
    assert computed(drawer, balls=changed) == 2
    assert computed(drawer, balls=BALLS) == 0


def test_another_drilling_touches_one_ball(drawer: Drawer) -> None:
    changed = [*BALLS[:2], replace(BALLS[2], body=scenes.drilled(low=2.56, pin=4.51))]
    assert computed(drawer, balls=changed) == 2


def test_a_ball_more_or_less_and_their_order_touch_no_other(drawer: Drawer) -> None:
    assert computed(drawer, balls=BALLS[1:]) == 0
    assert computed(drawer, balls=BALLS[::-1]) == 0
    assert computed(drawer, balls=[*BALLS, scenes.option(closure=scenes.film(0.7))]) == 2


def test_other_oil_or_friction_touches_one_lane(drawer: Drawer) -> None:
    oily = replace(LANES[1], film_um=LANES[1].film_um * 1.001)
    assert computed(drawer, lanes=[LANES[0], oily]) == 3
    assert computed(drawer, factors=[1.0, 1.06]) == 3


def test_how_often_a_lane_is_met_touches_nothing(drawer: Drawer) -> None:
    assert computed(drawer, lanes=[replace(LANES[0], weight=0.2), LANES[1]]) == 0
    assert computed(drawer, lanes=LANES[1:], factors=FACTORS[1:]) == 0


@pytest.mark.parametrize("changed", [{"rotation_deg": 45.001}, {"tilt_deg": 12.5}], ids=str)
def test_another_release_touches_everything(drawer: Drawer, changed: dict[str, float]) -> None:
    assert computed(drawer, who=scenes.man(**changed)) == 6


def test_another_scatter_touches_everything(drawer: Drawer) -> None:
    wider = bowler.prior_repeatability(150.0)
    assert computed(drawer, who=scenes.man(repeatability=wider)) == 6


def test_another_search_or_seed_touches_everything(drawer: Drawer) -> None:
    assert computed(drawer, steps=41) == 6
    assert computed(drawer, seed=4) == 6


def test_a_changed_ball_touches_its_own_group_of_the_menu(drawer: Drawer) -> None:
    """Of the first two balls in one group and the third in another, each on two lanes."""

    def answered(balls: Sequence[worth.Option]) -> int:
        known = Solved(drawer)
        found = known.menu(scenes.man(), worth.Rows.of(balls), [0, 0, 1], LANES, FACTORS)
        fresh = Solved().menu(scenes.man(), worth.Rows.of(balls), [0, 0, 1], LANES, FACTORS)
        np.testing.assert_array_equal(found.value, fresh.value)
        return known.counts.computed["menu"]

    assert answered(BALLS) == 6
    assert answered(BALLS) == 0
    changed = [*BALLS[:2], replace(BALLS[2], closure=scenes.film(0.31))]
    assert answered(changed) == 2
    changed = [replace(BALLS[0], closure=scenes.film(0.31)), *BALLS[1:]]
    assert answered(changed) == 4


def test_what_an_owned_ball_could_become_is_read_between_what_is_kept_of_the_others() -> None:
    """Another surface of it touches its own group alone; more new balls touch both."""
    drawer = Drawer()
    new = [
        replace(BALLS[n % 3], closure=scenes.film(0.2 + 0.005 * n)) for n in range(menu.NODES + 16)
    ]
    own = [replace(BALLS[0], closure=scenes.film(0.31 + 0.07 * n)) for n in range(8)]

    def answered(own: Sequence[worth.Option], new: Sequence[worth.Option]) -> int:
        known = Solved(drawer)
        asked, groups = worth.Rows.of([*own, *new]), [0] * len(own) + [-1] * len(new)
        found = known.menu(scenes.man(), asked, groups, LANES, FACTORS)
        fresh = Solved().menu(scenes.man(), asked, groups, LANES, FACTORS)
        for name in ("board", "launch_deg", "value"):
            np.testing.assert_array_equal(getattr(found, name), getattr(fresh, name))
        return known.counts.computed["menu"]

    assert answered(own, new) == 2 * (len(own) + len(new))
    assert answered(own, new) == 0
    assert answered([replace(own[0], closure=scenes.film(0.33)), *own[1:]], new) == 2 * len(own)
    assert answered(own, new[1:]) == 2 * (len(own) + len(new) - 1)


def test_other_code_never_finds_what_this_code_kept(
    drawer: Drawer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(solved, "code_hash", lambda: b"another day")
    assert computed(drawer) == 6


def test_the_hash_of_the_code_is_of_the_code() -> None:
    assert len(solved.code_hash()) == 32


def test_a_broken_piece_is_computed_again(drawer: Drawer) -> None:
    drawer.pieces = {key: piece[:-3] for key, piece in drawer.pieces.items()}
    assert computed(drawer) == 6
    assert computed(drawer) == 0


def test_too_many_cells_drop_those_not_asked_for(
    drawer: Drawer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(solved, "MOST_CELLS", 2)
    other = [scenes.option(closure=scenes.film(0.7))]
    assert computed(drawer, balls=other) == 2
    assert computed(drawer, balls=other) == 0
    assert computed(drawer) == 6


def test_without_time_nothing_is_computed_that_was_never_ranked() -> None:
    known = Solved(Drawer(), at_most_s=60.0)
    with pytest.raises(TooMuch):
        known.begin(scenes.man(), LANES, FACTORS)
    known.end(scenes.man(), LANES, FACTORS)
    known.begin(scenes.man(), LANES, FACTORS)
    with pytest.raises(TooMuch):
        known.begin(scenes.man(tilt_deg=13.0), LANES, FACTORS)


def test_more_than_there_is_time_for_is_refused_before_it_is_begun(drawer: Drawer) -> None:
    more = [*BALLS, scenes.option(closure=scenes.film(0.7))]
    known = Solved(drawer, at_most_s=0.0)
    known.seek(scenes.man(), BALLS, LANES, FACTORS, **SEARCH)
    with pytest.raises(TooMuch):
        known.seek(scenes.man(), more, LANES, FACTORS, **SEARCH)


def without_timings(result: dict[str, Any]) -> str:
    rest = {key: value for key, value in result.items() if key != "timings"}
    return json.dumps(rest, sort_keys=True)


@pytest.mark.slow
def test_a_whole_ranking_is_the_same_from_the_store_and_computed() -> None:
    """Draws, confirmed values and words, after one ball's finish has changed and after none."""
    drawer = Drawer()
    asked = questions.question()
    first = run_ranking(asked, 1, lambda percent, note: None, drawer)
    again = run_ranking(asked, 1, lambda percent, note: None, drawer)
    assert again["timings"]["known_before"] == 1
    assert without_timings(again) == without_timings(first)
    at_once = run_ranking(asked, 1, lambda percent, note: None, drawer, at_most_s=0.0)
    assert without_timings(at_once) == without_timings(first)
    bag = [asked["bag"][0] | {"finish": "1000", "games": 3}, *asked["bag"][1:]]
    changed = questions.question(bag=bag)
    with pytest.raises(TooMuch):
        run_ranking(changed, 1, lambda percent, note: None, drawer, at_most_s=0.0)
    kept = run_ranking(changed, 1, lambda percent, note: None, drawer)
    fresh = run_ranking(changed, 1, lambda percent, note: None)
    assert 0.3 < kept["timings"]["known_before"] < 1
    assert fresh["timings"]["known_before"] < 0.1
    assert without_timings(kept) == without_timings(fresh)
    assert without_timings(kept) != without_timings(first)


@pytest.mark.django_db
def test_pieces_go_into_the_database_and_come_back() -> None:
    store.keep({"a": b"one", "b": b"two"})
    store.keep({"b": b"three"})
    store.keep({})
    assert store.fetch(["a", "b", "c"]) == {"a": b"one", "b": b"three"}
    assert store.fetch([]) == {}


@pytest.mark.django_db
def test_pieces_are_fetched_and_kept_in_a_query_each(django_assert_num_queries: Any) -> None:
    pieces = {str(n): bytes(1000) for n in range(200)}
    with django_assert_num_queries(1):
        store.keep(pieces)
    with django_assert_num_queries(1):
        assert len(store.fetch(list(pieces))) == 200


@pytest.mark.django_db
def test_pieces_nobody_uses_are_thrown_away() -> None:
    store.keep({"used": b"one", "left": b"two"})
    Piece.objects.update(used_on=timezone.localdate() - store.UNUSED - timedelta(days=1))
    store.fetch(["used"])
    assert store.throw_away_unused() == 1
    assert store.fetch(["used", "left"]) == {"used": b"one"}
