"""Numbers of requests, what the log says of them, and pages for a broken database.

PostgreSQL's codes: its manual, appendix A. SQLite's: "Result and Error Codes".
"""

import errno
import json
import logging
import sqlite3
from collections.abc import Callable
from typing import Any

import psycopg
import pytest
from django.contrib.auth.models import User
from django.db import DatabaseError, OperationalError
from django.test import Client
from pythonjsonlogger.json import JsonFormatter

from bowlers.models import Bowler
from proshop import requests
from proshop.models import Shop


@pytest.fixture
def forgiving(staff: User) -> Client:
    """Signed in, and shown the page for an error rather than the error."""
    client = Client(raise_request_exception=False)
    client.force_login(staff, backend="django.contrib.auth.backends.ModelBackend")
    return client


def sqlite_error(name: str) -> sqlite3.Error:
    trouble = sqlite3.OperationalError("as SQLite says it")
    trouble.sqlite_errorname = name
    return trouble


def postgres_error(state: str) -> psycopg.Error:
    return psycopg.errors.lookup(state)("as PostgreSQL says it")


def from_(cause: Exception) -> Exception:
    trouble = OperationalError("wrapped")
    trouble.__cause__ = cause
    return trouble


@pytest.mark.parametrize(
    ("trouble", "why"),
    [
        (from_(sqlite_error("SQLITE_FULL")), "full"),
        (from_(sqlite_error("SQLITE_BUSY")), "busy"),
        (from_(sqlite_error("SQLITE_CANTOPEN")), "gone"),
        (from_(sqlite_error("SQLITE_IOERR_WRITE")), "gone"),
        (from_(sqlite_error("SQLITE_ERROR")), None),
        (from_(postgres_error("53100")), "full"),
        (from_(postgres_error("57P01")), "gone"),
        (from_(postgres_error("08006")), "gone"),
        (from_(postgres_error("40P01")), "busy"),
        (from_(postgres_error("42P01")), None),
        (from_(psycopg.OperationalError("connection refused")), "gone"),
        (OSError(errno.ENOSPC, "No space left on device"), "full"),
        (OSError(errno.ENOENT, "No such file"), None),
        (DatabaseError("something"), None),
        (ValueError("a mistake of ours"), None),
    ],
    ids=repr,
)
def test_what_broke_is_told_from_its_error(trouble: Exception, why: str | None) -> None:
    assert requests.reason(trouble) == why


@pytest.mark.parametrize(
    ("cause", "words"),
    [
        (sqlite_error("SQLITE_FULL"), "The disk is full"),
        (sqlite_error("SQLITE_BUSY"), "Too many people save at once"),
        (psycopg.OperationalError("connection refused"), "The records can’t be reached"),
    ],
    ids=["full", "busy", "gone"],
)
def test_a_broken_database_is_a_page_in_words(
    forgiving: Client, monkeypatch: pytest.MonkeyPatch, cause: Exception, words: str
) -> None:
    def fails(*args: Any, **kwargs: Any) -> Any:
        raise OperationalError("wrapped") from cause

    monkeypatch.setattr("bowlers.models.Bowler.objects.for_shop", fails)
    answer = forgiving.get("/customers/")
    assert answer.status_code == 503
    assert words in answer.content.decode()
    assert "nothing was half saved" in answer.content.decode()
    assert answer["X-Request-ID"] in answer.content.decode()
    assert int(answer["Retry-After"]) > 0


def test_another_error_carries_its_number_too(
    forgiving: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*args: Any, **kwargs: Any) -> Any:
        raise ValueError("a mistake of ours")

    monkeypatch.setattr("bowlers.models.Bowler.objects.for_shop", fails)
    answer = forgiving.get("/customers/")
    assert answer.status_code == 500
    assert answer["X-Request-ID"] in answer.content.decode()


def test_every_page_of_trouble_carries_its_number(
    forgiving: Client, stranger_client: Client, settings: Any
) -> None:
    wrong = {"username": "sam", "password": "not this one"}
    answers = [
        forgiving.get("/nowhere/"),
        forgiving.get("/office/"),
        Client(enforce_csrf_checks=True).post("/sign-in/", wrong),
        [stranger_client.post("/sign-in/", wrong) for _ in range(5)][-1],
    ]
    settings.DATA_UPLOAD_MAX_NUMBER_FIELDS = 2
    answers.append(forgiving.post("/customers/new/", {f"box_{n}": "x" for n in range(9)}))
    settings.MOST_BYTES_A_REQUEST = 10
    answers.append(forgiving.post("/customers/new/", {"name": "x" * 30}))
    assert [answer.status_code for answer in answers] == [404, 403, 403, 429, 400, 413]
    for answer in answers:
        said = f"Number of this request: {answer['X-Request-ID']}<"
        assert said in answer.content.decode(), answer.status_code


def test_a_proxy_s_number_is_kept_and_nonsense_is_not(stranger_client: Client) -> None:
    ours = stranger_client.get("/sign-in/", headers={"X-Request-ID": "abcd-1234"})
    assert ours["X-Request-ID"] == "abcd-1234"
    for nonsense in ("x", "a b c d e f g h", "<script>alert()</script>", "a" * 500):
        answer = stranger_client.get("/sign-in/", headers={"X-Request-ID": nonsense})
        assert answer["X-Request-ID"] != nonsense
        assert len(answer["X-Request-ID"]) == 16


def test_the_log_holds_nothing_of_the_customer(
    staff_client: Client, staff: User, shop: Shop, caplog: pytest.LogCaptureFixture
) -> None:
    bowler = Bowler.objects.create(
        shop=shop, name="Wren Marsh", notes="asks for 0142", hand="right"
    )
    with caplog.at_level(logging.INFO, "proshop.requests"):
        staff_client.get(f"/customers/{bowler.pk}/?q=Wren")
        staff_client.get("/nowhere/Wren/")
    lines = [record for record in caplog.records if record.name == "proshop.requests"]
    assert [(record.page, record.status) for record in lines] == [  # type: ignore[attr-defined]
        ("/customers/<int:pk>/", 200),
        ("unknown", 404),
    ]
    assert lines[0].account == staff.pk  # type: ignore[attr-defined]
    text = " ".join(map(as_json(), lines))
    for private in ("Wren", "0142", "sam", f"/{bowler.pk}/"):
        assert private not in text


def as_json() -> Callable[[logging.LogRecord], str]:
    formatter = JsonFormatter("{asctime}{levelname}{name}{message}{request}", style="{")
    attach = requests.WithNumber()

    def told(record: logging.LogRecord) -> str:
        attach.filter(record)
        line = formatter.format(record)
        assert json.loads(line)["ms"] >= 0
        return line

    return told


KEY = "dGhpcy1pcy1hLWtleS1pbi1pdHNlbGY" * 2


@pytest.mark.parametrize(
    ("message", "given"),
    [
        ("%s of %s: 404", ("GET", f"/mine/{KEY}/balls/")),
        ("%(what)s of %(path)s: 404", ({"what": "GET", "path": f"/mine/{KEY}/balls/"},)),
        (f"GET of /mine/{KEY}/balls/: 404", ()),
        (f"GET of /mine/{KEY}/balls/: 404", None),
    ],
    ids=["in order", "by name", "in the message", "nothing given"],
)
def test_no_address_that_is_a_key_gets_into_the_log(message: str, given: Any) -> None:
    record = logging.LogRecord("django.request", logging.WARNING, "", 0, message, given, None)
    assert requests.WithoutKeys().filter(record)
    assert KEY[:20] not in record.getMessage()
    assert record.getMessage().startswith("GET of /mine/…")
