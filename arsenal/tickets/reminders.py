"""Who is to be asked after: a new thumb two weeks on, and juniors who may have grown."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Max, Q
from django.utils import timezone

from arsenal.tickets.models import FollowUp, Ticket
from bowlers.grips.beside import GROWING_UNTIL
from bowlers.models import Bowler
from proshop.models import Shop

THUMB_AFTER = datetime.timedelta(days=14)
# A season's half: how far a span grows in it varies (common practice, no source).
GROWTH_EVERY = datetime.timedelta(days=120)


@dataclass(frozen=True)
class Reminder:
    """Whom to ask, about what, since when, in words."""

    bowler: Bowler
    about: str
    since: datetime.date
    words: str
    ticket: Ticket | None = None


def reminders(shop: Shop) -> list[Reminder]:
    """All that are due, longest due first: two queries."""
    return sorted([*_thumbs(shop), *_juniors(shop)], key=lambda reminder: reminder.since)


def _thumbs(shop: Shop) -> Sequence[Reminder]:
    tickets = Ticket.objects.for_shop(shop).whole()
    return [
        Reminder(
            bowler=ticket.bowler,
            about=FollowUp.About.THUMB,
            since=timezone.localdate(ticket.collected_at) + THUMB_AFTER,
            words=f"A new thumb in {ticket.ball_words or 'a ball'}, collected "
            f"{(timezone.localdate() - timezone.localdate(ticket.collected_at)).days} days ago: "
            "does it sit, rub or hurt? Pain, numbness or swelling means stop and see a medical "
            "professional.",
            ticket=ticket,
        )
        for ticket in tickets.new_thumbs_collected_before(timezone.now() - THUMB_AFTER)
    ]


def _juniors(shop: Shop) -> Sequence[Reminder]:
    today = timezone.localdate()
    before = today - GROWTH_EVERY
    asked = FollowUp.objects.for_shop(shop).about_growth_since(before)
    young = Bowler.objects.for_shop(shop).filter(born__gte=today.year - GROWING_UNTIL)
    measured = young.annotate(measured=Max("grips__measured_on"), fitted=Max("fittings__fitted_on"))
    found = measured.filter(Q(measured__lte=before) | Q(measured=None, fitted__lte=before))
    rows = []
    for bowler in found.exclude(pk__in=asked.values("bowler_id")):
        last = bowler.measured or bowler.fitted
        rows.append(
            Reminder(
                bowler=bowler,
                about=FollowUp.About.GROWTH,
                since=last + GROWTH_EVERY,
                words=f"{today.year - bowler.born} this year, and the hand was last measured "
                f"{round((today - last).days / 30.4)} months ago: measure spans and thumb again, "
                "and ask whether the ball’s weight still fits.",
            )
        )
    return rows
