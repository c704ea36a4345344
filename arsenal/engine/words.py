"""Layouts and finishes as they are said at the press."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any

from physics import surface


@lru_cache(maxsize=512)
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


def finish_words(finish: str) -> str:
    """A finish as it is spoken of: *its polish*, *its 2000 grit finish*."""
    label = surface.FINISHES[finish].label
    return "polish" if finish == "polished" else f"{label} finish"


def care_words(work: str, finish: str) -> str:
    """What care does, as an order to the press; empty for what isn't care."""
    restored = f"restore its {finish_words(finish)}"
    return {
        "clean": "Clean the cover",
        "extract": "Draw the oil out",
        "restore": restored.capitalize(),
        "renew": f"Draw the oil out and {restored}",
    }.get(work, "")


def cared_for(work: str, finish: str) -> str:
    """The same as something done: *with its oil drawn out*."""
    restored = f"its {finish_words(finish)} restored"
    return {
        "clean": "once cleaned",
        "extract": "with its oil drawn out",
        "restore": f"with {restored}",
        "renew": f"with its oil drawn out and {restored}",
    }.get(work, "")
