"""Questions asked of tickets and follow-ups."""

from __future__ import annotations

from datetime import date, datetime
from typing import Self

from django.db.models import F

from proshop.models import ShopRecordQuerySet


class TicketQuerySet(ShopRecordQuerySet):
    def whole(self) -> Self:
        """Each ticket with its customer and ball: one query."""
        return self.select_related("bowler", "shop", "ball__spec__model", "plan__spec__model")

    def soonest_first(self) -> Self:
        """By the promised time; what nobody promised comes last, oldest first."""
        return self.order_by(F("promised_at").asc(nulls_last=True), "pk")

    def new_thumbs_collected_before(self, moment: datetime) -> Self:
        """New thumbs long enough in use that nobody has asked about yet."""
        return self.filter(
            new_thumb=True, step="collected", collected_at__lte=moment, follow_ups__isnull=True
        )


class FollowUpQuerySet(ShopRecordQuerySet):
    def about_growth_since(self, day: date) -> Self:
        return self.filter(about="growth", asked_on__gt=day)
