"""Accounts are made at the command line, with passwords printed once."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from proshop.models import Membership, Shop


def told_password(*arguments: str) -> str:
    said = StringIO()
    call_command("add_person", *arguments, stdout=said)
    return said.getvalue().rsplit(": ", 1)[1].strip()


@pytest.mark.django_db
def test_a_new_owner_signs_in_with_the_password_told(client: Client) -> None:
    password = told_password("olive", "--shop", "Two Counters", "--role", "owner")
    answer = client.post(reverse("sign-in"), {"username": "olive", "password": password})
    assert answer["Location"] == reverse("home")
    membership = Membership.objects.get()
    assert (membership.role, membership.shop.name) == ("owner", "Two Counters")


@pytest.mark.django_db
def test_asking_again_gives_a_new_password_and_no_second_shop() -> None:
    first = told_password("olive", "--shop", "Two Counters")
    second = told_password("olive", "--shop", "Two Counters")
    assert first != second
    assert Shop.objects.count() == 1


@pytest.mark.django_db
def test_nobody_is_moved_to_another_shop_by_mistake() -> None:
    told_password("olive", "--shop", "Two Counters")
    with pytest.raises(CommandError, match="already works at Two Counters"):
        call_command("add_person", "olive", "--shop", "Across the Street")
    assert Membership.objects.get().shop.name == "Two Counters"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["", "--shop", "Two Counters"], "username: This field is required"),
        (["a b", "--shop", "Two Counters"], "username: Enter a valid username"),
        (["olive", "--shop", ""], "shop: This field is required"),
        (["olive", "--shop", "x" * 81], "shop: Ensure this value has at most 80 characters"),
        (["olive", "--shop", "\ud800"], "shop: This is no text"),
        (["olive", "--shop", "\0"], "shop: Null characters are not allowed"),
        (["olive", "--shop", "Two Counters", "--name", "\udcff"], "name: This is no text"),
    ],
)
def test_what_no_account_can_have_is_refused_by_its_name(arguments: list[str], said: str) -> None:
    with pytest.raises(CommandError, match=said):
        call_command("add_person", *arguments)
    assert not Shop.objects.exists()


@pytest.mark.django_db
def test_a_name_is_what_the_site_calls_them() -> None:
    told_password("olive", "--shop", "Two Counters", "--name", "Olive Reed")
    told_password("olive", "--shop", "Two Counters")
    assert Membership.objects.get().user.get_full_name() == "Olive Reed"
