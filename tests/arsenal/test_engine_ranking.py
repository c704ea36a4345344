"""The ranking itself: the same question gets the same answer, and every word follows a number."""

from __future__ import annotations

import copy
import json
import math
from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from arsenal.engine import (
    bodies,
    options,
    ranking,
    reasons,
    run_ranking,
    spare_rows,
    strip,
    tasks,
)
from arsenal.engine.throws import OnLane
from physics import care, pins, shape
from tests.arsenal import questions

pytestmark = pytest.mark.slow


def quiet(percent: int, note: str) -> None:
    """Nobody watches this progress."""


@cache
def _answer(asked: str) -> dict[str, Any]:
    return run_ranking(json.loads(asked), 1, quiet)


def answer(**changed: Any) -> dict[str, Any]:
    """The ranking of a question; each is computed once for all the tests of this file."""
    return copy.deepcopy(_answer(json.dumps(questions.question(**changed))))


def without_timings(result: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in result.items() if key != "timings"}


def test_the_same_question_and_seed_give_the_same_answer_to_the_last_digit() -> None:
    again = run_ranking(questions.question(), 1, quiet)
    assert without_timings(again) == without_timings(answer())


def test_choices_fall_in_gain_and_nothing_needed_is_among_them() -> None:
    choices = answer()["choices"]
    gains = [choice["gain"] for choice in choices]
    assert gains == sorted(gains, reverse=True)
    assert [choice["rank"] for choice in choices] == list(range(1, len(choices) + 1))
    assert choices[-1]["kind"] == "none"
    for choice in choices:
        assert choice["gain"] == pytest.approx(sum(choice["gain_by_task"]), abs=2e-3)
        assert 0 <= choice["certainty"] <= 1


def test_numbers_are_plain_json_and_carry_the_contracts_fields() -> None:
    result = answer()
    json.dumps(result, allow_nan=False)
    assert result["customer"] == {"id": 1, "name": "Wren Marsh"}
    for task in result["tasks"]:
        assert {"name", "weight", "window", "gap", "best_available", "owned"} <= task.keys()
        assert task["weight"] > 0
    assert sum(task["weight"] for task in result["tasks"]) == pytest.approx(1)
    for choice in result["choices"]:
        assert choice["cost"]["currency"] == "USD"


def test_gains_are_pins_a_game_and_a_new_ball_can_only_add() -> None:
    result = answer()
    weights = [task["weight"] for task in result["tasks"]]
    game = result["game"]
    assert result["gain_unit"] == "pins a game"
    weighted = sum(w * pins for w, pins in zip(weights, game["by_task"], strict=True))
    assert game["expected"] == pytest.approx(weighted, abs=0.1)
    for choice in result["choices"]:
        assert choice["gain"] == pytest.approx(sum(choice["gain_by_task"]), abs=2e-3)
        if choice["kind"] in ("order", "stock", "spare"):
            # Never more than a perfect game has left.
            for task, gain, pins in zip(
                result["tasks"], choice["gain_by_task"], game["by_task"], strict=True
            ):
                assert 0 <= gain <= task["weight"] * (300 - pins) + 1e-3


def test_every_ball_says_how_often_it_takes_each_leave_and_how_it_is_thrown() -> None:
    bag = [
        questions.owned(1, "Hornbeam", "solid", "1000"),
        questions.owned(2, "Hazel", "polyester", "polished", spares=True),
    ]
    result = answer(bag=bag)
    assert "assumed, not measured" in result["at_spares"]["words"]
    for task in result["tasks"]:
        assert {"10", "7"} <= {spare["leave"] for spare in task["spares"]}
        for spare in task["spares"]:
            dull, plastic = spare["balls"]
            assert spare["convert"] == max(dull["convert"], plastic["convert"])
            assert [ball["ball"] for ball in spare["balls"] if ball["best"]] == [spare["ball"]]
            for ball in spare["balls"]:
                how = ball["thrown"]
                assert how["release"] in ("usual release", "flatter release, assumed")
                assert (how["way"] == "straight") == (how["turned_deg"] < 1.5)
        corner = next(spare for spare in task["spares"] if spare["leave"] == "10")
        # Common practice, no source: polyester is for the corner pins.
        dull, plastic = corner["balls"]
        assert plastic["convert"] > dull["convert"]


