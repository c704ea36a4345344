"""What the pages of gaps and next ball have in common: access, waiting, finding again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal.advice.models import Ranking
from bowlers.models import Bowler
from tests.arsenal.advice_cast import Engine, engine, work_off, wren

__all__ = ["engine", "work_off", "wren"]

PAGES = ("gaps", "next-ball")
HTMX = {"HX-Request": "true"}


@pytest.fixture
def stored(wren: Bowler, engine: Engine, staff_client: Client, work_off: Any) -> Ranking:
    staff_client.post(reverse("gaps", args=[wren.pk]))
    work_off()
    ranking: Ranking = Ranking.objects.get()
    return ranking


@pytest.mark.parametrize("page", PAGES)
def test_a_stranger_is_sent_to_sign_in(
    page: str, wren: Bowler, engine: Engine, stranger: Client
) -> None:
    answer = stranger.get(reverse(page, args=[wren.pk]))
    assert answer.status_code == 302
    assert reverse("sign-in") in answer["Location"]


@pytest.mark.parametrize("page", PAGES)
def test_another_shop_finds_no_such_customer(
    page: str, wren: Bowler, engine: Engine, other_staff_client: Client
) -> None:
    assert other_staff_client.get(reverse(page, args=[wren.pk])).status_code == 404
    assert other_staff_client.post(reverse(page, args=[wren.pk])).status_code == 404
    assert not Ranking.objects.exists()


@pytest.mark.parametrize("name", ["ranking", "ranking-progress", "ranking-strip"])
def test_another_shop_finds_no_such_ranking(
    name: str, stored: Ranking, other_staff_client: Client, stranger: Client, outsider: User
) -> None:
    address = reverse(name, args=[stored.pk])
    assert other_staff_client.get(address).status_code == 404
    assert stranger.get(address).status_code == 302


@pytest.mark.parametrize("page", PAGES)
def test_what_is_missing_is_said_and_linked_to(
    page: str, wren: Bowler, engine: Engine, staff_client: Client
) -> None:
    engine.missing = [
        {"what": "a finished fitting", "url_name": "fitting-add"},
        {"what": "the balls the customer owns", "url_name": "bag-add"},
    ]
    answer = staff_client.get(reverse(page, args=[wren.pk]))
    assert answer.status_code == 200
    text = answer.content.decode()
    assert "A finished fitting" in text
    assert reverse("fitting-add", args=[wren.pk]) in text
    assert reverse("bag-add", args=[wren.pk]) in text
    assert staff_client.post(reverse(page, args=[wren.pk])).status_code == 200
    assert not Ranking.objects.exists()


@pytest.mark.parametrize("page", PAGES)
def test_looking_at_a_page_computes_nothing(
    page: str, wren: Bowler, engine: Engine, staff_client: Client
) -> None:
    answer = staff_client.get(reverse(page, args=[wren.pk]))
    assert "Work it out" in answer.content.decode()
    assert not Ranking.objects.exists()


def test_a_double_click_makes_one_ranking(
    wren: Bowler, engine: Engine, staff_client: Client, work_off: Callable[[], None]
) -> None:
    address = reverse("next-ball", args=[wren.pk])
    assert staff_client.post(address).status_code == 302
    assert staff_client.post(address).status_code == 302
    work_off()
    assert Ranking.objects.count() == 1
    assert engine.runs == 1


def test_gaps_and_next_ball_share_one_ranking(
    stored: Ranking, engine: Engine, wren: Bowler, staff_client: Client
) -> None:
    answer = staff_client.get(reverse("next-ball", args=[wren.pk]))
    assert answer.context["ranking"].pk == stored.pk
    assert engine.runs == 1


def test_htmx_gets_progress_that_polls_itself(
    wren: Bowler, engine: Engine, staff_client: Client
) -> None:
    answer = staff_client.post(reverse("gaps", args=[wren.pk]), headers=HTMX)
    ranking = Ranking.objects.get()
    text = answer.content.decode()
    assert reverse("ranking-progress", args=[ranking.pk]) in text
    assert 'hx-trigger="every 1s"' in text
    assert "<html" not in text


def test_the_page_can_be_left_and_found_again(
    wren: Bowler, engine: Engine, staff_client: Client, second_staff_client: Client
) -> None:
    staff_client.post(reverse("gaps", args=[wren.pk]))
    Ranking.objects.update(
        status="running", progress=63, progress_note="Confirming", heard_at=timezone.now()
    )
    text = second_staff_client.get(reverse("gaps", args=[wren.pk])).content.decode()
    assert "63 %" in text
    assert "Confirming" in text


def test_a_finished_ranking_makes_the_waiting_page_reload(
    stored: Ranking, staff_client: Client
) -> None:
    answer = staff_client.get(reverse("ranking-progress", args=[stored.pk]), headers=HTMX)
    assert answer["HX-Refresh"] == "true"


def test_a_failure_shows_what_went_wrong_and_a_try_again_that_works(
    wren: Bowler, engine: Engine, staff_client: Client, work_off: Callable[[], None]
) -> None:
    engine.failure = ValueError("the oil table has no rows")
    address = reverse("gaps", args=[wren.pk])
    staff_client.post(address)
    work_off()
    text = staff_client.get(address).content.decode()
    assert "the oil table has no rows" in text
    assert "Try again" in text
    engine.failure = None
    staff_client.post(address)
    work_off()
    assert "The same in numbers" in staff_client.get(address).content.decode()


def test_a_page_without_a_worker_says_so(
    wren: Bowler, engine: Engine, staff_client: Client
) -> None:
    staff_client.post(reverse("gaps", args=[wren.pk]))
    ranking = Ranking.objects.get()
    address = reverse("ranking-progress", args=[ranking.pk])
    assert "db_worker" not in staff_client.get(address).content.decode()
    Ranking.objects.update(asked_at=timezone.now() - timedelta(seconds=31))
    text = staff_client.get(address).content.decode()
    assert "no worker has picked it up" in text
    assert "python manage.py db_worker" in text


def test_a_stored_ranking_is_reopened_as_it_was(
    stored: Ranking, engine: Engine, staff_client: Client
) -> None:
    engine.result = {**engine.result, "choices": [], "tasks": []}
    text = staff_client.get(stored.get_absolute_url()).content.decode()
    assert "Rowan" in text
    assert "speed_mph" in text
    assert "model invented" in text
    assert "Changed since" not in text
    assert engine.runs == 1


def test_a_stored_ranking_says_when_the_records_have_changed_since(
    stored: Ranking, engine: Engine, wren: Bowler, staff_client: Client
) -> None:
    engine.inputs = {**engine.inputs, "bag": ["one more ball"]}
    text = staff_client.get(stored.get_absolute_url()).content.decode()
    assert "Changed since this was computed: the bag." in text
    assert "Compute again" in text
    staff_client.post(reverse("next-ball", args=[wren.pk]))
    assert Ranking.objects.count() == 2


def test_a_stored_ranking_says_when_the_model_has_changed_since(
    stored: Ranking, staff_client: Client
) -> None:
    Ranking.objects.update(model_version="older")
    text = staff_client.get(stored.get_absolute_url()).content.decode()
    assert "model behind the numbers has changed" in text


def test_a_stored_ranking_outlives_what_it_was_computed_from(
    stored: Ranking, engine: Engine, staff_client: Client
) -> None:
    engine.missing = [{"what": "a finished fitting", "url_name": "fitting-add"}]
    answer = staff_client.get(stored.get_absolute_url())
    assert answer.status_code == 200
    assert "since been removed" in answer.content.decode()


def test_an_earlier_answer_is_linked_while_the_new_one_is_worked_out(
    stored: Ranking, engine: Engine, wren: Bowler, staff_client: Client
) -> None:
    engine.inputs = {"speed_mph": 16.0}
    text = staff_client.get(reverse("gaps", args=[wren.pk])).content.decode()
    assert stored.get_absolute_url() in text


@pytest.mark.parametrize("page", PAGES)
def test_a_page_of_an_answer_costs_few_queries(
    page: str,
    stored: Ranking,
    wren: Bowler,
    staff_client: Client,
    django_assert_max_num_queries: Any,
) -> None:
    # Session, user, membership with shop, customer, another release, ranking, a grip that hurts,
    # earlier answers.
    with django_assert_max_num_queries(8):
        staff_client.get(reverse(page, args=[wren.pk]))


@pytest.mark.parametrize("page", PAGES)
def test_what_is_nearly_known_is_answered_at_once_and_once(
    page: str, wren: Bowler, engine: Engine, staff_client: Client
) -> None:
    engine.known = True
    address = reverse(page, args=[wren.pk])
    assert "Working it out" not in staff_client.get(address).content.decode()
    staff_client.get(address)
    ranking = Ranking.objects.get()
    assert (ranking.status, ranking.attempts, ranking.job_id) == ("done", 1, "")
    assert ranking.inputs == {"speed_mph": 17.5, "customer_id": wren.pk}
    assert engine.runs == 1


def test_what_is_not_known_waits_to_be_asked_for(
    wren: Bowler, engine: Engine, staff_client: Client
) -> None:
    page = staff_client.get(reverse("gaps", args=[wren.pk])).content.decode()
    assert "Nothing has been worked out yet" in page
    assert not Ranking.objects.exists()
    assert engine.runs == 0


def test_a_failure_at_once_is_left_for_the_worker_to_tell(
    wren: Bowler, engine: Engine, staff_client: Client
) -> None:
    engine.known, engine.failure = True, ValueError("no line reaches the pocket")
    page = staff_client.get(reverse("gaps", args=[wren.pk]))
    assert page.status_code == 200
    assert "Nothing has been worked out yet" in page.content.decode()
    assert not Ranking.objects.exists()
