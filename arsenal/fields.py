"""Form fields for measured numbers: a range, a unit, and a refusal that names both."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from bowlers.measures import MeasureField, WholeField, plain

__all__ = ["DecimalMeasureField", "MeasureField", "WholeField", "plain", "whole_number"]


class DecimalMeasureField(MeasureField):
    """Money, and ounces of a label: kept as a decimal number, to the hundredth."""

    def clean(self, value: Any) -> Any:
        number = super().clean(value)
        return None if number is None else Decimal(str(round(number, 2)))


def whole_number(text: str | None) -> int | None:
    """The number in an address or a hidden field; None when it isn't one."""
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 10 else None
