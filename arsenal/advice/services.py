"""Asking for a ranking, and finding again the ones whose worker died.

A ranking moves waiting → running → done or failed. Every step is one conditional UPDATE, so two
workers, two clicks or a worker given up for dead can't both write.
"""

from __future__ import annotations

import hashlib
import json
import logging
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from arsenal import engine
from arsenal.advice.models import Ranking
from arsenal.advice.querysets import RankingQuerySet
from arsenal.advice.tasks import compute_ranking
from arsenal.engine.inputs import USUAL
from arsenal.kept import store

if TYPE_CHECKING:
    from django.contrib.auth.models import AbstractBaseUser

    from bowlers.models import Bowler, Fitting

logger = logging.getLogger(__name__)

# One seed for all: two answers for the same customer then differ by what changed, not by the draw.
SEED = 1
UNCLAIMED = timedelta(seconds=30)
# Priorities of jobs: whoever waits at the counter goes before those ranked at night.
NOW, LATER = 0, -10
EARLIER = 8
# A page computes itself what takes no longer than so; the rest is a worker's.
AT_ONCE_S = 0.5
# Parts of the engine's inputs as the counter calls them.
PARTS = {
    "customer": "the customer's own record",
    "release": "which release is asked about",
    "delivery": "the fitting",
    "grip": "the grip",
    "bag": "the bag",
    "conditions": "the conditions they meet, or what is learnt of them",
    "learnt": "what was seen on the lanes",
    "shelf": "the shelf",
    "catalogue": "the catalogue",
    "prices": "the shop's prices",
    "rules": "the rules the shop holds balls to",
}


@dataclass(frozen=True)
class Question:
    """Everything an answer depends on but the seed."""

    inputs: dict[str, Any]
    key: str
    model_version: str


