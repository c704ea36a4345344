"""What watches the site sees, and what the doctor says."""

import io
import os
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.db import OperationalError, connection
from django.test import Client
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from proshop import health


@pytest.fixture
def only() -> Iterator[Callable[[str, Any], object]]:
    """Put a look of this test's own beside the others, for this test."""
    before = dict(health._LOOKS)
    yield lambda name, function: health.look(name)(function)
    health._LOOKS.clear()
    health._LOOKS.update(before)


def broken(*args: Any, **kwargs: Any) -> Any:
    raise OperationalError("server closed the connection unexpectedly")


def waiting(minutes: float) -> "DBTaskResult[Any, Any]":
    job = DBTaskResult.objects.create(
        task_path="arsenal.rerank.tasks.gather",
        args_kwargs={"args": [], "kwargs": {}},
        backend_name="default",
    )
    DBTaskResult.objects.filter(pk=job.pk).update(
        enqueued_at=timezone.now() - timedelta(minutes=minutes)
    )
    return job


def found(name: str) -> health.Finding:
    return next(one for one in health.findings() if one.name == name)


def test_a_stranger_sees_that_it_is_well_and_nothing_of_anybody(stranger_client: Client) -> None:
    answer = stranger_client.get("/health/")
    assert answer.status_code == 200
    assert answer.json() == {
        "status": "well",
        **dict.fromkeys(["database", "migrations", "worker", "engine", "disk"], "well"),
    }
    assert answer["Cache-Control"] == "no-store"


def test_a_lost_database_is_seen(stranger_client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as lost:
        lost.setattr(connection, "cursor", broken)
        answer = stranger_client.get("/health/")
    assert answer.status_code == 503
    assert answer.json()["database"] == "wrong"


@pytest.mark.django_db
def test_jobs_that_nobody_takes_up_are_seen() -> None:
    assert found("worker").well
    waiting(minutes=1)
    assert found("worker").well
    waiting(minutes=5)
    assert not found("worker").well
    job = waiting(minutes=5)
    DBTaskResult.objects.filter(pk=job.pk).update(status="RUNNING", started_at=timezone.now())
    assert found("worker").well


@pytest.mark.django_db
def test_an_engine_that_computes_wrongly_is_seen(
    stranger_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert found("engine").well
    # As far off as a number that is wrong in its fifth figure.
    monkeypatch.setattr("arsenal.engine.trial.KEPT_ONCE_IT_ROLLS", 0.7143)
    answer = stranger_client.get("/health/")
    assert (answer.status_code, answer.json()["engine"]) == (503, "wrong")


@pytest.mark.django_db
def test_mail_that_nobody_takes_is_told_where_the_site_is_served(settings: Any) -> None:
    assert found("mail").well
    settings.HTTPS = True
    assert not found("mail").well
    assert not found("mail").serious
    settings.EMAIL_HOST = "smtp.example.com"
    assert found("mail").well


@pytest.mark.django_db
def test_a_look_that_fails_is_a_finding_and_the_others_are_asked(only: Any) -> None:
    only("crystal ball", broken)
    names = {one.name: one for one in health.findings()}
    assert not names["crystal ball"].well
    assert names["database"].well


@pytest.mark.django_db
def test_the_doctor_names_what_is_wrong_and_the_remedy(
    settings: Any, tmp_path: Path, only: Any
) -> None:
    settings.NUMBA_CACHE_DIR = str(tmp_path)
    said = io.StringIO()
    call_command("doctor", stdout=said)
    assert "compiled code: 0 kernels" in said.getvalue()
    assert "→ Run: manage.py warm" in said.getvalue()
    settings.SECRET_KEY = "short"
    only("crystal ball", lambda: health.Finding("crystal ball", False, "is dark", "Polish it."))
    with pytest.raises(CommandError, match=r"Wrong: secret key, crystal ball\."):
        call_command("doctor", stdout=said)
    assert "→ Polish it." in said.getvalue()


@pytest.mark.django_db
def test_a_folder_that_can_t_be_written_is_wrong(settings: Any, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    settings.NUMBA_CACHE_DIR = str(tmp_path / "file" / "numba")
    assert not found("compiled code").well


@pytest.mark.django_db
def test_migrations_not_applied_are_named() -> None:
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations WHERE app = 'proshop'")
    assert "proshop.0001_initial" in found("migrations").said


@pytest.mark.django_db
def test_an_old_backup_is_told(settings: Any, tmp_path: Path, staff: User) -> None:
    settings.VAR_DIR = tmp_path
    assert not found("backup").well
    call_command("backup", stdout=io.StringIO())
    assert found("backup").well
    made = next((tmp_path / "backups").iterdir())
    os.utime(made, (0, 0))
    assert not found("backup").well
    assert not found("backup").serious


@pytest.mark.django_db
def test_the_doctor_passes_on_what_django_finds(settings: Any) -> None:
    settings.HTTPS = True
    settings.SECURE_HSTS_SECONDS = 0
    said = io.StringIO()
    with pytest.raises(CommandError, match="Wrong: settings"):
        call_command("doctor", stdout=said)
    assert "security.W004" in said.getvalue()
    assert "→ See the hints above." in said.getvalue()
