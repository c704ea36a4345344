"""Every request by a number of its own, one line of log about it, how large it may be, whom it
comes from, and words for a broken database.

The log tells nobody's name: addresses appear as the pattern of the page, without what they were
asked for, and people as the number of their account.
"""

import logging
import re
import sqlite3
import time
import uuid
from collections.abc import Callable, Mapping
from contextvars import ContextVar

from django.conf import settings
from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

log = logging.getLogger("proshop.requests")
number: ContextVar[str] = ContextVar("request_number", default="")
# A number given by a proxy in front is kept, so that both logs speak of the same request.
HEADER = "X-Request-ID"
_GIVEN = re.compile(r"[0-9A-Za-z._-]{8,64}")
# PostgreSQL's classes of errors for connections lost, resources and an operator's intervention;
# 40: two at once, deadlocks among them.
_DISK_FULL, _GONE, _BUSY = "53100", ("08", "57", "53"), ("40", "55")
RETRY_AFTER_S = 10


# An address that is a key in itself: a bowler's own page, a link to choose a password.
_SECRET = re.compile(r"(/mine/|/choose-password/)[A-Za-z0-9_-]+[A-Za-z0-9_/-]{18,}")


class WithoutKeys(logging.Filter):
    """Takes addresses that open something by themselves out of what Django says of a request."""

    def filter(self, record: logging.LogRecord) -> bool:
        # By name, where a message is written so.
        if isinstance(record.args, Mapping):
            record.args = {name: _without_key(arg) for name, arg in record.args.items()}
        elif record.args:
            record.args = tuple(map(_without_key, record.args))
        record.msg = _without_key(str(record.msg))
        return True


def _without_key(value: object) -> object:
    return _SECRET.sub(r"\1…", value) if isinstance(value, str) else value


class WithNumber(logging.Filter):
    """Adds the number of the request being served to each line of log."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.request = number.get()
        return True


def counted(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Middleware: the number and the line of log."""

    def serve(request: HttpRequest) -> HttpResponse:
        given = request.headers.get(HEADER, "")
        token = number.set(given if _GIVEN.fullmatch(given) else uuid.uuid4().hex[:16])
        began = time.monotonic()
        try:
            response = get_response(request)
            response[HEADER] = number.get()
            log.info(
                "served",
                extra={
                    "method": request.method,
                    "page": _page(request),
                    "status": response.status_code,
                    "ms": round(1000 * (time.monotonic() - began), 1),
                    "account": _account(request),
                },
            )
            return response
        finally:
            number.reset(token)

    return serve


def bounded(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Middleware: what is too large is refused by what it says of itself, before it is read."""

    def serve(request: HttpRequest) -> HttpResponse:
        try:
            size = int(request.META.get("CONTENT_LENGTH") or 0)
        except ValueError:
            size = 0
        if size <= settings.MOST_BYTES_A_REQUEST:
            return get_response(request)
        most = f"{settings.MOST_BYTES_A_REQUEST / 1e6:g} MB"
        page = render_to_string("413.html", {"most": most, "request_number": number.get()})
        return HttpResponse(page, status=413)

    return serve


def client_address(request: HttpRequest) -> str:
    """The network address of whoever asks. Behind proxies the one that the outermost of ours was
    asked from: what stands before it in X-Forwarded-For anybody can write."""
    nearest: str = request.META.get("REMOTE_ADDR", "")
    if not settings.PROXIES:
        return nearest
    passed = [part.strip() for part in request.headers.get("X-Forwarded-For", "").split(",")]
    passed = [part for part in passed if part]
    return passed[-min(settings.PROXIES, len(passed))] if passed else nearest


def unavailable(trouble: BaseException) -> HttpResponse | None:
    """The page for a full disk, a lost or a busy database; None for any other trouble."""
    why = reason(trouble)
    if why is None:
        return None
    log.error("unavailable: %s", why, exc_info=trouble)
    # Without the request: its context asks the database.
    page = render_to_string("503.html", {"why": why, "request_number": number.get()})
    return HttpResponse(page, status=503, headers={"Retry-After": str(RETRY_AFTER_S)})


def reason(trouble: BaseException) -> str | None:
    """``full``, ``gone`` or ``busy``, from a database's error or whatever it was raised from."""
    seen: BaseException | None = trouble
    while seen is not None:
        found = _reason(seen)
        if found:
            return found
        seen = seen.__cause__ or seen.__context__
    return None


def _reason(trouble: BaseException) -> str | None:
    if isinstance(trouble, OSError) and trouble.errno == 28:
        return "full"
    if isinstance(trouble, sqlite3.Error):
        name = getattr(trouble, "sqlite_errorname", "") or ""
        if name.startswith("SQLITE_FULL"):
            return "full"
        if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
            return "busy"
        if name.startswith(("SQLITE_CANTOPEN", "SQLITE_IOERR", "SQLITE_READONLY", "SQLITE_NOTADB")):
            return "gone"
        return None
    state = getattr(trouble, "sqlstate", None)
    if isinstance(state, str):
        if state == _DISK_FULL:
            return "full"
        if state.startswith(_GONE):
            return "gone"
        return "busy" if state.startswith(_BUSY) else None
    # A connection that never came about has no state.
    if isinstance(trouble, OperationalError | InterfaceError) and trouble.__cause__ is not None:
        inner = trouble.__cause__
        if not isinstance(inner, sqlite3.Error) and getattr(inner, "sqlstate", None) is None:
            return "gone"
    return None


def _page(request: HttpRequest) -> str:
    """The page's pattern; what is none of ours by no name at all."""
    match = getattr(request, "resolver_match", None)
    return f"/{match.route}" if match else "unknown"


def _account(request: HttpRequest) -> int | None:
    """The signed-in account's number if anything asked for it already: never a query of its own."""
    user = getattr(request, "_cached_user", None)
    return getattr(user, "pk", None)
