"""The shop's price list: who sets it, and what is filled in from it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from arsenal.engine.prices import ALL, prices_of
from arsenal.models import PriceList, Ticket
from arsenal.prices.usual import USUAL
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records

pytestmark = pytest.mark.django_db


def setting(client: Client, **typed: str) -> Any:
    page = client.get(reverse("prices"))
    values = records.form_values(page, page.context["form"])
    return client.post(reverse("prices"), {**values, **typed}, follow=True)


def adding(client: Client, bowler: Bowler, query: str = "", **typed: str) -> Ticket:
    address = reverse("ticket-add", args=[bowler.pk]) + query
    page = client.get(address)
    values = records.form_values(page, page.context["form"])
    client.post(address, {**values, **typed}, follow=True)
    found: Ticket = Ticket.objects.latest("pk")
    return found


def test_the_owner_sets_prices_to_the_cent_and_who_did_so_is_kept(
    owner_client: Client, shop: Shop
) -> None:
    assert "Usual sums" in owner_client.get(reverse("prices")).content.decode()
    setting(owner_client, price_drill="72.35", price_slug="13,5")
    page = setting(owner_client, price_drill="74.10").content.decode()
    listed = PriceList.objects.get(shop=shop)
    assert (listed.price_drill, listed.price_slug) == (Decimal("74.10"), Decimal("13.50"))
    assert listed.price_clean == USUAL["clean"]
    assert "Drilling a new ball: 72.35 to 74.10" in page
    assert "Olive" in page
    assert "Usual sums" not in page


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"price_drill": "-1"}, "Drilling a new ball must be between 0 and 99999"),
        ({"price_drill": "nan"}, "Drilling a new ball must be a number"),
        ({"price_drill": ""}, "Drilling a new ball is missing"),
        ({"price_drill": "1e9"}, "Drilling a new ball must be a number"),
        ({"price_drill": "1,250"}, "Write thousands without a comma"),
        ({"price_slug": "0.005"}, "A thumb slug, fitted goes to the cent"),
    ],
)
def test_an_impossible_price_is_refused_by_name_and_kept_as_typed(
    owner_client: Client, shop: Shop, typed: dict[str, str], said: str
) -> None:
    page = setting(owner_client, **{"price_clean": "6.25", **typed}).content.decode()
    assert said in page
    assert 'value="6.25"' in page
    assert not PriceList.objects.exists()


def test_staff_see_the_prices_and_set_none(staff_client: Client, shop: Shop) -> None:
    PriceList.objects.create(shop=shop, price_drill="72.35")
    page = staff_client.get(reverse("prices")).content.decode()
    assert "72.35" in page
    assert "form_token" not in page
    assert staff_client.post(reverse("prices"), {"price_drill": "1"}).status_code == 403
    assert PriceList.objects.get().price_drill == Decimal("72.35")


def test_two_owners_setting_prices_are_told(owner_client: Client, shop: Shop) -> None:
    listed = PriceList.objects.create(shop=shop)
    opened = owner_client.get(reverse("prices"))
    values = records.form_values(opened, opened.context["form"])
    listed.price_drill = Decimal(80)
    listed.save_checked(listed.version)
    page = owner_client.post(reverse("prices"), {**values, "price_clean": "7"}).content.decode()
    assert "Somebody" in page
    assert PriceList.objects.get().price_clean == USUAL["clean"]


def test_each_shop_has_its_own_list(shop: Shop, other_shop: Shop) -> None:
    PriceList.objects.create(shop=other_shop, price_drill="99")
    assert PriceList.of(shop).price_drill == USUAL["drill"]


def test_a_plan_signed_for_is_priced_all_in_from_the_list(
    staff_client: Client, shop: Shop, staff: User
) -> None:
    """Derived: 170 + 72.35 + 2 × 8.05 + 13.10 = 271.55."""
    PriceList.objects.create(
        shop=shop, price_drill="72.35", price_insert="8.05", price_slug="13.10"
    )
    spec = records.ball_model(shop).specs.get()
    bowler = records.customer(shop)
    plan = records.drill_plan(bowler, spec, stock=records.stock_ball(shop, spec, price="170"))
    plan.holes.exclude(kind="thumb").update(sleeve="insert", inside_in=0.75)
    plan.holes.filter(kind="thumb").update(sleeve="slug", inside_in=0.9)
    staff_client.post(reverse("drill-plan-sign", args=[plan.pk]), {"record_version": 1})
    ticket = Ticket.objects.get(plan=plan)
    assert ticket.total == Decimal("271.55")
    page = staff_client.get(ticket.get_absolute_url()).content.decode()
    assert "271.55" in page
    assert "it would be" not in page
    plan.holes.filter(kind="thumb").update(sleeve="none", inside_in=None)
    page = staff_client.get(ticket.get_absolute_url()).content.decode()
    assert "it would be 258.45" in page, "the plan changed since: told, and not taken over unasked"


@pytest.mark.parametrize("job", ["clean", "extract", "resurface", "thumb", "plug"])
def test_work_left_without_a_price_gets_the_lists(
    staff_client: Client, shop: Shop, job: str
) -> None:
    PriceList.objects.create(shop=shop, **{f"price_{job}": "21.45"})
    bowler = records.customer(shop)
    assert adding(staff_client, bowler, f"?job={job}").price_work == Decimal("21.45")
    assert adding(staff_client, bowler, job=job, price_work="").price_work == Decimal("21.45")


def test_a_price_typed_on_a_ticket_counts_for_it_alone(staff_client: Client, shop: Shop) -> None:
    PriceList.objects.create(shop=shop, price_clean="6.25")
    ticket = adding(staff_client, records.customer(shop), price_work="0")
    assert ticket.total == 0, "for nothing is a price too"
    assert PriceList.objects.get().price_clean == Decimal("6.25")
    page = staff_client.get(ticket.get_absolute_url()).content.decode()
    assert "it would be 6.25" in page


def test_a_ticket_opened_before_keeps_its_price(owner_client: Client, shop: Shop) -> None:
    ticket = adding(owner_client, records.customer(shop), "?job=clean")
    setting(owner_client, price_clean="9")
    ticket.refresh_from_db()
    assert ticket.price_work == USUAL["clean"]


def test_rankings_count_with_the_shops_own_prices(shop: Shop) -> None:
    assert prices_of(shop) == ALL, "a shop without a list finds its earlier rankings again"
    PriceList.objects.create(
        shop=shop, price_drill="72.35", price_extract="14", price_restore="9.5"
    )
    found = prices_of(shop)
    assert (found["drill"], found["renew"]) == (72.35, 23.5)
    assert found.keys() == ALL.keys()


def test_work_that_has_no_price_is_no_column_of_the_list(shop: Shop) -> None:
    with pytest.raises(KeyError, match="pk"):
        PriceList.of(shop).price("pk")
