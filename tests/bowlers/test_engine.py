"""Means and spreads of a fitting, robust to one bad entry, and which fitting counts."""

import datetime
import statistics

import pytest
from django.contrib.auth.models import User

from bowlers import services
from bowlers.engine import delivery_summary, fitting_in_use
from bowlers.models import Bowler, Fitting
from tests.bowlers.conftest import Log


def test_means_and_spreads_are_those_of_the_standard_library(fitting: Fitting, log: Log) -> None:
    speeds = [17.1, 17.4, 16.9, 17.2, 17.3]
    for speed in speeds:
        log(fitting, speed_mph=speed)
    spread = delivery_summary(fitting)["speed_mph"]
    assert spread.mean == pytest.approx(statistics.fmean(speeds), rel=1e-12)
    assert spread.sd == pytest.approx(statistics.stdev(speeds), rel=1e-12)
    assert (spread.count, spread.set_aside) == (5, ())


def test_one_bad_entry_is_set_aside_and_leaves_the_mean_alone(fitting: Fitting, log: Log) -> None:
    for revs in (340, 352, 620, 346, 344):
        log(fitting, rev_rate_rpm=revs)
    spread = delivery_summary(fitting)["rev_rate_rpm"]
    assert spread.set_aside == (2,)
    assert spread.mean == pytest.approx(statistics.fmean([340, 352, 346, 344]))


def test_a_coarse_instrument_does_not_make_the_next_honest_reading_wild(
    fitting: Fitting, log: Log
) -> None:
    for speed in (17, 17, 17, 18):
        log(fitting, speed_mph=speed)
    spread = delivery_summary(fitting)["speed_mph"]
    assert (spread.count, spread.mean) == (4, 17.25)


def test_a_half_filled_delivery_counts_for_what_it_has(fitting: Fitting, log: Log) -> None:
    log(fitting, speed_mph=17, tilt_deg=None)
    log(fitting, speed_mph=18, tilt_deg=14)
    summary = delivery_summary(fitting)
    assert summary["speed_mph"].count == 2
    assert summary["tilt_deg"].count == 1
    assert summary["tilt_deg"].sd is None


def test_a_delivery_left_out_does_not_count(fitting: Fitting, log: Log) -> None:
    log(fitting, speed_mph=17)
    wild = log(fitting, speed_mph=25)
    services.set_dropped(delivery=wild, dropped=True)
    assert delivery_summary(fitting)["speed_mph"].mean == 17


def test_a_reading_never_taken_has_no_mean(fitting: Fitting, log: Log) -> None:
    log(fitting, tilt_deg=None)
    assert "tilt_deg" not in delivery_summary(fitting)


def test_the_newest_finished_fitting_is_the_one_in_use(
    bowler: Bowler, staff: User, log: Log
) -> None:
    days = [datetime.date(2026, 3, 1), datetime.date(2026, 5, 1), datetime.date(2026, 4, 1)]
    fittings = [
        services.start_fitting(bowler=bowler, fitted_on=day, notes="", logged_by=staff)
        for day in days
    ]
    for fitting in fittings:
        log(fitting)
    assert fitting_in_use(bowler) is None
    for fitting in fittings:
        services.finish_fitting(fitting=fitting)
    assert fitting_in_use(bowler) == fittings[1]


def test_a_fitting_whose_only_complete_delivery_was_left_out_is_not_used(
    fitting: Fitting, log: Log
) -> None:
    only = log(fitting)
    services.finish_fitting(fitting=fitting)
    assert fitting_in_use(fitting.bowler) == fitting
    services.reopen_fitting(fitting=fitting)
    services.set_dropped(delivery=only, dropped=True)
    assert fitting_in_use(fitting.bowler) is None
