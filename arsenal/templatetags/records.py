"""Tags of the catalogue, bag and lane pages: `{% load records %}`."""

from __future__ import annotations

from django import template

from bowlers.measures import inches, with_minus

register = template.Library()

register.filter("plain", with_minus)
register.filter("inches", inches)


@register.filter
def plain_tenths(value: float | None) -> str:
    """−0.43 → ``−0.4``: to the tenth, with a true minus sign and no minus zero."""
    return _fixed(value, 1)


@register.filter
def plain_hundredths(value: float | None) -> str:
    return _fixed(value, 2)


@register.filter
def fixed(value: float | None, places: int) -> str:
    """To so many places, with a true minus sign; a dash for what isn't known."""
    return _fixed(value, places) or "–"


def _fixed(value: float | None, places: int) -> str:
    if value is None:
        return ""
    return f"{round(value, places) or 0.0:.{places}f}".replace("-", "−")


@register.filter
def forward_words(pitch_in: float) -> str:
    """A pitch along the finger or thumb line: ``1/8 forward``, ``1/16 reverse``."""
    return _pitch(pitch_in, "forward", "reverse")


@register.filter
def sideways_words(pitch_in: float) -> str:
    """A lateral pitch: ``1/8 toward the PAP side``."""
    return _pitch(pitch_in, "toward the PAP side", "away from the PAP side")


def _pitch(pitch_in: float, plus: str, minus: str) -> str:
    if not pitch_in:
        return "0"
    return f"{inches(abs(pitch_in))} {plus if pitch_in > 0 else minus}"
