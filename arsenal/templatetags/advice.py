"""Tags of the advice pages: `{% load advice %}`."""

from django import template
from django.utils.formats import number_format

register = template.Library()


@register.filter
def percent(share: float | None, places: int = 0) -> str:
    """0.613 → ``61 %``."""
    if share is None:
        return ""
    # Rounded first: number_format cuts digits off.
    return f"{number_format(round(share * 100, places), decimal_pos=places)} %"


@register.filter
def signed(number: float | None, places: int = 1) -> str:
    """2.14 → ``+2.1``, with a true minus sign."""
    if number is None:
        return ""
    rounded = round(number, places) or 0.0
    sign = "+" if rounded > 0 else "−" if rounded < 0 else ""
    return f"{sign}{number_format(abs(rounded), decimal_pos=places)}"
