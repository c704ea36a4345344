"""Forms of the catalogue and the shelf."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, ClassVar, cast

from django import forms
from django.core.exceptions import ValidationError
from django.forms.models import inlineformset_factory

from arsenal.catalogue.models import (
    DIFFERENTIAL_HIGHEST_IN,
    HEAVIEST_LB,
    LIGHTEST_LB,
    OFF_LINE_IN,
    OUNCES_BELOW_A_POUND,
    PIN_TO_CG_HIGHEST_IN,
    PIN_TO_PSA_IN,
    RG_HIGHEST_IN,
    RG_LOWEST_IN,
    TOP_WEIGHT_HIGHEST_OZ,
    BallModel,
    BallSpec,
    StockBall,
)
from arsenal.fields import DecimalMeasureField, MeasureField, MoneyField, WholeField, plain
from arsenal.rows import RowFormSet
from proshop.forms import RecordForm

MOST_MONEY = 999_999.0
# A ball sold as 15 lb weighs 15 lb and some ounces; some are a little under.
LABEL_TOLERANCE_LB = 1.0


def price_field(label: str = "Price") -> MoneyField:
    return MoneyField(low=0, high=MOST_MONEY, label=label)


def weight_field() -> WholeField:
    return WholeField(low=LIGHTEST_LB, high=HEAVIEST_LB, label="Weight", unit="lb")


class BallModelForm(RecordForm):
    rows_of: ClassVar[Mapping[str, str]] = {"specs": "Figures"}

    price = price_field()
    lead_days = WholeField(low=0, high=365, label="Days until it arrives", initial=7)

    class Meta:
        model = BallModel
        fields = (
            "name",
            "cover",
            "factory_finish",
            "price",
            "lead_days",
            "orderable",
            "discontinued",
            "notes",
        )
        widgets: ClassVar[dict[str, Any]] = {"notes": forms.Textarea({"rows": 2})}

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        twins = BallModel.objects.for_shop(self.instance.shop).filter(name=name)
        if twins.exclude(pk=self.instance.pk).exists():
            raise ValidationError(
                f"“{name}” is in the catalogue already: change that entry, or give this one "
                "another name."
            )
        return name


class BallSpecForm(forms.ModelForm):  # type: ignore[type-arg]
    weight_lb = weight_field()
    rg_low_in = MeasureField(low=RG_LOWEST_IN, high=RG_HIGHEST_IN, label="Low RG", unit="in")
    differential_in = MeasureField(
        low=0, high=DIFFERENTIAL_HIGHEST_IN, label="Differential", unit="in"
    )
    intermediate_differential_in = MeasureField(
        low=0,
        high=DIFFERENTIAL_HIGHEST_IN,
        label="Intermediate differential",
        unit="in",
        help_text="0 for a symmetric ball",
    )

    class Meta:
        model = BallSpec
        fields = ("weight_lb", "rg_low_in", "differential_in", "intermediate_differential_in")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        total = cleaned.get("differential_in")
        intermediate = cleaned.get("intermediate_differential_in")
        if total is not None and intermediate is not None and intermediate > total:
            self.add_error(
                "intermediate_differential_in",
                f"Intermediate differential can’t exceed the differential, {plain(total)} in. "
                "Check whether the two are swapped.",
            )
        return cleaned

    def clean_weight_lb(self) -> int:
        weight: int = self.cleaned_data["weight_lb"]
        if self.instance.pk and weight != self.initial.get("weight_lb") and is_used(self.instance):
            raise ValidationError(
                f"Balls of {self.initial['weight_lb']} lb are on the shelf or in bags: leave this "
                f"row and add one for {weight} lb."
            )
        return weight


def is_used(spec: BallSpec) -> bool:
    return spec.stock.exists() or spec.owned.exists()


class BallSpecFormSet(RowFormSet):
    """The figures of one model, one row a weight."""

    row_word = "weight"
    key = "weight_lb"

    def repeated(self, value: Any) -> str:
        return f"{value} lb has a row already: keep one of them."

    def way_clear(self, place: int) -> int:
        return 1000 + place

    def clean(self) -> None:
        super().clean()
        for form in self.deleted_forms:
            self._refuse_removing_used(form)

    def _refuse_removing_used(self, form: Any) -> None:
        if form.instance.pk and is_used(form.instance):
            raise ValidationError(
                f"Balls of {form.instance.weight_lb} lb are on the shelf or in bags, so that row "
                "can’t be removed."
            )


SpecFormSet: type[BallSpecFormSet] = inlineformset_factory(  # type: ignore[assignment]
    BallModel,
    BallSpec,
    form=BallSpecForm,
    formset=BallSpecFormSet,
    extra=0,
    min_num=1,
    validate_min=True,
    max_num=HEAVIEST_LB - LIGHTEST_LB + 1,
    validate_max=True,
)


class LabelFields(forms.Form):
    """What the label of one actual ball says, for a form whose record is a labelled ball."""

    label_weight_lb = WholeField(low=LIGHTEST_LB, high=HEAVIEST_LB, label="Label weight", unit="lb")
    label_weight_oz = DecimalMeasureField(
        low=0,
        high=float(OUNCES_BELOW_A_POUND),
        label="Label ounces",
        unit="oz",
        initial=0,
    )
    top_weight_oz = MeasureField(low=0, high=TOP_WEIGHT_HIGHEST_OZ, label="Top weight", unit="oz")
    pin_to_cg_in = MeasureField(low=0, high=PIN_TO_CG_HIGHEST_IN, label="Pin to CG", unit="in")
    cg_off_line_in = MeasureField(
        low=-OFF_LINE_IN,
        high=OFF_LINE_IN,
        label="CG off the pin–PSA line",
        unit="in",
        required=False,
        help_text="Looking from the pin to the PSA: plus to your right, minus to your left. Empty: "
        "on it.",
    )
    pin_to_psa_in = MeasureField(
        low=PIN_TO_PSA_IN[0],
        high=PIN_TO_PSA_IN[1],
        label="Pin to PSA mark",
        unit="in",
        required=False,
        help_text="Where it has a mark. True axes are 6 3/4 in apart; marks may be off by 1 1/2.",
    )
    serial = forms.CharField(
        label="Serial number",
        max_length=40,
        required=False,
        help_text="Whole, as it is engraved.",
    )
    approval_note = forms.CharField(
        label="Approval",
        max_length=200,
        required=False,
        help_text="On which body’s list, and when that was looked up.",
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if fault := label_fault(cleaned.get("spec"), cleaned):
            self.add_error("label_weight_lb", fault)
        if fault := off_line_fault(cleaned):
            self.add_error("cg_off_line_in", fault)
        if "cg_off_line_in" not in self.errors:
            cleaned["cg_off_line_in"] = cleaned.get("cg_off_line_in") or 0.0
        return cleaned


LABEL_FIELDS = tuple(LabelFields.base_fields)


def off_line_fault(cleaned: Mapping[str, Any]) -> str | None:
    """What is wrong with how far a CG lies off the line, in a sentence."""
    off, away = cleaned.get("cg_off_line_in"), cleaned.get("pin_to_cg_in")
    if off is None or away is None or abs(off) <= away:
        return None
    return (
        f"The CG can’t lie farther off the line than from the pin, {plain(away)} in: measure both "
        "from the same CG mark."
    )


def label_fault(spec: BallSpec | None, cleaned: dict[str, Any]) -> str | None:
    """What is wrong with a label for a ball of this weight, in a sentence."""
    pounds, ounces = cleaned.get("label_weight_lb"), cleaned.get("label_weight_oz")
    if spec is None or pounds is None or ounces is None:
        return None
    if abs(pounds + float(ounces) / 16 - spec.weight_lb) <= LABEL_TOLERANCE_LB:
        return None
    return (
        f"The label reads {pounds} lb {plain(ounces)} oz but the ball chosen is "
        f"{spec.weight_lb} lb: check the label, or choose the other weight."
    )


class StockBallForm(LabelFields, RecordForm):
    """A ball on the shelf; the weights offered are those of one model."""

    price = price_field()

    class Meta:
        model = StockBall
        fields = ("spec", *LABEL_FIELDS, "price")

    def __init__(self, *args: Any, spec: BallSpec, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_weights(self, spec)


def offer_weights(form: forms.ModelForm, spec: BallSpec) -> None:  # type: ignore[type-arg]
    """Let the weight be chosen among those of the spec's model."""
    field = cast("forms.ModelChoiceField[BallSpec]", form.fields["spec"])
    field.queryset = BallSpec.objects.filter(model=spec.model_id).with_model()
    field.label = "Ball"
    field.empty_label = None
    field.initial = spec.pk
    # Looked up once: a widget that is asked whether it is required asks for its choices again, as
    # does a list for their number.
    field.widget.choices = list(iter(cast("Iterable[Any]", field.choices)))


def starting_label(spec: BallSpec) -> dict[str, Any]:
    """What a label of this weight most likely says; typed over when it says otherwise."""
    return {"spec": spec.pk, "label_weight_lb": spec.weight_lb, "label_weight_oz": 0}
