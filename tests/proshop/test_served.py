"""The site as it is served to the world: the settings the README gives, and what is refused.

What is asked of a server is Django's deployment checklist (docs.djangoproject.com, "check
--deploy") and the headers that RFC 6797 (HSTS) and the W3C's Content Security Policy describe.
"""

import json
import os
import re
import secrets
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client, RequestFactory
from django.urls import reverse

from proshop import keys
from proshop import settings as own
from proshop.requests import client_address

README = Path(settings.BASE_DIR, "README.md").read_text()
GOOD_KEY = secrets.token_urlsafe(50)
ASKED = """
import json
from django.conf import settings
from django.test import Client
settings.STORAGES["staticfiles"]["BACKEND"] = (
    "django.contrib.staticfiles.storage.StaticFilesStorage"
)
page = Client().get("/sign-in/", secure=True, HTTP_HOST="shop.example.com")
plain = Client().get("/sign-in/", HTTP_HOST="shop.example.com")
watched = Client().get("/health/", HTTP_HOST="localhost")
strange = Client().get("/sign-in/", secure=True, HTTP_HOST="elsewhere.example")
print(json.dumps({
    "headers": {name.lower(): value for name, value in page.headers.items()},
    "cookies": {name: dict(cookie) for name, cookie in page.cookies.items()},
    "plain": [plain.status_code, plain.get("Location", "")],
    "watched": watched.status_code,
    "strange": strange.status_code,
}, default=str))
"""


def documented() -> dict[str, str]:
    """The variables of the README's example, with a key of its own."""
    block = re.search(r"```ini\n(.*?)```", README, re.S)
    assert block is not None
    told = dict(line.split("=", 1) for line in block[1].splitlines() if re.match(r"[A-Z_]+=", line))
    assert told["SECRET_KEY"] == keys.EXAMPLE_KEY
    return {**told, "SECRET_KEY": GOOD_KEY}


# Where things are, and that what runs is measured, where it is.
KEPT = ("PATH", "HOME", "LANG", "COVERAGE_PROCESS_CONFIG")


def run(*arguments: str, **changed: str | None) -> subprocess.CompletedProcess[str]:
    """``manage.py`` with the documented settings and nothing else of this process's."""
    kept = {name: os.environ[name] for name in KEPT if name in os.environ}
    given = {**kept, "NUMBA_CACHE_DIR": settings.NUMBA_CACHE_DIR, **documented(), **changed}
    return subprocess.run(
        [sys.executable, str(settings.BASE_DIR / "manage.py"), *arguments],
        env={name: value for name, value in given.items() if value is not None},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


@pytest.mark.parametrize("preload", ["0", "1"])
def test_djangos_checklist_finds_nothing(preload: str) -> None:
    done = run("check", "--deploy", "--fail-level", "INFO", HSTS_PRELOAD=preload)
    assert done.returncode == 0, done.stderr
    # One thing is decided rather than forgotten, and may be decided otherwise.
    assert f"no issues ({1 - int(preload)} silenced)" in done.stdout


def test_a_site_without_its_settings_would_be_told() -> None:
    """The check itself can fail: without HTTPS there is something to say."""
    done = run("check", "--deploy", "--fail-level", "INFO", HTTPS="0")
    assert done.returncode != 0
    assert "security.W008" in done.stderr


@pytest.fixture(scope="module")
def served() -> Any:
    done = run("shell", "--no-imports", "-c", ASKED, DATABASE_URL="sqlite://:memory:")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def test_browsers_are_held_to_https(served: Any) -> None:
    said = served["headers"]["strict-transport-security"]
    # RFC 6797 leaves the length open; a year is what lists of such sites ask for.
    assert said == "max-age=31536000; includeSubDomains"
    assert served["plain"] == [301, "https://shop.example.com/sign-in/"]


def test_whoever_watches_the_site_asks_without_the_proxy(served: Any) -> None:
    # The database of this process is empty: it is answered, and says so.
    assert served["watched"] == 503


def test_another_host_name_is_not_served(served: Any) -> None:
    assert served["strange"] == 400


def test_cookies_go_over_https_only_and_no_script_reads_them(served: Any) -> None:
    assert served["cookies"]
    for cookie in served["cookies"].values():
        assert cookie["secure"] is True
        assert cookie["httponly"] is True
        assert cookie["samesite"] == "Lax"


def test_pages_are_framed_by_nobody_and_say_little_of_themselves(served: Any) -> None:
    headers = served["headers"]
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("short", "has 5 characters of at least 50"),
        ("a" * 60, "is one piece repeated"),
        ("correct-horse-" * 5, "is one piece repeated"),
        ("abcdefgh" + "a" * 50, "of a few characters again and again"),
        (keys.EXAMPLE_KEY, "the one of an example"),
        pytest.param("django-insecure-" + GOOD_KEY, "the one of an example", id="insecure"),
        ("", "is missing"),
    ],
)
def test_a_weak_key_is_refused_with_the_remedy(key: str, said: str) -> None:
    done = run("check", SECRET_KEY=key)
    assert done.returncode != 0
    told = done.stderr.splitlines()
    assert any(f"SECRET_KEY {said}" in line or said in line for line in told), done.stderr[-500:]
    assert keys.MAKE_ONE in done.stderr
    # Never the key itself: it may be half of a good one.
    assert len(key) < 20 or key not in done.stderr


