"""What becomes of conditions met and phone pages when two customers are made one."""

import datetime

import pytest
from django.utils import timezone

from arsenal.models import BowlerCondition, Condition, Ranking, TaskFound
from arsenal.phone.models import PhoneLink
from bowlers.duplicates import merging
from bowlers.models import Bowler, CustomerMerge
from proshop.models import Shop
from tests.arsenal import records


@pytest.fixture
def twins(shop: Shop) -> tuple[Bowler, Bowler]:
    return records.customer(shop), records.customer(shop, "Wren March")


def merge(kept: Bowler, gone: Bowler) -> CustomerMerge:
    return merging.merge(
        kept=kept, gone=gone, values={}, versions=(kept.version, gone.version), user=None
    )


def met(bowler: Bowler, condition: Condition, times: int, games: int = 0) -> BowlerCondition:
    row: BowlerCondition = BowlerCondition.objects.create(
        shop=bowler.shop,
        bowler=bowler,
        condition=condition,
        times_a_season=times,
        games_on_oil=games,
    )
    return row


def link(bowler: Bowler, days: int) -> PhoneLink:
    made = PhoneLink(
        shop=bowler.shop,
        bowler=bowler,
        good_until=timezone.localdate() + datetime.timedelta(days=days),
    )
    made.renew_token()
    made.save()
    return made


def test_a_condition_both_meet_is_met_as_often_as_the_larger_number_says(
    twins: tuple[Bowler, Bowler], shop: Shop
) -> None:
    kept, gone = twins
    condition = records.condition(records.house(shop))
    met(kept, condition, 20)
    met(gone, condition, 32)
    met(kept, condition, 9, games=30)
    met(gone, condition, 4, games=30)
    met(gone, condition, 5, games=15)
    record = merge(kept, gone)
    rows = kept.conditions.order_by("games_on_oil").values_list("games_on_oil", "times_a_season")
    assert list(rows) == [(0, 32), (15, 5), (30, 9)]
    words = " ".join(record.left["conditions met"])
    assert "times a season 32" in words
    assert "times a season 4" in words


@pytest.mark.parametrize(("days", "goes_on"), [(-1, True), (10, False)])
def test_the_address_that_still_opens_goes_on(
    twins: tuple[Bowler, Bowler], days: int, goes_on: bool
) -> None:
    kept, gone = twins
    mine, theirs = link(kept, days), link(gone, 30)
    before = theirs.token
    merge(kept, gone)
    now = PhoneLink.objects.get()
    assert now.bowler == kept
    assert (now.token == before) is goes_on
    assert (now.token == mine.token) is not goes_on


def test_a_phone_page_moves_to_who_has_none(twins: tuple[Bowler, Bowler]) -> None:
    kept, gone = twins
    token = link(gone, 30).token
    merge(kept, gone)
    assert PhoneLink.objects.get(bowler=kept).token == token


def test_gaps_of_one_customer_are_counted_once(twins: tuple[Bowler, Bowler], shop: Shop) -> None:
    today = timezone.localdate()
    for bowler, days_ago in zip(twins, (30, 2), strict=True):
        ranking = Ranking.objects.create(
            shop=shop,
            bowler=bowler,
            status="done",
            seed=1,
            model_version="invented",
            inputs={},
            inputs_key=str(bowler.pk) * 8,
            asked_at=timezone.now(),
        )
        TaskFound.objects.create(
            ranking=ranking,
            shop=shop,
            bowler=bowler,
            task="House shape",
            weight=1.0,
            gap=True,
            latest=True,
            found_on=today - datetime.timedelta(days=days_ago),
            hand="right",
            kind="matched",
            weight_lb=15,
        )
    record = merge(*twins)
    assert record.counts == [("rankings", 1)]
    found = TaskFound.objects.filter(bowler=twins[0]).order_by("found_on")
    assert [row.latest for row in found] == [False, True]
