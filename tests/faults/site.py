"""The site as real processes with a database of its own, to be killed."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.parse
from http.client import HTTPConnection, HTTPException
from http.cookies import SimpleCookie
from pathlib import Path

from django.conf import settings

PASSWORD = "correct horse battery staple"
SETUP = f"""
from django.contrib.auth.models import User
from proshop.models import Membership, Shop
shop = Shop.objects.create(name="Two Counters")
user = User.objects.create_user("sam", password={PASSWORD!r})
Membership.objects.create(user=user, shop=shop)
"""


class Site:
    """Two web processes on a port, killed and started as often as one likes."""

    def __init__(self, address: str, folder: Path) -> None:
        self.env = {
            **os.environ,
            "DATABASE_URL": address,
            "DEBUG": "1",
            "SECRET_KEY": "only-for-this-test-" + "0123456789abcdefghijklmnopqrstuvwxyz",
        }
        self.log = folder / "server.log"
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        self.server: subprocess.Popen[bytes] | None = None

    def manage(self, *command: str) -> str:
        done = subprocess.run(
            [sys.executable, str(settings.BASE_DIR / "manage.py"), *command],
            env=self.env,
            cwd=settings.BASE_DIR,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode:
            raise RuntimeError(done.stderr)
        return done.stdout

    def furnish(self) -> None:
        """A shop and who works in it."""
        self.manage("shell", "--no-imports", "-c", SETUP)

    def start(self, *options: str) -> None:
        with self.log.open("ab") as log:
            self.server = subprocess.Popen(
                [sys.executable, "-m", "gunicorn", "tests.faults.wsgi", "--preload",
                 f"--bind=127.0.0.1:{self.port}", "--workers=2", "--threads=4", *options],
                env=self.env,
                cwd=settings.BASE_DIR,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )  # fmt: skip

    def wait(self, seconds: float = 3600.0) -> None:
        """Until it answers. Where the engine is compiled first, that takes as long as it takes."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            if self.server is not None and self.server.poll() is not None:
                break
            try:
                if self.ask("GET", "/health/").status in {200, 503}:
                    return
            except (OSError, HTTPException):
                time.sleep(0.05)
        raise TimeoutError(self.log.read_text()[-2000:])

    def kill(self) -> None:
        """Every process of it, without a word of warning."""
        if self.server is not None:
            os.killpg(self.server.pid, signal.SIGKILL)
            self.server.wait()
            self.server = None

    def ask(
        self,
        method: str,
        path: str,
        fields: dict[str, str] | None = None,
        cookies: dict[str, str] | None = None,
    ) -> Answer:
        wire = HTTPConnection("127.0.0.1", self.port, timeout=120)
        headers = {"Cookie": "; ".join(f"{k}={v}" for k, v in (cookies or {}).items())}
        body = None
        if fields is not None:
            body = urllib.parse.urlencode(fields)
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            wire.request(method, path, body, headers)
            got = wire.getresponse()
            text = got.read().decode()
            baked: SimpleCookie = SimpleCookie()
            for line in got.headers.get_all("Set-Cookie") or []:
                baked.load(line)
            return Answer(got.status, text, {k: m.value for k, m in baked.items()})
        finally:
            wire.close()


class Answer:
    def __init__(self, status: int, text: str, cookies: dict[str, str]) -> None:
        self.status, self.text, self.cookies = status, text, cookies

    def field(self, name: str) -> str:
        found = re.search(rf'name="{name}" value="([^"]+)"', self.text)
        if found is None:
            raise LookupError(f"no {name} on the page: {self.text[:300]}")
        return found[1]


class Clerk:
    """Somebody at the counter who adds customers, and sends a form again until it is answered."""

    def __init__(self, site: Site, name: str) -> None:
        self.site, self.name = site, name
        self.cookies: dict[str, str] = {}
        self.acknowledged: list[str] = []
        self.sent_again = 0

    def sign_in(self) -> None:
        page = self.site.ask("GET", "/sign-in/")
        self.cookies |= page.cookies
        answer = self.site.ask(
            "POST",
            "/sign-in/",
            {"username": "sam", "password": PASSWORD,
             "csrfmiddlewaretoken": page.field("csrfmiddlewaretoken")},
            self.cookies,
        )  # fmt: skip
        if answer.status != 302:
            raise RuntimeError(f"not signed in: {answer.status}")
        self.cookies |= answer.cookies

    def add(self, customer: str, stopped: threading.Event) -> None:
        """One customer; tried until there is an answer, always with the same form."""
        page = self._insist("GET", "/customers/new/", None, stopped)
        if page is None:
            return
        self.cookies |= page.cookies
        answer = self._insist("POST", "/customers/new/", self.form(page, customer), stopped)
        if answer is not None and answer.status == 302:
            self.acknowledged.append(customer)
        elif answer is not None:
            raise RuntimeError(f"{answer.status}: {answer.text[-3000:]}")

    @staticmethod
    def form(page: Answer, customer: str) -> dict[str, str]:
        """The form of a page, filled in."""
        return {
            "csrfmiddlewaretoken": page.field("csrfmiddlewaretoken"),
            "form_token": page.field("form_token"),
            "record_version": "1",
            "name": customer,
            "hand": "right",
            "thumb": "in",
            "hands": "one",
            "fingers": "fingertip",
            "at_spares": "assumed",
        }

    def _insist(
        self, method: str, path: str, fields: dict[str, str] | None, stopped: threading.Event
    ) -> Answer | None:
        while not stopped.is_set():
            try:
                answer = self.site.ask(method, path, fields, self.cookies)
            except (OSError, HTTPException):
                self.sent_again += 1
                time.sleep(0.05)
                continue
            if answer.status < 500:
                return answer
            self.sent_again += 1
            time.sleep(0.05)
        return None
