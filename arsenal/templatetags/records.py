"""Tags of the catalogue, bag and lane pages: `{% load records %}`."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from django import template

from arsenal.fields import plain as plain_number

register = template.Library()

# The trade's rulers are divided to the sixty-fourth.
FINEST = 64
# Decimals are typed to the thousandth: 0.969 is 31/32.
HALF_A_THOUSANDTH = 5e-4


@register.filter
def plain(value: float | Decimal | None) -> str:
    """0.1250 → ``0.125``, with a true minus sign."""
    return "" if value is None else plain_number(round(float(value), 4)).replace("-", "−")


@register.filter
def inches(value: float | None, finest: int = FINEST) -> str:
    """As the trade writes a length: 0.125 → ``1/8``; decimals when no mark of the ruler fits.

    ``finest`` is the ruler's finest division.
    """
    if value is None:
        return ""
    size = Fraction(round(abs(value) * finest), finest)
    if abs(float(size) - abs(value)) > HALF_A_THOUSANDTH:
        return plain(round(value, 3))
    whole, rest = divmod(size.numerator, size.denominator)
    parts = [str(whole)] if whole or not rest else []
    parts += [f"{rest}/{size.denominator}"] if rest else []
    text = "\N{NO-BREAK SPACE}".join(parts)
    return f"−{text}" if value < 0 and size else text


@register.filter
def plain_tenths(value: float | None) -> str:
    """−0.43 → ``−0.4``: to the tenth, with a true minus sign and no minus zero."""
    return _fixed(value, 1)


@register.filter
def plain_hundredths(value: float | None) -> str:
    return _fixed(value, 2)


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
