"""Questions asked of houses and conditions, in the trade's words."""

from __future__ import annotations

from typing import Self

from django.db.models import Count, OuterRef, Subquery, Sum

from proshop.models import ShopRecordQuerySet


class HouseQuerySet(ShopRecordQuerySet):
    def with_conditions(self) -> Self:
        """Each house with its conditions: two queries."""
        return self.prefetch_related("conditions")

    def with_customers(self) -> Self:
        """Each house with ``customers``: how many of the shop's bowl there."""
        return self.annotate(customers=Count("conditions__met_by__bowler", distinct=True))


class ConditionQuerySet(ShopRecordQuerySet):
    def with_house(self) -> Self:
        return self.select_related("house")


class BowlerConditionQuerySet(ShopRecordQuerySet):
    def with_house(self) -> Self:
        return self.select_related("condition__house")

    def with_share(self) -> Self:
        """Each row with its customer, and ``season``: all the times that customer bowls."""
        theirs = (
            self.model.objects.filter(bowler=OuterRef("bowler"))
            .order_by()
            .values("bowler")
            .annotate(all_times=Sum("times_a_season"))
        )
        return self.select_related("bowler").annotate(season=Subquery(theirs.values("all_times")))

    def by_customer(self) -> Self:
        return self.order_by("bowler__search_key", "bowler_id", "-times_a_season", "pk")