def inputs_key(inputs: dict[str, Any]) -> str:
    """SHA-256 of the canonical JSON: sorted keys, no spaces, no not-a-numbers."""
    canonical = json.dumps(inputs, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(canonical.encode()).hexdigest()


def question_for(
    bowler: Bowler, release: str = USUAL, fittings: Mapping[str, Fitting] | None = None
) -> Question:
    """The question as the customer's records stand now; raises ``engine.Missing``."""
    inputs = engine.inputs_for(bowler, release, fittings)
    return Question(inputs=inputs, key=inputs_key(inputs), model_version=engine.MODEL_VERSION)


def answer_to(*, bowler: Bowler, question: Question) -> Ranking | None:
    """The ranking of this question, in whatever state it is."""
    return (
        Ranking.objects.for_bowler(bowler)
        .answering(inputs_key=question.key, model_version=question.model_version)
        .first()
    )


def earlier_answers(bowler: Bowler, but: Ranking | None = None) -> list[Ranking]:
    """The last finished rankings, newest first."""
    rankings = Ranking.objects.for_bowler(bowler).done().light().newest_first()
    return list(rankings.exclude(pk=but.pk if but else None)[:EARLIER])


def what_changed(ranking: Ranking) -> str:
    """Why a stored answer may no longer hold, in words; empty while it still does."""
    try:
        question = question_for(ranking.bowler, ranking.inputs.get("release", USUAL))
    except engine.Missing:
        return "Something this was computed from has since been removed from the customer's record."
    if question.key != ranking.inputs_key:
        return f"Changed since this was computed: {_parts_that_differ(ranking, question)}."
    if question.model_version != ranking.model_version:
        return "The model behind the numbers has changed since this was computed."
    return ""


@transaction.atomic
def request_ranking(
    *,
    bowler: Bowler,
    question: Question,
    user: AbstractBaseUser | None,
    in_line: bool = True,
    priority: int = NOW,
) -> Ranking:
    """The one ranking of this question: reopened if it exists, else created and put in line.

    A failed one is asked again; one that waits moves forward if it is more urgent now.
    ``in_line=False`` leaves the computing to the caller.
    """
    ranking, created = Ranking.objects.get_or_create(
        bowler=bowler,
        inputs_key=question.key,
        model_version=question.model_version,
        defaults={
            "shop": bowler.shop,
            "requested_by": user,
            "inputs": question.inputs,
            "seed": SEED,
            "asked_at": timezone.now(),
        },
    )
    if created and in_line:
        _put_in_line(ranking, priority)
    elif not created:
        try_again(ranking=ranking, in_line=in_line, priority=priority)
        _move_forward(ranking, priority)
    ranking.refresh_from_db()
    return ranking


def answer_at_once(
    *, bowler: Bowler, question: Question, user: AbstractBaseUser | None
) -> Ranking | None:
    """The finished ranking of a question of which nearly everything is known; None where a worker
    has to compute it, or to say why it can't be."""
    inputs = json.loads(json.dumps(question.inputs))
    now = timezone.now()
    try:
        result = engine.run_ranking(inputs, SEED, lambda percent, note: None, store, AT_ONCE_S)
        json.dumps(result, allow_nan=False)
    except engine.TooMuch:
        return None
    except Exception:
        logger.exception("Customer %s could not be answered at once", bowler.pk)
        return None
    ranking, _ = Ranking.objects.get_or_create(
        bowler=bowler,
        inputs_key=question.key,
        model_version=question.model_version,
        defaults={
            "shop": bowler.shop,
            "requested_by": user,
            "inputs": inputs,
            "seed": SEED,
            "status": Ranking.Status.DONE,
            "progress": 100,
            "progress_note": "Done",
            "result": result,
            "attempts": 1,
            "asked_at": now,
            "started_at": now,
            "heard_at": now,
            "finished_at": timezone.now(),
        },
    )
    return ranking


@transaction.atomic
def try_again(*, ranking: Ranking, in_line: bool = True, priority: int = NOW) -> None:
    """Put a failed ranking in line once more, with its count of attempts set back."""
    failed = Ranking.objects.filter(pk=ranking.pk, status="failed")
    restarted = failed.update(
        status="waiting",
        attempts=0,
        error="",
        progress=0,
        progress_note="",
        asked_at=timezone.now(),
    )
    if restarted and in_line:
        _put_in_line(ranking, priority)


def look_after(ranking: Ranking) -> None:
    """Put right what a dead worker left behind; called whenever somebody looks at a ranking."""
    now = timezone.now()
    if ranking.status == Ranking.Status.RUNNING:
        revive_silent(rankings=Ranking.objects.filter(pk=ranking.pk))
    elif ranking.status == Ranking.Status.WAITING and now - ranking.asked_at > UNCLAIMED:
        _put_in_line(ranking)
    else:
        return
    ranking.refresh_from_db()


@transaction.atomic
def revive_silent(*, rankings: RankingQuerySet, lost_after: timedelta | None = None) -> int:
    """Run again those whose worker was killed, or give up after some; how many were touched."""
    lost_after = _silence() if lost_after is None else lost_after
    touched = 0
    for ranking in rankings.silent_since(timezone.now() - lost_after).light():
        mine = Ranking.objects.filter(
            pk=ranking.pk, status="running", attempts=ranking.attempts, heard_at=ranking.heard_at
        )
        if ranking.attempts >= settings.JOB_MAX_ATTEMPTS:
            touched += mine.update(
                status="failed",
                finished_at=timezone.now(),
                error=f"The worker stopped before the end, {ranking.attempts} times over. "
                "Look at the worker's own messages, then try again.",
            )
        elif mine.update(
            status="waiting", asked_at=timezone.now(), progress=0, progress_note="Starting again"
        ):
            touched += 1
            _put_in_line(ranking)
    return touched


def jobs_at_work() -> list[str]:
    """Ids of the jobs whose rankings are running, as far as is known yet."""
    running = Ranking.objects.filter(status="running").exclude(job_id="")
    return list(running.values_list("job_id", flat=True))


@transaction.atomic
def put_back_forgotten(*, rankings: RankingQuerySet) -> int:
    """Put rankings in line that wait without a job; how many there were."""
    before = timezone.now() - UNCLAIMED
    waiting = list(rankings.filter(status="waiting", asked_at__lt=before).light())
    ids = [ranking.job_id for ranking in waiting if ranking.job_id]
    live = DBTaskResult.objects.filter(id__in=ids, status__in=("READY", "RUNNING"))
    known = {str(job) for job in live.values_list("id", flat=True)}
    forgotten = [ranking for ranking in waiting if ranking.job_id not in known]
    for ranking in forgotten:
        _put_in_line(ranking, LATER)
    return len(forgotten)


def nobody_at_work() -> bool:
    """Whether no ranking is being computed by anybody who still shows signs of life."""
    return not Ranking.objects.going_on().filter(heard_at__gt=timezone.now() - _silence()).exists()


def nobody_picked_up(ranking: Ranking) -> bool:
    """Waiting for long while no ranking at all is being computed: there is no worker."""
    if ranking.status != Ranking.Status.WAITING:
        return False
    if timezone.now() - ranking.asked_at < UNCLAIMED:
        return False
    return nobody_at_work()


def _parts_that_differ(ranking: Ranking, question: Question) -> str:
    then, now = ranking.inputs, json.loads(json.dumps(question.inputs))
    parts = [key for key in {**then, **now} if then.get(key) != now.get(key)]
    named = [PARTS[key] for key in PARTS if key in parts]
    return ", ".join(named) if len(named) == len(parts) else ", ".join([*named, "other numbers"])


def _silence() -> timedelta:
    """A running ranking not heard of for this long has lost its worker."""
    return timedelta(seconds=settings.JOB_LOST_AFTER_SECONDS)


def _put_in_line(ranking: Ranking, priority: int = NOW) -> None:
    """Make sure exactly one job waits for this ranking, taking up the old one if it is still there.

    A job whose worker was killed stays RUNNING for ever in the table of jobs: it is set READY.
    """
    jobs = DBTaskResult.objects.filter(id=ranking.job_id) if ranking.job_id else None
    if jobs is not None:
        if jobs.filter(status="READY").exists():
            return
        if jobs.filter(status="RUNNING").update(status="READY", started_at=None):
            return
    job = compute_ranking.using(priority=priority).enqueue(ranking.pk)
    ranking.job_id = str(job.id)
    Ranking.objects.filter(pk=ranking.pk).update(job_id=ranking.job_id)


def _move_forward(ranking: Ranking, priority: int) -> None:
    """Let a job that waits go before less urgent ones."""
    if ranking.job_id:
        waiting = DBTaskResult.objects.filter(id=ranking.job_id, status="READY")
        waiting.filter(priority__lt=priority).update(priority=priority)
