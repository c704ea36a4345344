"""Why did it stop hooking? The throw fresh and now, the share of each cause, what care returns."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from arsenal import engine
from arsenal.engine import fading, prices
from arsenal.models import BallSpec, BowlerCondition, OwnedBall
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import questions, records


@cache
def found(
    cover: str = "solid", finish: str = "1000", games: int = 60, oil: int = 60
) -> dict[str, Any]:
    asked = questions.question()
    ball = questions.owned(1, "Hornbeam", cover, finish, games=games)
    return engine.fading_of(
        {
            "ball": ball | {"games_since_oil_drawn": oil, "games_since_cleaned": min(games, oil)},
            "customer": {"hand": "right", "average": 190},
            "delivery": asked["delivery"],
            "conditions": asked["conditions"][:1],
            "currency": "USD",
            "prices": dict(prices.ALL),
        }
    )


def moved(answer: dict[str, Any]) -> float:
    """Boards at the pins from fresh to now."""
    boards = answer["thrown"][0]
    return float(boards["now"] - boards["fresh"])


def test_a_dull_ball_played_smooth_hooks_less_and_says_so() -> None:
    answer = found()
    assert moved(answer) < -0.5
    assert f"it hooks {-moved(answer):.1f} boards less" in answer["said"]
    rough, grip = answer["surface"]
    assert rough["now"] < rough["fresh"]
    assert grip["now"] < grip["fresh"]
    assert f"from {grip['fresh']:.3f} to {grip['now']:.3f}" in answer["said"]


def test_a_polish_played_rough_hooks_more_and_sooner() -> None:
    answer = found("pearl", "polished", games=60, oil=0)
    assert moved(answer) > 0.5
    assert "It hooks more, not less" in answer["said"]
    assert f"{moved(answer):.1f} boards more, and sooner" in answer["said"]
    assert [cause["cause"] for cause in answer["causes"]] == ["finish"]


def test_oil_alone_takes_hook_and_only_drawing_it_out_brings_it_back() -> None:
    answer = found(games=0, oil=300)
    assert moved(answer) < -0.3
    care = {row["work"]: row["boards"] for row in answer["care"]}
    assert care["extract"] == pytest.approx(-moved(answer), abs=1e-9)
    assert "restore" not in care


@pytest.mark.parametrize(("finish", "games", "oil"), [("1000", 60, 60), ("polished", 30, 120)])
def test_the_shares_of_the_causes_add_up_to_the_whole(finish: str, games: int, oil: int) -> None:
    answer = found(finish=finish, games=games, oil=oil)
    # Shapley's value is exact; what is left is the rounding of a sum.
    assert sum(c["boards"] for c in answer["causes"]) == pytest.approx(moved(answer), abs=1e-9)


def test_both_kinds_of_care_together_bring_all_of_it_back() -> None:
    answer = found()
    care = {row["work"]: row["boards"] for row in answer["care"]}
    # The renewed ball is the fresh ball: the same throw through the same solver.
    assert care["renew"] == pytest.approx(-moved(answer), abs=1e-9)
    assert 0 < care["extract"] < care["renew"]
    assert 0 < care["restore"] < care["renew"]
    assert 0 <= care["clean"] < care["extract"]


def test_more_games_take_more() -> None:
    lost = [-moved(found(games=n, oil=n)) for n in (5, 20, 60)]
    assert lost == sorted(lost)
    assert lost[0] > 0


def test_a_fresh_ball_has_lost_nothing() -> None:
    answer = found(games=0, oil=0)
    assert "It is fresh" in answer["said"]
    assert not answer["thrown"]


def test_a_condition_without_a_line_is_said_and_nothing_is_told_in_boards(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(fading._Throw, "playable", False)
    answer = found.__wrapped__()
    assert answer["said"].endswith("On House blend no line brings it to the pocket, fresh or not.")
    assert answer["thrown"] == answer["care"] == []


def told_of(moved: float, turned: float | None, *care: float) -> dict[str, Any]:
    """An answer with boards and feet as given, and cares that bring back so many boards."""
    now = None if turned is None else 20.0 + turned
    pairs = [(18.0, 18.0 + moved), (4.5, 4.5), (20.0, now), (40.0, 40.0)]
    return {
        "condition": "House blend",
        "thrown": [{"fresh": fresh, "now": now} for fresh, now in pairs],
        "care": [{"words": f"Care {n}", "boards": b, "cost": 10 - n} for n, b in enumerate(care)],
    }


@pytest.mark.parametrize(
    ("moved", "turned", "said"),
    [
        (0.1, 2.0, "it meets the pins where it did fresh, and its turn takes 22.0 ft for 20.0."),
        (-1.0, None, "it hooks 1.0 boards less than it did fresh."),
        (0.1, 0.2, "it meets the pins within 0.1 boards of where it did fresh."),
    ],
)
def test_the_change_is_told_by_what_moved(moved: float, turned: float | None, said: str) -> None:
    assert said in fading._change(told_of(moved, turned))


@pytest.mark.parametrize(
    ("care", "said"),
    [
        ((1.9, 0.8), "To get that back: care 0."),
        ((1.9, 2.1), "To get that back: care 1."),
        ((0.8, 1.2), "To get 1.2 of that back: care 1."),
        ((-0.5, -1.2), ""),
    ],
)
def test_the_care_told_is_the_cheapest_that_does_it_else_the_one_that_does_most(
    care: tuple[float, ...], said: str
) -> None:
    assert fading._by_care(told_of(-2.0, 0.0, *care)) == said


@pytest.fixture
def ball(shop: Shop) -> OwnedBall:
    bowler: Bowler = records.customer(shop, average=180)
    spec: BallSpec = records.ball_model(shop).specs.get()
    return records.owned_ball(
        bowler, spec, finish="1000", games_since_finish=40, games_since_oil_drawn=70
    )


def knows_throw_and_lanes(ball: OwnedBall) -> None:
    records.fitting(ball.bowler)
    house = records.house(ball.shop)
    for name, times in (("Seldom met", 4), ("Met most", 30)):
        BowlerCondition.objects.create(
            shop=ball.shop,
            bowler=ball.bowler,
            condition=records.condition(house, name),
            times_a_season=times,
        )


def asked(client: Client, ball: OwnedBall, **headers: str) -> Any:
    return client.get(reverse("owned-ball-fading", args=[ball.pk]), headers=headers)


@pytest.mark.django_db
def test_the_ball_s_page_offers_the_question(staff_client: Client, ball: OwnedBall) -> None:
    text = staff_client.get(ball.get_absolute_url()).content.decode()
    assert "Why did it stop hooking?" in text
    assert f'hx-get="{reverse("owned-ball-fading", args=[ball.pk])}"' in text
    assert "40 games ago" in text
    assert "70 games ago" in text


@pytest.mark.django_db
def test_the_answer_is_of_the_condition_met_most(staff_client: Client, ball: OwnedBall) -> None:
    knows_throw_and_lanes(ball)
    text = asked(staff_client, ball, hx_request="true").content.decode()
    assert "On Met most, thrown as in the fitting" in text
    assert "Seldom met" not in text
    assert "Draw the oil out and restore its 1000 grit finish" in text
    assert "During certified play the surface may not be altered" in text
    assert "<html" not in text
    # Without a script the link opens a page of its own with the same answer.
    assert "<html" in asked(staff_client, ball).content.decode()


@pytest.mark.django_db
def test_it_is_computed_once_and_again_when_a_game_is_added(
    staff_client: Client, ball: OwnedBall, monkeypatch: pytest.MonkeyPatch
) -> None:
    computed: list[float] = []

    def invented(question: dict[str, Any]) -> dict[str, Any]:
        computed.append(question["ball"]["games"])
        return {"said": "So it is.", "surface": [], "thrown": [], "care": [], "missing": []}

    monkeypatch.setattr(engine, "fading_of", invented)
    ball.nickname = "Counted"
    ball.save()
    for _ in range(2):
        assert "So it is." in asked(staff_client, ball).content.decode()
    assert computed == [40]
    ball.games_since_finish = 41
    ball.save()
    asked(staff_client, ball)
    assert computed == [40, 41]


@pytest.mark.django_db
def test_what_is_missing_is_named_with_where_to_add_it(
    staff_client: Client, ball: OwnedBall
) -> None:
    text = asked(staff_client, ball).content.decode()
    assert "needs a finished fitting and the conditions bowled on" in text
    assert reverse("fitting-add", args=[ball.bowler.pk]) in text
    assert "microinch" in text


@pytest.mark.django_db
def test_a_record_that_cannot_be_drilled_says_why(staff_client: Client, ball: OwnedBall) -> None:
    knows_throw_and_lanes(ball)
    OwnedBall.objects.filter(pk=ball.pk).update(layout_numbers={"drilling_angle_deg": 45.0})
    page = asked(staff_client, ball)
    assert page.status_code == 200
    assert "Can’t be computed" in page.content.decode()


@pytest.mark.django_db
def test_another_shop_cannot_ask(other_staff_client: Client, ball: OwnedBall) -> None:
    assert asked(other_staff_client, ball).status_code == 404
