"""That somebody was erased, without the person."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from proshop.models import Shop, ShopRecordQuerySet


class Erasure(models.Model):
    """A customer was erased: their number, what went by kind and number, and what the books need.

    ``kept`` holds lines of money: what it was for, its day, the price all in and the deposit.
    """

    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="+")
    number = models.BigIntegerField()
    erased_at = models.DateTimeField(auto_now_add=True)
    erased_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    removed = models.JSONField(default=dict)
    kept = models.JSONField(default=list)

    objects = ShopRecordQuerySet.as_manager()

    class Meta:
        ordering = ("-erased_at", "-pk")

    def __str__(self) -> str:
        return f"customer {self.number}"
