"""Many people at once on real server processes: some save, on the same records and on their own,
most only look. One process with a task for each of them."""

from __future__ import annotations

import asyncio
import html
import random
import re
import time
import urllib.parse
from collections import Counter, defaultdict
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

TOO_LATE = "after you opened it"
# What a customer's form sends beside what is changed here.
PLAIN = {
    "hand": "right",
    "thumb": "in",
    "hands": "one",
    "fingers": "fingertip",
    "at_spares": "assumed",
}
TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')
FORM = re.compile(r'name="form_token" value="([^"]+)"')
VERSION = re.compile(r'name="record_version" value="([^"]+)"')
NAME = re.compile(r'name="name" value="([^"]+)"')
NOTES = re.compile(r'<textarea name="notes"[^>]*>(.*?)</textarea>', re.DOTALL)
LONGEST_WAIT_S = 120


@dataclass
class Answer:
    status: int
    text: str
    csrf: str


@dataclass
class Opened:
    """A form as somebody has it before them."""

    page: Answer
    name: str
    notes: str

    def fields(self, notes: str) -> dict[str, str]:
        return PLAIN | {
            "csrfmiddlewaretoken": _one(TOKEN, self.page.text),
            "form_token": _one(FORM, self.page.text),
            "record_version": _one(VERSION, self.page.text),
            "name": self.name,
            "notes": notes,
        }


@dataclass
class Seen:
    """What came of it all."""

    took_ms: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    faults: list[str] = field(default_factory=list)
    # By customer the marks whose save was acknowledged, and how often somebody was told instead.
    acknowledged: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))
    added: list[str] = field(default_factory=list)
    told: int = 0
    asked: Counter[str] = field(default_factory=Counter)

    @property
    def saves(self) -> int:
        return sum(map(len, self.acknowledged.values())) + len(self.added)


def _one(pattern: re.Pattern[str], text: str) -> str:
    found = pattern.search(text)
    if found is None:
        raise LookupError(f"no {pattern.pattern} on the page: {text[:300]}")
    return html.unescape(found[1])


class Person:
    """Somebody signed in. Every request is a connection of its own, as a proxy makes them."""

    def __init__(self, port: int, number: int, session: str, seen: Seen) -> None:
        self.port, self.number, self.session, self.seen = port, number, session, seen
        self.chance = random.Random(number)
        self.csrf = ""
        self.marks = 0

    async def ask(
        self, kind: str, method: str, path: str, fields: dict[str, str] | None = None
    ) -> Answer | None:
        """The answer, None where it was a fault: that is written down."""
        body = urllib.parse.urlencode(fields).encode() if fields is not None else b""
        cookies = f"sessionid={self.session}" + (f"; csrftoken={self.csrf}" if self.csrf else "")
        head = (
            f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n"
            f"Cookie: {cookies}\r\nContent-Type: application/x-www-form-urlencoded\r\n"
            f"Content-Length: {len(body)}\r\n\r\n"
        )
        began = time.perf_counter()
        try:
            async with asyncio.timeout(LONGEST_WAIT_S):
                near, far = await asyncio.open_connection("127.0.0.1", self.port)
                far.write(head.encode() + body)
                came = await near.read()
                far.close()
            answer = _read(came)
        except (OSError, TimeoutError, ValueError) as trouble:
            self.seen.faults.append(f"{kind}: {trouble!r}")
            return None
        self.seen.took_ms[kind].append(1000 * (time.perf_counter() - began))
        self.seen.asked[kind] += 1
        self.csrf = answer.csrf or self.csrf
        if answer.status not in {200, 302}:
            self.seen.faults.append(f"{kind}: {answer.status} {answer.text[:200]}")
            return None
        return answer

    async def open(self, customer: int | None) -> Opened | None:
        path = "/customers/new/" if customer is None else f"/customers/{customer}/edit/"
        page = await self.ask("form", "GET", path)
        if page is None:
            return None
        if page.status != 200:
            self.seen.faults.append(f"form: {page.status} in place of {path}")
            return None
        notes = NOTES.search(page.text)
        # A browser takes the line break that begins a text area for markup.
        written = html.unescape(notes[1]).removeprefix("\r\n").removeprefix("\n") if notes else ""
        return Opened(page, "" if customer is None else _one(NAME, page.text), written)

    async def save(self, customer: int, opened: Opened) -> None:
        """Their mark added to the notes they saw."""
        self.marks += 1
        mark = f"w{self.number}.{self.marks};"
        answer = await self.ask(
            "save", "POST", f"/customers/{customer}/edit/", opened.fields(opened.notes + mark)
        )
        if answer is None:
            return
        if answer.status == 302:
            self.seen.acknowledged[customer].append(mark)
        elif TOO_LATE in answer.text:
            self.seen.told += 1
        else:
            self.seen.faults.append(f"save: refused without a reason, {answer.text[:300]}")

    async def add(self) -> None:
        """A new customer, sent by two taps at once: one customer."""
        opened = await self.open(None)
        if opened is None:
            return
        self.marks += 1
        opened.name = f"Added by {self.number}, number {self.marks}"
        fields = opened.fields("")
        both = await asyncio.gather(
            *(self.ask("save", "POST", "/customers/new/", fields) for _ in range(2))
        )
        if all(answer is not None and answer.status == 302 for answer in both):
            self.seen.added.append(opened.name)
        else:
            self.seen.faults.append(f"save: {[answer and answer.status for answer in both]}")

    async def write(self, shared: list[int], own: int, until: float, pause_s: float) -> None:
        while time.monotonic() < until:
            await self.rest(pause_s)
            what = self.chance.random()
            if what < 0.1:
                await self.add()
                continue
            customer = self.chance.choice(shared) if what < 0.6 else own
            opened = await self.open(customer)
            if opened is not None:
                # Typing takes a while, in which somebody else may be quicker.
                await self.rest(pause_s / 4)
                await self.save(customer, opened)

    async def look(self, customers: list[int], until: float, pause_s: float) -> None:
        while time.monotonic() < until:
            await self.rest(pause_s)
            one = self.chance.choice(customers)
            pages = ("/", "/customers/", "/customers/?q=shared", f"/customers/{one}/")
            await self.ask("look", "GET", self.chance.choice(pages))

    async def rest(self, seconds: float) -> None:
        if seconds:
            await asyncio.sleep(self.chance.expovariate(1 / seconds))


