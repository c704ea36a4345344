"""What a customer agreed to, and when: either both are known or neither."""

import datetime

from django.utils import timezone

EARLIEST_YEAR = 1900


def lacking(to: str, on: datetime.date | None) -> tuple[str, str] | None:
    """Which of the two fields is wrong, and why in a sentence; nothing where both are well."""
    if to and on is None:
        return "agreed_on", "is missing: enter the day the customer agreed."
    if on is None:
        return None
    if not to:
        return "agreed_to", "is missing: enter what the customer agreed to on that day."
    if on > timezone.localdate():
        return "agreed_on", "is in the future: enter the day the customer agreed."
    if on.year < EARLIEST_YEAR:
        return "agreed_on", f"must be in {EARLIEST_YEAR} or later."
    return None
