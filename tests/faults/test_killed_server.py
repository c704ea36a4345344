"""Web processes killed at random moments while people write: nothing acknowledged is lost.

``make faults`` is the long run, 200 kills on either database; the suite kills ten times.
"""

from __future__ import annotations

import json
import os
import random
import threading
import time
from pathlib import Path

import pytest
from django.db import connection

from tests.databases import own_database
from tests.faults.site import Clerk, Site
from tests.long_runs import Run, keep

KILLS = int(os.environ.get("KILLS", "10"))
# Each piece of the long run is written down when it is done.
IS_LONG = bool(os.environ.get("LONG_RUN"))
CLERKS = 3
REPORT = """
import json
from django.db import connection
from bowlers.models import Bowler
names = list(Bowler.objects.values_list("name", flat=True))
history = list(Bowler.history.values_list("name", flat=True))
with connection.cursor() as cursor:
    if connection.vendor == "sqlite":
        sound = cursor.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        sound = sound and not cursor.execute("PRAGMA foreign_key_check").fetchall()
    else:
        # PostgreSQL's own check of every table and index, "amcheck" in its manual; says what is
        # broken in a table, raises for an index.
        cursor.execute("CREATE EXTENSION amcheck")
        cursor.execute(
            "SELECT count(*) FROM pg_class, verify_heapam(pg_class.oid) WHERE relkind = 'r'"
        )
        sound = cursor.fetchone() == (0,)
        cursor.execute(
            "SELECT count(bt_index_check(indexrelid, true)) FROM pg_index "
            "JOIN pg_class ON pg_class.oid = indexrelid JOIN pg_am ON pg_am.oid = relam "
            "WHERE amname = 'btree' AND indisvalid"
        )
print("REPORT" + json.dumps([names, history, sound]))
"""


@pytest.mark.django_db(transaction=True)
def test_what_was_acknowledged_is_there_and_nothing_is_half_there(tmp_path: Path) -> None:
    assert connection.vendor in {"sqlite", "postgresql"}
    # Each piece of the long run kills at moments of its own.
    chance = random.Random(None if IS_LONG else 7)
    began = time.monotonic()
    with own_database(tmp_path) as address:
        site = Site(address, tmp_path)
        site.furnish()
        site.start()
        stopped, troubles = threading.Event(), []
        clerks = [Clerk(site, f"Clerk {n}") for n in range(CLERKS)]
        try:
            site.wait()
            for clerk in clerks:
                clerk.sign_in()
        except BaseException:
            site.kill()
            raise

        def work(clerk: Clerk) -> None:
            number = 0
            try:
                while not stopped.is_set():
                    number += 1
                    clerk.add(f"{clerk.name}, customer {number}", stopped)
            except Exception as trouble:
                troubles.append(trouble)

        threads = [threading.Thread(target=work, args=[clerk]) for clerk in clerks]
        for thread in threads:
            thread.start()
        try:
            for _ in range(KILLS):
                before = sum(len(clerk.acknowledged) for clerk in clerks)
                # Not before somebody has got something done since the last time.
                until = time.monotonic() + 3600
                while sum(len(clerk.acknowledged) for clerk in clerks) < before + 2:
                    assert time.monotonic() < until, site.log.read_text()[-2000:]
                    assert not troubles, troubles
                    time.sleep(0.01)
                time.sleep(chance.uniform(0, 0.3))
                site.kill()
                site.start()
        finally:
            time.sleep(1)
            stopped.set()
            for thread in threads:
                thread.join()
            site.kill()
        assert not troubles, troubles
        told = site.manage("shell", "--no-imports", "-c", REPORT)
        names, history, sound = json.loads(told.split("REPORT")[1])
    acknowledged = [name for clerk in clerks for name in clerk.acknowledged]
    sent_again = sum(clerk.sent_again for clerk in clerks)
    lost = set(acknowledged) - set(names)
    twice = len(names) - len(set(names))
    halves = sorted(history) != sorted(names)
    if IS_LONG:
        keep(
            Run(
                "make faults",
                connection.display_name,
                KILLS,
                "kills of all web processes while three people write",
                len(lost) + twice + halves + (not sound),
                (time.monotonic() - began) / 60,
                found=f"{len(acknowledged):,} acknowledged saves, {len(lost)} lost, {twice} twice; "
                f"{sent_again:,} requests sent again; histories "
                f"{'NOT ' if halves else ''}whole, integrity {'sound' if sound else 'BROKEN'}",
            ),
            adds=True,
        )
    assert len(acknowledged) > KILLS
    assert sent_again >= KILLS / 2
    assert sound
    # Every one there, once, however often its form was sent; and its history with it.
    assert not lost
    assert not twice
    assert not halves
