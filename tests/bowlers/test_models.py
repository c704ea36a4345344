"""Names as they are searched, and readings asked about."""

import uuid

import pytest
from django.db import IntegrityError, transaction
from hypothesis import given
from hypothesis import strategies as st

from bowlers.models import Bowler, Delivery, Fitting, search_key
from proshop.models import Shop, StaleRecord
from tests.bowlers.conftest import Log


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("Åsa Lindqvist", "asa"),
        ("Łukasz Nowak", "lukasz NOWAK"),
        ("Søren Ægir", "soren aegir"),
        ("José María", "jose maria"),
        ("Jürgen Groß", "gross"),
        ("İpek Işık", "ipek isik"),
        ("Ольга Петрова", "ПЕТРОВА"),
        ("山田 太郎", "太郎"),
        ("Anne-Marie O’Neill", "neill"),
    ],
)
def test_a_name_is_found_without_its_accents_and_capitals(
    shop: Shop, name: str, typed: str
) -> None:
    Bowler.objects.create(shop=shop, name=name)
    Bowler.objects.create(shop=shop, name="Somebody Else")
    assert [found.name for found in Bowler.objects.search(typed)] == [name]


def test_words_may_come_in_any_order(shop: Shop) -> None:
    Bowler.objects.create(shop=shop, name="Tom Okafor")
    assert Bowler.objects.search("okafor tom").exists()
    assert not Bowler.objects.search("okafor tim").exists()


def test_a_percent_sign_is_only_a_percent_sign(shop: Shop) -> None:
    Bowler.objects.create(shop=shop, name="Tom Okafor")
    assert not Bowler.objects.search("%").exists()


@given(st.text())
def test_a_search_key_is_its_own_search_key(text: str) -> None:
    assert search_key(search_key(text)) == search_key(text)


def test_renaming_a_customer_renames_what_is_searched(bowler: Bowler) -> None:
    bowler.name = "Zoë Lindqvist"
    bowler.save_checked(bowler.version)
    assert Bowler.objects.search("zoe").exists()
    assert not Bowler.objects.search("asa").exists()


def test_an_edit_is_kept_in_the_history_and_counts_the_version(bowler: Bowler) -> None:
    bowler.complaint = "Goes high after game one"
    bowler.save_checked(1)
    assert bowler.version == 2
    assert [entry.complaint for entry in bowler.history.all()] == ["Goes high after game one", ""]


def test_the_second_of_two_editors_is_told(bowler: Bowler) -> None:
    also = Bowler.objects.get(pk=bowler.pk)
    bowler.save_checked(1)
    with pytest.raises(StaleRecord):
        also.save_checked(1)


def test_a_possible_but_unusual_reading_is_asked_about(fitting: Fitting, log: Log) -> None:
    delivery = log(fitting, rev_rate_rpm=620)
    assert delivery.questions == ["Rev rate 620 rpm: is that right?"]


def test_a_usual_delivery_raises_no_question(fitting: Fitting, log: Log) -> None:
    assert log(fitting).questions == []


def test_the_database_itself_refuses_what_cannot_be(fitting: Fitting) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Delivery.objects.create(
            shop=fitting.shop, fitting=fitting, row_key=uuid.uuid4(), order=1, speed_mph=55
        )
    Delivery.objects.create(
        shop=fitting.shop, fitting=fitting, row_key=uuid.uuid4(), order=1, speed_mph=25
    )


def test_saving_some_fields_keeps_what_is_searched_beside_them(bowler: Bowler) -> None:
    bowler.name, bowler.phone, bowler.goal = "Zoë Lindqvist", "555 0142", "Carry more"
    bowler.save(update_fields=["name", "phone"])
    bowler.refresh_from_db()
    assert (bowler.search_key, bowler.phone_key) == ("zoe lindqvist", "2410555")
    assert bowler.goal == ""
