"""The shop's form for a link, and the bowler's short form of what they saw."""

from __future__ import annotations

import datetime
from datetime import timedelta
from typing import Any, ClassVar, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from arsenal import engine
from arsenal.afterwards.forms import COMMON_LEAVES
from arsenal.afterwards.models import GAMES, MOST_LEAVES, Look, Motion
from arsenal.bag.models import OwnedBall
from arsenal.fields import WholeField
from arsenal.lanes.models import Condition
from arsenal.phone.models import MOST_DAYS, PhoneLink, PhoneReport
from bowlers.models import Bowler
from proshop.forms import RecordForm, TokenField

# Days back that a report may speak of.
OLDEST_DAYS = 30


class LinkForm(RecordForm):
    """What the page shows and until when."""

    class Meta:
        model = PhoneLink
        fields = ("shown_name", "good_until", "shares_next_ball", "takes_reports")
        labels: ClassVar[dict[str, str]] = {
            "shown_name": "Name on the page",
            "good_until": "Good until",
            "shares_next_ball": "Show the next-ball suggestion",
            "takes_reports": "Take reports of what was seen",
        }
        help_texts: ClassVar[dict[str, str]] = {
            "shown_name": "What the bowler wants to be called there. Empty: no name.",
            "takes_reports": "They wait on Afterwards until somebody here takes them over.",
        }
        widgets: ClassVar[dict[str, forms.Widget]] = {
            "good_until": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }

    def clean_good_until(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["good_until"]
        today = timezone.localdate()
        latest = today + timedelta(days=MOST_DAYS)
        if not today <= day <= latest:
            raise ValidationError(
                f"Good until must be between today and {latest:%-d %B %Y}.", code="range"
            )
        return day


class ReportForm(forms.ModelForm[PhoneReport]):
    """One evening with one ball, from a phone: taps only, but for a remark."""

    form_token = TokenField(
        error_messages={"required": "This page is too old to report from: open it again first."}
    )
    games = WholeField(low=GAMES[0], high=GAMES[1], label="Games bowled")
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

    class Meta:
        model = PhoneReport
        fields = ("ball", "condition", "seen_on", "games", "motion", "look", "remark")
        labels: ClassVar[dict[str, str]] = {"seen_on": "Day", "remark": "Anything else"}
        widgets: ClassVar[dict[str, forms.Widget]] = {
            "seen_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "remark": forms.TextInput(attrs={"autocomplete": "off"}),
        }

    def __init__(self, *args: Any, bowler: Bowler, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        balls = cast("forms.ModelChoiceField[OwnedBall]", self.fields["ball"])
        balls.queryset = bowler.bag.in_use()
        balls.empty_label = "Pick a ball"
        balls.error_messages["required"] = "Ball is missing: pick the ball you threw."
        conditions = cast("forms.ModelChoiceField[Condition]", self.fields["condition"])
        conditions.queryset = (
            Condition.objects.for_shop(bowler.shop).filter(met_by__bowler=bowler).distinct()
        )
        conditions.empty_label = "Pick where"
        conditions.error_messages["required"] = "Condition is missing: pick where you bowled."

    def clean_seen_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["seen_on"]
        today = timezone.localdate()
        if not today - timedelta(days=OLDEST_DAYS) <= day <= today:
            raise ValidationError(f"Day must be one of the last {OLDEST_DAYS} days.", code="range")
        return day

    def clean_common_leaves(self) -> list[str]:
        found = [engine.leave_name(name) for name in self.cleaned_data["common_leaves"]]
        return found[:MOST_LEAVES]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        cleaned["leaves"] = cleaned.get("common_leaves", [])
        said = cleaned.get("motion") or cleaned.get("look") or cleaned["leaves"]
        if not self.errors and not said:
            raise ValidationError("Nothing seen yet: tap a word or a leave.", code="empty")
        return cleaned
