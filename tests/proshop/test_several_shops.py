"""Owners of several shops: one at hand, in every window its own; and who lets whom in where."""

import re
from collections.abc import Callable

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from bowlers.models import Bowler
from proshop.models import Membership, Shop
from tests.conftest import member

OWNER, STAFF = Membership.Role.OWNER, Membership.Role.STAFF
NEW = {"name": "Wren Marsh", "hand": "right", "thumb": "in", "hands": "one"}
NEW |= {"fingers": "fingertip", "at_spares": "assumed"}


@pytest.fixture
def tess(shop: Shop, other_shop: Shop) -> User:
    """Owns both; by name Across the Street comes first."""
    user = member("tess", shop, OWNER)
    Membership.objects.create(user=user, shop=other_shop, role=OWNER)
    return user


@pytest.fixture
def client(tess: User, sign_in: Callable[[User], Client]) -> Client:
    return sign_in(tess)


def switch(client: Client, shop: Shop, **more: str) -> str:
    return str(client.post(reverse("shops"), {"shop": shop.pk, **more})["Location"])


def test_each_shop_shows_its_own(client: Client, shop: Shop, other_shop: Shop) -> None:
    Bowler.objects.create(shop=shop, name="Wren Marsh")
    Bowler.objects.create(shop=other_shop, name="Juniper Vale")
    for at_hand, there, elsewhere in (
        (shop, "Wren Marsh", "Juniper Vale"),
        (other_shop, "Juniper Vale", "Wren Marsh"),
    ):
        assert switch(client, at_hand) == reverse("home")
        page = client.get(reverse("customer-list")).content.decode()
        assert there in page
        assert elsewhere not in page


def test_a_form_acts_on_the_shop_its_page_was_made_for(
    client: Client, shop: Shop, other_shop: Shop
) -> None:
    """Two windows: the form was opened in one before the other switched."""
    switch(client, shop)
    form = client.get(reverse("customer-add")).context["form"]
    assert form["form_shop"].value() == shop.pk
    switch(client, other_shop)
    answer = client.post(reverse("customer-add"), {**NEW, "form_shop": shop.pk})
    assert Bowler.objects.get().shop == shop
    # What was saved opens: that shop is at hand again.
    assert client.get(answer["Location"]).status_code == 200


def test_a_refused_form_leaves_the_switch_alone(
    client: Client, shop: Shop, other_shop: Shop
) -> None:
    switch(client, other_shop)
    client.post(reverse("customer-add"), {**NEW, "name": "", "form_shop": shop.pk})
    assert client.session["shop"] == other_shop.pk


def test_every_form_of_the_page_says_its_shop(client: Client, shop: Shop) -> None:
    """The hand-written ones too: wherever a token is, the shop is."""
    switch(client, shop)
    page = client.get(reverse("customer-add")).content.decode()
    assert f'"x-shop": "{shop.pk}"' in page
    assert page.count('name="form_token"') == page.count('name="form_shop"') > 0


def test_a_small_request_says_its_shop(client: Client, shop: Shop, other_shop: Shop) -> None:
    Bowler.objects.create(shop=shop, name="Wren Marsh")
    switch(client, other_shop)
    asked = {"HX-Request": "true", "X-Shop": str(shop.pk)}
    assert "Wren Marsh" in client.get(reverse("customer-list"), headers=asked).content.decode()
    assert client.session["shop"] == other_shop.pk


@pytest.mark.parametrize("said", ["999999", "0", "-1", "x" * 300, "\N{ARABIC-INDIC DIGIT ONE}"])
def test_a_shop_that_isn_t_theirs_is_refused_and_nothing_saved(
    said: str, client: Client, owner_client: Client
) -> None:
    for somebody in (client, owner_client):
        answer = somebody.post(reverse("customer-add"), {**NEW, "form_shop": said})
        assert answer.status_code == 403
        assert "nothing was saved" in answer.content.decode()
    assert not Bowler.objects.exists()


def test_staff_of_one_shop_don_t_reach_another_by_naming_it(
    staff_client: Client, other_shop: Shop
) -> None:
    foreign = Bowler.objects.create(shop=other_shop, name="Juniper Vale")
    address = reverse("customer", args=[foreign.pk])
    assert staff_client.get(address).status_code == 404
    assert staff_client.get(address, HTTP_X_SHOP=str(other_shop.pk)).status_code == 403
    assert staff_client.post(reverse("shops"), {"shop": other_shop.pk}).status_code == 403


def test_a_page_of_another_shop_of_theirs_offers_the_switch(
    client: Client, shop: Shop, other_shop: Shop
) -> None:
    wren = Bowler.objects.create(shop=shop, name="Wren Marsh")
    address = reverse("customer", args=[wren.pk])
    switch(client, other_shop)
    page = client.get(address)
    assert page.status_code == 404
    assert "Look from Two Counters" in page.content.decode()
    assert "Wren Marsh" not in page.content.decode()
    assert switch(client, shop, next=address) == address
    assert client.get(address).status_code == 200


def test_the_switch_never_leads_to_another_site(client: Client, shop: Shop) -> None:
    assert switch(client, shop, next="https://elsewhere.example/") == reverse("home")


