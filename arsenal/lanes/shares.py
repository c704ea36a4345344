"""How a season divides among the conditions met: whole times that always add up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.datastructures import MultiValueDict

from arsenal.fields import WholeField
from arsenal.lanes.models import BowlerCondition
from proshop.forms import HiddenNumber, TokenForm

LEAST, MOST = 1, 200
STALE = "The list was changed meanwhile. Look at it as it is now, and divide again."


def divided(total: int, weights: Sequence[float]) -> list[int]:
    """``total`` in whole parts as the weights go, each at least 1 and at most 200.

    By largest remainders; the total is first brought between what so many parts can add up to.
    The page's script divides alike.
    """
    parts = range(len(weights))
    total = max(LEAST * len(weights), min(total, MOST * len(weights)))
    every = sum(weights)
    exact = [total * (weight / every if every > 0 else 1 / len(weights)) for weight in weights]
    whole = [max(LEAST, min(int(share), MOST)) for share in exact]
    while (left := total - sum(whole)) != 0:
        step = 1 if left > 0 else -1
        free = [i for i in parts if (whole[i] < MOST if step > 0 else whole[i] > LEAST)]
        whole[max(free, key=lambda i: step * (exact[i] - whole[i]))] += step
    return whole


class SharesForm(TokenForm):
    """The times a season of every row at once, and of all together."""

    total = WholeField(low=1, high=10_000, label="Times a season in all")
    total_was = HiddenNumber(required=False)

    def __init__(self, *args: Any, rows: Sequence[BowlerCondition], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rows = list(rows)
        season = sum(row.times_a_season for row in self.rows)
        self.fields["total"].initial = self.fields["total_was"].initial = season
        for row in self.rows:
            self.fields[f"times_{row.pk}"] = WholeField(
                low=LEAST, high=MOST, label=f"Times a season on {row.condition}"
            )
            self.fields[f"times_{row.pk}"].initial = row.times_a_season
            self.fields[f"version_{row.pk}"] = HiddenNumber(required=False, initial=row.version)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if any(cleaned.get(f"version_{row.pk}") != row.version for row in self.rows):
            self._begin_again()
            raise ValidationError(STALE)
        return cleaned

    def _begin_again(self) -> None:
        """The list as it is now, with what was typed for rows that are still on it."""
        typed = MultiValueDict(cast("MultiValueDict[str, Any]", self.data))
        for row in self.rows:
            typed[f"version_{row.pk}"] = row.version
            if f"times_{row.pk}" not in typed:
                typed[f"times_{row.pk}"] = row.times_a_season
                self.errors.pop(f"times_{row.pk}", None)
        self.data = typed

    @property
    def times(self) -> list[int]:
        """Of each row: as given, or as given in proportion where another total was typed."""
        given = [self.cleaned_data[f"times_{row.pk}"] for row in self.rows]
        total = self.cleaned_data["total"]
        if total == self.cleaned_data["total_was"] or total == sum(given):
            return given
        return divided(total, given)

    def box(self, row: BowlerCondition) -> forms.BoundField:
        """The box of one row's times."""
        return self[f"times_{row.pk}"]


@transaction.atomic
def save_shares(*, form: SharesForm) -> None:
    """Keep every row's times, or none; raises StaleRecord when one changed meanwhile."""
    for row, times in zip(form.rows, form.times, strict=True):
        if row.times_a_season != times:
            row.times_a_season = times
            row.save_checked(form.cleaned_data[f"version_{row.pk}"])
