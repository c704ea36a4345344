"""Instruments on a fitting: raw readings kept, numbers worked out with errors, mistakes named.

The rev rate of 2 turns in 42 frames at 120 a second is 2·60·120/42 = 342.9 rpm, and a ring of
11.25 in on a ball of 27 in leaves 90 − 180·11.25/27 = 15° of tilt (arithmetic). Release speeds
behind a display are held to the solver in tests/physics.
"""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from bowlers import services
from bowlers.engine import errors_behind
from bowlers.gear import box_for_reading
from bowlers.instruments import (
    QUANTITIES,
    RING,
    Choice,
    box_for,
    choice_of,
    read_of,
    shot_of,
    words,
)
from bowlers.models import Bowler, Fitting
from physics import cases_measure, readings
from tests.bowlers.conftest import HTMX, PLAIN, Log, row

FILMED: dict[str, dict[str, Any]] = {
    "rev_rate": {"way": "frames", "turns": 2.0, "frames_per_second": 120.0},
    "tilt": {"way": "ring_width_in"},
}
BOXES = {"rev_frames": "42", "ring_width_in": "11 1/4"}


def with_instruments(fitting: Fitting, choice: Choice) -> Fitting:
    return services.choose_instruments(
        fitting=fitting, instruments=choice, expected_version=fitting.version
    )


@pytest.fixture
def filmed(fitting: Fitting) -> Fitting:
    return with_instruments(fitting, FILMED)


def raw_row(**typed: Any) -> dict[str, Any]:
    """A row as the page of filmed revs and a measured ring sends it."""
    sent = row(**{**BOXES, **typed})
    return {n: v for n, v in sent.items() if n not in ("rev_rate_rpm", "tilt_deg")}


def rows(fitting: Fitting) -> str:
    return f"/fittings/{fitting.pk}/rows/"


def test_the_page_shows_the_boxes_of_the_instruments_chosen_and_no_others(
    staff_client: Client, filmed: Fitting
) -> None:
    page = staff_client.get(f"/fittings/{filmed.pk}/").content.decode()
    for name in ("speed_mph", "rev_frames", "rotation_deg", "ring_width_in", "pap_over_in"):
        assert f'name="{name}"' in page
    for name in ("rev_rate_rpm", "tilt_deg", "seconds", "display_mph"):
        assert f'name="{name}"' not in page
    assert "turns counted 2, at 120 frames a second" in page


def test_raw_readings_are_kept_and_numbers_worked_out_with_errors(
    staff_client: Client, filmed: Fitting
) -> None:
    answer = staff_client.post(rows(filmed), raw_row(next="1"), headers=HTMX)
    delivery = filmed.deliveries.get()
    assert delivery.rev_rate_rpm == pytest.approx(342.9)
    assert delivery.tilt_deg == pytest.approx(15.0)
    assert delivery.raw == {
        "rev_rate": {"frames": 42.0, "turns": 2.0, "frames_per_second": 120.0},
        "tilt": {"ring_width_in": 11.25},
    }
    assert delivery.errors["rev_rate_rpm"]["way"] == "frames"
    assert "Rev rate 343 ± 4 rpm · Tilt 15.0 ± " in answer.content.decode()
    assert delivery.history.first().raw == delivery.raw


def test_what_is_kept_is_a_shot_of_the_measuring_command(
    staff_client: Client, filmed: Fitting
) -> None:
    staff_client.post(rows(filmed), raw_row())
    delivery = filmed.deliveries.get()
    told = cases_measure.measure({"shots": [delivery.raw]})["numbers"]
    assert told["rev_rate_rpm"]["value"] == pytest.approx(delivery.rev_rate_rpm, abs=0.05)
    assert told["tilt_deg"]["value"] == pytest.approx(delivery.tilt_deg, abs=0.05)


@pytest.mark.parametrize(
    ("quantity", "way"), [(q.name, way.name) for q in QUANTITIES for way in q.ways[1:]]
)
def test_every_instrument_is_kept_and_read_back_as_it_was(quantity: str, way: str) -> None:
    chosen = next(w for q in QUANTITIES if q.name == quantity for w in q.ways if w.name == way)
    choice = {quantity: chosen.usual()}
    read: dict[str, float | None] = {
        box.name: box.example or (box.usual_low + box.usual_high) / 2 for box in chosen.boxes
    }
    raw = json.loads(json.dumps(shot_of(choice, read)))
    if not chosen.boxes:
        assert raw == {}
        return
    cases_measure.delivery(raw)
    assert choice_of(raw) == choice
    assert read_of(raw) == read
    assert len(words(choice)) == 1


