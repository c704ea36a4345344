"""Rows of the fitting page: added, kept while typed, left out, asked about."""

import uuid

import pytest
from django.test import Client

from bowlers import services
from bowlers.models import Delivery, Fitting
from tests.bowlers.conftest import HTMX, PLAIN, Log, row


def rows(fitting: Fitting) -> str:
    return f"/fittings/{fitting.pk}/rows/"


def test_a_row_is_added_and_the_means_come_back(staff_client: Client, fitting: Fitting) -> None:
    answer = staff_client.post(rows(fitting), row(next="1"), headers=HTMX)
    page = answer.content.decode()
    assert fitting.deliveries.get().readings == PLAIN
    assert 'id="means"' in page
    assert "<td>17.0</td>" in page
    assert page.index('id="next"') < page.index('hx-swap-oob="beforeend:#rows"')


def test_without_scripts_a_row_is_added_too(staff_client: Client, fitting: Fitting) -> None:
    answer = staff_client.post(rows(fitting), row(next="1"))
    assert answer.headers["Location"] == f"/fittings/{fitting.pk}/"
    assert fitting.deliveries.count() == 1


def test_commas_and_fractions_are_read(staff_client: Client, fitting: Fitting) -> None:
    staff_client.post(
        rows(fitting), row(speed_mph="17,25", pap_over_in="4 3/8", pap_up_in="½ down")
    )
    delivery = fitting.deliveries.get()
    assert (delivery.speed_mph, delivery.pap_over_in, delivery.pap_up_in) == (17.25, 4.375, -0.5)


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_out_of_range_is_refused_with_the_range_and_nothing_typed_is_lost(
    staff_client: Client, fitting: Fitting, headers: dict[str, str]
) -> None:
    typed = row(next="1", speed_mph="45", rev_rate_rpm="351", tilt_deg="steep")
    answer = staff_client.post(rows(fitting), typed, headers=headers)
    page = answer.content.decode()
    assert answer.status_code == (422 if headers else 200)
    assert "Speed must be between 5 and 30 mph." in page
    assert "Tilt must be a number" in page
    for value in ("45", "351", "steep"):
        assert f'value="{value}"' in page
    assert not fitting.deliveries.exists()


def test_a_refused_row_can_be_corrected_and_sent_with_the_same_token(
    staff_client: Client, fitting: Fitting
) -> None:
    typed = row(speed_mph="45")
    staff_client.post(rows(fitting), typed, headers=HTMX)
    staff_client.post(rows(fitting), {**typed, "speed_mph": "17"}, headers=HTMX)
    assert fitting.deliveries.get().speed_mph == 17


@pytest.mark.parametrize("number", ["1e400", "9" * 400, "nan", "-inf", "1" + "0" * 30, "\0"])
def test_absurd_numbers_are_refused_in_words(
    staff_client: Client, fitting: Fitting, number: str
) -> None:
    answer = staff_client.post(rows(fitting), row(rev_rate_rpm=number), headers=HTMX)
    assert answer.status_code == 422
    assert "Rev rate must be" in answer.content.decode()
    assert not fitting.deliveries.exists()


def test_out_of_family_is_asked_about_and_kept(staff_client: Client, fitting: Fitting) -> None:
    answer = staff_client.post(rows(fitting), row(next="1", rev_rate_rpm="620"), headers=HTMX)
    assert "Rev rate 620 rpm: is that right?" in answer.content.decode()
    delivery = fitting.deliveries.get()
    assert delivery.rev_rate_rpm == 620
    answer = staff_client.post(f"/deliveries/{delivery.pk}/confirm/", headers=HTMX)
    assert "is that right?" not in answer.content.decode()


def test_a_half_filled_row_is_kept_as_a_draft(staff_client: Client, fitting: Fitting) -> None:
    answer = staff_client.post(
        rows(fitting), row(next="1", rotation_deg="", tilt_deg=""), headers=HTMX
    )
    assert "Not read yet: Rotation, Tilt." in answer.content.decode()
    delivery = fitting.deliveries.get()
    assert (delivery.speed_mph, delivery.tilt_deg) == (17, None)


def test_what_is_typed_is_kept_before_the_row_is_added(
    staff_client: Client, fitting: Fitting
) -> None:
    blank = dict.fromkeys(PLAIN, "")
    typed = row(**{**blank, "speed_mph": "17,4"})
    kept = staff_client.post(rows(fitting) + "keep/", typed, headers=HTMX).content.decode()
    assert fitting.deliveries.get().speed_mph == 17.4
    assert f'id="version-{typed["row_key"]}" value="1"' in kept
    assert "data-row" not in kept
    staff_client.post(
        rows(fitting), {**typed, "record_version": "1", "rev_rate_rpm": "350"}, headers=HTMX
    )
    delivery = fitting.deliveries.get()
    assert (delivery.speed_mph, delivery.rev_rate_rpm) == (17.4, 350)


def test_keeping_a_row_with_a_mistake_says_so_and_stores_nothing(
    staff_client: Client, fitting: Fitting
) -> None:
    answer = staff_client.post(rows(fitting) + "keep/", row(speed_mph="45"), headers=HTMX)
    assert "Speed must be between 5 and 30 mph." in answer.content.decode()
    assert 'data-wrong="speed_mph ' in answer.content.decode()
    assert not fitting.deliveries.exists()


