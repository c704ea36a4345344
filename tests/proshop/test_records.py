"""What holds for every record of a shop."""

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.db import models

from bowlers.models import Bowler
from proshop.history import changes
from proshop.models import Shop, ShopRecord

# Written by the engine and never edited by a person.
WITHOUT_HISTORY = {"Ranking"}

RECORDS = [model for model in apps.get_models() if issubclass(model, ShopRecord)]


def test_there_are_records_in_both_apps() -> None:
    assert {model._meta.app_label for model in RECORDS} == {"bowlers", "arsenal"}


@pytest.mark.parametrize("model", RECORDS, ids=lambda model: model.__name__)
def test_what_people_edit_keeps_its_history(model: type[models.Model]) -> None:
    assert hasattr(model, "history") is (model.__name__ not in WITHOUT_HISTORY)


def test_history_is_told_in_words(shop: Shop, staff: User) -> None:
    bowler: Bowler = Bowler.objects.create(shop=shop, name="Juniper Vale", average=150)
    bowler.average = 165
    bowler._history_user = staff  # type: ignore[attr-defined]
    bowler.save_checked(expected_version=1)
    newest, first = changes(bowler)
    assert newest.words == "Average: 150 to 165"
    assert newest.who == "Sam"
    assert first.words == "Added"


def test_a_change_of_what_was_there_before_its_history_says_no_more_than_that(shop: Shop) -> None:
    bowler = Bowler.objects.create(shop=shop, name="Juniper Vale", average=150)
    bowler.average = 165
    bowler.save_checked(expected_version=1)
    bowler.history.filter(history_type="+").delete()
    assert [change.words for change in changes(bowler)] == ["Changed"]
