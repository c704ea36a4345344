"""Customers found by the serial number of a ball they own."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from arsenal.bag.finding import is_serial
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records


@pytest.fixture
def owner_of_balls(shop: Shop) -> Bowler:
    bowler = records.customer(shop)
    spec = records.ball_model(shop).specs.get()
    for serial in ("7F3A21", "7F3B99", ""):
        records.owned_ball(bowler, spec, serial=serial)
    return bowler


def test_part_of_a_serial_finds_its_owner_and_says_which_ball(
    owner_of_balls: Bowler, staff_client: Client
) -> None:
    page = staff_client.get("/customers/", {"q": "7f3a2"}).content.decode()
    assert owner_of_balls.name in page
    assert "ball 7F3A21" in page
    home = staff_client.get("/", {"q": "wren 7F3B"}).content.decode()
    assert "ball 7F3B99" in home


def test_several_balls_are_counted(owner_of_balls: Bowler, staff_client: Client) -> None:
    records.owned_ball(owner_of_balls, owner_of_balls.bag.all()[0].spec, serial="17F3A2")
    page = staff_client.get("/customers/", {"q": "7F3A"}).content.decode()
    assert "ball 7F3A21 and 1 more" in page


def test_another_shop_finds_nothing(owner_of_balls: Bowler, other_staff_client: Client) -> None:
    page = other_staff_client.get("/customers/", {"q": "7F3A21"}).content.decode()
    assert "Wren" not in page


@pytest.mark.parametrize(
    ("word", "can_be"), [("7F3", False), ("ada", False), ("adaline", False), ("A1B2", True)]
)
def test_short_words_and_plain_letters_are_no_serials(word: str, can_be: bool) -> None:
    assert is_serial(word) is can_be


@pytest.mark.parametrize("customers", [1, 40])
def test_finding_by_serial_costs_one_query_more(
    shop: Shop,
    staff_client: Client,
    customers: int,
    django_assert_num_queries: Callable[[int], Any],
) -> None:
    spec = records.ball_model(shop).specs.get()
    for number in range(customers):
        bowler = records.customer(shop, f"Customer {number}")
        records.owned_ball(bowler, spec, serial=f"7F3A{number}")
    with django_assert_num_queries(6):
        staff_client.get("/customers/", {"q": "7F3A"})
