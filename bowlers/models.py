"""Customers, fittings and deliveries."""

import math
import unicodedata
import uuid
from collections.abc import Iterable
from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from django.utils import timezone
from simple_history.models import HistoricalRecords

from bowlers.duplicates.models import CustomerMerge, ToldApart
from bowlers.grips.models import Grip
from bowlers.holding import Fingers, Hand, Hands, Thumb
from bowlers.instruments import BOXES, RING, read_of
from bowlers.phones import ending_key
from bowlers.privacy.models import Erasure
from bowlers.querysets import BowlerQuerySet, DeliveryQuerySet, FittingQuerySet
from bowlers.readings import BY_NAME, READINGS
from proshop.models import ShopRecord

__all__ = [
    "AtSpares",
    "Bowler",
    "CustomerMerge",
    "Delivery",
    "Erasure",
    "Fingers",
    "Fitting",
    "Grip",
    "Hand",
    "Hands",
    "Thumb",
    "ToldApart",
]

HIGHEST_AVERAGE = 300
EARLIEST_BIRTH_YEAR = 1900
LONGEST_KEY = 240
LONGEST_PHONE = 40
LONGEST_LEAGUE = 60
LONGEST_CONSENT = 300

# Letters that Unicode doesn't decompose into a base letter and an accent.
WHOLE_LETTERS = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "æ": "ae"})


def search_key(text: str) -> str:
    """A name as people type it in a hurry: no capitals, no accents, single spaces.

    Kept in a column because SQLite folds the case of ASCII letters only.
    """
    plain_text = unicodedata.normalize("NFKD", text.replace("\0", ""))
    folded = unicodedata.normalize("NFKD", plain_text.casefold())
    plain = "".join(mark for mark in folded if not unicodedata.combining(mark))
    return " ".join(plain.translate(WHOLE_LETTERS).replace("ı", "i").split())[:LONGEST_KEY].rstrip()


class AtSpares(models.TextChoices):
    """With what release a bowler throws at spares while none was measured for them."""

    ASSUMED = "assumed", "Not known: flatter, assumed"
    USUAL = "usual", "The usual one"


class Bowler(ShopRecord):
    """A customer of the shop who bowls."""

    name = models.CharField(max_length=120)
    search_key = models.CharField(max_length=LONGEST_KEY, editable=False, db_index=True)
    phone = models.CharField(max_length=LONGEST_PHONE, blank=True)
    # Its digits from the last to the first: see bowlers.phones.
    phone_key = models.CharField(max_length=LONGEST_PHONE, blank=True, editable=False)
    hand = models.CharField(max_length=5, choices=Hand, default=Hand.RIGHT)
    thumb = models.CharField(max_length=4, choices=Thumb, default=Thumb.IN)
    hands = models.CharField(max_length=3, choices=Hands, default=Hands.ONE)
    fingers = models.CharField(max_length=12, choices=Fingers, default=Fingers.FINGERTIP)
    at_spares = models.CharField(
        max_length=8, choices=AtSpares, default=AtSpares.ASSUMED, verbose_name="release at spares"
    )
    average = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MaxValueValidator(HIGHEST_AVERAGE)]
    )
    born = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(EARLIEST_BIRTH_YEAR)]
    )
    # The league they bowl in most: customers of one meet the same lanes.
    league = models.CharField(max_length=LONGEST_LEAGUE, blank=True)
    goal = models.TextField(blank=True)
    complaint = models.TextField(blank=True)
    notes = models.TextField(blank=True)
    # What they agreed may be kept of them and done with it, in words, and the day they did.
    agreed_to = models.CharField(max_length=LONGEST_CONSENT, blank=True)
    agreed_on = models.DateField(null=True, blank=True)
    is_demo = models.BooleanField(default=False, editable=False)

    objects = BowlerQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("search_key", "pk")
        indexes = (
            models.Index(fields=["shop", "search_key", "id"], name="customer_by_name"),
            models.Index(fields=["shop", "phone_key"], name="customer_by_phone_ending"),
        )

    def __str__(self) -> str:
        return self.name

    def set_keys(self) -> None:
        """What customers are found by, of what is written."""
        self.search_key, self.phone_key = search_key(self.name), ending_key(self.phone)

    def save(
        self,
        *args: Any,
        update_fields: Iterable[str] | None = None,
        **kwargs: Any,
    ) -> None:
        self.set_keys()
        if update_fields is not None:
            keys = {"name": "search_key", "phone": "phone_key"}
            update_fields = {*update_fields, *(keys[n] for n in update_fields if n in keys)}
        super().save(*args, update_fields=update_fields, **kwargs)

    def get_absolute_url(self) -> str:
        return reverse("customer", args=[self.pk])


