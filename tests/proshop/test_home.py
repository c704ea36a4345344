"""The first page: who is at the counter."""

from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from bowlers.models import Bowler, Fitting
from proshop.models import Shop


def test_an_empty_shop_is_told_what_to_do_first(staff_client: Client) -> None:
    page = staff_client.get(reverse("home")).content.decode()
    assert "Add a customer first" in page
    assert reverse("customer-add") in page


def test_search_finds_by_part_of_a_name_whatever_the_accents(
    staff_client: Client, shop: Shop
) -> None:
    lucia = Bowler.objects.create(shop=shop, name="Lucía Prat")
    Bowler.objects.create(shop=shop, name="Juniper Vale")
    page = staff_client.get(reverse("home"), {"q": "lucia"}).content.decode()
    assert reverse("customer", args=[lucia.pk]) in page
    assert "Juniper" not in page


def test_live_search_answers_with_the_found_part_only(staff_client: Client, shop: Shop) -> None:
    Bowler.objects.create(shop=shop, name="Juniper Vale")
    answer = staff_client.get(reverse("home"), {"q": "jun"}, headers={"hx-request": "true"})
    assert "Juniper Vale" in answer.content.decode()
    assert "<html" not in answer.content.decode()


def test_a_name_not_found_may_be_added_from_there(staff_client: Client, shop: Shop) -> None:
    Bowler.objects.create(shop=shop, name="Juniper Vale")
    page = staff_client.get(reverse("home"), {"q": "Ash & Oak"}).content.decode()
    assert f"{reverse('customer-add')}?name=Ash%20%26%20Oak" in page


def test_recent_fittings_and_drafts_are_apart(
    staff_client: Client, shop: Shop, staff: User
) -> None:
    bowler = Bowler.objects.create(shop=shop, name="Juniper Vale")
    for status in ("draft", "finished"):
        Fitting.objects.create(shop=shop, bowler=bowler, status=status, logged_by=staff)
    context = staff_client.get(reverse("home")).context
    assert [entry.status for entry in context["drafts"]] == ["draft"]
    assert [entry.status for entry in context["fittings"]] == ["finished"]


def test_the_page_costs_the_same_however_many_there_are(
    staff_client: Client, shop: Shop, staff: User, django_assert_num_queries: object
) -> None:
    for number in range(20):
        bowler = Bowler.objects.create(shop=shop, name=f"Bowler {number}")
        Fitting.objects.create(shop=shop, bowler=bowler, status="finished", logged_by=staff)
    # session, user, membership, any customer, drafts, fittings
    with django_assert_num_queries(6):  # type: ignore[operator]
        staff_client.get(reverse("home"))


def test_the_glossary_explains_the_words_of_the_site(staff_client: Client) -> None:
    page = staff_client.get(reverse("glossary")).content.decode()
    for word in ("Hook length", "Window", "Gap", "Task", "PAP", "Drilling angle"):
        assert word in page
