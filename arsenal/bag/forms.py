"""Forms of a customer's bag."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, cast

from django import forms
from django.forms.models import inlineformset_factory

from arsenal import engine
from arsenal.bag.layout_fields import (
    LAYOUT_FIELDS,
    chosen_numbers,
    layout_form_fields,
    layout_initial,
)
from arsenal.bag.models import (
    MOST_GAMES,
    OFF_LINE_IN,
    PAP_OVER_IN,
    PAP_UP_IN,
    PIN_TO_PSA_IN,
    Hole,
    LayoutNotation,
    OwnedBall,
    Role,
)
from arsenal.catalogue.forms import LABEL_FIELDS, LabelFields, label_fault, offer_weights
from arsenal.catalogue.models import BallSpec
from arsenal.fields import MeasureField, WholeField, plain
from arsenal.rows import RowFormSet
from bowlers.fields import read_number
from proshop.forms import RecordForm

# The widest legal ball.
BALL_IN = 8.595


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
    cg_off_line_in = MeasureField(
        low=-OFF_LINE_IN,
        high=OFF_LINE_IN,
        label="CG off the pin–PSA line",
        unit="in",
        initial=0,
        help_text="Looking from the pin to the PSA: plus to your right, minus to your left.",
    )
    pin_to_psa_in = MeasureField(
        low=PIN_TO_PSA_IN[0],
        high=PIN_TO_PSA_IN[1],
        label="Pin to PSA mark",
        unit="in",
        required=False,
        help_text="Where it has a mark. True axes are 6 3/4 in apart; marks may be off by 1 1/2.",
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
            "approval_note",
            "bought_elsewhere",
            *LABEL_FIELDS,
            "cg_off_line_in",
            "pin_to_psa_in",
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
        self.fields["serial"].help_text = "Whole, as it is engraved."
        self.fields[
            "approval_note"
        ].help_text = "On which body’s list, and when that was looked up."
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
        off, away = cleaned.get("cg_off_line_in"), cleaned.get("pin_to_cg_in")
        if off is not None and away is not None and abs(off) > away:
            self.add_error(
                "cg_off_line_in",
                f"The CG can’t lie farther off the line than from the pin, {plain(away)} in: "
                "measure both from the same CG mark.",
            )
        if notation := cleaned.get("layout_notation"):
            self.instance.layout_numbers = chosen_numbers(self, notation)
        return cleaned

    def notations(self) -> list[tuple[str, str, list[forms.BoundField]]]:
        """Each notation with its words and fields, in order, for the page."""
        return [
            (notation.value, notation.label, [self[f"{notation.value}_{n}"] for n in numbers])
            for notation, numbers in ((n, LAYOUT_FIELDS[n]) for n in LayoutNotation)
        ]


class DepthField(MeasureField):
    """A depth; one that no ball has room for is told as such."""

    def to_python(self, value: Any) -> float | None:
        try:
            return super().to_python(value)
        except forms.ValidationError as error:
            depth = read_number(str(value))
            if error.code == "out_of_range" and depth is not None and depth > BALL_IN:
                raise forms.ValidationError(
                    f"A hole {plain(depth)} in deep comes out at the far side: a ball is "
                    f"{plain(BALL_IN)} in across. Measure from the surface to its bottom, in "
                    "inches."
                ) from None
            raise


class HoleForm(forms.ModelForm):  # type: ignore[type-arg]
    over_in = MeasureField(
        low=-4, high=4, label="Over", unit="in", help_text="Plus toward the PAP."
    )
    up_in = MeasureField(
        low=-5, high=5, label="Up", unit="in", help_text="Plus toward the fingers."
    )
    diameter_in = MeasureField(low=0.5, high=1.75, label="Diameter", unit="in")
    longer_in = MeasureField(
        low=0.5,
        high=1.75,
        label="Longer axis",
        unit="in",
        required=False,
        help_text="Of an oval; the diameter is then its shorter one.",
    )
    oval_angle_deg = MeasureField(
        low=-90,
        high=90,
        label="Lean of the oval",
        unit="°",
        required=False,
        help_text="From upright, plus when its upper end leans to the PAP side.",
    )
    depth_in = DepthField(low=0.25, high=4.25, label="Depth", unit="in")
    inside_in = MeasureField(
        low=0.375,
        high=1.5,
        label="Open inside it",
        unit="in",
        required=False,
        help_text="What the insert or slug leaves open.",
    )
    pitch_forward_in = MeasureField(
        low=-1.5, high=1.5, label="Forward pitch", unit="in", help_text="Minus for reverse."
    )
    pitch_lateral_in = MeasureField(
        low=-1.5, high=1.5, label="Sideways pitch", unit="in", help_text="Plus toward the PAP."
    )
    density_g_cm3 = MeasureField(
        low=0,
        high=3.8,
        label="Density",
        unit="g/cm³",
        help_text="Of what is missing; 1.2 is an estimate. Worked out with an insert or slug.",
    )

    class Meta:
        model = Hole
        fields = (
            "kind",
            "over_in",
            "up_in",
            "diameter_in",
            "longer_in",
            "oval_angle_deg",
            "depth_in",
            "pitch_forward_in",
            "pitch_lateral_in",
            "sleeve",
            "inside_in",
            "density_g_cm3",
        )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.ChoiceField, self.fields["sleeve"]).choices = Hole.Sleeve.choices
        if not self.instance.longer_in:
            self.initial.pop("longer_in", None)
            self.initial.pop("oval_angle_deg", None)
        for name, way in (("pitch_forward_in", "forward"), ("pitch_lateral_in", "lateral")):
            self.fields[name].widget.attrs["data-pitch"] = way

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        across, longer = cleaned.get("diameter_in"), cleaned.get("longer_in")
        if across and longer and longer <= across:
            self.add_error(
                "longer_in",
                f"Longer axis must be more than the diameter, {plain(across)} in: an oval’s "
                "diameter is its shorter way across. Leave it empty for a round hole.",
            )
        self._clean_sleeve(cleaned)
        cleaned["longer_in"] = longer or 0.0
        cleaned["oval_angle_deg"] = (cleaned.get("oval_angle_deg") or 0.0) if longer else 0.0
        return cleaned

    def _clean_sleeve(self, cleaned: dict[str, Any]) -> None:
        """What an insert or slug leaves open, and the density of what is missing then."""
        across, inside = cleaned.get("diameter_in"), cleaned.get("inside_in")
        if "inside_in" in self.errors or not across:
            return
        if not cleaned.get("sleeve"):
            if inside is not None:
                self.add_error("sleeve", "Say what is in it: an insert or a slug.")
        elif inside is None:
            self.add_error("inside_in", "Open inside it is missing: how wide the sleeve is open.")
        elif inside >= across:
            self.add_error(
                "inside_in",
                f"Open inside it must be less than the hole, {plain(across)} in, drilled for it.",
            )
        else:
            cleaned["density_g_cm3"] = engine.net_density(across, inside)


class BaseHoleFormSet(RowFormSet):
    """The gripping holes of one ball, or of whatever ``whose`` names, at most one of a kind."""

    row_word = "hole"
    whose = "ball"

    def __init__(
        self, *args: Any, starting: Sequence[Mapping[str, object]] | None = None, **kwargs: Any
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
                form.add_error(
                    "kind", f"This {self.whose} has a {words} hole already: keep one of them."
                )
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
