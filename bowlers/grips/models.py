"""The grip of a hand: what was measured, when, and what hurt."""

from __future__ import annotations

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from simple_history.models import HistoricalRecords

from bowlers.grips.measures import BY_NAME
from bowlers.grips.querysets import GripQuerySet
from bowlers.holding import Fingers, Thumb
from proshop.models import ShopRecord


class SpanEdge(models.TextChoices):
    """Between which edges the spans were measured."""

    DRILLED = "drilled", "Edges of the holes as drilled in the ball"
    HELD = "held", "Where finger and thumb rest, inside insert and slug"


class Flexibility(models.TextChoices):
    STIFF = "stiff", "Stiff"
    ORDINARY = "ordinary", "Ordinary"
    SUPPLE = "supple", "Supple"


class Webbing(models.TextChoices):
    TIGHT = "tight", "Tight"
    ORDINARY = "ordinary", "Ordinary"
    LOOSE = "loose", "Loose"


class Hurt(models.TextChoices):
    """Where a grip hurts, or what else it does to a hand."""

    THUMB_BASE = "base of the thumb", "Base of the thumb"
    THUMB_KNUCKLE = "thumb knuckle", "Thumb knuckle"
    THUMB_SKIN = "skin of the thumb", "Skin of the thumb"
    WEB = "web of the thumb", "Web of the thumb"
    FINGERS = "fingers", "Fingers"
    PALM = "palm", "Palm"
    WRIST = "wrist", "Wrist"
    ELBOW = "forearm or elbow", "Forearm or elbow"
    NUMB = "numbness", "Numbness or tingling"
    SWELLING = "swelling", "Swelling"


def _number(name: str, *, null: bool = False, **options: Any) -> Any:
    measure = BY_NAME[name]
    bounds = [MinValueValidator(measure.low), MaxValueValidator(measure.high)]
    kind = models.PositiveSmallIntegerField if measure.unit == "pieces" else models.FloatField
    if null:
        options |= {"null": True, "blank": True}
    return kind(measure.label.lower(), validators=bounds, **options)


class Grip(ShopRecord):
    """One hand's measures on one day; the newest that fits how the ball is held is in use.

    Signs are those of the grip frame, the same for either hand: a forward pitch brings the bottom
    of the hole toward the palm, a lateral one and the oval's angle lean to the PAP side. Without
    a thumb spans run to the palm mark, which is the grip centre PAP and layout are counted from.
    """

    bowler = models.ForeignKey("bowlers.Bowler", on_delete=models.CASCADE, related_name="grips")
    measured_on = models.DateField(default=timezone.localdate)
    thumb = models.CharField(max_length=4, choices=Thumb, default=Thumb.IN)
    fingers = models.CharField(max_length=12, choices=Fingers, default=Fingers.FINGERTIP)
    span_edge = models.CharField(
        "spans measured between", max_length=8, choices=SpanEdge, default=SpanEdge.DRILLED
    )
    span_middle_in = _number("span_middle_in")
    span_ring_in = _number("span_ring_in")
    bridge_in = _number("bridge_in")
    middle_hole_in = _number("middle_hole_in")
    middle_inside_in = _number("middle_inside_in", null=True)
    middle_depth_in = _number("middle_depth_in")
    middle_forward_in = _number("middle_forward_in", default=0.0)
    middle_lateral_in = _number("middle_lateral_in", default=0.0)
    ring_hole_in = _number("ring_hole_in")
    ring_inside_in = _number("ring_inside_in", null=True)
    ring_depth_in = _number("ring_depth_in")
    ring_forward_in = _number("ring_forward_in", default=0.0)
    ring_lateral_in = _number("ring_lateral_in", default=0.0)
    thumb_hole_in = _number("thumb_hole_in", null=True)
    thumb_inside_in = _number("thumb_inside_in", null=True)
    thumb_depth_in = _number("thumb_depth_in", null=True)
    thumb_forward_in = _number("thumb_forward_in", default=0.0)
    thumb_lateral_in = _number("thumb_lateral_in", default=0.0)
    oval_width_in = _number("oval_width_in", null=True)
    oval_depth_in = _number("oval_depth_in", null=True)
    oval_angle_deg = _number("oval_angle_deg", default=0.0)
    finger_bevel_in = _number("finger_bevel_in", null=True)
    thumb_bevel_in = _number("thumb_bevel_in", null=True)
    tape_front = _number("tape_front", null=True)
    tape_back = _number("tape_back", null=True)
    flexibility = models.CharField(
        "flexibility of the thumb", max_length=8, choices=Flexibility, blank=True
    )
    webbing = models.CharField(max_length=8, choices=Webbing, blank=True)
    # Values of Hurt, joined by commas: so they read in the history too.
    hurts = models.CharField("where it hurts", max_length=240, blank=True)
    hurts_words = models.TextField("what hurts, in the customer’s words", blank=True)
    to_change = models.TextField("what this grip changes because of it", blank=True)
    copied_from = models.CharField(max_length=160, blank=True)
    notes = models.TextField(blank=True)

    objects = GripQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("-measured_on", "-pk")
        indexes = (
            models.Index(fields=["bowler", "-measured_on", "-id"], name="grip_newest_first"),
        )

    def __str__(self) -> str:
        return f"Grip of {date_format(self.measured_on, 'j F Y')}"

    def get_absolute_url(self) -> str:
        return reverse("grip", args=[self.pk])

    @property
    def hurt_places(self) -> list[str]:
        return [place for place in self.hurts.split(", ") if place]

    @property
    def is_painful(self) -> bool:
        return bool(self.hurts or self.hurts_words.strip())

    @property
    def stops_copying(self) -> bool:
        """It hurts and nobody has said yet what is to change: no ball is drilled like it."""
        return self.is_painful and not self.to_change.strip()

    @property
    def hurt_words(self) -> str:
        """Where it hurts, with the customer's own words: "wrist (after two games)"."""
        places = ", ".join(self.hurt_places)
        words = self.hurts_words.strip()
        if places and words:
            return f"{places} (“{words}”)"
        return places or (f"“{words}”" if words else "")
