"""An observation: what one ball did on one condition on one day."""

from __future__ import annotations

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from django.utils import timezone
from simple_history.models import HistoricalRecords

from arsenal.afterwards.querysets import ObservationQuerySet
from arsenal.bag.models import OwnedBall
from arsenal.catalogue.models import Finish
from arsenal.lanes.models import GAMES_ON_OIL, Condition
from bowlers.models import Bowler
from proshop.models import ShopRecord

GAMES = (1, 60)
LANE_BOARDS = (1.0, 39.0)
BREAK_FT = (15.0, 60.0)
GAMES_PLAYED = (0, 2000)
MOST_LEAVES = 30


class Motion(models.TextChoices):
    """How the ball finished, as bowlers say it."""

    QUIT = "quit", "Moved and quit"
    NEVER = "never", "Never moved"


class Look(models.TextChoices):
    """How the shape of its reaction looked."""

    ROLLY = "rolly", "Too rolly"
    RIGHT = "right", "Just right"
    ANGULAR = "angular", "Too angular"


def _board(label: str) -> models.FloatField[float | str | None, float | None]:
    return models.FloatField(
        label,
        null=True,
        blank=True,
        validators=[MinValueValidator(LANE_BOARDS[0]), MaxValueValidator(LANE_BOARDS[1])],
    )


def _games(label: str) -> models.PositiveSmallIntegerField[int, int]:
    return models.PositiveSmallIntegerField(
        label, default=0, validators=[MaxValueValidator(GAMES_PLAYED[1])]
    )


class Observation(ShopRecord):
    """What was seen of one ball on one condition on one day; what nobody noticed is left empty.

    Boards are the bowler's own. ``leaves`` is a list of leaves by their pins ("10", "4-9").
    ``finish`` and the games since care are the ball's as it was thrown, whatever was done to it
    since. One that is ``set_aside`` counts for nothing and can be brought back. ``evidence`` is the
    engine's reading of all this, kept so that it needn't be computed again; never edited. By which
    model it was read, and by a key of everything it was read from, stands in columns of their own.
    ``expected``: its numbers beside what all the other observations had one expect.
    """

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="observations")
    ball = models.ForeignKey(OwnedBall, on_delete=models.CASCADE, related_name="observations")
    condition = models.ForeignKey(Condition, on_delete=models.PROTECT, related_name="observations")
    seen_on = models.DateField("date", default=timezone.localdate)
    games = models.PositiveSmallIntegerField(
        "games bowled",
        default=3,
        validators=[MinValueValidator(GAMES[0]), MaxValueValidator(GAMES[1])],
    )
    games_on_oil = models.PositiveSmallIntegerField(
        "games on the oil before",
        default=0,
        validators=[MinValueValidator(GAMES_ON_OIL[0]), MaxValueValidator(GAMES_ON_OIL[1])],
    )
    finish = models.CharField(max_length=10, choices=Finish)
    games_since_finish = _games("games since the finish was done")
    games_since_oil_drawn = _games("games since oil was drawn out")
    games_since_cleaned = _games("games since it was cleaned")
    laydown_board = _board("laydown board")
    target_board = _board("board at the arrows")
    entry_board = _board("board at the pins")
    break_board = _board("breakpoint board")
    break_ft = models.FloatField(
        "breakpoint distance",
        null=True,
        blank=True,
        validators=[MinValueValidator(BREAK_FT[0]), MaxValueValidator(BREAK_FT[1])],
    )
    leaves = models.JSONField(default=list, blank=True)
    motion = models.CharField("how it finished", max_length=5, choices=Motion, blank=True)
    look = models.CharField("how it looked", max_length=7, choices=Look, blank=True)
    remark = models.TextField(blank=True, max_length=2000)
    set_aside = models.BooleanField(default=False)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    evidence = models.JSONField(null=True, blank=True, editable=False)
    evidence_model = models.CharField(max_length=40, blank=True, default="", editable=False)
    evidence_key = models.CharField(max_length=64, blank=True, default="", editable=False)
    expected = models.JSONField(null=True, blank=True, editable=False)

    objects = ObservationQuerySet.as_manager()
    history = HistoricalRecords(
        excluded_fields=["evidence", "evidence_model", "evidence_key", "expected"]
    )

    class Meta:
        ordering = ("-seen_on", "-pk")
        indexes = (
            models.Index(fields=["shop", "-seen_on", "-id"], name="observation_newest_first"),
        )

    def __str__(self) -> str:
        return f"{self.ball} on {self.condition.name}, {self.seen_on:%-d %b %Y}"

    def get_absolute_url(self) -> str:
        return reverse("afterwards", args=[self.bowler_id])

    @property
    def said(self) -> list[str]:
        """What was seen, a phrase each."""
        told: list[str] = []
        if self.entry_board is not None:
            told.append(f"entered at board {self.entry_board:g}")
        if self.break_board is not None or self.break_ft is not None:
            where = [f"board {self.break_board:g}"] if self.break_board is not None else []
            where += [f"{self.break_ft:g} ft"] if self.break_ft is not None else []
            told.append("turned at " + ", ".join(where))
        if self.leaves:
            told.append("left " + ", ".join(self.leaves))
        told += [self.get_motion_display().lower()] if self.motion else []
        told += [self.get_look_display().lower()] if self.look else []
        return told
