"""``manage.py rerank``: put every customer in line to be ranked again, and watch."""

from __future__ import annotations

import time
from argparse import ArgumentParser
from collections.abc import Sequence
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from arsenal.advice.services import nobody_at_work
from arsenal.rerank import services
from arsenal.rerank.models import Rerank
from arsenal.rerank.services import Standing
from proshop.models import Shop

LOOK_EVERY_S = 1.0
REAP_EVERY_S = 60.0
# So long without anybody at work is told of, once in so long.
IDLE_S = 30.0


class Command(BaseCommand):
    help = (
        "Put customers in line to be ranked again, for any number of workers "
        "(manage.py db_worker). What holds already is kept, and asking twice makes no second job. "
        "With --watch the command ends when all are done, with status 1 if any failed."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        whose = parser.add_mutually_exclusive_group(required=True)
        whose.add_argument("--all", action="store_true", help="customers of every shop")
        whose.add_argument("--shop", help="customers of the shop of this name")
        parser.add_argument(
            "--stale",
            action="store_true",
            help="only customers ranked before whose answer no longer holds",
        )
        parser.add_argument(
            "--watch", action="store_true", help="wait for the end, telling how far"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        shops = self._shops(options["shop"])
        reranks = [services.start(shop=shop, stale_only=options["stale"]) for shop in shops]
        for rerank in reranks:
            standing = services.gather(rerank)
            self.stdout.write(f"{rerank.shop}: {standing.words()}.")
        if options["watch"]:
            self._watch(reranks)
            self._tell_why(reranks)

    def _shops(self, name: str | None) -> list[Shop]:
        if name is None:
            return list(Shop.objects.order_by("pk"))
        found = list(Shop.objects.filter(name=name))
        if not found:
            known = ", ".join(f"“{shop}”" for shop in Shop.objects.order_by("name"))
            raise CommandError(
                f"There is no shop “{name}”. --shop takes one of: {known or 'none'}."
            )
        return found

    def _watch(self, reranks: Sequence[Rerank]) -> None:
        """Until nothing is waiting or running; lost ones are looked after meanwhile."""
        told: Standing | None = None
        reaped = moved = time.monotonic()
        while (now := _sum(reranks)).to_come:
            moment = time.monotonic()
            if now != told:
                self.stdout.write(now.words())
                self.stdout.flush()
                told, moved = now, moment
            elif moment - moved > IDLE_S and nobody_at_work():
                self.stderr.write("Nobody is working on it. Start: python manage.py db_worker")
                moved = moment
            if moment - reaped > REAP_EVERY_S:
                call_command("reap_jobs", stdout=self.stdout)
                reaped = moment
            time.sleep(LOOK_EVERY_S)
        self.stdout.write(now.words())

    def _tell_why(self, reranks: Sequence[Rerank]) -> None:
        for rerank in reranks:
            for entry in services.left_out(rerank):
                self.stdout.write(f"Left out: {entry.bowler}. {entry.why}")
            for ranking in services.failed(rerank):
                self.stderr.write(f"Failed: {ranking.bowler}. {ranking.error}")
        count = _sum(reranks).failed
        if count:
            raise CommandError(f"{count} could not be worked out.")


def _sum(reranks: Sequence[Rerank]) -> Standing:
    return sum((services.standing(rerank) for rerank in reranks), Standing())
