"""The season of a customer: begun with a kind of league, and divided so that it adds up."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from arsenal.lanes.leagues import LEAGUES
from arsenal.lanes.shares import LEAST, MOST, divided
from arsenal.models import BowlerCondition, Condition, House
from bowlers.models import Bowler
from proshop.models import Shop, StaleRecord
from tests.arsenal import records

TIMES = st.lists(st.integers(LEAST, MOST), min_size=1, max_size=9)


@given(total=st.integers(-5, 3000), weights=TIMES)
def test_whole_times_always_add_up(total: int, weights: list[int]) -> None:
    whole = divided(total, weights)
    least, most = LEAST * len(weights), MOST * len(weights)
    assert sum(whole) == max(least, min(total, most))
    assert all(LEAST <= times <= MOST for times in whole)
    if total == sum(weights):
        assert whole == weights
    # Nobody is more than one off their share, but for those held at an end.
    for times, weight in zip(whole, weights, strict=True):
        exact = sum(whole) * weight / sum(weights)
        held = any(t in (LEAST, MOST) for t in whole)
        assert held or abs(times - exact) < 1 + 1e-9


def test_a_share_by_hand() -> None:
    """34, 30 and 12 of 76 are 44.7, 39.5 and 15.8 %: of 100 times 45, 39 and 16."""
    assert divided(100, [34, 30, 12]) == [45, 39, 16]
    assert divided(152, [34, 30, 12]) == [68, 60, 24]


@pytest.fixture
def house(shop: Shop) -> House:
    return records.house(shop)


@pytest.fixture
def bowler(shop: Shop) -> Bowler:
    return records.customer(shop)


def meet(bowler: Bowler, condition: Condition, times: int, games: int = 0) -> BowlerCondition:
    return BowlerCondition.objects.create(
        shop=bowler.shop,
        bowler=bowler,
        condition=condition,
        times_a_season=times,
        games_on_oil=games,
    )


def met(bowler: Bowler) -> list[tuple[str, int, int]]:
    rows = bowler.conditions.order_by("condition__name", "games_on_oil")
    return [(r.condition.name, r.games_on_oil, r.times_a_season) for r in rows]


def oils(house: House) -> dict[str, Condition]:
    return {
        name: records.condition(house, name, inside_to_outside_ratio=ratio)
        for name, ratio in (("House oil", 9), ("Challenge oil", 5), ("Sport oil", 2))
    }


@pytest.mark.parametrize("league", LEAGUES, ids=lambda league: league.name)
def test_one_tap_lists_what_a_kind_of_league_meets(
    staff_client: Client, bowler: Bowler, house: House, league: Any
) -> None:
    oils(house)
    page = staff_client.get(reverse("customer-conditions", args=[bowler.pk]))
    assert f'value="{league.name}"' in page.content.decode()
    address = reverse("customer-league", args=[bowler.pk])
    values = {"house": house.pk, "league": league.name, "form_token": records.token_in(page)}
    for _ in range(2):
        staff_client.post(address, values)
    wanted = {(f"{part.oil.capitalize()} oil", part.games, part.times) for part in league.parts}
    assert set(met(bowler)) == wanted
    assert len(met(bowler)) == len(wanted)


def test_what_is_listed_already_stays_as_it_is(
    staff_client: Client, bowler: Bowler, house: House
) -> None:
    there = oils(house)
    meet(bowler, there["House oil"], 12)
    address = reverse("customer-league", args=[bowler.pk])
    page = staff_client.post(address, {"house": house.pk, "league": "tournaments"}, follow=True)
    assert ("House oil", 0, 12) in met(bowler)
    assert len(met(bowler)) == 3
    assert "added Challenge oil" in page.content.decode()
    page = staff_client.post(address, {"house": house.pk, "league": "one"}, follow=True)
    assert "all of it is on the list already" in page.content.decode()


def test_the_most_met_oil_of_the_house_is_taken_and_tournaments_travel(
    staff_client: Client, shop: Shop, bowler: Bowler, house: House
) -> None:
    plain = records.condition(house, "A plain one", inside_to_outside_ratio=9)
    liked = records.condition(house, "The liked one", inside_to_outside_ratio=9)
    meet(records.customer(shop, "Other"), liked, 10)
    away = records.house(shop, "Away Lanes")
    oils(away)
    address = reverse("customer-league", args=[bowler.pk])
    staff_client.post(address, {"house": house.pk, "league": "tournaments"})
    names = {name for name, _, _ in met(bowler)}
    assert names == {"The liked one", "Challenge oil", "Sport oil"}
    assert plain.name not in names


def test_oil_that_cant_be_is_passed_over(
    staff_client: Client, bowler: Bowler, house: House
) -> None:
    # First by its name, so that it would be taken.
    records.condition(house, "A broken one", shape="flat", inside_to_outside_ratio=15)
    records.condition(house, "House oil", inside_to_outside_ratio=9)
    address = reverse("customer-league", args=[bowler.pk])
    staff_client.post(address, {"house": house.pk, "league": "one"})
    assert {name for name, _, _ in met(bowler)} == {"House oil"}


def test_without_such_oil_nothing_is_added_and_it_is_named(
    staff_client: Client, bowler: Bowler, house: House
) -> None:
    records.condition(house, "House oil", inside_to_outside_ratio=9)
    address = reverse("customer-league", args=[bowler.pk])
    page = staff_client.post(address, {"house": house.pk, "league": "tournaments"})
    text = page.content.decode()
    assert "has no challenge condition and no sport condition yet" in text
    assert met(bowler) == []
    for values in ({"league": "one"}, {"league": "none", "house": house.pk}, {"house": house.pk}):
        assert staff_client.post(address, values).status_code == 200
    assert met(bowler) == []


def sent(page: Any, **changes: Any) -> dict[str, Any]:
    return records.form_values(page, page.context["shares"]) | changes


def test_the_season_is_divided_at_once(staff_client: Client, bowler: Bowler, house: House) -> None:
    there = oils(house)
    first, second = meet(bowler, there["House oil"], 30), meet(bowler, there["Sport oil"], 10)
    page = staff_client.get(reverse("customer-conditions", args=[bowler.pk]))
    address = reverse("customer-shares", args=[bowler.pk])
    typed = {f"times_{first.pk}": "20", f"times_{second.pk}": "25"}
    staff_client.post(address, sent(page, **typed))
    assert met(bowler) == [("House oil", 0, 20), ("Sport oil", 0, 25)]
    page = staff_client.get(reverse("customer-conditions", args=[bowler.pk]))
    # Another total alone keeps the shares.
    staff_client.post(address, sent(page, total="90"))
    assert met(bowler) == [("House oil", 0, 40), ("Sport oil", 0, 50)]
    first.refresh_from_db()
    assert first.history.count() == 3


@pytest.mark.parametrize("typed", ["0", "201", "x", "", "1.5", "💥"])
def test_times_that_cannot_be_are_refused_and_nothing_is_half_saved(
    staff_client: Client, bowler: Bowler, house: House, typed: str
) -> None:
    there = oils(house)
    first, second = meet(bowler, there["House oil"], 30), meet(bowler, there["Sport oil"], 10)
    page = staff_client.get(reverse("customer-conditions", args=[bowler.pk]))
    values = sent(page, **{f"times_{first.pk}": "5", f"times_{second.pk}": typed})
    answer = staff_client.post(reverse("customer-shares", args=[bowler.pk]), values)
    assert "Times a season on Sport oil" in answer.content.decode()
    assert 'value="5"' in answer.content.decode()
    assert met(bowler) == [("House oil", 0, 30), ("Sport oil", 0, 10)]


def test_a_list_changed_meanwhile_is_told_and_can_be_divided_again(
    staff_client: Client, second_staff_client: Client, bowler: Bowler, house: House
) -> None:
    there = oils(house)
    first = meet(bowler, there["House oil"], 30)
    page = staff_client.get(reverse("customer-conditions", args=[bowler.pk]))
    second = meet(bowler, there["Sport oil"], 10)
    address = reverse("customer-shares", args=[bowler.pk])
    answer = staff_client.post(address, sent(page, **{f"times_{first.pk}": "20"}))
    assert "changed meanwhile" in answer.content.decode()
    assert met(bowler) == [("House oil", 0, 30), ("Sport oil", 0, 10)]
    values = sent(answer) | {f"times_{first.pk}": "20", f"times_{second.pk}": "10"}
    staff_client.post(address, values)
    assert met(bowler) == [("House oil", 0, 20), ("Sport oil", 0, 10)]


def test_times_changed_while_they_are_saved_are_told(
    staff_client: Client, bowler: Bowler, house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = meet(bowler, oils(house)["House oil"], 30)
    page = staff_client.get(reverse("customer-conditions", args=[bowler.pk]))

    def late(**_: Any) -> None:
        raise StaleRecord(row, 1)

    monkeypatch.setattr("arsenal.lanes.views.save_shares", late)
    address = reverse("customer-shares", args=[bowler.pk])
    answer = staff_client.post(address, sent(page, **{f"times_{row.pk}": "20"}))
    assert "changed meanwhile" in answer.content.decode()
    assert met(bowler) == [("House oil", 0, 30)]
