"""Tags for the templates of every app: `{% load house %}`."""

import uuid

from django import template
from django.template.loader import render_to_string
from django.utils.formats import number_format
from django.utils.html import format_html
from django.utils.safestring import SafeString

from proshop import at_hand, glossary, metric

NO_BREAK = "\N{NO-BREAK SPACE}"

register = template.Library()
register.filter("in_units", metric.sentence)
register.filter("unit", metric.unit_shown)


@register.simple_tag
def form_token() -> SafeString:
    """A hidden token for a hand-written form whose view is marked `@once`; and the shop it is for,
    where there is a choice."""
    token = format_html('<input type="hidden" name="form_token" value="{}">', uuid.uuid4())
    shop = at_hand.made_for.get()
    if shop is None:
        return token
    return token + format_html('<input type="hidden" name="{}" value="{}">', at_hand.FIELD, shop)


@register.simple_tag
def measure(
    value: float | None,
    unit: str,
    places: int = 0,
    *,
    bare: bool = False,
    plus: bool = False,
    none: str = "",
) -> str:
    """A number with its unit as whoever looks wants it.

    ``bare``: without the unit, under a heading that has it; ``plus``: a change, signed, and nothing
    where there is none; ``none``: what stands for a number that isn't there.
    """
    if value is None:
        return none
    shown = metric.shown(float(value), unit, places)
    # Rounded first: number_format cuts digits off.
    rounded = round(shown.number, shown.places) or 0.0
    if plus and not rounded:
        return ""
    sign = "\N{MINUS SIGN}" if rounded < 0 else "+" if plus else ""
    number = sign + number_format(abs(rounded), decimal_pos=shown.places)
    close = unit in {"", "°", "%"}
    return number if bare else f"{number}{'' if close else NO_BREAK}{shown.unit}"


@register.simple_tag
def metric_chosen() -> bool:
    return metric.is_chosen()


@register.simple_tag
def explain(label: str) -> str:
    """What a field's label means, to be opened beside it; nothing where no word does."""
    word = glossary.beside(label or "")
    return render_to_string("proshop/_explained.html", {"word": word}) if word else ""
