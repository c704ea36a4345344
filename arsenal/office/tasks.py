"""Working the report out, away from any page."""

from __future__ import annotations

from django_tasks import task

from arsenal.office.services import make_report
from proshop.models import Shop


@task()
def work_report_out(shop_id: int) -> bool:
    """Safe to run twice."""
    shop = Shop.objects.filter(pk=shop_id).first()
    if shop is None:
        return False
    make_report(shop)
    return True
