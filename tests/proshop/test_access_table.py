"""Every address, looked at and sent a form to, by everybody, against the table of who may what."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern

from proshop.models import Membership, Shop
from tests.conftest import member
from tests.furnished import Furnished, furnish, patterns
from tests.fuzz.judged import writes

TABLE = Path(__file__).parents[2] / "proshop" / "ACCESS.md"
ROW = re.compile(r"^\| `(?P<address>/[^`]*)` \| (?P<what>[^|]+) \| (?P<who>[a-z; ]+) \|$", re.M)
WHO = {found["address"]: found["who"] for found in ROW.finditer(TABLE.read_text())}
ADDRESSES = [(f"/{route}", pattern, route) for pattern, route in patterns()]
# Outcomes.
SIGN_IN, REFUSED, NOTHING, MAY = "is sent to sign in", "is refused", "finds nothing", "may"
OWNERS_CHANGE = "staff; owners change"
# A form that names a second record, which isn't sent here: its own tests have both shops'.
OF_A_PAIR = {"/customers/<int:pk>/two/"}


def expected(who: str, person: str, of_a_record: bool) -> set[str]:
    """What may come of it."""
    if who in {"anyone", "link"}:
        return {MAY}
    if person == "stranger":
        return {SIGN_IN}
    if who == "signed in":
        return {MAY}
    if person == "without a shop":
        return {REFUSED}
    if person.startswith(("another", "owner of two, looking from the other")) and of_a_record:
        # Whichever is looked at first, the record or the role.
        return {NOTHING, REFUSED} if who == "owner" else {NOTHING}
    if who == "owner" and "owner" not in person:
        return {REFUSED}
    return {MAY}


def outcome(answer: HttpResponse) -> str:
    """Whether somebody was let in; a page that takes no such request lets nobody do anything."""
    if answer.status_code == 302 and "/sign-in/" in answer["Location"]:
        return SIGN_IN
    if answer.status_code == 403:
        return REFUSED
    if answer.status_code == 404:
        return NOTHING
    assert answer.status_code < 500, answer.status_code
    return MAY


@pytest.fixture
def people(
    shop: Shop,
    other_shop: Shop,
    staff: User,
    owner: User,
    other_staff: User,
    outsider: User,
    sign_in: Callable[[User], Client],
) -> dict[str, Client]:
    another = member("oona", other_shop, Membership.Role.OWNER)
    of_two = member("tess", shop, Membership.Role.OWNER)
    Membership.objects.create(user=of_two, shop=other_shop, role=Membership.Role.OWNER)
    return {
        "stranger": Client(),
        "without a shop": sign_in(outsider),
        "staff": sign_in(staff),
        "owner": sign_in(owner),
        "another shop's staff": sign_in(other_staff),
        "another shop's owner": sign_in(another),
        "owner of two, looking from this": looking_from(shop, sign_in(of_two)),
        "owner of two, looking from the other": looking_from(other_shop, sign_in(of_two)),
    }


def looking_from(shop: Shop, client: Client) -> Client:
    """Their session with one of their shops at hand, as the switch leaves it."""
    assert client.post("/shops/", {"shop": shop.pk}).status_code == 302
    assert client.session["shop"] == shop.pk
    return client


def test_the_table_has_every_address_and_no_other() -> None:
    assert set(WHO) == {address for address, _, _ in ADDRESSES}
    assert set(WHO.values()) <= {"anyone", "link", "signed in", "staff", "owner", OWNERS_CHANGE}


@pytest.mark.parametrize("method", ["get", "post"])
def test_everybody_may_what_the_table_says(
    method: str, people: dict[str, Client], shop: Shop, staff: User
) -> None:
    furnished = furnish(shop, staff)
    wrong = []
    for address, pattern, route in ADDRESSES:
        if pattern.name == "sign-out" and method == "post":
            # It would end the session for the requests to come; test_access.py has it.
            continue
        who = WHO[address]
        for person, client in people.items():
            answer = asked(client, method, furnished, pattern, route)
            asks = who
            if who == OWNERS_CHANGE:
                asks = "owner" if method == "post" else "staff"
            found, wanted = outcome(answer), expected(asks, person, _of_a_record(pattern))
            # Refused before it is looked up, or not taken at all: nothing was let through.
            if answer.status_code == 405 and wanted & {NOTHING, MAY}:
                continue
            if found == NOTHING and wanted == {MAY} and address in OF_A_PAIR:
                continue
            if found not in wanted:
                wrong.append(f"{method} {address}: {person} {found}, not {' or '.join(wanted)}")
    assert wrong == []


def test_no_other_method_opens_another_door(
    people: dict[str, Client], shop: Shop, staff: User
) -> None:
    """They are refused, or answered as a look is, and change nothing that a look doesn't."""
    furnished = furnish(shop, staff)
    wrong = []
    for address, pattern, route in ADDRESSES:
        for person in ("stranger", "staff", "another shop's staff"):
            with writes() as by_looking:
                looked = outcome(asked(people[person], "get", furnished, pattern, route))
            for method in ("head", "put", "delete"):
                with writes() as written:
                    answer = asked(people[person], method, furnished, pattern, route)
                if answer.status_code != 405 and outcome(answer) != looked:
                    wrong.append(f"{method} {address}: {person} {outcome(answer)}, not {looked}")
                if more := set(written) - set(by_looking):
                    wrong.append(f"{method} {address}: {person} changes by {more}")
    assert wrong == []


def asked(
    client: Client, method: str, furnished: Furnished, pattern: URLPattern, route: str
) -> HttpResponse:
    """One request, of which nothing stays."""
    with transaction.atomic():
        answer: HttpResponse = getattr(client, method)(furnished.address(pattern, route))
        transaction.set_rollback(True)
    return answer


def _of_a_record(pattern: URLPattern) -> bool:
    return bool(pattern.pattern.converters)
