"""Fifty people who save and two hundred who look, at once: no save is lost, nobody sees an error.

``make crowd`` is that, for a minute on either database, written down in ``tests/LONG_RUNS.md``; the
suite does it with fewer people for a few seconds.
"""

from __future__ import annotations

import json
import os
import time
from pathlib import Path

import pytest
from django.db import connection

from tests.databases import own_database
from tests.faults.crowd import Cast, Seen, crowd
from tests.faults.site import Site
from tests.load.crowd import percentile
from tests.long_runs import Run, keep

SECONDS = float(os.environ.get("CROWD") or 4)
IS_LONG = SECONDS >= 30
WRITERS, READERS, SHARED = (50, 200, 10) if IS_LONG else (8, 12, 2)
# Between two things somebody does: brisk people.
PAUSE_S = float(os.environ.get("PAUSE") or (4 if IS_LONG else 0.3))
MAKE = f"""
import json, time
from django.contrib.auth.models import User
from bowlers.models import Bowler
from proshop.accounts.sessions import BEGAN, SEEN
from proshop.models import Membership, Shop
from tests.load.crowd import session_of
from django.contrib.sessions.backends.db import SessionStore
shop = Shop.objects.get()
sessions = []
for number in range({WRITERS + READERS}):
    user = User.objects.create_user(f"person-{{number}}")
    Membership.objects.create(user=user, shop=shop)
    key = session_of(user)
    store = SessionStore(key)
    store[BEGAN] = store[SEEN] = int(time.time())
    store.save()
    sessions.append(key)
people = [Bowler.objects.create(shop=shop, name=f"Shared {{n}}") for n in range({SHARED})]
people += [Bowler.objects.create(shop=shop, name=f"Own {{n}}") for n in range({WRITERS})]
print("REPORT" + json.dumps([sessions, [one.pk for one in people]]))
"""
ASK = """
import json
from bowlers.models import Bowler
found = [(b.pk, b.name, b.notes, b.version, b.history.count()) for b in Bowler.objects.all()]
print("REPORT" + json.dumps(found))
"""


def wrong_with(seen: Seen, stored: list[tuple[int, str, str, int, int]]) -> list[str]:
    """Every acknowledged save there once and nothing else, in the record and in its history."""
    found = []
    for pk, name, notes, version, in_history in stored:
        marks = [mark + ";" for mark in notes.split(";") if mark]
        acknowledged = seen.acknowledged.get(pk, [])
        if lost := sorted(set(acknowledged) - set(marks)):
            found.append(f"{name}: lost {lost}")
        if sorted(marks) != sorted(acknowledged):
            found.append(f"{name}: {len(marks)} marks of {len(acknowledged)} acknowledged")
        if not version == in_history == 1 + len(acknowledged):
            found.append(f"{name}: version {version}, {in_history} in its history")
    added = sorted(name for _, name, *_ in stored if name.startswith("Added"))
    if added != sorted(seen.added):
        found.append(f"{len(added)} customers added of {len(seen.added)} acknowledged")
    return found


@pytest.mark.django_db(transaction=True)
def test_no_save_is_lost_in_a_crowd(tmp_path: Path) -> None:
    began = time.monotonic()
    with own_database(tmp_path) as address:
        site = Site(address, tmp_path)
        site.env |= {"DEBUG": "0", "DJANGO_SETTINGS_MODULE": "tests.faults.settings"}
        site.furnish()
        sessions, people = json.loads(
            site.manage("shell", "--no-imports", "-c", MAKE).split("REPORT")[1]
        )
        cast = Cast(sessions[:WRITERS], sessions[WRITERS:], people[:SHARED], people[SHARED:])
        site.start()
        try:
            site.wait()
            seen = crowd(site.port, cast, seconds=SECONDS, pause_s=PAUSE_S)
        finally:
            site.kill()
        told = site.manage("shell", "--no-imports", "-c", ASK)
    wrong = seen.faults + wrong_with(seen, json.loads(told.split("REPORT")[1]))
    if IS_LONG:
        keep(
            Run(
                "make crowd",
                connection.display_name,
                seen.saves,
                f"acknowledged saves by {WRITERS} who write among {READERS} who look, "
                f"{SECONDS:g} s, {PAUSE_S:g} s between what somebody does",
                len(wrong),
                (time.monotonic() - began) / 60,
                found=f"{seen.told} told that somebody was quicker; ms at p50/p95/p99: "
                + ", ".join(
                    f"{kind} "
                    + "/".join(f"{percentile(took, share):.0f}" for share in (0.5, 0.95, 0.99))
                    + f" ({len(took):,})"
                    for kind, took in sorted(seen.took_ms.items())
                ),
            )
        )
    assert not wrong, "\n".join(wrong[:40])
    assert seen.saves > 0
    # All but one of those who saved one form at one moment, at the least.
    assert seen.told >= WRITERS - 1
