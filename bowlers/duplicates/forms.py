"""Which of two customers' values stay."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.datastructures import MultiValueDict

from bowlers import consent
from bowlers.duplicates.merging import FIELDS, label_of
from bowlers.models import Bowler
from proshop.forms import HiddenNumber, TokenForm

# Texts of which both may stay, one behind the other.
TEXTS = ("goal", "complaint", "notes")
NOTHING = "nothing"


class MergeForm(TokenForm):
    """A question for each field in which two customers differ: whose value stays."""

    def __init__(self, data: Any = None, *, kept: Bowler, gone: Bowler) -> None:
        self.kept, self.gone = kept, gone
        super().__init__(data)
        for name, bowler in (("kept_version", kept), ("gone_version", gone)):
            self.fields[name] = HiddenNumber(initial=bowler.version, required=False)
        for name in FIELDS:
            mine, theirs = getattr(kept, name), getattr(gone, name)
            if mine == theirs:
                continue
            choices = [("kept", _shown(kept, name)), ("gone", _shown(gone, name))]
            empty = (None, "")
            both = name in TEXTS and mine not in empty and theirs not in empty
            if both:
                choices.append(("both", "both, one behind the other"))
            self.fields[name] = forms.ChoiceField(
                label=label_of(name),
                choices=choices,
                widget=forms.RadioSelect,
                initial="both" if both else "gone" if mine in empty else "kept",
                error_messages={"required": f"{label_of(name)}: choose which one stays."},
            )

    @property
    def questions(self) -> list[forms.BoundField]:
        return [self[name] for name in FIELDS if name in self.fields]

    @property
    def agreed(self) -> list[tuple[str, str]]:
        """What both say, with its label."""
        same = [name for name in FIELDS if name not in self.fields]
        return [(label_of(name), _shown(self.kept, name)) for name in same]

    @property
    def versions(self) -> tuple[int, int]:
        cleaned = self.cleaned_data
        return cleaned.get("kept_version") or 0, cleaned.get("gone_version") or 0

    @property
    def values(self) -> dict[str, Any]:
        """What the customer says from now on, of the fields in which the two differ."""
        chosen = {}
        for name in FIELDS:
            if name not in self.fields:
                continue
            mine, theirs = getattr(self.kept, name), getattr(self.gone, name)
            whose = self.cleaned_data[name]
            chosen[name] = {"kept": mine, "gone": theirs, "both": f"{mine}\n{theirs}"}[whose]
        return chosen

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self.versions != (self.kept.version, self.gone.version):
            now = MultiValueDict(cast("MultiValueDict[str, Any]", self.data))
            now["kept_version"], now["gone_version"] = self.kept.version, self.gone.version
            self.data = now
            raise ValidationError(
                "One of the two was changed after you opened this page. What they say now is "
                "below: look again, then merge.",
                code="stale",
            )
        if not self.errors:
            told = [self.values.get(n, getattr(self.kept, n)) for n in ("agreed_to", "agreed_on")]
            if lacking := consent.lacking(*told):
                name, why = lacking
                self.add_error(name if name in self.fields else None, f"{label_of(name)} {why}")
        return cleaned


def _shown(bowler: Bowler, name: str) -> str:
    display = getattr(bowler, f"get_{name}_display", None)
    value = display() if display else getattr(bowler, name)
    return NOTHING if value in (None, "") else str(value)
