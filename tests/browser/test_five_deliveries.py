"""From the list of customers to a finished fitting of five deliveries: how many taps and keys.

The time is put by the keystroke-level model (Card, Moran & Newell, "The keystroke-level model for
user performance time with interactive systems", Communications of the ACM 23, 1980; its times from
memory): 0.75 s a key, as for codes that nobody types by heart, 1.1 s and a key to point, 1.35 s to
think before each delivery and each page. The target is two minutes, the throws themselves apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Locator, Page, expect

from bowlers.models import Bowler, Fitting
from proshop.models import Shop
from tests.browser.conftest import TABLET, Visitor

pytestmark = pytest.mark.django_db(transaction=True)

DELIVERIES = [
    ("17.2", "350", "45", "12"),
    ("17.4", "345", "47", "13"),
    ("17.1", "355", "44", "12"),
    ("17.6", "340", "46", "11"),
    ("17.3", "350", "45", "12"),
]
PAP = ("5", "1/2")
# As the README says: five taps and 85 keys; without a tap 141 keys, most of them on the way there,
# with room for another link or two on it.
BY_TOUCH = (5, 85)
BY_KEYBOARD = 150
KEY_S, POINT_S, THINK_S = 0.75, 1.1, 1.35


@dataclass
class Hands:
    """Whoever works the tablet, and how often they touched it."""

    page: Page
    taps: int = 0
    keys: int = 0

    def tap(self, place: Locator) -> None:
        place.click()
        self.taps += 1

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.keys += 1

    def type(self, text: str) -> None:
        self.page.keyboard.type(text)
        self.keys += len(text)

    def tab_to(self, place: Locator) -> None:
        """Tab till the place has the focus."""
        for _ in range(40):
            if place.evaluate("element => element === document.activeElement"):
                return
            self.press("Tab")
        raise AssertionError("never reached by Tab")

    def log_five(self) -> None:
        for number, readings in enumerate(DELIVERIES):
            expect(self.page.locator("#rows form")).to_have_count(number)
            expect(self.page.locator("#next [name=speed_mph]")).to_be_focused()
            boxes = (*readings, *PAP) if number == 0 else readings
            for place, text in enumerate(boxes):
                if place:
                    self.press("Tab")
                self.type(text)
            self.press("Enter")
        expect(self.page.locator("#rows form")).to_have_count(len(DELIVERIES))

    @property
    def seconds(self) -> float:
        """The keystroke-level model's time for it."""
        pages = 4
        think = (len(DELIVERIES) + pages) * THINK_S
        return self.keys * KEY_S + self.taps * (POINT_S + KEY_S) + think


@pytest.fixture
def customers(shop: Shop) -> None:
    for name in ("Juniper Vale", "June Hollis", "Rowan Field", "Sorrel Pike"):
        Bowler.objects.create(shop=shop, name=name)


def finished() -> Fitting:
    fitting: Fitting = Fitting.objects.get()
    assert fitting.is_finished
    assert [d.speed_mph for d in fitting.deliveries.all()] == [17.2, 17.4, 17.1, 17.6, 17.3]
    assert all(d.is_complete for d in fitting.deliveries.all())
    return fitting


@pytest.mark.usefixtures("customers")
def test_by_touch(visit: Visitor, staff: User) -> None:
    hands = Hands(visit(staff, "/customers/", **TABLET))
    page = hands.page
    hands.tap(page.get_by_label("Search by name"))
    hands.type("juni")
    expect(page.locator("#customers li")).to_have_count(1)
    hands.tap(page.get_by_role("link", name="Juniper Vale"))
    hands.tap(page.get_by_role("link", name="Log a fitting"))
    hands.tap(page.get_by_role("button", name="Start the fitting"))
    hands.log_five()
    hands.tap(page.get_by_role("button", name="Finish the fitting"))
    expect(page.get_by_role("heading", name="Juniper Vale")).to_be_visible()
    assert finished().bowler.name == "Juniper Vale"
    print(f"\nby touch: {hands.taps} taps, {hands.keys} keys, {hands.seconds:.0f} s by the model")
    assert (hands.taps, hands.keys) == BY_TOUCH
    assert hands.seconds < 120
    assert page.troubles == []  # type: ignore[attr-defined]


@pytest.mark.usefixtures("customers")
def test_a_row_sent_before_the_scripts_came_leads_to_the_next_one(
    visit: Visitor, staff: User
) -> None:
    bowler = Bowler.objects.get(name="Juniper Vale")
    fitting = Fitting.objects.create(shop=bowler.shop, bowler=bowler, logged_by=staff)
    page = visit(staff, f"/fittings/{fitting.pk}/", **TABLET)
    page.locator("#next [name=speed_mph]").fill("17.2")
    page.locator("#next").evaluate("form => form.submit()")  # as a browser does that knows no htmx
    expect(page.locator("#rows form")).to_have_count(1)
    expect(page.locator("#next [name=speed_mph]")).to_be_focused()


@pytest.mark.usefixtures("customers")
def test_by_keyboard_alone(visit: Visitor, staff: User) -> None:
    hands = Hands(visit(staff, "/customers/", **TABLET))
    page = hands.page
    hands.tab_to(page.get_by_label("Search by name"))
    hands.type("juni")
    expect(page.locator("#customers li")).to_have_count(1)
    hands.tab_to(page.get_by_role("link", name="Juniper Vale"))
    hands.press("Enter")
    page.wait_for_url("**/customers/*/")
    hands.tab_to(page.get_by_role("link", name="Log a fitting"))
    hands.press("Enter")
    page.wait_for_url("**/fittings/new/")
    hands.tab_to(page.get_by_role("button", name="Start the fitting"))
    hands.press("Enter")
    page.wait_for_url("**/fittings/*/")
    hands.log_five()
    hands.tab_to(page.get_by_role("button", name="Finish the fitting"))
    hands.press("Enter")
    expect(page.get_by_role("heading", name="Juniper Vale")).to_be_visible()
    finished()
    print(f"\nby keyboard: {hands.keys} keys, {hands.seconds:.0f} s by the model")
    assert hands.taps == 0
    assert hands.keys <= BY_KEYBOARD
    assert page.troubles == []  # type: ignore[attr-defined]
