"""``python -m tests.load``: build a chain on PostgreSQL, let twenty people open every page of it,
and write down how long that took them: ``make load``.

SCALE         1 by default: 10,000 customers in the largest shop
VISITS        how often every page is opened, 40 by default: with fewer p95 is the slowest of all
LOAD_DATABASE an empty PostgreSQL database to build it in, or one built before, visited or not;
              without it a server of its own is started, and is gone afterwards
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from contextlib import ExitStack
from pathlib import Path

# Of each web process, held against one page at a time.
THREADS = 4
ROOT = Path(__file__).resolve().parents[2]
# Of so many customers the processor's time for each page is taken.
MEASURED = 6
REPORT = Path(__file__).resolve().parent / "REPORT.md"


def main() -> None:
    from tests.bench import postgres
    from tests.load import statements

    scale = float(os.environ.get("SCALE") or 1)
    each = int(os.environ.get("VISITS") or 40)
    with ExitStack() as stack:
        address, log = os.environ.get("LOAD_DATABASE"), None
        if not address:
            programs = postgres.binaries()
            if programs is None:
                sys.exit("No PostgreSQL server is installed (Debian: apt-get install postgresql).")
            address, log = stack.enter_context(postgres.logged(programs, statements.OPTIONS))
        # Not those of the shell: what is measured is the site as it is served.
        os.environ |= {"DATABASE_URL": address, "DJANGO_SETTINGS_MODULE": "proshop.settings"}
        os.environ.pop("DEBUG", None)
        manage = [sys.executable, str(ROOT / "manage.py")]
        for command in (["migrate", "-v0"], ["warm"], ["collectstatic", "--noinput", "-v0"]):
            subprocess.run([*manage, *command], cwd=ROOT, check=True)
        import django

        django.setup()
        told = measure(address, log, scale, each)
    REPORT.write_text(told, encoding="utf-8")
    print(told)
    if shutil.which("git"):
        print(f"Written to {REPORT.relative_to(ROOT)} and tests/bench/long_run.json.")


def measure(address: str, log: Path | None, scale: float, each: int) -> str:
    from django.conf import settings

    from tests.load import chain, crowd, report, statements
    from tests.load.pages import pages_of, queries_of, work_of

    # Django's own client, which counts the queries, calls itself so.
    settings.ALLOWED_HOSTS.append("testserver")
    began = time.monotonic()
    built = chain.found() or chain.build(scale)
    took_s = time.monotonic() - began
    print(f"Built in {took_s:.0f} s: {built.counts}", flush=True)
    people = chain.people_of(built)
    pages = pages_of(people, built.staff[0])
    chain.settle(built.sample)
    few = max(2, each // 10)
    queries = queries_of(pages[0], built.staff[0], built.owner)
    work = work_of(pages[:MEASURED], built.staff[0], built.owner)
    with crowd.served({"DATABASE_URL": address}) as port:
        # Each opened once, as on any morning; what a process knows of a customer it learns later.
        crowd.visit(port, pages, built.staff, built.owner, each=1, looks_s=0, users=2)
        counted = statements.begin(explain=log is not None)
        brisk = crowd.visit(port, pages, built.staff, built.owner, each=each)
        slow = statements.slowest() if counted else []
        plans = statements.plans(log) if log else None
        hurried = crowd.visit(port, pages, built.staff, built.owner, each=few, looks_s=0, seed=2)
    with crowd.served({"DATABASE_URL": address}, threads=THREADS) as port:
        crowd.visit(port, pages, built.staff, built.owner, each=1, looks_s=0, users=2)
        # Twice: by the second time the processes know these customers as the others did.
        for _ in range(2):
            threaded = crowd.visit(
                port, pages, built.staff, built.owner, each=few, looks_s=0, seed=2
            )
    return report.told(built, took_s, queries, work, brisk, hurried, threaded, slow, plans)


if __name__ == "__main__":
    main()
