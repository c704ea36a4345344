"""Whoever has an earlier release comes to this one with every row."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from tests.databases import own_database
from tests.proshop.old_states import AS_BEFORE, RELEASES

# What a migration changes on purpose: the table and column, and why.
MEANT = {"arsenal_stockplan": "the stock plan is worked out anew by the owner’s page"}


def test_every_release_that_the_changelog_has_is_tried() -> None:
    told = (settings.BASE_DIR / "CHANGELOG.md").read_text()
    _, *released = re.findall(r"^## (\S+)$", told, re.M)
    assert len(released) >= 4
    assert set(released) <= {*RELEASES, *AS_BEFORE}


@pytest.mark.django_db(transaction=True)
def test_rows_of_every_release_come_through(tmp_path: Path) -> None:
    with own_database(tmp_path, empty=True) as address:
        done = subprocess.run(
            [sys.executable, "-m", "tests.proshop.old_states"],
            env={
                **os.environ,
                "DATABASE_URL": address,
                "DJANGO_SETTINGS_MODULE": "proshop.settings",
            },
            cwd=settings.BASE_DIR,
            capture_output=True,
            text=True,
            check=False,
        )
    assert done.returncode == 0, done.stderr[-3000:]
    told = json.loads(done.stdout.split("REPORT")[1])
    assert set(told["filled"]) == set(RELEASES)
    assert all(rows > 20 for rows in told["filled"].values())
    changed = [line for line in told["unlike"] if line.split(":")[0] not in MEANT]
    assert changed == []
    assert told["opened"]["bowlers.Bowler"] == len(RELEASES)
    assert told["opened"]["arsenal.OwnedBall"] == len(RELEASES)


def test_migrations_work_on_the_database_that_is_migrated() -> None:
    """`move_to` migrates another database while the site's own is at hand: rows are asked for by
    ``using``, or a migration would change the wrong ones."""
    places = [
        f"{file.relative_to(settings.BASE_DIR)}:{number}"
        for file in settings.BASE_DIR.glob("*/migrations/*.py")
        for number, line in enumerate(file.read_text().splitlines(), start=1)
        if re.search(r"\.objects\b(?!\.using\()", line)
    ]
    assert places == []
