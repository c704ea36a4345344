"""The list of every customer's balls and its search."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from arsenal.models import BallSpec, OwnedBall
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records


@pytest.fixture
def spec(shop: Shop) -> BallSpec:
    spec: BallSpec = records.ball_model(shop).specs.get()
    return spec


@pytest.fixture
def balls(shop: Shop, spec: BallSpec) -> None:
    zoe = records.customer(shop, "Zoë Prat")
    records.owned_ball(zoe, spec, serial="7F3A21")
    records.owned_ball(zoe, spec, serial="7F3B99", nickname="The Mule")
    records.owned_ball(records.customer(shop, "Tom Okafor"), spec, serial="9C1", retired=True)


def found(client: Client, words: str) -> list[str]:
    page = client.get("/bag/", {"q": words})
    return [ball.serial for ball in page.context["balls"]]


@pytest.mark.parametrize(
    ("words", "serials"),
    [
        ("", ["9C1", "7F3B99", "7F3A21"]),
        ("7f3", ["7F3B99", "7F3A21"]),
        ("zoe 7f3a", ["7F3A21"]),
        ("mule", ["7F3B99"]),
        ("okafor", ["9C1"]),
        ("alder", ["9C1", "7F3B99", "7F3A21"]),
        ("alder prat b99", ["7F3B99"]),
        ("nobody", []),
        ("\0%", []),
    ],
)
def test_a_ball_is_found_by_what_is_on_it_and_whose_it_is(
    staff_client: Client, balls: None, words: str, serials: list[str]
) -> None:
    assert found(staff_client, words) == serials


def test_a_retired_ball_says_so_and_each_leads_to_its_page(
    staff_client: Client, balls: None
) -> None:
    page = staff_client.get("/bag/").content.decode()
    assert page.count("retired") == 1
    for pk in OwnedBall.objects.values_list("pk", flat=True):
        assert f'href="/bag/{pk}/"' in page


def test_empty_lists_say_what_to_do(staff_client: Client, shop: Shop) -> None:
    assert "No customer has a ball on record yet" in staff_client.get("/bag/").content.decode()
    assert "No ball in a bag has that" in staff_client.get("/bag/?q=x").content.decode()


def test_another_shop_finds_nothing(other_staff_client: Client, balls: None) -> None:
    for words in ("", "7F3A21", "alder", "zoe"):
        assert found(other_staff_client, words) == []


@pytest.mark.parametrize("number", [1, 60])
@pytest.mark.parametrize("query", ["", "?q=cust+alder"])
def test_the_list_costs_six_queries_however_long_it_is(
    staff_client: Client,
    shop: Shop,
    spec: BallSpec,
    number: int,
    query: str,
    django_assert_num_queries: Callable[[int], Any],
) -> None:
    bowlers = Bowler.objects.bulk_create(
        Bowler(shop=shop, name=f"Customer {n}", search_key=f"customer {n}") for n in range(number)
    )
    for bowler in bowlers:
        records.owned_ball(bowler, spec)
    with django_assert_num_queries(6):
        staff_client.get(f"/bag/{query}")


def test_a_long_list_is_turned_page_by_page(
    staff_client: Client, shop: Shop, spec: BallSpec
) -> None:
    bowler = records.customer(shop)
    for n in range(60):
        records.owned_ball(bowler, spec, serial=f"N{n:02}")
    assert found(staff_client, "N")[0] == "N59"
    second = staff_client.get("/bag/?q=N&page=2")
    assert [ball.serial for ball in second.context["balls"]] == [
        f"N{n:02}" for n in range(9, -1, -1)
    ]
    assert "?q=N&amp;page=1" in second.content.decode()


@pytest.mark.parametrize(
    "words", ["a " * 2000, "7f3 " * 2000, "x" * 4000, "7f3 " + "\u0301 " * 2000]
)
def test_a_question_longer_than_any_name_is_answered(
    staff_client: Client, balls: None, words: str
) -> None:
    """A database refuses an expression of a thousand words."""
    for address in ("/bag/", "/customers/", "/catalogue/", "/shelf/", "/jump/"):
        assert staff_client.get(address, {"q": words}).status_code in {200, 404}
    assert found(staff_client, "7f3 " * 2000) == ["7F3B99", "7F3A21"]
