"""The rule set a shop holds balls to, its own exceptions, and durometer readings."""

from __future__ import annotations

import datetime

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from simple_history.models import HistoricalRecords

from arsenal.bag.models import OwnedBall
from proshop.models import ShopRecord

HARDNESS_D = (40.0, 100.0)
TEMPERATURE_F = (32.0, 120.0)
# Around what rule books allow, wide enough for a ball that isn't within it.
DIAMETER_IN = (8.0, 9.0)
EARLIEST_READING = datetime.date(1990, 1, 1)


def possible_day(day: datetime.date) -> None:
    """A day on which a reading can have been taken."""
    if not EARLIEST_READING <= day <= timezone.localdate():
        raise ValidationError("The day must be between 1990 and today.", code="day")


class ShopRules(ShopRecord):
    """The rule set a shop works by; without a row it is the one in force."""

    rule_set = models.CharField("rule set", max_length=30)

    history = HistoricalRecords()

    class Meta:
        verbose_name_plural = "shop rules"
        constraints = (models.UniqueConstraint(fields=["shop"], name="one_rule_set_a_shop"),)

    def __str__(self) -> str:
        return self.rule_set


class HouseLimit(ShopRecord):
    """A limit the owner put in place of one of a rule set: read anew, or an exception.

    ``limit`` is the limit's key, ``value`` its bound in the limit's own unit. One taken back stays
    on record.
    """

    class Why(models.TextChoices):
        READ = "read", "Read in the current rule book"
        EXCEPTION = "exception", "An exception of this house or league"

    rule_set = models.CharField("rule set", max_length=30)
    limit = models.CharField(max_length=60)
    value = models.FloatField("limit here", validators=[MinValueValidator(0.0)])
    why = models.CharField("why", max_length=10, choices=Why, default=Why.EXCEPTION)
    reason = models.CharField("reason, or where it was read", max_length=200)
    taken_back = models.BooleanField(default=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ("limit", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=["shop", "rule_set", "limit"],
                condition=models.Q(taken_back=False),
                name="one_house_limit_at_a_time",
            ),
        )

    def __str__(self) -> str:
        return f"{self.limit} {self.value:g}"


class HardnessReading(ShopRecord):
    """What a durometer read on a ball, Shore D, and how warm the ball was."""

    ball = models.ForeignKey(OwnedBall, on_delete=models.CASCADE, related_name="hardness_readings")
    hardness_d = models.FloatField(
        "hardness",
        validators=[MinValueValidator(HARDNESS_D[0]), MaxValueValidator(HARDNESS_D[1])],
    )
    temperature_f = models.FloatField(
        "temperature",
        validators=[MinValueValidator(TEMPERATURE_F[0]), MaxValueValidator(TEMPERATURE_F[1])],
    )
    read_on = models.DateField("day", default=timezone.localdate, validators=[possible_day])

    history = HistoricalRecords()

    class Meta:
        ordering = ("-read_on", "-pk")

    def __str__(self) -> str:
        return f"{self.hardness_d:g} Shore D at {self.temperature_f:g} °F"


class SizeReading(ShopRecord):
    """How far across a ball is, inches: the least and the most found around it; what lies between
    is how far it is out of round."""

    ball = models.ForeignKey(OwnedBall, on_delete=models.CASCADE, related_name="size_readings")
    least_in = models.FloatField(
        "least across",
        validators=[MinValueValidator(DIAMETER_IN[0]), MaxValueValidator(DIAMETER_IN[1])],
    )
    most_in = models.FloatField(
        "most across",
        validators=[MinValueValidator(DIAMETER_IN[0]), MaxValueValidator(DIAMETER_IN[1])],
    )
    read_on = models.DateField("day", default=timezone.localdate, validators=[possible_day])

    history = HistoricalRecords()

    class Meta:
        ordering = ("-read_on", "-pk")

    def __str__(self) -> str:
        return f"{self.least_in:g} to {self.most_in:g} in across"
