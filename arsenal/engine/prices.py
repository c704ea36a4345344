"""What the shop's own work costs, as rankings weigh gains against it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from arsenal.prices.models import PriceList
from arsenal.prices.usual import USUAL

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal

    from proshop.models import Shop


def _weighed(listed: Mapping[str, Decimal]) -> dict[str, float]:
    """By the names options have; inserts and slugs go with any drilling, and aren't counted."""
    found = {name: float(listed[name]) for name in ("drill", "redrill", "clean", "extract")}
    restore = float(listed["restore"])
    return found | {
        "surface": float(listed["resurface"]),
        "restore": restore,
        "renew": found["extract"] + restore,
    }


# Where no shop's list is known.
ALL: dict[str, float] = _weighed(USUAL)


def prices_of(shop: Shop) -> dict[str, float]:
    """The shop's prices by option, in its currency."""
    listed = PriceList.of(shop)
    return _weighed({name: listed.price(name) for name in USUAL})
