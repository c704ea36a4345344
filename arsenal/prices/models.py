"""The price list of a shop."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from simple_history.models import HistoricalRecords

from arsenal.prices.usual import USUAL
from proshop.models import Shop, ShopRecord

MOST_MONEY = Decimal(99_999)


def _price(words: str, name: str) -> models.DecimalField[Any, Decimal]:
    return models.DecimalField(
        words,
        max_digits=8,
        decimal_places=2,
        default=USUAL[name],
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(MOST_MONEY)],
    )


def column(work: str) -> str:
    """The column that holds the price of a piece of work of ``USUAL``."""
    return f"price_{work}"


def words_of(work: str) -> str:
    """What a piece of work is called on the list."""
    name = column(work)
    return str(getattr(PriceList._meta.get_field(name), "verbose_name", name)).capitalize()


class PriceList(ShopRecord):
    """What each piece of the shop's work costs; without a row it is what is usual.

    Tickets are filled in from it when they are opened, and rankings weigh gains against it.
    """

    price_drill = _price("drilling a new ball", "drill")
    price_redrill = _price("plugging and drilling again", "redrill")
    price_insert = _price("an insert, fitted", "insert")
    price_slug = _price("a thumb slug, fitted", "slug")
    price_thumb = _price("thumb work", "thumb")
    price_plug = _price("plugging a hole", "plug")
    price_clean = _price("cleaning", "clean")
    price_extract = _price("drawing the oil out", "extract")
    price_restore = _price("restoring the finish it has", "restore")
    price_resurface = _price("another finish", "resurface")

    history = HistoricalRecords()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["shop"], name="one_price_list_a_shop"),)

    def __str__(self) -> str:
        return f"Prices of {self.shop}"

    @classmethod
    def of(cls, shop: Shop) -> PriceList:
        """The shop's own list; one with the usual prices, not stored, where it has none."""
        found: PriceList | None = cls.objects.for_shop(shop).first()
        return found or cls(shop=shop)

    def price(self, work: str) -> Decimal:
        """What one piece of work costs, by the name it has in ``USUAL``."""
        if work not in USUAL:
            raise KeyError(work)
        found: Decimal = getattr(self, column(work))
        return found
