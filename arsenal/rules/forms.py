"""Forms of the shop's rules and of durometer readings."""

from __future__ import annotations

from typing import Any, ClassVar, cast

from django import forms

from arsenal import engine
from arsenal.fields import MeasureField
from arsenal.rules.models import (
    DIAMETER_IN,
    HARDNESS_D,
    TEMPERATURE_F,
    HardnessReading,
    HouseLimit,
    ShopRules,
    SizeReading,
)
from proshop.forms import RecordForm

HIGHEST_LIMIT = 1000.0


class ShopRulesForm(RecordForm):
    """Which rule set the shop holds balls to."""

    rule_set = forms.ChoiceField(label="Rule set", widget=forms.RadioSelect)

    class Meta:
        model = ShopRules
        fields = ("rule_set",)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = cast(forms.ChoiceField, self.fields["rule_set"])
        field.choices = [(rules.key, rules.name) for rules in engine.rule_sets()]


class HouseLimitForm(RecordForm):
    """A limit the house holds balls to in place of the rule set's."""

    limit = forms.ChoiceField(label="Limit")
    value = MeasureField(
        low=0, high=HIGHEST_LIMIT, label="Limit here", help_text="In the unit of the limit chosen."
    )

    class Meta:
        model = HouseLimit
        fields = ("limit", "value", "why", "reason")
        labels: ClassVar[dict[str, str]] = {
            "why": "Why it differs",
            "reason": "Reason, or where and when it was read",
        }
        widgets: ClassVar[dict[str, Any]] = {"why": forms.RadioSelect}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        chosen = engine.rule_set_of(self.instance.shop)
        self.instance.rule_set = chosen.key
        limit = cast(forms.ChoiceField, self.fields["limit"])
        limit.choices = engine.movable(chosen)
        why = cast(forms.ChoiceField, self.fields["why"])
        why.choices = list(HouseLimit.Why.choices)

    def clean_limit(self) -> str:
        key: str = self.cleaned_data["limit"]
        standing = HouseLimit.objects.for_shop(self.instance.shop).filter(
            rule_set=self.instance.rule_set, limit=key, taken_back=False
        )
        if standing.exists():
            raise forms.ValidationError(
                "The house has set this limit already: take that back first, below."
            )
        return key


class HardnessForm(RecordForm):
    """A durometer reading."""

    hardness_d = MeasureField(
        low=HARDNESS_D[0], high=HARDNESS_D[1], label="Hardness", unit="Shore D"
    )
    temperature_f = MeasureField(
        low=TEMPERATURE_F[0], high=TEMPERATURE_F[1], label="Temperature of the ball", unit="°F"
    )

    class Meta:
        model = HardnessReading
        fields = ("hardness_d", "temperature_f", "read_on")
        labels: ClassVar[dict[str, str]] = {"read_on": "Day"}
        widgets: ClassVar[dict[str, Any]] = {
            "read_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        }


class SizeForm(RecordForm):
    """How far across a ball is, at its least and at its most."""

    least_in = MeasureField(
        low=DIAMETER_IN[0], high=DIAMETER_IN[1], label="Least across", unit="in"
    )
    most_in = MeasureField(low=DIAMETER_IN[0], high=DIAMETER_IN[1], label="Most across", unit="in")

    class Meta:
        model = SizeReading
        fields = ("least_in", "most_in", "read_on")
        labels: ClassVar[dict[str, str]] = {"read_on": "Day"}
        widgets: ClassVar[dict[str, Any]] = {
            "read_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        least, most = cleaned.get("least_in"), cleaned.get("most_in")
        if least is not None and most is not None and least > most:
            self.add_error(
                "most_in", f"Most across is less than the least, {least:g} in: swap the two."
            )
        return cleaned
