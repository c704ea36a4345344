"""Questions asked of observations, in the trade's words."""

from __future__ import annotations

from typing import Self

from proshop.models import ShopRecordQuerySet


class ObservationQuerySet(ShopRecordQuerySet):
    def standing(self) -> Self:
        """Those that count: not set aside."""
        return self.filter(set_aside=False)

    def with_records(self) -> Self:
        """Each with its customer, ball and condition: three queries with the balls' holes. Not
        with its evidence, which is long: the engine keeps that at hand."""
        found = self.select_related(
            "bowler", "ball__spec__model", "ball__bowler", "condition__house", "logged_by"
        )
        return found.prefetch_related("ball__holes", "ball__earlier__holes").defer("evidence")

    def newest_first(self) -> Self:
        return self.order_by("-seen_on", "-pk")
