"""The ranked choices as a page shows them: words beside numbers, and filters by kind and budget."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.http import QueryDict

from arsenal.advice import words
from arsenal.catalogue.models import Finish
from arsenal.engine.doubts import TOO_CLOSE


class FilterForm(forms.Form):
    """Filters of the next-ball page; they work as plain addresses, so they can be kept."""

    kind = forms.MultipleChoiceField(
        label="Kinds", required=False, widget=forms.CheckboxSelectMultiple
    )
    budget = forms.DecimalField(
        label="Budget",
        required=False,
        min_value=0,
        max_value=100_000,
        decimal_places=2,
        error_messages={
            "invalid": "Budget must be an amount, such as 200.",
            "min_value": "Budget must be between 0 and 100,000.",
            "max_value": "Budget must be between 0 and 100,000.",
        },
    )

    def __init__(self, data: QueryDict | None, *, kinds: Sequence[str]) -> None:
        super().__init__(data or None)
        kind: Any = self.fields["kind"]
        kind.choices = [(key, label) for key, label in words.KINDS.items() if key in kinds]
        self.fields["budget"].widget.attrs |= {"class": "form-control", "step": "1"}


def unbroken(text: str) -> str:
    """A layout stays on one line."""
    return text.replace(" ", "\u00a0")


def surface_words(finish: str) -> str:
    """A finish by its label; whatever isn't one is shown as it is."""
    return str(Finish(finish).label) if finish in Finish else finish


@dataclass(frozen=True)
class Choice:
    """One choice with the words that go beside its numbers."""

    data: Mapping[str, Any]
    tasks: Sequence[str] = ()
    unit: words.GainUnit = words.STRIKE_POINTS
    instead: Mapping[str, Any] | None = None
    """The one of its family that passes a filter, where the choice itself doesn't."""

    @property
    def gains(self) -> list[tuple[str, float]]:
        """What is gained on each task, by its name."""
        gains = self.data.get("gain_by_task") or []
        scale = self.unit.scale
        return [(name, gain * scale) for name, gain in zip(self.tasks, gains, strict=False)]

    @property
    def drilled(self) -> list[tuple[str, str]]:
        return words.drilled_numbers(self.data.get("drilled"))

    @property
    def kind_words(self) -> str:
        return words.kind_words(self.data["kind"])

    @property
    def layout_words(self) -> str:
        return unbroken(words.layout_words(self.data["layout"]))

    @property
    def surface_words(self) -> str:
        return surface_words(self.data["surface"])

    @property
    def work(self) -> str:
        """What is to be done, where that is care."""
        return str(self.data.get("work", ""))

    @property
    def not_in_play(self) -> str:
        """What the rules say of working on the cover, where the choice does."""
        return words.NOT_IN_PLAY if self.data["kind"] in words.ALTERS_SURFACE else ""

    @property
    def gain(self) -> float:
        """In the unit's words."""
        return float(self.data["gain"]) * self.unit.scale

    @property
    def certainty_words(self) -> str:
        return words.certainty_words(self.data["certainty"])

    @property
    def certainty_percent(self) -> str:
        return words.certainty_percent(self.data["certainty"])

    @property
    def changes_something(self) -> bool:
        return bool(self.data["kind"] != "none")

    @property
    def is_drilled(self) -> bool:
        """Whether the press has something to do for it."""
        return _is_drilled(self.data)

    @property
    def too_close(self) -> bool:
        """Whether its place before the next one means anything."""
        beats = self.data.get("beats_next")
        return beats is not None and beats < TOO_CLOSE

    @property
    def interval(self) -> tuple[float, float, float] | None:
        """The 80 % interval of the gain and its middle; None where it wasn't computed."""
        ends = self.data.get("gain_interval")
        if not ends:
            return None
        scale = self.unit.scale
        low, high = ends
        return low * scale, high * scale, self.data["gain_middle"] * scale

    @property
    def family(self) -> list[dict[str, Any]]:
        return [_member(other, self.unit) for other in self.data["family"]]


def _member(other: Mapping[str, Any], unit: words.GainUnit) -> dict[str, Any]:
    return {
        **other,
        "kind_words": words.kind_words(other["kind"]),
        "layout_words": unbroken(words.layout_words(other["layout"])),
        "surface_words": other.get("work") or surface_words(other["surface"]),
        "gain": other["gain"] * unit.scale,
        "is_drilled": _is_drilled(other),
    }


def _is_drilled(option: Mapping[str, Any]) -> bool:
    return option["kind"] in words.DRILLED and bool(option["layout"])


@dataclass(frozen=True)
class Wanted:
    """What a filter lets through."""

    kinds: Sequence[str]
    budget: Decimal | None
    unit: words.GainUnit = words.STRIKE_POINTS

    def passes(self, option: Mapping[str, Any]) -> bool:
        return (not self.kinds or option["kind"] in self.kinds) and (
            self.budget is None or option["cost"]["amount"] <= self.budget
        )

    def shown(self, choice: Mapping[str, Any], tasks: Sequence[str]) -> Choice | None:
        """The choice if it passes, or if another of its family does, which is then named."""
        if self.passes(choice):
            return Choice(choice, tasks, self.unit)
        instead = next((other for other in choice["family"] if self.passes(other)), None)
        if instead is None:
            return None
        return Choice(choice, tasks, self.unit, _member(instead, self.unit))


@dataclass(frozen=True)
class ChoiceFilter:
    """The choices that pass, in the order of the ranking, and the form they passed."""

    form: FilterForm
    shown: list[Choice]
    hidden: int
    ranked: int
    active: bool

    @property
    def works_on_covers(self) -> bool:
        """Whether anything shown means sanding, polishing or chemicals."""
        return any(choice.not_in_play for choice in self.shown)

    @classmethod
    def of(cls, result: Mapping[str, Any], data: QueryDict) -> ChoiceFilter:
        """Filter by the address's ``kind`` and ``budget``; a filter in error hides nothing."""
        choices = result["choices"]
        tasks = [task["name"] for task in result["tasks"]]
        form = FilterForm(
            data if data.keys() & {"kind", "budget"} else None,
            kinds=sorted(
                {option["kind"] for choice in choices for option in (choice, *choice["family"])}
            ),
        )
        said = form.cleaned_data if form.is_bound and form.is_valid() else {}
        wanted = Wanted(
            kinds=said.get("kind") or [],
            budget=said.get("budget"),
            unit=words.gain_unit(result),
        )
        passed = (wanted.shown(choice, tasks) for choice in choices)
        shown = [choice for choice in passed if choice is not None]
        return cls(
            form=form,
            shown=shown,
            hidden=len(choices) - len(shown),
            ranked=len(choices),
            active=bool(wanted.kinds) or wanted.budget is not None,
        )