def test_numbers_show_while_they_are_typed_and_nothing_is_stored(
    staff_client: Client, filmed: Fitting
) -> None:
    typed = raw_row(ring_width_in="", speed_mph="")
    answer = staff_client.get(rows(filmed) + "derived/", typed, headers=HTMX)
    assert "Rev rate 343 ± 4 rpm</p>" in answer.content.decode()
    assert not filmed.deliveries.exists()


def test_a_reading_that_cannot_be_is_named_with_its_remedy_and_the_others_stay(
    staff_client: Client, filmed: Fitting
) -> None:
    answer = staff_client.post(rows(filmed), raw_row(rev_frames="5"), headers=HTMX)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Frames, revs must be at least 3 frames a turn" in page
    assert "film at more frames a second" in page
    assert 'name="rev_frames" value="5"' in page
    assert 'name="ring_width_in" value="11 1/4"' in page
    assert "Tilt 15.0" in page
    assert not filmed.deliveries.exists()


def test_a_raw_reading_whose_number_is_out_of_range_is_refused_with_the_range(
    staff_client: Client, filmed: Fitting
) -> None:
    answer = staff_client.post(rows(filmed), raw_row(rev_frames="15"), headers=HTMX)
    page = answer.content.decode()
    assert "Rev rate comes out at 960 rpm. Rev rate must be between 0 and 800 rpm." in page
    assert 'data-wrong="rev_frames ' in page


def test_a_raw_reading_whose_number_is_unusual_is_asked_about_and_kept(
    staff_client: Client, filmed: Fitting
) -> None:
    answer = staff_client.post(rows(filmed), raw_row(rev_frames="23"), headers=HTMX)
    assert "Rev rate 626.1 rpm: is that right?" in answer.content.decode()
    assert filmed.deliveries.get().raw["rev_rate"]["frames"] == 23


def test_a_box_out_of_its_own_range_is_refused_with_it(
    staff_client: Client, filmed: Fitting
) -> None:
    answer = staff_client.post(rows(filmed), raw_row(ring_width_in="40"), headers=HTMX)
    assert "Ring width must be between 1 and 15 in." in answer.content.decode()


