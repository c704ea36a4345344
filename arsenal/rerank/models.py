"""One occasion on which all customers of a shop were put in line, and what became of each."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from arsenal.advice.models import Ranking
from bowlers.models import Bowler
from proshop.models import Shop


class Rerank(models.Model):
    """Asked for at ``asked_at``; everybody is in line once ``gathered_at`` is set.

    ``stale_only`` leaves out those never ranked and those whose answer still holds.
    """

    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="+")
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    stale_only = models.BooleanField(default=False)
    asked_at = models.DateTimeField()
    gathered_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-asked_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.shop}, {self.asked_at:%Y-%m-%d %H:%M}"


class RerankEntry(models.Model):
    """One customer on one occasion: the ranking that answers, or ``why`` there is none."""

    rerank = models.ForeignKey(Rerank, on_delete=models.CASCADE, related_name="entries")
    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="+")
    ranking = models.ForeignKey(
        Ranking, on_delete=models.SET_NULL, null=True, related_name="rerank_entries"
    )
    why = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["rerank", "bowler"], name="rerank_once_a_customer"),
        ]

    def __str__(self) -> str:
        return f"{self.bowler}, {self.rerank}"
