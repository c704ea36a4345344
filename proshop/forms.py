"""What the shop's forms share: ranges in words, versions, and a token against double sending."""

import uuid
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, ClassVar, Self, cast

from crispy_forms.helper import FormHelper
from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.datastructures import MultiValueDict
from django.utils.formats import date_format
from django.utils.safestring import mark_safe

from . import at_hand, conflict
from .models import Shop, ShopRecord


def with_unit(text: str, unit: str) -> str:
    """A value with its unit: "30 mph" but "90°"."""
    if not unit:
        return text
    return f"{text}{unit}" if unit in {"°", "%"} else f"{text} {unit}"


class _Bounds:
    """Refuses what lies outside the range, in one sentence that names field, range and unit."""

    def __init__(self, lowest: float, highest: float, unit: str, label: str) -> None:
        self.lowest, self.highest, self.unit, self.label = lowest, highest, unit, label

    @property
    def allowed(self) -> str:
        span = f"{self.lowest:g} and {self.highest:g}".replace("-", "\N{MINUS SIGN}")
        return f"between {with_unit(span, self.unit)}"

    def __call__(self, value: float | Decimal) -> None:
        if not self.lowest <= value <= self.highest:
            raise ValidationError(f"{self.label} must be {self.allowed}.", code="range")


def bounded(
    lowest: float,
    highest: float,
    unit: str,
    label: str,
    *,
    required: bool = True,
    places: int | None = None,
    whole: bool = False,
    **options: Any,
) -> forms.Field:
    """A number field with a physical range.

    `places` makes it a DecimalField of so many decimals, `whole` an IntegerField; otherwise it
    is a FloatField. Its one message reads "Speed must be between 5 and 30 mph."
    """
    bounds = _Bounds(lowest, highest, unit, label)
    word = "a whole number" if whole else "a number"
    messages = {
        "invalid": f"{label} must be {word} {bounds.allowed}.",
        "required": f"{label} is missing: enter {word} {bounds.allowed}.",
    }
    shared: dict[str, Any] = {
        "label": f"{label} ({unit})" if unit else label,
        "required": required,
        "validators": [bounds],
        "error_messages": messages,
        "widget": forms.NumberInput(
            attrs={
                "inputmode": "numeric" if whole else "decimal",
                "step": "1" if whole else "any",
                "min": f"{lowest:g}",
                "max": f"{highest:g}",
                "autocomplete": "off",
            }
        ),
        **options,
    }
    if whole:
        return forms.IntegerField(**shared)
    if places is not None:
        return forms.DecimalField(max_digits=12, decimal_places=places, **shared)
    return forms.FloatField(**shared)


class TokenField(forms.UUIDField):
    """The token of a form. A broken one is none, and the form comes back with a fresh one."""

    widget = forms.HiddenInput

    def to_python(self, value: Any) -> Any:
        try:
            return super().to_python(value)
        except ValidationError:
            return None

    def bound_data(self, data: Any, initial: Any) -> Any:
        return data if self.to_python(data) else initial


class HiddenNumber(forms.IntegerField):
    """A number the form brings back, as the version it was opened from. A broken one is none."""

    widget = forms.HiddenInput

    def to_python(self, value: Any) -> int | None:
        try:
            return super().to_python(value)
        except ValidationError:
            return None


class TokenMixin(forms.BaseForm):
    """A hidden token, fresh for each form shown, that `access.once` acts upon one time; and for
    whoever has several shops the one it was shown for (`at_hand`)."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["form_token"] = TokenField(required=False, initial=uuid.uuid4)
        if at_hand.made_for.get() is not None:
            self.fields[at_hand.FIELD] = HiddenNumber(
                required=False, initial=at_hand.made_for.get()
            )
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.render_hidden_fields = True


class TokenForm(TokenMixin, forms.Form):
    """A form that isn't about one record."""


