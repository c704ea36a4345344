"""Form fields that read numbers the way people at a counter write them."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from bowlers.readings import PAP_UP, Reading

VULGAR_FRACTIONS = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
}
MINUS_SIGNS = str.maketrans({"−": "-", "–": "-", "﹣": "-", "-": "-"})

DECIMAL = re.compile(r"(?P<sign>[+-]?)(?P<whole>\d*)(?:[.,](?P<part>\d*))?")
FRACTION = re.compile(r"(?P<sign>[+-]?)(?:(?P<whole>\d+)[\s-]+)?(?P<over>\d+)/(?P<under>\d+)")
UNIT_WORDS = {
    "mph": ("mph", "mi/h"),
    "rpm": ("rpm", "revs", "rev/min"),
    "°": ("°", "deg", "degrees"),
    "s": ("s", "sec", "seconds"),
    "h": ("h", "hours"),
    "radii": ("radii", "r"),
    "in": ("in", "inch", "inches", '"', "″"),
}


def read_number(text: str) -> float | None:
    """The number a person wrote: point or comma, a fraction (4 3/8, 5½), any minus sign."""
    plain = text.strip().translate(MINUS_SIGNS)
    for mark, written in VULGAR_FRACTIONS.items():
        plain = plain.replace(mark, f" {written}")
    plain = plain.strip()
    if plain[:1] in "+-" and plain[1:2] == " ":
        plain = plain[0] + plain[1:].lstrip()
    if found := FRACTION.fullmatch(plain):
        if int(found["under"]) == 0:
            return None
        size = int(found["whole"] or 0) + int(found["over"]) / int(found["under"])
    elif (found := DECIMAL.fullmatch(plain)) and (found["whole"] or found["part"]):
        size = float(f"{found['whole'] or 0}.{found['part'] or 0}")
    else:
        return None
    return -size if found["sign"] == "-" else size


class NumberInput(forms.TextInput):
    """A text box with a number keypad: a box of type "number" drops a comma it can't read."""

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"inputmode": "decimal", "autocomplete": "off", **(attrs or {})})


class ReadingField(forms.Field):
    """One reading: a number in its unit, within what is physically possible."""

    def __init__(self, *, reading: Reading, **kwargs: Any) -> None:
        self.reading = reading
        # Phone keypads for decimals have no minus sign, and PAP down is written with one.
        attrs = {"inputmode": "text"} if reading.low < 0 else {}
        super().__init__(label=reading.label, required=False, widget=NumberInput(attrs), **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return self.reading.number(value) if isinstance(value, int | float) else value

    def to_python(self, value: Any) -> float | None:
        text = str(value or "").strip()
        if not text:
            return None
        number = read_number(self._without_unit(text))
        if number is None:
            raise ValidationError(self._not_a_number(text), code="not_a_number")
        if not self.reading.low <= number <= self.reading.high:
            raise ValidationError(self.reading.range_text, code="out_of_range")
        return round(number, self.reading.decimals)

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.to_python(data) != initial)
        except ValidationError:
            return True

    def _without_unit(self, text: str) -> str:
        down = False
        if self.reading is PAP_UP:
            down = text.casefold().endswith("down")
            text = re.sub(r"\s*(up|down)$", "", text, flags=re.IGNORECASE)
        for word in UNIT_WORDS.get(self.reading.unit, ()):
            if text.casefold().endswith(word):
                text = text[: -len(word)].strip()
                break
        return f"-{text}" if down else text

    def _not_a_number(self, text: str) -> str:
        middle = (self.reading.usual_low + self.reading.usual_high) / 2
        like = self.reading.example
        example = self.reading.number(round(middle) if like is None else like)
        return f"{self.reading.label} must be a number, like {example}: “{text[:20]}” isn’t one."
