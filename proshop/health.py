"""Is this installation well: what is looked at, what was found, and how to mend it.

Apps add looks of their own with ``@look``. ``/health/`` asks the quick ones for whoever watches the
site; ``manage.py doctor`` asks all of them.
"""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from proshop import keys

# A job may wait so long in line before it is thought that no worker takes any.
WAITING = timedelta(minutes=2)
ROOM_BYTES = 500_000_000
BACKUP_AGE = timedelta(days=2)


@dataclass(frozen=True)
class Finding:
    """One thing looked at: whether it is well, in words, and what to do if it isn't.

    ``serious`` is what keeps people from working; the rest can wait.
    """

    name: str
    well: bool
    said: str
    remedy: str = ""
    serious: bool = True


Look = Callable[[], Finding]
_LOOKS: dict[str, tuple[Look, bool]] = {}


def look(name: str, *, quick: bool = True) -> Callable[[Look], Look]:
    """Register a look under a name; a quick one is also asked by ``/health/``."""

    def registered(function: Look) -> Look:
        _LOOKS[name] = (function, quick)
        return function

    return registered


def findings(*, quick: bool = False) -> Iterator[Finding]:
    """What all looks found, or the quick ones; a look that fails is a finding itself."""
    for name, (function, is_quick) in list(_LOOKS.items()):
        if quick and not is_quick:
            continue
        try:
            yield function()
        except Exception as trouble:  # whatever it is, the others are still asked
            yield Finding(name, False, f"{type(trouble).__name__}: {trouble}", "Mend this first.")


@look("database")
def database() -> Finding:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError as trouble:
        return Finding(
            "database",
            False,
            f"doesn't answer: {trouble}",
            "Start it, or set DATABASE_URL to where it is.",
        )
    return Finding("database", True, f"answers ({connection.vendor})")


@look("migrations")
def migrations() -> Finding:
    executor = MigrationExecutor(connection)
    missing = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if missing:
        names = ", ".join(f"{one.app_label}.{one.name}" for one, _ in missing)
        return Finding("migrations", False, f"not applied: {names}", "Run: manage.py migrate")
    return Finding("migrations", True, "all applied")


@look("worker")
def worker() -> Finding:
    """Whether jobs are taken up: a worker itself can't be seen, a line that stands still can."""
    long_ago = timezone.now() - WAITING
    waiting = DBTaskResult.objects.ready().filter(enqueued_at__lt=long_ago).count()
    recently = DBTaskResult.objects.filter(started_at__gte=long_ago).exists()
    running = DBTaskResult.objects.running().count()
    if waiting and not running and not recently:
        return Finding(
            "worker",
            False,
            f"{waiting} jobs wait, and none was taken up for {WAITING.seconds // 60} minutes",
            "Start one: manage.py db_worker",
        )
    return Finding("worker", True, f"{running} jobs run, {waiting} wait")


@look("failed jobs", quick=False)
def failed_jobs() -> Finding:
    since = timezone.now() - timedelta(days=7)
    failed = DBTaskResult.objects.failed().filter(finished_at__gte=since).count()
    return Finding(
        "failed jobs",
        not failed,
        f"{failed} in the last seven days",
        "Their messages are in the worker's log and in the table of jobs.",
        serious=False,
    )


@look("disk")
def disk() -> Finding:
    free = shutil.disk_usage(settings.VAR_DIR).free
    said = f"{free / 1e9:.1f} GB free where {settings.VAR_DIR} is"
    return Finding("disk", free > ROOM_BYTES, said, "Make room: old backups, logs.")


@look("compiled code", quick=False)
def compiled_code() -> Finding:
    """The engine's kernels have to be kept somewhere, or every process compiles them anew."""
    from pathlib import Path

    folder = Path(settings.NUMBA_CACHE_DIR)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        trial = folder / ".trial"
        trial.touch()
        trial.unlink()
    except OSError as trouble:
        return Finding(
            "compiled code",
            False,
            f"{folder} can't be written: {trouble}",
            "Give it to the account that runs the site, or set NUMBA_CACHE_DIR elsewhere.",
        )
    kept = sum(1 for _ in folder.rglob("*.nbc"))
    return Finding(
        "compiled code",
        kept > 0,
        f"{kept} kernels kept in {folder}",
        "Run: manage.py warm",
        serious=False,
    )


@look("secret key", quick=False)
def secret_key() -> Finding:
    wrong = keys.weakness(str(settings.SECRET_KEY))
    return Finding(
        "secret key", wrong is None, wrong or "strong enough", f"Make one: {keys.MAKE_ONE}"
    )


@look("mail", quick=False)
def mail() -> Finding:
    """What is printed into a served site's log would be links by which anybody takes an account."""
    if settings.EMAIL_HOST or not settings.HTTPS:
        where = settings.EMAIL_HOST or "printed where the site runs"
        return Finding("mail", True, where, serious=False)
    return Finding(
        "mail",
        False,
        "nobody takes it: links to choose a password are printed where the site runs",
        "Set EMAIL_HOST (head of proshop/settings.py).",
        serious=False,
    )


@look("backup", quick=False)
def backup() -> Finding:
    """The newest of ``manage.py backup``; whoever keeps them elsewhere knows better."""
    made = sorted((settings.VAR_DIR / "backups").glob("hookwright-*.zip"))
    remedy = "Run nightly: manage.py backup --keep 30 (README, Backups)"
    if not made:
        return Finding("backup", False, "none in var/backups", remedy, serious=False)
    age = timezone.now().timestamp() - made[-1].stat().st_mtime
    well = age < BACKUP_AGE.total_seconds()
    return Finding("backup", well, f"the last is {age / 3600:.0f} h old", remedy, serious=False)