def test_keys_made_as_is_said_are_accepted() -> None:
    for _ in range(200):
        assert keys.weakness(secrets.token_urlsafe(50)) is None
    assert keys.weakness(secrets.token_hex(32)) is None


def test_a_checkout_makes_a_key_of_its_own_and_keeps_it_to_its_owner(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(own, "VAR_DIR", tmp_path / "var")
    key = own.local_secret_key()
    assert keys.weakness(key) is None
    assert (tmp_path / "var" / "secret_key").stat().st_mode & 0o777 == 0o600
    assert own.local_secret_key() == key


def test_an_empty_address_of_the_database_is_none() -> None:
    done = run("check", DATABASE_URL="")
    assert done.returncode == 0, done.stderr[-500:]


@pytest.mark.parametrize("pooled", ["1", ""])
def test_behind_a_pooler_no_cursor_outlives_its_transaction(pooled: str) -> None:
    asked = "from django.db import connection; print(connection.settings_dict"
    asked += "['DISABLE_SERVER_SIDE_CURSORS'])"
    done = run("shell", "--no-imports", "-c", asked, POOLED=pooled)
    assert done.returncode == 0, done.stderr[-500:]
    assert done.stdout.split()[-1] == str(bool(pooled))


MAIL = """
from django.core.mail import get_connection
there = get_connection()
print(type(there).__module__.split(".")[-1], *(getattr(there, n, "") for n in (
    "host", "port", "username", "password", "use_tls", "use_ssl")))
"""
GIVEN = {"EMAIL_HOST": "smtp.example.com", "EMAIL_HOST_USER": "us", "EMAIL_HOST_PASSWORD": "word"}


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "console"),
        (GIVEN, "smtp smtp.example.com 587 us word True False"),
        ({**GIVEN, "EMAIL_USE_SSL": "1"}, "smtp smtp.example.com 465 us word False True"),
        ({**GIVEN, "EMAIL_PORT": "2525"}, "smtp smtp.example.com 2525 us word True False"),
    ],
    ids=["nobody", "STARTTLS", "TLS", "a port"],
)
def test_mail_is_printed_unless_a_server_is_named(given: dict[str, str], said: str) -> None:
    """Ports of RFC 6409 (587, submission) and RFC 8314 (465, TLS from the start)."""
    done = run("shell", "--no-imports", "-c", MAIL, **given)
    assert done.returncode == 0, done.stderr[-500:]
    assert done.stdout.splitlines()[-1].strip() == said


