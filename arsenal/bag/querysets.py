"""Questions asked of a bag, in the trade's words."""

from __future__ import annotations

from typing import Self

from proshop.models import ShopRecordQuerySet


class OwnedBallQuerySet(ShopRecordQuerySet):
    def in_use(self) -> Self:
        return self.filter(retired=False)

    def with_drilling(self) -> Self:
        """Each ball with its customer, model, holes now and before, and durometer readings: four
        queries however many balls, a fifth where any was drilled before."""
        return self.select_related("bowler", "spec__model", "shop").prefetch_related(
            "holes", "earlier__holes", "hardness_readings"
        )
