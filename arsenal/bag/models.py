"""Owned balls, their holes now and before, and what was done to their surface."""

from __future__ import annotations

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from simple_history.models import HistoricalRecords

from arsenal.bag.querysets import OwnedBallQuerySet
from arsenal.catalogue.models import BallSpec, Finish, LabelledBall
from bowlers.measures import inches
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
    bought_elsewhere = models.BooleanField("bought elsewhere", default=False)
    retired = models.BooleanField(default=False)
    sold_on = models.DateField("sold on", null=True, blank=True)

    objects = OwnedBallQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("retired", "spec__model__search_key", "pk")
        indexes = (
            # What customers throw, which a shop's stock is held against.
            models.Index(
                fields=["shop", "spec", "bowler"],
                condition=models.Q(retired=False) & ~models.Q(role="spares"),
                name="ball_thrown_at_racks",
            ),
        )

    def __str__(self) -> str:
        return self.nickname or f"{self.spec.model.name}, {self.spec.weight_lb} lb"

    def get_absolute_url(self) -> str:
        return reverse("owned-ball", args=[self.pk])


class GripHole(models.Model):
    """A gripping hole as a flat-bottomed cylinder, and what is in it.

    Over (positive toward the PAP) and up are inches along the surface from the grip centre to the
    hole's centre. A forward pitch leans the bottom of the hole toward the grip centre; a lateral
    pitch is positive toward the PAP side.

    ``inside_in`` is what an insert or slug leaves open. ``longer_in`` is the longer axis of an
    oval, 0 where it is round, and ``oval_angle_deg`` its lean from straight up, positive to the PAP
    side: of the hole itself, or of what is open where an insert or slug sits in a round hole.
    """

    class Kind(models.TextChoices):
        MIDDLE = "middle", "Middle finger"
        RING = "ring", "Ring finger"
        THUMB = "thumb", "Thumb"

    class Sleeve(models.TextChoices):
        NONE = "", "Nothing"
        INSERT = "insert", "Finger insert"
        SLUG = "slug", "Thumb slug"

    kind = models.CharField(max_length=8, choices=Kind)
    over_in = models.FloatField(
        "over", validators=[MinValueValidator(-4.0), MaxValueValidator(4.0)]
    )
    up_in = models.FloatField("up", validators=[MinValueValidator(-5.0), MaxValueValidator(5.0)])
    diameter_in = models.FloatField(
        "diameter", validators=[MinValueValidator(0.5), MaxValueValidator(1.75)]
    )
    longer_in = models.FloatField("longer axis of an oval", default=0.0)
    oval_angle_deg = models.FloatField("lean of the oval", default=0.0)
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
    sleeve = models.CharField("what is in it", max_length=8, choices=Sleeve, blank=True)
    inside_in = models.FloatField("open inside it", null=True, blank=True)
    # Of what is missing from the finished ball. 1.2 g/cm³ for cover and filler alike is an
    # estimate: makers don't publish it. What an insert or slug puts back is taken off.
    density_g_cm3 = models.FloatField(
        "density of what is missing",
        default=1.2,
        validators=[MinValueValidator(0.0), MaxValueValidator(3.8)],
    )

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return str(self.get_kind_display())

    @property
    def cut_longer_in(self) -> float:
        """The longer axis of what was cut in the ball itself, 0 where that is round."""
        return 0.0 if self.sleeve else self.longer_in

    @property
    def opening(self) -> dict[str, float] | None:
        """What an insert or slug leaves open, as the engine has it; None without one."""
        if not self.sleeve or self.inside_in is None:
            return None
        return {
            "diameter_in": self.inside_in,
            "longer_in": self.longer_in,
            "oval_angle_deg": self.oval_angle_deg,
        }

    @property
    def size_words(self) -> str:
        """What is cut in the ball: ``31/32``, or ``1 × 1 1/8 oval``."""
        return across_words(self.diameter_in, self.cut_longer_in)

    @property
    def opening_words(self) -> str:
        """What sits in it and leaves open: ``thumb slug, 1 open``; empty for nothing."""
        if not self.sleeve or self.inside_in is None:
            return ""
        what = str(self.get_sleeve_display()).lower()
        return f"{what}, {across_words(self.inside_in, self.longer_in)} open"


def across_words(shorter_in: float, longer_in: float) -> str:
    size = inches(shorter_in)
    return f"{size} × {inches(longer_in)} oval" if longer_in else size


class Hole(GripHole):
    """A hole the ball has now."""

    ball = models.ForeignKey(OwnedBall, on_delete=models.CASCADE, related_name="holes")

    history = HistoricalRecords()

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=["ball", "kind"], name="one_hole_of_a_kind_a_ball"),
        )


class EarlierDrilling(models.Model):
    """Holes the ball had before, plugged since: the chain of its drillings, oldest first.

    They lie in the grip frame of their own layout; pin and PSA are the same points of the ball.
    """

    ball = models.ForeignKey(OwnedBall, on_delete=models.CASCADE, related_name="earlier")
    layout_notation = models.CharField(max_length=10, choices=LayoutNotation)
    layout_numbers = models.JSONField(default=dict)
    pap_over_in = models.FloatField("PAP over")
    pap_up_in = models.FloatField("PAP up", default=0.0)
    plugged_on = models.DateField("plugged on", null=True, blank=True)
    # As for what is drilled out, an estimate: plug resins don't say.
    plug_g_cm3 = models.FloatField(
        "density of the plug",
        default=1.2,
        validators=[MinValueValidator(0.5), MaxValueValidator(3.0)],
    )
    notes = models.CharField(max_length=200, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"earlier drilling of {self.ball}"


class PluggedHole(GripHole):
    """A hole of an earlier drilling, as it was."""

    drilling = models.ForeignKey(EarlierDrilling, on_delete=models.CASCADE, related_name="holes")

    class Meta:
        ordering = ("pk",)


class CareEntry(models.Model):
    """One thing done to a ball's surface, or games played on it, on a day; kept in order.

    ``games`` is how many had been played since the finish was put on, ``finish`` what it was left
    with.
    """

    class Work(models.TextChoices):
        CLEAN = "clean", "Cleaned"
        EXTRACT = "extract", "Oil drawn out"
        RESTORE = "restore", "Finish restored"
        SURFACE = "surface", "Another finish put on"
        GAMES = "games", "Games played"

    ball = models.ForeignKey(OwnedBall, on_delete=models.CASCADE, related_name="care")
    on = models.DateField("on")
    work = models.CharField("what was done", max_length=8, choices=Work)
    finish = models.CharField(max_length=10, choices=Finish)
    games = models.PositiveSmallIntegerField(
        "games", default=0, validators=[MaxValueValidator(MOST_GAMES)]
    )
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    class Meta:
        ordering = ("-on", "-pk")

    def __str__(self) -> str:
        return f"{self.get_work_display()}, {self.on}"
