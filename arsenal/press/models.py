"""What is to be drilled, who signed for it, and what came of it."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from simple_history.models import HistoricalRecords

from arsenal.advice.models import Ranking
from arsenal.bag.models import PAP_OVER_IN, PAP_UP_IN, GripHole, LayoutNotation, OwnedBall
from arsenal.catalogue.models import BallSpec, Finish, LabelledBall, StockBall
from arsenal.press.querysets import DrillPlanQuerySet
from bowlers.models import Bowler
from proshop.models import ShopRecord

STATIC_OZ = (-12.0, 12.0)
CURE_HOURS = (0.0, 240.0)
AGE_YEARS = (0.0, 60.0)


def _between(low: float, high: float) -> list[Any]:
    return [MinValueValidator(low), MaxValueValidator(high)]


def _measured(words: str) -> models.FloatField[float | str | None, float | None]:
    return models.FloatField(words, null=True, blank=True, validators=_between(*STATIC_OZ))


class DrillPlan(LabelledBall, ShopRecord):
    """A ball as it is to be drilled for one customer; it stays what was planned.

    ``ball`` is the owned ball: from the start where one is drilled ``again``, else once it is
    drilled. ``advice``, ``choice`` and ``reason`` stand side by side where the technician chose
    otherwise than the site advised. ``predicted`` are the numbers as they were signed for, with
    the version of the model. Statics are positive to the top, the PAP side and the fingers.
    """

    class State(models.TextChoices):
        DRAFT = "draft", "Being laid out"
        SIGNED = "signed", "At the press"
        DRILLED = "drilled", "Drilled"
        ASIDE = "aside", "Set aside"

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="drill_plans")
    spec = models.ForeignKey(BallSpec, on_delete=models.PROTECT, related_name="drill_plans")
    stock = models.ForeignKey(
        StockBall, on_delete=models.SET_NULL, null=True, blank=True, related_name="drill_plans"
    )
    ball = models.ForeignKey(
        OwnedBall, on_delete=models.SET_NULL, null=True, blank=True, related_name="drill_plans"
    )
    again = models.BooleanField("drilled before", default=False)
    state = models.CharField(max_length=8, choices=State, default=State.DRAFT)
    layout_notation = models.CharField(
        "layout written as", max_length=10, choices=LayoutNotation, default=LayoutNotation.ANGLES
    )
    layout_numbers = models.JSONField(default=dict)
    pap_over_in = models.FloatField("PAP over", validators=_between(*PAP_OVER_IN))
    pap_up_in = models.FloatField("PAP up", default=0.0, validators=_between(*PAP_UP_IN))
    finish = models.CharField(max_length=10, choices=Finish)
    notes = models.TextField(blank=True, max_length=600)
    ranking = models.ForeignKey(
        Ranking, on_delete=models.SET_NULL, null=True, blank=True, related_name="drill_plans"
    )
    # What was advised: its words, and every option of its family as ball, layout and surface.
    advice = models.JSONField("advised", default=dict, blank=True)
    reason = models.CharField("reason for choosing otherwise", max_length=300, blank=True)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    signed_at = models.DateTimeField(null=True, blank=True)
    predicted = models.JSONField(null=True, blank=True)
    drilled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    drilled_at = models.DateTimeField(null=True, blank=True)
    differed = models.TextField("what differed from the plan", blank=True, max_length=600)
    measured_top_oz = _measured("top weight, weighed")
    measured_side_oz = _measured("PAP side weight, weighed")
    measured_finger_oz = _measured("finger weight, weighed")

    objects = DrillPlanQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("-created_at", "-pk")

    def __str__(self) -> str:
        return f"{self.spec.model.name}, {self.spec.weight_lb} lb, for {self.bowler}"

    def get_absolute_url(self) -> str:
        return reverse("drill-plan", args=[self.pk])

    @property
    def number(self) -> str:
        """What the sheet and the box are called by."""
        return f"D-{self.pk:05d}"

    @property
    def is_draft(self) -> bool:
        return self.state == self.State.DRAFT

    @property
    def is_signed(self) -> bool:
        return self.state == self.State.SIGNED

    @property
    def is_drilled(self) -> bool:
        return self.state == self.State.DRILLED

    @property
    def is_weighed(self) -> bool:
        return self.measured_top_oz is not None


class PlannedHole(GripHole):
    """A gripping hole to be drilled, and what goes into it."""

    plan = models.ForeignKey(DrillPlan, on_delete=models.CASCADE, related_name="holes")

    history = HistoricalRecords()

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=["plan", "kind"], name="one_planned_hole_of_a_kind"),
        )


class RedrillGate(ShopRecord):
    """What is asked before a ball is drilled again; nothing is signed before it is answered.

    ``cure_hours`` is what the plug's maker asks for, at the shop's temperature. ``customer_signed``
    is the name the customer signed with, on the day it was. ``asked_of`` is what the plan was when
    it was answered: one that changes since has to be asked about again.
    """

    class Cracks(models.TextChoices):
        NONE = "none", "None found"
        FOUND = "found", "Found: it isn’t drilled"

    plan = models.OneToOneField(DrillPlan, on_delete=models.CASCADE, related_name="gate")
    cracks = models.CharField("cracks", max_length=6, choices=Cracks)
    age_years = models.FloatField("age of the ball", validators=_between(*AGE_YEARS))
    plugged_at = models.DateTimeField("plugs poured at", null=True, blank=True)
    cure_hours = models.FloatField(
        "hours the plug has to cure", null=True, blank=True, validators=_between(*CURE_HOURS)
    )
    warranty_told = models.BooleanField("told that the maker’s warranty is void", default=False)
    customer_signed = models.CharField("signed by the customer", max_length=120, blank=True)
    signed_on = models.DateField("signed on", null=True, blank=True)
    asked_of = models.JSONField(default=dict, editable=False)

    history = HistoricalRecords()

    def __str__(self) -> str:
        return f"Gate of {self.plan}"
