"""Numbers as people at a counter write them."""

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from bowlers.fields import ReadingField, read_number
from bowlers.readings import PAP_OVER, PAP_UP, READINGS, REV_RATE, ROTATION, SPEED, TILT


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("17.5", 17.5),
        ("17,5", 17.5),
        (" 17,5 ", 17.5),
        (".5", 0.5),
        ("5 1/2", 5.5),
        ("5-1/2", 5.5),
        ("4 3/8", 4.375),
        ("1/2", 0.5),
        ("½", 0.5),
        ("5½", 5.5),
        ("-1/2", -0.5),
        ("−½", -0.5),
        ("−0,25", -0.25),
        ("+1", 1.0),
        ("٣", 3.0),
    ],
)
def test_a_point_a_comma_a_fraction_and_any_minus_sign_are_read(text: str, number: float) -> None:
    assert read_number(text) == number


@pytest.mark.parametrize(
    "text", ["", ".", "fast", "nan", "inf", "1e3", "--1", "1/0", "17.5.1", "1,234.5", "0x10", "²"]
)
def test_what_is_not_a_number_is_not_guessed_at(text: str) -> None:
    assert read_number(text) is None


@pytest.mark.parametrize(
    ("reading", "text", "number"),
    [
        (SPEED, "17,5 mph", 17.5),
        (SPEED, "17.5MPH", 17.5),
        (REV_RATE, "350 rpm", 350),
        (ROTATION, "45°", 45),
        (TILT, "12 degrees", 12),
        (PAP_OVER, '5 1/2"', 5.5),
        (PAP_OVER, "5 1/2 in", 5.5),
        (PAP_UP, "1/2 up", 0.5),
        (PAP_UP, "1/2 down", -0.5),
        (PAP_UP, "½ in down", -0.5),
    ],
)
def test_the_fields_own_unit_may_be_written(reading: object, text: str, number: float) -> None:
    assert ReadingField(reading=reading).clean(text) == number  # type: ignore[arg-type]


def test_another_unit_is_refused_rather_than_dropped() -> None:
    with pytest.raises(ValidationError, match="Speed must be a number"):
        ReadingField(reading=SPEED).clean("17 km/h")


@pytest.mark.parametrize(
    ("reading", "text", "words"),
    [
        (SPEED, "4.9", "Speed must be between 5 and 30 mph."),
        (SPEED, "30.1", "Speed must be between 5 and 30 mph."),
        (REV_RATE, "801", "Rev rate must be between 0 and 800 rpm."),
        (REV_RATE, "-1", "Rev rate must be between 0 and 800 rpm."),
        (ROTATION, "91", "Rotation must be between 0 and 90°."),
        (TILT, "45,5", "Tilt must be between 0 and 45°."),
        (PAP_OVER, "1.9", "PAP over must be between 2 and 6.75 in."),
        (PAP_UP, "-2.6", "PAP up must be between −2.5 and 2.5 in."),
        (SPEED, "9" * 400, "Speed must be between 5 and 30 mph."),
    ],
)
def test_what_cannot_be_is_refused_with_the_range(reading: object, text: str, words: str) -> None:
    with pytest.raises(ValidationError) as refused:
        ReadingField(reading=reading).clean(text)  # type: ignore[arg-type]
    assert refused.value.messages == [words]


@pytest.mark.parametrize("reading", READINGS)
def test_the_ends_of_a_range_belong_to_it(reading: object) -> None:
    field = ReadingField(reading=reading)  # type: ignore[arg-type]
    for end in (field.reading.low, field.reading.high):
        assert field.clean(str(end)) == end


def test_an_empty_box_is_a_reading_not_taken() -> None:
    assert ReadingField(reading=SPEED).clean("  ") is None


@given(st.sampled_from(READINGS), st.floats(0, 1))
def test_a_stored_reading_shown_and_read_again_is_the_same(reading: object, share: float) -> None:
    field = ReadingField(reading=reading)  # type: ignore[arg-type]
    low, high = field.reading.low, field.reading.high
    stored = field.clean(f"{low + share * (high - low):.6f}")
    assert field.clean(field.prepare_value(stored)) == stored


def test_what_cannot_be_read_differs_from_what_is_stored() -> None:
    field = ReadingField(reading=SPEED)
    assert field.has_changed(17.0, "fast")
    assert field.has_changed(17.0, "99")
    assert not field.has_changed(17.0, "17,0 mph")


def test_next_to_nothing_is_shown_as_nought_without_a_minus() -> None:
    assert PAP_UP.text(-0.00001) == PAP_UP.text(0.0) == "0 in"
    assert REV_RATE.text(-0.02) == "0 rpm"
