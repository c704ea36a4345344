"""Boxes and lists of choices come out as Django's own templates write them."""

import datetime
import re
from collections.abc import Callable

import pytest
from django import forms
from django.forms.renderers import BaseRenderer, DjangoTemplates
from django.utils.safestring import mark_safe

from proshop.widgets import Written

NASTY = """<b>"rué" & 'x'</b>"""
CHOICES = [("", "—"), (1, NASTY), (NASTY, "two"), ("safe", mark_safe("5&nbsp;lb"))]
GROUPED = [("Here & now", CHOICES), ("later", [(7, "seven")]), (8, "eight")]

WIDGETS: list[Callable[[BaseRenderer], str]] = [
    lambda r: forms.NumberInput({"min": "1", "step": "any"}).render("span", 4.25, {"id": "a"}, r),
    lambda r: forms.NumberInput().render("span", 0, None, r),
    lambda r: forms.NumberInput().render("span", None, {"id": "a", "required": True}, r),
    lambda r: forms.TextInput({"maxlength": 60}).render(NASTY, NASTY, {"id": NASTY}, r),
    lambda r: forms.TextInput().render("name", "", {"disabled": False, "autofocus": True}, r),
    lambda r: forms.HiddenInput().render("version", 3, None, r),
    lambda r: forms.DateInput({"type": "date"}).render("on", datetime.date(2026, 3, 1), None, r),
    lambda r: forms.CheckboxInput().render("kept", True, {"id": "k"}, r),
    lambda r: forms.CheckboxInput().render("kept", False, None, r),
    lambda r: forms.CheckboxInput().render("kept", "yes", None, r),
    lambda r: forms.Select(choices=CHOICES).render("ball", 1, {"id": "b"}, r),
    lambda r: forms.Select({"size": 3}, choices=GROUPED).render("ball", NASTY, None, r),
    lambda r: forms.Select(choices=[]).render("ball", None, None, r),
    lambda r: forms.SelectMultiple(choices=CHOICES).render("balls", [1, "safe"], None, r),
    lambda r: forms.NullBooleanSelect().render("known", True, None, r),
]


@pytest.mark.parametrize("widget", WIDGETS)
def test_a_widget_is_written_as_the_template_would(widget: Callable[[BaseRenderer], str]) -> None:
    def without_gaps(html: str) -> str:
        return re.sub(r">\s+<", "><", html)

    assert without_gaps(widget(Written())) == without_gaps(widget(DjangoTemplates()))


def test_what_a_page_has_few_of_is_left_to_the_templates() -> None:
    told = forms.Textarea().render("note", NASTY, {"id": "n"}, Written())
    assert told == forms.Textarea().render("note", NASTY, {"id": "n"}, DjangoTemplates())
