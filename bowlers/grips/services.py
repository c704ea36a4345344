"""Writes of grips, and what a new one starts from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils.formats import date_format

from bowlers.grips.forms import GripForm
from bowlers.grips.measures import MEASURES
from bowlers.grips.models import Grip
from bowlers.grips.starting import prefilled
from bowlers.holding import Thumb
from bowlers.models import Bowler

OF_THE_HAND = ("flexibility", "webbing", "hurts", "hurts_words")


@dataclass(frozen=True)
class Beginning:
    """What a new grip's form is filled with, and where that is from.

    ``copied`` are the numbers it was copied from: none when they are starting points only.
    ``painful`` is the grip on record that hurts, if one does.
    """

    initial: dict[str, Any]
    copied: dict[str, Any] | None
    copied_from: str
    painful: Grip | None


def numbers_of(grip: Grip) -> dict[str, Any]:
    return {measure.name: getattr(grip, measure.name) for measure in MEASURES}


def latest_grip(bowler: Bowler) -> Grip | None:
    found: Grip | None = bowler.grips.newest_first().first()
    return found


def painful_grip(bowler: Bowler) -> Grip | None:
    """The grip on record while it hurts and nobody has said what is to change."""
    latest = latest_grip(bowler)
    return latest if latest is not None and latest.stops_copying else None


def beginning(
    bowler: Bowler, *, copied: dict[str, Any] | None = None, copied_from: str = ""
) -> Beginning:
    """From the numbers copied, else the latest grip held this way, else starting points."""
    last = latest_grip(bowler)
    how = {"thumb": bowler.thumb, "fingers": bowler.fingers}
    hand = {name: getattr(last, name) for name in OF_THE_HAND} if last else {}
    painful = last if last is not None and last.is_painful else None
    if copied is None and last and (last.thumb, last.fingers) == (bowler.thumb, bowler.fingers):
        copied = {**numbers_of(last), "span_edge": last.span_edge}
        copied_from = f"the grip of {date_format(last.measured_on, 'j F Y')}"
    if copied is not None:
        return Beginning({**how, **hand, **copied}, copied, copied_from, painful)
    begin = prefilled(bowler.fingers, thumb=bowler.thumb != Thumb.NONE)
    return Beginning({**how, **hand, **begin}, None, "", painful)


@transaction.atomic
def save_grip(*, form: GripForm, copied_from: str = "") -> Grip:
    """Keep a grip; a new one remembers what it was copied from."""
    if form.instance.pk is None:
        form.instance.copied_from = copied_from
    grip: Grip = form.save()
    return grip
