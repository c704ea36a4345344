"""A customer's page: what is known, what is missing, where to go on."""

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bowlers import hub, services
from bowlers.models import Bowler, Fitting
from tests.bowlers.conftest import Log


def test_a_customer_with_nothing_yet_has_every_step_to_do(
    staff_client: Client, bowler: Bowler
) -> None:
    page = staff_client.get(f"/customers/{bowler.pk}/").content.decode()
    assert page.count("To do") == len(hub.steps(bowler)) >= 5
    for address in ("fittings/new/", "bag/", "conditions/", "gaps/"):
        assert f"/customers/{bowler.pk}/{address}" in page


def test_the_release_is_summed_up_with_means_spreads_and_computed_words(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    for revs in (440, 448, 456):
        log(fitting, rev_rate_rpm=revs)
    services.finish_fitting(fitting=fitting)
    page = staff_client.get(f"/customers/{fitting.bowler.pk}/").content.decode()
    assert "rev rate high for the speed" in page
    assert "<td>448</td>" in page
    assert "<td>8</td>" in page


def test_goal_and_complaint_stand_there_in_the_customers_words(
    staff_client: Client, bowler: Bowler
) -> None:
    bowler.complaint = "Goes high <after> game one"
    bowler.save_checked(1)
    page = staff_client.get(f"/customers/{bowler.pk}/").content.decode()
    assert "Goes high &lt;after&gt; game one" in page


@pytest.mark.parametrize("who", ["other_staff_client", "outsider_client", "stranger"])
def test_nobody_else_sees_the_page(
    who: str, bowler: Bowler, request: pytest.FixtureRequest
) -> None:
    client: Client = request.getfixturevalue(who)
    answer = client.get(f"/customers/{bowler.pk}/")
    assert answer.status_code == {"other_staff_client": 404, "outsider_client": 403}.get(who, 302)
    assert b"Lindqvist" not in answer.content


@pytest.fixture
def outsider_client(outsider: Any, sign_in: Callable[[Any], Client]) -> Client:
    return sign_in(outsider)


def test_more_fittings_cost_no_more_queries(
    staff_client: Client, staff: User, bowler: Bowler, log: Log
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            staff_client.get(f"/customers/{bowler.pk}/")
        return len(asked)

    def fit(month: int) -> None:
        fitting = services.start_fitting(
            bowler=bowler, fitted_on=datetime.date(2026, month, 1), notes="", logged_by=staff
        )
        log(fitting)
        services.finish_fitting(fitting=fitting)

    fit(1)
    with_one = queries()
    for month in range(2, 9):
        fit(month)
    assert queries() == with_one


def test_a_customer_who_is_not_there_is_not_an_error(staff_client: Client) -> None:
    assert staff_client.get("/customers/99999999999999999999/").status_code == 404
