"""What changed since an earlier fitting, and what a release is called."""

import datetime

import pytest
from django.contrib.auth.models import User

from bowlers import services, summary
from bowlers.models import Bowler, Fitting
from bowlers.readings import READINGS, REV_RATE, SPEED
from physics.measure import Spread
from tests.bowlers.conftest import Log


def start(bowler: Bowler, staff: User, month: int) -> Fitting:
    return services.start_fitting(
        bowler=bowler, fitted_on=datetime.date(2026, month, 1), notes="", logged_by=staff
    )


def test_an_entry_set_aside_is_named_with_its_delivery(fitting: Fitting, log: Log) -> None:
    for revs in (340, 352, 620, 346, 344):
        log(fitting, rev_rate_rpm=revs)
    revs_line = next(line for line in summary.lines(fitting) if line.reading is REV_RATE)
    assert revs_line.set_aside == ("620 rpm in delivery 3",)
    assert (revs_line.mean, revs_line.count) == ("346", 4)


def test_the_delivery_keeps_its_number_when_another_is_left_out(fitting: Fitting, log: Log) -> None:
    first, *_ = [log(fitting, rev_rate_rpm=revs) for revs in (345, 340, 352, 620, 346)]
    services.set_dropped(delivery=first, dropped=True)
    revs_line = next(line for line in summary.lines(fitting) if line.reading is REV_RATE)
    assert revs_line.set_aside == ("620 rpm in delivery 4",)


@pytest.mark.parametrize(
    ("now", "then", "words"),
    [
        # The root sum square of 3 and 4 is 5: worked by hand.
        (Spread(360, 3, 5), Spread(340.5, 4, 5), "+20, beyond"),
        (Spread(344.5, 3, 5), Spread(340, 4, 5), "+4, within"),
        (Spread(340, 3, 5), Spread(360, 4, 5), "−20, beyond"),
        (Spread(340, 30, 5), Spread(360, 40, 5), "−20, within"),
        (Spread(340, 3, 5), Spread(340, 4, 5), "no change"),
        (Spread(360, None, 1), Spread(340, 4, 5), "+20, one delivery only"),
    ],
)
def test_a_change_is_held_against_the_spread(now: Spread, then: Spread, words: str) -> None:
    assert summary.change(REV_RATE, now, then).words == words


def test_readings_all_alike_do_not_make_the_smallest_change_look_large() -> None:
    now, then = Spread(17.2, 0.0, 5), Spread(17.0, 0.0, 5)
    assert summary.change(SPEED, now, then).words == "+0.2, within"


def test_earlier_fittings_stand_beside_with_the_newest_first(
    bowler: Bowler, staff: User, log: Log
) -> None:
    march, april, may = (start(bowler, staff, month) for month in (3, 4, 5))
    for fitting, revs in ((march, 300), (april, 340), (may, 343)):
        for more in (0, 4, 8):
            log(fitting, rev_rate_rpm=revs + more)
    for fitting in (march, april):
        services.finish_fitting(fitting=fitting)
    beside = summary.earlier(may)
    assert [entry.fitting for entry in beside] == [april, march]
    changes = [entry.changes[1] for entry in beside]
    assert [change.words for change in changes if change] == ["+3, within", "+43, beyond"]


def test_a_later_fitting_is_not_an_earlier_one(bowler: Bowler, staff: User, log: Log) -> None:
    march, april = (start(bowler, staff, month) for month in (3, 4))
    log(april)
    services.finish_fitting(fitting=april)
    assert summary.earlier(march) == []


# Bands are common practice, no source: 17 mph goes with 300 rpm, give or take 50.
@pytest.mark.parametrize(
    ("speed", "revs", "words"),
    [
        (17, 300, "rev rate and speed matched"),
        (17, 351, "rev rate high for the speed"),
        (17, 249, "speed high for the rev rate"),
        (19, 400, "rev rate and speed matched"),
        (13, 250, "rev rate high for the speed"),
    ],
)
def test_the_words_for_a_release_follow_from_its_means(
    fitting: Fitting, log: Log, speed: float, revs: float, words: str
) -> None:
    log(fitting, speed_mph=speed, rev_rate_rpm=revs, tilt_deg=22, rotation_deg=20)
    assert summary.release_words(fitting) == [words, "high tilt", "low rotation"]


def test_nothing_measured_has_no_words(fitting: Fitting) -> None:
    assert summary.release_words(fitting) == []


def test_what_an_earlier_fitting_did_not_measure_has_no_change(
    bowler: Bowler, staff: User, log: Log
) -> None:
    read = services.start_fitting(
        bowler=bowler,
        fitted_on=datetime.date(2026, 4, 1),
        notes="",
        logged_by=staff,
        method="no_throw",
    )
    log(read, tilt_deg=None)
    services.finish_fitting(fitting=read)
    may = start(bowler, staff, 5)
    log(may)
    (beside,) = summary.earlier(may)
    changes = dict(zip([reading.name for reading in READINGS], beside.changes, strict=True))
    assert changes["tilt_deg"] is None
    assert changes["speed_mph"] is not None
