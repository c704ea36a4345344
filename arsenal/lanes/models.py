"""Houses, conditions, and how often a customer meets each condition."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from simple_history.models import HistoricalRecords

from arsenal.lanes.querysets import BowlerConditionQuerySet, ConditionQuerySet, HouseQuerySet
from bowlers.models import Bowler
from proshop.models import ShopRecord

FRICTION_FACTOR = (0.7, 1.3)
LENGTH_FT = (20.0, 55.0)
VOLUME_ML = (5.0, 40.0)
RATIO = (1.0, 15.0)
RAMP_BOARD = (6.0, 14.0)
GAMES_ON_OIL = (0, 60)
BOARDS = 39


class LaneSurface(models.TextChoices):
    WOOD = "wood", "Wood"
    OLDER_SYNTHETIC = "older synthetic", "Older synthetic"
    NEWER_SYNTHETIC = "newer synthetic", "Newer synthetic"


class House(ShopRecord):
    """A bowling house and its lanes. Friction 1.0 is an ordinary house; higher grips sooner."""

    name = models.CharField(max_length=80)
    lane_surface = models.CharField(max_length=20, choices=LaneSurface)
    friction_factor = models.FloatField(
        "friction compared with an ordinary house",
        default=1.0,
        validators=[MinValueValidator(FRICTION_FACTOR[0]), MaxValueValidator(FRICTION_FACTOR[1])],
    )

    objects = HouseQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("name", "pk")
        constraints = (
            models.UniqueConstraint(fields=["shop", "name"], name="house_name_once_a_shop"),
        )

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("house", args=[self.pk])

    @property
    def friction_source(self) -> str:
        """Where the friction of these lanes is known from before anybody was seen on them."""
        return "as usual, as nothing else was typed" if self.friction_factor == 1 else "typed"


class Condition(ShopRecord):
    """An oil pattern in a house, by picker numbers or by a table that overrides them.

    ``oil_table`` is ``{"distance_ft": [...], "units": [[39 numbers from the left gutter], ...]}``
    with one row of units for each distance.
    """

    class Shape(models.TextChoices):
        """How the oil falls off from the middle toward the gutters."""

        BLENDED = "blended", "Blended: falls off gradually"
        BLOCKED = "blocked", "Blocked: a step between wet and dry"
        FLAT = "flat", "Flat: nearly the same gutter to gutter"

    house = models.ForeignKey(House, on_delete=models.PROTECT, related_name="conditions")
    name = models.CharField(max_length=80)
    length_ft = models.FloatField(
        "length", validators=[MinValueValidator(LENGTH_FT[0]), MaxValueValidator(LENGTH_FT[1])]
    )
    volume_ml = models.FloatField(
        "volume", validators=[MinValueValidator(VOLUME_ML[0]), MaxValueValidator(VOLUME_ML[1])]
    )
    inside_to_outside_ratio = models.FloatField(
        "inside to outside ratio",
        validators=[MinValueValidator(RATIO[0]), MaxValueValidator(RATIO[1])],
    )
    shape = models.CharField(max_length=10, choices=Shape, default=Shape.BLENDED)
    # Middle of the fall-off, counted from the nearer gutter; None where the shape usually has it.
    ramp_board = models.FloatField(
        "board about which it falls off",
        null=True,
        blank=True,
        validators=[MinValueValidator(RAMP_BOARD[0]), MaxValueValidator(RAMP_BOARD[1])],
    )
    oil_table = models.JSONField(null=True, blank=True)

    objects = ConditionQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("house__name", "name", "pk")
        constraints = (
            models.UniqueConstraint(fields=["house", "name"], name="condition_name_once_a_house"),
        )

    def __str__(self) -> str:
        return f"{self.name}, {self.house.name}"

    def get_absolute_url(self) -> str:
        return reverse("condition", args=[self.pk])


class BowlerCondition(ShopRecord):
    """How often a customer meets a condition, and in what state: its weight among their tasks.

    ``games_on_oil`` counts the games bowled on that lane since it was oiled, each person's as one;
    0 is fresh. The same condition may be met in several states.
    """

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="conditions")
    condition = models.ForeignKey(Condition, on_delete=models.PROTECT, related_name="met_by")
    times_a_season = models.PositiveSmallIntegerField(
        "times a season", validators=[MinValueValidator(1), MaxValueValidator(200)]
    )
    games_on_oil = models.PositiveSmallIntegerField(
        "games on the oil before them",
        default=GAMES_ON_OIL[0],
        validators=[MinValueValidator(GAMES_ON_OIL[0]), MaxValueValidator(GAMES_ON_OIL[1])],
    )

    objects = BowlerConditionQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        verbose_name = "condition met"
        verbose_name_plural = "conditions met"
        ordering = ("-times_a_season", "pk")
        constraints = (
            models.UniqueConstraint(
                fields=["bowler", "condition", "games_on_oil"], name="condition_once_in_a_state"
            ),
        )

    def __str__(self) -> str:
        return f"{self.condition} × {self.times_a_season}"
