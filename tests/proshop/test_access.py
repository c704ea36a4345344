"""Who gets in: everybody's story, at every address of the site."""

import re
from collections.abc import Callable

import pytest
from django.conf import settings
from django.contrib.auth.models import AnonymousUser, User
from django.contrib.sessions.backends.db import SessionStore
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.test import Client, RequestFactory
from django.urls import URLPattern, reverse

from proshop import access
from proshop.access import ShopRequest, owner_required
from proshop.models import Shop
from tests.conftest import PASSWORD
from tests.furnished import Furnished, furnish, patterns

# What a stranger may open, and what each is answered to a look and to a form.
OPEN_TO_STRANGERS = {
    "sign-in": (200, 200),
    "health": (200, 405),
    "forgotten": (200, 200),
    "forgotten-sent": (200, 405),
    "password-chosen": (200, 405),
    "sign-in-code": (200, 200),
    # Its address is the key, once: see test_accounts.py.
    "choose-password": (302, 302),
    # Its address is the key: see tests/arsenal/test_phone.py.
    "phone-page": (200, 405),
    "phone-by-ball": (200, 405),
    "phone-report": (405, 422),
    "phone-worker": (200, 405),
}
EVERY_ADDRESS = list(patterns())
NAMES = [str(pattern.name) for pattern, _ in EVERY_ADDRESS]
# Refused by the role before any record is looked up: test_access_table.py has them.
OF_THE_OWNER = {
    *("person", "person-link", "person-end", "person-second-end"),
    *("customer-privacy", "customer-export"),
}
OF_A_RECORD = [
    (pattern, route)
    for pattern, route in EVERY_ADDRESS
    if pattern.pattern.converters and pattern.name not in {*OPEN_TO_STRANGERS, *OF_THE_OWNER}
]


@pytest.fixture
def furnished(shop: Shop, staff: User) -> Furnished:
    return furnish(shop, staff)


def test_the_site_has_pages_of_every_room() -> None:
    assert {"home", "customer-list", "bag", "catalogue", "houses", "next-ball"} <= set(NAMES)


@pytest.mark.parametrize(("pattern", "route"), EVERY_ADDRESS, ids=NAMES)
def test_a_stranger_is_sent_to_the_sign_in_page(
    pattern: URLPattern, route: str, stranger_client: Client, furnished: Furnished
) -> None:
    address = furnished.address(pattern, route)
    for n, response in enumerate((stranger_client.get(address), stranger_client.post(address))):
        if pattern.name in OPEN_TO_STRANGERS:
            assert response.status_code == OPEN_TO_STRANGERS[str(pattern.name)][n]
        else:
            assert response.status_code == 302
            assert response["Location"].startswith(reverse(settings.LOGIN_URL))


@pytest.mark.parametrize(
    ("pattern", "route"), OF_A_RECORD, ids=[str(pattern.name) for pattern, _ in OF_A_RECORD]
)
def test_another_shops_staff_find_nothing(
    pattern: URLPattern, route: str, other_staff_client: Client, furnished: Furnished
) -> None:
    """404 rather than 403: whether the record exists is no business of theirs."""
    address = furnished.address(pattern, route)
    seen = other_staff_client.get(address)
    changed = other_staff_client.post(address, {"version": 1, "record_version": 1})
    assert {seen.status_code, changed.status_code} <= {404, 405}
    assert 404 in {seen.status_code, changed.status_code}


@pytest.mark.parametrize("name", sorted(OF_THE_OWNER))
def test_another_shops_staff_are_refused_by_role_whether_or_not_there_is_a_record(
    name: str, other_staff_client: Client, furnished: Furnished
) -> None:
    """The same answer for a record of another shop and for none: nothing is learnt by asking."""
    pattern, route = next(entry for entry in EVERY_ADDRESS if entry[0].name == name)
    there = furnished.address(pattern, route)
    nowhere = re.sub(r"\d+", "999999", there)
    for address in (there, nowhere):
        assert other_staff_client.get(address).status_code in {403, 405}
        assert other_staff_client.post(address, {"version": 1}).status_code in {403, 405}
    assert [other_staff_client.get(a).status_code for a in (there, nowhere)] in (
        [403, 403],
        [405, 405],
    )


