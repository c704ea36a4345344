"""Finding customers by name, by the end of a phone number, or by what other apps know."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db.models import Q
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from bowlers import finding
from bowlers.models import Bowler
from bowlers.phones import PhoneFault, ending_key, phone_text
from proshop.models import Shop
from tests.bowlers.conftest import HTMX


@pytest.fixture
def people(shop: Shop, other_shop: Shop) -> None:
    for name, phone in (
        ("Ada Reed", "+1 (212) 555-0142"),
        ("Bo Reed", "555 0199"),
        ("Cy Lind", "212.555.9999"),
        ("Di 0142", ""),
    ):
        Bowler.objects.create(shop=shop, name=name, phone=phone)
    Bowler.objects.create(shop=other_shop, name="Eve Reed", phone="555 0142")


@pytest.fixture
def no_finders(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(finding, "_finders", {})


def found(shop: Shop, words: str) -> list[str]:
    return [bowler.name for bowler in Bowler.objects.for_shop(shop).search(words)]


@pytest.mark.parametrize(
    ("words", "names"),
    [
        ("reed", ["Ada Reed", "Bo Reed"]),
        ("0142", ["Ada Reed", "Di 0142"]),
        ("555-0142", ["Ada Reed"]),
        ("(212) 555 0142", ["Ada Reed"]),
        ("142 ada", ["Ada Reed"]),
        ("reed 199", ["Bo Reed"]),
        ("999", ["Cy Lind"]),
        ("9999", ["Cy Lind"]),
        ("014", ["Di 0142"]),
        ("42", ["Di 0142"]),
        ("", ["Ada Reed", "Bo Reed", "Cy Lind", "Di 0142"]),
        ("1" * 300, []),
    ],
)
def test_a_customer_is_found_by_name_or_the_end_of_the_phone_number(
    no_finders: None, people: None, shop: Shop, words: str, names: list[str]
) -> None:
    assert found(shop, words) == names


@pytest.mark.django_db
@given(st.lists(st.text("0123456789", min_size=4, max_size=12), max_size=12), st.data())
def test_the_range_of_an_ending_is_what_ends_so(numbers: list[str], data: Any) -> None:
    shop = Shop.objects.get_or_create(name="Numbers")[0]
    Bowler.objects.for_shop(shop).delete()
    for number in numbers:
        Bowler.objects.create(shop=shop, name="x", phone=number)
    asked = data.draw(st.text("0123456789", min_size=3, max_size=5))
    hit = Bowler.objects.for_shop(shop).filter(finding.ending(asked))
    assert sorted(b.phone for b in hit) == sorted(n for n in numbers if n.endswith(asked))


def test_what_other_apps_know_customers_by(
    no_finders: None, people: None, shop: Shop, staff_client: Client
) -> None:
    finding.register(
        "shirt",
        finding.Finder(
            hits=lambda word: Q(name="Cy Lind") if word == "red" else None,
            told=lambda bowlers, words: dict.fromkeys(bowlers, "a red shirt"),
        ),
    )
    assert found(shop, "red") == ["Cy Lind"]
    assert found(shop, "lind red") == ["Cy Lind"]
    for path in ("/customers/", "/"):
        page = staff_client.get(path, {"q": "red"}, headers=HTMX).content.decode()
        assert "a red shirt" in page


def test_the_phone_is_shown_and_another_shop_s_isn_t_found(
    people: None, staff_client: Client, other_staff_client: Client
) -> None:
    page = staff_client.get("/customers/", {"q": "0142"}).content.decode()
    assert "+1 (212) 555-0142" in page
    assert "Eve" not in page
    assert "Ada" not in other_staff_client.get("/customers/", {"q": "0142"}).content.decode()


@pytest.mark.parametrize(
    ("typed", "kept"), [(" 555   0142 ", "555 0142"), ("+49 (30) 12/34-5", "+49 (30) 12/34-5")]
)
def test_a_phone_number_is_kept_as_it_is_written(typed: str, kept: str) -> None:
    assert phone_text(typed) == kept
    assert ending_key(kept) == "".join(c for c in kept if c.isdigit())[::-1]


@pytest.mark.parametrize(
    "typed", ["123", "1" * 16, "call Ada", "555 0142 x5", "٥٥٥٠١٤٢", "=5550142"]
)
def test_what_is_no_phone_number_is_refused(typed: str, staff_client: Client, shop: Shop) -> None:
    with pytest.raises(PhoneFault, match="must be a phone number of 4 to 15 digits"):
        phone_text(typed)
    values = {"name": "Ada", "phone": typed, "hand": "right", "thumb": "in", "hands": "one"}
    page = staff_client.post("/customers/new/", {**values, "fingers": "fingertip"})
    assert "Phone must be a phone number" in page.content.decode()
    assert Bowler.objects.count() == 0


@pytest.mark.parametrize("customers", [1, 60])
def test_a_search_costs_the_same_however_many_are_found(
    no_finders: None,
    staff_client: Client,
    shop: Shop,
    customers: int,
    django_assert_num_queries: Callable[[int], Any],
) -> None:
    for number in range(customers):
        Bowler.objects.create(shop=shop, name=f"Customer {number}", phone=f"{number:04} 0142")
    with django_assert_num_queries(5):
        staff_client.get("/customers/", {"q": "0142"})
