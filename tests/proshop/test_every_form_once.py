"""Every form of every page, sent twice as a second press or a retry would: it acts once."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urljoin

from django.contrib.auth.models import User
from django.db import transaction
from django.test import Client

from proshop.backup.rows import lines, tables
from proshop.models import Shop
from tests.furnished import furnish, patterns

# Ends the session of the test itself.
LEFT_OUT = {"/sign-out/"}
# At least so many must have been accepted as they stand, or this looks at nothing.
ACCEPTED_AT_LEAST = 15


@dataclass
class Sent:
    """A form as a browser would send it untouched."""

    address: str
    by_htmx: bool
    values: dict[str, list[str]] = field(default_factory=dict)

    def add(self, name: str | None, value: str | None) -> None:
        if name:
            self.values.setdefault(name, []).append(value or "")


class Forms(HTMLParser):
    """The forms that are sent by POST, with what stands in their boxes."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.page, self.found = page, list[Sent]()
        self.open: Sent | None = None
        self.select: str | None = None
        self.first: str | None = None
        self.area: str | None = None
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "form":
            by_htmx = "hx-post" in told
            if (told.get("method") or "").lower() == "post" or by_htmx:
                where = told.get("hx-post") or told.get("action") or self.page
                self.open = Sent(urljoin(self.page, where), by_htmx)
                self.found.append(self.open)
        elif self.open is None or "disabled" in told:
            return
        elif tag == "input":
            kind = told.get("type") or "text"
            if kind in {"radio", "checkbox"} and "checked" not in told:
                return
            if kind not in {"submit", "button", "file", "image"}:
                value = told.get("value")
                self.open.add(told.get("name"), "on" if kind == "checkbox" and not value else value)
        elif tag == "button" and told.get("name") and (told.get("type") or "submit") == "submit":
            self.open.values.setdefault(str(told["name"]), [told.get("value") or ""])
        elif tag == "select":
            self.select, self.first = told.get("name"), None
        elif tag == "option" and self.select:
            self.first = self.first if self.first is not None else told.get("value") or ""
            if "selected" in told:
                self.open.add(self.select, told.get("value"))
        elif tag == "textarea":
            self.area, self.text = told.get("name"), ""

    def handle_data(self, data: str) -> None:
        if self.area:
            self.text += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.open = None
        elif tag == "select" and self.open is not None and self.select:
            if self.select not in self.open.values and self.first is not None:
                self.open.add(self.select, self.first)
            self.select = None
        elif tag == "textarea" and self.open is not None:
            self.open.add(self.area, self.text.removeprefix("\n"))
            self.area = None


def everything() -> dict[str, list[str]]:
    return {model._meta.label: list(lines(model, "default")) for model in tables()}


def forms_of(client: Client, page: str) -> list[Sent]:
    answer = client.get(page)
    if answer.status_code != 200 or "text/html" not in answer.get("Content-Type", ""):
        return []
    reader = Forms(page)
    reader.feed(answer.content.decode())
    return [one for one in reader.found if one.address not in LEFT_OUT]


def press(client: Client, form: Sent) -> Any:
    headers = {"HX-Request": "true"} if form.by_htmx else {}
    return client.post(form.address, form.values, headers=headers)


def accepted(answer: Any) -> bool:
    return answer.status_code in {201, 204, 302} or "HX-Redirect" in answer


def test_the_reading_of_a_form() -> None:
    """The parser itself: what is ticked, picked and typed, and nothing else."""
    reader = Forms("/here/")
    reader.feed(
        '<form method="post" action="there/"><input name="a" value="1"><input type="checkbox" '
        'name="b"><input type="radio" name="c" value="x"><input type="radio" name="c" value="y" '
        'checked><select name="d"><option value="">-</option><option value="2" selected>2</option>'
        '</select><textarea name="e">\nwords</textarea></form><input name="f" value="3">'
    )
    (form,) = reader.found
    assert form.address == "/here/there/"
    assert form.values == {"a": ["1"], "c": ["y"], "d": ["2"], "e": ["words"]}


def test_a_form_sent_twice_acts_once(owner_client: Client, shop: Shop, staff: User) -> None:
    furnished = furnish(shop, staff)
    pages = {furnished.address(pattern, route) for pattern, route in patterns()}
    seen, taken, wrong = set(), 0, []
    for page in sorted(pages - LEFT_OUT):
        for form in forms_of(owner_client, page):
            names = (form.address, tuple(sorted(form.values)))
            if names in seen:
                continue
            seen.add(names)
            with transaction.atomic():
                first = press(owner_client, form)
                if accepted(first):
                    taken += 1
                    once = everything()
                    again = press(owner_client, form)
                    if everything() != once:
                        now = everything()
                        changed = [label for label in now if now[label] != once[label]]
                        wrong.append(f"{page} → {form.address} acted twice on {changed}")
                    if again.status_code >= 400:
                        wrong.append(f"{form.address} answered {again.status_code} the second time")
                transaction.set_rollback(True)
            assert first.status_code < 500, form.address
    assert wrong == []
    assert taken >= ACCEPTED_AT_LEAST
