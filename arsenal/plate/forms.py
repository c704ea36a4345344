"""The layout of a plate: typed in any notation, stepped, or turned into another one."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from arsenal.bag.forms import GripHoleForm
from arsenal.bag.layout_fields import (
    LAYOUT_FIELDS,
    chosen_numbers,
    field_name,
    layout_form_fields,
)
from arsenal.bag.models import PAP_OVER_IN, PAP_UP_IN, Hole, LayoutNotation
from arsenal.fields import MeasureField, plain
from arsenal.refusals import HOLE, refuse
from physics.errors import InputError

STEP_IN, STEP_DEG = 0.125, 5.0
# What of a hole can be stepped, by how much, and how that reads.
HOLE_STEPS = {
    "over_in": (0.0625, "1/16 in"),
    "up_in": (0.0625, "1/16 in"),
    "pitch_forward_in": (0.0625, "1/16 in"),
    "pitch_lateral_in": (0.0625, "1/16 in"),
    "diameter_in": (0.03125, "1/32 in"),
    "depth_in": (0.125, "1/8 in"),
}
# A typed number this near to the ball's own is the ball's own.
SAME_IN = 1e-4
# VAL angles a pin is put up or down with: the ends of those in use (common practice, no source).
PRESETS = {"up": 20.0, "down": 70.0}


# The three notations in a word each; their numbers stand right below.
NOTATIONS = (
    (LayoutNotation.ANGLES, "By angles"),
    (LayoutNotation.BUFFER, "By distances"),
    (LayoutNotation.READ_OFF, "Read off the ball"),
)


class PlateForm(forms.Form):
    """``read_as`` is the notation whose numbers were typed; ``layout_notation`` the one wanted."""

    layout_notation = forms.ChoiceField(
        label="Written as", choices=NOTATIONS, widget=forms.RadioSelect
    )
    read_as = forms.ChoiceField(choices=LayoutNotation.choices, widget=forms.HiddenInput)
    pap_over_in = MeasureField(low=PAP_OVER_IN[0], high=PAP_OVER_IN[1], label="PAP over", unit="in")
    pap_up_in = MeasureField(low=PAP_UP_IN[0], high=PAP_UP_IN[1], label="PAP up", unit="in")

    def __init__(self, *args: Any, holes: Sequence[Mapping[str, Any]], **kwargs: Any) -> None:
        """``holes``: the ball's own as the engine has them, each with its kind."""
        super().__init__(*args, **kwargs)
        self.own = holes
        self.fields.update(layout_form_fields())
        self.fields.update(hole_fields(holes))
        self.numbers: dict[str, Any] = {}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if notation := cleaned.get("read_as"):
            self.numbers = chosen_numbers(self, notation)
        return cleaned

    @property
    def pap_in(self) -> tuple[float, float]:
        return self.cleaned_data["pap_over_in"], self.cleaned_data["pap_up_in"]

    @property
    def holes(self) -> list[dict[str, float]]:
        """How each hole would be cut, in the ball's order."""
        return [{number: self._cut(hole, number) for number in HOLE_STEPS} for hole in self.own]

    def _cut(self, hole: Mapping[str, Any], number: str) -> float:
        own, typed = float(hole[number]), self.cleaned_data[f"{hole['kind']}_{number}"]
        return own if abs(own - typed) < SAME_IN else float(typed)

    @property
    def moved_holes(self) -> dict[str, str]:
        """The boxes of holes that say another number than the ball's own, as typed."""
        found = {}
        for hole in self.own:
            for number in HOLE_STEPS:
                name = f"{hole['kind']}_{number}"
                if name not in self.errors and self._cut(hole, number) != hole[number]:
                    found[name] = str(self.data[name])
        return found

    def refuse(self, error: InputError) -> None:
        """Put what the engine refuses beside the box it is about."""
        found = HOLE.search(error.field)
        if found and int(found[1]) < len(self.own):
            name = f"{self.own[int(found[1])]['kind']}_{found[2]}"
            leaf = InputError(name, error.value, error.allowed)
            refuse(self, leaf)
        else:
            refuse(self, error, self.names)

    @property
    def names(self) -> dict[str, str]:
        """The form's name of each number of the layout that was read."""
        notation = self.cleaned_data["read_as"]
        return {number: field_name(notation, number) for number in LAYOUT_FIELDS[notation]}

    def faults(self) -> list[str]:
        return [str(fault) for faults in self.errors.values() for fault in faults]

    def boxes(self) -> list[tuple[forms.BoundField, str, str, str]]:
        """Each number shown: its field, what a step less and a step more send, and its size."""
        shown = self["layout_notation"].value()
        names = [field_name(shown, n) for n in LAYOUT_FIELDS.get(shown, {}) if n != "val_branch"]
        found = []
        for name in [*names, "pap_over_in", "pap_up_in"]:
            size = STEP_DEG if name.endswith("_deg") else STEP_IN
            words = "5°" if name.endswith("_deg") else "1/8 in"
            found.append((self[name], f"{name}:-{size:g}", f"{name}:{size:g}", words))
        return found

    def hole_boxes(self) -> list[tuple[str, list[tuple[forms.BoundField, str, str, str]]]]:
        """Each hole's name and its boxes, as :meth:`boxes` has them."""
        found = []
        for hole in self.own:
            boxes = []
            for number, (size, words) in HOLE_STEPS.items():
                name = f"{hole['kind']}_{number}"
                boxes.append((self[name], f"{name}:-{size:g}", f"{name}:{size:g}", words))
            found.append((str(Hole.Kind(hole["kind"]).label), boxes))
        return found

    def branch(self) -> forms.BoundField | None:
        """Which of two layouts the buffer's distances mean, where those are shown."""
        if self["layout_notation"].value() != LayoutNotation.BUFFER:
            return None
        return self[field_name(LayoutNotation.BUFFER, "val_branch")]


