"""What was made one, and what was told apart."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.urls import reverse

from proshop.models import Shop, ShopRecordQuerySet


class CustomerMerge(models.Model):
    """Two customers made one: what either said before, and what moved.

    ``kept_said`` and ``gone_said`` hold every field in words; ``moved`` the numbers of the records
    that moved, by kind; ``left`` those of which the customer kept had one already, in words.
    """

    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    kept = models.ForeignKey("bowlers.Bowler", on_delete=models.CASCADE, related_name="merges")
    gone_number = models.BigIntegerField(db_index=True)
    gone_name = models.CharField(max_length=120)
    kept_said = models.JSONField(default=dict)
    gone_said = models.JSONField(default=dict)
    moved = models.JSONField(default=dict)
    left = models.JSONField(default=dict)
    merged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = ShopRecordQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at", "-pk")

    def __str__(self) -> str:
        return f"{self.gone_name} merged into {self.kept}"

    def get_absolute_url(self) -> str:
        return reverse("customer-merged", args=[self.pk])

    @property
    def counts(self) -> list[tuple[str, int]]:
        """How many records moved, by kind."""
        return [(kind, len(numbers)) for kind, numbers in self.moved.items()]


class ToldApart(models.Model):
    """Two customers who look like one and aren't, so that nobody is asked again."""

    # Goes with either of them instead of moving.
    stays_when_merged = True

    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="+")
    first = models.ForeignKey("bowlers.Bowler", on_delete=models.CASCADE, related_name="+")
    second = models.ForeignKey("bowlers.Bowler", on_delete=models.CASCADE, related_name="+")

    objects = ShopRecordQuerySet.as_manager()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["first", "second"], name="told_apart_once"),)

    def __str__(self) -> str:
        return f"{self.first} and {self.second} are two"
