"""Oil by what is seen of it: answers into numbers, drawn while they are given."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags

from arsenal import engine
from arsenal.lanes.picker import (
    EDGE,
    HOOKS,
    INSIDE,
    LENGTH,
    OUTSIDE,
    QUESTIONS,
    VOLUME,
    answers_near,
    numbers_of_answers,
)
from arsenal.models import BowlerCondition, Condition, House
from physics import lane
from proshop.models import Shop
from tests.arsenal import records

USUAL = {question.name: question.usual for question in QUESTIONS}


@pytest.fixture
def house(shop: Shop) -> House:
    return records.house(shop)


def oil(**answers: str) -> lane.OilTable:
    found = numbers_of_answers(USUAL | answers)
    return lane.picked(
        found["length_ft"],
        found["volume_ml"],
        found["inside_to_outside_ratio"],
        found["shape"],
        found["ramp_board"],
    )


def test_every_set_of_answers_is_oil_that_can_be() -> None:
    """All 1,296 of them lie within the picker's ranges and come out as they are said to be."""
    sets = 0
    for values in itertools.product(*([v for v, _, _ in q.answers] for q in QUESTIONS)):
        answers = {q.name: value for q, value in zip(QUESTIONS, values, strict=True)}
        numbers = numbers_of_answers(answers)
        table = oil(**answers)
        assert table.ratio == pytest.approx(numbers["inside_to_outside_ratio"], rel=1e-6)
        assert table.volume_ml == pytest.approx(numbers["volume_ml"], rel=1e-6)
        assert table.length_ft == pytest.approx(numbers["length_ft"], abs=0.06)
        assert 1.0 <= numbers["inside_to_outside_ratio"] <= 15.0
        sets += 1
    assert sets == 4 * 3 * 3 * 3 * 3 * 2


def test_the_classes_follow_what_misses_do() -> None:
    """A governing body's classes by its crosswise ratio: sport at most 4:1, challenge to 7:1."""
    assert oil().pattern_class == "house"
    assert oil(**{INSIDE.name: "some", OUTSIDE.name: "some"}).pattern_class == "challenge"
    assert oil(**{INSIDE.name: "little", OUTSIDE.name: "little"}).pattern_class == "sport"
    ratios = [oil(**{OUTSIDE.name: swing}).ratio for swing in ("much", "some", "little")]
    assert ratios == sorted(ratios, reverse=True)  # type: ignore[type-var]


def test_where_it_hooks_moves_the_edge() -> None:
    """The board on which the oil is halfway between outside and inside."""
    edges = []
    for answer in ("out", "usual", "in"):
        across = oil(**{HOOKS.name: answer}).units[0][:20]
        half = (across[0] + across[-1]) / 2
        edges.append(int((across < half).sum()))
    assert edges == sorted(edges)
    assert edges[2] - edges[0] >= 4


def test_answers_come_back_from_their_numbers() -> None:
    for name, value in ((LENGTH, "long"), (VOLUME, "heavy"), (HOOKS, "in"), (EDGE, "blocked")):
        answers = USUAL | {name.name: value}
        assert answers_near(numbers_of_answers(answers)) == answers
    flat = USUAL | {INSIDE.name: "little", OUTSIDE.name: "little"}
    assert answers_near(numbers_of_answers(flat)) == flat


def test_a_condition_is_added_by_taps_alone(staff_client: Client, house: House) -> None:
    address = reverse("condition-add", args=[house.pk])
    page = staff_client.get(address)
    assert page.context["form"]["source"].value() == "answers"
    assert "<svg" in page.content.decode()
    values = records.form_values(page, page.context["form"])
    staff_client.post(address, values | {LENGTH.name: "long", HOOKS.name: "in"})
    condition = Condition.objects.get()
    assert condition.name == "Blended, 44 ft, medium"
    assert (condition.length_ft, condition.ramp_board) == (44, 12)
    assert engine.condition_numbers(condition)["class"] == "house"
    assert engine.inputs.oil_numbers(condition)["ramp_board"] == 12
    # Once more the same: it has that name already.
    again = staff_client.post(address, values | {LENGTH.name: "long", "form_token": ""})
    assert "has a condition “Blended, 44 ft, medium” already" in again.content.decode()