def test_each_shot_of_the_strip_says_what_it_leaves_most() -> None:
    for shot in answer()["strip"]["shots"]:
        often = [left["a_game"] for left in shot["leaves"]]
        assert often == sorted(often, reverse=True)
        assert 0 < sum(often) < 10


def test_a_mirrored_left_hander_gets_the_same_answer_on_even_oil() -> None:
    """The same numbers; only what is left standing goes by its mirrored name."""
    left = answer(customer={"id": 1, "name": "Wren Marsh", "hand": "left", "average": 190})
    right = answer()
    told = [
        *zip(left["tasks"], right["tasks"], ["spares"] * len(left["tasks"]), strict=True),
        *zip(left["strip"]["shots"], right["strip"]["shots"], ["leaves"] * 2, strict=True),
    ]
    for ours, theirs, name in told:
        for mine, other in zip(ours[name], theirs[name], strict=True):
            numbers = tuple(int(n) for n in other["leave"].split("-"))
            assert mine.pop("leave") == pins.leave_name(pins.bits_of(numbers), "left")
            other.pop("leave")
    assert without_timings(left) == without_timings(right)


def test_oil_on_one_side_only_matters_to_the_hand_that_plays_there() -> None:
    """A dry track on the right: the right-hander's answer changes, the left-hander's hardly."""
    table = bodies.oil_of(questions.HOUSE)
    units = table.units.copy()
    units[:, 22:] *= 0.35  # boards 23 to 39 from the left gutter: a right-hander's 1 to 17
    worn = {"distance_ft": table.distance_ft.tolist(), "units": units.tolist()}
    conditions = questions.question()["conditions"][:1]
    conditions[0]["oil"] = worn
    right = answer(conditions=conditions)["tasks"][0]["owned"][0]
    left_man = {"id": 1, "name": "Wren Marsh", "hand": "left", "average": 190}
    left = answer(conditions=conditions, customer=left_man)["tasks"][0]["owned"][0]
    fresh = answer()["tasks"][0]["owned"][0]
    assert abs(left["line"]["laydown_board"] - fresh["line"]["laydown_board"]) < 0.5
    assert right["line"]["laydown_board"] - fresh["line"]["laydown_board"] > 1.0


# Neither another layout nor another finish than the ball has: only care is left to try.
ITS_OWN = {"layouts": [dict(questions.PIN_UP)], "finishes": ["polished"]}


def test_a_worn_ball_is_told_to_get_its_finish_back_and_a_fresh_one_is_not() -> None:
    worn = [questions.owned(1, "Hornbeam", "pearl", "polished", games=60)]
    fresh = [questions.owned(1, "Hornbeam", "pearl", "polished")]
    first = answer(bag=worn, catalogue=[], menu=ITS_OWN)["choices"][0]
    assert (first["kind"], first["ball"], first["surface"]) == ("care", "Hornbeam", "polished")
    assert "restore its polish" in first["work"].lower()
    assert "60 games have taken its polish from 3.5 to " in first["reason"]
    assert first["layout"] is None
    nothing = answer(bag=fresh, catalogue=[], menu=ITS_OWN)
    assert [choice["kind"] for choice in nothing["choices"]] == ["none"]


def test_only_oil_taken_up_is_told_to_be_drawn_out() -> None:
    """Its finish is fresh: nothing is said of it, and the games are those of the oil."""
    soaked = [
        questions.owned(1, "Hornbeam", "solid", "1000", games=0)
        | {"games_since_oil_drawn": 150, "games_since_cleaned": 0}
    ]
    asked = questions.question(bag=soaked, catalogue=[])
    menu = options.menu_of(asked, ranking.setting_of(asked).who)
    assert [choice.work for choice in menu.cared] == ["extract"]
    now, drawn = menu.owned[0].option.closure, menu.cared[0].option.closure
    assert drawn.mu_dry > 1.05 * now.mu_dry
    assert drawn.scale_um == now.scale_um
    said = reasons._restored(menu.cared[0], menu.owned[0])
    assert said.startswith("its cover has taken up oil for 150 games: dry friction down 12 %")
    assert "pad" not in said