def hole_fields(holes: Sequence[Mapping[str, Any]]) -> dict[str, forms.Field]:
    """A box for each number of each hole, with the ranges of the bag's form."""
    found: dict[str, forms.Field] = {}
    for hole in holes:
        for number in HOLE_STEPS:
            field = copy.deepcopy(GripHoleForm.base_fields[number])
            field.widget.attrs.pop("data-pitch", None)
            found[f"{hole['kind']}_{number}"] = field
    return found


def typed_holes(holes: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """The ball's own holes as they would be typed."""
    return {
        f"{hole['kind']}_{number}": plain(float(hole[number]))
        for hole in holes
        for number in HOLE_STEPS
    }


def typed(notation: str, numbers: Mapping[str, Any], pap_in: tuple[float, float]) -> dict[str, str]:
    """A layout as it would be typed."""
    boxes = {
        field_name(notation, number): value if isinstance(value, str) else _rounded(number, value)
        for number, value in numbers.items()
        if number in LAYOUT_FIELDS[notation]
    }
    return boxes | {
        "layout_notation": notation,
        "read_as": notation,
        "pap_over_in": plain(pap_in[0]),
        "pap_up_in": plain(pap_in[1]),
    }


def stepped(
    boxes: Mapping[str, str], step: str, holes: Sequence[Mapping[str, Any]] = ()
) -> dict[str, str]:
    """The boxes with one number moved by ``name:size`` within its range; others do nothing."""
    name, _, size = step.partition(":")
    field = (PlateForm.base_fields | layout_form_fields() | hole_fields(holes)).get(name)
    found = dict(boxes)
    if not isinstance(field, MeasureField):
        return found
    try:
        value = (field.to_python(boxes.get(name)) or 0.0) + float(size)
    except (forms.ValidationError, ValueError):
        return found
    if value == value:
        found[name] = plain(min(max(round(value, 4), field.low), field.high))
    return found


def _rounded(number: str, value: float) -> str:
    """To the tenth of a degree and the thousandth of an inch: finer than any ruler."""
    return plain(round(float(value), 1 if number.endswith("_deg") else 3))