class Fitting(ShopRecord):
    """One visit on which deliveries were measured."""

    class Status(models.TextChoices):
        DRAFT = "draft", "Draft"
        FINISHED = "finished", "Finished"

    class Purpose(models.TextChoices):
        USUAL = "usual", "Usual release"
        SPARES = "spares", "Release for spares"
        OTHER = "other", "Another release they have"

    class Method(models.TextChoices):
        THROWN = "thrown", "Deliveries thrown here"
        NO_THROW = "no_throw", "No throw: old ball, display, video, average"

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="fittings")
    fitted_on = models.DateField(default=timezone.localdate)
    status = models.CharField(max_length=8, choices=Status, default=Status.DRAFT)
    # A bowler may throw at spares in another way than at a full rack, and have another release for
    # some conditions, as more rotation on heavy oil: each is measured by itself.
    purpose = models.CharField(
        max_length=8, choices=Purpose, default=Purpose.USUAL, verbose_name="release measured"
    )
    release_note = models.CharField("what another release is for", max_length=80, blank=True)
    method = models.CharField(
        max_length=8, choices=Method, default=Method.THROWN, verbose_name="measured from"
    )
    # By quantity, as in bowlers.instruments; what isn't named is typed as a number.
    instruments = models.JSONField(default=dict, blank=True)
    notes = models.TextField(blank=True)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True
    )

    objects = FittingQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("-fitted_on", "-pk")
        indexes = (
            models.Index(
                fields=["shop", "status", "-fitted_on", "-id"], name="fitting_newest_first"
            ),
        )

    def __str__(self) -> str:
        return f"Fitting of {self.bowler} on {self.fitted_on:%Y-%m-%d}"

    def get_absolute_url(self) -> str:
        return reverse("fitting", args=[self.pk])

    @property
    def is_for_spares(self) -> bool:
        return self.purpose == self.Purpose.SPARES

    @property
    def release_mark(self) -> str:
        """Which release was measured, where it isn't the usual one: "release for spares"."""
        if self.purpose == self.Purpose.USUAL:
            return ""
        if self.is_for_spares:
            return "release for spares"
        return f"another release: {self.release_note}" if self.release_note else "another release"

    @property
    def release_word(self) -> str:
        return "release for spares" if self.is_for_spares else "other release"

    @property
    def is_without_throw(self) -> bool:
        return self.method == self.Method.NO_THROW

    @property
    def is_finished(self) -> bool:
        return self.status == self.Status.FINISHED


def _reading_field() -> "models.FloatField[float | str | None, float | None]":
    return models.FloatField(null=True, blank=True)


class Delivery(ShopRecord):
    """One throw as it was read. A reading not taken is null: the row is then half-filled."""

    fitting = models.ForeignKey(Fitting, on_delete=models.CASCADE, related_name="deliveries")
    # The page names the row before it is stored, so the same row sent twice is one delivery.
    row_key = models.UUIDField(default=uuid.uuid4, editable=False)
    order = models.PositiveIntegerField()
    speed_mph = _reading_field()
    rev_rate_rpm = _reading_field()
    rotation_deg = _reading_field()
    tilt_deg = _reading_field()
    pap_over_in = _reading_field()
    pap_up_in = _reading_field()
    # What the instruments showed, as a shot of `python -m physics measure`, and how well the
    # readings above are known by it: see bowlers.engine.measuring. Empty where they were typed.
    # Of a fitting without a throw it is the whole case of that command.
    raw = models.JSONField(default=dict, blank=True, editable=False)
    errors = models.JSONField(default=dict, blank=True, editable=False)
    dropped = models.BooleanField(default=False)
    # Someone looked at unusual readings and said they are right.
    confirmed = models.BooleanField(default=False)

    objects = DeliveryQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("order", "pk")
        verbose_name_plural = "deliveries"
        constraints = (
            models.UniqueConstraint(fields=["fitting", "row_key"], name="one_delivery_per_row"),
            *(
                models.CheckConstraint(
                    condition=models.Q(**{f"{reading.name}__isnull": True})
                    | models.Q(
                        **{
                            f"{reading.name}__gte": reading.low,
                            f"{reading.name}__lte": reading.high,
                        }
                    ),
                    name=f"delivery_{reading.name}_possible",
                )
                for reading in READINGS
            ),
        )

    def __str__(self) -> str:
        return f"Delivery {self.order}"

    @property
    def readings(self) -> dict[str, float | None]:
        return {name: getattr(self, name) for name in BY_NAME}

    @property
    def table_cells(self) -> list[str]:
        """The six readings for a table, with standard errors where an instrument gave them."""
        cells = []
        for name, reading in BY_NAME.items():
            value, error = getattr(self, name), self.errors.get(name)
            shown = "—" if value is None else reading.number(value)
            if value is not None and error is not None:
                label, unit = f"{reading.label} ", reading.unit_suffix
                whole = reading.with_error(value, math.hypot(error["own"], error["shared"]))
                shown = whole.removeprefix(label).removesuffix(unit)
            cells.append(shown)
        return cells

    @property
    def raw_words(self) -> str:
        """What the instruments showed: "Display 15.5 mph; Frames, revs 40"."""
        points = len(self.raw.get(RING, []))
        found = [BOXES[name].label_text(value) for name, value in read_of(self.raw).items()]
        return "; ".join(found + ([f"{points} points of the first ring"] if points else []))

    @property
    def derived_words(self) -> list[str]:
        """What was worked out of raw readings, with standard errors: "Speed 17.4 ± 0.3 mph"."""
        return [
            BY_NAME[name].with_error(value, math.hypot(error["own"], error["shared"]))
            for name in BY_NAME
            if (error := self.errors.get(name)) and (value := getattr(self, name)) is not None
        ]

    @property
    def missing(self) -> list[str]:
        """Labels of the readings not taken."""
        return [BY_NAME[name].label for name, value in self.readings.items() if value is None]

    @property
    def is_complete(self) -> bool:
        return not self.missing

    @property
    def questions(self) -> list[str]:
        """Readings that are possible but unusual, asked about until someone says they are right."""
        if self.confirmed or self.dropped:
            return []
        return [
            f"{BY_NAME[name].label} {BY_NAME[name].text(value)}: is that right?"
            for name, value in self.readings.items()
            if value is not None and not BY_NAME[name].is_usual(value)
        ]