def _read(came: bytes) -> Answer:
    head, split, body = came.partition(b"\r\n\r\n")
    if not split:
        raise ValueError("cut off before its headers ended")
    status, *lines = head.decode("latin-1").split("\r\n")
    named = [(n.lower(), v.strip()) for n, _, v in (line.partition(":") for line in lines)]
    length = next((int(v) for n, v in named if n == "content-length"), len(body))
    if length != len(body):
        raise ValueError(f"cut off: {len(body)} of {length} bytes")
    baked = [v for n, v in named if n == "set-cookie" and v.startswith("csrftoken=")]
    csrf = baked[0].split(";")[0].partition("=")[2] if baked else ""
    return Answer(int(status.split()[1]), body.decode(), csrf)


@dataclass(frozen=True)
class Cast:
    """Sessions of those who write and those who look, and the customers they do it to."""

    writers: list[str]
    readers: list[str]
    shared: list[int]
    own: list[int]


async def _all_of_them(port: int, cast: Cast, seconds: float, pause_s: float) -> Seen:
    seen = Seen()
    sessions = [*cast.writers, *cast.readers]
    people = [Person(port, n, session, seen) for n, session in enumerate(sessions)]
    writers, readers = people[: len(cast.writers)], people[len(cast.writers) :]
    # First all who write have one and the same form before them, and save it at one moment.
    first = cast.shared[0]
    opened = await asyncio.gather(*(person.open(first) for person in writers))
    await asyncio.gather(
        *(p.save(first, form) for p, form in zip(writers, opened, strict=True) if form is not None)
    )
    if (saved := len(seen.acknowledged[first])) != 1:
        seen.faults.append(f"{saved} of {len(writers)} were let save what one may")
    until = time.monotonic() + seconds
    customers = [*cast.shared, *cast.own]
    await asyncio.gather(
        *(p.write(cast.shared, cast.own[p.number], until, pause_s) for p in writers),
        *(p.look(customers, until, 2 * pause_s) for p in readers),
    )
    return seen


def crowd(port: int, cast: Cast, *, seconds: float, pause_s: float) -> Seen:
    """All of them for so long; between two things somebody does so much time passes on average,
    twice that where they only look."""
    # In a thread of its own: a browser that stands open in this one has its loop running.
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, _all_of_them(port, cast, seconds, pause_s)).result()