def test_a_row_with_nothing_but_the_carried_pap_is_not_a_delivery(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    log(fitting)
    blank = {name: "" for name in PLAIN if not name.startswith("pap")}
    staff_client.post(rows(fitting) + "keep/", row(**blank), headers=HTMX)
    answer = staff_client.post(rows(fitting), row(**blank), headers=HTMX)
    assert "Nothing read yet" in answer.content.decode()
    assert fitting.deliveries.count() == 1


def test_a_pap_alone_may_be_the_first_thing_entered(staff_client: Client, fitting: Fitting) -> None:
    blank = {name: "" for name in PLAIN if not name.startswith("pap")}
    staff_client.post(rows(fitting), row(**blank), headers=HTMX)
    assert fitting.deliveries.get().pap_over_in == 5


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_a_double_click_adds_one_delivery(
    staff_client: Client, fitting: Fitting, headers: dict[str, str]
) -> None:
    typed = row(next="1")
    first, second = (staff_client.post(rows(fitting), typed, headers=headers) for _ in range(2))
    assert fitting.deliveries.count() == 1
    assert (first.status_code, second.status_code) == ((200, 204) if headers else (302, 302))


def test_same_again_fills_the_next_row_and_saves_nothing(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    log(fitting, speed_mph=17.6, rotation_deg=51)
    for headers in ({}, HTMX):
        page = staff_client.get(rows(fitting) + "again/", headers=headers).content.decode()
        next_row = page[page.index('id="next"') :]
        assert 'name="speed_mph" value="17.6"' in next_row
        assert 'name="rotation_deg" value="51"' in next_row
    assert fitting.deliveries.count() == 1


def test_same_again_keeps_what_was_typed_already(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    log(fitting, speed_mph=17.6)
    key = str(uuid.uuid4())
    page = staff_client.get(
        rows(fitting) + "again/", {"row_key": key, "speed_mph": "18,1"}, headers=HTMX
    ).content.decode()
    assert 'name="speed_mph" value="18,1"' in page
    assert f'name="row_key" value="{key}"' in page


def test_same_again_on_an_empty_fitting_is_an_empty_row(
    staff_client: Client, fitting: Fitting
) -> None:
    assert staff_client.get(rows(fitting) + "again/").status_code == 200


def test_the_second_of_two_tabs_is_told_and_may_replace_it_on_purpose(
    staff_client: Client, second_staff_client: Client, fitting: Fitting, log: Log
) -> None:
    delivery = log(fitting)
    key = str(delivery.row_key)
    first = row(row_key=key, record_version="1", speed_mph="18")
    second_staff_client.post(rows(fitting), first, headers=HTMX)
    second = row(row_key=key, record_version="1", speed_mph="16")
    answer = staff_client.post(rows(fitting), second, headers=HTMX)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Dana changed this delivery" in page
    assert "it is now 18 mph" in page
    assert 'name="speed_mph" value="16"' in page
    assert f'name="record_version" value="2" id="version-{key}"' in page
    delivery.refresh_from_db()
    assert delivery.speed_mph == 18
    staff_client.post(rows(fitting), {**second, "record_version": "2"}, headers=HTMX)
    delivery.refresh_from_db()
    assert delivery.speed_mph == 16


def test_a_delivery_left_out_can_be_taken_back(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    delivery = log(fitting)
    answer = staff_client.post(f"/deliveries/{delivery.pk}/drop/", headers=HTMX)
    assert "Take back" in answer.content.decode()
    assert not Delivery.objects.kept().exists()
    answer = staff_client.post(f"/deliveries/{delivery.pk}/restore/")
    assert answer.headers["Location"].startswith(f"/fittings/{fitting.pk}/#row-")
    assert Delivery.objects.kept().get().readings == PLAIN


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_a_row_sent_to_a_finished_fitting_changes_nothing_and_leads_back(
    staff_client: Client, fitting: Fitting, log: Log, headers: dict[str, str]
) -> None:
    log(fitting)
    services.finish_fitting(fitting=fitting)
    answer = staff_client.post(rows(fitting), row(next="1"), headers=headers)
    where = answer.headers["HX-Redirect" if headers else "Location"]
    assert where == f"/fittings/{fitting.pk}/"
    assert "Reopen it to go on" in staff_client.get(where).content.decode()
    assert fitting.deliveries.count() == 1


def test_a_row_with_a_broken_key_is_kept_under_one_of_its_own(
    staff_client: Client, fitting: Fitting
) -> None:
    """Nothing typed is lost for what nobody typed."""
    answer = staff_client.post(rows(fitting), row(row_key="../../x"), headers=HTMX)
    assert answer.status_code == 200
    assert fitting.deliveries.get().row_key.version == 4


def test_an_absurd_version_is_a_stale_one(staff_client: Client, fitting: Fitting, log: Log) -> None:
    key = str(log(fitting).row_key)
    typed = row(row_key=key, record_version="9" * 30, speed_mph="18")
    assert staff_client.post(rows(fitting), typed, headers=HTMX).status_code == 422


def test_without_scripts_the_cursor_stands_in_the_box_that_is_wrong(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    key = str(log(fitting).row_key)
    typed = row(row_key=key, record_version="1", rev_rate_rpm="many")
    before, after = staff_client.post(rows(fitting), typed).content.decode().split('id="next"')
    assert 'value="many"' in before
    assert before.count("autofocus") == 1
    assert "autofocus" not in after
