"""Ball models, their figures by weight, and the balls on the shelf."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from arsenal.catalogue.querysets import BallModelQuerySet, BallSpecQuerySet, StockBallQuerySet
from bowlers.measures import inches
from bowlers.models import LONGEST_KEY, Bowler, search_key
from proshop.models import ShopRecord

LIGHTEST_LB, HEAVIEST_LB = 6, 16
# Low RG of legal balls: 2.43 before mid-2010, 2.46 since, never above 2.80 in.
RG_LOWEST_IN, RG_HIGHEST_IN = 2.43, 2.80
# 0.080 in was the limit before the rule of 2004 brought it to 0.060: older balls are still thrown.
DIFFERENTIAL_HIGHEST_IN = 0.080
OUNCES_BELOW_A_POUND = Decimal("15.9")
TOP_WEIGHT_HIGHEST_OZ = 6.0
PIN_TO_CG_HIGHEST_IN = 6.0
# A CG mark as far off the line as its distance from the pin is at a right angle to it.
OFF_LINE_IN = 6.0
# A quarter round, and the 1.5 in the US governing body allows its mark to be off.
PIN_TO_PSA_IN = (5.25, 8.25)


class Cover(models.TextChoices):
    """What the outside of the ball is made of; the keys are those physics knows covers by."""

    SOLID = "solid", "Solid reactive"
    HYBRID = "hybrid", "Hybrid reactive"
    PEARL = "pearl", "Pearl reactive"
    URETHANE = "urethane", "Urethane"
    POLYESTER = "polyester", "Polyester"


class Finish(models.TextChoices):
    """The last grit the surface saw; the keys are those physics knows finishes by."""

    GRIT_360 = "360", "360 grit"
    GRIT_500 = "500", "500 grit"
    GRIT_1000 = "1000", "1000 grit"
    GRIT_1500 = "1500", "1500 grit"
    GRIT_2000 = "2000", "2000 grit"
    GRIT_3000 = "3000", "3000 grit"
    GRIT_4000 = "4000", "4000 grit"
    GRIT_5000 = "5000", "5000 grit"
    POLISHED = "polished", "Polished"


class BallModel(ShopRecord):
    """One entry of the shop's catalogue: a ball as it is made, whatever its weight."""

    name = models.CharField(max_length=80)
    search_key = models.CharField(max_length=LONGEST_KEY, editable=False, db_index=True)
    cover = models.CharField(max_length=12, choices=Cover)
    factory_finish = models.CharField("finish from the maker", max_length=10, choices=Finish)
    price = models.DecimalField(
        max_digits=9, decimal_places=2, validators=[MinValueValidator(Decimal(0))]
    )
    orderable = models.BooleanField("can be ordered", default=True)
    lead_days = models.PositiveSmallIntegerField(
        "days until it arrives", default=7, validators=[MaxValueValidator(365)]
    )
    discontinued = models.BooleanField(default=False)
    notes = models.TextField(blank=True, max_length=2000)

    objects = BallModelQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("search_key", "pk")
        constraints = (
            models.UniqueConstraint(fields=["shop", "name"], name="ball_model_name_once_a_shop"),
        )

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, update_fields: Iterable[str] | None = None, **kwargs: Any) -> None:
        self.search_key = search_key(self.name)
        if update_fields is not None and "name" in update_fields:
            update_fields = {*update_fields, "search_key"}
        super().save(*args, update_fields=update_fields, **kwargs)

    def get_absolute_url(self) -> str:
        return reverse("ball-model", args=[self.pk])


class BallSpec(models.Model):
    """The undrilled mass figures of a ball model at one weight.

    RG figures are in inches. The intermediate differential is high RG minus intermediate RG and
    is zero for a symmetric ball, so it can't exceed the (total) differential, high minus low.
    """

    model = models.ForeignKey(BallModel, on_delete=models.CASCADE, related_name="specs")
    weight_lb = models.PositiveSmallIntegerField(
        "weight", validators=[MinValueValidator(LIGHTEST_LB), MaxValueValidator(HEAVIEST_LB)]
    )
    rg_low_in = models.FloatField(
        "low RG", validators=[MinValueValidator(RG_LOWEST_IN), MaxValueValidator(RG_HIGHEST_IN)]
    )
    differential_in = models.FloatField(
        "differential",
        validators=[MinValueValidator(0.0), MaxValueValidator(DIFFERENTIAL_HIGHEST_IN)],
    )
    intermediate_differential_in = models.FloatField(
        "intermediate differential",
        default=0.0,
        validators=[MinValueValidator(0.0), MaxValueValidator(DIFFERENTIAL_HIGHEST_IN)],
    )

    objects = BallSpecQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("model__search_key", "-weight_lb")
        constraints = (
            models.UniqueConstraint(fields=["model", "weight_lb"], name="one_spec_a_weight"),
            models.CheckConstraint(
                condition=Q(intermediate_differential_in__gte=0)
                & Q(intermediate_differential_in__lte=F("differential_in")),
                name="intermediate_within_differential",
            ),
        )

    def __str__(self) -> str:
        return f"{self.model.name}, {self.weight_lb} lb"


