"""Working out what to do on the lanes, away from any page."""

from __future__ import annotations

from django_tasks import task

from arsenal.advice.models import Ranking
from arsenal.phone.services import prepare


@task()
def prepare_page(ranking_id: int) -> bool:
    """Safe to run twice: what is there already is left."""
    ranking = Ranking.objects.select_related("lanes_advice").filter(pk=ranking_id).first()
    return ranking is not None and prepare(ranking) is not None
