"""What is asked of grips."""

from __future__ import annotations

from typing import Any

from django.db.models import Q

from proshop.models import ShopRecordQuerySet


class GripQuerySet(ShopRecordQuerySet):
    def newest_first(self) -> GripQuerySet:
        return self.order_by("-measured_on", "-pk")

    def before(self, grip: Any) -> GripQuerySet:
        """Grips of the same customer older than this one."""
        day = grip.measured_on
        older = Q(measured_on__lt=day) | Q(measured_on=day, pk__lt=grip.pk)
        return self.filter(older, bowler=grip.bowler_id)

    def held_as(self, *, thumb: str, fingers: str) -> GripQuerySet:
        """Grips of hands that hold the ball this way."""
        return self.filter(thumb=thumb, fingers=fingers)
