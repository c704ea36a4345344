"""What the benchmark of a night needs done inside the site.

python -m tests.bench.night anew     everybody of the demo in line, as if never ranked before
python -m tests.bench.night told     how it went, as JSON
"""

from __future__ import annotations

import io
import json
import os
import sys

import django


def main(what: str, count: str = "0") -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "proshop.settings")
    django.setup()
    anew(int(count)) if what == "anew" else told()


def anew(count: int) -> None:
    from django.core.management import call_command
    from django_tasks_db.models import DBTaskResult

    from arsenal.models import Piece, Ranking

    for model in (Ranking, Piece, DBTaskResult):
        model.objects.all().delete()
    call_command("rerank", "--all", stdout=io.StringIO())
    others = Ranking.objects.order_by("bowler__name")[count:]
    DBTaskResult.objects.filter(id__in=[one.job_id for one in others]).delete()
    Ranking.objects.filter(pk__in=[one.pk for one in others]).delete()


def told() -> None:
    from django.db.models import Max, Min

    from arsenal.models import Ranking

    done = Ranking.objects.filter(status="done", attempts=1)
    ends = done.aggregate(began=Min("started_at"), ended=Max("finished_at"))
    seconds = (ends["ended"] - ends["began"]).total_seconds()
    asked = Ranking.objects.count()
    print(json.dumps({"asked": asked, "done": done.count(), "seconds": seconds}))


if __name__ == "__main__":
    main(*sys.argv[1:])