class RecordForm(TokenMixin, forms.ModelForm):  # type: ignore[type-arg]
    """Adds or edits one record of a shop.

    A new record gets `shop`. An edit carries the version it started from; when somebody else has
    saved in between, the form comes back with everything typed, says who and when, shows both
    versions to choose from field by field, and is ready to be sent again on purpose.
    """

    instance: Any
    _made_with: dict[str, Any]
    # Rows edited along with the record, by their related name, and what they are called.
    rows_of: ClassVar[Mapping[str, str]] = {}
    # Left out when the stored and the typed values are compared.
    own_fields: ClassVar[frozenset[str]] = frozenset({"record_version", "form_token", "form_shop"})

    def __new__(cls, *args: Any, **kwargs: Any) -> Self:
        """Remembers what a subclass asks for, so that the same form opens with another version."""
        form = super().__new__(cls)
        of_this_one = ("data", "files", "instance", "initial", "shop")
        form._made_with = {name: kwargs[name] for name in kwargs if name not in of_this_one}
        return form

    def __init__(self, *args: Any, shop: Shop | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if shop is not None and self.instance.pk is None:
            self.instance.shop = shop
        self.fields["record_version"] = HiddenNumber(required=False, initial=self.instance.version)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self.instance.pk is not None:
            self._refuse_stale(cleaned.get("record_version"))
        return cleaned

    def save(self, commit: bool = True) -> Any:
        if not commit or self.instance.pk is None:
            return super().save(commit=commit)
        if self.errors:
            raise ValueError("A form with errors can't be saved.")
        with transaction.atomic():
            self.instance.save_checked(self.cleaned_data["record_version"])
            self._save_m2m()  # type: ignore[attr-defined]
        return self.instance

    def full_clean(self) -> None:
        if self.is_bound and self.instance.pk is not None:
            self.data = conflict.as_chosen(self)
        super().full_clean()

    def values_of(self, record: Any) -> dict[str, Any]:
        """A record's values by the names of the fields, as this form opens with them."""
        opened = type(self)(instance=record, **self._made_with)
        return {name: opened[name].initial for name in opened.fields}

    def _refuse_stale(self, version: int | None) -> None:
        rows = type(self.instance)._default_manager.filter(pk=self.instance.pk)
        if transaction.get_connection().in_atomic_block:
            # Held until the save that follows, so that nobody slips in between.
            rows = rows.select_for_update()
        stored = rows.first()
        if stored is None:
            raise ValidationError("This record has been deleted meanwhile.", code="deleted")
        if version == stored.version:
            return
        told = both_versions(self, stored, version)
        typed = MultiValueDict(cast("MultiValueDict[str, Any]", self.data))
        typed[self.add_prefix("record_version")] = stored.version
        self.data = typed
        raise ValidationError(told, code="stale")


def both_versions(form: Any, stored: ShopRecord, version: int | None) -> Any:
    """What the form was sent with beside what is stored, to choose from; ``version``: the one it
    was opened at."""
    who, when = last_change(stored)
    context = {
        "who": who,
        "when": when,
        "rows": conflict.differences(form, stored, _as_opened(stored, version)),
        "also": conflict.rows_in_words(stored, form.rows_of),
    }
    return mark_safe(render_to_string("proshop/_conflict.html", context))  # noqa: S308


def _as_opened(stored: ShopRecord, version: int | None) -> Any:
    """The record as it was at a version, out of its history; None if that isn't known."""
    history = getattr(stored, "history", None)
    if history is None or version is None:
        return None
    entry = history.filter(version=version).order_by("history_date", "history_id").last()
    return entry.instance if entry is not None else None


def last_change(record: ShopRecord) -> tuple[str, str]:
    """Who saved the record last, and when, in words."""
    history = getattr(record, "history", None)
    entry = history.select_related("history_user").first() if history is not None else None
    user = entry.history_user if entry is not None else None
    who = (user.get_full_name() or user.get_username()) if user else "Somebody"
    moment = timezone.localtime(record.updated_at)
    return who, f"on {date_format(moment, 'j M')} at {date_format(moment, 'H:i')}"
