"""The job that puts everybody in line when a page asked for it."""

from __future__ import annotations

from django_tasks import task

from arsenal.rerank.models import Rerank
from arsenal.rerank.services import gather


@task()
def gather_all(rerank_id: int) -> bool:
    """Put a shop's customers in line; False if it was forgotten meanwhile. Safe to run twice."""
    rerank = Rerank.objects.select_related("shop").filter(pk=rerank_id).first()
    if rerank is None:
        return False
    gather(rerank)
    return True
