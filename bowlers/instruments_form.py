"""Choosing the instruments of a fitting, each with its own settings."""

from dataclasses import dataclass
from typing import Any

from django import forms

from bowlers.fields import ReadingField
from bowlers.instruments import QUANTITIES, Quantity, Setting, Way, told, way_of
from bowlers.models import Fitting
from bowlers.readings import Reading
from proshop.forms import RecordForm


@dataclass(frozen=True)
class WayRow:
    """One way of a quantity on the page: its choice and the boxes of its settings."""

    way: Way
    choice: Any
    settings: list[forms.BoundField]


@dataclass(frozen=True)
class QuantityRows:
    quantity: Quantity
    ways: list[WayRow]
    errors: Any


class InstrumentsForm(RecordForm):
    """One way for each quantity; only the settings of the ways chosen are read."""

    class Meta:
        model = Fitting
        fields = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for quantity in QUANTITIES:
            chosen = way_of(self.instance.instruments, quantity)
            self.fields[quantity.name] = forms.ChoiceField(
                label=quantity.label,
                choices=[(way.name, way.label) for way in quantity.ways],
                initial=chosen.name,
                widget=forms.RadioSelect(),
                error_messages={
                    "required": f"{quantity.label}: choose how it is read.",
                    "invalid_choice": f"{quantity.label}: choose one of the ways listed.",
                },
            )
            for way in quantity.ways:
                kept = told(self.instance.instruments, quantity) if way is chosen else {}
                for setting in way.settings:
                    field = _field(quantity, setting)
                    field.initial = kept.get(setting.name, setting.usual)
                    self.fields[_name(quantity, way, setting)] = field

    def full_clean(self) -> None:
        """Read only what belongs to the ways chosen: other boxes may hold anything."""
        if self.is_bound:
            for quantity in QUANTITIES:
                sent = self.data.get(self.add_prefix(quantity.name))
                for way in quantity.ways:
                    for setting in way.settings if way.name != sent else ():
                        self.fields[_name(quantity, way, setting)].disabled = True
        super().full_clean()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for quantity in QUANTITIES:
            for way in quantity.ways:
                if way.name != cleaned.get(quantity.name):
                    continue
                for setting in way.settings:
                    name = _name(quantity, way, setting)
                    if cleaned.get(name) is None and name not in self.errors:
                        self.add_error(name, f"{setting.label} is missing: enter a number.")
                ends = [cleaned.get(f"{quantity.name}_{way.name}_{end}_ft") for end in _ENDS]
                if None not in ends and not ends[0] < ends[1]:  # type: ignore[operator]
                    name = f"{quantity.name}_{way.name}_to_ft"
                    self.add_error(name, "To must be further down the lane than From.")
        return cleaned

    @property
    def choice(self) -> dict[str, dict[str, Any]]:
        """As kept on the fitting; what is typed as a number has no entry."""
        chosen: dict[str, dict[str, Any]] = {}
        for quantity in QUANTITIES:
            way = quantity.way(self.cleaned_data[quantity.name])
            if way is not quantity.ways[0]:
                settings = {
                    s.name: self.cleaned_data[_name(quantity, way, s)] for s in way.settings
                }
                chosen[quantity.name] = {"way": way.name, **settings}
        return chosen

    @property
    def rows(self) -> list[QuantityRows]:
        found = []
        for quantity in QUANTITIES:
            radios = list(self[quantity.name])
            ways = [
                WayRow(way, radio, [self[_name(quantity, way, s)] for s in way.settings])
                for way, radio in zip(quantity.ways, radios, strict=True)
            ]
            found.append(QuantityRows(quantity, ways, self[quantity.name].errors))
        return found


_ENDS = ("from", "to")


def _name(quantity: Quantity, way: Way, setting: Setting) -> str:
    return f"{quantity.name}_{way.name}_{setting.name}"


def _field(quantity: Quantity, setting: Setting) -> ReadingField:
    s = setting
    label = f"{quantity.label}, {s.label[:1].lower()}{s.label[1:]}"
    reading = Reading(s.name, label, s.unit, s.low, s.high, s.low, s.high, 3, 0.0, s.usual)
    field = ReadingField(reading=reading)
    field.label = s.label
    return field
