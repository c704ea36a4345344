"""Forms of a customer's bag."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar, cast

from django import forms
from django.forms.models import inlineformset_factory

from arsenal.bag.layout_fields import (
    LAYOUT_FIELDS,
    chosen_numbers,
    layout_form_fields,
    layout_initial,
)
from arsenal.bag.models import (
    MOST_GAMES,
    PAP_OVER_IN,
    PAP_UP_IN,
    Hole,
    LayoutNotation,
    OwnedBall,
    Role,
)
from arsenal.bag.starting_grip import HoleNumbers
from arsenal.catalogue.forms import LABEL_FIELDS, LabelFields, label_fault, offer_weights
from arsenal.catalogue.models import BallSpec
from arsenal.fields import MeasureField, WholeField
from arsenal.rows import RowFormSet
from proshop.forms import RecordForm


class OwnedBallForm(LabelFields, RecordForm):
    """A customer's ball, without its holes."""

    pap_over_in = MeasureField(low=PAP_OVER_IN[0], high=PAP_OVER_IN[1], label="PAP over", unit="in")
    pap_up_in = MeasureField(
        low=PAP_UP_IN[0],
        high=PAP_UP_IN[1],
        label="PAP up",
        unit="in",
        help_text="Minus when it is below the midline.",
    )
    games_since_finish = WholeField(
        low=0, high=MOST_GAMES, label="Games since that finish was put on", initial=0
    )
    games_since_oil_drawn = WholeField(
        low=0,
        high=MOST_GAMES,
        label="Games since oil was drawn out",
        required=False,
        help_text="Empty: as many as since the finish.",
    )
    games_since_cleaned = WholeField(
        low=0,
        high=MOST_GAMES,
        label="Games since it was cleaned",
        required=False,
        help_text="With a cleaner, not just a towel. Empty: as many as since the finish.",
    )

    class Meta:
        model = OwnedBall
        fields = (
            "spec",
            "nickname",
            "role",
            "serial",
            *LABEL_FIELDS,
            "pap_over_in",
            "pap_up_in",
            "layout_notation",
            "finish",
            "games_since_finish",
            "games_since_oil_drawn",
            "games_since_cleaned",
            "notes",
        )
        widgets: ClassVar[dict[str, Any]] = {
            "layout_notation": forms.RadioSelect,
            "notes": forms.Textarea({"rows": 2}),
        }

    def __init__(self, *args: Any, spec: BallSpec, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_weights(self, spec)
        self.fields.update(layout_form_fields())
        role = cast(forms.ChoiceField, self.fields["role"])
        role.choices = [("", "Not said"), *Role.choices]
        role.help_text = "What the customer uses it for."
        ball = self.instance
        if ball.pk is None:
            for name in ("games_since_oil_drawn", "games_since_cleaned"):
                self.initial[name] = None
        self.initial.update(layout_initial(ball.layout_notation, ball.layout_numbers))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for name in ("games_since_oil_drawn", "games_since_cleaned"):
            if name in cleaned and cleaned[name] is None:
                cleaned[name] = cleaned.get("games_since_finish")
        if fault := label_fault(cleaned.get("spec"), cleaned):
            self.add_error("label_weight_lb", fault)
        if notation := cleaned.get("layout_notation"):
            self.instance.layout_numbers = chosen_numbers(self, notation)
        return cleaned

    def notations(self) -> list[tuple[str, str, list[forms.BoundField]]]:
        """Each notation with its words and fields, in order, for the page."""
        return [
            (notation.value, notation.label, [self[f"{notation.value}_{n}"] for n in numbers])
            for notation, numbers in ((n, LAYOUT_FIELDS[n]) for n in LayoutNotation)
        ]


class HoleForm(forms.ModelForm):  # type: ignore[type-arg]
    over_in = MeasureField(
        low=-4, high=4, label="Over", unit="in", help_text="Plus toward the PAP."
    )
    up_in = MeasureField(
        low=-5, high=5, label="Up", unit="in", help_text="Plus toward the fingers."
    )
    diameter_in = MeasureField(low=0.5, high=1.75, label="Diameter", unit="in")
    depth_in = MeasureField(low=0.25, high=4.25, label="Depth", unit="in")
    pitch_forward_in = MeasureField(
        low=-1.5, high=1.5, label="Forward pitch", unit="in", help_text="Minus for reverse."
    )
    pitch_lateral_in = MeasureField(
        low=-1.5, high=1.5, label="Sideways pitch", unit="in", help_text="Plus toward the PAP."
    )
    density_g_cm3 = MeasureField(
        low=0.5,
        high=3.8,
        label="Density",
        unit="g/cm³",
        help_text="Of what was drilled out; 1.2 is an estimate.",
    )

    class Meta:
        model = Hole
        fields = (
            "kind",
            "over_in",
            "up_in",
            "diameter_in",
            "depth_in",
            "pitch_forward_in",
            "pitch_lateral_in",
            "density_g_cm3",
        )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, way in (("pitch_forward_in", "forward"), ("pitch_lateral_in", "lateral")):
            self.fields[name].widget.attrs["data-pitch"] = way


class BaseHoleFormSet(RowFormSet):
    """The gripping holes of one ball, at most one of a kind."""

    row_word = "hole"

    def __init__(
        self, *args: Any, starting: Sequence[HoleNumbers] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        # Rows offered to start from count as typed once they are sent: no initial values then.
        if starting and not self.is_bound:
            self.extra = len(starting)
            self.initial_extra = [dict(hole) for hole in starting]

    def clean(self) -> None:
        super().clean()
        seen: set[str] = set()
        for form in self.forms:
            kind = getattr(form, "cleaned_data", {}).get("kind")
            if not kind or form in self.deleted_forms:
                continue
            if kind in seen:
                words = Hole.Kind(kind).label.lower()
                form.add_error("kind", f"This ball has a {words} hole already: keep one of them.")
            seen.add(kind)

    @property
    def kept_forms(self) -> list[Any]:
        """The rows that become holes, in the order they are stored."""
        return [
            form
            for form in self.forms
            if form not in self.deleted_forms and (form.instance.pk or form.has_changed())
        ]


HoleFormSet: type[BaseHoleFormSet] = inlineformset_factory(  # type: ignore[assignment]
    OwnedBall,
    Hole,
    form=HoleForm,
    formset=BaseHoleFormSet,
    extra=0,
    max_num=3,
    validate_max=True,
)