def test_an_edge_nobody_told_of_leaves_questions_as_they_were(house: House) -> None:
    assert "ramp_board" not in engine.inputs.oil_numbers(records.condition(house))


def test_the_drawing_follows_the_answers_and_stores_nothing(
    staff_client: Client, house: House
) -> None:
    address = reverse("condition-preview", args=[house.pk])

    def drawn(**said: str) -> str:
        page = staff_client.post(address, {"source": "answers", **said}).content.decode()
        return " ".join(strip_tags(page).split())

    assert "40 ft" in drawn()
    assert "48 ft" in drawn(**{LENGTH.name: "longest"})
    flat = drawn(**{INSIDE.name: "little", OUTSIDE.name: "little", HOOKS.name: "out"})
    assert "sport" in flat
    numbers = {"source": "numbers", "length_ft": "40", "volume_ml": "24", "shape": "blended"}
    assert (
        "Inside to outside ratio is missing" in staff_client.post(address, numbers).content.decode()
    )
    typed = numbers | {"inside_to_outside_ratio": "6", "ramp_board": "12"}
    assert "6.0 : 1" in staff_client.post(address, typed).content.decode()
    table = "0," + ",".join(["9"] * 39) + "\n40," + ",".join(["9"] * 39)
    answer = staff_client.post(address, {"source": "table", "oil_text": table})
    assert "1.0 : 1" in answer.content.decode()
    assert not Condition.objects.exists()


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"ramp_board": "3"}, "ramp_board", "between 6 and 14"),
        (
            {"shape": "flat", "inside_to_outside_ratio": "2", "ramp_board": "9"},
            "ramp_board",
            "left out for a flat pattern",
        ),
        (
            {"ramp_board": "6", "inside_to_outside_ratio": "15"},
            "inside_to_outside_ratio",
            "that falls off about board 6",
        ),
    ],
)
def test_an_edge_that_cannot_be_is_refused_beside_its_field(
    staff_client: Client, house: House, changes: dict[str, str], field: str, says: str
) -> None:
    values = {
        "name": "Odd",
        "source": "numbers",
        "length_ft": "40",
        "volume_ml": "24",
        "inside_to_outside_ratio": "6",
        "shape": "blended",
    }
    page = staff_client.post(reverse("condition-add", args=[house.pk]), values | changes)
    assert says in str(page.context["form"].errors[field])
    assert not Condition.objects.exists()


def test_a_condition_and_its_house_say_who_bowls_there(
    staff_client: Client, shop: Shop, house: House, django_assert_num_queries: Any
) -> None:
    condition, other = records.condition(house), records.condition(house, "Sport")
    for number in range(60):
        bowler = records.customer(shop, f"Bowler {number:02}")
        for met, times in ((condition, 30), (other, 10)):
            BowlerCondition.objects.create(
                shop=shop, bowler=bowler, condition=met, times_a_season=times
            )
    page = staff_client.get(condition.get_absolute_url())
    text = page.content.decode()
    assert "Bowler 00" in text
    assert "30 times a season, 75 % of theirs" in text
    assert "Page 1 of 2" in text
    further = staff_client.get(condition.get_absolute_url() + "?page=2").content.decode()
    assert "Bowler 59" in further
    text = staff_client.get(house.get_absolute_url()).content.decode()
    assert "60 customers." in text
    assert "60 customers bowl here" in staff_client.get(reverse("houses")).content.decode()


def test_the_oil_stands_as_a_table_behind_its_picture(staff_client: Client, house: House) -> None:
    condition = records.condition(house)
    page = staff_client.get(condition.get_absolute_url() + "?wait=1")
    rows = page.context["states"].table
    assert [feet for feet, _ in rows] == [0, 5, 10, 15, 20, 25, 30, 35, 40]
    fresh = engine.condition_oil(condition)
    # Boards from the right gutter: the table counts from the left one.
    assert rows[0][1] == fresh["units"][0][::-1]
    assert "The same as a table" in page.content.decode()
