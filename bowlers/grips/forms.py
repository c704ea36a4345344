"""The form of a grip: numbers in fractions, pitches as a size and a direction in words."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from bowlers.engine_grip import holes_of_grip
from bowlers.grips.measures import (
    BEVELS,
    BRIDGE,
    BY_NAME,
    DIGITS,
    HOLE_WORDS,
    MEASURES,
    OF_THE_THUMB,
    OVAL,
    PALM,
    SPANS,
    TAPE,
    Measure,
)
from bowlers.grips.models import Grip, Hurt
from bowlers.grips.words import PALM_WORDS, SIDE_WORDS, signed, way_of
from bowlers.holding import Thumb
from bowlers.measures import MeasureField, WholeField, inches
from physics.errors import InputError
from proshop.forms import RecordForm

REQUIRED = {
    *(span.name for span in SPANS),
    BRIDGE.name,
    *(f"{kind}_{what}_in" for kind in ("middle", "ring") for what in ("hole", "depth")),
}
PAIRED = [measure for measure in MEASURES if measure.way]
PLAIN = [measure for measure in MEASURES if not measure.way]
TO_CHANGE = "to_change"
STOPPED = (
    "This grip hurts, so it isn’t copied as it is: say here what the new one changes, and change "
    "it above."
)


class GripForm(RecordForm):
    """A grip; ``copied`` are the numbers it was filled with from a ball or an earlier grip."""

    hurts_at = forms.MultipleChoiceField(
        label="Where does it hurt?",
        choices=Hurt.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = Grip
        fields = (
            "measured_on",
            "thumb",
            "fingers",
            "span_edge",
            *(measure.name for measure in PLAIN),
            "flexibility",
            "webbing",
            "hurts_words",
            TO_CHANGE,
            "notes",
        )
        labels: ClassVar[dict[str, str]] = {
            "measured_on": "Date",
            "fingers": "Finger holes",
            "flexibility": "The thumb bends back",
            "webbing": "Webbing between thumb and first finger",
            "hurts_words": "What hurts, in the customer’s words",
            TO_CHANGE: "What this grip changes because of it",
        }
        widgets: ClassVar[dict[str, forms.Widget]] = {
            "measured_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "thumb": forms.RadioSelect(),
            "fingers": forms.RadioSelect(),
            "span_edge": forms.RadioSelect(),
            "flexibility": forms.RadioSelect(),
            "webbing": forms.RadioSelect(),
            "hurts_words": forms.Textarea(attrs={"rows": 2}),
            TO_CHANGE: forms.Textarea(attrs={"rows": 2}),
            "notes": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(
        self,
        *args: Any,
        hand: str,
        copied: Mapping[str, Any] | None = None,
        initial: Mapping[str, Any] | None = None,
        **kwargs: Any,
    ) -> None:
        self.hand, self.copied = hand, copied
        super().__init__(*args, initial=dict(initial or {}), **kwargs)
        for measure in PLAIN:
            self.fields[measure.name] = _field(measure)
        for measure in PAIRED:
            self.fields[measure.size_name] = _field(measure)
            words = PALM_WORDS if measure.way == PALM else SIDE_WORDS
            self.fields[measure.way_name] = forms.ChoiceField(
                label=f"{measure.label}, which way",
                required=False,
                choices=list(words.items()),
                widget=forms.RadioSelect,
                error_messages={
                    "invalid_choice": f"{measure.label}: say {' or '.join(words.values())}."
                },
            )
            self._fill(measure)
        for name in ("flexibility", "webbing"):
            field = self.fields[name]
            field.choices = [("", "Not said"), *list(field.choices)[1:]]  # type: ignore[attr-defined]
        stored = self.initial.get("hurts", self.instance.hurts)
        self.initial["hurts_at"] = [place for place in stored.split(", ") if place]
        self.fields["measured_on"].error_messages["invalid"] = "Date must be a day, 2026-05-03."

    def _fill(self, measure: Measure) -> None:
        """Size and direction of a stored number."""
        value = self.initial.get(measure.name, getattr(self.instance, measure.name))
        self.initial[measure.size_name] = abs(value or 0.0)
        self.initial[measure.way_name] = way_of(measure, value or 0.0, self.hand)

    def clean_measured_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["measured_on"]
        if day > timezone.localdate():
            raise ValidationError("Date is in the future: enter the day the hand was measured.")
        if day.year < 1900:
            raise ValidationError("Date must be in 1900 or later.")
        return day

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        self.instance.hurts = ", ".join(cleaned.get("hurts_at", []))
        for measure in PAIRED:
            self._read_pair(measure, cleaned)
        if cleaned.get("thumb") == Thumb.NONE:
            self._forget_thumb(cleaned)
        else:
            self._check_thumb(cleaned)
        for kind in DIGITS:
            hole, inside = (cleaned.get(f"{kind}_{what}_in") for what in ("hole", "inside"))
            if hole is not None and inside is not None and inside >= hole:
                self.add_error(
                    f"{kind}_inside_in",
                    f"{BY_NAME[f'{kind}_inside_in'].label} must be smaller than the hole it sits "
                    "in: swap the two, or leave it empty.",
                )
        self._stop_if_painful(cleaned)
        return cleaned

    def _post_clean(self) -> None:
        """What can't be drilled is refused beside its field."""
        super()._post_clean()  # type: ignore[misc]
        if self.errors:
            return
        try:
            holes_of_grip(self.instance)
        except InputError as error:
            name = error.field if error.field in self.fields else None
            label = BY_NAME[error.field].label if error.field in BY_NAME else "The grip"
            self.add_error(name, f"{label} must be {error.allowed}.")

    def _read_pair(self, measure: Measure, cleaned: Mapping[str, Any]) -> None:
        size, way = cleaned.get(measure.size_name), cleaned.get(measure.way_name, "")
        if size and not way and measure.way_name not in self.errors:
            words = PALM_WORDS if measure.way == PALM else SIDE_WORDS
            self.add_error(
                measure.size_name, f"{measure.label}: say {' or '.join(words.values())}."
            )
        value = signed(measure, size or 0.0, way, self.hand)
        setattr(self.instance, measure.name, value or 0.0)

    def _forget_thumb(self, cleaned: dict[str, Any]) -> None:
        """Without a thumb nothing of the thumb is kept, and nothing of it can be wrong."""
        for name in OF_THE_THUMB:
            measure = BY_NAME[name]
            for form_name in (name, measure.size_name, measure.way_name):
                self.errors.pop(form_name, None)
            if measure.way:
                setattr(self.instance, name, 0.0)
            else:
                cleaned[name] = None

    def _check_thumb(self, cleaned: Mapping[str, Any]) -> None:
        hole, depth = cleaned.get("thumb_hole_in"), cleaned.get("thumb_depth_in")
        wide, deep = cleaned.get("oval_width_in"), cleaned.get("oval_depth_in")
        if depth is None and "thumb_depth_in" not in self.errors:
            self.add_error(
                "thumb_depth_in", self.fields["thumb_depth_in"].error_messages["required"]
            )
        if (wide is None) != (deep is None):
            missing = "oval_depth_in" if deep is None else "oval_width_in"
            if missing not in self.errors:
                self.add_error(missing, "An oval needs both its width and its depth.")
        elif wide is not None and deep is not None:
            if wide < deep:
                self.add_error("oval_width_in", "Oval, width is the longer of the two: swap them.")
            if hole is not None and wide > hole:
                self.add_error(
                    "oval_width_in",
                    "Oval, width must fit the hole drilled in the ball; leave that hole empty "
                    "when the oval is cut in the ball itself.",
                )
            if cleaned.get("thumb_inside_in") is not None:
                self.add_error("thumb_inside_in", "The oval says what is inside: leave this empty.")
        elif hole is None and "thumb_hole_in" not in self.errors:
            self.add_error("thumb_hole_in", self.fields["thumb_hole_in"].error_messages["required"])

    def _stop_if_painful(self, cleaned: Mapping[str, Any]) -> None:
        """A copy of a grip that hurts stops here until something is changed."""
        painful = self.instance.hurts or str(cleaned.get("hurts_words", "")).strip()
        if self.copied is None or not painful or self.errors:
            return
        if not str(cleaned.get(TO_CHANGE, "")).strip():
            self.add_error(TO_CHANGE, STOPPED)
        elif not self._differs(cleaned):
            self.add_error(
                None,
                "Every number is still that of the grip that hurts: change what you said you "
                "would, or untick what hurts if it is gone.",
            )

    def _differs(self, cleaned: Mapping[str, Any]) -> bool:
        """Whether any measure is another than the one copied."""
        for measure in MEASURES:
            now = getattr(self.instance, measure.name) if measure.way else cleaned.get(measure.name)
            then = (self.copied or {}).get(measure.name)
            if abs((now or 0.0) - (then or 0.0)) > 1e-4:
                return True
        return False

    # What the page shows, in its order.

    def measures(self, measures: tuple[Measure, ...]) -> list[dict[str, Any]]:
        """Each measure with its bound fields: one, or a size and a way."""
        return [self._shown(measure) for measure in measures]

    def _shown(self, measure: Measure) -> dict[str, Any]:
        size = self[measure.size_name if measure.way else measure.name]
        value = size.value()
        stored = self.initial.get(size.name)
        # Numbers as a ruler has them; what was typed stays as it was typed.
        if not self.is_bound and stored is not None and measure.unit == "in":
            value = inches(stored).replace("\N{NO-BREAK SPACE}", " ")
        return {
            "size": size,
            "way": self[measure.way_name] if measure.way else None,
            "shown": "" if value is None else value,
        }

    @property
    def spans(self) -> list[dict[str, Any]]:
        return self.measures((*SPANS, BRIDGE))

    @property
    def digits(self) -> Iterator[tuple[str, str, list[dict[str, Any]]]]:
        for kind, word in HOLE_WORDS.items():
            more = (*OVAL, BEVELS[1], *TAPE) if kind == "thumb" else ()
            yield kind, word, self.measures((*DIGITS[kind], *more))

    @property
    def bevel(self) -> list[dict[str, Any]]:
        return self.measures(BEVELS[:1])


def _field(measure: Measure) -> MeasureField:
    """A form's field of one measure; of a size with a direction the size alone."""
    kind = WholeField if measure.unit == "pieces" else MeasureField
    label = measure.label
    for word in HOLE_WORDS.values():
        label = label.removeprefix(f"{word}, ")
    field = kind(
        low=0.0 if measure.way else measure.low,
        high=measure.high,
        label=measure.label,
        unit=measure.unit,
        required=measure.name in REQUIRED,
        help_text=measure.help_text,
    )
    short = label[:1].upper() + label[1:]
    field.label = f"{short} ({measure.unit})"
    return field
