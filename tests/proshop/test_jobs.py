"""Jobs whose worker was killed come back."""

from datetime import timedelta
from io import StringIO
from types import SimpleNamespace
from typing import Any
from unittest.mock import Mock

import pytest
from django.core.management import call_command
from django.db import OperationalError
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from proshop.jobs import put_back_lost
from proshop.management.commands import db_worker


def running_job(minutes: float, workers: int = 1) -> "DBTaskResult[..., bool]":
    now = timezone.now()
    job: DBTaskResult[..., bool] = DBTaskResult.objects.create(
        status="RUNNING",
        started_at=now - timedelta(minutes=minutes),
        worker_ids=[f"worker-{number}" for number in range(workers)],
        args_kwargs={"args": [0], "kwargs": {}},
        task_path="arsenal.advice.tasks.compute_ranking",
        backend_name="default",
        run_after=now,
        exception_class_path="",
        traceback="",
    )
    return job


@pytest.mark.django_db
def test_a_job_running_for_long_is_put_back_in_line() -> None:
    job = running_job(minutes=60)
    assert put_back_lost() == (1, 0)
    job.refresh_from_db()
    assert (job.status, job.started_at) == ("READY", None)
    assert DBTaskResult.objects.ready().filter(pk=job.pk).exists()


@pytest.mark.django_db
def test_a_job_that_just_started_is_left_alone() -> None:
    job = running_job(minutes=0.5)
    assert put_back_lost() == (0, 0)
    job.refresh_from_db()
    assert job.status == "RUNNING"


@pytest.mark.django_db
def test_a_job_lost_three_times_is_given_up() -> None:
    job = running_job(minutes=60, workers=3)
    assert put_back_lost() == (0, 1)
    job.refresh_from_db()
    assert job.status == "FAILED"
    assert job.finished_at is not None


@pytest.mark.django_db
def test_at_the_start_of_the_site_every_running_job_is_a_lost_one() -> None:
    job = running_job(minutes=0.01)
    said = StringIO()
    call_command("reap_jobs", age=0, stdout=said)
    job.refresh_from_db()
    assert job.status == "READY"
    assert "1 jobs put back" in said.getvalue()


@pytest.mark.django_db
def test_a_worker_puts_back_what_another_lost_and_outlives_a_lost_database(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # A test's own connection is open for as long as its transaction.
    let_go = Mock()
    monkeypatch.setattr(db_worker, "close_old_connections", let_go)
    job = running_job(minutes=60)
    stdout, stderr = StringIO(), StringIO()
    worker = db_worker.Command(stdout=stdout, stderr=stderr, no_color=True)

    def once() -> Any:
        """An event that is set after the first look."""
        return SimpleNamespace(wait=Mock(side_effect=[False, True]))

    worker._reap_until(once())
    job.refresh_from_db()
    assert job.status == "READY"
    assert "1 jobs put back" in stdout.getvalue()
    gone = Mock(side_effect=OperationalError("server closed the connection"))
    monkeypatch.setattr(db_worker, "call_command", gone)
    worker._reap_until(once())
    assert "Lost jobs weren't looked for: server closed the connection" in stderr.getvalue()
    assert let_go.call_count == 2
