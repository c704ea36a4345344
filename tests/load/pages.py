"""Every page of the site about somebody of the chain, and how many queries each takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import User
from django.contrib.auth.tokens import default_token_generator
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import URLPattern
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from arsenal.models import BallModel, Condition, House, HouseLimit, StockBall
from bowlers.models import Bowler, CustomerMerge, Delivery
from proshop.models import SentFile, Shop
from tests.arsenal import records
from tests.browser.test_every_page import NO_PAGES, OF_THE_OWNER
from tests.furnished import Furnished, patterns

BY_LINK = {"mine", "choose-password"}
LIMIT: dict[str, Any] = {
    "rule_set": "us-2020",
    "limit": "top_oz:over10",
    "value": 2.5,
    "reason": "Our league.",
}


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


def pages_about(customer: Bowler, user: User) -> list[Page]:
    """All pages, those about somebody or something being about this customer and what is theirs."""
    met = customer.conditions.order_by("pk")[0].pk
    furnished = Furnished(_records(customer, user), met)
    found = []
    for pattern, route in walked():
        name, first = str(pattern.name), route.split("/")[0]
        who = "owner" if name in OF_THE_OWNER else "link" if first in BY_LINK else "staff"
        found.append(Page(name, furnished.address(pattern, route), who))
    return found


def _records(customer: Bowler, user: User) -> dict[str, int | str]:
    """A record of each kind by the first part of its pages' path; made where there is none."""
    shop: Shop = customer.shop
    ball = customer.bag.filter(retired=False).order_by("pk")[0]
    condition = customer.conditions.order_by("pk")[0].condition
    seen = customer.observations.first() or records.observation(ball, condition)
    fitting = customer.fittings.order_by("-pk")[0]
    link = getattr(customer, "phone_link", None) or records.phone_link(customer)
    limit = HouseLimit.objects.filter(shop=shop).first()
    merge = customer.merges.first() or CustomerMerge.objects.create(
        shop=shop, kept=customer, gone_number=999_999, gone_name="Wren March", merged_by=user
    )
    file = SentFile.objects.filter(shop=shop).first() or SentFile.objects.create(
        shop=shop, sent_by=user, kind="customers", name="customers.csv",
        text="name,average (pins)\nJuniper Vale,180\nTom Okafor,900\n",
    )  # fmt: skip
    report = customer.phone_reports.first() or records.phone_report(ball, condition)
    return {
        "customers": customer.pk,
        "grips": (customer.grips.first() or records.grip(customer)).pk,
        "fittings": fitting.pk,
        "deliveries": Delivery.objects.filter(fitting=fitting)[0].pk,
        "models": BallModel.objects.filter(shop=shop)[0].pk,
        "shelf": StockBall.objects.filter(shop=shop, state="shelf")[0].pk,
        "bag": ball.pk,
        "houses": House.objects.filter(shop=shop)[0].pk,
        "conditions": Condition.objects.filter(shop=shop)[0].pk,
        "rankings": customer.rankings.filter(status="done").order_by("-finished_at")[0].pk,
        "observations": seen.pk,
        "rules": (limit or HouseLimit.objects.create(shop=shop, **LIMIT)).pk,
        "phone-reports": report.pk,
        "plans": (customer.drill_plans.first() or records.drill_plan(customer, ball.spec)).pk,
        "merges": merge.pk,
        "tickets": (customer.tickets.first() or records.ticket(customer, ball=ball)).pk,
        "files": file.pk,
        "mine": str(link.token),
        "choose-password/uidb64": urlsafe_base64_encode(force_bytes(user.pk)),
        "choose-password/token": default_token_generator.make_token(user),
    }


def queries_of(pages: list[Page], staff: User, owner: User) -> dict[str, list[str]]:
    """The statements each page takes, by its name, once it was opened before."""
    clients = {"staff": Client(), "owner": Client(), "link": Client()}
    for who, user in (("staff", staff), ("owner", owner)):
        clients[who].force_login(user, backend="django.contrib.auth.backends.ModelBackend")
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
