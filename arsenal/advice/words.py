"""Numbers of a ranking in the words of the counter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from arsenal.engine.words import layout_words
from proshop import metric

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

# Kinds that are drilled.
DRILLED = ("redrill", "stock", "order", "spare")
# Kinds that work on the cover, and what the rules say of that (governing bodies: no abrasive and no
# liquid on the ball while certified competition is bowled).
ALTERS_SURFACE = ("care", "surface")
NOT_IN_PLAY = (
    "Between sessions only: during certified play the surface may not be altered, and nothing but "
    "a dry towel may touch the ball."
)

KG_PER_LB = 0.45359237


@dataclass(frozen=True)
class GainUnit:
    """What gains are counted in: the words after a number, and after one of a family's."""

    words: str
    short: str
    scale: float = 1.0


PINS_A_GAME = GainUnit("pins a game", "pins")
# Rankings of the first version, which are kept as they were.
STRIKE_POINTS = GainUnit("points of strike chance", "points", 100.0)


def game_words(game: Mapping[str, Any]) -> str:
    """The score expected with the bag as it is, beside the average the customer has."""
    expected = f"With this bag the model expects {game['expected']:.0f} a game on these conditions"
    if game["average"] is None:
        return f"{expected} (estimate); no average is on record to hold it against."
    return f"{expected} (estimate); the average on record is {game['average']}."


def gain_unit(result: Mapping[str, Any]) -> GainUnit:
    """The unit a stored ranking counts its gains in."""
    return PINS_A_GAME if result.get("gain_unit") == PINS_A_GAME.words else STRIKE_POINTS


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
    """The ends of a stretch of hook lengths, in feet or, where those are shown, metres."""
    low, high = (metric.shown(end, "ft", 1) for end in interval)
    if abs(interval[1] - interval[0]) < 0.05:
        return f"{low.number:.{low.places}f}"
    return f"{low.number:.{low.places}f}–{high.number:.{high.places}f}"


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
