"""Put jobs back in line whose worker was killed."""

from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from arsenal.advice.models import Ranking
from arsenal.advice.services import jobs_at_work, put_back_forgotten, revive_silent
from proshop.jobs import put_back_lost

LONGEST_S = 365 * 24 * 3600


class Command(BaseCommand):
    help = "Put jobs back in line whose worker was killed. Workers do it themselves once a minute."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--age",
            type=int,
            metavar="SECONDS",
            help="how long a job may have been running (default: JOB_LOST_AFTER_SECONDS)",
        )

    def handle(self, *args: Any, age: int | None, **options: Any) -> None:
        if age is not None and not 0 <= age <= LONGEST_S:
            raise CommandError(f"--age must be between 0 and {LONGEST_S} seconds, a year.")
        # Rankings first: they know by their heartbeat whether their worker lives. Where one isn't
        # silent yet, its job would be taken up, find nothing to do and end.
        lost_after = timedelta(seconds=age) if age is not None else None
        rankings = revive_silent(rankings=Ranking.objects.all(), lost_after=lost_after)
        put_back, given_up = put_back_lost(lost_after=lost_after, at_work=jobs_at_work())
        forgotten = put_back_forgotten(rankings=Ranking.objects.all())
        if rankings or put_back or given_up or forgotten:
            self.stdout.write(
                f"{rankings} rankings looked after, {put_back} jobs put back, {given_up} given up, "
                f"{forgotten} rankings without a job put in line."
            )