def test_access_that_ended_while_signed_in_ends_at_once(
    client: Client, tess: User, shop: Shop, other_shop: Shop
) -> None:
    switch(client, shop)
    assert "Two Counters" in client.get(reverse("home")).content.decode()
    tess.memberships.filter(shop=shop).delete()
    page = client.get(reverse("home")).content.decode()
    assert "Across the Street" in page
    assert "Two Counters" not in page


def test_staff_are_of_one_shop(staff: User, other_shop: Shop) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Membership.objects.create(user=staff, shop=other_shop, role=STAFF)
    with pytest.raises(IntegrityError), transaction.atomic():
        Membership.objects.create(user=staff, shop=staff.memberships.get().shop, role=OWNER)


def place(user: User, shop: Shop) -> int:
    return Membership.objects.get(user=user, shop=shop).pk


def test_a_new_colleague_chooses_a_password_by_the_owners_link(
    owner_client: Client, shop: Shop
) -> None:
    told = {"username": "piet", "first_name": "Piet", "last_name": "", "role": "staff"}
    page = owner_client.post(reverse("people"), told, follow=True).content.decode()
    found = re.search(r"http://testserver(/choose-password/\S+?/\S+?/)", page)
    assert found is not None
    theirs = Client()
    form = theirs.get(found[1], follow=True)
    new = "a longer and better one"
    theirs.post(form.redirect_chain[-1][0], {"new_password1": new, "new_password2": new})
    signed_in = theirs.post(reverse("sign-in"), {"username": "piet", "password": new})
    assert signed_in.status_code == 302
    assert "Two Counters" in theirs.get(reverse("home")).content.decode()


def test_a_name_is_taken_whatever_its_capitals(owner_client: Client, staff: User) -> None:
    told = {"username": "SAM", "first_name": "", "last_name": "", "role": "staff"}
    answer = owner_client.post(reverse("people"), told)
    assert "signs in with that name already" in answer.content.decode()


def test_an_owner_gives_a_colleague_another_of_their_shops(
    client: Client, staff: User, shop: Shop, other_shop: Shop
) -> None:
    switch(client, shop)
    address = reverse("person", args=[place(staff, shop)])
    both = {"role": "staff", "shops": [shop.pk, other_shop.pk]}
    assert "Staff work in one shop" in client.post(address, both).content.decode()
    client.post(address, {**both, "role": "owner"})
    assert set(staff.memberships.values_list("shop", "role")) == {
        (shop.pk, "owner"),
        (other_shop.pk, "owner"),
    }
    client.post(address, {"role": "staff", "shops": [other_shop.pk]})
    assert set(staff.memberships.values_list("shop", "role")) == {(other_shop.pk, "staff")}


def test_an_owner_can_t_give_shops_they_don_t_own(
    owner_client: Client, staff: User, shop: Shop, other_shop: Shop
) -> None:
    address = reverse("person", args=[place(staff, shop)])
    answer = owner_client.post(address, {"role": "owner", "shops": [shop.pk, other_shop.pk]})
    assert answer.status_code == 200
    assert set(staff.memberships.values_list("shop", flat=True)) == {shop.pk}


def test_what_is_wrong_with_the_only_shop_is_said(
    owner_client: Client, staff: User, shop: Shop, other_shop: Shop
) -> None:
    """With one shop there is nothing to choose, but its page may have been made when there was."""
    address = reverse("person", args=[place(staff, shop)])
    shown = owner_client.post(address, {"role": "staff", "shops": [other_shop.pk]})
    assert f"Select a valid choice. {other_shop.pk} is not" in shown.content.decode()
    shown = owner_client.post(address, {"role": "staff"})
    assert "Choose at least one shop" in shown.content.decode()
    assert set(staff.memberships.values_list("shop", flat=True)) == {shop.pk}


def test_a_co_owner_gets_no_way_into_another_owners_shop(
    owner_client: Client, tess: User, shop: Shop
) -> None:
    """With a link for them one could sign in as them, and see what they see elsewhere."""
    address = reverse("person-link", args=[place(tess, shop)])
    answer = owner_client.post(address)
    assert answer.status_code == 403
    assert "choose-password" not in answer.content.decode()


def test_nobody_locks_themselves_out(owner: User, owner_client: Client, shop: Shop) -> None:
    mine = place(owner, shop)
    owner_client.post(reverse("person-end", args=[mine]))
    owner_client.post(reverse("person", args=[mine]), {"role": "staff", "shops": [shop.pk]})
    assert Membership.objects.get(pk=mine).role == OWNER


def test_ended_access_ends_at_once(
    owner_client: Client, staff: User, staff_client: Client, shop: Shop
) -> None:
    assert staff_client.get(reverse("home")).status_code == 200
    owner_client.post(reverse("person-end", args=[place(staff, shop)]))
    assert staff_client.get(reverse("home")).status_code == 403


def test_an_owner_of_several_keeps_each_until_another_owner_takes_it(
    client: Client, tess: User, shop: Shop, other_shop: Shop
) -> None:
    switch(client, shop)
    address = reverse("person", args=[place(tess, shop)])
    answer = client.post(address, {"role": "owner", "shops": [shop.pk]})
    assert "take a shop of your own away" in answer.content.decode()
    assert set(tess.memberships.values_list("shop", flat=True)) == {shop.pk, other_shop.pk}
