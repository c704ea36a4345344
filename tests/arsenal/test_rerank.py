"""All customers put in line at once: each one time, whoever asks and however often."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from arsenal import engine as arsenal_engine
from arsenal.advice import services as advice
from arsenal.advice.models import Ranking
from arsenal.rerank import services
from arsenal.rerank.models import Rerank, RerankEntry
from arsenal.rerank.services import Standing
from arsenal.rerank.tasks import gather_all
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal.advice_cast import Engine, engine, work_off, wren

__all__ = ["engine", "work_off", "wren"]


@pytest.fixture
def rowan(shop: Shop) -> Bowler:
    bowler: Bowler = Bowler.objects.create(shop=shop, name="Rowan Field")
    return bowler


def ask(*options: str) -> str:
    said = StringIO()
    call_command("rerank", *options, stdout=said, stderr=said)
    return said.getvalue()


def ask_at_the_counter(bowler: Bowler) -> Ranking:
    return advice.request_ranking(bowler=bowler, question=advice.question_for(bowler), user=None)


def test_everybody_is_put_in_line_and_worked_off(
    wren: Bowler, rowan: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    assert "2 waiting, 0 running, 0 done" in ask("--all")
    work_off()
    assert services.standing(Rerank.objects.get()) == Standing(done=2)
    assert engine.runs == 2


def test_asking_again_makes_no_second_job_and_keeps_what_holds(
    wren: Bowler, rowan: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    ask("--all")
    ask("--all")
    assert DBTaskResult.objects.count() == Ranking.objects.count() == 2
    work_off()
    assert "2 held already" in ask("--all")
    assert engine.runs == 2


def test_a_change_ranks_again_whom_it_touches(
    wren: Bowler,
    rowan: Bowler,
    engine: Engine,
    work_off: Callable[[], None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ask("--all")
    work_off()
    unchanged = engine.inputs_for
    monkeypatch.setattr(
        arsenal_engine,
        "inputs_for",
        lambda bowler, *_: unchanged(bowler) | ({"speed_mph": 18.5} if bowler == wren else {}),
    )
    assert "1 waiting, 0 running, 0 done, 0 failed, 1 held already" in ask("--all")


def test_stale_means_ranked_before_and_no_longer_so(
    wren: Bowler, rowan: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    ask_at_the_counter(wren)
    work_off()
    assert services.gather(services.start(shop=wren.shop, stale_only=True)).total == 0
    engine.inputs = {"speed_mph": 18.5}
    assert services.gather(services.start(shop=wren.shop, stale_only=True)) == Standing(waiting=1)
    assert RerankEntry.objects.get().bowler == wren


def test_one_shop_leaves_the_others_alone(wren: Bowler, other_shop: Shop, engine: Engine) -> None:
    Bowler.objects.create(shop=other_shop, name="Otto Lind")
    ask("--shop", other_shop.name)
    assert Ranking.objects.get().shop == other_shop
    with pytest.raises(CommandError, match="Two Counters"):
        ask("--shop", "Nowhere")


def test_who_cannot_be_ranked_is_left_out_with_what_is_missing(
    wren: Bowler, engine: Engine
) -> None:
    engine.missing = [{"what": "the balls this customer owns", "url_name": "bag-add"}]
    said = ask("--all", "--watch")
    assert "1 left out" in said
    assert "Left out: Wren Marsh. Still to be recorded: the balls this customer owns." in said
    assert not Ranking.objects.exists()


def test_a_record_that_cannot_be_read_never_stops_the_others(
    wren: Bowler, rowan: Bowler, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    readable = engine.inputs_for

    def inputs_for(bowler: Bowler, *_: object) -> dict[str, object]:
        if bowler == wren:
            raise ZeroDivisionError("no reading")
        return readable(bowler)

    monkeypatch.setattr(arsenal_engine, "inputs_for", inputs_for)
    rerank = services.start(shop=wren.shop)
    assert services.gather(rerank) == Standing(waiting=1, left_out=1)
    assert "no reading" in services.left_out(rerank)[0].why


def test_gathering_goes_on_where_it_was_stopped(
    wren: Bowler, rowan: Bowler, engine: Engine
) -> None:
    rerank = services.start(shop=wren.shop)

    def stop(name: str) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        services.gather(rerank, tell=stop)
    rerank.refresh_from_db()
    assert (rerank.gathered_at, rerank.entries.count()) == (None, 1)
    assert services.gather(rerank) == Standing(waiting=2)
    assert rerank.gathered_at is not None


def test_whoever_waits_at_the_counter_goes_first(
    wren: Bowler, rowan: Bowler, engine: Engine
) -> None:
    ask("--all")
    job = DBTaskResult.objects.ready().last()
    assert job is not None
    ranking = Ranking.objects.get(job_id=str(job.pk))
    ask_at_the_counter(ranking.bowler)
    assert DBTaskResult.objects.count() == 2
    assert DBTaskResult.objects.ready()[0].pk == job.pk


def test_one_who_waits_at_the_counter_stays_in_front_at_night(wren: Bowler, engine: Engine) -> None:
    ask_at_the_counter(wren)
    ask("--all")
    assert DBTaskResult.objects.get().priority == advice.NOW


def test_failures_end_the_watch_with_their_reasons(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    engine.failure = ValueError("no line reaches the pocket")
    rerank = services.start(shop=wren.shop)
    services.gather(rerank)
    work_off()
    assert services.standing(rerank) == Standing(failed=1)
    [ranking] = services.failed(rerank)
    assert "no line reaches the pocket" in ranking.error


def test_the_watch_ends_badly_when_somebody_failed(
    wren: Bowler, engine: Engine, work_off: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    engine.failure = ValueError("no line reaches the pocket")
    monkeypatch.setattr("arsenal.management.commands.rerank.time.sleep", lambda s: work_off())
    said = StringIO()
    with pytest.raises(CommandError, match="1 could not be worked out"):
        call_command("rerank", "--all", "--watch", stdout=said, stderr=said)
    assert "Failed: Wren Marsh." in said.getvalue()
    assert "no line reaches the pocket" in said.getvalue()


def test_the_watch_says_that_nobody_is_at_work_and_looks_after_lost_ones(
    wren: Bowler, engine: Engine, work_off: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    command = "arsenal.management.commands.rerank"
    monkeypatch.setattr(f"{command}.IDLE_S", -1.0)
    monkeypatch.setattr(f"{command}.REAP_EVERY_S", -1.0)
    looked: list[float] = []

    def lost_then_worked_off(seconds: float) -> None:
        looked.append(seconds)
        if len(looked) == 1:
            # Asked for long ago, and its job is gone: only the reaper finds it.
            DBTaskResult.objects.all().delete()
            Ranking.objects.update(asked_at=timezone.now() - timedelta(minutes=5))
        elif len(looked) > 2:
            work_off()

    monkeypatch.setattr(f"{command}.time.sleep", lost_then_worked_off)
    said = ask("--all", "--watch")
    assert "Nobody is working on it. Start: python manage.py db_worker" in said
    assert "1 rankings without a job put in line" in said
    assert said.rstrip().endswith("1 done, 0 failed, 0 held already, 0 left out")


def test_the_watch_tells_a_thing_once_however_often_it_looks(
    wren: Bowler, engine: Engine, work_off: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[float] = []

    def worked_off_at_last(seconds: float) -> None:
        looked.append(seconds)
        if len(looked) > 3:
            work_off()

    monkeypatch.setattr("arsenal.management.commands.rerank.time.sleep", worked_off_at_last)
    said = ask("--all", "--watch").splitlines()
    assert len(looked) == 4
    assert len(said) == len(set(said))
    assert not [line for line in said if "Nobody is working on it" in line]


def test_who_cant_be_ranked_any_more_is_no_answer_that_no_longer_holds(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    ask_at_the_counter(wren)
    work_off()
    engine.missing = [{"what": "the balls this customer owns", "url_name": "bag-add"}]
    assert services.gather(services.start(shop=wren.shop, stale_only=True)).total == 0
    assert services.gather(services.start(shop=wren.shop)) == Standing(left_out=1)


def test_an_occasion_forgotten_meanwhile_is_gathered_by_nobody(db: None) -> None:
    assert gather_all.call(999_999) is False


def test_a_failed_one_is_tried_again_the_next_night(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    engine.failure = ValueError("no line reaches the pocket")
    ask("--all")
    work_off()
    engine.failure = None
    assert "1 waiting" in ask("--all")
    work_off()
    assert Ranking.objects.get().is_done


def test_a_ranking_without_a_job_is_put_in_line_by_the_reaper(
    wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    ask("--all")
    DBTaskResult.objects.all().delete()
    call_command("reap_jobs", stdout=StringIO())
    assert not DBTaskResult.objects.exists()
    Ranking.objects.update(asked_at=timezone.now() - timedelta(minutes=5))
    said = StringIO()
    call_command("reap_jobs", stdout=said)
    assert "1 rankings without a job put in line" in said.getvalue()
    call_command("reap_jobs", stdout=StringIO())
    assert DBTaskResult.objects.count() == 1
    work_off()
    assert Ranking.objects.get().is_done


def test_the_pace_is_told_once_a_few_are_done(
    wren: Bowler, rowan: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    rerank = services.start(shop=wren.shop)
    Rerank.objects.update(asked_at=timezone.now() - timedelta(seconds=60))
    rerank.refresh_from_db()
    assert services.left_s(rerank, Standing(waiting=2, done=2)) is None
    left = services.left_s(rerank, Standing(waiting=2, done=4))
    assert left == pytest.approx(30, abs=2)


def test_old_occasions_are_forgotten_but_their_rankings_kept(wren: Bowler, engine: Engine) -> None:
    for _ in range(services.KEPT + 3):
        services.gather(services.start(shop=wren.shop))
    assert Rerank.objects.count() == services.KEPT
    assert Ranking.objects.count() == 1
