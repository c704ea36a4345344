"""The bowler's page on a slow phone: its weight over the wire, and when its picture is there."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from playwright.sync_api import sync_playwright

from tests.bench import results
from tests.browser.conftest import FLAGS, PHONE, chromium_path

pytestmark = pytest.mark.bench
PORT = 8197
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
from arsenal.models import LanesAdvice, PhoneLink, Ranking
from proshop.models import Membership, Shop
from tests.arsenal.test_phone import ROW
from tests.furnished import furnish
shop = Shop.objects.create(name="Bench")
furnish(shop, User.objects.create_user("bench"))
LanesAdvice.objects.create(ranking=Ranking.objects.get(), rows=[ROW] * 4)
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
    time.sleep(4)
    yield f"http://127.0.0.1:{PORT}/mine/{token}/"
    server.terminate()
    server.wait()


def test_weight_and_first_picture(served: str) -> None:
    weights, pictures = [], []
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium_path(), args=FLAGS)
        for _ in range(RUNS):
            context = browser.new_context(**PHONE)
            page = context.new_page()
            wire = context.new_cdp_session(page)
            wire.send("Network.enable")
            wire.send("Network.emulateNetworkConditions", SLOW)
            wire.send("Emulation.setCPUThrottlingRate", {"rate": 4})
            loaded: list[float] = []
            wire.on(
                "Network.loadingFinished", lambda e, to=loaded: to.append(e["encodedDataLength"])
            )
            page.goto(served, wait_until="load")
            page.wait_for_timeout(500)
            paint = "performance.getEntriesByName('first-contentful-paint')[0].startTime"
            pictures.append(float(page.evaluate(paint)))
            weights.append(sum(loaded))
            context.close()
        browser.close()
    pictures.sort()
    results.record(
        "phone_page_kb", max(weights) / 1000, "kB over the wire, fonts and all", goal="≤ 120"
    )
    results.record(
        "phone_page_first_picture_ms",
        pictures[len(pictures) // 2],
        "ms to the first picture at 4 times CPU slowdown, 6.4 Mbit/s, 100 ms (median)",
        goal="≤ 1000",
    )
