"""Questions asked of stored rankings."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Self

from django.db.models import Q

from proshop.models import ShopRecordQuerySet

if TYPE_CHECKING:
    from bowlers.models import Bowler


class RankingQuerySet(ShopRecordQuerySet):
    def for_bowler(self, bowler: Bowler) -> Self:
        return self.filter(bowler=bowler)

    def answering(self, *, inputs_key: str, model_version: str) -> Self:
        """Those computed, or to be computed, from exactly these inputs by this model."""
        return self.filter(inputs_key=inputs_key, model_version=model_version)

    def done(self) -> Self:
        return self.filter(status="done")

    def going_on(self) -> Self:
        return self.filter(status="running")

    def silent_since(self, moment: datetime) -> Self:
        """Running by their own account, yet no sign of life since: their worker was killed."""
        return self.filter(status="running").filter(
            Q(heard_at__lt=moment) | Q(heard_at=None, started_at__lt=moment)
        )

    def light(self) -> Self:
        """Without the large columns, for lists and progress."""
        return self.defer("inputs", "result")

    def newest_first(self) -> Self:
        return self.order_by("-created_at", "-pk")
