"""Starting, finishing and reopening a fitting, and its page."""

import datetime
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from bowlers import services
from bowlers.models import Bowler, Fitting
from tests.bowlers.conftest import Log


def token() -> str:
    return str(uuid.uuid4())


def test_a_fitting_starts_today_as_a_draft_of_the_one_signed_in(
    staff_client: Client, staff: User, bowler: Bowler
) -> None:
    answer = staff_client.post(
        f"/customers/{bowler.pk}/fittings/new/",
        {"form_token": token(), "fitted_on": timezone.localdate(), "notes": "Lane 3"},
    )
    fitting = bowler.fittings.get()
    assert answer.headers["Location"] == f"/fittings/{fitting.pk}/"
    assert (fitting.status, fitting.logged_by, fitting.notes) == ("draft", staff, "Lane 3")


def test_a_double_click_starts_one_fitting(staff_client: Client, bowler: Bowler) -> None:
    form = {"form_token": token(), "fitted_on": "2026-05-03", "notes": ""}
    for _ in range(2):
        staff_client.post(f"/customers/{bowler.pk}/fittings/new/", form)
    assert bowler.fittings.count() == 1


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (timezone.localdate() + datetime.timedelta(days=2), "Date is in the future"),
        ("1066-10-14", "Date must be in 1900 or later"),
        ("last week", "Enter a valid date"),
    ],
)
def test_an_impossible_day_is_refused_and_the_notes_are_kept(
    staff_client: Client, bowler: Bowler, day: Any, words: str
) -> None:
    answer = staff_client.post(
        f"/customers/{bowler.pk}/fittings/new/",
        {"form_token": token(), "fitted_on": day, "notes": "Typed with care"},
    )
    assert words in answer.content.decode()
    assert "Typed with care" in answer.content.decode()
    assert not bowler.fittings.exists()


def test_a_draft_is_offered_before_another_fitting_is_started(
    staff_client: Client, fitting: Fitting
) -> None:
    page = staff_client.get(f"/customers/{fitting.bowler.pk}/fittings/new/").content.decode()
    assert f"/fittings/{fitting.pk}/" in page
    assert "isn’t finished yet" in page


def test_an_empty_fitting_shows_a_row_to_fill_and_no_error(
    staff_client: Client, fitting: Fitting
) -> None:
    page = staff_client.get(f"/fittings/{fitting.pk}/").content.decode()
    assert page.count("data-row") == 1
    assert "There is no earlier fitting on record" in page


def test_the_pap_is_carried_to_the_next_row(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    log(fitting, pap_over_in=4.375, pap_up_in=-0.5)
    page = staff_client.get(f"/fittings/{fitting.pk}/").content.decode()
    next_row = page[page.index('id="next"') :]
    assert 'name="pap_over_in" value="4.375"' in next_row
    assert 'name="pap_up_in" value="−0.5"' in next_row
    assert 'name="speed_mph" value' not in next_row


def test_finishing_leads_back_to_the_customer(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    log(fitting)
    answer = staff_client.post(f"/fittings/{fitting.pk}/finish/", {"form_token": token()})
    assert answer.headers["Location"] == f"/customers/{fitting.bowler.pk}/"
    fitting.refresh_from_db()
    assert fitting.is_finished


def test_finishing_without_a_complete_delivery_says_what_is_needed(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    log(fitting, tilt_deg=None)
    answer = staff_client.post(
        f"/fittings/{fitting.pk}/finish/", {"form_token": token()}, follow=True
    )
    assert "at least one delivery needs all six readings" in answer.content.decode()
    fitting.refresh_from_db()
    assert not fitting.is_finished
    assert fitting.deliveries.count() == 1


def test_a_finished_fitting_is_read_only_until_reopened(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    log(fitting)
    services.finish_fitting(fitting=fitting)
    page = staff_client.get(f"/fittings/{fitting.pk}/").content.decode()
    assert "data-row" not in page
    assert "Reopen to change it" in page
    staff_client.post(f"/fittings/{fitting.pk}/reopen/", {"form_token": token()})
    assert "data-row" in staff_client.get(f"/fittings/{fitting.pk}/").content.decode()


def test_two_tabs_on_date_and_notes_are_told(staff_client: Client, fitting: Fitting) -> None:
    address = f"/fittings/{fitting.pk}/edit/"
    form = {"record_version": "1", "fitted_on": "2026-05-03"}
    staff_client.post(address, {**form, "form_token": token(), "notes": "first"})
    answer = staff_client.post(address, {**form, "form_token": token(), "notes": "second"})
    assert "Sam saved this record" in answer.content.decode()
    assert "second" in answer.content.decode()
    fitting.refresh_from_db()
    assert fitting.notes == "first"


def test_another_shops_fitting_is_not_there(
    other_staff_client: Client, fitting: Fitting, log: Log
) -> None:
    delivery = log(fitting)
    for address in (f"/fittings/{fitting.pk}/", f"/fittings/{fitting.pk}/edit/"):
        assert other_staff_client.get(address).status_code == 404
    for address in (
        f"/customers/{fitting.bowler.pk}/fittings/new/",
        f"/fittings/{fitting.pk}/finish/",
        f"/fittings/{fitting.pk}/reopen/",
        f"/fittings/{fitting.pk}/rows/",
        f"/fittings/{fitting.pk}/rows/keep/",
        f"/deliveries/{delivery.pk}/drop/",
        f"/deliveries/{delivery.pk}/restore/",
        f"/deliveries/{delivery.pk}/confirm/",
    ):
        assert other_staff_client.post(address, {"form_token": token()}).status_code == 404
    assert other_staff_client.get(f"/fittings/{fitting.pk}/rows/again/").status_code == 404


@pytest.mark.parametrize("deliveries", [1, 12])
def test_the_page_costs_seven_queries_however_many_deliveries_there_are(
    staff_client: Client,
    fitting: Fitting,
    log: Log,
    deliveries: int,
    django_assert_num_queries: Callable[[int], Any],
) -> None:
    for _ in range(deliveries):
        log(fitting)
    # session, user, membership, fitting, deliveries, earlier fittings
    with django_assert_num_queries(7):
        staff_client.get(f"/fittings/{fitting.pk}/")
