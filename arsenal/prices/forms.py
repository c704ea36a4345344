"""The form of a shop's price list."""

from __future__ import annotations

from typing import Any

from arsenal.fields import MoneyField
from arsenal.prices.models import MOST_MONEY, PriceList, column, words_of
from arsenal.prices.usual import USUAL
from proshop.forms import RecordForm


class PriceListForm(RecordForm):
    """What each piece of work costs."""

    class Meta:
        model = PriceList
        fields = tuple(map(column, USUAL))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for work in USUAL:
            self.fields[column(work)] = MoneyField(
                low=0,
                high=float(MOST_MONEY),
                label=words_of(work),
            )
