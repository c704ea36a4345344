"""Layouts and finishes as they are said at the press."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any


def eighths(inches: float) -> str:
    """4.5 → ``4 1/2``; what isn't an eighth stays decimal."""
    whole, rest = divmod(Fraction(inches).limit_denominator(1000), 1)
    if (rest * 8).denominator != 1:
        return f"{inches:.2f}".rstrip("0").rstrip(".")
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)


def layout_words(layout: Mapping[str, Any] | None) -> str:
    """Drilling angle × pin to PAP × VAL angle, as it is said at the press."""
    if not layout:
        return ""
    return (
        f"{layout['drilling_angle_deg']:.0f}° × {eighths(layout['pin_to_pap_in'])} in"
        f" × {layout['val_angle_deg']:.0f}°"
    )
