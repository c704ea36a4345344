"""Forms of the press: the plan, its holes, the gate, what was drilled and what it weighed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar, cast

from django import forms
from django.forms.models import inlineformset_factory
from django.utils import timezone

from arsenal import engine
from arsenal.bag.forms import HOLE_FIELDS, BaseHoleFormSet, GripHoleForm
from arsenal.bag.layout_fields import (
    LAYOUT_FIELDS,
    chosen_numbers,
    layout_form_fields,
    layout_initial,
)
from arsenal.bag.models import PAP_OVER_IN, PAP_UP_IN, LayoutNotation
from arsenal.catalogue.forms import LABEL_FIELDS, LabelFields, offer_weights
from arsenal.catalogue.models import BallSpec, Finish
from arsenal.fields import MeasureField
from arsenal.press.models import (
    AGE_YEARS,
    CURE_HOURS,
    STATIC_OZ,
    DrillPlan,
    PlannedHole,
    RedrillGate,
)
from proshop.forms import RecordForm


class PlanForm(LabelFields, RecordForm):
    """A ball to be drilled, without its holes."""

    rows_of: ClassVar[Mapping[str, str]] = {"holes": "Holes"}

    pap_over_in = MeasureField(low=PAP_OVER_IN[0], high=PAP_OVER_IN[1], label="PAP over", unit="in")
    pap_up_in = MeasureField(
        low=PAP_UP_IN[0],
        high=PAP_UP_IN[1],
        label="PAP up",
        unit="in",
        help_text="Minus when it is below the midline.",
    )

    class Meta:
        model = DrillPlan
        fields = (
            "spec",
            *LABEL_FIELDS,
            "pap_over_in",
            "pap_up_in",
            "layout_notation",
            "finish",
            "reason",
            "notes",
        )
        labels: ClassVar[dict[str, str]] = {
            "reason": "Why not as advised, or not within the rules",
            "notes": "For the press",
        }
        help_texts: ClassVar[dict[str, str]] = {
            "reason": "Kept beside the advice. Needed before signing where it differs."
        }
        widgets: ClassVar[dict[str, Any]] = {
            "layout_notation": forms.RadioSelect,
            "notes": forms.Textarea({"rows": 2}),
        }

    def __init__(self, *args: Any, spec: BallSpec, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_weights(self, spec)
        self.fields.update(layout_form_fields())
        plan = self.instance
        if plan.pk is not None:
            self.initial.update(layout_initial(plan.layout_notation, plan.layout_numbers))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if notation := cleaned.get("layout_notation"):
            self.instance.layout_numbers = chosen_numbers(self, notation)
        return cleaned

    def notations(self) -> list[tuple[str, str, list[forms.BoundField]]]:
        """Each notation with its words and fields, in order, for the page."""
        return [
            (notation.value, notation.label, [self[f"{notation.value}_{n}"] for n in numbers])
            for notation, numbers in ((n, LAYOUT_FIELDS[n]) for n in LayoutNotation)
        ]


class PlannedHoleForm(GripHoleForm):
    class Meta:
        model = PlannedHole
        fields = HOLE_FIELDS

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        found = self.net_density()
        self.instance.density_g_cm3 = engine.net_density() if found is None else found
        return cleaned


class BasePlannedHoles(BaseHoleFormSet):
    """The gripping holes of a plan, at most one of a kind."""

    whose = "plan"


PlannedHoles: type[BasePlannedHoles] = inlineformset_factory(  # type: ignore[assignment]
    DrillPlan,
    PlannedHole,
    form=PlannedHoleForm,
    formset=BasePlannedHoles,
    extra=0,
    max_num=3,
    validate_max=True,
)


class GateForm(RecordForm):
    """What is asked before a ball is drilled again."""

    age_years = MeasureField(
        low=AGE_YEARS[0], high=AGE_YEARS[1], label="Age of the ball", unit="years"
    )
    cure_hours = MeasureField(
        low=CURE_HOURS[0], high=CURE_HOURS[1], label="Hours the plug has to cure", required=False,
        help_text="As the plug’s maker says, at the shop’s temperature.",
    )  # fmt: skip

    class Meta:
        model = RedrillGate
        fields = (
            "cracks",
            "age_years",
            "plugged_at",
            "cure_hours",
            "warranty_told",
            "customer_signed",
            "signed_on",
        )
        labels: ClassVar[dict[str, str]] = {
            "cracks": "Cracks, looked for by light and by hand, in every hole too",
            "plugged_at": "Plugs poured at",
            "warranty_told": "The customer was told: drilling it again voids the maker’s warranty",
            "customer_signed": "Customer’s signature: the name signed with",
            "signed_on": "Signed on",
        }
        widgets: ClassVar[dict[str, Any]] = {
            "cracks": forms.RadioSelect,
            "plugged_at": forms.DateTimeInput(
                attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"
            ),
            "signed_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cracks = cast(forms.ChoiceField, self.fields["cracks"])
        cracks.choices = list(RedrillGate.Cracks.choices)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        poured, signed_on = cleaned.get("plugged_at"), cleaned.get("signed_on")
        if poured and poured > timezone.now():
            self.add_error("plugged_at", "Plugs poured at can’t lie ahead: give when it was.")
        if poured and cleaned.get("cure_hours") is None and "cure_hours" not in self.errors:
            self.add_error("cure_hours", "Say how many hours this plug has to cure.")
        if cleaned.get("customer_signed") and signed_on is None:
            self.add_error("signed_on", "Say on which day the customer signed.")
        if signed_on and signed_on > timezone.localdate():
            self.add_error("signed_on", "Signed on can’t lie ahead: give the day it was.")
        return cleaned


class DrilledForm(RecordForm):
    """What differed from the plan, once the ball is drilled."""

    finish = forms.ChoiceField(label="Finish it has now", choices=Finish.choices)

    class Meta:
        model = DrillPlan
        fields = ("differed",)
        labels: ClassVar[dict[str, str]] = {"differed": "What differed from the plan, and why"}
        help_texts: ClassVar[dict[str, str]] = {"differed": "Empty when nothing did."}
        widgets: ClassVar[dict[str, Any]] = {"differed": forms.Textarea({"rows": 2})}


class WeighedForm(RecordForm):
    """Static balances as weighed after drilling."""

    measured_top_oz = MeasureField(
        low=STATIC_OZ[0], high=STATIC_OZ[1], label="Top weight", unit="oz",
        help_text="Minus for bottom weight.",
    )  # fmt: skip
    measured_side_oz = MeasureField(
        low=STATIC_OZ[0], high=STATIC_OZ[1], label="PAP side weight", unit="oz",
        help_text="Minus when the other side is the heavier.",
    )  # fmt: skip
    measured_finger_oz = MeasureField(
        low=STATIC_OZ[0], high=STATIC_OZ[1], label="Finger weight", unit="oz",
        help_text="Minus for thumb weight.",
    )  # fmt: skip

    class Meta:
        model = DrillPlan
        fields = ("measured_top_oz", "measured_side_oz", "measured_finger_oz")