def test_care_leaves_the_finish_and_a_surface_leaves_the_oil() -> None:
    worn = [questions.owned(1, "Hornbeam", "solid", "1000", games=90)]
    asked = questions.question(bag=worn)
    menu = options.menu_of(asked, ranking.setting_of(asked).who)
    assert {choice.work for choice in menu.cared} == {"clean", "extract", "restore", "renew"}
    assert {choice.finish for choice in menu.cared} == {"1000"}
    surfaces = [choice for choice in menu.changes if choice.kind == "surface"]
    assert surfaces
    assert all(choice.finish != "1000" for choice in surfaces)
    assert all((c.played.finish, c.played.oil) == (0, 90) for c in surfaces)
    assert all(choice.cost < surfaces[0].cost for choice in menu.cared)


def test_care_that_would_bring_nothing_back_is_not_tried() -> None:
    """Plastic takes up next to no oil, and five games leave a cover that is clean enough."""
    balls = [
        questions.owned(1, "Hazel", "polyester", "polished", games=0)
        | {"games_since_oil_drawn": 30, "games_since_cleaned": 0},
        questions.owned(2, "Hornbeam", "solid", "1000"),
    ]
    asked = questions.question(bag=balls)
    assert not options.menu_of(asked, ranking.setting_of(asked).who).cared


def test_numbers_stored_before_oil_was_told_apart_still_count() -> None:
    played = bodies.played_of({"games": 40})
    assert (played.finish, played.oil, played.clean) == (40, 40, 40)


def test_a_ball_in_its_best_care_is_what_a_gap_is_judged_by() -> None:
    """Worn, it scores under 95 % of what its own pad would: no gap, and it says which care."""
    worn = [questions.owned(1, "Hornbeam", "pearl", "polished", games=60)]
    result = answer(bag=worn, catalogue=[], menu=ITS_OWN)
    tasks_found = result["tasks"]
    assert "only once cared for" in result["choices"][-1]["reason"]
    short = [t for t in tasks_found if t["owned"][0]["carry"] < 0.95 * t["best_available"]]
    assert short
    for task in short:
        assert not task["gap"]
        assert "its polish restored, scores here" in task["gap_words"]


def test_a_bag_that_has_the_best_ball_needs_nothing() -> None:
    """On one condition, owning what would be ordered leaves *nothing needed* first."""
    conditions = questions.question()["conditions"][:1]
    first = answer(conditions=conditions)["choices"][0]
    assert first["kind"] != "none"
    bought = questions.owned(
        2, first["ball"], "pearl", first["surface"], layout=first["layout"], games=0
    )
    bag = [*questions.question()["bag"], bought]
    result = answer(bag=bag, conditions=conditions)
    assert result["choices"][0]["kind"] == "none"
    assert "Nothing tried adds more" in result["choices"][0]["reason"]
    assert not result["tasks"][0]["gap"]


def test_reasons_quote_the_numbers_they_come_from() -> None:
    result = answer()
    first = result["choices"][0]
    task = max(zip(result["tasks"], first["gain_by_task"], strict=True), key=lambda pair: pair[1])[
        0
    ]
    best = max(task["owned"], key=lambda ball: ball["carry"])
    assert task["name"] in first["reason"]
    assert best["ball"] in first["reason"]
    assert f"{100 * best['carry']:.0f} %" in first["reason"]
    assert first["reason"].count(". ") + 1 >= 2


def test_another_bowler_changes_the_reason_and_the_numbers() -> None:
    slower = {
        **questions.question()["delivery"],
        "speed_mph": questions.reading(15.0, 0.3),
        "rev_rate_rpm": questions.reading(430.0, 12.0),
    }
    one, other = answer(), answer(delivery=slower)
    assert one["choices"][0]["reason"] != other["choices"][0]["reason"]
    assert one["tasks"][0]["best_available"] != other["tasks"][0]["best_available"]


def test_the_strip_shows_the_first_choice_and_the_best_owned_ball() -> None:
    result = answer()
    strip = result["strip"]
    assert [shot["kind"] for shot in strip["shots"]] == ["first choice", "owned"]
    assert result["choices"][0]["ball"] in strip["shots"][0]["label"]
    for shot in strip["shots"]:
        assert shot["share"][0] == pytest.approx(0, abs=1e-6)
        assert shot["board"][-1] == pytest.approx(shot["entry"]["board"], abs=0.2)


