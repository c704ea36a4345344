"""What rankings found, task by task, laid out so that a chain's worth of it is counted at once."""

from __future__ import annotations

import datetime as dt

from django.db import models

from arsenal.advice.models import Ranking
from arsenal.catalogue.models import BallSpec
from arsenal.lanes.models import House
from bowlers.models import Bowler
from proshop.models import Shop

# A customer is active who was ranked within so long; trends go back as far.
ACTIVE_DAYS = 548


def active_since(today: dt.date) -> dt.date:
    return today - dt.timedelta(days=ACTIVE_DAYS)


class TaskFound(models.Model):
    """One task of one customer, as a ranking found it; ``latest`` for the newest of that customer.

    ``side`` is what the best ball is where there is a gap: rolly, angular, both, late, or none
    where nothing is owned that could be; empty where there is no gap. ``kind`` is the release: how
    its revs match its speed. ``filled_by``: the models in this customer's weight that would fill
    the gap, drilled and finished as suits; of the newest ranking alone, as nothing asks it of
    others.
    """

    class Kind(models.TextChoices):
        REVS = "revs", "Revs high for the speed"
        MATCHED = "matched", "Revs and speed matched"
        SPEED = "speed", "Speed high for the revs"

    class Side(models.TextChoices):
        ROLLY = "rolly", "Too rolly"
        ANGULAR = "angular", "Too angular"
        BOTH = "both", "Too rolly or too angular"
        LATE = "late", "Too late"
        NONE = "none", "Nothing owned shapes up"

    ranking = models.ForeignKey(Ranking, on_delete=models.CASCADE, related_name="tasks_found")
    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="+")
    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="+")
    house = models.ForeignKey(House, on_delete=models.SET_NULL, null=True, related_name="+")
    task = models.CharField(max_length=160)
    weight = models.FloatField()
    gap = models.BooleanField()
    side = models.CharField(max_length=7, choices=Side, blank=True)
    hand = models.CharField(max_length=5)
    kind = models.CharField(max_length=7, choices=Kind)
    weight_lb = models.PositiveSmallIntegerField()
    found_on = models.DateField()
    latest = models.BooleanField(default=True)
    filled_by = models.ManyToManyField(BallSpec, related_name="+")

    class Meta:
        verbose_name = "gap found"
        verbose_name_plural = "gaps found"
        constraints = (
            models.UniqueConstraint(fields=["ranking", "task"], name="task_found_once_a_ranking"),
        )
        indexes = (
            models.Index(
                fields=["shop", "found_on"], condition=models.Q(latest=True), name="task_latest"
            ),
            models.Index(fields=["shop", "found_on"], name="task_by_day"),
        )

    def __str__(self) -> str:
        return f"{self.bowler}: {self.task}"


class OfficeReport(models.Model):
    """All that the owner's page shows of a shop, worked out at one time.

    ``table`` holds what rankings found (:class:`arsenal.office.table.Table`), ``plan`` what to
    stock as :func:`cover.greedy` has it, against ``gaps`` of ``customers``; ``told`` the rest.
    ``upto`` is the last row of :class:`TaskFound` that counted. ``started_at`` is set while another
    is being worked out.
    """

    shop = models.OneToOneField(Shop, on_delete=models.CASCADE, related_name="office_report")
    table = models.BinaryField(null=True)
    plan = models.JSONField(default=list)
    gaps = models.FloatField(default=0.0)
    customers = models.PositiveIntegerField(default=0)
    told = models.JSONField(default=dict)
    upto = models.BigIntegerField(default=0)
    made_at = models.DateTimeField(null=True)
    started_at = models.DateTimeField(null=True)
    progress = models.PositiveSmallIntegerField(default=0)

    def __str__(self) -> str:
        return f"Office of {self.shop}"
