"""What the example units start, in this checkout instead of the example's."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator

from django.conf import settings

UNITS = settings.BASE_DIR / "proshop" / "deploy"
PLACE = "/srv/hookwright"
WEB, WORKER = "hookwright-web.service", "hookwright-worker@.service"


def lines(name: str) -> list[str]:
    """What a unit starts, in order."""
    text = (UNITS / name).read_text()
    return [line.partition("=")[2] for line in text.splitlines() if line.startswith("ExecStart")]


def here(line: str, port: int) -> list[str]:
    """The words of such a line with this Python, on this port."""
    _, *words = line.replace("127.0.0.1:8000", f"127.0.0.1:{port}").split()
    return [sys.executable, *words]


def environment(name: str) -> dict[str, str]:
    """What a unit tells its programs by itself."""
    text = (UNITS / name).read_text().splitlines()
    prefix = "Environment="
    return dict(pairs(line.removeprefix(prefix) for line in text if line.startswith(prefix)))


def pairs(lines: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Names and values of lines like NAME=value."""
    for line in lines:
        name, is_pair, value = line.partition("=")
        if is_pair and not line.startswith("#"):
            yield name, value
