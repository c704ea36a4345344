"""The job a worker runs: ``manage.py db_worker``."""

from __future__ import annotations

from django_tasks import task

from arsenal.advice.run import compute


@task()
def compute_ranking(ranking_id: int) -> bool:
    """Compute a ranking if it is still waiting. Running it twice changes nothing."""
    return compute(ranking_id=ranking_id)
