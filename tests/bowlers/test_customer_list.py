"""The list of customers and its search."""

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from bowlers import services
from bowlers.models import Bowler, Fitting
from proshop.models import Shop
from tests.bowlers.conftest import HTMX, Log


def test_a_customer_is_listed_with_hand_and_last_fitting(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    log(fitting)
    services.finish_fitting(fitting=fitting)
    page = staff_client.get("/customers/").content.decode()
    assert "Åsa Lindqvist" in page
    assert "Right-handed" in page
    assert "Fitted 3 May 2026" in page


def test_a_draft_is_not_a_fitting_yet(staff_client: Client, fitting: Fitting) -> None:
    assert "No fitting yet" in staff_client.get("/customers/").content.decode()


def test_a_search_finds_part_of_a_name_in_any_case(staff_client: Client, shop: Shop) -> None:
    for name in ("Åsa Lindqvist", "Tom Okafor"):
        Bowler.objects.create(shop=shop, name=name)
    page = staff_client.get("/customers/", {"q": "LIND"}).content.decode()
    assert "Åsa Lindqvist" in page
    assert "Tom Okafor" not in page


def test_while_typing_only_the_rows_come_back(staff_client: Client, bowler: Bowler) -> None:
    page = staff_client.get("/customers/", {"q": "asa"}, headers=HTMX).content.decode()
    assert "Åsa Lindqvist" in page
    assert "<html" not in page


def test_nobody_found_offers_to_add_the_name_that_was_typed(
    staff_client: Client, bowler: Bowler
) -> None:
    page = staff_client.get("/customers/", {"q": "Zoë & co"}).content.decode()
    assert "/customers/new/?name=Zo%C3%AB%20%26%20co" in page
    filled = staff_client.get("/customers/new/?name=Zo%C3%AB%20%26%20co").content.decode()
    assert 'value="Zoë &amp; co"' in filled


def test_an_empty_list_says_what_to_do_first(staff_client: Client) -> None:
    page = staff_client.get("/customers/").content.decode()
    assert "No customers yet" in page
    assert "/customers/new/" in page


@pytest.mark.parametrize("words", ["\0", "%", "_", "'; --", "x" * 5000])
def test_odd_words_find_nobody_and_break_nothing(
    staff_client: Client, bowler: Bowler, words: str
) -> None:
    assert staff_client.get("/customers/", {"q": words}).status_code == 200


def test_another_shops_customers_are_not_listed(other_staff_client: Client, bowler: Bowler) -> None:
    assert "Åsa" not in other_staff_client.get("/customers/", {"q": "asa"}).content.decode()


def test_a_stranger_is_asked_to_sign_in(stranger: Client) -> None:
    answer = stranger.get("/customers/")
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("customers", [1, 30])
def test_the_list_costs_five_queries_however_long_it_is(
    staff_client: Client,
    shop: Shop,
    staff: User,
    customers: int,
    django_assert_num_queries: Callable[[int], Any],
) -> None:
    for number in range(customers):
        bowler = Bowler.objects.create(shop=shop, name=f"Customer {number}")
        services.start_fitting(
            bowler=bowler, fitted_on=datetime.date(2026, 5, 3), notes="", logged_by=staff
        )
    with django_assert_num_queries(5):
        staff_client.get("/customers/")


def test_a_long_list_is_turned_page_by_page(staff_client: Client, shop: Shop) -> None:
    for number in range(60):
        Bowler.objects.create(shop=shop, name=f"Customer {number:02}")
    first = staff_client.get("/customers/", {"q": "customer"}).content.decode()
    assert "Customer 49" in first
    assert "Customer 50" not in first
    assert "?q=customer&amp;page=2" in first
    second = staff_client.get("/customers/?q=customer&page=2").content.decode()
    assert "Customer 50" in second
