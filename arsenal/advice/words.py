"""Numbers of a ranking in the words of the counter."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from arsenal.engine.words import layout_words

__all__ = ["layout_words"]

KINDS: dict[str, str] = {
    "none": "Nothing needed",
    "care": "Care",
    "surface": "Surface",
    "redrill": "Redrill",
    "stock": "From the shelf",
    "order": "To order",
    "spare": "Spare ball",
}

# Kinds that work on the cover, and what the rules say of that (governing bodies: no abrasive and no
# liquid on the ball while certified competition is bowled).
ALTERS_SURFACE = ("care", "surface")
NOT_IN_PLAY = (
    "Between sessions only: during certified play the surface may not be altered, and nothing but "
    "a dry towel may touch the ball."
)

KG_PER_LB = 0.45359237

GAP_SIDES: dict[str, str] = {
    "rolly": "too rolly",
    "angular": "too angular",
    "both": "too rolly or too angular",
}

# Lower bounds, best first.
CERTAINTIES: tuple[tuple[float, str], ...] = (
    (0.95, "almost sure to gain"),
    (0.85, "very likely to gain"),
    (0.70, "likely to gain"),
    (0.55, "a little more likely than not"),
    (0.45, "could go either way"),
    (0.0, "more likely not to gain"),
)

MOST_CERTAIN = 0.98


def kind_words(kind: str) -> str:
    return KINDS.get(kind, kind)


def certainty_words(certainty: float) -> str:
    return next(words for least, words in CERTAINTIES if certainty >= least)


def certainty_percent(certainty: float) -> str:
    """A share of some sixty draws, which can't tell the last percent from all or nothing."""
    if certainty > MOST_CERTAIN:
        return f"over {100 * MOST_CERTAIN:.0f} %"
    if certainty < 1 - MOST_CERTAIN:
        return f"under {100 * (1 - MOST_CERTAIN):.0f} %"
    return f"{100 * certainty:.0f} %"


def boards(strength: float | None, unit: str = " boards") -> str:
    """Strength against the benchmark ball, signed: ``+2.1 boards``."""
    if strength is None:
        return ""
    number = "0" if abs(strength) < 0.05 else f"{strength:+.1f}".replace("-", "−")
    return number + unit


def feet(interval: tuple[float, float] | list[float]) -> str:
    low, high = interval
    if abs(high - low) < 0.05:
        return f"{low:.1f}"
    return f"{low:.1f}–{high:.1f}"


def drilled_numbers(drilled: Mapping[str, Any] | None) -> list[tuple[str, str]]:
    """The drilled body by name and value, in the trade's units; what isn't known is left out."""
    if not drilled:
        return []
    low, _, _ = drilled["principal_rg_in"]
    statics = drilled["static_oz"]
    return [
        ("Weight", f"{drilled['mass_kg'] / KG_PER_LB:.2f} lb"),
        ("Low RG", f"{low:.3f} in"),
        ("Differential", f"{drilled['differential_in']:.3f} in"),
        ("Intermediate differential", f"{drilled['intermediate_differential_in']:.3f} in"),
        ("Top weight", f"{statics['top']:+.2f} oz"),
        ("Side weight", f"{statics['side']:+.2f} oz"),
        ("Finger weight", f"{statics['finger']:+.2f} oz"),
    ]
