"""Steps on a customer's page, added by whoever knows about them."""

from collections.abc import Iterator

import pytest

from bowlers import hub, services
from bowlers.models import Bowler, Fitting
from tests.bowlers.conftest import Log


@pytest.fixture
def shoes() -> Iterator[None]:
    hub.register("shoes", 15, lambda bowler: hub.Step("Shoes", False, "None yet.", "/", "Add"))
    yield
    hub.unregister("shoes")


def test_a_step_added_by_another_app_takes_its_place(bowler: Bowler, shoes: None) -> None:
    titles = [step.title for step in hub.steps(bowler)]
    assert titles[:2] == ["Fitting", "Shoes"]


def test_the_fitting_step_says_what_is_missing_and_leads_there(bowler: Bowler) -> None:
    step = hub.steps(bowler)[0]
    assert (step.done, step.action) == (False, "Log a fitting")
    assert step.href == f"/customers/{bowler.pk}/fittings/new/"


def test_a_draft_is_offered_to_go_on_with(fitting: Fitting) -> None:
    step = hub.steps(fitting.bowler)[0]
    assert (step.done, step.href) == (False, f"/fittings/{fitting.pk}/")
    assert "isn’t finished" in step.said


def test_a_finished_fitting_is_done(fitting: Fitting, log: Log) -> None:
    log(fitting)
    services.finish_fitting(fitting=fitting)
    step = hub.steps(fitting.bowler)[0]
    assert (step.done, step.said) == (True, "Last on 3 May 2026.")
