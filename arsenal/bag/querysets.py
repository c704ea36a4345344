"""Questions asked of a bag, in the trade's words."""

from __future__ import annotations

from typing import Self

from proshop.models import ShopRecordQuerySet


class OwnedBallQuerySet(ShopRecordQuerySet):
    def in_use(self) -> Self:
        return self.filter(retired=False)

    def with_drilling(self) -> Self:
        """Each ball with its customer, model and holes: two queries however many balls."""
        return self.select_related("bowler", "spec__model").prefetch_related("holes")
