"""Bringing a CSV file in, in a real browser: checked, put right, imported, taken out again."""

from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Page

from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records
from tests.browser.conftest import (
    DESK,
    PHONE,
    TABLET,
    Visitor,
    axe_findings,
    keep_picture,
    overflow,
)

pytestmark = pytest.mark.django_db(transaction=True)
SEATS = [
    pytest.param(PHONE, "light", id="phone"),
    pytest.param(TABLET, "dark", id="tablet"),
    pytest.param(DESK, "light", id="desk"),
]
FAULTY = "name;phone;average (pins);notes\nAda Reed;call me;190;\nBo Lind;555 0199;310;=1+1\n"
RIGHT = FAULTY.replace("call me", "+1 555 0142").replace("310", "210")


def sound(page: Page, name: str) -> None:
    keep_picture(page, name)
    assert overflow(page) == 0
    assert axe_findings(page) == []


@pytest.mark.parametrize(("seat", "scheme"), SEATS)
def test_a_file_is_checked_put_right_and_imported(
    seat: dict[str, Any], scheme: str, visit: Visitor, shop: Shop, staff: User
) -> None:
    Bowler.objects.create(shop=shop, name="Bo Lind", phone="(555) 01-99", average=180)
    page = visit(staff, "/customers/", color_scheme=scheme, **seat)
    page.get_by_role("link", name="CSV file").click()
    page.get_by_role("heading", name="Customers as a CSV file").wait_for()
    for text, heading in ((FAULTY, "Faults, by line"), (RIGHT, "What importing it does")):
        content = {"name": "people.csv", "mimeType": "text/csv", "buffer": text.encode()}
        page.get_by_label("CSV file").set_input_files(content)  # type: ignore[arg-type]
        page.get_by_role("button", name="Check the file").click()
        page.get_by_role("heading", name=heading).wait_for()
        sound(page, f"file-{'faults' if text is FAULTY else 'checked'}-{seat['viewport']['width']}")
        assert Bowler.objects.count() == 1
        if text is FAULTY:
            told = page.locator(".file-faults tbody tr").all_inner_texts()
            assert [row.split("\t")[:3] for row in told] == [
                ["2", "phone", "call me"],
                ["3", "average (pins)", "310"],
            ]
            assert page.get_by_role("button", name="Import the file").count() == 0
    assert page.get_by_text("average (pins): 180 to 210").count() == 1
    page.get_by_role("button", name="Import the file").dblclick()
    page.get_by_role("heading", name="people.csv, imported").wait_for()
    sound(page, f"file-imported-{seat['viewport']['width']}")
    people = Bowler.objects.order_by("name").values_list("name", "average", "notes", "version")
    assert list(people) == [("Ada Reed", 190, "", 1), ("Bo Lind", 210, "=1+1", 2)]
    assert page.troubles == []  # type: ignore[attr-defined]


def test_what_is_taken_out_is_nothing_to_import(
    visit: Visitor, shop: Shop, staff: User, tmp_path: Path
) -> None:
    records.customer(shop, "=Zoë “Z” Prat", goal="two\nlines; and, more", notes="'=1")
    page = visit(staff, "/customers/file/", **DESK)
    with page.expect_download() as started:
        page.get_by_role("link", name="Download all").click()
    saved = tmp_path / "all.csv"
    started.value.save_as(saved)
    assert saved.read_bytes().startswith(b"\xef\xbb\xbf")
    page.get_by_label("CSV file").set_input_files(saved)
    page.get_by_role("button", name="Check the file").click()
    page.get_by_text("Everything in this file is stored already").wait_for()


def test_a_file_of_another_kind_is_refused_where_it_was_chosen(
    visit: Visitor, shop: Shop, staff: User
) -> None:
    page = visit(staff, "/customers/file/", **TABLET)
    content = {"name": "p.xlsx", "mimeType": "application/zip", "buffer": b"PK\x03\x04"}
    page.get_by_label("CSV file").set_input_files(content)  # type: ignore[arg-type]
    page.get_by_role("button", name="Check the file").click()
    page.get_by_text("The file is a spreadsheet, not a CSV").wait_for()
    assert axe_findings(page) == []


@pytest.mark.parametrize(("seat", "scheme"), SEATS)
def test_two_records_of_one_customer_are_made_one(
    seat: dict[str, Any], scheme: str, visit: Visitor, shop: Shop, staff: User
) -> None:
    Bowler.objects.create(shop=shop, name="Dana Kowalski", phone="555 0142", average=190)
    twin = Bowler.objects.create(shop=shop, name="Dana Kowalsky", phone="555 0142", born=1984)
    records.owned_ball(twin, records.ball_model(shop).specs.get(), serial="7F3A21")
    page = visit(staff, "/customers/", color_scheme=scheme, **seat)
    page.get_by_role("link", name="Entered twice?").click()
    page.get_by_role("link", name="Compare Dana Kowalski and Dana Kowalsky").click()
    page.get_by_role("heading", name="Make one customer of two").wait_for()
    sound(page, f"merge-{seat['viewport']['width']}")
    page.get_by_role("button", name="Merge the two").dblclick()
    page.get_by_text("Dana Kowalsky is merged into Dana Kowalski.").wait_for()
    page.locator("main a[href^='/merges/']").click()
    page.get_by_role("heading", name="What moved").wait_for()
    sound(page, f"merged-{seat['viewport']['width']}")
    kept = Bowler.objects.get()
    assert (kept.born, kept.bag.get().serial) == (1984, "7F3A21")
    assert page.troubles == []  # type: ignore[attr-defined]
