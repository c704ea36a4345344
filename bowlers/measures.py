"""Measured numbers on forms and in words: a range, a unit, and a refusal that names both."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from bowlers.fields import NumberInput, read_number

# A unit as it may be typed after its number, the longest first.
UNIT_WORDS = {
    "in": ("inches", "inch", "in", '"', "″"),
    "lb": ("pounds", "lbs", "lb"),
    "oz": ("ounces", "oz"),
    "°": ("degrees", "deg", "°"),
    "ft": ("feet", "ft", "'"),
}

# The trade's rulers are divided to the sixty-fourth.
FINEST = 64
# Decimals are typed to the thousandth: 0.969 is 31/32.
HALF_A_THOUSANDTH = 5e-4


def plain(value: float | Decimal) -> str:
    """A number without trailing zeros, to the millionth: 1/64 in survives it."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


class MeasureField(forms.Field):
    """A number within a physical range; fractions and decimal commas are read too.

    ``unit`` is shown after the label and in refusals; ``places`` are kept (0: a whole number).
    """

    def __init__(
        self,
        *,
        low: float,
        high: float,
        label: str,
        unit: str = "",
        places: int = 6,
        required: bool = True,
        **kwargs: Any,
    ) -> None:
        self.low, self.high, self.unit, self.places, self.name = low, high, unit, places, label
        # Phone keypads for decimals have no minus sign.
        mode = "text" if low < 0 else "numeric" if places == 0 else "decimal"
        widget = kwargs.pop("widget", None) or NumberInput({"inputmode": mode})
        super().__init__(
            label=f"{label} ({unit})" if unit else label, required=required, widget=widget, **kwargs
        )
        self.error_messages["required"] = f"{label} is missing: {self.range_words}."

    @property
    def range_words(self) -> str:
        span = f"{plain(self.low)} to {plain(self.high)}".replace("-", "−")
        return (
            f"give a {'whole ' if self.places == 0 else ''}number from {span} {self.unit}".strip()
        )

    @property
    def range_text(self) -> str:
        span = f"{plain(self.low)} and {plain(self.high)}".replace("-", "−")
        return f"{self.name} must be between {span} {self.unit}".strip() + "."

    def prepare_value(self, value: Any) -> Any:
        return plain(value) if isinstance(value, int | float | Decimal) else value

    def to_python(self, value: Any) -> float | None:
        if value in (None, ""):
            return None
        if isinstance(value, int | float | Decimal):
            number: float | None = float(value)
        else:
            number = self._read(str(value))
        if number is None:
            raise ValidationError(
                f"{self.name} must be a number, {plain(self.low)} to {plain(self.high)} "
                f"{self.unit}".strip().replace(" -", " −")
                + f": “{str(value)[:20]}” isn’t one.",
                code="not_a_number",
            )
        # Written so that not-a-number fails too.
        if not self.low <= number <= self.high:
            raise ValidationError(self.range_text, code="out_of_range")
        if self.places == 0 and number != round(number):
            raise ValidationError(f"{self.name} must be a whole number.", code="not_whole")
        return round(number, self.places)

    def _read(self, text: str) -> float | None:
        lowered = text.strip().casefold()
        for word in UNIT_WORDS.get(self.unit, (self.unit,)):
            if word and lowered.endswith(word.casefold()):
                lowered = lowered[: -len(word)].strip()
                break
        return read_number(lowered)

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            value = self.to_python(data)
        except ValidationError:
            return True
        return value != (None if initial in (None, "") else self.to_python(initial))


class WholeField(MeasureField):
    """A whole number within a range."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(places=0, **kwargs)

    def clean(self, value: Any) -> Any:
        number = super().clean(value)
        return None if number is None else int(number)


def with_minus(value: float | Decimal | None) -> str:
    """0.1250 → ``0.125``, with a true minus sign."""
    return "" if value is None else plain(round(float(value), 4)).replace("-", "−")


def inches(value: float | None, finest: int = FINEST) -> str:
    """As the trade writes a length: 0.125 → ``1/8``; decimals when no mark of the ruler fits.

    ``finest`` is the ruler's finest division.
    """
    if value is None:
        return ""
    size = Fraction(round(abs(value) * finest), finest)
    if abs(float(size) - abs(value)) > HALF_A_THOUSANDTH:
        return with_minus(round(value, 3))
    whole, rest = divmod(size.numerator, size.denominator)
    parts = [str(whole)] if whole or not rest else []
    parts += [f"{rest}/{size.denominator}"] if rest else []
    text = "\N{NO-BREAK SPACE}".join(parts)
    return f"−{text}" if value < 0 and size else text