@pytest.mark.parametrize("name", ["customer", "owned-ball", "ball-model", "house", "condition"])
def test_the_shops_own_staff_find_their_records(
    name: str, staff_client: Client, furnished: Furnished
) -> None:
    pattern, route = next(entry for entry in EVERY_ADDRESS if entry[0].name == name)
    assert staff_client.get(furnished.address(pattern, route)).status_code == 200


@pytest.mark.parametrize("name", ["home", "customer-list", "shelf", "catalogue", "houses"])
def test_lists_hold_nothing_of_another_shop(
    name: str, other_staff_client: Client, furnished: Furnished
) -> None:
    page = other_staff_client.get(reverse(name)).content.decode()
    for foreign in ("Wren Marsh", "Alder", "Quarry Lanes"):
        assert foreign not in page


def test_somebody_without_a_shop_is_told_whom_to_ask(
    outsider: User, sign_in: Callable[[User], Client]
) -> None:
    response = sign_in(outsider).get(reverse("home"))
    assert response.status_code == 403
    assert "Ask the owner" in response.content.decode()


def test_pages_of_the_owner_are_closed_to_staff(staff: User, owner: User) -> None:
    @owner_required
    def page(request: ShopRequest) -> HttpResponse:
        return HttpResponse("the owner's page")

    request = RequestFactory().get("/")
    request.session = SessionStore()
    request.user = owner
    assert page(request).status_code == 200
    request = RequestFactory().get("/")
    request.session = SessionStore()
    request.user = staff
    with pytest.raises(PermissionDenied):
        page(request)


def test_signing_in_leads_back_to_where_one_was_going(staff: User, stranger_client: Client) -> None:
    glossary = reverse("glossary")
    turned_away = stranger_client.get(glossary)
    arrived = stranger_client.post(
        turned_away["Location"], {"username": "sam", "password": PASSWORD, "next": glossary}
    )
    assert arrived.status_code == 302
    assert arrived["Location"] == glossary


def test_signing_in_never_leads_to_another_site(staff: User, stranger_client: Client) -> None:
    details = {"username": "sam", "password": PASSWORD, "next": "https://elsewhere.example/"}
    assert stranger_client.post(reverse("sign-in"), details)["Location"] == reverse("home")


def test_five_wrong_passwords_close_the_door(staff: User, stranger_client: Client) -> None:
    wrong = {"username": "sam", "password": "not this one"}
    answers = [stranger_client.post(reverse("sign-in"), wrong) for _ in range(5)]
    assert [answer.status_code for answer in answers] == [200, 200, 200, 200, 429]
    right = {"username": "sam", "password": PASSWORD}
    locked = stranger_client.post(reverse("sign-in"), right)
    assert locked.status_code == 429
    assert "quarter of an hour" in locked.content.decode()


def test_a_locked_name_leaves_colleagues_alone(
    staff: User, second_staff: User, stranger_client: Client
) -> None:
    for _ in range(6):
        stranger_client.post(reverse("sign-in"), {"username": "sam", "password": "wrong"})
    right = {"username": "dana", "password": PASSWORD}
    assert stranger_client.post(reverse("sign-in"), right).status_code == 302


def test_signing_out_takes_a_button_and_not_a_link(staff_client: Client) -> None:
    assert staff_client.get(reverse("sign-out")).status_code == 405
    assert staff_client.post(reverse("sign-out")).status_code == 302
    assert staff_client.get(reverse("home")).status_code == 302


def test_each_page_asks_who_comes_itself(shop: Shop) -> None:
    """Without what stands before all pages (the middleware) nobody gets in either."""
    request = RequestFactory().get("/customers/")
    request.user = AnonymousUser()
    for guard in (access.staff_required, access.owner_required, access.person_required):

        @guard
        def page(request: access.ShopRequest) -> HttpResponse:
            raise AssertionError("let in")

        answer = page(request)
        assert answer.status_code == 302
        assert answer["Location"] == f"{reverse('sign-in')}?next=/customers/"
