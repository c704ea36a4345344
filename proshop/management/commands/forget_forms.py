"""``manage.py forget_forms``: forms sent so long ago that nobody sends them again."""

from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from proshop.models import SubmittedForm

# As long as dates and databases can tell.
MOST_DAYS = 36_500


class Command(BaseCommand):
    help = "Forget forms sent longer ago than --days: one sent again after that acts again."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--days", type=int, default=30)

    def handle(self, *args: Any, days: int, **options: Any) -> None:
        if not 1 <= days <= MOST_DAYS:
            raise CommandError(f"--days must be from 1 to {MOST_DAYS}.")
        old = SubmittedForm.objects.filter(created_at__lt=timezone.now() - timedelta(days=days))
        count, _ = old.delete()
        self.stdout.write(f"{count} forms sent more than {days} days ago forgotten.")