def test_a_row_logged_before_keeps_its_own_boxes(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    typed = log(fitting)
    with_instruments(fitting, FILMED)
    page = staff_client.get(f"/fittings/{fitting.pk}/").content.decode()
    before, after = page.split('id="next"')
    assert 'name="rev_rate_rpm" value="340"' in before
    assert 'name="rev_frames"' in after
    key = str(typed.row_key)
    staff_client.post(rows(fitting), row(row_key=key, record_version="1", rev_rate_rpm="351"))
    typed.refresh_from_db()
    assert (typed.rev_rate_rpm, typed.raw) == (351, {})


def test_a_frame_rate_put_right_later_puts_the_rows_right(
    staff_client: Client, filmed: Fitting
) -> None:
    staff_client.post(rows(filmed), raw_row())
    filmed.refresh_from_db()
    chosen = {**FILMED, "rev_rate": {**FILMED["rev_rate"], "frames_per_second": 100.0}}
    with_instruments(filmed, chosen)
    delivery = filmed.deliveries.get()
    assert delivery.rev_rate_rpm == pytest.approx(285.7)
    assert delivery.raw["rev_rate"]["frames_per_second"] == 100


@pytest.mark.parametrize(
    ("rate", "words"),
    [("1000", "Rev rate must be a frame rate"), ("300", "Rev rate must be between 0 and 800 rpm.")],
)
def test_instruments_that_rows_cannot_have_been_read_with_change_nothing(
    staff_client: Client, filmed: Fitting, rate: str, words: str
) -> None:
    staff_client.post(rows(filmed), raw_row())
    filmed.refresh_from_db()
    sent = instrument_fields(filmed, rev_rate_frames_frames_per_second=rate)
    page = staff_client.post(f"/fittings/{filmed.pk}/instruments/", sent).content.decode()
    assert f"Delivery 1 can’t have been read so: {words}" in page
    filmed.refresh_from_db()
    assert filmed.instruments == FILMED
    assert filmed.deliveries.get().rev_rate_rpm == pytest.approx(342.9)


def instrument_fields(fitting: Fitting, **changed: str) -> dict[str, str]:
    sent = {"record_version": str(fitting.version)}
    for quantity in QUANTITIES:
        sent[quantity.name] = str(fitting.instruments.get(quantity.name, {}).get("way", "typed"))
        for way in quantity.ways:
            for s in way.settings:
                sent[f"{quantity.name}_{way.name}_{s.name}"] = str(s.usual)
    return {**sent, **changed}


def test_instruments_are_chosen_each_with_its_own_settings(
    staff_client: Client, fitting: Fitting
) -> None:
    address = f"/fittings/{fitting.pk}/instruments/"
    page = staff_client.get(address).content.decode()
    assert "Stopwatch over a stretch" in page
    # What isn't chosen may hold anything: it isn't read.
    sent = instrument_fields(
        fitting,
        speed="display_mph",
        speed_display_mph_at_ft="57,5",
        speed_seconds_to_ft="far",
    )
    assert staff_client.post(address, sent).headers["Location"] == f"/fittings/{fitting.pk}/"
    fitting.refresh_from_db()
    assert fitting.instruments == {"speed": {"way": "display_mph", "at_ft": 57.5, "step_mph": 0.1}}


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("speed_seconds_to_ft", "70", "Speed, to must be between 1 and 60 ft."),
        ("speed_seconds_to_ft", "", "To is missing"),
        ("speed_seconds_from_ft", "59", "To must be further down the lane"),
        ("speed", "sundial", "Speed: choose one of the ways listed."),
    ],
)
def test_a_setting_that_cannot_be_is_refused_by_name(
    staff_client: Client, fitting: Fitting, field: str, typed: str, words: str
) -> None:
    sent = instrument_fields(fitting, speed="seconds", speed_seconds_to_ft="58")
    page = staff_client.post(f"/fittings/{fitting.pk}/instruments/", {**sent, field: typed})
    assert words in page.content.decode()
    fitting.refresh_from_db()
    assert fitting.instruments == {}


def test_the_next_fitting_starts_with_the_instruments_of_the_last(
    filmed: Fitting, bowler: Bowler, staff: User
) -> None:
    later = services.start_fitting(
        bowler=bowler, fitted_on=filmed.fitted_on, notes="", logged_by=staff
    )
    assert later.instruments == FILMED


def test_the_display_becomes_a_release_speed(staff_client: Client, fitting: Fitting) -> None:
    with_instruments(fitting, {"speed": {"way": "display_mph", "at_ft": 55.0, "step_mph": 0.1}})
    typed = {n: v for n, v in row(display_mph="16").items() if n != "speed_mph"}
    staff_client.post(rows(fitting), typed)
    delivery = fitting.deliveries.get()
    # A house ball loses 1 to 4 mph on the way (band from memory, high confidence).
    assert delivery.speed_mph is not None
    assert 17 < delivery.speed_mph < 20
    assert delivery.errors["speed_mph"]["shared"] > 0.2


def test_errors_behind_a_mean_are_the_instruments_own(
    staff_client: Client, filmed: Fitting, log: Log
) -> None:
    for frames in ("42", "43"):
        staff_client.post(rows(filmed), raw_row(rev_frames=frames))
    behind = errors_behind(filmed)
    first, second = (d.errors["rev_rate_rpm"] for d in filmed.deliveries.all())
    # One camera: what its frame rate is off by is off in both, what the eye misjudges isn't.
    assert behind["rev_rate_rpm"]["shared"] == pytest.approx(
        (first["shared"] + second["shared"]) / 2
    )
    assert behind["rev_rate_rpm"]["own"] ** 2 == pytest.approx(
        (first["own"] ** 2 + second["own"] ** 2) / 2
    )
    assert set(behind) == {"rev_rate_rpm", "tilt_deg"}


