"""Forms of customers, fittings and deliveries."""

import datetime
import uuid
from typing import Any, ClassVar

from crispy_forms.layout import Div, Field, Layout
from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from bowlers import consent
from bowlers.fields import NumberInput, ReadingField
from bowlers.gear import NOTHING_DERIVED, PLAIN_GEAR, Gear, box_for_reading, ways_text
from bowlers.instruments import BOXES, PART_LABELS, RING, box_for, boxes_of, read_of, shot_of
from bowlers.models import EARLIEST_BIRTH_YEAR, HIGHEST_AVERAGE, Bowler, Delivery, Fitting
from bowlers.phones import PhoneFault, phone_text
from bowlers.readings import BY_NAME, READINGS
from proshop.forms import HiddenNumber, RecordForm, TokenField, bounded, last_change

CONSENT_LABELS = {"agreed_to": "Agreed to", "agreed_on": "Agreed on"}


class BowlerForm(RecordForm):
    """A customer: how they hold the ball, and what they want, in their own words."""

    average = bounded(
        0,
        HIGHEST_AVERAGE,
        "",
        "Average",
        required=False,
        whole=True,
        widget=NumberInput({"inputmode": "numeric"}),
    )
    born = forms.IntegerField(
        label="Year of birth",
        required=False,
        widget=NumberInput({"inputmode": "numeric"}),
        error_messages={"invalid": "Year of birth must be a year, like 1990."},
    )

    class Meta:
        model = Bowler
        fields = (
            "name",
            "phone",
            "hand",
            "thumb",
            "hands",
            "fingers",
            "at_spares",
            "average",
            "born",
            "league",
            "goal",
            "complaint",
            "notes",
            "agreed_to",
            "agreed_on",
        )
        labels: ClassVar[dict[str, str]] = {
            "hand": "Bowls with the",
            "thumb": "Thumb",
            "hands": "Hands on the ball",
            "fingers": "Finger holes",
            "at_spares": "Release at spares, unless a fitting measured it",
            "league": "League they bowl in most",
            "goal": "Goal, in the customer’s words",
            "complaint": "Complaint, in the customer’s words",
            **CONSENT_LABELS,
        }
        help_texts: ClassVar[dict[str, str]] = {
            "agreed_to": "May be left empty. What the customer agreed may be kept and done: "
            "“measurements kept, a call when care is due”.",
        }
        widgets: ClassVar[dict[str, forms.Widget]] = {
            "hand": forms.RadioSelect(),
            "thumb": forms.RadioSelect(),
            "hands": forms.RadioSelect(),
            "fingers": forms.RadioSelect(),
            "at_spares": forms.RadioSelect(),
            "name": forms.TextInput(attrs={"autocomplete": "off"}),
            "phone": forms.TextInput(attrs={"autocomplete": "off", "inputmode": "tel"}),
            "league": forms.TextInput(attrs={"autocomplete": "off"}),
            "goal": forms.Textarea(attrs={"rows": 2}),
            "complaint": forms.Textarea(attrs={"rows": 2}),
            "notes": forms.Textarea(attrs={"rows": 2}),
            "agreed_to": forms.TextInput(attrs={"autocomplete": "off"}),
            "agreed_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }
        error_messages: ClassVar[dict[str, dict[str, str]]] = {
            "name": {"required": "Name is missing: enter what the customer is called."},
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = "bowlers/choice_buttons.html"
        self.fields["at_spares"].required = False
        self.helper.layout = Layout(
            "name",
            "phone",
            *(
                Field(name, template=choices)
                for name in ("hand", "thumb", "hands", "fingers", "at_spares")
            ),
            Div("average", "born", css_class="form-pair"),
            "league",
            "goal",
            "complaint",
            "notes",
            "agreed_to",
            "agreed_on",
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        lacking = consent.lacking(cleaned.get("agreed_to", ""), cleaned.get("agreed_on"))
        if lacking and not self.errors.keys() & {"agreed_to", "agreed_on"}:
            name, why = lacking
            self.add_error(name, f"{CONSENT_LABELS[name]} {why}")
        return cleaned

    def clean_agreed_to(self) -> str:
        return " ".join(self.cleaned_data["agreed_to"].split())

    def clean_at_spares(self) -> str:
        return str(self.cleaned_data["at_spares"] or self.instance.at_spares)

    def clean_name(self) -> str:
        return " ".join(self.cleaned_data["name"].split())

    def clean_league(self) -> str:
        return " ".join(self.cleaned_data["league"].split())

    def clean_phone(self) -> str:
        text: str = self.cleaned_data["phone"].strip()
        try:
            return phone_text(text) if text else ""
        except PhoneFault as fault:
            raise ValidationError(f"Phone {fault}") from fault

    def clean_born(self) -> int | None:
        born: int | None = self.cleaned_data["born"]
        this_year = timezone.localdate().year
        if born is not None and not EARLIEST_BIRTH_YEAR <= born <= this_year:
            raise ValidationError(
                f"Year of birth must be between {EARLIEST_BIRTH_YEAR} and {this_year}."
            )
        return born


class FittingForm(RecordForm):
    """The day of a fitting, which release is measured, and notes on it."""

    class Meta:
        model = Fitting
        fields = ("fitted_on", "purpose", "release_note", "method", "notes")
        labels: ClassVar[dict[str, str]] = {
            "fitted_on": "Date",
            "purpose": "Measured is the",
            "release_note": "What another release is for",
            "method": "Measured from",
        }
        widgets: ClassVar[dict[str, forms.Widget]] = {
            "method": forms.RadioSelect(),
            "purpose": forms.RadioSelect(),
            "fitted_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        buttons = "bowlers/choice_buttons.html"
        ways = [Field(name, template=buttons) for name in ("method", "purpose")]
        ways.append(Field("release_note", placeholder="more rotation on heavy oil"))
        if self.instance.pk is not None and self.instance.deliveries.exists():
            # What was read stays what it was read from.
            del self.fields["method"]
            ways = ways[1:]
        else:
            self.fields["method"].required = False
        self.helper.layout = Layout("fitted_on", *ways, "notes")
        # Not said: what it was, and the usual release in a new one.
        self.fields["purpose"].required = False

    def clean_purpose(self) -> str:
        return str(self.cleaned_data["purpose"] or self.instance.purpose)

    def clean(self) -> dict[str, Any]:
        """What another release is for belongs to another release alone."""
        cleaned = super().clean()
        note = " ".join(cleaned.get("release_note", "").split())
        other = cleaned.get("purpose") == Fitting.Purpose.OTHER
        cleaned["release_note"] = note if other else ""
        return cleaned

    def clean_method(self) -> str:
        return str(self.cleaned_data["method"] or self.instance.method)

    def clean_fitted_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["fitted_on"]
        if day > timezone.localdate():
            raise ValidationError("Date is in the future: enter the day the customer was measured.")
        if day.year < EARLIEST_BIRTH_YEAR:
            raise ValidationError(f"Date must be in {EARLIEST_BIRTH_YEAR} or later.")
        return day


class DeliveryForm(forms.Form):
    """One row of the fitting: what was read on one throw. Any reading may be left for later.

    ``row_key`` names the row before it is stored, so the same row sent twice is one delivery;
    ``record_version`` is what the row held when the page was made; ``ways`` the instruments it was
    shown with, as they may have been chosen anew meanwhile.
    """

    row_key = TokenField(required=False)
    record_version = HiddenNumber(required=False)
    ways = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        data: Any = None,
        *,
        delivery: Delivery | None = None,
        carried: dict[str, float] | None = None,
        initial: dict[str, Any] | None = None,
        gear: Gear = PLAIN_GEAR,
    ) -> None:
        self.delivery = delivery
        self.carried = carried or {}
        self.gear = gear
        self.derived = NOTHING_DERIVED
        self.choice = gear.choice_for(delivery, data.get("ways", "") if data is not None else "")
        self.boxes = boxes_of(self.choice)
        self.key = uuid.uuid4()
        start: dict[str, Any] = {**self.carried}
        if delivery is not None:
            self.key = delivery.row_key
            read = {**delivery.readings, **read_of(delivery.raw)}
            start = {**read, "record_version": delivery.version}
        start |= initial or {}
        if data is not None or "row_key" in start:
            self.key = _key_of((data if data is not None else start).get("row_key"), self.key)
        start |= {"row_key": self.key, "ways": ways_text(self.choice)}
        super().__init__(data, initial=start, auto_id=f"id_{self.key}_%s")
        self.fields["record_version"].widget.attrs["id"] = f"version-{self.key}"
        for box in self.boxes:
            field = ReadingField(reading=box)
            field.widget.attrs |= {"aria-describedby": f"note-{self.key} derived-{self.key}"}
            self.fields[box.name] = field

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self.derived = self.gear.derive(self.raw, self._typed)
        for part, refused in self.derived.refused.items():
            name = box_for(refused.field)
            where = name if name in self.fields else None
            label = BOXES[name].label if where else PART_LABELS[part]
            self.add_error(where, f"{label} must be {refused.allowed}.")
        for name, value in self.derived.values.items():
            reading = BY_NAME[name]
            if not reading.low <= value <= reading.high:
                box = box_for_reading(self.choice, name)
                found = f"{reading.label} comes out at {reading.text(value)}"
                self.add_error(
                    box if box in self.fields else None,
                    f"{found}. {reading.range_text} Read it again.",
                )
        return cleaned

    @property
    def _read(self) -> dict[str, float | None]:
        return {box.name: self.cleaned_data.get(box.name) for box in self.boxes}

    @property
    def _typed(self) -> dict[str, float]:
        """Readings entered as they are."""
        read = self._read
        return {n: v for n in BY_NAME if (v := read.get(n)) is not None}

    @property
    def raw(self) -> dict[str, Any]:
        """What the instruments showed; the points of a ring are entered elsewhere, and kept."""
        kept = self.delivery.raw if self.delivery is not None else {}
        ring = {RING: kept[RING]} if RING in kept else {}
        return shot_of(self.choice, self._read) | ring

    @property
    def is_plain(self) -> bool:
        """Everything is typed as a number: nothing is worked out."""
        return all(box.name in BY_NAME for box in self.boxes) and not self.choice

    @property
    def reading_fields(self) -> list[forms.BoundField]:
        return [self[box.name] for box in self.boxes]

    @property
    def readings(self) -> dict[str, float | None]:
        """The six readings, typed or worked out; None is not taken."""
        worked_out = {
            name: round(value, BY_NAME[name].decimals)
            for name, value in self.derived.values.items()
        }
        return {name: (self._typed | worked_out).get(name) for name in BY_NAME}

    @property
    def derived_words(self) -> list[str]:
        """What the raw readings lead to, with standard errors."""
        if not self.is_bound:
            return self.delivery.derived_words if self.delivery is not None else []
        return self.derived.words()

    @property
    def is_untouched(self) -> bool:
        """Nothing was read yet: the row is empty but for a PAP carried from the row before."""
        return self.delivery is None and all(
            value is None or value == self.carried.get(name) for name, value in self._read.items()
        )

    def problems(self) -> list[str]:
        """Every message of the row, in the order of its fields."""
        return [str(message) for messages in self.errors.values() for message in messages]

    def refuse_untouched(self) -> None:
        self.add_error(None, "Nothing read yet: enter at least one reading of this delivery.")

    def refuse_stale(self, stored: Delivery) -> None:
        """Say what is stored now, and let the same values be sent again on purpose."""
        who, when = last_change(stored)
        now = ", ".join(
            reading.text(value)
            for reading in READINGS
            if (value := getattr(stored, reading.name)) is not None
        )
        self.data = {**self.data.dict(), "record_version": stored.version}  # type: ignore[attr-defined]
        self.add_error(
            None,
            f"{who} changed this delivery {when}, after you opened it: it is now "
            f"{now or 'empty'}. What you typed is still here; save again to replace it.",
        )

    def focus(self, name: str = "") -> None:
        """The cursor in a box, the first unless another is named."""
        names = [box.name for box in self.boxes]
        self.fields[name if name in names else names[0]].widget.attrs["autofocus"] = True

    def focus_first_problem(self) -> None:
        wrong = [box.name for box in self.boxes if box.name in self.errors]
        self.focus(wrong[0] if wrong else "")


def _key_of(text: Any, otherwise: uuid.UUID) -> uuid.UUID:
    try:
        return uuid.UUID(str(text))
    except ValueError:
        return otherwise
