"""Rows of a form: what the formsets of specs and of holes share."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.db import transaction
from django.forms.models import BaseInlineFormSet


class RowFormSet(BaseInlineFormSet):  # type: ignore[type-arg]
    """Rows that belong to one record, each with a box that removes it."""

    row_word: ClassVar[str] = "row"
    # What no two rows of a record share.
    key: ClassVar[str]

    def repeated(self, value: Any) -> str:
        """The refusal of a second row of that key."""
        raise NotImplementedError

    def way_clear(self, place: int) -> Any:
        """A key that no row has, for a row that is about to change places with another."""
        raise NotImplementedError

    def add_fields(self, form: Any, index: int | None) -> None:
        super().add_fields(form, index)
        form.fields["DELETE"].label = f"Remove this {self.row_word}"

    def validate_unique(self) -> None:
        """Rows that repeat one another are refused in `clean`, on the row that repeats."""

    def full_clean(self) -> None:
        """A row that isn't the record's is said so in words: its hidden boxes are seen nowhere."""
        super().full_clean()
        for form in self.forms:
            hidden = [n for n in form.errors if n in form.fields and form[n].is_hidden]
            for name in hidden:
                del form.errors[name]
            if hidden:
                self.non_form_errors().append(
                    ValidationError(
                        f"A {self.row_word} of this form isn’t part of the record any more: open "
                        "the page again to see what is."
                    )
                )

    def clean(self) -> None:
        super().clean()
        seen = self._left_out()
        for form in self.forms:
            value = getattr(form, "cleaned_data", {}).get(self.key)
            if value in (None, "") or form in self.deleted_forms:
                continue
            if value in seen:
                form.add_error(self.key, self.repeated(value))
            seen.add(value)

    def save(self, commit: bool = True) -> Any:
        """Rows may change places: those that move or go make way before any is stored."""
        with transaction.atomic():
            for place, form in enumerate(self.initial_forms):
                if form in self.deleted_forms or self.key in form.changed_data:
                    rows = self.model._default_manager.filter(pk=form.instance.pk)
                    rows.update(**{self.key: self.way_clear(place)})
            return super().save(commit=commit)

    def _left_out(self) -> set[Any]:
        """Keys of stored rows that the form doesn't speak of: they stay as they are."""
        if self.instance.pk is None:
            return set()
        spoken_of = [form.instance.pk for form in self.initial_forms]
        rows = self.model._default_manager.filter(**{self.fk.name: self.instance})
        return set(rows.exclude(pk__in=spoken_of).values_list(self.key, flat=True))