def test_numbers_typed_without_saying_how_say_nothing_of_an_instrument(
    fitting: Fitting, log: Log
) -> None:
    log(fitting)
    assert errors_behind(fitting) == {}
    assert fitting.deliveries.get().readings == PLAIN


def test_a_pap_carried_from_row_to_row_is_one_reading(
    staff_client: Client, fitting: Fitting
) -> None:
    with_instruments(fitting, {"pap": {"way": "ruler"}})
    for over in ("5", "5", "5 1/8", "5 1/8"):
        staff_client.post(rows(fitting), row(pap_over_in=over))
    behind = errors_behind(fitting)
    assert behind["pap_over_in"]["count"] == 2
    assert behind["pap_over_in"]["sd"] == pytest.approx(0.125 / 2**0.5)
    assert (behind["pap_up_in"]["count"], behind["pap_up_in"]["sd"]) == (1, None)


def test_a_finished_fitting_shows_numbers_with_errors_and_what_was_read(
    staff_client: Client, filmed: Fitting
) -> None:
    staff_client.post(rows(filmed), raw_row())
    services.finish_fitting(fitting=filmed)
    page = staff_client.get(f"/fittings/{filmed.pk}/").content.decode()
    assert "<td>343 ± 4</td>" in page
    assert "<td>17</td>" in page
    assert "Read: Frames, revs 42; Ring width 11.25 in" in page


def test_a_row_is_read_by_the_instruments_it_was_shown_with(
    staff_client: Client, filmed: Fitting
) -> None:
    """Another tab chose others since: what was read off a film isn't taken for something else."""
    page = staff_client.get(f"/fittings/{filmed.pk}/")
    ways = page.context["sheet"].next_row["ways"].value()
    filmed.refresh_from_db()
    with_instruments(filmed, {})
    staff_client.post(rows(filmed), raw_row(ways=ways))
    raw = filmed.deliveries.get().raw
    assert raw["rev_rate"]["frames"] == 42
    assert raw["tilt"] == {"ring_width_in": 11.25}


def test_rows_read_otherwise_stay_as_they_were_read(staff_client: Client, filmed: Fitting) -> None:
    staff_client.post(rows(filmed), raw_row())
    filmed.refresh_from_db()
    with_instruments(filmed, {"tilt": {"way": "ring_to_pap_in"}})
    delivery = filmed.deliveries.get()
    assert delivery.rev_rate_rpm == pytest.approx(342.9)
    assert delivery.raw["tilt"] == {"ring_width_in": 11.25}
    assert delivery.version == 1


def test_a_number_typed_counts_beside_filmed_ones_with_the_error_of_typed_ones(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    log(fitting)
    with_instruments(fitting, {"rev_rate": FILMED["rev_rate"]})
    staff_client.post(rows(fitting), raw_row(tilt_deg="12"))
    typed = readings.typed("rev_rate", 340)
    read = fitting.deliveries.get(order=2).errors["rev_rate_rpm"]
    behind = errors_behind(fitting)["rev_rate_rpm"]
    assert behind["own"] ** 2 == pytest.approx((typed.own**2 + read["own"] ** 2) / 2)
    # A camera and somebody's guess are off each in its own way.
    assert behind["shared"] == pytest.approx(math.hypot(typed.shared / 2, read["shared"] / 2))


@pytest.mark.parametrize(
    ("field", "box"),
    [
        ("speed.frames", "speed_frames"),
        ("rev_rate.frames", "rev_frames"),
        ("tilt.ring_width_in", "ring_width_in"),
        ("pap.over_in", "pap_over_in"),
        ("pap.up_in", "pap_up_in"),
        # Of settings, and of what no row holds, there is no box.
        ("rev_rate.frames_per_second", ""),
        ("lane.mu", ""),
    ],
)
def test_a_refusal_is_told_at_the_box_it_is_about(field: str, box: str) -> None:
    assert box_for(field) == box


def test_what_the_points_of_a_ring_tell_has_no_box() -> None:
    ring = {"pap": {"way": RING}, "tilt": {"way": RING}}
    assert box_for_reading(ring, "pap_over_in") == ""
    assert box_for_reading({}, "pap_over_in") == "pap_over_in"
    assert box_for_reading(FILMED, "tilt_deg") == "ring_width_in"
