"""A second step to sign in, for those who want it."""

import time
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice

from proshop.accounts import second
from proshop.models import Membership, Shop
from tests.conftest import PASSWORD, member

SECOND = "/account/second/"
# RFC 6238, appendix B: the seed, and the codes of its SHA-1 column, of which ours are the last six.
RFC_KEY = b"12345678901234567890".hex()
RFC_CODES = {
    59: "94287082",
    1111111109: "07081804",
    1111111111: "14050471",
    1234567890: "89005924",
    2000000000: "69279037",
    20000000000: "65353130",
}


def shown(device: TOTPDevice) -> str:
    """What a telephone that knows the secret shows."""
    return f"{totp(device.bin_key):06d}"


@pytest.fixture
def on(staff: User) -> TOTPDevice:
    """Sam's second step, switched on."""
    device: TOTPDevice = TOTPDevice.objects.create(
        user=staff, key=second.new_key(), confirmed=True, name="telephone"
    )
    return device


def password_given(client: Client, then: str = "") -> Any:
    return client.post(reverse("sign-in"), {"username": "sam", "password": PASSWORD, "next": then})


def test_codes_are_those_of_the_standard(staff: User, monkeypatch: pytest.MonkeyPatch) -> None:
    for moment, code in RFC_CODES.items():
        monkeypatch.setattr("django_otp.plugins.otp_totp.models.time.time", lambda m=moment: m)
        device = TOTPDevice.objects.create(user=staff, key=RFC_KEY, confirmed=True)
        assert device.verify_token(int(code[-6:])), moment


def test_it_is_switched_on_by_showing_that_it_works(staff: User, staff_client: Client) -> None:
    page = staff_client.get(SECOND)
    assert "<svg" in page.content.decode()
    key = staff_client.session["second key"]
    assert second.as_typed(key) in page.content.decode()
    # The secret stays the same while one tries.
    right = shown(second.telephone(staff, key))
    wrong = f"{(int(right) + 1) % 1_000_000:06d}"
    for code, password in ((wrong, PASSWORD), (right, "not mine")):
        refused = staff_client.post(SECOND, {"code": code, "password": password})
        assert refused.status_code == 200
        assert not second.has_one(staff)
    assert staff_client.session["second key"] == key
    done = staff_client.post(
        SECOND, {"code": f"{right[:3]} {right[3:]}", "password": PASSWORD}, follow=True
    )
    assert second.has_one(staff)
    codes = done.context["codes"]
    assert len(set(codes)) == 10
    # Shown once.
    assert codes[0] not in staff_client.get(SECOND).content.decode()
    assert staff_client.get(reverse("home")).status_code == 200


def test_switching_it_on_ends_sessions_elsewhere(
    staff: User, staff_client: Client, sign_in: Callable[[User], Client], second_staff: User
) -> None:
    elsewhere, colleague = sign_in(staff), sign_in(second_staff)
    staff_client.get(SECOND)
    code = shown(second.telephone(staff, staff_client.session["second key"]))
    staff_client.post(SECOND, {"code": code, "password": PASSWORD})
    assert elsewhere.get(reverse("home")).status_code == 302
    assert staff_client.get(reverse("home")).status_code == 200
    assert colleague.get(reverse("home")).status_code == 200


def test_the_password_alone_lets_nobody_in(on: TOTPDevice, stranger_client: Client) -> None:
    answer = password_given(stranger_client)
    assert answer["Location"] == reverse("sign-in-code")
    assert stranger_client.get(reverse("home")).status_code == 302
    assert stranger_client.get(SECOND).status_code == 302
    asked = stranger_client.get(reverse("sign-in-code")).content.decode()
    assert "six digits" in asked


def test_password_and_code_let_in_and_lead_where_one_was_going(
    on: TOTPDevice, stranger_client: Client
) -> None:
    password_given(stranger_client, reverse("glossary"))
    answer = stranger_client.post(reverse("sign-in-code"), {"code": shown(on)})
    assert answer["Location"] == reverse("glossary")
    assert stranger_client.get(reverse("glossary")).status_code == 200


def test_a_code_works_once(on: TOTPDevice, stranger_client: Client) -> None:
    password_given(stranger_client)
    code = shown(on)
    assert stranger_client.post(reverse("sign-in-code"), {"code": code}).status_code == 302
    again = Client()
    password_given(again)
    answer = again.post(reverse("sign-in-code"), {"code": code})
    assert answer.status_code == 200
    assert "was used already" in answer.content.decode()
    assert again.get(reverse("home")).status_code == 302


