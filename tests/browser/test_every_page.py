"""Every page of the site, in a real browser, on a phone and at a desk, light and dark."""

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.urls import URLPattern

from proshop.models import Shop
from tests.browser.conftest import DESK, PHONE, Visitor, axe_findings, keep_picture, overflow
from tests.furnished import furnish, patterns

# Addresses that take a form or answer with a part of a page.
NO_PAGES = {
    "units",
    "customer-export",
    *("person-link", "person-end", "person-second-end", "second-codes", "second-end"),
    *("sign-out", "fitting-finish", "fitting-reopen", "ranking-progress", "ranking-strip"),
    "rerank-standing",
    *("owned-ball-retire", "owned-ball-care", "stock-ball-move", "customer-condition-edit"),
    *("condition-states", "condition-file", "condition-preview"),
    "customer-tell-apart",
    *("delivery-save", "delivery-keep", "delivery-again"),
    *("delivery-drop", "delivery-restore", "delivery-confirm", "delivery-derived"),
    *("health", "phone-worker", "phone-report", "phone-link-end", "phone-report-decide"),
    *("rules-choose", "house-limit-back", "drill-plan-sign", "drill-plan-aside"),
    *("ticket-move", "ticket-label-pdf", "reminder-asked"),
    # Files, and pages that another state of the plan than the furnished one has.
    *("drill-sheet-pdf", "drill-plan-drilled", "drill-plan-weighed", "drill-plan-from-choice"),
    *(
        "sides-night",
        "sides-show",
        "phone-sheet-off",
        "office-file",
        "stock-file",
        "office-standing",
    ),
    "weigh-in-pdf",
    *("ring-derived", "no-throw-derived", "no-throw-keep", "grip-preview"),
}
OF_THE_OWNER = {"office", "people", "person", "customer-privacy", "customers-erased"}
PAGES = [
    entry
    for entry in patterns()
    if entry[0].name not in NO_PAGES | {"sign-in"} and not entry[1].endswith(".csv")
]
IDS = [str(pattern.name) for pattern, _ in PAGES]
WITHOUT_TOKEN = "main form[method=post]:not(:has([name=form_token]))"
SEATS = [
    pytest.param(PHONE, "light", id="phone-light"),
    pytest.param(DESK, "dark", id="desk-dark"),
]

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize(("seat", "scheme"), SEATS)
@pytest.mark.parametrize(("pattern", "route"), PAGES, ids=IDS)
def test_a_page_is_sound(
    pattern: URLPattern,
    route: str,
    seat: dict[str, Any],
    scheme: str,
    visit: Visitor,
    shop: Shop,
    staff: User,
    owner: User,
) -> None:
    """No breach of the policy, no error, nothing wider than the window, nothing axe finds."""
    address = furnish(shop, staff).address(pattern, route)
    who = owner if pattern.name in OF_THE_OWNER else staff
    page = visit(who, address, color_scheme=scheme, **seat)
    page.wait_for_load_state("networkidle")
    keep_picture(page, f"{pattern.name}-{'phone' if seat is PHONE else 'desk'}-{scheme}")
    assert page.locator("h1").count() == 1
    assert page.locator(WITHOUT_TOKEN).count() == 0
    assert page.troubles == []  # type: ignore[attr-defined]
    assert overflow(page) == 0
    assert axe_findings(page) == []


@pytest.mark.parametrize("path", ["/sign-in/", "/no-such-page/"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages_outside_the_shop_are_sound(
    path: str, scheme: str, visit: Visitor, staff: User
) -> None:
    page = visit(None if path == "/sign-in/" else staff, path, color_scheme=scheme, **PHONE)
    expected = [said for said in page.troubles if "404" not in said]  # type: ignore[attr-defined]
    assert expected == []
    assert overflow(page) == 0
    assert axe_findings(page) == []
