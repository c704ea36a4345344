"""A second factor for those who switch it on: a code of their telephone beside the password.

Time-based codes (RFC 6238) and recovery codes by django-otp, which also slows guessing down.
Between the password and the code nobody is signed in: the session only says who is half in.
"""

from __future__ import annotations

import time
from base64 import b32encode
from typing import Any, NamedTuple

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.auth.models import User
from django.contrib.sessions.models import Session
from django.db import transaction
from django.http import HttpRequest
from django.utils import timezone
from django_otp import user_has_device
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice
from django_otp.util import random_hex

HALF_IN = "half in"
HALF_IN_FOR_S = 300
RECOVERY_CODES = 10


class HalfIn(NamedTuple):
    """Somebody who gave the right password, and where they were going."""

    user: User
    backend: str
    then: str


def has_one(user: Any) -> bool:
    return bool(user_has_device(user))


def wait_for_code(request: HttpRequest, user: Any, then: str) -> None:
    """Remember whose password was right. Bound to that password: it may change in the meantime."""
    request.session.flush()
    request.session[HALF_IN] = {
        "user": user.pk,
        "backend": user.backend,
        "then": then,
        "at": int(time.time()),
        "hash": user.get_session_auth_hash(),
    }


def half_in(request: HttpRequest) -> HalfIn | None:
    """Who waits for the code to be asked; None after five minutes."""
    kept = request.session.get(HALF_IN)
    if not kept or time.time() - kept["at"] > HALF_IN_FOR_S:
        return None
    user = User.objects.filter(pk=kept["user"], is_active=True).first()
    if user is None or user.get_session_auth_hash() != kept["hash"]:
        return None
    return HalfIn(user, kept["backend"], kept["then"])


def is_demanded(role: str) -> bool:
    """Whether this installation wants it of people in this role."""
    return settings.SECOND_FACTOR in ("everyone", f"{role}s")


def new_key() -> str:
    """A secret of 160 bits, which RFC 4226 recommends, in hexadecimal."""
    return str(random_hex(20))


def telephone(user: User, key: str) -> TOTPDevice:
    """A telephone that knows this secret; not stored before a code of it was seen."""
    return TOTPDevice(user=user, name="telephone", key=key, confirmed=True)


def stored_if_it_fits(device: TOTPDevice, typed: str) -> bool:
    """Store a telephone if the code is one of its own: its check counts in the database."""
    with transaction.atomic():
        device.save()
        fits = bool(device.verify_token(typed))
        if not fits:
            transaction.set_rollback(True)
    return fits


def as_typed(key: str) -> str:
    """The secret as an application takes it by hand: base 32 in groups of four."""
    text = b32encode(bytes.fromhex(key)).decode().rstrip("=")
    return " ".join(text[n : n + 4] for n in range(0, len(text), 4))


@transaction.atomic
def switch_on(*, request: HttpRequest, device: TOTPDevice) -> list[str]:
    """From now on signing in takes a code of this telephone; sessions elsewhere end."""
    user = device.user
    TOTPDevice.objects.filter(user=user).exclude(pk=device.pk).delete()
    end_other_sessions(user, request.session.session_key)
    return recovery_codes(user=user)


@transaction.atomic
def recovery_codes(*, user: User) -> list[str]:
    """New codes in place of the old ones, each of which works once in place of the telephone."""
    StaticDevice.objects.filter(user=user).delete()
    device = StaticDevice.objects.create(user=user, name="recovery codes")
    codes = [StaticToken.random_token() for _ in range(RECOVERY_CODES)]
    for code in codes:
        device.token_set.create(token=code)
    return codes


@transaction.atomic
def switch_off(*, user: User) -> None:
    TOTPDevice.objects.filter(user=user).delete()
    StaticDevice.objects.filter(user=user).delete()


def codes_left(user: User) -> int:
    return int(StaticToken.objects.filter(device__user=user).count())


def end_other_sessions(user: User, but: str | None) -> None:
    for session in Session.objects.filter(expire_date__gt=timezone.now()).exclude(session_key=but):
        if session.get_decoded().get(SESSION_KEY) == str(user.pk):
            session.delete()
