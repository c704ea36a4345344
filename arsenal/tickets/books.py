"""What the books need of a customer's jobs once the customer is erased."""

from __future__ import annotations

from django.utils import timezone

from arsenal.tickets.models import Ticket
from bowlers.models import Bowler


def money_of(bowler: Bowler) -> list[dict[str, str]]:
    """Jobs with a price or a deposit, by day: the day they were collected, or were last changed."""
    lines = []
    for ticket in Ticket.objects.filter(bowler=bowler).order_by("created_at", "pk"):
        if not (ticket.total or ticket.deposit):
            continue
        day = timezone.localtime(ticket.collected_at or ticket.updated_at).date()
        currency = bowler.shop.currency
        lines.append(
            {
                "what": f"{ticket.get_job_display()}, {ticket.get_step_display().lower()}",
                "day": day.isoformat(),
                "price": f"{ticket.total} {currency}",
                "deposit": f"{ticket.deposit} {currency}",
            }
        )
    return lines
