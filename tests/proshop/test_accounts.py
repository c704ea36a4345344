"""One's own account: a password forgotten, changed and chosen, and sessions that end."""

import re
import time
import uuid
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core import mail
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from tests.conftest import PASSWORD

NEW = "a longer and better one"


@pytest.fixture(autouse=True)
def nothing_counted() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def sam(staff: User) -> User:
    staff.email = "sam@shop.example"
    staff.save()
    return staff


def asked(client: Client, email: str = "sam@shop.example", **more: str) -> None:
    answer = client.post(reverse("forgotten"), {"email": email, **more})
    assert answer["Location"] == reverse("forgotten-sent")


def link() -> str:
    """The way to where the last mail leads."""
    found = re.search(r"http://testserver(/choose-password/\S+)", str(mail.outbox[-1].body))
    assert found is not None
    return found[1]


def choose(client: Client, address: str, password: str = NEW) -> Any:
    page = client.get(address, follow=True)
    where = page.redirect_chain[-1][0] if page.redirect_chain else address
    return client.post(where, {"new_password1": password, "new_password2": password})


def may_sign_in(password: str) -> bool:
    return (
        Client().post(reverse("sign-in"), {"username": "sam", "password": password}).status_code
        == 302
    )


def test_a_forgotten_password_is_chosen_anew_by_mail(sam: User, stranger_client: Client) -> None:
    asked(stranger_client)
    assert mail.outbox[0].to == ["sam@shop.example"]
    assert "account sam" in str(mail.outbox[0].body)
    assert choose(stranger_client, link())["Location"] == reverse("password-chosen")
    assert may_sign_in(NEW)
    assert not may_sign_in(PASSWORD)


def test_a_link_works_once(sam: User, stranger_client: Client) -> None:
    asked(stranger_client)
    choose(stranger_client, link())
    page = Client().get(link(), follow=True)
    assert "This link no longer works" in page.content.decode()
    assert may_sign_in(NEW)


def test_a_link_works_for_a_day(sam: User, settings: Any, stranger_client: Client) -> None:
    asked(stranger_client)
    settings.PASSWORD_RESET_TIMEOUT = -1
    page = stranger_client.get(link(), follow=True)
    assert "This link no longer works" in page.content.decode()


def test_nobody_is_told_whether_an_address_is_known(sam: User, stranger_client: Client) -> None:
    asked(stranger_client, "nobody@shop.example")
    assert mail.outbox == []


def test_pressing_twice_sends_one_mail(sam: User, stranger_client: Client) -> None:
    token = str(uuid.uuid4())
    asked(stranger_client, form_token=token)
    asked(stranger_client, form_token=token)
    assert len(mail.outbox) == 1


def test_nobodys_letter_box_is_filled(sam: User, stranger_client: Client) -> None:
    for _ in range(12):
        asked(stranger_client)
    assert len(mail.outbox) == 5


def test_choosing_a_password_opens_a_locked_door_and_ends_other_sessions(
    sam: User, stranger_client: Client, sign_in: Callable[[User], Client]
) -> None:
    elsewhere = sign_in(sam)
    for _ in range(5):
        stranger_client.post(reverse("sign-in"), {"username": "sam", "password": "wrong"})
    assert not may_sign_in(PASSWORD)
    asked(stranger_client)
    choose(stranger_client, link())
    assert may_sign_in(NEW)
    assert elsewhere.get(reverse("home")).status_code == 302


@pytest.mark.parametrize(
    ("password", "said"),
    [
        ("short", "at least 10"),
        ("password123", "too common"),
        ("73019284650", "entirely numeric"),
        ("sam-sam-sam", "too similar"),
    ],
)
def test_a_password_anybody_guesses_is_refused(
    password: str, said: str, sam: User, stranger_client: Client
) -> None:
    sam.username = "sam-sam-sam"
    sam.save()
    asked(stranger_client)
    answer = choose(stranger_client, link(), password)
    assert answer.status_code == 200
    assert said in answer.content.decode()


def test_ones_own_password_is_changed_by_who_knows_it(
    sam: User, staff_client: Client, sign_in: Callable[[User], Client]
) -> None:
    elsewhere = sign_in(sam)
    form = {"old_password": "wrong", "new_password1": NEW, "new_password2": NEW}
    assert staff_client.post(reverse("change-password"), form).status_code == 200
    done = staff_client.post(reverse("change-password"), {**form, "old_password": PASSWORD})
    assert done["Location"] == reverse("account")
    assert may_sign_in(NEW)
    assert staff_client.get(reverse("home")).status_code == 200
    assert elsewhere.get(reverse("home")).status_code == 302


def test_the_mail_address_is_changed_by_who_knows_the_password(
    sam: User, staff_client: Client
) -> None:
    form = {"first_name": "Sam", "last_name": "", "email": "thief@example.com", "password": "no"}
    answer = staff_client.post(reverse("account"), form)
    assert "That isn’t your password" in answer.content.decode()
    assert User.objects.get(pk=sam.pk).email == "sam@shop.example"
    done = staff_client.post(
        reverse("account"), {**form, "email": "sam@home.example", "password": PASSWORD}
    )
    assert done.status_code == 302
    assert User.objects.get(pk=sam.pk).email == "sam@home.example"


def at(monkeypatch: pytest.MonkeyPatch, seconds: float) -> None:
    now = time.time()
    monkeypatch.setattr("proshop.accounts.sessions.time.time", lambda: now + seconds)


def test_the_cookie_ends_with_the_browser(sam: User, stranger_client: Client) -> None:
    stranger_client.post(reverse("sign-in"), {"username": "sam", "password": PASSWORD})
    cookie = stranger_client.cookies["sessionid"]
    assert cookie["max-age"] == ""
    assert cookie["expires"] == ""


def test_nobody_is_signed_in_for_longer_than_a_day_of_work(
    staff_client: Client, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert staff_client.get(reverse("home")).status_code == 200
    at(monkeypatch, settings.SESSION_LONGEST_S - 60)
    assert staff_client.get(reverse("home")).status_code == 200
    at(monkeypatch, settings.SESSION_LONGEST_S + 60)
    assert staff_client.get(reverse("home")).status_code == 302


def test_an_idle_session_ends_and_a_used_one_goes_on(
    staff_client: Client, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The row's own end is what ends it; using the site moves that end on, but not each time."""
    session = staff_client.session
    assert session.get_expiry_age() == settings.SESSION_COOKIE_AGE
    noted = session["seen"]
    staff_client.get(reverse("home"))
    assert staff_client.session["seen"] == noted
    at(monkeypatch, 400)
    staff_client.get(reverse("home"))
    assert staff_client.session["seen"] >= noted + 400
    from django.contrib.sessions.models import Session
    from django.utils import timezone

    Session.objects.update(expire_date=timezone.now())
    assert staff_client.get(reverse("home")).status_code == 302


def test_a_link_to_choose_a_password_isn_t_logged() -> None:
    import logging

    from proshop.requests import WithoutKeys

    token = "c8x2fa-0123456789abcdef0123456789abcdef"
    record = logging.LogRecord(
        "x", 20, "", 0, "Not Found: %s", (f"/choose-password/MQ/{token}/",), None
    )
    WithoutKeys().filter(record)
    assert token not in record.getMessage()
