"""Questions asked of plans and tickets, in the trade's words."""

from __future__ import annotations

from typing import Self

from proshop.models import ShopRecordQuerySet


class DrillPlanQuerySet(ShopRecordQuerySet):
    def whole(self) -> Self:
        """Each plan with all a sheet prints: two queries however many plans, and three for the
        balls that are drilled again."""
        return self.select_related(
            "bowler", "shop", "spec__model", "stock", "ball__spec__model", "signed_by", "ticket"
        ).prefetch_related("holes", "ball__holes", "ball__earlier__holes")

    def advised(self) -> Self:
        """Those with advice beside them that weren't set aside."""
        return self.exclude(advice={}).exclude(state="aside")

    def unfinished(self) -> Self:
        return self.filter(state__in=("draft", "signed"))

    def measured(self) -> Self:
        """Those whose statics were weighed after drilling."""
        return self.filter(measured_top_oz__isnull=False, predicted__isnull=False)
