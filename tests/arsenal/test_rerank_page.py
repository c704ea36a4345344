"""The page that says how far the ranking of all customers is."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from arsenal.rerank import services
from arsenal.rerank.models import Rerank
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal.advice_cast import Engine, engine, work_off, wren

__all__ = ["engine", "work_off", "wren"]

PAGE = "/rankings/all/"


def press(client: Client, **more: str) -> None:
    client.post(PAGE, {"form_token": str(uuid.uuid4()), **more})


def shown(client: Client) -> str:
    return client.get(PAGE).content.decode()


def test_before_the_first_time_it_says_so(staff_client: Client) -> None:
    assert "haven’t been ranked at once yet" in shown(staff_client)


def test_pressing_the_button_ranks_everybody(
    staff_client: Client, wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    press(staff_client)
    page = shown(staff_client)
    assert "Putting customers in line" in page
    assert "every 2s" in page
    work_off()
    page = shown(staff_client)
    assert "<dt>Done</dt><dd>1</dd>" in page
    assert "by Sam" in page
    assert "every 2s" not in page


def test_pressing_it_while_one_is_under_way_starts_no_second(
    staff_client: Client, second_staff_client: Client, wren: Bowler, engine: Engine
) -> None:
    press(staff_client)
    press(second_staff_client)
    assert Rerank.objects.count() == DBTaskResult.objects.count() == 1


def test_only_what_no_longer_holds_can_be_asked_for(
    staff_client: Client, wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    press(staff_client, stale="1")
    work_off()
    assert services.standing(Rerank.objects.get()).total == 0
    assert "only answers that no longer held" in shown(staff_client)


def test_failures_and_those_left_out_are_named_with_the_reason(
    staff_client: Client, wren: Bowler, engine: Engine, work_off: Callable[[], None]
) -> None:
    engine.failure = ValueError("no line reaches the pocket")
    press(staff_client)
    work_off()
    page = shown(staff_client)
    assert "Done, but for 1" in page
    assert "no line reaches the pocket" in page
    engine.missing = [{"what": "the balls this customer owns", "url_name": "bag-add"}]
    press(staff_client)
    work_off()
    page = shown(staff_client)
    assert "Still to be recorded: the balls this customer owns." in page
    assert f'href="/customers/{wren.pk}/"' in page


def test_a_missing_worker_is_told_of(staff_client: Client, wren: Bowler, engine: Engine) -> None:
    press(staff_client)
    assert "Nobody is working on it" not in shown(staff_client)
    Rerank.objects.update(asked_at=timezone.now() - timedelta(minutes=5))
    assert "Nobody is working on it" in shown(staff_client)


def test_looking_puts_back_what_a_dead_worker_had(
    staff_client: Client, wren: Bowler, engine: Engine
) -> None:
    services.gather(services.start(shop=wren.shop))
    long_ago = timezone.now() - timedelta(seconds=settings.JOB_LOST_AFTER_SECONDS + 5)
    wren.rankings.update(status="running", attempts=1, started_at=long_ago, heard_at=long_ago)
    assert "<dt>Waiting</dt><dd>1</dd>" in shown(staff_client)


def test_another_shop_s_occasion_is_not_shown(
    other_staff_client: Client, other_shop: Shop, wren: Bowler, engine: Engine
) -> None:
    engine.missing = [{"what": "the balls this customer owns", "url_name": "bag-add"}]
    services.gather(services.start(shop=wren.shop))
    assert "Wren Marsh" not in shown(other_staff_client)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (20, "less than a minute to go"),
        (70, "about 1 minute to go"),
        (600, "about 10 minutes to go"),
        (7300, "about 2 hours to go"),
    ],
)
def test_the_time_left_is_put_into_words(
    shop: Shop, seconds: float, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(services, "left_s", lambda rerank, now: seconds)
    assert services.left_words(services.start(shop=shop), services.Standing()) == words
