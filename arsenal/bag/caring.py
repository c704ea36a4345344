"""The care log: what was done to a ball's surface, and games played on it."""

from __future__ import annotations

import datetime
from typing import Any, ClassVar, cast

from django import forms
from django.db import transaction
from django.utils import timezone

from arsenal import engine
from arsenal.bag.models import MOST_GAMES, CareEntry, OwnedBall
from arsenal.catalogue.models import Finish
from arsenal.fields import WholeField
from proshop.forms import HiddenNumber, TokenMixin

GAMES = ("games_since_finish", "games_since_oil_drawn", "games_since_cleaned")


class CareForm(TokenMixin, forms.ModelForm):  # type: ignore[type-arg]
    games = WholeField(
        low=1,
        high=300,
        label="Games",
        required=False,
        help_text="Where games were played: how many.",
    )
    finish = forms.ChoiceField(
        label="Finish put on",
        required=False,
        choices=[("", "The one it has"), *Finish.choices],
    )

    class Meta:
        model = CareEntry
        fields = ("work", "on", "games", "finish", "note")
        widgets: ClassVar[dict[str, Any]] = {"on": forms.DateInput({"type": "date"})}

    def __init__(self, *args: Any, ball: OwnedBall, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ball = ball
        cast(forms.ChoiceField, self.fields["work"]).choices = CareEntry.Work.choices
        self.fields["on"].initial = timezone.localdate
        self.fields["record_version"] = HiddenNumber(required=False, initial=ball.version)

    def clean_on(self) -> datetime.date:
        on: datetime.date = self.cleaned_data["on"]
        if on > timezone.localdate():
            raise forms.ValidationError("That day lies ahead: give the day it was done.")
        return on

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        work = cleaned.get("work")
        if work == CareEntry.Work.GAMES and not cleaned.get("games"):
            if "games" not in self.errors:
                self.add_error("games", "Games is missing: say how many were played.")
        elif work == CareEntry.Work.SURFACE and not cleaned.get("finish"):
            self.add_error("finish", "Finish put on is missing: choose the last grit used.")
        # What wouldn't be kept is asked about, not dropped.
        if work and work != CareEntry.Work.GAMES and cleaned.get("games"):
            self.add_error(
                "games",
                "Games are written down by themselves, before the care: choose “Games played”, or "
                "leave the box empty.",
            )
        if work and work != CareEntry.Work.SURFACE and cleaned.get("finish"):
            self.add_error(
                "finish",
                f"Choose “{CareEntry.Work.SURFACE.label}” for another finish, or “The one it has”.",
            )
        return cleaned


@transaction.atomic
def log_care(*, form: CareForm, user: Any) -> CareEntry:
    """Write down what was done, and count the ball's games from it; raises StaleRecord."""
    entry: CareEntry = form.save(commit=False)
    version = form.cleaned_data.get("record_version") or 0
    entry.finish = form.cleaned_data["finish"] if entry.work == CareEntry.Work.SURFACE else ""
    entry.ball, entry.by = form.ball, user
    return write_down(entry, expected_version=version)


@transaction.atomic
def write_down(entry: CareEntry, *, expected_version: int) -> CareEntry:
    """Keep an entry of the log and count its ball's games from it; raises StaleRecord.

    A care keeps how many games the finish had when it was done. An empty finish is the ball's own.
    """
    ball = entry.ball
    counts = [getattr(ball, name) for name in GAMES]
    if entry.work == CareEntry.Work.GAMES:
        counts = [min(MOST_GAMES, count + entry.games) for count in counts]
    else:
        entry.games = ball.games_since_finish
        surface = entry.work == CareEntry.Work.SURFACE
        counts = list(engine.games_after("restore" if surface else entry.work, *counts))
    for name, count in zip(GAMES, counts, strict=True):
        setattr(ball, name, count)
    ball.finish = entry.finish = entry.finish or ball.finish
    ball.save_checked(expected_version)
    entry.save()
    return entry
