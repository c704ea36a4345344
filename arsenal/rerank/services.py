"""Putting every customer of a shop in line, and saying how far they are.

Putting in line is idempotent twice over: a customer is entered once on each occasion, and the same
inputs are one ranking with one job however often they are asked for. So whoever was interrupted
starts again, and any number may ask at once.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.db.models import Count, Q
from django.utils import timezone

from arsenal import engine
from arsenal.advice.models import Ranking
from arsenal.advice.services import (
    LATER,
    UNCLAIMED,
    answer_to,
    nobody_at_work,
    question_for,
    request_ranking,
    revive_silent,
)
from arsenal.kept import store
from arsenal.rerank.models import Rerank, RerankEntry
from bowlers.models import Bowler

if TYPE_CHECKING:
    from django.contrib.auth.models import User

    from proshop.models import Shop

logger = logging.getLogger(__name__)

# Occasions kept of each shop, and rows told of by name.
KEPT, TOLD = 14, 50
# As many must be done before the pace of the rest is told.
ENOUGH_FOR_PACE = 3
Said = Callable[[str], None]


@dataclass(frozen=True)
class Standing:
    """How many customers are where. ``fresh``: their answer held already when it was asked."""

    fresh: int = 0
    waiting: int = 0
    running: int = 0
    done: int = 0
    failed: int = 0
    left_out: int = 0

    @property
    def to_come(self) -> int:
        return self.waiting + self.running

    @property
    def ended(self) -> int:
        """Those in line who needn't be waited for."""
        return self.fresh + self.done + self.failed

    @property
    def in_line(self) -> int:
        return self.ended + self.to_come

    @property
    def total(self) -> int:
        return sum(getattr(self, field.name) for field in fields(self))

    def __add__(self, other: Standing) -> Standing:
        return Standing(
            **{f.name: getattr(self, f.name) + getattr(other, f.name) for f in fields(self)}
        )

    def words(self) -> str:
        return (
            f"{self.waiting} waiting, {self.running} running, {self.done} done, "
            f"{self.failed} failed, {self.fresh} held already, {self.left_out} left out"
        )


def start(*, shop: Shop, user: User | None = None, stale_only: bool = False) -> Rerank:
    """A new occasion, with nobody in line yet; the oldest ones, and solved pieces that nobody has
    used for long, are forgotten."""
    store.throw_away_unused()
    rerank: Rerank = Rerank.objects.create(
        shop=shop, asked_by=user, stale_only=stale_only, asked_at=timezone.now()
    )
    old = list(Rerank.objects.filter(shop=shop).values_list("pk", flat=True)[KEPT:])
    Rerank.objects.filter(pk__in=old).delete()
    return rerank


def gather(rerank: Rerank, tell: Said | None = None) -> Standing:
    """Put every customer in line who isn't yet; safe to be stopped, repeated, and run twice."""
    entered = rerank.entries.values("bowler_id")
    bowlers = Bowler.objects.for_shop(rerank.shop).exclude(pk__in=entered).select_related("shop")
    for bowler in bowlers.order_by("pk"):
        _enter(rerank, bowler)
        if tell is not None:
            tell(bowler.name)
    Rerank.objects.filter(pk=rerank.pk, gathered_at=None).update(gathered_at=timezone.now())
    rerank.refresh_from_db()
    return standing(rerank)


def _enter(rerank: Rerank, bowler: Bowler) -> None:
    """One customer: their ranking, or why there can't be one. Never stops the others."""
    ranking, why = None, ""
    try:
        with transaction.atomic():
            ranking = _ranking_for(rerank, bowler)
            if ranking is None:
                return
    except engine.Missing as incomplete:
        if rerank.stale_only:
            return
        why = f"Still to be recorded: {incomplete}."
    except Exception as trouble:
        logger.exception("Customer %s could not be put in line", bowler.pk)
        why = f"Their record couldn't be read ({type(trouble).__name__}: {trouble})."
    RerankEntry.objects.get_or_create(
        rerank=rerank, bowler=bowler, defaults={"ranking": ranking, "why": why}
    )


def _ranking_for(rerank: Rerank, bowler: Bowler) -> Ranking | None:
    """The one ranking of today's question, put in line behind whoever waits at the counter."""
    if rerank.stale_only and not Ranking.objects.for_bowler(bowler).exists():
        return None
    question = question_for(bowler)
    found = answer_to(bowler=bowler, question=question)
    if rerank.stale_only and found is not None and found.is_done:
        return None
    return request_ranking(bowler=bowler, question=question, user=rerank.asked_by, priority=LATER)


def standing(rerank: Rerank) -> Standing:
    """How many customers are where, in one query."""
    status = "ranking__status"
    fresh = Q(**{status: "done"}, ranking__finished_at__lte=rerank.asked_at)
    counts: dict[str, Any] = rerank.entries.aggregate(
        fresh=Count("pk", filter=fresh),
        waiting=Count("pk", filter=Q(**{status: "waiting"})),
        running=Count("pk", filter=Q(**{status: "running"})),
        done=Count("pk", filter=Q(**{status: "done"}) & ~fresh),
        failed=Count("pk", filter=Q(**{status: "failed"})),
        left_out=Count("pk", filter=Q(ranking=None)),
    )
    return Standing(**counts)


def failed(rerank: Rerank) -> list[Ranking]:
    """The rankings that failed; ``error`` says why."""
    rankings = Ranking.objects.filter(rerank_entries__rerank=rerank, status="failed").light()
    return list(rankings.select_related("bowler").order_by("bowler__search_key", "pk")[:TOLD])


def left_out(rerank: Rerank) -> list[RerankEntry]:
    """Customers who couldn't be put in line; ``why`` says what is missing."""
    entries = rerank.entries.filter(ranking=None).select_related("bowler")
    return list(entries.order_by("bowler__search_key", "pk")[:TOLD])


def is_under_way(rerank: Rerank) -> bool:
    """Whether anybody is still to be put in line, or to be ranked."""
    to_come = rerank.entries.filter(ranking__status__in=("waiting", "running"))
    return rerank.gathered_at is None or to_come.exists()


def nobody_picked_up(rerank: Rerank) -> bool:
    """Under way for a while, and no sign of a worker."""
    return (
        timezone.now() - rerank.asked_at > UNCLAIMED and is_under_way(rerank) and nobody_at_work()
    )


def look_after(rerank: Rerank) -> None:
    """Put right what dead workers left of this occasion; called whenever somebody looks."""
    revive_silent(rankings=Ranking.objects.filter(rerank_entries__rerank=rerank))


def left_s(rerank: Rerank, now: Standing) -> float | None:
    """Seconds to go at the pace so far; None until a few are done."""
    if now.done < ENOUGH_FOR_PACE or not now.to_come:
        return None
    taken = (timezone.now() - rerank.asked_at).total_seconds()
    return taken / now.done * now.to_come


def left_words(rerank: Rerank, now: Standing) -> str:
    """The same in words; empty where nothing can be said."""
    left = left_s(rerank, now)
    if left is None:
        return ""
    minutes = round(left / 60)
    if minutes < 1:
        return "less than a minute to go"
    if minutes < 90:
        return f"about {minutes} minute{'s' if minutes > 1 else ''} to go"
    return f"about {round(minutes / 60)} hours to go"


def latest(shop: Shop) -> Rerank | None:
    return Rerank.objects.filter(shop=shop).select_related("asked_by").first()
