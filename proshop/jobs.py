"""Jobs whose worker was killed: the queue itself leaves them running for ever."""

from collections.abc import Collection
from datetime import timedelta

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

LOST = "The worker stopped before the end, time and again. Look at its own messages."


@transaction.atomic
def put_back_lost(
    *, lost_after: timedelta | None = None, at_work: Collection[str] = ()
) -> tuple[int, int]:
    """Set jobs running for longer than `lost_after` ready again, or failed after some attempts.

    Those `at_work` (ids) show signs of life of their own and are left alone. Returns how many were
    put back and how many were given up. Jobs are idempotent, so putting back one that still runs
    costs time and nothing else. The number of attempts is the number of workers that took the job
    up.
    """
    if lost_after is None:
        lost_after = timedelta(seconds=settings.JOB_LOST_AFTER_SECONDS)
    now = timezone.now()
    running = (
        DBTaskResult.objects.running()
        .filter(started_at__lt=now - lost_after)
        .exclude(id__in=at_work)
    )
    put_back = given_up = 0
    for job in running.select_for_update(skip_locked=True):
        if len(job.worker_ids) >= settings.JOB_MAX_ATTEMPTS:
            job.status, job.finished_at, job.traceback = "FAILED", now, LOST
            given_up += 1
        else:
            job.status, job.started_at = "READY", None
            put_back += 1
        job.save(update_fields=["status", "started_at", "finished_at", "traceback"])
    return put_back, given_up
