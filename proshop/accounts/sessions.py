"""When somebody is signed out by themselves.

A tablet at the counter is shared: a session ends with the browser, after `SESSION_COOKIE_AGE` in
which nobody asked for anything, and `SESSION_LONGEST_S` after signing in whatever is done. What was
being typed is kept by the page until there is an answer (`hold.js`).
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY, logout
from django.contrib.auth.signals import user_logged_in
from django.dispatch import receiver
from django.http import HttpRequest, HttpResponse

BEGAN, SEEN = "began", "seen"
# How finely it is noted that somebody is there: each note is a write.
NOTED_EVERY_S = 300


@receiver(user_logged_in)
def begin(sender: Any, request: HttpRequest, **kwargs: Any) -> None:
    request.session[BEGAN] = request.session[SEEN] = int(time.time())


def ending(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Middleware: ends a session that is too old, and notes that a younger one is used."""

    def serve(request: HttpRequest) -> HttpResponse:
        session = request.session
        if SESSION_KEY in session:
            now = int(time.time())
            began = session.setdefault(BEGAN, now)
            if now - began > settings.SESSION_LONGEST_S:
                logout(request)
            elif now - session.get(SEEN, 0) > NOTED_EVERY_S:
                # Saved with the answer, which moves the end of the session on.
                session[SEEN] = now
        return get_response(request)

    return serve
