"""What every address of the site takes, found by asking it.

A target is an address and a method. Its fields are those of the forms on the pages that lead
there, with the values they have there, and every name that the view asked its request for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.http import QueryDict
from django.urls import Resolver404, resolve

from tests.furnished import Furnished, patterns
from tests.fuzz.wire import Fields

# It would end the session of whoever asks on.
LEFT_OUT = {"sign-out/"}


@dataclass
class Target:
    """An address that is asked by one method."""

    method: str
    route: str
    name: str
    path: str
    # What the address was followed by on the page that leads there.
    query: str = ""
    state: str = ""
    # Names of the converters in the address.
    parts: tuple[str, ...] = ()
    # The usual values of each name; a name may have none yet.
    fields: dict[str, list[str]] = field(default_factory=dict)
    files: set[str] = field(default_factory=set)
    # Other values that a choice offers.
    offered: dict[str, set[str]] = field(default_factory=dict)

    def __str__(self) -> str:
        after = f"?{self.query}" if self.query else ""
        return f"{self.method} /{self.route}{after}{f' ({self.state})' if self.state else ''}"

    @property
    def usual(self) -> Fields:
        return [
            (name, value)
            for name, values in self.fields.items()
            if name not in self.files
            for value in values
        ]


class Forms(HTMLParser):
    """The forms of a page: method, address and fields of each."""

    def __init__(self, path: str) -> None:
        super().__init__()
        self.path = path
        self.found: list[tuple[str, str, dict[str, list[str]], set[str], dict[str, set[str]]]] = []
        self.by_id: dict[str, int] = {}
        self.within: int | None = None
        self.select = self.area = ""
        self.first_option: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag == "form":
            method = (said.get("method") or "get").upper()
            action = said.get("action") or self.path
            for verb in ("post", "get"):
                if f"hx-{verb}" in said and "action" not in said:
                    method, action = verb.upper(), said[f"hx-{verb}"] or self.path
            self.found.append((method, action, {}, set(), {}))
            self.within = len(self.found) - 1
            if "id" in said:
                self.by_id[said["id"]] = self.within
            return
        where = self.by_id.get(said.get("form", ""), self.within)
        name = said.get("name", "")
        for verb in ("post", "get"):
            address = said.get(f"hx-{verb}")
            if address is not None and tag != "form":
                # Whatever asks from within a form sends that form.
                held = self.found[where][2] if where is not None else {}
                own = {name: [said.get("value", "")]} if name else {}
                self.found.append((verb.upper(), address or self.path, held | own, set(), {}))
        if where is None or not (name or self.select):
            return
        _, _, fields, files, offered = self.found[where]
        if tag == "input":
            kind = said.get("type", "text")
            if kind == "file":
                files.add(name)
                fields.setdefault(name, [])
            elif kind in {"checkbox", "radio"}:
                value = said.get("value", "on")
                offered.setdefault(name, set()).add(value)
                fields.setdefault(name, [])
                if "checked" in said:
                    fields[name].append(value)
            else:
                fields.setdefault(name, []).append(said.get("value", ""))
        elif tag == "select":
            self.select, self.first_option = name, None
            fields.setdefault(name, [])
        elif tag == "option" and self.select:
            value = said.get("value", "")
            offered.setdefault(self.select, set()).add(value)
            if self.first_option is None:
                self.first_option = value
            if "selected" in said:
                fields[self.select].append(value)
        elif tag == "textarea":
            self.area = name
            fields.setdefault(name, []).append("")
        elif tag == "button" and name:
            offered.setdefault(name, set()).add(said.get("value", ""))
            fields.setdefault(name, [])

    def handle_data(self, data: str) -> None:
        if self.area and self.within is not None:
            self.found[self.within][2][self.area][-1] += data.removeprefix("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.within = None
        elif tag == "select":
            if self.within is not None and self.first_option is not None:
                values = self.found[self.within][2][self.select]
                if not values:
                    values.append(self.first_option)
            self.select = ""
        elif tag == "textarea":
            self.area = ""


@contextmanager
def asked_names() -> Iterator[set[str]]:
    """Every name that is looked for among what was sent, while this lasts."""
    names: set[str] = set()
    with pytest.MonkeyPatch.context() as patch:
        for method in ("get", "getlist", "__getitem__", "__contains__"):
            plain = getattr(QueryDict, method)

            def noting(self: Any, key: Any, *rest: Any, _plain: Any = plain, **named: Any) -> Any:
                if isinstance(key, str):
                    names.add(key)
                return _plain(self, key, *rest, **named)

            patch.setattr(QueryDict, method, noting)
        yield names


class Search:
    """Finds the targets of one state of the records; ``ask`` sends and leaves no trace."""

    def __init__(self, ask: Callable[[Target, Fields], Any], state: str = "") -> None:
        self.ask, self.state = ask, state
        self.found: dict[tuple[str, str, str], Target] = {}
        self.refused: set[tuple[str, str]] = set()

    def run(self, furnished: Furnished, routes: tuple[str, ...]) -> list[Target]:
        for pattern, route in patterns():
            if route.startswith(routes) and route not in LEFT_OUT:
                for method in ("GET", "POST"):
                    path = furnished.address(pattern, route)
                    parts = tuple(pattern.pattern.converters)
                    self._add(
                        Target(
                            method, route, str(pattern.name), path, state=self.state, parts=parts
                        )
                    )
        looks = [target for target in self.found.values() if target.method == "GET"]
        for target in looks:
            self._look(target, "")
        for target in list(self.found.values()):
            if target.method == "POST":
                self._send(target)
        for target in looks:
            sent = self.found["POST", target.route, ""]
            if ("POST", target.route) not in self.refused and not any(sent.fields.values()):
                # A page that shows its form once its address picks a record: all are number 1.
                for name in list(target.fields):
                    self._look(target, f"{name}=1")
        return [t for t in self.found.values() if (t.method, t.route) not in self.refused]

    def _add(self, target: Target) -> None:
        self.found.setdefault((target.method, target.route, target.query), target)

    def _look(self, target: Target, query: str) -> None:
        asked = replace(target, query=query, fields={})
        with asked_names() as names:
            answer = self.ask(asked, [])
        self._note(target, names, answer)
        if "text/html" in answer.headers.get("Content-Type", ""):
            self._learn(asked, answer.content.decode())

    def _send(self, target: Target) -> None:
        with asked_names() as names:
            answer = self.ask(target, target.usual)
        self._note(target, names, answer)

    def _note(self, target: Target, names: set[str], answer: Any) -> None:
        if answer.status_code == 405:
            self.refused.add((target.method, target.route))
        for name in sorted(names):
            target.fields.setdefault(name, [])

    def _learn(self, page: Target, text: str) -> None:
        reader = Forms(page.path)
        reader.feed(text)
        for method, action, fields, files, offered in reader.found:
            split = urlsplit(action)
            query = split.query if split.path != page.path or split.query else page.query
            try:
                route = resolve(split.path or page.path).route
            except Resolver404:
                continue
            plain = self.found.get((method, route, ""))
            if plain is None:
                continue
            if method == "GET":
                query = ""
            elif query:
                self._add(replace(plain, query=query, fields={}, files=set(), offered={}))
            target = self.found[method, route, query]
            for name, values in fields.items():
                if not target.fields.get(name):
                    target.fields[name] = list(values)
            target.files |= files
            for name, choices in offered.items():
                target.offered.setdefault(name, set()).update(choices)
