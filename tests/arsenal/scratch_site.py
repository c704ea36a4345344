"""``manage.py`` for a database of a test's own, with an engine that only takes its time.

    python -m tests.arsenal.scratch_site COMMAND …      any command of the site
    python -m tests.arsenal.scratch_site furnish COUNT  a shop with so many customers
    python -m tests.arsenal.scratch_site report         rankings and jobs as JSON

Needs ``DATABASE_URL`` and ``DIARY``, a file that gets a line at the begin and end of each run.
After ``ATTEMPTS`` dead workers a ranking is given up, if unset as many as the settings say.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import django

TAKES_S, BEATS_S = 2.0, 0.1


def main(arguments: list[str]) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "proshop.settings")
    django.setup()
    from django.conf import settings
    from django.core.management import execute_from_command_line

    from arsenal import engine
    from bowlers.models import Bowler
    from tests.arsenal.invented import invented_result

    def inputs_for(bowler: Bowler, release: str = "usual", fittings: Any = None) -> dict[str, Any]:
        return {"customer_id": bowler.pk}

    def run_ranking(
        inputs: dict[str, Any],
        seed: int,
        progress: Callable[[int, str], None],
        store: Any,
        at_most_s: float | None = None,
    ) -> dict[str, Any]:
        note("begin", inputs["customer_id"])
        beats = int(TAKES_S / BEATS_S)
        for beat in range(beats):
            progress(100 * beat // beats, "Taking its time")
            time.sleep(BEATS_S)
        note("end", inputs["customer_id"])
        return invented_result()

    settings.JOB_MAX_ATTEMPTS = int(os.environ.get("ATTEMPTS") or settings.JOB_MAX_ATTEMPTS)
    engine.inputs_for, engine.run_ranking = inputs_for, run_ranking  # type: ignore[assignment]
    if arguments[0] == "furnish":
        furnish(int(arguments[1]))
    elif arguments[0] == "report":
        report()
    else:
        execute_from_command_line(["manage.py", *arguments])


def note(what: str, customer: int) -> None:
    """One line in one write: several processes keep the diary."""
    line = f"{what} {customer} {os.getpid()}\n"
    with Path(os.environ["DIARY"]).open("a") as diary:
        diary.write(line)


def furnish(count: int) -> None:
    from bowlers.models import Bowler
    from proshop.models import Shop

    shop = Shop.objects.create(name="Two Counters")
    for number in range(count):
        Bowler.objects.create(shop=shop, name=f"Wren {number}")


def report() -> None:
    from django_tasks_db.models import DBTaskResult

    from arsenal.advice.models import Ranking

    rankings = Ranking.objects.values("bowler_id", "status", "attempts")
    jobs = DBTaskResult.objects.order_by("status").values_list("status", flat=True)
    print(json.dumps({"rankings": list(rankings), "jobs": list(jobs)}))


if __name__ == "__main__":
    main(sys.argv[1:])
