"""A ranking: one answer of the engine, kept with everything that went into it."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.urls import reverse

from arsenal.advice.querysets import RankingQuerySet
from bowlers.models import Bowler
from proshop.models import ShopRecord


class Ranking(ShopRecord):
    """What was asked (``inputs``, ``seed``, ``model_version``) and what came out (``result``).

    ``inputs_key`` is the SHA-256 of the canonical inputs: the same question asked twice of the
    same model is one row, which is what makes asking again, or double clicking, harmless.
    ``attempts`` says which run may write: a run that was given up for dead writes nothing.
    """

    class Status(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Running"
        DONE = "done", "Done"
        FAILED = "failed", "Failed"

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="rankings")
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    status = models.CharField(max_length=8, choices=Status, default=Status.WAITING)
    progress = models.PositiveSmallIntegerField(default=0)
    progress_note = models.CharField(max_length=200, blank=True)
    seed = models.BigIntegerField()
    model_version = models.CharField(max_length=40)
    inputs = models.JSONField()
    inputs_key = models.CharField(max_length=64)
    result = models.JSONField(null=True)
    error = models.TextField(blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    job_id = models.CharField(max_length=64, blank=True)
    asked_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True)
    heard_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)

    objects = RankingQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["bowler", "inputs_key", "model_version"],
                name="ranking_once_an_inputs_key",
            ),
            models.CheckConstraint(
                condition=models.Q(progress__lte=100), name="ranking_progress_is_a_percentage"
            ),
        ]
        # Workers look after these every few seconds, and they are a handful of hundreds of
        # thousands.
        indexes = [
            models.Index(
                fields=["status", "asked_at"],
                condition=models.Q(status__in=["waiting", "running"]),
                name="ranking_under_way",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.bowler}, {self.created_at:%Y-%m-%d %H:%M}"

    def get_absolute_url(self) -> str:
        return reverse("ranking", args=[self.pk])

    @property
    def is_done(self) -> bool:
        return self.status == self.Status.DONE

    @property
    def is_failed(self) -> bool:
        return self.status == self.Status.FAILED
