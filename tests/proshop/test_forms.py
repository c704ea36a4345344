"""Number fields say what they want."""

import pytest
from django import forms

from proshop.forms import bounded


class Release(forms.Form):
    speed = bounded(5, 30, "mph", "Speed")
    tilt = bounded(0, 45, "°", "Tilt", required=False)
    up = bounded(-2.5, 2.5, "in", "PAP up", required=False)
    average = bounded(0, 300, "", "Average", required=False, whole=True)
    price = bounded(0, 999, "USD", "Price", required=False, places=2)


def errors(**values: str) -> dict[str, list[str]]:
    form = Release({"speed": "17", **values})
    return {name: [str(line) for line in found] for name, found in form.errors.items()}


@pytest.mark.parametrize("typed", ["5", "30", "17.25", " 17 "])
def test_what_lies_in_the_range_is_taken(typed: str) -> None:
    assert errors(speed=typed) == {}


@pytest.mark.parametrize("typed", ["4.99", "30.01", "-17", "1e9"])
def test_what_lies_outside_is_refused_with_the_range(typed: str) -> None:
    assert errors(speed=typed) == {"speed": ["Speed must be between 5 and 30 mph."]}


@pytest.mark.parametrize("typed", ["fast", "nan", "inf", "1,2,3", "17 mph"])
def test_what_is_no_number_is_refused_with_the_range(typed: str) -> None:
    assert errors(speed=typed) == {"speed": ["Speed must be a number between 5 and 30 mph."]}


def test_what_is_missing_is_asked_for_with_the_range() -> None:
    wanted = "Speed is missing: enter a number between 5 and 30 mph."
    assert errors(speed="") == {"speed": [wanted]}


def test_signs_and_degrees_read_well() -> None:
    assert errors(tilt="46") == {"tilt": ["Tilt must be between 0 and 45°."]}
    assert errors(up="-3") == {"up": ["PAP up must be between −2.5 and 2.5 in."]}


def test_whole_numbers_and_prices() -> None:
    assert errors(average="180.5") == {
        "average": ["Average must be a whole number between 0 and 300."]
    }
    assert errors(price="99.95") == {}
    assert "price" in errors(price="99.951")


def test_the_unit_stands_beside_the_label() -> None:
    form = Release()
    assert form["speed"].label == "Speed (mph)"
    assert form["average"].label == "Average"
