"""Rows of a form: what the formsets of specs and of holes share."""

from __future__ import annotations

from typing import Any, ClassVar

from django.forms.models import BaseInlineFormSet


class RowFormSet(BaseInlineFormSet):  # type: ignore[type-arg]
    """Rows that belong to one record, each with a box that removes it."""

    row_word: ClassVar[str] = "row"

    def add_fields(self, form: Any, index: int | None) -> None:
        super().add_fields(form, index)
        if "DELETE" in form.fields:
            form.fields["DELETE"].label = f"Remove this {self.row_word}"

    def validate_unique(self) -> None:
        """Rows that repeat one another are refused in `clean`, on the row that repeats."""
