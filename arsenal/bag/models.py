"""Owned balls and their holes."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from simple_history.models import HistoricalRecords

from arsenal.bag.querysets import OwnedBallQuerySet
from arsenal.catalogue.models import BallSpec, Finish, LabelledBall
from bowlers.models import Bowler
from proshop.models import ShopRecord

# The physical ranges of a positive axis point, measured from the grip centre.
PAP_OVER_IN = (2.0, 6.75)
PAP_UP_IN = (-2.5, 2.5)
MOST_GAMES = 2000


class LayoutNotation(models.TextChoices):
    """How the layout was written down. All three name the same points on the ball."""

    ANGLES = "angles", "Drilling angle × pin to PAP × VAL angle"
    BUFFER = "buffer", "Pin to PAP × PSA to PAP × pin buffer"
    READ_OFF = "read_off", "Read off the ball"


class Role(models.TextChoices):
    """What the customer uses the ball for."""

    BENCHMARK = "benchmark", "Benchmark"
    MORE_OIL = "more oil", "More oil"
    LESS_OIL = "less oil", "Less oil"
    SPARES = "spares", "Spares"


class OwnedBall(LabelledBall, ShopRecord):
    """A customer's ball: the label it had undrilled, its layout, holes and surface.

    ``layout_numbers`` keeps the numbers of the notation that was typed, under the field names of
    the layout command of ``physics``; the other notations are computed from them when shown.
    """

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="bag")
    spec = models.ForeignKey(BallSpec, on_delete=models.PROTECT, related_name="owned")
    nickname = models.CharField(max_length=60, blank=True)
    layout_notation = models.CharField(
        "layout written as", max_length=10, choices=LayoutNotation, default=LayoutNotation.ANGLES
    )
    layout_numbers = models.JSONField(default=dict)
    pap_over_in = models.FloatField(
        "PAP over",
        validators=[MinValueValidator(PAP_OVER_IN[0]), MaxValueValidator(PAP_OVER_IN[1])],
    )
    pap_up_in = models.FloatField(
        "PAP up",
        default=0.0,
        validators=[MinValueValidator(PAP_UP_IN[0]), MaxValueValidator(PAP_UP_IN[1])],
    )
    finish = models.CharField(max_length=10, choices=Finish)
    games_since_finish = models.PositiveSmallIntegerField(
        "games since the finish was done", default=0, validators=[MaxValueValidator(MOST_GAMES)]
    )
    games_since_oil_drawn = models.PositiveSmallIntegerField(
        "games since oil was drawn out", default=0, validators=[MaxValueValidator(MOST_GAMES)]
    )
    games_since_cleaned = models.PositiveSmallIntegerField(
        "games since it was cleaned", default=0, validators=[MaxValueValidator(MOST_GAMES)]
    )
    role = models.CharField(max_length=12, choices=Role, blank=True)
    notes = models.TextField(blank=True, max_length=2000)
    retired = models.BooleanField(default=False)

    objects = OwnedBallQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("retired", "spec__model__search_key", "pk")

    def __str__(self) -> str:
        return self.nickname or f"{self.spec.model.name}, {self.spec.weight_lb} lb"

    def get_absolute_url(self) -> str:
        return reverse("owned-ball", args=[self.pk])


class Hole(models.Model):
    """A gripping hole as a flat-bottomed cylinder.

    Over (positive toward the PAP) and up are inches along the surface from the grip centre to the
    hole's centre. A forward pitch leans the bottom of the hole toward the grip centre; a lateral
    pitch is positive toward the PAP side.
    """

    class Kind(models.TextChoices):
        MIDDLE = "middle", "Middle finger"
        RING = "ring", "Ring finger"
        THUMB = "thumb", "Thumb"

    ball = models.ForeignKey(OwnedBall, on_delete=models.CASCADE, related_name="holes")
    kind = models.CharField(max_length=8, choices=Kind)
    over_in = models.FloatField(
        "over", validators=[MinValueValidator(-4.0), MaxValueValidator(4.0)]
    )
    up_in = models.FloatField("up", validators=[MinValueValidator(-5.0), MaxValueValidator(5.0)])
    diameter_in = models.FloatField(
        "diameter", validators=[MinValueValidator(0.5), MaxValueValidator(1.75)]
    )
    depth_in = models.FloatField(
        "depth", validators=[MinValueValidator(0.25), MaxValueValidator(4.25)]
    )
    pitch_forward_in = models.FloatField(
        "pitch, forward or reverse",
        default=0.0,
        validators=[MinValueValidator(-1.5), MaxValueValidator(1.5)],
    )
    pitch_lateral_in = models.FloatField(
        "pitch, sideways",
        default=0.0,
        validators=[MinValueValidator(-1.5), MaxValueValidator(1.5)],
    )
    # 1.2 g/cm³ for cover and filler alike is an estimate: makers don't publish it.
    density_g_cm3 = models.FloatField(
        "density of what was drilled out",
        default=1.2,
        validators=[MinValueValidator(0.5), MaxValueValidator(3.8)],
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=["ball", "kind"], name="one_hole_of_a_kind_a_ball"),
        )

    def __str__(self) -> str:
        return str(self.get_kind_display())
