"""Twenty people at once on real server processes, and how long each page took them."""

from __future__ import annotations

import os
import queue
import random
import socket
import subprocess
import threading
import time
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.auth.models import User
from django.contrib.sessions.backends.db import SessionStore

from tests.load.pages import Page
from tests.units import WEB, WORKER, environment, here, lines

USERS = 20
# Between two pages somebody looks for so long on average: brisk, for a counter.
LOOKS_S = 1.0
# The whole visit ends after so long, whatever was opened by then.
LONGEST_S = 1800
GOOD = {200, 302}


@dataclass
class Visit:
    """Milliseconds by page, answers that weren't pages, and how long all of it took."""

    took_ms: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    faults: list[str] = field(default_factory=list)
    seconds: float = 0.0
    # Processor's time of the people themselves: what they take isn't the site's.
    own_s: float = 0.0

    @property
    def pages_a_second(self) -> float:
        return len(self.all_ms) / self.seconds

    @property
    def all_ms(self) -> list[float]:
        return [one for some in self.took_ms.values() for one in some]


def percentile(values: Sequence[float], share: float) -> float:
    """The smallest value that so large a share of them doesn't exceed."""
    ordered = sorted(values)
    return ordered[max(0, -(-int(share * 1000) * len(ordered) // 1000) - 1)]


def session_of(user: User) -> str:
    """The key of a session as signing in leaves it."""
    store = SessionStore()
    store[SESSION_KEY] = str(user.pk)
    store[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    store[HASH_SESSION_KEY] = user.get_session_auth_hash()
    store.save()
    return str(store.session_key)


@contextmanager
def served(surroundings: Mapping[str, str], *, threads: int = 1) -> Iterator[int]:
    """The site as the example units start it: two web processes and a worker, but for the
    ``threads`` of either of the two. The web's port."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    env = {**os.environ, **surroundings}
    more = {WEB: [f"--threads={threads}"] if threads > 1 else [], WORKER: []}
    started = [
        subprocess.Popen([*here(lines(unit)[-1], port), *more[unit]],
                         env=env | environment(unit), cwd=settings.BASE_DIR,
                         stdout=subprocess.DEVNULL)
        for unit in (WEB, WORKER)
    ]  # fmt: skip
    try:
        while True:
            if any(one.poll() is not None for one in started):
                raise RuntimeError("The site didn't start; its messages are above.")
            try:
                _get(HTTPConnection("127.0.0.1", port, timeout=10), "/sign-in/", "")
                break
            except (OSError, HTTPException):
                time.sleep(0.1)
        yield port
    finally:
        for one in started:
            one.terminate()
        for one in started:
            one.wait()


def _get(wire: HTTPConnection, path: str, session: str) -> int:
    wire.request("GET", path, headers={"Cookie": f"sessionid={session}"} if session else {})
    answer = wire.getresponse()
    answer.read()
    return answer.status


def visit(
    port: int,
    pages: Sequence[Sequence[Page]],
    staff: Sequence[User],
    owner: User,
    *,
    each: int,
    looks_s: float = LOOKS_S,
    users: int = USERS,
    seed: int = 1,
) -> Visit:
    """Every page opened ``each`` times by so many people at once, in no order.

    ``pages``: for each of some customers all pages about them; visits go round the customers.
    """
    draw = random.Random(seed)
    line = [pages[n % len(pages)][k] for n in range(each) for k in range(len(pages[0]))]
    draw.shuffle(line)
    waiting: queue.SimpleQueue[Page] = queue.SimpleQueue()
    for page in line:
        waiting.put(page)
    owners = session_of(owner)
    sessions = [session_of(staff[n % len(staff)]) for n in range(users)]
    found, held = Visit(), threading.Lock()
    until = time.monotonic() + LONGEST_S

    def go(number: int) -> None:
        mine = random.Random(f"{seed} {number}")
        keys = {"staff": sessions[number], "owner": owners, "link": ""}
        while time.monotonic() < until:
            try:
                page = waiting.get_nowait()
            except queue.Empty:
                return
            if looks_s:
                time.sleep(mine.expovariate(1 / looks_s))
            wire = HTTPConnection("127.0.0.1", port, timeout=60)
            began = time.perf_counter()
            try:
                status = _get(wire, page.address, keys[page.who])
            except (OSError, HTTPException) as trouble:
                with held:
                    found.faults.append(f"{page.name}: {trouble!r}")
                continue
            finally:
                wire.close()
            took = 1000 * (time.perf_counter() - began)
            with held:
                found.took_ms[page.name].append(took)
                if status not in GOOD:
                    found.faults.append(f"{page.name}: {status}")

    began, began_own = time.monotonic(), time.process_time()
    people = [threading.Thread(target=go, args=(number,)) for number in range(users)]
    for one in people:
        one.start()
    for one in people:
        one.join()
    found.seconds = time.monotonic() - began
    found.own_s = time.process_time() - began_own
    return found