def test_what_breaks_a_rule_is_ruled_out_with_the_limit() -> None:
    heavy_top = questions.new(
        3, "Field Maple", "solid", "1000", label=questions.label(top_weight_oz=14.0)
    )
    wide = questions.new(4, "Bird Cherry", "solid", "1000", label=questions.label(2.5, 0.066))
    asked = questions.question(catalogue=[heavy_top, wide])
    menu = options.menu_of(asked, ranking.setting_of(asked).who)
    why = {row["what"].split(",")[0]: row["why"] for row in menu.excluded}
    assert "limit 3.00 oz" in why["Field Maple"]
    assert "limit 0.060 in" in why["Bird Cherry"]
    assert not [c for c in menu.changes if c.ball in ("Field Maple", "Bird Cherry")]


def test_a_track_over_a_hole_is_ruled_out_and_names_the_hole() -> None:
    """A full roller's layout on a high-flare ball: its track runs between thumb and fingers."""
    low_track = {
        **questions.question()["delivery"],
        "pap_over_in": questions.reading(6.7),
        "pap_up_in": questions.reading(0.0),
        "tilt_deg": questions.reading(1.0),
    }
    thumb_in_the_way = [*questions.GRIP[:2], {**questions.GRIP[2], "over_in": 0.0, "up_in": -0.9}]
    asked = questions.question(delivery=low_track, grip=thumb_in_the_way)
    menu = options.menu_of(asked, ranking.setting_of(asked).who)
    assert any("runs over the thumb hole" in row["why"] for row in menu.excluded)


def test_a_ball_that_is_not_made_in_the_weight_says_so() -> None:
    assert {"what": "Wych Elm", "why": "not made in 15 lb"} in answer(not_made=["Wych Elm"])[
        "excluded"
    ]


def test_a_ball_that_scores_lies_in_the_window_and_one_in_a_gap_scores_less() -> None:
    """Window, chances and gaps are made of one set of values."""
    for result in (answer(), answer(catalogue=[])):
        for task in result["tasks"]:
            for ball in task["owned"]:
                if ball["carry"] >= 0.95 * task["best_available"]:
                    length = ball["hook_length_ft"]
                    assert any(low <= length <= high for low, high in task["window"])
                    assert not task["gap"]


