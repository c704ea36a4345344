"""Houses, conditions and the conditions a customer meets, as staff use them."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from arsenal import engine
from arsenal.models import BowlerCondition, Condition, House
from proshop.models import Shop
from tests.arsenal import records

NUMBERS = {
    "name": "House shape, 40 ft, medium",
    "source": "numbers",
    "length_ft": "40",
    "volume_ml": "24",
    "inside_to_outside_ratio": "6",
    "shape": "blended",
}


def table(inside: float = 20, outside: float = 5, feet: float = 40) -> str:
    """A flat step between boards 10 and 30 from foul line to the last line."""
    row = ",".join([f"{outside}"] * 10 + [f"{inside}"] * 19 + [f"{outside}"] * 10)
    return f"0,{row}\n{feet},{row}"


@pytest.fixture
def house(shop: Shop) -> House:
    return records.house(shop)


def test_a_house_is_added_and_edited(staff_client: Client, shop: Shop) -> None:
    values = {"name": "Ürgüp Bowling ☂", "lane_surface": "wood", "friction_factor": "1,05"}
    staff_client.post(reverse("house-add"), values)
    house = House.objects.get()
    assert (house.shop, house.friction_factor) == (shop, 1.05)
    page = staff_client.get(reverse("house-edit", args=[house.pk]))
    staff_client.post(
        reverse("house-edit", args=[house.pk]),
        records.form_values(page, page.context["form"]) | {"friction_factor": "0.9"},
    )
    house.refresh_from_db()
    assert (house.friction_factor, house.version, house.history.count()) == (0.9, 2, 2)
    assert "1.05 to 0.9" in staff_client.get(house.get_absolute_url()).content.decode()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"friction_factor": "9"}, "must be between 0.7 and 1.3"),
        ({"name": "Quarry Lanes"}, "is listed already"),
        ({"lane_surface": "ice"}, "Select a valid choice"),
    ],
)
def test_a_house_that_cannot_be_is_refused(
    staff_client: Client, house: House, changes: dict[str, str], says: str
) -> None:
    values = {"name": "Mill Lanes", "lane_surface": "wood", "friction_factor": "1", **changes}
    assert says in staff_client.post(reverse("house-add"), values).content.decode()
    assert House.objects.count() == 1


def test_a_condition_by_its_numbers_shows_what_is_computed_of_it(
    staff_client: Client, house: House
) -> None:
    sent = staff_client.post(reverse("condition-add", args=[house.pk]), NUMBERS)
    condition = Condition.objects.get()
    assert sent.url == condition.get_absolute_url()  # type: ignore[attr-defined]
    numbers = engine.condition_numbers(condition)
    assert numbers["volume_ml"] == pytest.approx(24, abs=0.05)
    assert numbers["ratio"] == pytest.approx(6, abs=0.05)
    text = staff_client.get(sent.url).content.decode()  # type: ignore[attr-defined]
    assert "24.0" in text
    assert "6.0 : 1" in text
    assert "challenge" in text
    assert 'class="oil"' in text
    assert "style=" not in text


def test_a_condition_by_an_oil_table_takes_its_numbers_from_the_table(
    staff_client: Client, house: House
) -> None:
    values = {**NUMBERS, "source": "table", "oil_text": table(), "length_ft": "", "volume_ml": "x"}
    staff_client.post(reverse("condition-add", args=[house.pk]), values)
    condition = Condition.objects.get()
    # 19 boards of 20 units and 20 of 5 over 40 ft; a unit is 0.0167 mL a square foot, a board
    # 41.5/39 in (units and width as the governing bodies give them).
    by_hand_ml = (19 * 20 + 20 * 5) * (41.5 / 39 / 12) * 40 * 0.0167
    assert condition.volume_ml == pytest.approx(by_hand_ml, rel=1e-3)
    assert condition.inside_to_outside_ratio == pytest.approx(4)
    assert condition.length_ft == pytest.approx(40, abs=0.1)
    page = staff_client.get(reverse("condition-edit", args=[condition.pk]))
    assert page.context["form"]["source"].value() == "table"
    assert "0,5,5" in page.content.decode()


def test_a_condition_goes_out_as_a_file_and_comes_back_from_it(
    staff_client: Client, house: House
) -> None:
    condition = records.condition(house)
    sent = staff_client.get(reverse("condition-file", args=[condition.pk]))
    assert sent["Content-Type"] == "text/csv; charset=utf-8"
    assert 'filename="quarry-lanes-house-shape-40-ft-fresh.csv"' in sent["Content-Disposition"]
    again = SimpleUploadedFile("oil.csv", sent.content)
    values = {"name": "The same, by table", "source": "table", "oil_file": again}
    staff_client.post(reverse("condition-add", args=[house.pk]), values)
    copy = Condition.objects.get(name="The same, by table")
    # Units go out to the millionth.
    was, now = engine.condition_oil(condition), engine.condition_oil(copy)
    np.testing.assert_allclose(now["units"], was["units"], atol=1e-6)
    assert copy.volume_ml == pytest.approx(24, abs=1e-4)
    worn = staff_client.get(reverse("condition-file", args=[condition.pk]) + "?games=15")
    assert "after-15-games.csv" in worn["Content-Disposition"]
    assert worn.content != sent.content


def test_a_file_with_a_fault_is_kept_in_the_box(staff_client: Client, house: House) -> None:
    faulty = SimpleUploadedFile("oil.csv", table().replace("40,5", "40,x", 1).encode())
    values = {"name": "By table", "source": "table", "oil_file": faulty}
    page = staff_client.post(reverse("condition-add", args=[house.pk]), values)
    assert "Line 2, board 1 from the left: “x”" in page.context["form"].errors["oil_file"][0]
    assert "40,x,5" in page.content.decode()
    broken = SimpleUploadedFile("oil.csv", b"0,1\n40,\xff")
    page = staff_client.post(
        reverse("condition-add", args=[house.pk]), {**values, "oil_file": broken}
    )
    assert "Line 2 isn’t UTF-8 text" in page.context["form"].errors["oil_file"][0]
    big = SimpleUploadedFile("oil.csv", b"1" * 300_000)
    page = staff_client.post(reverse("condition-add", args=[house.pk]), {**values, "oil_file": big})
    assert "larger than 200 kB" in page.context["form"].errors["oil_file"][0]
    assert not Condition.objects.exists()


def test_a_condition_shows_its_states_once_they_are_played(
    staff_client: Client, house: House
) -> None:
    condition = records.condition(house)
    cache.clear()
    first = staff_client.get(condition.get_absolute_url() + "?games=5")
    part = reverse("condition-states", args=[condition.pk])
    assert f'hx-get="{part}?games=5"' in first.content.decode()
    assert 'class="oil"' in first.content.decode()
    shown = staff_client.get(f"{part}?games=5", headers={"hx-request": "true"})
    assert [row["state"] for row in shown.context["states"].rows] == [
        "fresh",
        "after 5 games",
        "after 15 games",
        "burnt",
    ]
    again = staff_client.get(condition.get_absolute_url() + "?games=5")
    assert "hx-get" not in again.content.decode().split("<main")[1]
    assert again.context["states"].shown == "After 5 games"
    volumes = [row["volume_ml"] for row in again.context["states"].rows]
    assert volumes == sorted(volumes, reverse=True)
    for row in again.context["states"].rows[1:]:
        assert row["right_percent"] < row["left_percent"]
    # Somebody without scripts asks for the whole page and waits for it.
    assert staff_client.get(part).url.endswith("?wait=1#states")  # type: ignore[attr-defined]


@pytest.mark.parametrize("games", ["61", "-1", "many"])
def test_a_state_nobody_can_meet_is_told_and_the_fresh_one_shown(
    staff_client: Client, house: House, games: str
) -> None:
    address = records.condition(house).get_absolute_url()
    page = staff_client.get(f"{address}?games={games}&wait=1")
    assert "Games on the oil must be" in page.content.decode()
    assert page.context["states"].shown == "Fresh"


def test_a_condition_says_how_far_its_numbers_may_be_off(
    staff_client: Client, house: House
) -> None:
    picked = records.condition(house)
    text = staff_client.get(picked.get_absolute_url()).content.decode()
    assert "volume by ±2.4 mL" in text
    picked.oil_table = engine.condition_oil(picked)
    picked.save()
    text = staff_client.get(picked.get_absolute_url()).content.decode()
    assert "taken as measured" in text
    assert "±" not in text.split("<main")[1]


def test_a_house_says_where_its_friction_is_from(staff_client: Client, house: House) -> None:
    assert "as nothing else was typed" in (
        staff_client.get(house.get_absolute_url()).content.decode()
    )
    house.friction_factor = 1.1
    house.save()
    text = staff_client.get(house.get_absolute_url()).content.decode()
    assert "typed; not yet learnt" in text


def test_going_back_to_numbers_forgets_the_table(staff_client: Client, house: House) -> None:
    staff_client.post(
        reverse("condition-add", args=[house.pk]),
        {**NUMBERS, "source": "table", "oil_text": table()},
    )
    condition = Condition.objects.get()
    address = reverse("condition-edit", args=[condition.pk])
    values = records.form_values(page := staff_client.get(address), page.context["form"])
    staff_client.post(address, {**values, **NUMBERS})
    condition.refresh_from_db()
    assert (condition.oil_table, condition.volume_ml) == (None, 24)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"length_ft": "80"}, "Length must be between 20 and 55 ft."),
        ({"volume_ml": "-3"}, "Volume must be between 5 and 40 mL."),
        ({"inside_to_outside_ratio": "0"}, "Inside to outside ratio must be between 1 and 15."),
        ({"length_ft": ""}, "Length is missing"),
        ({"source": "table", "oil_text": ""}, "at least two lines"),
        ({"source": "table", "oil_text": "0,1\n40,2"}, "Line 1 has 2 columns"),
        ({"source": "table", "oil_text": table(190, 190)}, "oil of 5 to 40 mL"),
        ({"source": "table", "oil_text": table(feet=10)}, "oil of 20 to 55 ft"),
        ({"name": "House shape, 40 ft"}, "has a condition “House shape, 40 ft” already"),
    ],
)
def test_oil_that_cannot_be_is_refused_and_kept(
    staff_client: Client, house: House, changes: dict[str, str], says: str
) -> None:
    records.condition(house)
    page = staff_client.post(reverse("condition-add", args=[house.pk]), {**NUMBERS, **changes})
    text = page.content.decode()
    assert says in text
    assert changes.get("oil_text", "").splitlines()[:1] == [] or changes["oil_text"][:20] in text
    assert Condition.objects.count() == 1


def test_a_ratio_the_shape_cannot_have_is_refused_beside_it(
    staff_client: Client, house: House
) -> None:
    values = {**NUMBERS, "shape": "flat", "inside_to_outside_ratio": "15"}
    page = staff_client.post(reverse("condition-add", args=[house.pk]), values)
    assert "inside_to_outside_ratio" in page.context["form"].errors
    assert not Condition.objects.exists()


def test_a_stale_edit_of_a_condition_is_told(
    staff_client: Client, second_staff_client: Client, house: House
) -> None:
    address = reverse("condition-edit", args=[records.condition(house).pk])
    mine, theirs = staff_client.get(address), second_staff_client.get(address)
    form = theirs.context["form"]
    second_staff_client.post(address, records.form_values(theirs, form) | {"length_ft": "42"})
    values = records.form_values(mine, mine.context["form"]) | {"length_ft": "38"}
    page = staff_client.post(address, values)
    assert "after you opened it" in page.content.decode()
    assert Condition.objects.get().length_ft == 42
    again = staff_client.post(address, records.form_values(page, page.context["form"]))
    assert again.status_code == 302
    assert Condition.objects.get().length_ft == 38


def test_a_customer_meets_conditions_with_their_share_of_the_season(
    staff_client: Client, house: House, shop: Shop
) -> None:
    bowler = records.customer(shop)
    first, second = records.condition(house), records.condition(house, "Flat, 44 ft", length_ft=44)
    address = reverse("customer-conditions", args=[bowler.pk])
    assert "Say where Wren Marsh bowls" in staff_client.get(address).content.decode()
    fresh = {"games_on_oil": "0"}
    staff_client.post(address, {"condition": first.pk, "times_a_season": "30", **fresh})
    staff_client.post(address, {"condition": second.pk, "times_a_season": "10", **fresh})
    page = staff_client.get(address)
    assert [round(m.share_percent) for m in page.context["met"]] == [75, 25]
    assert "75</output> % of the season" in page.content.decode()
    twice = staff_client.post(address, {"condition": first.pk, "times_a_season": "3", **fresh})
    assert (
        "on the list with 0 games on it already"
        in (twice.context["adding"].errors["games_on_oil"][0])
    )
    assert BowlerCondition.objects.count() == 2
    burnt = {"condition": first.pk, "times_a_season": "10", "games_on_oil": "30"}
    staff_client.post(address, burnt)
    states = [m.state for m in staff_client.get(address).context["met"]]
    assert states == ["fresh", "fresh", "burnt"]


@pytest.mark.parametrize("games", ["-1", "61", "1.5", "", "burnt"])
def test_games_on_the_oil_have_a_range(
    staff_client: Client, house: House, shop: Shop, games: str
) -> None:
    address = reverse("customer-conditions", args=[records.customer(shop).pk])
    values = {"condition": records.condition(house).pk, "times_a_season": "3"}
    page = staff_client.post(address, {**values, "games_on_oil": games})
    assert "Games on the oil" in page.context["adding"].errors["games_on_oil"][0]
    assert f'value="{games}"' in page.content.decode()
    assert not BowlerCondition.objects.exists()


def test_a_state_is_edited_in_line_but_not_into_one_that_is_listed(
    staff_client: Client, house: House, shop: Shop
) -> None:
    bowler, condition = records.customer(shop), records.condition(house)
    rows = [
        BowlerCondition.objects.create(
            shop=shop, bowler=bowler, condition=condition, times_a_season=9, games_on_oil=games
        )
        for games in (0, 15)
    ]
    address = reverse("customer-condition-edit", args=[bowler.pk, rows[0].pk])
    values = {"times_a_season": "9", "record_version": "1"}
    page = staff_client.post(address, {**values, "games_on_oil": "15"})
    assert "with 15 games on it already" in page.content.decode()
    staff_client.post(address, {**values, "games_on_oil": "10"})
    rows[0].refresh_from_db()
    assert rows[0].games_on_oil == 10
    assert "after 10 games" in (
        staff_client.get(reverse("customer-conditions", args=[bowler.pk])).content.decode()
    )


def test_the_state_goes_into_the_question_and_the_oil(house: House, shop: Shop) -> None:
    """A fresh row asks what it asked before there were states."""
    condition = records.condition(house)
    fresh, worn = engine.inputs.condition(condition), engine.inputs.condition(condition, 15)
    assert "worn" not in fresh["oil"]
    assert worn["name"] == f"{condition.name}, after 15 games"
    # An older synthetic lane grips 1.04 times a newer one (estimate of physics.lane).
    assert worn["oil"]["worn"] == {"games": 15, "lane_factor": 1.04}
    laid, left = (engine.bodies.oil_of(c["oil"]) for c in (fresh, worn))
    assert left.volume_ml < 0.9 * laid.volume_ml
    again = engine.bodies.oil_of(worn["oil"])
    assert (again.units == left.units).all()


def test_what_is_drawn_of_worn_oil_is_worn_too(house: House) -> None:
    condition = records.condition(house)
    fresh, worn = (engine.inputs.condition(condition, games)["oil"] for games in (0, 15))
    laid, left = (engine.bodies.oil_doubt(oil, "right") for oil in (fresh, worn))
    assert laid is not None
    assert left is not None
    for z in np.random.default_rng(2).standard_normal((4, len(laid.names))):
        assert 0.7 < left.film_um(z).sum() / laid.film_um(z).sum() < 0.9
    middle = engine.bodies.oil_of(worn).own_side_film_um("right")
    np.testing.assert_allclose(left.film_um(np.zeros(len(left.names))), middle, atol=1e-9)
    assert engine.bodies.oil_doubt(engine.condition_oil(condition), "right") is None


@pytest.mark.parametrize("times", ["0", "201", "1.5", "", "many", "1e3", "💥"])
def test_times_a_season_have_a_range(
    staff_client: Client, house: House, shop: Shop, times: str
) -> None:
    bowler = records.customer(shop)
    address = reverse("customer-conditions", args=[bowler.pk])
    page = staff_client.post(
        address,
        {"condition": records.condition(house).pk, "times_a_season": times, "games_on_oil": "0"},
    )
    assert "Times a season" in page.context["adding"].errors["times_a_season"][0]
    assert not BowlerCondition.objects.exists()


def test_times_are_edited_in_line_and_a_stale_edit_is_told(
    staff_client: Client, house: House, shop: Shop
) -> None:
    bowler = records.customer(shop)
    met = BowlerCondition.objects.create(
        shop=shop, bowler=bowler, condition=records.condition(house), times_a_season=30
    )
    address = reverse("customer-condition-edit", args=[bowler.pk, met.pk])
    staff_client.post(address, {"times_a_season": "20", "games_on_oil": "0", "record_version": "1"})
    met.refresh_from_db()
    assert (met.times_a_season, met.version, met.history.count()) == (20, 2, 2)
    page = staff_client.post(
        address, {"times_a_season": "25", "games_on_oil": "0", "record_version": "1"}
    )
    assert "after you opened it" in page.content.decode()
    assert 'value="25"' in page.content.decode()
    wrong = staff_client.post(
        address, {"times_a_season": "999", "games_on_oil": "0", "record_version": "2"}
    )
    assert "Times a season must be between 1 and 200." in wrong.content.decode()
    staff_client.post(address, {"remove": "1", "record_version": "2"})
    assert not BowlerCondition.objects.exists()
    assert BowlerCondition.history.count() == 3


def test_a_row_changed_meanwhile_is_not_removed(
    staff_client: Client, house: House, shop: Shop
) -> None:
    bowler = records.customer(shop)
    met = BowlerCondition.objects.create(
        shop=shop, bowler=bowler, condition=records.condition(house), times_a_season=30, version=2
    )
    address = reverse("customer-condition-edit", args=[bowler.pk, met.pk])
    page = staff_client.post(address, {"remove": "1", "record_version": "1"}, follow=True)
    assert "was changed meanwhile" in page.content.decode()
    assert BowlerCondition.objects.exists()
    assert staff_client.get(address).url == (  # type: ignore[attr-defined]
        reverse("customer-conditions", args=[bowler.pk])
    )


def test_oil_the_engine_refuses_is_told_and_can_be_put_right(
    staff_client: Client, house: House, shop: Shop
) -> None:
    condition = records.condition(house, shape="flat", inside_to_outside_ratio=15)
    bowler = records.customer(shop)
    BowlerCondition.objects.create(shop=shop, bowler=bowler, condition=condition, times_a_season=30)
    for address in (
        condition.get_absolute_url(),
        house.get_absolute_url(),
        reverse("customer-conditions", args=[bowler.pk]),
    ):
        assert "Inside to outside ratio must be" in staff_client.get(address).content.decode()
    # What is worked out of it leads back to its page, which says so.
    part = {"HX-Request": "true"}
    for name in ("condition-states", "condition-file"):
        answer = staff_client.get(reverse(name, args=[condition.pk]), headers=part)
        assert (answer.status_code, answer["Location"]) == (302, condition.get_absolute_url())
    assert staff_client.get(reverse("condition-edit", args=[condition.pk])).status_code == 200


def test_a_condition_added_by_a_double_click_is_met_once(
    staff_client: Client, house: House, shop: Shop
) -> None:
    address = reverse("customer-conditions", args=[records.customer(shop).pk])
    condition = records.condition(house)
    token = records.token_in(staff_client.get(address))
    values = {
        "condition": condition.pk,
        "times_a_season": "30",
        "games_on_oil": "0",
        "form_token": token,
    }
    first, second = staff_client.post(address, values), staff_client.post(address, values)
    assert first.status_code == second.status_code == 302
    assert BowlerCondition.objects.count() == 1


def test_conditions_of_another_shop_are_not_offered(
    staff_client: Client, shop: Shop, other_shop: Shop
) -> None:
    theirs = records.condition(records.house(other_shop))
    bowler = records.customer(shop)
    address = reverse("customer-conditions", args=[bowler.pk])
    assert "The shop has no conditions" in staff_client.get(address).content.decode()
    staff_client.post(address, {"condition": theirs.pk, "times_a_season": "3"})
    assert not BowlerCondition.objects.exists()


def test_another_shop_finds_nothing_and_strangers_sign_in(
    house: House, shop: Shop, other_staff_client: Client, stranger: Client, staff_client: Client
) -> None:
    condition = records.condition(house)
    addresses = [
        reverse("house", args=[house.pk]),
        reverse("house-edit", args=[house.pk]),
        reverse("condition-add", args=[house.pk]),
        reverse("condition", args=[condition.pk]),
        reverse("condition-edit", args=[condition.pk]),
        reverse("condition-file", args=[condition.pk]),
        reverse("customer-conditions", args=[records.customer(shop).pk]),
    ]
    for address in addresses:
        assert other_staff_client.get(address).status_code == 404, address
        assert staff_client.get(address).status_code == 200, address
        assert "/sign-in/" in stranger.get(address).url  # type: ignore[attr-defined]


def test_lists_cost_the_same_queries_however_long(
    staff_client: Client, shop: Shop, django_assert_num_queries: Any
) -> None:
    bowler = records.customer(shop)
    for name in ("Quarry Lanes", "Mill Lanes", "Harbour Lanes"):
        house = records.house(shop, name)
        for n in range(3):
            BowlerCondition.objects.create(
                shop=shop,
                bowler=bowler,
                condition=records.condition(house, f"Oil {n}"),
                times_a_season=n + 1,
            )
    # Session, user, membership; then houses and their conditions.
    with django_assert_num_queries(5):
        page = staff_client.get(reverse("houses"))
    assert len(re.findall("Oil [012]", page.content.decode())) == 9
    # Session, user, membership; customer, rows, whether there are conditions, those still open;
    # of the kinds of league the house they bowl in most, and the houses with conditions, whether
    # there are any (twice) and which.
    with django_assert_num_queries(11):
        staff_client.get(reverse("customer-conditions", args=[bowler.pk]))


def test_empty_pages_say_what_to_do_first(staff_client: Client, house: House) -> None:
    assert reverse("condition-add", args=[house.pk]) in (
        staff_client.get(house.get_absolute_url()).content.decode()
    )
    House.objects.all().delete()
    assert reverse("house-add") in staff_client.get(reverse("houses")).content.decode()
