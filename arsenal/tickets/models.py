"""Tickets: one job on one ball, with its price and where it stands; and follow-ups."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from django.utils import timezone
from simple_history.models import HistoricalRecords

from arsenal.bag.models import OwnedBall
from arsenal.catalogue.models import Finish
from arsenal.press.models import DrillPlan
from arsenal.prices.models import MOST_MONEY
from arsenal.tickets.querysets import FollowUpQuerySet, TicketQuerySet
from bowlers.models import Bowler
from proshop.models import ShopRecord


class Job(models.TextChoices):
    """What is to be done."""

    DRILL = "drill", "Drill"
    REDRILL = "redrill", "Drill again"
    CLEAN = "clean", "Clean"
    EXTRACT = "extract", "Draw the oil out"
    RESURFACE = "resurface", "Resurface"
    THUMB = "thumb", "Thumb work"
    PLUG = "plug", "Plug"


class Step(models.TextChoices):
    """Where a job stands, in the order it goes."""

    WAITING = "waiting", "Waiting"
    PRESS = "press", "On the press"
    READY = "ready", "Ready"
    COLLECTED = "collected", "Collected"
    OFF = "off", "Called off"


def _money(words: str) -> models.DecimalField[Any, Decimal]:
    return models.DecimalField(
        words,
        max_digits=8,
        decimal_places=2,
        default=Decimal(0),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(MOST_MONEY)],
    )


class Ticket(ShopRecord):
    """One job: for whom, on which ball, promised when, at what price, and where it stands.

    ``new_thumb``: the thumb hole is new to the hand, so the customer is asked about it two weeks
    after it was collected. ``finish`` is the one a resurfaced ball gets.
    """

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="tickets")
    plan = models.OneToOneField(
        DrillPlan, on_delete=models.SET_NULL, null=True, blank=True, related_name="ticket"
    )
    ball = models.ForeignKey(
        OwnedBall, on_delete=models.SET_NULL, null=True, blank=True, related_name="tickets"
    )
    job = models.CharField(max_length=10, choices=Job)
    step = models.CharField("where it stands", max_length=10, choices=Step, default=Step.WAITING)
    finish = models.CharField(max_length=10, choices=Finish, blank=True)
    promised_at = models.DateTimeField("promised for", null=True, blank=True)
    price_ball = _money("ball")
    price_work = _money("drilling or work")
    price_inserts = _money("inserts")
    price_slug = _money("slug")
    deposit = _money("deposit")
    new_thumb = models.BooleanField("new thumb hole", default=False)
    words = models.CharField("what to do", max_length=200, blank=True)
    ready_at = models.DateTimeField(null=True, blank=True)
    collected_at = models.DateTimeField(null=True, blank=True)

    objects = TicketQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("promised_at", "pk")
        indexes = (models.Index(fields=["shop", "step", "collected_at"], name="ticket_by_step"),)

    def __str__(self) -> str:
        return f"{self.number}: {self.get_job_display()} for {self.bowler}"

    def get_absolute_url(self) -> str:
        return reverse("ticket", args=[self.pk])

    @property
    def number(self) -> str:
        return f"T-{self.pk:05d}"

    @property
    def ball_words(self) -> str:
        """Which ball it is about."""
        if self.ball is not None:
            return str(self.ball)
        if self.plan is not None:
            return f"{self.plan.spec.model.name}, {self.plan.spec.weight_lb} lb"
        return ""

    @property
    def serial(self) -> str:
        source = self.ball or self.plan
        return source.serial if source else ""

    @property
    def total(self) -> Decimal:
        """Price all in."""
        return self.price_ball + self.price_work + self.price_inserts + self.price_slug

    @property
    def due(self) -> Decimal:
        """What is left to pay; below nothing where the deposit was more."""
        return self.total - self.deposit

    @property
    def is_open(self) -> bool:
        return self.step not in (Step.COLLECTED, Step.OFF)

    @property
    def is_late(self) -> bool:
        return (
            self.step in (Step.WAITING, Step.PRESS)
            and self.promised_at is not None
            and self.promised_at < timezone.now()
        )

    @property
    def next_step(self) -> Step | None:
        """Where it goes from here."""
        order = [Step.WAITING, Step.PRESS, Step.READY, Step.COLLECTED]
        if self.step not in order[:-1]:
            return None
        return order[order.index(Step(self.step)) + 1]

    @property
    def step_before(self) -> Step | None:
        """Where it came from; a job that was called off starts again."""
        order = [Step.WAITING, Step.PRESS, Step.READY, Step.COLLECTED]
        if self.step == Step.OFF:
            return Step.WAITING
        place = order.index(Step(self.step))
        return order[place - 1] if place else None


class FollowUp(ShopRecord):
    """A customer was asked how it goes: about a new thumb, or about having grown."""

    class About(models.TextChoices):
        THUMB = "thumb", "New thumb"
        GROWTH = "growth", "Growing"

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="follow_ups")
    ticket = models.ForeignKey(
        Ticket, on_delete=models.CASCADE, null=True, blank=True, related_name="follow_ups"
    )
    about = models.CharField(max_length=8, choices=About)
    asked_on = models.DateField(default=timezone.localdate)
    words = models.CharField("what they said", max_length=300, blank=True)

    objects = FollowUpQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("-asked_on", "-pk")

    def __str__(self) -> str:
        return f"{self.get_about_display()}: {self.bowler}, {self.asked_on:%Y-%m-%d}"