def test_a_second_factor_for_nobody_there_is_is_refused() -> None:
    done = run("check", SECOND_FACTOR="everybody")
    assert done.returncode != 0
    assert "SECOND_FACTOR is owners, everyone, or left out." in done.stderr


def test_the_password_of_an_example_is_refused() -> None:
    done = run("check", DATABASE_URL="postgres://shop:password@db/shop")
    assert done.returncode != 0
    assert "The password in DATABASE_URL is the word of an example" in done.stderr
    assert keys.password_weakness("postgres://shop:shop@db/shop") == "is the name of the account"
    assert keys.password_weakness("postgres://shop:eK2-dR9_vUq4@db/shop") is None
    assert keys.password_weakness("postgres://shop@/shop") is None
    assert keys.password_weakness("") is None


@pytest.mark.parametrize(
    ("proxies", "passed", "address"),
    [
        (0, "203.0.113.7", "192.0.2.1"),
        (1, "", "192.0.2.1"),
        (1, "203.0.113.7", "203.0.113.7"),
        # Whatever somebody wrote there before our own proxy added whom it was asked by.
        (1, "198.51.100.9, 203.0.113.7", "203.0.113.7"),
        (2, "198.51.100.9, 203.0.113.7, 192.0.2.8", "203.0.113.7"),
        (2, "203.0.113.7", "203.0.113.7"),
    ],
)
def test_addresses_are_believed_as_far_as_our_own_proxies_tell(
    settings: Any, proxies: int, passed: str, address: str
) -> None:
    """Addresses of RFC 5737, which belong to nobody."""
    settings.PROXIES = proxies
    request = RequestFactory().get("/", REMOTE_ADDR="192.0.2.1")
    if passed:
        request = RequestFactory().get("/", REMOTE_ADDR="192.0.2.1", HTTP_X_FORWARDED_FOR=passed)
    assert client_address(request) == address


def test_what_is_too_large_is_refused_before_it_is_read(
    staff_client: Client, settings: Any
) -> None:
    settings.MOST_BYTES_A_REQUEST = 20_000
    answer = staff_client.post(reverse("customer-add"), {"name": "x" * 30_000})
    assert answer.status_code == 413
    assert "larger than 0.02 MB" in answer.content.decode()
    assert "Content-Security-Policy" in answer


def test_a_form_longer_than_any_form_says_so(staff_client: Client, settings: Any) -> None:
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 2_000
    body = "name=" + "x" * 3_000
    answer = staff_client.post(
        reverse("customer-add"), body, content_type="application/x-www-form-urlencoded"
    )
    assert answer.status_code == 400
    assert "longer than 0.002 MB" in answer.content.decode()


def test_a_form_of_more_boxes_than_any_form_says_so(staff_client: Client, settings: Any) -> None:
    settings.DATA_UPLOAD_MAX_NUMBER_FIELDS = 20
    answer = staff_client.post(reverse("customer-add"), {f"box_{n}": "x" for n in range(30)})
    assert answer.status_code == 400
    assert "more boxes, or more files, than any form" in answer.content.decode()


def test_a_length_that_is_no_number_is_none(stranger_client: Client) -> None:
    answer = stranger_client.get(reverse("sign-in"), CONTENT_LENGTH="long")
    assert answer.status_code == 200


def test_what_is_loaded_before_the_first_page_is_left_alone_by_the_collector() -> None:
    """The standard library's ``gc.freeze``; every page's code is among it."""
    asked = "import gc, sys, proshop.wsgi; n = gc.get_freeze_count(); print(n, *sys.modules)"
    done = run("shell", "-c", asked)
    assert done.returncode == 0, done.stderr
    count, *modules = done.stdout.splitlines()[-1].split()
    assert int(count) > 100_000
    assert {"arsenal.sides.views", "bowlers.duplicates.views"} <= set(modules)
