"""One delivery by itself: speeds on the lane and views from behind turned to numbers of a release.

Source: the written contract of `python -m physics measure`, which finds the same of one shot.
"""

from __future__ import annotations

from typing import Any

import pytest

from physics import fitting, readings, release_speed
from physics.cases_measure import delivery, measure
from physics.errors import InputError

SHOT: dict[str, Any] = {
    "speed": {"frames": 140, "frames_per_second": 240, "to_ft": 15},
    "rev_rate": {"frames": 42, "frames_per_second": 120, "turns": 2},
    "rotation": {"behind_radii": 0.7},
    "tilt": {"ring_width_in": 11.5},
    "pap": {"over_in": 5.0, "up_in": 0.5},
}


def setting() -> release_speed.Setting:
    grip, film = release_speed.doubts(oil_known=False, surface_known=False)
    on = release_speed.oiled(release_speed.usual_oil(), "right", release_speed.closure_of())
    return release_speed.Setting(release_speed.usual_ball(), on, grip_share=grip, film_share=film)


def test_one_delivery_says_what_a_fitting_of_it_says() -> None:
    found = fitting.by_itself(delivery(SHOT), setting())
    told = measure({"shots": [SHOT]})["numbers"]
    assert set(found) == set(fitting.NUMBERS)
    for name, quantity in found.items():
        assert quantity.value == pytest.approx(told[name]["value"], rel=2e-3), name
        # The fitting's error holds the bowler's scatter as well.
        assert quantity.error < told[name]["standard_error"]


def test_what_it_lacks_is_taken_from_beside_it_and_else_from_the_prior() -> None:
    display = delivery({"speed": {"display_mph": 16.0, "at_ft": 55.0}})
    alone = fitting.by_itself(display, setting())["speed_mph"]
    slow_spin = {"rev_rate_rpm": readings.Quantity(80.0, 0.0, 5.0, "known")}
    beside = fitting.by_itself(display, setting(), beside=slow_spin)["speed_mph"]
    # Fewer revs: the ball slips longer and loses more on the way.
    assert beside.value > alone.value
    assert set(fitting.by_itself(delivery({}), setting())) == set()


def test_frames_over_a_stretch_are_the_seconds_they_take() -> None:
    frames = fitting.by_itself(delivery({"speed": SHOT["speed"]}), setting())["speed_mph"]
    timed = {"seconds": 140 / 240, "frames_per_second": 240, "to_ft": 15}
    seconds = fitting.by_itself(delivery({"speed": timed}), setting())["speed_mph"]
    assert (frames.value, frames.error) == (seconds.value, seconds.error)


@pytest.mark.parametrize(
    ("part", "field"),
    [
        ({"speed": {"frames": 14, "frames_per_second": 240, "to_ft": 15}}, "speed.frames"),
        ({"speed": {"frames": 140, "to_ft": 15}}, "speed.frames_per_second"),
        ({"speed": {"display_mph": 39, "at_ft": 60}}, "speed.display_mph"),
        ({"tilt": {"ring_width_in": 11.5}, "rotation": {"behind_radii": 1.15}}, "rotation."),
        ({"spin": 3}, "spin"),
    ],
)
def test_what_cannot_be_is_refused_by_field(part: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as refused:
        fitting.by_itself(delivery(part), setting())
    assert refused.value.field.startswith(field)


def test_numbers_read_without_an_instrument_are_themselves() -> None:
    shot = {"speed": {"release_mph": 17.0}, "tilt": {"deg": 12.0}}
    found = fitting.by_itself(delivery(shot), setting())
    assert {name: quantity.value for name, quantity in found.items()} == {
        "speed_mph": 17.0,
        "tilt_deg": 12.0,
    }
    assert found["speed_mph"].error == readings.typed("speed", 17.0).error


def test_frames_over_a_stretch_that_ends_before_it_begins_name_its_ends() -> None:
    backwards = {"frames": 140, "frames_per_second": 240, "from_ft": 20, "to_ft": 15}
    with pytest.raises(InputError) as refused:
        delivery({"speed": backwards})
    assert refused.value.field == "speed.to_ft"
