"""The one short form of what was seen."""

from __future__ import annotations

import datetime
from typing import Any, ClassVar, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from arsenal import engine
from arsenal.afterwards.models import (
    BREAK_FT,
    GAMES,
    GAMES_PLAYED,
    LANE_BOARDS,
    MOST_LEAVES,
    Look,
    Motion,
    Observation,
)
from arsenal.bag.models import OwnedBall
from arsenal.fields import MeasureField, WholeField
from arsenal.lanes.models import GAMES_ON_OIL, Condition
from bowlers.models import Bowler
from physics.errors import InputError
from proshop.forms import RecordForm

EARLIEST = datetime.date(2000, 1, 1)
# What is left most often, to tap: right-hander's and left-hander's alike.
COMMON_LEAVES = ("10", "7", "4", "6", "8", "9", "5", "4-9", "6-8", "3-10", "2-7", "5-7", "5-10",
                 "8-10", "7-9", "2-8", "3-9", "7-10")  # fmt: skip
NUMBERS = ("entry_board", "break_board", "break_ft")


def _board(label: str, **options: Any) -> MeasureField:
    return MeasureField(
        low=LANE_BOARDS[0], high=LANE_BOARDS[1], label=label, required=False, **options
    )


class ObservationForm(RecordForm):
    """What one ball did on one condition: tap what was seen, leave the rest."""

    games = WholeField(low=GAMES[0], high=GAMES[1], label="Games bowled")
    games_since_finish = WholeField(
        low=GAMES_PLAYED[0], high=GAMES_PLAYED[1], label="Games since care", required=False,
        help_text="Of its finish, that day. Left empty: as the ball’s record has it.",
    )  # fmt: skip
    games_on_oil = WholeField(
        low=GAMES_ON_OIL[0], high=GAMES_ON_OIL[1], label="Games on the oil before", required=False,
        help_text="Everybody’s. Left empty: as this customer usually meets it.",
    )  # fmt: skip
    entry_board = _board(
        "Where it entered", unit="board", help_text="At the head pin: the pocket is 17½."
    )
    break_board = _board("Breakpoint", unit="board")
    break_ft = MeasureField(
        low=BREAK_FT[0], high=BREAK_FT[1], label="Breakpoint", unit="ft", required=False
    )
    laydown_board = _board("Laid down at", unit="board")
    target_board = _board(
        "Over the arrows at", unit="board", help_text="Without the line, entry teaches little."
    )
    motion = forms.ChoiceField(
        label="How it finished",
        choices=[("", "Not said"), *Motion.choices],
        widget=forms.RadioSelect,
        required=False,
    )
    look = forms.ChoiceField(
        label="How it looked",
        choices=[("", "Not said"), *Look.choices],
        widget=forms.RadioSelect,
        required=False,
    )
    common_leaves = forms.MultipleChoiceField(
        label="What it left",
        choices=[(leave, leave) for leave in COMMON_LEAVES],
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    more_leaves = forms.CharField(
        label="Other leaves, or the same again",
        required=False,
        max_length=200,
        help_text="Pins with hyphens, leaves with commas or spaces: 10, 10, 3-6-10.",
        widget=forms.TextInput({"autocomplete": "off", "inputmode": "text"}),
    )

    class Meta:
        model = Observation
        fields = (
            "ball",
            "condition",
            "seen_on",
            "games",
            "games_on_oil",
            "games_since_finish",
            "laydown_board",
            "target_board",
            "entry_board",
            "break_board",
            "break_ft",
            "motion",
            "look",
            "remark",
        )
        labels: ClassVar[dict[str, str]] = {"seen_on": "Day", "remark": "Remark"}
        widgets: ClassVar[dict[str, forms.Widget]] = {
            "seen_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "remark": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, bowler: Bowler, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.bowler = bowler
        # Empty, not nought: what the records say then.
        for name in ("games_since_finish", "games_on_oil"):
            self.initial[name] = None
        balls = cast("forms.ModelChoiceField[OwnedBall]", self.fields["ball"])
        balls.queryset = bowler.bag.in_use().with_drilling()
        balls.empty_label = "Pick a ball"
        balls.error_messages["required"] = "Ball is missing: pick the ball that was thrown."
        conditions = cast("forms.ModelChoiceField[Condition]", self.fields["condition"])
        conditions.queryset = (
            Condition.objects.for_shop(bowler.shop)
            .with_house()
            .filter(met_by__bowler=bowler)
            .distinct()
        )
        conditions.empty_label = "Pick a condition"
        conditions.error_messages["required"] = "Condition is missing: pick where it was thrown."

    def clean_seen_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["seen_on"]
        if day > timezone.localdate():
            raise ValidationError("Day is in the future: give the day it was seen.")
        if day < EARLIEST:
            raise ValidationError(f"Day must be in {EARLIEST.year} or later.")
        return day

    def clean_more_leaves(self) -> str:
        text: str = self.cleaned_data["more_leaves"]
        names = text.replace(";", " ").replace(",", " ").split()
        try:
            return " ".join(engine.leave_name(name) for name in names)
        except InputError as error:
            raise ValidationError(
                f"“{str(error.value)[:20]}” isn’t a leave: give {error.allowed}.", code="leave"
            ) from None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if (cleaned.get("laydown_board") is None) != (cleaned.get("target_board") is None):
            empty = "laydown_board" if cleaned.get("laydown_board") is None else "target_board"
            if "laydown_board" not in self.errors and "target_board" not in self.errors:
                self.add_error(empty, "Give both ends of the line, or leave both empty.")
        found = [*cleaned.get("common_leaves", []), *cleaned.get("more_leaves", "").split()]
        if len(found) > MOST_LEAVES:
            self.add_error("more_leaves", f"At most {MOST_LEAVES} leaves in one entry.")
        if not self.errors and not self._anything(cleaned, found):
            raise ValidationError(
                "Nothing seen yet: tap a word or a leave, or give where it entered.", code="empty"
            )
        self.instance.leaves = found
        if cleaned.get("games_since_finish") is None and cleaned.get("ball"):
            cleaned["games_since_finish"] = cleaned["ball"].games_since_finish
        if cleaned.get("games_on_oil") is None and cleaned.get("condition"):
            met = self.instance.bowler.conditions.filter(condition=cleaned["condition"])
            usual = met.order_by("-times_a_season", "pk").first()
            cleaned["games_on_oil"] = usual.games_on_oil if usual else 0
        return cleaned

    @staticmethod
    def _anything(cleaned: dict[str, Any], leaves: list[str]) -> bool:
        words = cleaned.get("motion") or cleaned.get("look")
        return bool(words or leaves or any(cleaned.get(n) is not None for n in NUMBERS))