def test_a_twin_of_an_owned_ball_is_never_called_that_ball(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Another ball with the same cover, finish, core and shot: close to it, but not it."""
    asked = questions.question(
        catalogue=[questions.new(2, "Field Maple", "solid", "1000")],
        menu={"layouts": [dict(questions.PIN_UP)], "finishes": ["1000"]},
    )
    menu = options.menu_of(asked, ranking.setting_of(asked).who)
    twin = next(choice for choice in menu.changes if choice.ball == "Field Maple")
    same_shot = np.zeros((2, 1, shape.RESULTS))
    confirmed = SimpleNamespace(choices=[menu.owned[0], twin], shots=same_shot)
    monkeypatch.setattr(tasks, "room", lambda answer, row, j: 1.0)
    said = reasons._why(SimpleNamespace(confirmed=confirmed, menu=menu), 1, 0, 0)  # type: ignore[arg-type]
    assert said.startswith("Its surface and flare are close to Hornbeam's")


def test_a_changed_ball_is_held_against_itself() -> None:
    worn = [questions.owned(1, "Hornbeam", "solid", "1000")]
    surfaces = [c for c in answer(bag=worn, catalogue=[])["choices"] if c["kind"] == "surface"]
    assert surfaces
    assert "than before" in surfaces[0]["reason"]


def test_every_gain_has_an_interval_and_the_answer_says_how_sure_it_is() -> None:
    result = answer()
    for choice in result["choices"]:
        low, high = choice["gain_interval"]
        assert low <= choice["gain_middle"] <= high
        # What is added to a bag can't lower it, in any draw.
        assert low >= 0 or choice["kind"] not in ("order", "stock")
    doubt = result["doubt"]
    assert doubt["draws"] == 64
    assert doubt["too_close"] == (doubt["first_beats_second"] < doubt["limit"])
    assert len(doubt["would_settle"]) <= 3
    assert 0 <= doubt["rest"] <= 1
    assert doubt["priors"]["lane_friction"] > 0
    if doubt["against"] == "second":
        assert result["choices"][0]["beats_next"] == doubt["first_beats_second"]


def test_nothing_needed_is_held_against_the_change_that_came_nearest() -> None:
    """Where no change is worth listing the nearest are drawn: certainty isn't taken on trust."""
    fresh = [questions.owned(1, "Hornbeam", "pearl", "polished")]
    result = answer(bag=fresh, catalogue=[], menu={"layouts": [], "finishes": ["polished", "4000"]})
    first = result["choices"][0]
    assert first["kind"] == "none"
    assert result["doubt"]["against"] == "change"
    assert first["certainty"] == pytest.approx(result["doubt"]["first_beats_second"], abs=0.02)


def test_a_ball_whose_record_cant_be_computed_is_ruled_out_and_the_rest_is_tried() -> None:
    broken = questions.owned(2, "Rowan", "solid", "1000", layout={})
    asked = questions.question(bag=[broken, *questions.question()["bag"]])
    who = ranking.setting_of(asked).who
    menu = options.menu_of(asked, who)
    assert [choice.ball for choice in menu.owned] == ["Hornbeam"]
    assert all(choice.replaces in (0, None) for choice in menu.changes)
    (ruled_out,) = (row for row in menu.excluded if row["what"] == "Rowan")
    assert ruled_out["why"].startswith("layout must be one of")
    assert [choice.ball for choice in options.bag_as_it_is(asked, who)] == ["Hornbeam"]


# ---- words and numbers where there is no line, no bag or no turn ----


def found_out(*, boards: tuple[float, ...], values: tuple[float, ...], bag: int = 1) -> Any:
    """An answer on one condition: balls with their boards and strike chances, the bag's first."""
    choices = [SimpleNamespace(ball=name, work="") for name in ("Hornbeam", "Rowan")]
    return SimpleNamespace(
        inputs={"bag": [], "conditions": [{"name": "Flat"}]},
        bag_size=bag,
        gains=np.array([[0.2]]),
        menu=SimpleNamespace(owned=choices[:bag]),
        setting=SimpleNamespace(weights=np.ones(1)),
        confirmed=SimpleNamespace(
            choices=choices,
            shots=np.zeros((len(boards), 1, shape.RESULTS)),
            values=np.array([values]).T,
            lines=SimpleNamespace(board=np.array([boards]).T),
            balls=SimpleNamespace(part=lambda rows: []),
        ),
    )


def test_a_ball_that_alone_reaches_the_pocket_is_told_so() -> None:
    answer = found_out(boards=(math.nan, 20.0), values=(0.0, 0.45))
    assert reasons._what(answer, {"name": "Flat"}, 1, 0, 0) == (
        "On Flat it reaches the pocket, which nothing in the bag does: 0 % to 45 % strikes "
        "(estimate)."
    )


@pytest.mark.parametrize(
    ("task", "best_owned", "said"),
    [
        ({"window": None}, 0, "Nothing tried is playable here"),
        ({"window": [[15, 20]]}, None, "no ball in the bag that can be computed"),
        (
            {"window": [[15, 20]], "gap": True, "best_available": 0.45},
            0,
            "Hornbeam is the nearest, 0 % of 45 %, and no line brings it to the pocket.",
        ),
    ],
)
def test_a_gap_says_what_is_missing(
    task: dict[str, Any], best_owned: int | None, said: str
) -> None:
    answer = found_out(boards=(math.nan, 20.0), values=(0.0, 0.45))
    assert said in reasons.gap_words(answer, 0, task, best_owned, 1)


@pytest.mark.parametrize(
    ("rough", "grip", "said"),
    [
        (1.2, 1.0, "bites through more oil than before"),
        (0.8, 1.0, "rides the oil further than before"),
        (1.0, 1.1, "grips the dry harder than before"),
        (1.0, 0.9, "is gentler on the dry than before"),
    ],
)
def test_a_surface_is_told_by_what_it_does_first(rough: float, grip: float, said: str) -> None:
    new, old = (
        SimpleNamespace(
            finish="500",
            option=SimpleNamespace(
                cover="solid", closure=SimpleNamespace(scale_um=scale, mu_dry=dry)
            ),
        )
        for scale, dry in ((rough, grip), (1.0, 1.0))
    )
    told = reasons._surface(new, old, " than before")  # type: ignore[arg-type]
    assert told.endswith(f"at 500 grit {said}")


def test_a_cleaning_is_told_by_what_it_takes_off_the_cover() -> None:
    dirty, clean = care.Played(12, 12, 12), care.Played(12, 12, 0)
    new, old = (SimpleNamespace(work="clean", played=played) for played in (clean, dirty))
    lost = 100 * care.film_share(12)
    assert reasons._restored(new, old) == (  # type: ignore[arg-type]
        f"what 12 games have left on its cover takes {lost:.1f} % off its dry friction"
    )


def test_a_bag_of_nothing_has_no_benchmark_no_strength_and_nothing_thrown_at_spares() -> None:
    answer = found_out(boards=(20.0,), values=(0.4,), bag=0)
    answer.confirmed.choices = answer.confirmed.choices[1:]
    assert tasks.benchmark_of(answer) is None
    assert tasks._strength(answer, 0, 0, None) is None
    assert spare_rows.rows(answer, 0) == []
    assert spare_rows.reason(answer, 0) == (
        "On Flat Rowan is thrown at spares, which nothing in the bag can be (estimate)."
    )


def test_a_benchmark_without_a_line_measures_nothing() -> None:
    answer = found_out(boards=(math.nan, 20.0), values=(0.0, 0.4))
    assert tasks._strength(answer, 1, 0, 0) is None


@pytest.mark.parametrize(
    ("playable", "numbers", "said"),
    [
        (False, {}, "No line brings it to the pocket here."),
        (True, {shape.FULL_TURN_DEG: 0.3}, "The release leaves no turn to speak of"),
        (
            True,
            {shape.FULL_TURN_DEG: 12.0, shape.QUARTER_M: math.nan},
            "It reaches the pins with most of its turn unspent.",
        ),
        (True, {shape.FULL_TURN_DEG: 12.0, shape.QUARTER_M: 12.0}, ""),
    ],
)
def test_a_ball_without_a_hook_length_says_why(
    playable: bool, numbers: dict[int, float], said: str
) -> None:
    shot = np.zeros(shape.RESULTS)
    for column, value in numbers.items():
        shot[column] = value
    told = tasks._shape_note(shot, playable)
    assert told.startswith(said) if said else told == ""


def test_without_a_line_there_is_no_room_to_miss_and_nothing_on_the_strip() -> None:
    nothing: Any = None
    lane = OnLane(who=nothing, option=nothing, task=nothing, factor=1.0)
    assert lane.room(math.nan, math.nan) == (0.0, 0.0)
    unplayable = found_out(boards=(math.nan,), values=(0.0,), bag=0)
    assert strip.strip_of(unplayable, [{"name": "Flat"}]) is None
    unplayable.gains = np.zeros((0, 1))
    assert strip.strip_of(unplayable, [{"name": "Flat"}]) is None


def test_a_leave_that_no_line_reaches_is_thrown_by_none() -> None:
    answer = found_out(boards=(20.0, 20.0), values=(0.4, 0.4))
    nowhere = SimpleNamespace(maps=[SimpleNamespace(board=np.zeros(0))])
    answer.confirmed.second = SimpleNamespace(thrown=[nowhere])
    assert spare_rows._thrown(answer, 0, 0) == [None] * len(pins.table().leaves)


def test_a_ball_that_takes_no_leave_more_often_is_told_as_like_the_bag() -> None:
    count = len(pins.table().leaves)

    class Same:
        strike, other_leaves = np.full((1, 1), 0.5), np.full((1, 1, count), 1 / count)
        convert = np.full((1, 1, count), 0.8)

        def __len__(self) -> int:
            return 1

        def games(self) -> Any:
            return np.array([[200.0]])

    answer = found_out(boards=(20.0, 20.0), values=(0.4, 0.4))
    alike = SimpleNamespace(closure=SimpleNamespace(mu_dry=0.2))
    for choice in answer.confirmed.choices:
        choice.option = alike
    convert = np.full((2, 1, count), 0.8)
    answer.confirmed.balls = SimpleNamespace(convert=convert, part=lambda rows: Same())
    said = spare_rows.reason(answer, 1)
    assert "it takes what is left about as often as the bag does (" in said
    convert[1, 0, 3] = 0.9
    leave = pins.leave_name(pins.table().leaves[3], "right")
    answer.inputs["customer"] = {"hand": "right"}
    told = f"it takes the {leave} 90 times in a hundred where Hornbeam takes it 80 times ("
    assert told in spare_rows.reason(answer, 1)
