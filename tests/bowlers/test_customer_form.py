"""Adding a customer and editing one."""

import uuid
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from bowlers.models import Bowler


def typed(**changed: Any) -> dict[str, Any]:
    return {
        "form_token": str(uuid.uuid4()),
        "record_version": "1",
        "name": "Ines Ortega",
        "hand": "left",
        "thumb": "none",
        "hands": "two",
        "fingers": "fingertip",
        "average": "187",
        "born": "1994",
        "goal": "Carry more on the house pattern",
        "complaint": "",
        "notes": "",
        **changed,
    }


def test_a_customer_is_added_with_hand_thumb_hands_and_fingers_apart(
    staff_client: Client, staff: User
) -> None:
    answer = staff_client.post("/customers/new/", typed())
    bowler = Bowler.objects.get()
    assert answer.headers["Location"] == f"/customers/{bowler.pk}/"
    assert (bowler.hand, bowler.thumb, bowler.hands, bowler.fingers) == (
        "left",
        "none",
        "two",
        "fingertip",
    )
    assert bowler.shop == staff.memberships.get().shop
    assert bowler.average == 187


def test_a_double_click_adds_one_customer(staff_client: Client) -> None:
    form = typed()
    first, second = (staff_client.post("/customers/new/", form) for _ in range(2))
    assert Bowler.objects.count() == 1
    assert first.headers["Location"] == second.headers["Location"]


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("average", "301", "Average must be between 0 and 300."),
        ("average", "-1", "Average must be between 0 and 300."),
        ("average", "good", "Average must be a whole number between 0 and 300."),
        ("average", "1e9", "Average must be a whole number between 0 and 300."),
        ("born", "1850", "Year of birth must be between 1900 and"),
        ("born", "3000", "Year of birth must be between 1900 and"),
        ("born", "ninety", "Year of birth must be a year, like 1990."),
        ("name", "   ", "Name is missing"),
        ("hand", "both", "Select a valid choice"),
    ],
)
def test_a_refusal_names_the_field_and_keeps_what_was_typed(
    staff_client: Client, name: str, value: str, words: str
) -> None:
    answer = staff_client.post("/customers/new/", typed(**{name: value}))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert words in page
    assert "Carry more on the house pattern" in page
    assert value.strip() == "" or name == "hand" or f'value="{value}"' in page
    assert not Bowler.objects.exists()


def test_average_and_year_may_be_left_out(staff_client: Client) -> None:
    staff_client.post("/customers/new/", typed(average="", born=""))
    bowler = Bowler.objects.get()
    assert (bowler.average, bowler.born) == (None, None)


@pytest.mark.parametrize(
    "name", ["Łukasz Żółć", "山田 太郎", "O’Brien & <b>Sons</b>", "👩‍🦰 Robin"]
)
def test_a_name_in_any_script_is_kept_and_shown_as_typed(staff_client: Client, name: str) -> None:
    page = staff_client.post("/customers/new/", typed(name=name), follow=True).content.decode()
    assert Bowler.objects.get().name == name
    assert "<b>Sons" not in page


def test_an_edit_shows_up_in_the_history(staff_client: Client, bowler: Bowler) -> None:
    staff_client.post(f"/customers/{bowler.pk}/edit/", typed(name="Åsa Berg"))
    bowler.refresh_from_db()
    assert (bowler.name, bowler.version) == ("Åsa Berg", 2)
    page = staff_client.get(f"/customers/{bowler.pk}/edit/").content.decode()
    assert "Åsa Lindqvist to Åsa Berg" in page


def test_the_second_of_two_tabs_is_told_and_loses_nothing(
    staff_client: Client, second_staff_client: Client, bowler: Bowler
) -> None:
    address = f"/customers/{bowler.pk}/edit/"
    second_staff_client.post(address, typed(name="Åsa Berg"))
    answer = staff_client.post(address, typed(name="Åsa Lind", goal="Spares"))
    page = answer.content.decode()
    assert "Dana saved this record" in page
    assert 'value="Åsa Lind"' in page
    assert "Spares" in page
    bowler.refresh_from_db()
    assert bowler.name == "Åsa Berg"
    again = staff_client.post(address, typed(name="Åsa Lind", record_version="2"))
    assert again.status_code == 302
    bowler.refresh_from_db()
    assert bowler.name == "Åsa Lind"


def test_another_shops_customer_cannot_be_edited(
    other_staff_client: Client, bowler: Bowler
) -> None:
    address = f"/customers/{bowler.pk}/edit/"
    assert other_staff_client.get(address).status_code == 404
    assert other_staff_client.post(address, typed()).status_code == 404
