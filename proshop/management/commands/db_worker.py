"""The job worker of django-tasks-db, warmed before its first job, looking after lost jobs.

Every worker does that: whichever lives puts back what another left behind.
"""

import threading
from argparse import ArgumentParser, BooleanOptionalAction
from typing import Any

from django.core.management import call_command
from django.db import DatabaseError, close_old_connections
from django_tasks_db.management.commands import db_worker

REAP_EVERY_S = 60.0


class Command(db_worker.Command):
    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--warm",
            action=BooleanOptionalAction,
            default=True,
            help="compile the engine, or load it, before the first job",
        )

    def handle(self, *args: Any, warm: bool, **options: Any) -> None:  # type: ignore[override]
        if warm:
            call_command("warm", stdout=self.stdout)
        ended = threading.Event()
        reaper = threading.Thread(target=self._reap_until, args=[ended], daemon=True)
        reaper.start()
        try:
            super().handle(**options)
        finally:
            ended.set()
            reaper.join()

    def _reap_until(self, ended: threading.Event) -> None:
        while not ended.wait(REAP_EVERY_S):
            try:
                call_command("reap_jobs", stdout=self.stdout)
            except DatabaseError as trouble:
                self.stderr.write(f"Lost jobs weren't looked for: {trouble}")
            finally:
                close_old_connections()
