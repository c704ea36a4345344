"""A fitting without a throw: what was read, how wide it leaves the entry, and what to measure."""

from __future__ import annotations

import datetime
import re
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from bowlers import services
from bowlers.engine import delivery_summary, errors_behind, fitting_in_use
from bowlers.fields import read_number
from bowlers.models import Bowler, Fitting
from bowlers.no_throw import NoThrowForm
from physics.cases_measure import measure
from physics.errors import InputError
from tests.bowlers.conftest import HTMX
from tests.bowlers.test_ring_points import POINTS, sent

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
    staff_client.post(address(no_throw), {**READ, "above_deg": "42", "record_version": "1"})
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
    staff_client.post(address(no_throw), {**READ, "record_version": "1"})
    assert no_throw.deliveries.get().speed_mph == right
    assert no_throw.deliveries.get().raw["hand"] == "left"


def version_on(page: str) -> str:
    found = re.search(r'name="record_version" value="(\d*)"', page)
    assert found is not None, page[:2000]
    return found[1]


def test_what_is_kept_while_typed_says_which_version_comes_next(
    staff_client: Client, no_throw: Fitting
) -> None:
    keep = address(no_throw) + "keep/"
    answer = staff_client.post(keep, {**READ, "record_version": ""}, headers=HTMX)
    assert answer.headers["X-Kept"] == "form"
    assert version_on(answer.content.decode()) == "1"
    later = {**READ, "above_deg": "40", "record_version": "1"}
    assert version_on(staff_client.post(keep, later, headers=HTMX).content.decode()) == "2"
    # An answer that got lost: the same sent again is kept, and nothing is stored twice.
    again = staff_client.post(keep, later, headers=HTMX)
    assert again.headers["X-Kept"] == "form"
    assert version_on(again.content.decode()) == "2"
    assert no_throw.deliveries.get().history.count() == 2
    # What only looks never says that something was kept.
    looked = staff_client.get(address(no_throw) + "derived/", later, headers=HTMX)
    assert "record_version" not in looked.content.decode()


@pytest.mark.parametrize("opened_at", ["", "1", "nonsense"])
def test_what_somebody_else_typed_meanwhile_is_never_replaced_unasked(
    staff_client: Client, second_staff_client: Client, no_throw: Fitting, opened_at: str
) -> None:
    where, keep = address(no_throw), address(no_throw) + "keep/"
    staff_client.post(where, READ)
    staff_client.post(where, {**READ, "above_deg": "40", "record_version": "1"})
    mine = {**READ, "display_mph": "17", "record_version": opened_at}
    # As it is typed: refused every time, whatever is typed next.
    for more in ({}, {"average": "190"}):
        answer = second_staff_client.post(keep, {**mine, **more}, headers=HTMX)
        assert "X-Kept" not in answer.headers
        assert "nothing typed since is saved" in answer.content.decode()
        assert 'name="record_version"' not in answer.content.decode()
    assert no_throw.deliveries.get().rotation_deg == 40
    # Saved on purpose: both are shown, nothing is kept by itself any more.
    for button in ({}, {"finish": "1"}):
        page = second_staff_client.post(where, {**mine, **button}).content.decode()
        assert "saved this record" in page
        assert "Yours: 17" in page
        assert "Stored now: 15.5" in page
        assert "no-throw/keep/" not in page
        assert version_on(page) == "2"
    no_throw.refresh_from_db()
    assert not no_throw.is_finished
    assert no_throw.deliveries.get().history.count() == 2
    # Field by field: their rotation, my speed.
    chosen = {**mine, "record_version": "2", "keep_above_deg": "stored", "keep_display_mph": "mine"}
    second_staff_client.post(where, chosen)
    delivery = no_throw.deliveries.get()
    assert delivery.raw["shots"][0]["rotation"] == {"above_deg": 40}
    assert delivery.raw["shots"][0]["speed"]["display_mph"] == 17


def test_of_two_first_savers_the_second_is_told(
    staff_client: Client, second_staff_client: Client, no_throw: Fitting
) -> None:
    keep = address(no_throw) + "keep/"
    staff_client.post(keep, {**READ, "record_version": ""}, headers=HTMX)
    late = {**READ, "average": "150", "record_version": ""}
    answer = second_staff_client.post(keep, late, headers=HTMX)
    assert "nothing typed since is saved" in answer.content.decode()
    assert no_throw.deliveries.get().raw["average"] == 180


RINGED = sent(pap_over_in="", pap_up_in="")


def test_the_points_of_an_old_ball_tell_pap_and_tilt_and_are_found_again(
    staff_client: Client, no_throw: Fitting
) -> None:
    read = {**READ, **RINGED}
    live = staff_client.get(address(no_throw) + "derived/", read, headers=HTMX).content.decode()
    assert live.count('class="plate-mark"') == 6
    assert 'class="plate-ring"' in live
    staff_client.post(address(no_throw), read)
    delivery = no_throw.deliveries.get()
    assert delivery.raw["old_ball"] == {"ring_points_in": POINTS}
    assert delivery.pap_over_in == pytest.approx(5.0, abs=0.1)
    assert delivery.tilt_deg == pytest.approx(12.0, abs=1.0)
    page = staff_client.get(address(no_throw))
    pairs = [
        [read_number(str(one.value())) for one in two] for _, *two in page.context["form"].pairs
    ]
    assert pairs[:6] == POINTS


def test_a_ring_s_width_and_a_pap_tell_the_tilt(staff_client: Client, no_throw: Fitting) -> None:
    staff_client.post(address(no_throw), {**READ, "ring_width_in": "11 1/4"})
    delivery = no_throw.deliveries.get()
    assert delivery.raw["old_ball"]["tilt"] == {"ring_width_in": 11.25}
    # 90 − 180·11.25/27 (arithmetic on a ball of 27 in).
    assert delivery.tilt_deg == pytest.approx(15.0)


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        (
            {"frames_per_second": "90"},
            "__all__",
            "Rev rate comes out at 900 rpm. Rev rate must be between 0 and 800 rpm. Read it again.",
        ),
        (
            {"pap_over_in": "", "pap_up_in": "", **sent(POINTS[:2])},
            "__all__",
            "at least 3 points of the first ring",
        ),
        (sent(), "pap_over_in", "Leave this empty, or the points: they tell it already."),
        (
            {**RINGED, "ring_width_in": "11 1/4"},
            "ring_width_in",
            "Leave this empty, or the points: they tell it already.",
        ),
    ],
    ids=["rev rate", "two points", "pap and points", "width and points"],
)
def test_what_is_read_twice_or_too_little_is_told_where_it_stands(
    staff_client: Client, no_throw: Fitting, changed: dict[str, Any], field: str, words: str
) -> None:
    page = staff_client.post(address(no_throw), {**READ, **changed})
    assert words in " ".join(page.context["form"].errors[field])
    assert not no_throw.deliveries.exists()


def test_a_refusal_of_what_no_box_holds_is_told_above_them(
    no_throw: Fitting, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(case: Any) -> Any:
        raise InputError("lane.mu", 9.0, "0 to 5")

    monkeypatch.setattr("bowlers.no_throw.without_throw", refuse)
    form = NoThrowForm(READ, fitting=no_throw)
    assert form.non_field_errors() == ["This can’t be used: it must be 0 to 5."]
