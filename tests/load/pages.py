"""Every page of the site about somebody of the chain, and how many queries each takes."""

from __future__ import annotations

import statistics
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import URLPattern

from bowlers.models import Bowler, Delivery
from tests.arsenal import records
from tests.browser.test_every_page import NO_PAGES, OF_THE_OWNER
from tests.furnished import Furnished, furnish, patterns

BY_LINK = {"mine", "choose-password"}


@dataclass(frozen=True)
class Page:
    """One address: what it is called, who opens it (``owner``, ``staff`` or ``link``)."""

    name: str
    address: str
    who: str


def walked() -> Iterator[tuple[URLPattern, str]]:
    """Addresses that are pages: no files, no parts of pages, nothing that takes a form."""
    for pattern, route in patterns():
        if pattern.name not in NO_PAGES and not route.endswith(".csv"):
            yield pattern, route


def pages_of(customers: Sequence[Bowler], user: User) -> list[list[Page]]:
    """For each customer all pages, those about somebody or something being about them and what is
    theirs; what they have nothing of is that of one customer with one of everything."""
    everything = furnish(customers[0].shop, user)
    return [_pages(Furnished({**everything.by_path, **_theirs(c)}, _met(c))) for c in customers]


def _pages(furnished: Furnished) -> list[Page]:
    found = []
    for pattern, route in walked():
        name, first = str(pattern.name), route.split("/")[0]
        who = "owner" if name in OF_THE_OWNER else "link" if first in BY_LINK else "staff"
        found.append(Page(name, furnished.address(pattern, route), who))
    return found


def _met(customer: Bowler) -> int:
    return int(customer.conditions.order_by("pk")[0].pk)


def _theirs(customer: Bowler) -> dict[str, int | str]:
    """Records of theirs by the first part of the path of their pages."""
    condition = customer.conditions.order_by("pk")[0].condition
    link = getattr(customer, "phone_link", None) or records.phone_link(customer)
    if link.token is None:
        # Made where the site had another secret key.
        link.renew_token()
        link.save()
    newest = customer.rankings.filter(status="done").order_by("-finished_at")
    found: dict[str, Any] = {
        "customers": customer,
        "grips": customer.grips.first(),
        "fittings": customer.fittings.order_by("-pk").first(),
        "deliveries": Delivery.objects.filter(fitting__bowler=customer).order_by("-pk").first(),
        "bag": customer.bag.filter(retired=False).order_by("pk").first(),
        "houses": condition.house,
        "conditions": condition,
        "rankings": newest.first(),
        "observations": customer.observations.first(),
        "plans": customer.drill_plans.first(),
        "tickets": customer.tickets.first(),
    }
    shown: dict[str, int | str] = {path: one.pk for path, one in found.items() if one is not None}
    return shown | {"mine": str(link.token)}


def clients_of(staff: User, owner: User) -> dict[str, Client]:
    """Django's own client for each who opens pages."""
    clients = {"staff": Client(), "owner": Client(), "link": Client()}
    for who, user in (("staff", staff), ("owner", owner)):
        clients[who].force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return clients


@dataclass(frozen=True)
class Work:
    """Milliseconds of the processor that the site takes for a page, without the database's: for
    somebody this process shows it of for the first time, and again. Others' load isn't in them."""

    first_ms: float
    again_ms: float


def work_of(pages: Sequence[Sequence[Page]], staff: User, owner: User) -> dict[str, Work]:
    """For each page the middle of some customers, by its name.

    The first of them is left out: what is loaded or compiled for a page at all, that one waits for.
    """
    clients = clients_of(staff, owner)

    def took_ms(page: Page) -> float:
        began = time.thread_time()
        clients[page.who].get(page.address)
        return 1000 * (time.thread_time() - began)

    found = {}
    for some in zip(*pages, strict=True):
        took = [(took_ms(page), took_ms(page)) for page in some]
        first, again = zip(*(took[1:] or took), strict=True)
        found[some[0].name] = Work(statistics.median(first), statistics.median(again))
    return found


def queries_of(pages: list[Page], staff: User, owner: User) -> dict[str, list[str]]:
    """The statements each page takes, by its name, once it was opened before."""
    clients = clients_of(staff, owner)
    asked: dict[str, list[str]] = {}
    for page in pages:
        client = clients[page.who]
        status = client.get(page.address).status_code
        if status not in {200, 302}:
            raise AssertionError(f"{page.name}, {page.address}: {status}")
        with CaptureQueriesContext(connection) as taken:
            client.get(page.address)
        asked[page.name] = [query["sql"] for query in taken.captured_queries]
    return asked
