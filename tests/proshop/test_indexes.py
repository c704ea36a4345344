"""What is asked all day is answered from an index, however much there is.

Of tables as small as these PostgreSQL would rather read all: it is told not to.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.db.models import QuerySet
from django.utils import timezone

from arsenal.models import OwnedBall, Ranking, Ticket
from bowlers.models import Fitting, Grip
from proshop.models import Shop

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def reluctant() -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
            cursor.execute("SET LOCAL enable_bitmapscan = off")
            cursor.execute("SET LOCAL enable_sort = off")


def plan_of(rows: QuerySet) -> str:  # type: ignore[type-arg]
    """How it would go about it, had the table no index of one column alone: with nothing in it
    such a one costs the same, and which is taken is chance."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            for name, told in indexes_of(rows).items():
                if told["index"] and not told["unique"] and len(told["columns"]) == 1:
                    cursor.execute(f'DROP INDEX "{name}"')
    return rows.explain()


def indexes_of(rows: QuerySet) -> dict[str, Any]:  # type: ignore[type-arg]
    with connection.cursor() as cursor:
        table = rows.model._meta.db_table
        found: dict[str, Any] = connection.introspection.get_constraints(cursor, table)
    return found


@pytest.mark.parametrize("status", ["draft", "finished"])
def test_the_newest_fittings_of_a_shop(shop: Shop, status: str) -> None:
    fittings = Fitting.objects.for_shop(shop).filter(status=status).newest_first()
    plan = plan_of(fittings[:6])
    assert "fitting_newest_first" in plan
    assert "TEMP B-TREE" not in plan, "nothing is sorted"


def test_the_newest_grip_of_a_customer() -> None:
    assert "grip_newest_first" in plan_of(Grip.objects.filter(bowler=1)[:1])


def test_the_jobs_on_the_board(shop: Shop) -> None:
    tickets = Ticket.objects.for_shop(shop).filter(step__in=("waiting", "press", "ready"))
    assert "ticket_by_step" in plan_of(tickets)


def test_a_few_of_many_have_an_index_of_their_own(shop: Shop) -> None:
    silent = Ranking.objects.silent_since(timezone.now())
    thrown = OwnedBall.objects.for_shop(shop).in_use().exclude(role="spares").order_by()
    for rows, index in (
        (silent, "ranking_under_way"),
        (thrown.values("spec", "bowler"), "ball_thrown_at_racks"),
    ):
        # SQLite goes by such an index for values written into the statement only: it is there.
        assert index in indexes_of(rows)
        if connection.vendor == "postgresql":
            assert index in plan_of(rows)
