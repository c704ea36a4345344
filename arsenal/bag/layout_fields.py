"""The three ways a layout is written down, as form fields.

Field names carry the notation in front so that what is typed in one is kept when another is
chosen; the numbers stored are those of the chosen one, under the names physics knows them by.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from arsenal.bag.models import LayoutNotation
from arsenal.fields import MeasureField

# A quarter of the ball's circumference, 27 in by the trade's convention; the widest ball has it.
QUARTER_IN = 6.75


def _inches(label: str, low: float, high: float, help_text: str = "") -> MeasureField:
    return MeasureField(
        low=low, high=high, label=label, unit="in", required=False, help_text=help_text
    )


def _degrees(label: str, help_text: str) -> MeasureField:
    return MeasureField(
        low=-180, high=180, label=label, unit="°", required=False, help_text=help_text
    )


def _pin_to_pap() -> MeasureField:
    return _inches("Pin to PAP", 0, 2 * QUARTER_IN)


LAYOUT_FIELDS: Mapping[str, Mapping[str, forms.Field]] = {
    LayoutNotation.ANGLES: {
        "drilling_angle_deg": _degrees(
            "Drilling angle", "At the pin, from the PAP to the PSA mark; without one, to the CG."
        ),
        "pin_to_pap_in": _pin_to_pap(),
        "val_angle_deg": _degrees("VAL angle", "At the PAP, from the VAL to the pin."),
    },
    LayoutNotation.BUFFER: {
        "pin_to_pap_in": _pin_to_pap(),
        "psa_to_pap_in": _inches("PSA to PAP", 0, 2 * QUARTER_IN),
        "pin_buffer_in": _inches(
            "Pin buffer", -QUARTER_IN, QUARTER_IN, "From the pin straight across to the VAL."
        ),
        "val_branch": forms.ChoiceField(
            label="VAL angle below or above 90°?",
            required=False,
            widget=forms.RadioSelect,
            choices=[("below_90", "Below 90°: pin higher"), ("above_90", "Above 90°: pin lower")],
            help_text="These three distances fit two layouts: look where the pin is on the ball.",
        ),
    },
    LayoutNotation.READ_OFF: {
        "pin_over_in": _inches("Pin over", -2 * QUARTER_IN, 2 * QUARTER_IN),
        "pin_up_in": _inches("Pin up", -QUARTER_IN, QUARTER_IN, "Minus when below the midline."),
        "psa_over_in": _inches("PSA over", -2 * QUARTER_IN, 2 * QUARTER_IN),
        "psa_up_in": _inches("PSA up", -QUARTER_IN, QUARTER_IN, "Minus when below the midline."),
    },
}


def field_name(notation: str, number: str) -> str:
    return f"{notation}_{number}"


def layout_form_fields() -> dict[str, forms.Field]:
    """Fresh fields for one form, all optional: the form asks for those of the chosen notation."""
    return {
        field_name(notation, number): copy.deepcopy(field)
        for notation, fields in LAYOUT_FIELDS.items()
        for number, field in fields.items()
    }


def layout_initial(notation: str, numbers: Mapping[str, Any]) -> dict[str, Any]:
    """What was typed, back in its own fields."""
    return {field_name(notation, number): value for number, value in numbers.items()}


def in_address(query: Mapping[str, str]) -> dict[str, str]:
    """A layout and its PAP handed over in an address, as typed; empty for one without."""
    names = (*layout_form_fields(), "layout_notation", "pap_over_in", "pap_up_in")
    return {name: query[name] for name in names if name in query}


def holes_in_address(
    query: Mapping[str, str], rows: Sequence[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Rows of holes with the numbers an address says of them, as typed: ``thumb_up_in``, say."""
    return [
        {name: query.get(f"{row['kind']}_{name}", value) for name, value in row.items()}
        for row in rows
    ]


def chosen_numbers(form: forms.BaseForm, notation: str) -> dict[str, Any]:
    """The numbers of the chosen notation; each one missing becomes an error beside its field.

    Faults in the other notations are forgotten: they aren't what the layout is.
    """
    for other, fields in LAYOUT_FIELDS.items():
        for number in fields if other != notation else ():
            form.errors.pop(field_name(other, number), None)
    numbers: dict[str, Any] = {}
    for number in LAYOUT_FIELDS[notation]:
        name = field_name(notation, number)
        value = form.cleaned_data.get(name)
        if value in (None, "") and name not in form.errors:
            form.add_error(name, _missing(form.fields[name]))
        else:
            numbers[number] = value
    return numbers


def _missing(field: forms.Field) -> str:
    if isinstance(field, MeasureField):
        return str(field.error_messages["required"])
    return "Say whether the VAL angle is below or above 90°: both fit these distances."
