"""A ranking as a job: one row a question, found again when its worker dies."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings
from django.core.management import call_command
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from arsenal.advice import services
from arsenal.advice.models import Ranking
from arsenal.advice.run import compute
from bowlers.models import Bowler
from physics.errors import InputError
from tests.arsenal.advice_cast import Engine, engine, work_off, wren

__all__ = ["engine", "work_off", "wren"]


def ask(bowler: Bowler) -> Ranking:
    return services.request_ranking(
        bowler=bowler, question=services.question_for(bowler), user=None
    )


def kill_the_worker(ranking: Ranking, *, attempts: int = 1) -> None:
    """As a killed worker leaves things: both rows say running, and nobody is there."""
    long_ago = timezone.now() - timedelta(seconds=settings.JOB_LOST_AFTER_SECONDS + 5)
    Ranking.objects.filter(pk=ranking.pk).update(
        status="running", started_at=long_ago, heard_at=long_ago, attempts=attempts, progress=40
    )
    DBTaskResult.objects.filter(id=ranking.job_id).update(status="RUNNING", started_at=long_ago)


def test_a_request_waits_in_line_until_a_worker_computes_it(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    ranking = ask(wren)
    assert ranking.status == "waiting"
    work_off()
    ranking.refresh_from_db()
    assert (ranking.status, ranking.progress, ranking.attempts) == ("done", 100, 1)
    assert ranking.result is not None
    assert ranking.result["customer"]["id"] == wren.pk
    assert ranking.inputs == {"speed_mph": 17.5, "customer_id": wren.pk}
    assert ranking.started_at is not None
    assert ranking.finished_at is not None
    assert ranking.finished_at >= ranking.started_at


def test_asking_the_same_twice_makes_one_ranking_and_one_job(wren: Bowler, engine: Engine) -> None:
    assert ask(wren).pk == ask(wren).pk
    assert Ranking.objects.count() == 1
    assert DBTaskResult.objects.count() == 1


def test_a_done_ranking_is_reopened_rather_than_computed_again(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    first = ask(wren)
    work_off()
    again = ask(wren)
    work_off()
    assert again.pk == first.pk
    assert again.is_done
    assert engine.runs == 1


def test_other_inputs_make_another_ranking(wren: Bowler, engine: Engine) -> None:
    first = ask(wren)
    engine.inputs = {"speed_mph": 18.0}
    assert ask(wren).pk != first.pk


def test_the_key_knows_values_not_the_order_they_were_written_in() -> None:
    assert services.inputs_key({"a": 1.5, "b": [1]}) == services.inputs_key({"b": [1], "a": 1.5})
    assert services.inputs_key({"a": 1.5}) != services.inputs_key({"a": 1.25})


def test_not_a_number_has_no_key() -> None:
    with pytest.raises(ValueError, match="JSON"):
        services.inputs_key({"a": float("nan")})


def test_running_the_job_twice_computes_once(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    ranking = ask(wren)
    work_off()
    assert compute(ranking_id=ranking.pk) is False
    assert engine.runs == 1


def test_progress_is_stored_while_it_computes(wren: Bowler, engine: Engine) -> None:
    ranking = ask(wren)
    seen: list[tuple[int, str]] = []

    def look() -> None:
        row = Ranking.objects.get(pk=ranking.pk)
        seen.append((row.progress, row.progress_note))

    engine.during = look
    compute(ranking_id=ranking.pk)
    assert seen == [(40, "Screening 600 choices")]


def test_a_failure_is_kept_in_words_and_can_be_tried_again(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    engine.failure = ValueError("no line reaches the pocket")
    ranking = ask(wren)
    work_off()
    ranking.refresh_from_db()
    assert ranking.is_failed
    assert "no line reaches the pocket" in ranking.error
    engine.failure = None
    ask(wren)
    work_off()
    ranking.refresh_from_db()
    assert ranking.is_done
    assert ranking.error == ""


def test_a_result_with_a_number_that_is_none_is_a_failure(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    engine.result = {**engine.result, "seed": float("inf")}
    ranking = ask(wren)
    work_off()
    ranking.refresh_from_db()
    assert ranking.is_failed


def test_a_ranking_whose_worker_was_killed_is_run_again(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    ranking = ask(wren)
    kill_the_worker(ranking)
    ranking.refresh_from_db()
    services.look_after(ranking)
    assert ranking.status == "waiting"
    assert DBTaskResult.objects.get().status == "READY"
    work_off()
    ranking.refresh_from_db()
    assert ranking.is_done
    assert ranking.attempts == 2


def test_a_ranking_heard_of_lately_is_left_alone(wren: Bowler, engine: Engine) -> None:
    ranking = ask(wren)
    Ranking.objects.filter(pk=ranking.pk).update(
        status="running",
        attempts=1,
        started_at=timezone.now() - timedelta(hours=1),
        heard_at=timezone.now() - timedelta(seconds=2),
    )
    assert services.revive_silent(rankings=Ranking.objects.all()) == 0


def test_a_job_isnt_put_back_while_its_ranking_is_heard_of(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    # Killed a moment ago: the job began long before the ranking was last heard of. Taken up now it
    # would find a ranking that runs, and end without one.
    ranking = ask(wren)
    kill_the_worker(ranking)
    Ranking.objects.filter(pk=ranking.pk).update(heard_at=timezone.now())
    call_command("reap_jobs")
    work_off()
    assert DBTaskResult.objects.get().status == "RUNNING"
    kill_the_worker(ranking)
    call_command("reap_jobs")
    work_off()
    ranking.refresh_from_db()
    assert ranking.is_done
    assert DBTaskResult.objects.get().status == "SUCCESSFUL"


def test_at_the_start_of_the_house_whatever_runs_was_left_by_the_dead(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    ranking = ask(wren)
    Ranking.objects.filter(pk=ranking.pk).update(
        status="running", attempts=1, started_at=timezone.now(), heard_at=timezone.now()
    )
    DBTaskResult.objects.update(status="RUNNING", started_at=timezone.now())
    call_command("reap_jobs", age=0)
    work_off()
    ranking.refresh_from_db()
    assert ranking.is_done


def test_after_three_killed_workers_it_fails_with_words(wren: Bowler, engine: Engine) -> None:
    ranking = ask(wren)
    kill_the_worker(ranking, attempts=3)
    ranking.refresh_from_db()
    services.look_after(ranking)
    assert ranking.is_failed
    assert "3 times" in ranking.error


def test_of_two_that_find_a_silent_ranking_one_runs_it_again(
    wren: Bowler, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    rankings = []
    for speed_mph in (17.0, 18.0):
        engine.inputs = {"speed_mph": speed_mph}
        rankings.append(ask(wren))
        kill_the_worker(rankings[-1])
    first, second = rankings
    put_in_line = services._put_in_line

    def meanwhile(ranking: Ranking, *rest: Any) -> None:
        """Somebody else looks, and a worker is quick, while the first is put in line."""
        other = second if ranking.pk == first.pk else first
        Ranking.objects.filter(pk=other.pk).update(attempts=2, heard_at=timezone.now())
        put_in_line(ranking, *rest)

    monkeypatch.setattr(services, "_put_in_line", meanwhile)
    assert services.revive_silent(rankings=Ranking.objects.all()) == 1
    assert sorted(Ranking.objects.values_list("status", "attempts")) == [
        ("running", 2),
        ("waiting", 1),
    ]


def test_a_run_given_up_for_dead_writes_nothing(wren: Bowler, engine: Engine) -> None:
    ranking = ask(wren)

    def another_takes_over() -> None:
        Ranking.objects.filter(pk=ranking.pk).update(attempts=7, progress_note="mine now")

    engine.during = another_takes_over
    compute(ranking_id=ranking.pk)
    ranking.refresh_from_db()
    assert (ranking.status, ranking.attempts, ranking.result) == ("running", 7, None)


def test_a_run_taken_over_by_another_stops_where_it_says_how_far_it_is(
    wren: Bowler, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    ranking = ask(wren)

    def slowly(inputs: Any, seed: int, progress: Callable[[int, str], None], store: Any) -> Any:
        Ranking.objects.filter(pk=ranking.pk).update(attempts=7, progress_note="mine now")
        progress(80, "Confirming")
        raise AssertionError("went on")

    monkeypatch.setattr("arsenal.engine.run_ranking", slowly)
    assert compute(ranking_id=ranking.pk) is False
    ranking.refresh_from_db()
    assert (ranking.status, ranking.attempts, ranking.error) == ("running", 7, "")
    assert ranking.progress_note == "mine now"


def test_a_number_that_can_t_be_is_told_as_one(wren: Bowler, engine: Engine) -> None:
    engine.failure = InputError("speed_mph", 99.0, "5 to 35 mph")
    ranking = ask(wren)
    compute(ranking_id=ranking.pk)
    ranking.refresh_from_db()
    assert ranking.is_failed
    assert ranking.error.startswith("A number it was computed from can't be right")
    assert "5 to 35 mph" in ranking.error


def test_a_lost_job_is_put_in_line_again(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    ranking = ask(wren)
    DBTaskResult.objects.all().delete()
    Ranking.objects.update(asked_at=timezone.now() - timedelta(minutes=5))
    ranking.refresh_from_db()
    services.look_after(ranking)
    work_off()
    ranking.refresh_from_db()
    assert ranking.is_done


def test_nobody_picking_up_is_noticed_only_after_a_while_and_only_if_nobody_works(
    wren: Bowler, engine: Engine
) -> None:
    ranking = ask(wren)
    assert not services.nobody_picked_up(ranking)
    Ranking.objects.update(asked_at=timezone.now() - timedelta(minutes=5))
    ranking.refresh_from_db()
    assert services.nobody_picked_up(ranking)
    engine.inputs = {"speed_mph": 19.0}
    other = ask(wren)
    Ranking.objects.filter(pk=other.pk).update(status="running", heard_at=timezone.now())
    assert not services.nobody_picked_up(ranking)


@pytest.mark.django_db(transaction=True)
def test_the_worker_command_computes_what_waits(wren: Bowler, engine: Engine) -> None:
    ranking = ask(wren)
    call_command("db_worker", batch=True, startup_delay=False, interval=0, reload=False, warm=False)
    ranking.refresh_from_db()
    assert ranking.is_done
