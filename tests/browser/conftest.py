"""A real Chromium, a phone and a desk, and what every page must be free of."""

import os
import shutil
from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as site
from django.contrib.auth.models import User
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect, sync_playwright

import physics

HERE = Path(__file__).parent
AXE = HERE / "vendor" / "axe" / "axe.min.js"
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 3,
    "is_mobile": True,
    "has_touch": True,
}
TABLET: dict[str, Any] = {"viewport": {"width": 1024, "height": 768}, "has_touch": True}
DESK: dict[str, Any] = {"viewport": {"width": 1440, "height": 900}}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


def chromium_path() -> str | None:
    """The shell is the same engine without windows around its pages: a page in a context of its own
    takes it a quarter of the processor's time."""
    names = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
    return next((found for name in names if (found := shutil.which(name))), None)


# A busy machine may take its time over an answer; what never comes fails all the same.
expect.set_options(timeout=15_000)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = chromium_path()
    if path is None:
        pytest.skip("No Chromium on this machine: pages were NOT tried in a real browser.")
    # As the web server does before it listens: no page waits for the compiler.
    physics.warm()
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield running
        running.close()


Visitor = Callable[..., Page]


def session_of(user: User) -> str:
    """The key of a session of this person's."""
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return str(client.cookies[site.SESSION_COOKIE_NAME].value)


@pytest.fixture
def visit(browser: Browser, live_server: Any) -> Generator[Visitor, None, None]:
    """visit(user, "/path/", context options) opens a page signed in; None is a stranger, the key
    of a session its user.

    Every message of the console, every error of a script and every breach of the content
    security policy on it is collected in `page.troubles`.
    """
    contexts: list[BrowserContext] = []

    def opened(user: User | str | None, path: str, **options: Any) -> Page:
        context = browser.new_context(base_url=live_server.url, **{**DESK, **options})
        context.set_default_timeout(20_000)
        contexts.append(context)
        if user is not None:
            session = user if isinstance(user, str) else session_of(user)
            context.add_cookies(
                [{"name": site.SESSION_COOKIE_NAME, "value": session, "url": live_server.url}]
            )
        page = context.new_page()
        page.bring_to_front()
        page.troubles = troubles = []  # type: ignore[attr-defined]
        page.on(
            "console",
            lambda said: (
                troubles.append(f"{said.type}: {said.text}")
                if said.type in {"error", "warning"}
                else None
            ),
        )
        page.on("pageerror", lambda error: troubles.append(f"script: {error}"))
        page.on(
            "requestfailed",
            # One that the browser itself gave up, as for the icon of a page that is left, is none.
            lambda request: (
                None
                if request.failure == "net::ERR_ABORTED"
                else troubles.append(f"not loaded: {request.url}")
            ),
        )
        page.goto(path)
        return page

    yield opened
    for context in contexts:
        context.close()


# The rules of axe that look at colours, of those it runs unless it is told otherwise.
OF_COLOUR = """axe.getRules(["cat.color"]).map((rule) => rule.ruleId)
  .filter((rule) => axe._audit.rules.find((one) => one.id === rule).enabled)"""


def axe_findings(page: Page, *, of_colour: bool = False) -> list[str]:
    """What axe finds wrong with the page, one line for each rule broken.

    ``of_colour``: by the rules about colours alone.
    Run through the driver rather than as a script of the page, which the policy would refuse.
    """
    if not page.evaluate("typeof window.axe === 'object'"):
        page.evaluate(AXE.read_text() + "\n;undefined")
    only = f"runOnly: {{type: 'rule', values: {OF_COLOUR}}}, " if of_colour else ""
    result = page.evaluate(f"axe.run(document, {{{only}resultTypes: ['violations']}})")
    return [
        f"{finding['id']}: {finding['help']}: {finding['nodes'][0]['html'][:200]}"
        for finding in result["violations"]
    ]


def overflow(page: Page) -> int:
    """By how many pixels the page is wider than the window."""
    wide: int = page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    return wide


def tab_to(page: Page, place: Locator) -> None:
    """By keyboard alone: Tab till it has the focus."""
    for _ in range(120):
        if place.evaluate("element => element === document.activeElement"):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"never reached by Tab: {place}")


def enter(page: Page, place: Locator) -> None:
    tab_to(page, place)
    page.keyboard.press("Enter")


SHOTS = os.environ.get("SCREENSHOTS")


def keep_picture(page: Page, name: str) -> None:
    """Save a picture of the page where SCREENSHOTS names a folder, for people to look at."""
    if SHOTS:
        page.screenshot(path=str(Path(SHOTS) / f"{name}.png"), full_page=True)
