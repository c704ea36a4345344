"""The ranked choices as a page shows them: words beside numbers, and filters by kind and budget."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict

from arsenal.advice import words


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


@dataclass(frozen=True)
class Choice:
    """One choice with the words that go beside its numbers."""

    data: Mapping[str, Any]
    tasks: Sequence[str] = ()

    @property
    def gains(self) -> list[tuple[str, float]]:
        """Points gained on each task, by its name."""
        gains = self.data.get("gain_by_task") or []
        return [(name, gain * 100) for name, gain in zip(self.tasks, gains, strict=False)]

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
    def gain_points(self) -> float:
        """Percentage points of strike chance."""
        return float(self.data["gain"]) * 100

    @property
    def certainty_words(self) -> str:
        return words.certainty_words(self.data["certainty"])

    @property
    def changes_something(self) -> bool:
        return bool(self.data["kind"] != "none")

    @property
    def too_close(self) -> bool:
        """Whether its place before the next one means anything."""
        beats = self.data.get("beats_next")
        return beats is not None and beats < words.TOO_CLOSE

    @property
    def family(self) -> list[dict[str, Any]]:
        return [
            {
                **other,
                "kind_words": words.kind_words(other.get("kind", "")),
                "layout_words": unbroken(words.layout_words(other.get("layout"))),
                "gain_points": other.get("gain", 0.0) * 100,
            }
            for other in self.data["family"]
        ]


@dataclass(frozen=True)
class ChoiceFilter:
    """The choices that pass, in the order of the ranking, and the form they passed."""

    form: FilterForm
    shown: list[Choice]
    hidden: int
    ranked: int
    active: bool

    @classmethod
    def of(cls, result: Mapping[str, Any], data: QueryDict) -> ChoiceFilter:
        """Filter by the address's ``kind`` and ``budget``; a filter in error hides nothing."""
        choices = result["choices"]
        tasks = [task["name"] for task in result["tasks"]]
        form = FilterForm(
            data if data.keys() & {"kind", "budget"} else None,
            kinds=sorted({choice["kind"] for choice in choices}),
        )
        wanted = form.cleaned_data if form.is_bound and form.is_valid() else {}
        kinds, budget = wanted.get("kind") or [], wanted.get("budget")
        shown = [
            Choice(choice, tasks)
            for choice in choices
            if (not kinds or choice["kind"] in kinds)
            and (budget is None or choice["cost"]["amount"] <= budget)
        ]
        return cls(
            form=form,
            shown=shown,
            hidden=len(choices) - len(shown),
            ranked=len(choices),
            active=bool(kinds) or budget is not None,
        )
