"""``manage.py nextball``: the ranking of the next-ball page, at the command line."""

from __future__ import annotations

import json
import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from arsenal import engine
from arsenal.advice import printing, services
from arsenal.advice.models import Ranking
from arsenal.advice.run import compute
from bowlers.models import Bowler


class Command(BaseCommand):
    help = "Rank what a customer's next ball, layout or surface should be, with reasons."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("id", nargs="?", type=int, help="the customer's id; see --list")
        parser.add_argument("--list", action="store_true", help="list the customers")
        parser.add_argument("--json", action="store_true", help="print JSON instead of a table")
        parser.add_argument("--limit", type=int, help="print at most this many choices")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["list"]:
            customers = printing.customers(Bowler.objects.select_related("shop"))
            self._print(customers, options["json"], printing.customer_table)
            return
        if options["id"] is None:
            raise CommandError("Which customer? Give an id, or --list to see them.")
        if options["limit"] is not None and options["limit"] < 1:
            raise CommandError("--limit must be 1 or more.")
        result = self._ranking_of(options["id"]).result
        answer = printing.contract(result or {}, options["limit"])
        self._print(answer, options["json"], printing.ranking_table)

    def _ranking_of(self, customer_id: int) -> Ranking:
        bowler = Bowler.objects.select_related("shop").filter(pk=customer_id).first()
        if bowler is None:
            raise CommandError(f"There is no customer {customer_id}. --list shows who there is.")
        try:
            question = services.question_for(bowler)
        except engine.Missing as incomplete:
            raise CommandError(
                f"{bowler.name} can't be advised yet. Missing: {incomplete}."
            ) from None
        ranking = services.request_ranking(
            bowler=bowler, question=question, user=None, in_line=False
        )
        return self._finished(ranking)

    def _finished(self, ranking: Ranking) -> Ranking:
        """Compute it here, or wait for the worker that already does."""
        while ranking.status in {"waiting", "running"}:
            if not compute(ranking_id=ranking.pk):
                self.stderr.write(f"A worker is at it: {ranking.progress} %")
                services.look_after(ranking)
                time.sleep(1)
            ranking.refresh_from_db()
        if ranking.is_failed:
            raise CommandError(f"It could not be worked out. {ranking.error}")
        return ranking

    def _print(self, answer: Any, as_json: bool, table: Any) -> None:
        if as_json:
            self.stdout.write(json.dumps(answer, indent=2, ensure_ascii=False))
        else:
            self.stdout.write(table(answer))
