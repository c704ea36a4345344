"""How boxes and lists of choices are written: as Django's own templates write them, without a
template. A form of holes has seventy boxes, and one with all balls and houses hundreds of choices;
a template is looked up and laid out anew for each and for the attributes of each.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.forms.renderers import DjangoTemplates
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe

BOXES = frozenset(
    f"django/forms/widgets/{name}.html" for name in ("number", "text", "hidden", "date", "checkbox")
)
CHOICES = "django/forms/widgets/select.html"


class Written(DjangoTemplates):
    """Django's renderer of forms, but for the widgets that pages have by the dozen."""

    def render(self, template_name: str, context: Any, request: Any = None) -> str:
        if template_name in BOXES:
            return _box(context["widget"])
        if template_name == CHOICES:
            return _choices(context["widget"])
        return str(super().render(template_name, context, request))


def _box(widget: Mapping[str, Any]) -> SafeString:
    value = "" if widget["value"] is None else f' value="{_escaped(widget["value"])}"'
    name, kind = _escaped(widget["name"]), _escaped(widget["type"])
    return mark_safe(f'<input type="{kind}" name="{name}"{value}{_attributes(widget["attrs"])}>')  # noqa: S308


def _choices(widget: Mapping[str, Any]) -> SafeString:
    lines = [f'<select name="{_escaped(widget["name"])}"{_attributes(widget["attrs"])}>']
    for group, options, _ in widget["optgroups"]:
        if group:
            lines.append(f'<optgroup label="{_escaped(group)}">')
        lines += [
            f'<option value="{_escaped(option["value"])}"{_attributes(option["attrs"])}>'
            f"{_escaped(option['label'])}</option>"
            for option in options
        ]
        if group:
            lines.append("</optgroup>")
    return mark_safe("\n".join([*lines, "</select>"]))  # noqa: S308


def _attributes(attrs: Mapping[str, Any]) -> str:
    """Those that are False are left out, and True is the name alone."""
    return "".join(
        f" {_escaped(name)}" if value is True else f' {_escaped(name)}="{_escaped(value)}"'
        for name, value in attrs.items()
        if value is not False
    )


def _escaped(value: Any) -> str:
    return str(conditional_escape(value))
