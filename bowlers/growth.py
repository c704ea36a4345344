"""A young bowler's growth since the last fitting, from what is on record."""

from collections.abc import Callable
from datetime import date
from typing import Any

from bowlers.engine import delivery_summary
from bowlers.grips.beside import GROWING_UNTIL, growth
from bowlers.models import Bowler, Fitting
from bowlers.readings import REV_RATE, SPEED

# Spoken of once they have moved so far: about the spread of a young bowler's single deliveries.
TOLD_FROM = {SPEED: 0.5, REV_RATE: 15.0}

Note = Callable[[Bowler], str]
_notes: dict[str, Note] = {}


def register(name: str, note: Note) -> None:
    """Add a sentence about a growing bowler that another app knows: what their balls weigh."""
    _notes[name] = note


def growth_words(fitting: Fitting, earlier: Fitting | None) -> list[str]:
    """Sentences for a bowler who may still grow; empty for anybody else, and at a first fitting.

    The year of birth is all that is known, so an age is that reached in the year.
    """
    bowler = fitting.bowler
    if earlier is None or bowler.born is None:
        return []
    age, then = (day.year - bowler.born for day in (fitting.fitted_on, earlier.fitted_on))
    if age > GROWING_UNTIL:
        return []
    found = [f"{age} this year, {then} in that of the last fitting, {_ago(fitting, earlier)}."]
    now, before = delivery_summary(fitting), delivery_summary(earlier)
    for reading, least in TOLD_FROM.items():
        if reading.name in now and reading.name in before:
            moved = now[reading.name].mean - before[reading.name].mean
            if abs(moved) >= least:
                way = "up" if moved > 0 else "down"
                found.append(f"{reading.label} {way} by {_about(abs(moved), reading.unit)}.")
    found += [_spans(bowler, earlier.fitted_on)]
    found += [said for note in _notes.values() if (said := note(bowler))]
    return found


def _about(moved: float, unit: str) -> str:
    return f"{moved:.0f} {unit}" if unit == "rpm" else f"{moved:.1f} {unit}"


def _ago(fitting: Fitting, earlier: Fitting) -> str:
    days = (fitting.fitted_on - earlier.fitted_on).days
    months = round(days / 30.4)
    return f"{months} months ago" if months > 1 else f"{days} days ago"


def _spans(bowler: Bowler, since: date) -> str:
    """What was measured of the hand since, or that it wasn't."""
    grips: list[Any] = list(bowler.grips.newest_first())
    if not grips or grips[0].measured_on <= since:
        return "The hand hasn’t been measured since: measure the spans again before drilling."
    return growth(grips[0], grips[1] if len(grips) > 1 else None, bowler.born) or (
        "The hand was measured since; no span has grown."
    )