def test_guessing_is_slowed_down(on: TOTPDevice, stranger_client: Client) -> None:
    password_given(stranger_client)
    right = shown(on)
    wrong = f"{(int(right) + 1) % 1_000_000:06d}"
    for _ in range(3):
        stranger_client.post(reverse("sign-in-code"), {"code": wrong})
    # Even the right one is refused for a while.
    assert stranger_client.post(reverse("sign-in-code"), {"code": right}).status_code == 200
    on.refresh_from_db()
    assert on.throttling_failure_count >= 1


def test_a_recovery_code_works_once_in_place_of_the_telephone(
    on: TOTPDevice, staff: User, stranger_client: Client
) -> None:
    code = second.recovery_codes(user=staff)[0]
    for expected in (302, 200):
        client = Client()
        password_given(client)
        answer = client.post(reverse("sign-in-code"), {"code": f" {code.upper()} "})
        assert answer.status_code == expected
    assert second.codes_left(staff) == 9


def test_being_half_in_ends(
    on: TOTPDevice, staff: User, stranger_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    password_given(stranger_client)
    later = time.time() + second.HALF_IN_FOR_S + 1
    with monkeypatch.context() as late:
        late.setattr("proshop.accounts.second.time.time", lambda: later)
        answer = stranger_client.post(reverse("sign-in-code"), {"code": shown(on)})
    assert "Sign in from the start" in answer.content.decode()
    # Nor does it outlive the password.
    staff.set_password("another one by now")
    staff.save()
    answer = stranger_client.post(reverse("sign-in-code"), {"code": shown(on)})
    assert "Sign in from the start" in answer.content.decode()


@pytest.mark.parametrize(
    "code", ["", " ", "0" * 400, "１２３４５６", "12345678901", "\0", "²²²²²²"]
)
def test_what_is_no_code_is_refused_in_words(
    code: str, on: TOTPDevice, stranger_client: Client
) -> None:
    password_given(stranger_client)
    answer = stranger_client.post(reverse("sign-in-code"), {"code": code})
    assert answer.status_code == 200
    assert stranger_client.get(reverse("home")).status_code == 302


def test_it_is_switched_off_and_codes_are_made_anew_by_who_knows_the_password(
    on: TOTPDevice, staff: User, staff_client: Client
) -> None:
    for name in ("second-codes", "second-end"):
        assert staff_client.post(reverse(name), {"password": "no"}).status_code == 200
    assert second.codes_left(staff) == 0
    staff_client.post(reverse("second-codes"), {"password": PASSWORD})
    assert second.codes_left(staff) == 10
    staff_client.post(reverse("second-end"), {"password": PASSWORD})
    assert not second.has_one(staff)
    assert second.codes_left(staff) == 0


def test_an_owner_switches_it_off_for_who_lost_the_telephone(
    on: TOTPDevice, staff: User, owner_client: Client, shop: Shop
) -> None:
    owner_client.post(reverse("person-second-end", args=[staff.memberships.get().pk]))
    assert not second.has_one(staff)


def test_a_co_owner_doesn_t_switch_it_off_for_another_owner(
    owner_client: Client, shop: Shop, other_shop: Shop
) -> None:
    tess = member("tess", shop, Membership.Role.OWNER)
    Membership.objects.create(user=tess, shop=other_shop, role=Membership.Role.OWNER)
    TOTPDevice.objects.create(user=tess, confirmed=True)
    place = Membership.objects.get(user=tess, shop=shop)
    answer = owner_client.post(reverse("person-second-end", args=[place.pk]))
    assert answer.status_code == 403
    assert second.has_one(tess)


def test_it_is_demanded_of_nobody_unless_the_installation_says_so(
    staff_client: Client, owner_client: Client, settings: Any
) -> None:
    for setting, staff_may, owner_may in (
        ("", True, True),
        ("owners", True, False),
        ("everyone", False, False),
    ):
        settings.SECOND_FACTOR = setting
        for client, may in ((staff_client, staff_may), (owner_client, owner_may)):
            answer = client.get(reverse("home"))
            assert (answer.status_code == 200) is may
            if not may:
                assert answer["Location"] == SECOND
                assert client.get(SECOND).status_code == 200


def test_the_command_line_lets_in_who_lost_everything(on: TOTPDevice, staff: User) -> None:
    call_command("add_person", "sam", shop="Two Counters", forget_second=True, verbosity=0)
    assert not second.has_one(staff)
