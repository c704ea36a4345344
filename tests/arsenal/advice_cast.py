"""Fixtures of the advice tests: a customer, and an engine whose answers are invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest
from django_tasks_db.models import DBTaskResult

from arsenal import engine as arsenal_engine
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import invented


@dataclass
class Engine:
    """What the stand-in engine will say, and what it was asked."""

    inputs: dict[str, Any] = field(default_factory=lambda: {"speed_mph": 17.5})
    result: dict[str, Any] = field(default_factory=invented.invented_result)
    missing: list[dict[str, str]] = field(default_factory=list)
    failure: BaseException | None = None
    runs: int = 0
    known: bool = False
    during: Callable[[], None] | None = None

    def inputs_for(
        self, bowler: Bowler, release: str = "usual", fittings: object = None
    ) -> dict[str, Any]:
        if self.missing:
            raise arsenal_engine.Missing(self.missing)
        return {**self.inputs, "customer_id": bowler.pk}

    def run_ranking(
        self,
        inputs: dict[str, Any],
        seed: int,
        progress: Callable[[int, str], None],
        store: Any,
        at_most_s: float | None = None,
    ) -> dict[str, Any]:
        if at_most_s is not None and not self.known:
            raise arsenal_engine.TooMuch
        self.runs += 1
        progress(40, "Screening 600 choices")
        if self.during:
            self.during()
        if self.failure:
            raise self.failure
        customer = {**self.result["customer"], "id": inputs["customer_id"]}
        return {**self.result, "customer": customer}


@pytest.fixture
def engine(monkeypatch: pytest.MonkeyPatch) -> Engine:
    """An engine that answers at once with invented numbers."""
    standing_in = Engine()
    monkeypatch.setattr(arsenal_engine, "inputs_for", standing_in.inputs_for)
    monkeypatch.setattr(arsenal_engine, "run_ranking", standing_in.run_ranking)
    monkeypatch.setattr(arsenal_engine, "MODEL_VERSION", "invented")
    return standing_in


@pytest.fixture
def wren(shop: Shop) -> Bowler:
    bowler: Bowler = Bowler.objects.create(shop=shop, name="Wren Marsh")
    return bowler


@pytest.fixture
def work_off() -> Callable[[], None]:
    """A worker that does all that waits and goes home.

    It runs jobs one by one: the real worker takes a lock that SQLite refuses inside a test's
    transaction, and has a test of its own.
    """

    def work() -> None:
        while job := DBTaskResult.objects.ready().first():
            job.claim("test")
            job.set_successful(job.task.call(*job.args_kwargs["args"]))

    return work
