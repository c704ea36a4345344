"""What a customer agreed to, and when: may be left empty, and is never half known."""

from __future__ import annotations

import datetime
import json

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from bowlers.models import Bowler
from bowlers.privacy.export import export
from proshop.files.kinds import kind_of
from proshop.files.reading import read, write
from proshop.models import Shop
from tests.bowlers.test_customer_file import bring_in, words
from tests.bowlers.test_customer_form import typed

SAID, DAY = "Measurements kept, a call when care is due", "2026-05-31"


def test_it_may_be_left_empty_as_may_the_phone(staff_client: Client) -> None:
    staff_client.post("/customers/new/", typed())
    bowler = Bowler.objects.get()
    assert (bowler.agreed_to, bowler.agreed_on, bowler.phone) == ("", None, "")
    assert "Agreed to" not in staff_client.get(f"/customers/{bowler.pk}/").content.decode()


def test_it_is_shown_kept_in_the_history_and_given_out(staff_client: Client) -> None:
    staff_client.post("/customers/new/", typed(agreed_to=f"  {SAID} ", agreed_on=DAY))
    bowler = Bowler.objects.get()
    assert (bowler.agreed_to, bowler.agreed_on) == (SAID, datetime.date(2026, 5, 31))
    page = staff_client.get(f"/customers/{bowler.pk}/").content.decode()
    assert f"{SAID}, on 31 May 2026" in page
    # Taken back: what had been agreed stays in the history, which goes when the customer is erased.
    answer = staff_client.post(f"/customers/{bowler.pk}/edit/", typed(agreed_to="", agreed_on=""))
    assert answer.status_code == 302
    bowler.refresh_from_db()
    assert (bowler.agreed_to, bowler.agreed_on) == ("", None)
    told = json.loads(export(bowler))
    earlier = [row for rows in told["earlier"].values() for row in rows]
    assert {row["agreed to"] for row in earlier} == {"", SAID}
    assert f"Agreed to: {SAID[:37]}… to nothing" in (
        staff_client.get(f"/customers/{bowler.pk}/edit/").content.decode()
    )


TOMORROW = (timezone.localdate() + datetime.timedelta(days=1)).isoformat()
WRONG = [
    (SAID, "", "Agreed on", "is missing: enter the day the customer agreed."),
    ("", DAY, "Agreed to", "is missing: enter what the customer agreed to on that day."),
    (SAID, TOMORROW, "Agreed on", "is in the future: enter the day the customer agreed."),
    (SAID, "1066-10-14", "Agreed on", "must be in 1900 or later."),
]


@pytest.mark.parametrize(("to", "on", "label", "why"), WRONG)
def test_half_of_it_is_refused_by_its_field(
    staff_client: Client, shop: Shop, to: str, on: str, label: str, why: str
) -> None:
    page = staff_client.post("/customers/new/", typed(agreed_to=to, agreed_on=on))
    assert f"{label} {why}" in page.content.decode()
    assert not Bowler.objects.exists()
    (fault,) = words(shop, f"name;agreed to;agreed on (date)\nAda Reed;{to};{on}\n")
    assert why in fault
    assert label.lower() in fault


def test_it_comes_back_from_a_file_as_it_went_out(shop: Shop, staff: User) -> None:
    bring_in(shop, staff, f"name;agreed to;agreed on (date)\nAda Reed;{SAID};{DAY}\n")
    ada = Bowler.objects.get()
    assert (ada.agreed_to, ada.agreed_on) == (SAID, datetime.date(2026, 5, 31))
    kind = kind_of("customers")
    text = write(kind.columns, kind.records(shop))
    plan = kind.plan(shop, read(text, kind.columns))
    assert not plan.faults
    assert [row.action for row in plan.rows] == ["same"]


def test_two_customers_of_whom_one_agreed_are_merged_with_what_was_agreed(
    staff_client: Client, shop: Shop
) -> None:
    kept, gone = (Bowler.objects.create(shop=shop, name="Entered Twice") for _ in range(2))
    gone.agreed_to, gone.agreed_on = SAID, datetime.date(2026, 5, 31)
    gone.save()
    where = f"/customers/{kept.pk}/merge/?with={gone.pk}"
    asked = {"kept_version": "1", "gone_version": "1", "with": str(gone.pk)}
    half = {**asked, "agreed_to": "kept", "agreed_on": "gone"}
    page = staff_client.post(where, half).content.decode()
    assert "Agreed to is missing" in page
    staff_client.post(where, {**asked, "agreed_to": "gone", "agreed_on": "gone"})
    one = Bowler.objects.get()
    assert (one.pk, one.agreed_to, str(one.agreed_on)) == (kept.pk, SAID, DAY)
