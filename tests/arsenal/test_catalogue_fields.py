"""Numbers as people at a counter write them, and how they are refused."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from arsenal.fields import DecimalMeasureField, MeasureField, WholeField, plain, whole_number
from arsenal.models import Cover, Finish, StockBall
from arsenal.templatetags.advice import percent, signed
from arsenal.templatetags.records import fixed, forward_words, plain_tenths, sideways_words
from bowlers.measures import inches
from physics.surface import COVERS, FINISHES

PITCH = MeasureField(low=-1.5, high=1.5, label="Pitch", unit="in")


def test_covers_and_finishes_are_those_physics_knows() -> None:
    assert set(Cover.values) == set(COVERS)
    assert set(Finish.values) == set(FINISHES)


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("0.125", 0.125),
        ("0,125", 0.125),
        ("1/8", 0.125),
        ("-1/8", -0.125),
        ("−1/8", -0.125),
        ("1 1/4", 1.25),
        ("¼", 0.25),
        ('1/2"', 0.5),
        ("1/2 in", 0.5),
        ("1/64", 0.015625),
    ],
)
def test_a_measure_is_read_as_it_is_written(typed: str, number: float) -> None:
    assert PITCH.clean(typed) == number


@pytest.mark.parametrize("typed", ["nan", "inf", "-inf", "1e5", "9", "1/0", "abc", "💥" * 300])
def test_an_absurd_measure_is_refused_with_the_range(typed: str) -> None:
    with pytest.raises(ValidationError) as refused:
        PITCH.clean(typed)
    message = refused.value.messages[0]
    assert message.startswith("Pitch must be")
    assert "1.5" in message
    assert len(message) < 120


def test_a_missing_measure_says_what_to_give() -> None:
    with pytest.raises(ValidationError, match=r"Pitch is missing: give a number from −1.5 to 1.5"):
        PITCH.clean("")


def test_a_whole_number_refuses_a_part() -> None:
    field = WholeField(low=6, high=16, label="Weight", unit="lb")
    assert field.clean("15") == 15
    with pytest.raises(ValidationError, match="whole number"):
        field.clean("15.5")


def test_money_is_kept_to_the_cent() -> None:
    assert DecimalMeasureField(low=0, high=999, label="Price").clean("179,95") == Decimal("179.95")


def test_a_number_is_shown_without_trailing_zeros() -> None:
    assert [plain(v) for v in (0.05, 2.480, 15, -0.0, 0.015625)] == [
        "0.05",
        "2.48",
        "15",
        "0",
        "0.015625",
    ]


def test_an_unchanged_measure_counts_as_unchanged_however_it_is_written() -> None:
    assert not PITCH.has_changed(0.125, "1/8")
    assert PITCH.has_changed(0.125, "3/16")
    assert not PITCH.has_changed(None, "")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.125, "1/8"),
        (-2.625, "−2\u00a05/8"),
        (0.0, "0"),
        (0.609, "39/64"),
        (0.7, "0.7"),
        (1.0, "1"),
        (0.969, "31/32"),
        (None, ""),
    ],
)
def test_inches_are_shown_in_the_fractions_of_a_ruler(value: float | None, text: str) -> None:
    assert inches(value) == text


def test_pitches_are_said_in_words() -> None:
    assert forward_words(0.125) == "1/8 forward"
    assert forward_words(-0.0625) == "1/16 reverse"
    assert forward_words(0) == "0"
    assert sideways_words(0.125) == "1/8 toward the PAP side"


@pytest.mark.parametrize("text", ["", None, "x", "-1", "٣", "1" * 30])
def test_an_address_with_nonsense_for_a_number_holds_none(text: str | None) -> None:
    assert whole_number(text) is None


def test_a_label_is_said_without_trailing_zeros_and_with_whole_tens() -> None:
    """As read from a form, before the database has given it two places, and after."""
    said = [
        StockBall(label_weight_lb=15, label_weight_oz=Decimal(ounces)).label_words
        for ounces in ("2", "10", "10.00", "2.50")
    ]
    assert said == ["15 lb 2 oz", "15 lb 10 oz", "15 lb 10 oz", "15 lb 2.5 oz"]
    assert StockBall(cg_off_line_in=0.0).off_line_words == ""
    assert StockBall(cg_off_line_in=-0.25).off_line_words.endswith("in to the left")


def test_what_isnt_known_is_no_number() -> None:
    assert (signed(None), percent(None), plain_tenths(None), fixed(None, 2)) == ("", "", "", "–")
    assert (signed(-2.14), signed(2.14), signed(-0.01), fixed(-0.004, 2)) == (
        "−2.1",
        "+2.1",
        "0.0",
        "0.00",
    )