class LabelledBall(models.Model):
    """What the label of one actual ball says, and where its marks really are.

    Inherited by balls on the shelf, in bags and in plans. ``cg_off_line_in`` is measured at right
    angles to the line from the pin to the PSA, to the right of somebody who looks along it at the
    ball.
    """

    serial = models.CharField("serial number", max_length=40, blank=True)
    label_weight_lb = models.PositiveSmallIntegerField(
        "label weight, pounds",
        validators=[MinValueValidator(LIGHTEST_LB), MaxValueValidator(HEAVIEST_LB)],
    )
    label_weight_oz = models.DecimalField(
        "label weight, ounces",
        max_digits=4,
        decimal_places=2,
        default=Decimal(0),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(OUNCES_BELOW_A_POUND)],
    )
    top_weight_oz = models.FloatField(
        "top weight", validators=[MinValueValidator(0.0), MaxValueValidator(TOP_WEIGHT_HIGHEST_OZ)]
    )
    pin_to_cg_in = models.FloatField(
        "pin to CG", validators=[MinValueValidator(0.0), MaxValueValidator(PIN_TO_CG_HIGHEST_IN)]
    )
    cg_off_line_in = models.FloatField(
        "CG off the line from pin to PSA",
        default=0.0,
        validators=[MinValueValidator(-OFF_LINE_IN), MaxValueValidator(OFF_LINE_IN)],
    )
    pin_to_psa_in = models.FloatField(
        "pin to PSA mark",
        null=True,
        blank=True,
        validators=[MinValueValidator(PIN_TO_PSA_IN[0]), MaxValueValidator(PIN_TO_PSA_IN[1])],
    )
    approval_note = models.CharField("approval", max_length=200, blank=True)

    class Meta:
        abstract = True

    @property
    def label_weight_in_lb(self) -> float:
        """Pounds and ounces of the label as pounds."""
        return self.label_weight_lb + float(self.label_weight_oz) / 16.0

    @property
    def label_words(self) -> str:
        ounces = f"{self.label_weight_oz:f}"
        if "." in ounces:
            ounces = ounces.rstrip("0").rstrip(".")
        return f"{self.label_weight_lb} lb {ounces} oz"

    @property
    def off_line_words(self) -> str:
        """``1/4 in to the right``, looking from the pin along the line; empty for a CG on it."""
        if not self.cg_off_line_in:
            return ""
        side = "right" if self.cg_off_line_in > 0 else "left"
        return f"{inches(abs(self.cg_off_line_in))} in to the {side}"


class StockBall(LabelledBall, ShopRecord):
    """An undrilled ball of the shop, with the label of that very ball.

    ``promised_to`` is whom it is kept for, where that is said; a returned ball went back to where
    the shop had it from.
    """

    class State(models.TextChoices):
        SHELF = "shelf", "On the shelf"
        PROMISED = "promised", "Promised"
        SOLD = "sold", "Sold"
        RETURNED = "returned", "Returned"

    spec = models.ForeignKey(BallSpec, on_delete=models.PROTECT, related_name="stock")
    price = models.DecimalField(
        max_digits=9, decimal_places=2, validators=[MinValueValidator(Decimal(0))]
    )
    state = models.CharField(max_length=8, choices=State, default=State.SHELF, db_index=True)
    promised_to = models.ForeignKey(
        Bowler, on_delete=models.SET_NULL, null=True, blank=True, related_name="promised_balls"
    )

    objects = StockBallQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("spec__model__search_key", "-spec__weight_lb", "pk")

    def __str__(self) -> str:
        return f"{self.spec.model.name}, {self.label_words}"

    def get_absolute_url(self) -> str:
        return reverse("stock-ball-edit", args=[self.pk])
