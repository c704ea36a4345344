"""The bowler's page on a slow phone: its weight over the wire, and when its picture is there.

The page is as full as one gets: advice for four conditions, as many sheets from the counter as it
takes, and the next ball. Weighed is every byte between browser and server, both ways, headings and
all: what the page asks for and what its worker keeps for when there is no signal.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import threading
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from django.conf import settings
from playwright.sync_api import Browser

from tests.bench import results
from tests.browser.conftest import PHONE
from tests.browser.test_phone_page import settle

pytestmark = pytest.mark.bench
PORT, WIRE_PORT = 8197, 8198
RUNS = 5
# 6.4 Mbit/s with 100 ms to and fro, and a processor a quarter as fast.
SLOW = {
    "offline": False,
    "latency": 100,
    "downloadThroughput": 6.4e6 / 8,
    "uploadThroughput": 6.4e6 / 8,
}
SETUP = """
from django.contrib.auth.models import User
from django.core.management import call_command
call_command("migrate", verbosity=0)
from arsenal.models import LanesAdvice, PhoneLink, PhoneSheet, Ranking
from arsenal.phone.sheets import MOST_SHEETS
from proshop.models import Membership, Shop
from tests.arsenal.test_phone import ROW
from tests.furnished import furnish
shop = Shop.objects.create(name="Bench")
user = User.objects.create_user("bench")
Membership.objects.create(user=user, shop=shop, role=Membership.Role.OWNER)
furnish(shop, user)
LanesAdvice.objects.create(ranking=Ranking.objects.get(), rows=[ROW] * 4)
link = PhoneLink.objects.get()
link.shares_next_ball = True
link.save()
PhoneSheet.objects.all().delete()
told = [
    "Hornbeam strikes less: 23 % against 38 %.", "Alder comes in lighter: board 15.5 against 17.4.",
    "Hornbeam forgives less: 0.5 boards against 0.9.", "Hornbeam: thrown from board 22 over 14.",
    "Alder: thrown from board 24 over 16.",
]
for n in range(MOST_SHEETS):
    PhoneSheet.objects.create(
        shop=shop, bowler=link.bowler, heading=f"Hornbeam beside Alder, on House blend {n}",
        lines=told, closing="Estimates: trust what you see more.",
    )
print("TOKEN", PhoneLink.objects.get().token)
"""


@pytest.fixture
def served(tmp_path: Path) -> Iterator[str]:
    """The address of a page on the server that ``make run`` starts, static files packed."""
    env = {
        **os.environ,
        "DATABASE_URL": f"sqlite:///{tmp_path / 'bench.sqlite3'}",
        "DJANGO_SETTINGS_MODULE": "proshop.settings",
    }
    manage = [sys.executable, str(settings.BASE_DIR / "manage.py")]

    def run(*command: str) -> str:
        done = subprocess.run(
            [*manage, *command],
            env=env,
            capture_output=True,
            text=True,
            check=True,
            cwd=settings.BASE_DIR,
        )
        return done.stdout

    run("collectstatic", "--noinput", "--verbosity=0")
    token = run("shell", "-c", SETUP).split("TOKEN ")[1].strip()
    server = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "proshop.wsgi", f"--bind=127.0.0.1:{PORT}"],
        env=env,
        cwd=settings.BASE_DIR,
        stderr=subprocess.DEVNULL,
    )
    try:
        _until_it_answers(server)
        yield f"http://127.0.0.1:{WIRE_PORT}/mine/{token}/"
    finally:
        server.terminate()
        server.wait()


def _until_it_answers(server: subprocess.Popen[bytes]) -> None:
    while server.poll() is None:
        with suppress(urllib.error.HTTPError, urllib.error.URLError):
            urllib.request.urlopen(f"http://127.0.0.1:{PORT}/sign-in/", timeout=10)
            return
        threading.Event().wait(0.2)
    raise RuntimeError("the server ended before it answered")


class Wire:
    """A cable between browser and server that counts what goes through it."""

    def __init__(self) -> None:
        self.carried = 0
        self._lock = threading.Lock()
        self._door = socket.create_server(("127.0.0.1", WIRE_PORT))
        threading.Thread(target=self._listen, daemon=True).start()

    def cut(self) -> None:
        self._door.close()

    def _listen(self) -> None:
        with suppress(OSError):
            while True:
                browser, _ = self._door.accept()
                server = socket.create_connection(("127.0.0.1", PORT))
                for ends in ((browser, server), (server, browser)):
                    threading.Thread(target=self._carry, args=ends, daemon=True).start()

    def _carry(self, source: socket.socket, target: socket.socket) -> None:
        with suppress(OSError):
            while sent := source.recv(65536):
                with self._lock:
                    self.carried += len(sent)
                target.sendall(sent)
        for end in (source, target):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)


@pytest.fixture
def wire() -> Iterator[Wire]:
    strung = Wire()
    yield strung
    strung.cut()


def test_weight_and_first_picture(browser: Browser, served: str, wire: Wire) -> None:
    weights, pictures = [], []
    for _ in range(RUNS):
        before = wire.carried
        context = browser.new_context(**PHONE)
        page = context.new_page()
        cdp = context.new_cdp_session(page)
        cdp.send("Network.enable")
        cdp.send("Network.emulateNetworkConditions", SLOW)
        cdp.send("Emulation.setCPUThrottlingRate", {"rate": 4})
        page.goto(served, wait_until="load")
        assert page.get_by_role("heading", name="From the counter").count() == 1
        paint = "performance.getEntriesByName('first-contentful-paint')[0].startTime"
        pictures.append(float(page.evaluate(paint)))
        settle(page)
        page.wait_for_load_state("networkidle")
        context.close()
        weights.append(wire.carried - before)
    pictures.sort()
    results.record(
        "phone_page_kb",
        max(weights) / 1000,
        "kB on a first visit, both ways, all told",
        goal="≤ 120",
    )
    results.record(
        "phone_page_first_picture_ms",
        pictures[len(pictures) // 2],
        "ms to the first picture at 4 times CPU slowdown, 6.4 Mbit/s, 100 ms (median)",
        goal="≤ 1000",
    )
