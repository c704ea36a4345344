"""Who is to be asked after: a new thumb two weeks on, and juniors who may have grown."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from django.db.models import Exists, OuterRef, Subquery
from django.utils import timezone

from arsenal.tickets.models import FollowUp, Ticket
from bowlers.grips.beside import GROWING_UNTIL
from bowlers.models import Bowler, Fitting, Grip
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


class Due(NamedTuple):
    """One that is due, by numbers alone: there may be hundreds, and a page shows some. ``key`` is
    that of the ticket of a thumb, of the customer who may have grown; ``last``: since when."""

    since: datetime.date
    about: str
    key: int
    last: datetime.date


def reminders(shop: Shop, bowler: Bowler | None = None) -> list[Reminder]:
    """All that are due, or those of one customer, longest due first: four queries."""
    return told(shop, due(shop, bowler))


def due(shop: Shop, bowler: Bowler | None = None) -> list[Due]:
    """As :func:`reminders`, by numbers: two queries."""
    return sorted([*_thumbs(shop, bowler), *_juniors(shop, bowler)], key=lambda one: one.since)


def told(shop: Shop, some: Sequence[Due]) -> list[Reminder]:
    """Some that are due, with their customers and in words: two queries."""
    thumbs = [one.key for one in some if one.about == FollowUp.About.THUMB]
    grown = [one.key for one in some if one.about == FollowUp.About.GROWTH]
    tickets = Ticket.objects.for_shop(shop).whole().in_bulk(thumbs)
    bowlers = Bowler.objects.for_shop(shop).in_bulk(grown)
    found = []
    for one in some:
        if one.about == FollowUp.About.THUMB and one.key in tickets:
            ticket = tickets[one.key]
            words = _of_a_thumb(ticket, one.last)
            found.append(Reminder(ticket.bowler, one.about, one.since, words, ticket))
        elif one.about == FollowUp.About.GROWTH and one.key in bowlers:
            bowler = bowlers[one.key]
            found.append(Reminder(bowler, one.about, one.since, _of_growth(bowler, one.last)))
    return found


def _thumbs(shop: Shop, bowler: Bowler | None) -> list[Due]:
    tickets = Ticket.objects.for_shop(shop)
    tickets = tickets.filter(bowler=bowler) if bowler else tickets
    waiting = tickets.new_thumbs_collected_before(timezone.now() - THUMB_AFTER)
    found = []
    for key, collected_at in waiting.values_list("pk", "collected_at"):
        day = timezone.localdate(collected_at)
        found.append(Due(day + THUMB_AFTER, FollowUp.About.THUMB, key, day))
    return found


def _of_a_thumb(ticket: Ticket, collected: datetime.date) -> str:
    return (
        f"A new thumb in {ticket.ball_words or 'a ball'}, collected "
        f"{(timezone.localdate() - collected).days} days ago: "
        "does it sit, rub or hurt? Pain, numbness or swelling means stop and see a medical "
        "professional."
    )


def _juniors(shop: Shop, bowler: Bowler | None) -> list[Due]:
    today = timezone.localdate()
    before = today - GROWTH_EVERY
    asked = FollowUp.objects.for_shop(shop).about_growth_since(before)
    people = Bowler.objects.for_shop(shop)
    people = people.filter(pk=bowler.pk) if bowler else people
    young = people.filter(born__gte=today.year - GROWING_UNTIL)
    grips = Grip.objects.filter(bowler=OuterRef("pk"))
    fittings = Fitting.objects.filter(bowler=OuterRef("pk"))
    # Most were measured lately, which rules them out; what is left is looked at more closely.
    rows = (
        young.exclude(pk__in=asked.values("bowler_id"))
        .filter(~Exists(grips.filter(measured_on__gt=before)))
        .annotate(
            measured=Subquery(grips.order_by("-measured_on").values("measured_on")[:1]),
            fitted=Subquery(fittings.order_by("-fitted_on").values("fitted_on")[:1]),
        )
    )
    return [
        Due(last + GROWTH_EVERY, FollowUp.About.GROWTH, key, last)
        for key, measured, fitted in rows.values_list("pk", "measured", "fitted")
        if (last := measured or fitted) is not None and last <= before
    ]


def _of_growth(bowler: Bowler, last: datetime.date) -> str:
    today = timezone.localdate()
    return (
        f"{today.year - (bowler.born or today.year)} this year, and the hand was last measured "
        f"{round((today - last).days / 30.4)} months ago: measure spans and thumb again, "
        "and ask whether the ball’s weight still fits."
    )
