"""What rankings found, task by task, laid out so that a chain's worth of it is counted at once."""

from __future__ import annotations

from django.db import models

from arsenal.advice.models import Ranking
from arsenal.catalogue.models import BallSpec
from arsenal.lanes.models import House
from bowlers.models import Bowler
from proshop.models import Shop


class TaskFound(models.Model):
    """One task of one customer, as a ranking found it; ``latest`` for the newest of that customer.

    ``side`` is what the best ball is where there is a gap: rolly, angular, both, late, or empty
    where nothing is owned that could be. ``kind`` is the release: how its revs match its speed.
    ``filled_by``: the models in this customer's weight that would fill the gap, drilled and
    finished as suits.
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
        NONE = "", "Nothing owned shapes up"

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


class StockPlan(models.Model):
    """What to stock, worked out for a shop at one time; ``rows`` as :func:`cover.greedy` has them.

    ``started_at`` is set while another is being worked out.
    """

    shop = models.OneToOneField(Shop, on_delete=models.CASCADE, related_name="stock_plan")
    rows = models.JSONField(default=list)
    gaps = models.FloatField(default=0.0)
    customers = models.PositiveIntegerField(default=0)
    made_at = models.DateTimeField(null=True)
    started_at = models.DateTimeField(null=True)
    progress = models.PositiveSmallIntegerField(default=0)

    def __str__(self) -> str:
        return f"Stock plan of {self.shop}"
