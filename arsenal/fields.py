"""Form fields for measured numbers: a range, a unit, and a refusal that names both."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError

from bowlers.measures import MeasureField, WholeField, plain

__all__ = [
    "DecimalMeasureField",
    "MeasureField",
    "MoneyField",
    "WholeField",
    "plain",
    "whole_number",
]


# Three figures after a comma or point: 1,250 is a thousand and more to whoever writes it so.
FINER_THAN_CENTS = re.compile(r"[.,]\d{3}")


class DecimalMeasureField(MeasureField):
    """Money, and ounces of a label: kept as a decimal number, to the hundredth."""

    def clean(self, value: Any) -> Any:
        number = super().clean(value)
        return None if number is None else Decimal(str(round(number, 2)))


class MoneyField(DecimalMeasureField):
    """A sum to the cent; what has more decimals is asked about, as it may be a thousands comma."""

    def prepare_value(self, value: Any) -> Any:
        """Whole sums without cents, others with both figures."""
        if isinstance(value, int | float | Decimal) and value != int(value):
            return f"{value:.2f}"
        return super().prepare_value(value)

    def to_python(self, value: Any) -> float | None:
        number = super().to_python(value)
        finer = isinstance(value, str) and FINER_THAN_CENTS.search(value)
        if number is not None and (finer or number != round(number, 2)):
            raise ValidationError(
                f"{self.name} goes to the cent: “{str(value)[:20]}” has more decimals. Write "
                "thousands without a comma, like 1250.",
                code="too_fine",
            )
        return number


def whole_number(text: str | None) -> int | None:
    """The number in an address or a hidden field; None when it isn't one."""
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 10 else None
