"""A fitting without a throw: what was read, how wide it leaves the entry, and what to measure."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from bowlers import services
from bowlers.engine import delivery_summary, errors_behind, fitting_in_use
from bowlers.models import Bowler, Fitting
from physics.cases_measure import measure
from tests.bowlers.conftest import HTMX

READ = {
    "display_mph": "15,5",
    "at_ft": "55",
    "turns": "1",
    "rev_frames": "6",
    "frames_per_second": "30",
    "pap_over_in": "5",
    "pap_up_in": "1/2",
    "average": "180",
}


@pytest.fixture
def no_throw(bowler: Bowler, staff: User) -> Fitting:
    return services.start_fitting(
        bowler=bowler,
        fitted_on=datetime.date(2026, 5, 3),
        notes="",
        logged_by=staff,
        method="no_throw",
    )


def address(fitting: Fitting) -> str:
    return f"/fittings/{fitting.pk}/no-throw/"


def test_it_is_chosen_when_a_fitting_is_begun(staff_client: Client, bowler: Bowler) -> None:
    begun = {"fitted_on": "2026-05-03", "method": "no_throw"}
    where = staff_client.post(f"/customers/{bowler.pk}/fittings/new/", begun).headers["Location"]
    assert staff_client.get(where).headers["Location"] == address(Fitting.objects.get())


def test_it_says_how_wide_it_is_and_which_measurement_narrows_it_most(
    staff_client: Client, no_throw: Fitting
) -> None:
    page = staff_client.get(address(no_throw) + "derived/", READ, headers=HTMX).content.decode()
    told = measure(
        {
            "average": 180,
            "shots": [
                {
                    "speed": {"display_mph": 15.5, "at_ft": 55},
                    "rev_rate": {"frames": 6, "frames_per_second": 30},
                }
            ],
            "old_ball": {"pap": {"over_in": 5, "up_in": 0.5}},
        }
    )
    first = told["narrow_first"][0]
    assert f"± {told['entry_sd_boards']:.1f} boards" in page
    assert f"Would narrow it most:</strong> {first['measurement']}" in page
    assert f"± {first['entry_sd_boards']:.1f} boards" in page
    assert page.count("not read: as in bowlers of this average") == 2
    assert not no_throw.deliveries.exists()


def test_what_was_read_is_kept_raw_and_counts_with_its_own_errors(
    staff_client: Client, no_throw: Fitting
) -> None:
    answer = staff_client.post(address(no_throw), {**READ, "finish": "1"})
    assert answer.headers["Location"].startswith(f"/fittings/{no_throw.pk}/")
    delivery = no_throw.deliveries.get()
    assert delivery.raw["old_ball"] == {"pap": {"over_in": 5.0, "up_in": 0.5}}
    assert delivery.rev_rate_rpm == pytest.approx(300)
    # Neither was read: the ranking takes what such bowlers have, as wide as they are.
    assert (delivery.rotation_deg, delivery.tilt_deg) == (None, None)
    assert fitting_in_use(no_throw.bowler) == no_throw
    assert set(delivery_summary(no_throw)) == {
        "speed_mph",
        "rev_rate_rpm",
        "pap_over_in",
        "pap_up_in",
    }
    assert errors_behind(no_throw)["pap_over_in"]["shared"] > 0.1
    page = staff_client.get(f"/customers/{no_throw.bowler.pk}/").content.decode()
    assert "no throw" in page


def test_it_can_be_left_and_found_again(staff_client: Client, no_throw: Fitting) -> None:
    staff_client.post(address(no_throw), {**READ, "above_deg": "40"})
    page = staff_client.get(address(no_throw)).content.decode()
    for name, value in (("display_mph", "15.5"), ("rev_frames", "6"), ("above_deg", "40")):
        assert f'name="{name}" value="{value}"' in page
    assert "Would narrow it most" in page
    staff_client.post(address(no_throw), {**READ, "above_deg": "42"})
    assert no_throw.deliveries.get().rotation_deg == 42
    assert no_throw.deliveries.get().history.count() == 2


def test_nothing_read_at_all_is_as_wide_as_bowlers_are(
    staff_client: Client, no_throw: Fitting
) -> None:
    page = staff_client.get(address(no_throw)).content.decode()
    assert page.count("not read: as in bowlers of this average") == 6


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"display_mph": "60"}, "Display must be between 3 and 40 mph."),
        ({"display_mph": "39"}, "Display must be a speed that some release"),
        ({"pap_up_in": ""}, "PAP up is missing: PAP takes both numbers."),
        ({"rev_frames": "2"}, "Frames for those turns must be at least 3 frames a turn"),
        ({"above_deg": "40", "behind_radii": "0.6"}, "Rotation is read once"),
        ({"average": "400"}, "Average must be between 0 and 300"),
        ({"frames_per_second": "300"}, "a frame rate that gives at most 1000 rpm"),
    ],
)
def test_what_cannot_be_is_refused_by_name_and_nothing_typed_is_lost(
    staff_client: Client, no_throw: Fitting, changed: dict[str, Any], words: str
) -> None:
    page = staff_client.post(address(no_throw), {**READ, **changed}).content.decode()
    assert words in page
    assert 'name="pap_over_in" value="5"' in page
    assert not no_throw.deliveries.exists()


def test_what_few_bowlers_have_is_asked_about_and_kept(
    staff_client: Client, no_throw: Fitting
) -> None:
    unusual = {**READ, "frames_per_second": "60"}
    page = staff_client.get(address(no_throw) + "derived/", unusual).content.decode()
    assert "Rev rate 600 rpm: is that right?" in page
    staff_client.post(address(no_throw), unusual)
    assert no_throw.deliveries.get().rev_rate_rpm == 600


def test_a_left_hander_on_even_oil_reads_alike(staff_client: Client, no_throw: Fitting) -> None:
    staff_client.post(address(no_throw), READ)
    right = no_throw.deliveries.get().speed_mph
    Bowler.objects.filter(pk=no_throw.bowler.pk).update(hand="left")
    staff_client.post(address(no_throw), READ)
    assert no_throw.deliveries.get().speed_mph == right
    assert no_throw.deliveries.get().raw["hand"] == "left"
