"""What every answer says to the browser about what it may load."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client, RequestFactory
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from proshop.models import Shop
from proshop.views import server_error

PAGES = [
    path
    for app in ("proshop", "bowlers", "arsenal")
    for path in (settings.BASE_DIR / app / "templates").rglob("*.html")
]


def policy_of(client: Client, name: str) -> dict[str, set[str]]:
    header = client.get(reverse(name))["Content-Security-Policy"]
    parts = [part.split() for part in header.split(";") if part.strip()]
    return {part[0]: set(part[1:]) for part in parts}


@pytest.mark.parametrize("name", ["home", "glossary"])
def test_nothing_is_loaded_from_outside(name: str, staff_client: Client) -> None:
    policy = policy_of(staff_client, name)
    assert policy["default-src"] == {"'none'"}
    assert policy["script-src"] == {"'self'"}
    assert policy["style-src"] == {"'self'"}
    assert policy["img-src"] == {"'self'", "data:"}
    assert policy["connect-src"] == {"'self'"}
    for closed in ("frame-ancestors", "base-uri"):
        assert policy[closed] == {"'none'"}


def test_no_directive_lets_inline_code_in(stranger_client: Client) -> None:
    header = stranger_client.get(reverse("sign-in"))["Content-Security-Policy"]
    for hole in ("unsafe-inline", "unsafe-eval", "*", "http:", "https:"):
        assert hole not in header


def test_error_pages_carry_the_policy_too(staff_client: Client) -> None:
    response = staff_client.get("/no-such-page/")
    assert response.status_code == 404
    assert "default-src 'none'" in response["Content-Security-Policy"]
    assert "belong to another shop" in response.content.decode()


def test_the_page_for_a_breakdown_needs_no_database(shop: Shop) -> None:
    with CaptureQueriesContext(connection) as queries:
        response = server_error(RequestFactory().get("/"))
    assert response.status_code == 500
    assert len(queries) == 0
    assert "broke on our side" in response.content.decode()


def test_a_form_from_elsewhere_is_refused_in_plain_words(shop: Shop) -> None:
    strict = Client(enforce_csrf_checks=True)
    response = strict.post(reverse("sign-in"), {"username": "sam", "password": "x"})
    assert response.status_code == 403
    assert "This form is too old" in response.content.decode()


@pytest.mark.parametrize("path", sorted(PAGES), ids=lambda path: path.name)
def test_templates_hold_no_inline_code(path: Path) -> None:
    """The policy would stop it in silence: no style, no script and no handler inside a page."""
    text = path.read_text()
    assert not re.search(r"<style\b|\sstyle=|\son[a-z]+=|javascript:", text)
    assert not re.search(r"<script\b(?![^>]*\b(src|type=\"application/json\"))", text)


def test_there_are_templates_to_look_at() -> None:
    assert len(PAGES) > 20
