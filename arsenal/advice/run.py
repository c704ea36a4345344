"""Computing one ranking, here and now: what the job and the command line do."""

from __future__ import annotations

import json
import logging
import time
from collections.abc import Callable

from django.db.models import F
from django.utils import timezone

from arsenal import engine
from arsenal.advice.models import Ranking
from arsenal.advice.querysets import RankingQuerySet
from arsenal.kept import store
from physics.errors import InputError

logger = logging.getLogger(__name__)

# Progress is written at most this often: a page asks once a second.
WRITE_EVERY_S = 0.4


_WHEN_DONE: list[Callable[[Ranking], None]] = []


class Superseded(Exception):
    """Another run owns this ranking now: stop without writing."""


def compute(*, ranking_id: int) -> bool:
    """Compute one waiting ranking here and now; False if it wasn't waiting. Safe to call twice."""
    claimed = Ranking.objects.filter(pk=ranking_id, status="waiting").update(
        status="running",
        attempts=F("attempts") + 1,
        started_at=timezone.now(),
        heard_at=timezone.now(),
        progress=0,
        progress_note="Starting",
    )
    if not claimed:
        return False
    ranking = Ranking.objects.get(pk=ranking_id)
    mine = Ranking.objects.filter(pk=ranking_id, status="running", attempts=ranking.attempts)
    try:
        result = engine.run_ranking(ranking.inputs, ranking.seed, _progress_writer(mine), store)
        json.dumps(result, allow_nan=False)
    except Superseded:
        logger.warning("Ranking %s was taken over by another run", ranking_id)
        return False
    except Exception as trouble:
        logger.exception("Ranking %s failed", ranking_id)
        mine.update(status="failed", error=_in_words(trouble), finished_at=timezone.now())
        return True
    mine.update(
        status="done",
        result=result,
        progress=100,
        progress_note="Done",
        error="",
        finished_at=timezone.now(),
    )
    _tell(ranking_id)
    return True


def when_done(work: Callable[[Ranking], None]) -> None:
    """Have something done with every ranking once it is finished."""
    _WHEN_DONE.append(work)


def _tell(ranking_id: int) -> None:
    """The ranking stands, whatever becomes of what is made of it."""
    for work in _WHEN_DONE:
        try:
            work(Ranking.objects.get(pk=ranking_id, status="done"))
        except Exception:
            logger.exception("Ranking %s is done, but not what follows it", ranking_id)


def _progress_writer(mine: RankingQuerySet) -> Callable[[int, str], None]:
    written = float("-inf")

    def progress(percent: int, note: str) -> None:
        nonlocal written
        moment = time.monotonic()
        if moment - written < WRITE_EVERY_S:
            return
        written = moment
        percent = max(0, min(100, int(percent)))
        if not mine.update(progress=percent, progress_note=note[:200], heard_at=timezone.now()):
            raise Superseded

    return progress


def _in_words(trouble: Exception) -> str:
    """What went wrong, for the counter; the traceback is in the log."""
    if isinstance(trouble, InputError):
        return f"A number it was computed from can't be right: {trouble}"
    said = f"{type(trouble).__name__}: {trouble}".rstrip(": ")
    return f"The engine stopped with an error of its own ({said}). The site's log has the rest."
