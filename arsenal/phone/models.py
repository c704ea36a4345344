"""A customer's private link, what their page says of the lanes, and what they report from there."""

from __future__ import annotations

import base64
import hashlib
import secrets
from datetime import date
from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from django.utils import timezone
from django.utils.crypto import salted_hmac
from simple_history.models import HistoricalRecords

from arsenal.advice.models import Ranking
from arsenal.afterwards.models import GAMES, Look, Motion, Observation
from arsenal.bag.models import OwnedBall
from arsenal.lanes.models import Condition
from bowlers.models import Bowler
from proshop.models import ShopRecord

# A season, by default and at most.
SEASON_DAYS, MOST_DAYS = 300, 400
NAME_LENGTH = 40


def digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


class PhoneLink(ShopRecord):
    """A customer's link: at most one, good until a day or until it is taken back.

    The token in the address is made from ``nonce`` and the site's secret key (256 bits of HMAC), so
    that staff can show it again; only its digest is stored, which is what it is looked up by.
    """

    bowler = models.OneToOneField(Bowler, on_delete=models.CASCADE, related_name="phone_link")
    nonce = models.CharField(max_length=64, editable=False)
    token_digest = models.CharField(max_length=64, unique=True, editable=False)
    shown_name = models.CharField("name shown", max_length=NAME_LENGTH, blank=True)
    shares_next_ball = models.BooleanField("show the next ball", default=False)
    takes_reports = models.BooleanField("take reports", default=True)
    good_until = models.DateField("good until")
    revoked_at = models.DateTimeField(null=True, editable=False)
    opened_on = models.DateField(null=True, editable=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    history = HistoricalRecords(excluded_fields=["nonce", "token_digest", "opened_on"])

    def __str__(self) -> str:
        return f"Phone page of {self.bowler}"

    def get_absolute_url(self) -> str:
        return reverse("phone-link", args=[self.bowler_id])

    def renew_token(self) -> None:
        """Another address; the old one is dead once this is saved."""
        self.nonce = secrets.token_urlsafe(32)
        self.token_digest = digest(self._made())
        self.revoked_at = None

    @property
    def token(self) -> str | None:
        """The token, or None where it can't be made again since the site has another secret key."""
        made = self._made()
        return made if digest(made) == self.token_digest else None

    @property
    def is_open(self) -> bool:
        return self.revoked_at is None and self.good_until >= timezone.localdate()

    def state(self, today: date | None = None) -> str:
        """``open``, ``ended`` or ``revoked``."""
        if self.revoked_at is not None:
            return "revoked"
        return "open" if self.good_until >= (today or timezone.localdate()) else "ended"

    def _made(self) -> str:
        made = salted_hmac("arsenal.phone.link", self.nonce, algorithm="sha256").digest()
        return base64.urlsafe_b64encode(made).decode().rstrip("=")


class PhoneSheet(ShopRecord):
    """What staff found at the counter and put on a customer's page, in words as they saw it.

    A plan for a night, or two balls side by side; another about the same takes its place.
    """

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="phone_sheets")
    heading = models.TextField()
    lines = models.JSONField()
    closing = models.TextField(blank=True)
    shown_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ("-updated_at", "-pk")

    def __str__(self) -> str:
        return self.heading


class LanesAdvice(models.Model):
    """What to do on the lanes, worked out from a ranking's inputs (``engine.on_the_lanes``)."""

    ranking = models.OneToOneField(Ranking, on_delete=models.CASCADE, related_name="lanes_advice")
    rows = models.JSONField()
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "advice for the lanes"
        verbose_name_plural = "advice for the lanes"

    def __str__(self) -> str:
        return f"On the lanes: {self.ranking}"


class PhoneReport(ShopRecord):
    """What a bowler saw and sent from their page; counts for nothing until staff take it over."""

    class Status(models.TextChoices):
        WAITING = "waiting", "Waiting"
        ACCEPTED = "accepted", "Taken over"
        DROPPED = "dropped", "Not used"

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="phone_reports")
    form_token = models.UUIDField(unique=True, editable=False)
    ball = models.ForeignKey(OwnedBall, on_delete=models.CASCADE, related_name="+")
    condition = models.ForeignKey(Condition, on_delete=models.CASCADE, related_name="+")
    seen_on = models.DateField("day", default=timezone.localdate)
    games = models.PositiveSmallIntegerField(
        "games bowled",
        default=3,
        validators=[MinValueValidator(GAMES[0]), MaxValueValidator(GAMES[1])],
    )
    leaves = models.JSONField(default=list, blank=True)
    motion = models.CharField("how it finished", max_length=5, choices=Motion, blank=True)
    look = models.CharField("how it looked", max_length=7, choices=Look, blank=True)
    remark = models.CharField(max_length=500, blank=True)
    status = models.CharField(max_length=8, choices=Status, default=Status.WAITING)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    decided_at = models.DateTimeField(null=True)
    observation = models.OneToOneField(
        Observation, on_delete=models.SET_NULL, null=True, related_name="phone_report"
    )

    history = HistoricalRecords(excluded_fields=["form_token"])

    class Meta:
        ordering = ("-created_at", "-pk")

    def __str__(self) -> str:
        return f"{self.ball} on {self.condition.name}, {self.seen_on:%-d %b %Y}"

    @property
    def said(self) -> list[str]:
        """What was seen, a phrase each."""
        told: list[Any] = [f"left {', '.join(self.leaves)}"] if self.leaves else []
        told += [self.get_motion_display().lower()] if self.motion else []
        told += [self.get_look_display().lower()] if self.look else []
        return told
