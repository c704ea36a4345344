"""Rows stored once, finished fittings closed."""

import uuid
from collections.abc import Callable

import pytest

from bowlers import services
from bowlers.models import Fitting
from proshop.models import StaleRecord
from tests.bowlers.conftest import PLAIN, Log


def test_the_same_row_sent_twice_is_one_delivery(fitting: Fitting) -> None:
    key = uuid.uuid4()
    for _ in range(2):
        services.save_delivery(fitting=fitting, row_key=key, readings=PLAIN, expected_version=None)
    delivery = fitting.deliveries.get()
    assert delivery.version == 1
    assert delivery.history.count() == 1


def test_a_row_changed_elsewhere_is_not_overwritten(fitting: Fitting, log: Log) -> None:
    delivery = log(fitting)
    services.save_delivery(
        fitting=fitting,
        row_key=delivery.row_key,
        readings={**PLAIN, "speed_mph": 18.0},
        expected_version=1,
    )
    with pytest.raises(StaleRecord):
        services.save_delivery(
            fitting=fitting,
            row_key=delivery.row_key,
            readings={**PLAIN, "speed_mph": 16.0},
            expected_version=1,
        )
    delivery.refresh_from_db()
    assert delivery.speed_mph == 18.0


def test_a_changed_reading_is_asked_about_again(fitting: Fitting, log: Log) -> None:
    delivery = services.confirm_delivery(delivery=log(fitting, rev_rate_rpm=620))
    assert delivery.questions == []
    changed = services.save_delivery(
        fitting=fitting,
        row_key=delivery.row_key,
        readings={**PLAIN, "rev_rate_rpm": 640.0},
        expected_version=delivery.version,
    )
    assert changed.questions == ["Rev rate 640 rpm: is that right?"]


def test_numbers_of_deliveries_go_on_after_one_was_left_out(fitting: Fitting, log: Log) -> None:
    log(fitting)
    services.set_dropped(delivery=log(fitting), dropped=True)
    assert log(fitting).order == 3


def test_a_fitting_needs_one_complete_delivery_to_be_finished(fitting: Fitting, log: Log) -> None:
    log(fitting, tilt_deg=None)
    with pytest.raises(services.NothingComplete):
        services.finish_fitting(fitting=fitting)
    log(fitting)
    assert services.finish_fitting(fitting=fitting).is_finished


def test_a_finished_fitting_is_closed_until_it_is_reopened(fitting: Fitting, log: Log) -> None:
    delivery = log(fitting)
    services.finish_fitting(fitting=fitting)
    changes: list[Callable[[], object]] = [
        lambda: log(fitting),
        lambda: services.set_dropped(delivery=delivery, dropped=True),
        lambda: services.confirm_delivery(delivery=delivery),
    ]
    for change in changes:
        with pytest.raises(services.FittingFinished):
            change()
    services.reopen_fitting(fitting=fitting)
    assert log(fitting).order == 2


def test_a_delivery_left_out_and_taken_back_is_as_it_was(fitting: Fitting, log: Log) -> None:
    delivery = log(fitting)
    services.set_dropped(delivery=delivery, dropped=True)
    services.set_dropped(delivery=delivery, dropped=False)
    delivery.refresh_from_db()
    assert delivery.readings == PLAIN
    assert [entry.dropped for entry in delivery.history.all()] == [False, True, False]


def test_confirming_twice_changes_nothing_more(fitting: Fitting, log: Log) -> None:
    delivery = services.confirm_delivery(delivery=log(fitting, rev_rate_rpm=620))
    services.confirm_delivery(delivery=delivery)
    delivery.refresh_from_db()
    assert (delivery.confirmed, delivery.version) == (True, 2)
