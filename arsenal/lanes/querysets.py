"""Questions asked of houses and conditions, in the trade's words."""

from __future__ import annotations

from typing import Self

from proshop.models import ShopRecordQuerySet


class HouseQuerySet(ShopRecordQuerySet):
    def with_conditions(self) -> Self:
        """Each house with its conditions: two queries."""
        return self.prefetch_related("conditions")


class ConditionQuerySet(ShopRecordQuerySet):
    def with_house(self) -> Self:
        return self.select_related("house")


class BowlerConditionQuerySet(ShopRecordQuerySet):
    def with_house(self) -> Self:
        return self.select_related("condition__house")
