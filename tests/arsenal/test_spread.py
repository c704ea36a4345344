"""Surface outweighs layout: over a small menu, and the command that says so over the demo's."""

from __future__ import annotations

import io
import json
from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command

from arsenal.engine import spread
from bowlers.models import Bowler
from physics import worth
from proshop.models import Shop
from tests.arsenal import questions, records
from tests.furnished import furnish

EARLY = {"drilling_angle_deg": 35.0, "pin_to_pap_in": 3.375, "val_angle_deg": 30.0}


@cache
def over_a_small_menu(ring_oil: bool) -> dict[str, Any]:
    asked = questions.question(
        catalogue=[
            questions.new(1, "Silver Lime", "pearl", "polished"),
            questions.new(2, "Hornbeam", "solid", "1000"),
            questions.new(3, "Hazel", "polyester", "polished"),
        ],
        menu={
            "layouts": [dict(questions.PIN_UP), dict(questions.PIN_DOWN), EARLY],
            "finishes": ["1000", "2000", "polished"],
        },
    )
    return spread.spread_of(list(spread.tables_of(asked, ring_oil=ring_oil)))


@pytest.mark.slow
@pytest.mark.parametrize("ring_oil", [True, False])
@pytest.mark.parametrize("measure", ["entry_boards", "value"])
def test_finishes_move_entry_and_value_more_than_layouts_do(measure: str, ring_oil: bool) -> None:
    # Read in trade articles: a governing-body study put surface first to third of 18 factors, and
    # its robot's layouts near together. Only the order is asserted, both ways of measuring it.
    found = over_a_small_menu(ring_oil)
    assert found["tables"] == 2  # plastic is only ever polished
    finish, layout = found[measure]["finish"], found[measure]["layout"]
    assert finish["sd"] > layout["sd"] > 0
    assert finish["range"] > layout["range"] > 0
    assert found[measure]["outweighs"] == 1.0


@pytest.mark.slow
def test_layouts_move_less_without_the_oil_a_ball_carries() -> None:
    # Estimate: ring oil is how flare reaches the path.
    entry = [over_a_small_menu(oil)["entry_boards"]["layout"]["sd"] for oil in (False, True)]
    assert entry[0] < entry[1]


def test_the_spread_of_a_table_is_taken_along_each_side() -> None:
    """By hand: finishes 0, 2 and 4 boards in both layouts, layouts one board apart."""
    entry = np.array([[0.0, 2.0, 4.0], [1.0, 3.0, 5.0]])
    found = spread.spread_of([spread.Table(entry, 0.1 * entry)])
    assert found["entry_boards"]["finish"] == {"sd": round((8 / 3) ** 0.5, 4), "range": 4.0}
    assert found["entry_boards"]["layout"] == {"sd": 0.5, "range": 1.0}
    assert found["value"]["layout"] == {"sd": 0.05, "range": 0.1}


def test_a_ball_off_the_lane_is_left_out_and_not_its_neighbours() -> None:
    entry = np.array([[np.nan, 2.0, 4.0], [np.nan, 3.0, 5.0]])
    found = spread.spread_of([spread.Table(entry, entry)])["entry_boards"]
    assert found["finish"] == {"sd": 1.0, "range": 2.0}
    assert found["layout"] == {"sd": 0.5, "range": 1.0}


def test_where_every_ball_leaves_the_lane_nothing_spreads() -> None:
    lost = np.full((2, 3), np.nan)
    found = spread.spread_of([spread.Table(lost, lost)])
    assert found["value"]["finish"] == found["value"]["layout"] == {"sd": 0.0, "range": 0.0}


def test_layouts_that_cant_be_and_balls_without_a_line_are_left_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = questions.question()
    asked["menu"]["layouts"].insert(1, {**questions.PIN_UP, "pin_to_pap_in": 0.0})
    tried: list[int] = []

    def no_line(who: Any, options: Any, *rest: Any, **how: Any) -> Any:
        tried.append(len(options))
        return SimpleNamespace(board=np.full((len(options), 1), np.nan))

    monkeypatch.setattr(worth, "seek", no_line)
    assert list(spread.tables_of(asked, ring_oil=True)) == []
    assert tried == [2 * len(asked["menu"]["finishes"])]


@pytest.mark.django_db
def test_the_command_prints_both_ways_as_json_and_as_a_table(shop: Shop, staff: User) -> None:
    furnish(shop, staff)
    said = io.StringIO()
    call_command(
        "spread", customer=Bowler.objects.get().pk, json=True, stdout=said, stderr=io.StringIO()
    )
    answer = json.loads(said.getvalue())
    assert answer["customers"] == 1
    for key in ("with_ring_oil", "without_ring_oil"):
        for measure in ("entry_boards", "value"):
            assert answer[key][measure]["finish"]["sd"] > answer[key][measure]["layout"]["sd"]
    said = io.StringIO()
    call_command("spread", customer=Bowler.objects.get().pk, stdout=said, stderr=io.StringIO())
    assert "board at the pins, one line, no ring oil" in said.getvalue()


@pytest.mark.django_db
def test_without_a_demo_the_command_says_how_to_load_it() -> None:
    with pytest.raises(CommandError, match=r"manage\.py demo"):
        call_command("spread")


@pytest.mark.django_db
def test_an_unknown_customer_is_refused() -> None:
    with pytest.raises(CommandError, match="no customer 4711"):
        call_command("spread", customer=4711)


@pytest.mark.django_db
def test_a_customer_whose_record_isn_t_whole_is_refused_by_what_is_missing(shop: Shop) -> None:
    bowler = records.customer(shop)
    with pytest.raises(CommandError, match=r"Wren Marsh: missing .*fitting"):
        call_command("spread", customer=bowler.pk)
    # Of a whole shop such a customer is left out.
    shop.is_demo = True
    shop.save()
    with pytest.raises(CommandError, match="no demo to compare over"):
        call_command("spread")


@pytest.mark.django_db
def test_a_catalogue_that_nothing_can_be_thrown_of_is_refused(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    bowler = records.customer(shop)
    monkeypatch.setattr("arsenal.engine.inputs_for", lambda bowler: {})
    monkeypatch.setattr("arsenal.engine.tables_of", lambda asked, ring_oil: iter(()))
    with pytest.raises(CommandError, match="No ball of the catalogue can be thrown to the pocket"):
        call_command("spread", customer=bowler.pk, stderr=io.StringIO())
