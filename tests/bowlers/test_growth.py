"""A young bowler's growth since the last fitting, and the grip beside the one before."""

from __future__ import annotations

import datetime

import pytest
from django.contrib.auth.models import User
from django.test import Client

from bowlers import growth, services
from bowlers.models import Bowler, Fitting
from tests.bowlers.conftest import Log


def fitted(bowler: Bowler, staff: User, day: datetime.date, log: Log, speed: float) -> Fitting:
    fitting = services.start_fitting(bowler=bowler, fitted_on=day, notes="", logged_by=staff)
    log(fitting, speed_mph=speed, rev_rate_rpm=150)
    return services.finish_fitting(fitting=fitting)


@pytest.fixture
def visits(bowler: Bowler, staff: User, log: Log) -> tuple[Fitting, Fitting]:
    first, second = datetime.date(2025, 10, 1), datetime.date(2026, 8, 1)
    return fitted(bowler, staff, first, log, 11.8), fitted(bowler, staff, second, log, 13.2)


def page(client: Client, fitting: Fitting) -> str:
    return client.get(f"/fittings/{fitting.pk}/").content.decode()


def test_a_junior_s_growth_since_is_pointed_out(
    staff_client: Client, bowler: Bowler, visits: tuple[Fitting, Fitting]
) -> None:
    bowler.born = 2014
    bowler.save()
    told = page(staff_client, visits[1])
    assert "Still growing:" in told
    assert "12 this year, 11 in that of the last fitting, 10 months ago." in told
    assert "Speed up by 1.4 mph." in told
    assert "Rev rate" not in told[told.index("Still growing") : told.index("The hand hasn’t")]
    assert "measure the spans again before drilling" in told
    assert "Still growing" not in page(staff_client, visits[0])


@pytest.mark.parametrize("born", [None, 1980, 2007])
def test_nobody_else_is_told_to_grow(
    staff_client: Client, bowler: Bowler, visits: tuple[Fitting, Fitting], born: int | None
) -> None:
    bowler.born = born
    bowler.save()
    assert "Still growing" not in page(staff_client, visits[1])


def test_another_app_may_add_what_it_knows(
    bowler: Bowler, visits: tuple[Fitting, Fitting], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(growth, "_notes", {})
    growth.register("balls", lambda bowler: f"{bowler.name} owns an 8 lb ball.")
    bowler.born = 2014
    visits[1].bowler = bowler
    assert growth.growth_words(visits[1], visits[0])[-1] == f"{bowler.name} owns an 8 lb ball."


GRIP = {
    "span_middle_in": 3.0,
    "span_ring_in": 3.0,
    "bridge_in": 0.25,
    "middle_hole_in": 0.75,
    "middle_depth_in": 1.0,
    "ring_hole_in": 0.75,
    "ring_depth_in": 1.0,
}


def test_the_grip_stands_beside_the_one_before_with_what_changed(
    staff_client: Client, bowler: Bowler, fitting: Fitting
) -> None:
    told = page(staff_client, fitting)
    assert "No grip on record." in told
    for day, middle, ring in ((1, 3.0, 3.0), (2, 3.1875, 3.0625)):
        spans = {"span_middle_in": middle, "span_ring_in": ring}
        bowler.grips.create(
            shop=bowler.shop, measured_on=datetime.date(2026, 5, day), **{**GRIP, **spans}
        )
    told = page(staff_client, fitting)
    assert "+3/16 in, beyond" in told
    assert "+1/16 in, within" in told


def test_a_fitting_with_nothing_measured_yet_tells_the_age_alone(
    staff_client: Client, bowler: Bowler, staff: User, visits: tuple[Fitting, Fitting]
) -> None:
    bowler.born = 2014
    bowler.save()
    begun = services.start_fitting(
        bowler=bowler, fitted_on=datetime.date(2026, 9, 1), notes="", logged_by=staff
    )
    told = page(staff_client, begun)
    assert "12 this year, 12 in that of the last fitting" in told
    assert "Speed up" not in told
    assert "Speed down" not in told
