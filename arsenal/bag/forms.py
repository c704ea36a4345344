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
    PAP_OVER_IN,
    PAP_UP_IN,
    Hole,
    LayoutNotation,
    OwnedBall,
    Role,
)
from arsenal.catalogue.forms import LABEL_FIELDS, LabelFields, offer_weights
from arsenal.catalogue.models import BallSpec
from arsenal.fields import MeasureField, WholeField, plain
from arsenal.rows import RowFormSet
from bowlers.fields import read_number
from proshop.forms import RecordForm

# The widest legal ball.
BALL_IN = 8.595
HOLE_FIELDS = (
    "kind", "over_in", "up_in", "diameter_in", "longer_in", "oval_angle_deg", "depth_in",
    "pitch_forward_in", "pitch_lateral_in", "sleeve", "inside_in",
)  # fmt: skip


class OwnedBallForm(LabelFields, RecordForm):
    """A customer's ball, without its holes."""

    rows_of: ClassVar[Mapping[str, str]] = {"holes": "Holes"}

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
            "bought_elsewhere",
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


class GripHoleForm(forms.ModelForm):  # type: ignore[type-arg]
    """A hole of a ball or of a plan, and what is in it."""

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
        help_text="Of an oval, in the ball or inside a slug; empty where it is round.",
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
        longer = cleaned.get("longer_in")
        self._clean_sleeve(cleaned)
        self._clean_oval(cleaned)
        cleaned["longer_in"] = longer or 0.0
        cleaned["oval_angle_deg"] = (cleaned.get("oval_angle_deg") or 0.0) if longer else 0.0
        return cleaned

    def _clean_sleeve(self, cleaned: dict[str, Any]) -> None:
        """What an insert or slug leaves open."""
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

    def _clean_oval(self, cleaned: dict[str, Any]) -> None:
        """An oval is longer than it is wide, and one inside a slug leaves some of the slug."""
        across, longer = cleaned.get("diameter_in"), cleaned.get("longer_in")
        if not longer or not across:
            return
        if not cleaned.get("sleeve"):
            if longer <= across:
                self.add_error(
                    "longer_in",
                    f"Longer axis must be more than the diameter, {plain(across)} in: an oval’s "
                    "diameter is its shorter way across. Leave it empty for a round hole.",
                )
            return
        inside = cleaned.get("inside_in")
        if inside is not None and longer <= inside:
            self.add_error(
                "longer_in",
                f"Longer axis must be more than what is open inside, {plain(inside)} in: that is "
                "the oval’s shorter way across. Leave it empty where it is round.",
            )
        elif longer >= across:
            self.add_error(
                "longer_in",
                f"Longer axis must be less than the hole, {plain(across)} in, drilled for the "
                "sleeve it is cut in.",
            )

    def net_density(self) -> float | None:
        """Density of what is missing once a sleeve is in; None where there is none."""
        found = self.cleaned_data
        if not found.get("sleeve") or self.errors:
            return None
        return engine.net_density(found["diameter_in"], found["inside_in"], found["longer_in"])


class HoleForm(GripHoleForm):
    """A hole a ball has: what was drilled out may be of a density of its own."""

    density_g_cm3 = MeasureField(
        low=0,
        high=3.8,
        label="Density",
        unit="g/cm³",
        help_text="Of what is missing; 1.2 is an estimate. Worked out with an insert or slug.",
    )

    class Meta:
        model = Hole
        fields = (*HOLE_FIELDS, "density_g_cm3")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if (density := self.net_density()) is not None:
            cleaned["density_g_cm3"] = density
        return cleaned


class BaseHoleFormSet(RowFormSet):
    """The gripping holes of one ball, or of whatever ``whose`` names, at most one of a kind."""

    row_word = "hole"
    key = "kind"
    whose = "ball"

    def __init__(
        self, *args: Any, starting: Sequence[Mapping[str, object]] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        # Rows offered to start from count as typed once they are sent: no initial values then.
        if starting and not self.is_bound:
            self.extra = len(starting)
            self.initial_extra = [dict(hole) for hole in starting]

    def repeated(self, value: Any) -> str:
        words = Hole.Kind(value).label.lower()
        return f"This {self.whose} has a {words} hole already: keep one of them."

    def way_clear(self, place: int) -> str:
        return f"moves {place}"

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
