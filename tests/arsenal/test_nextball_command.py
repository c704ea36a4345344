"""``manage.py nextball``: the fields promised to other programs, and clear refusals."""

from __future__ import annotations

import io
import json
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from arsenal.advice.models import Ranking
from arsenal.advice.run import compute
from arsenal.advice.words import ALTERS_SURFACE, NOT_IN_PLAY
from bowlers.models import Bowler
from tests.arsenal.advice_cast import Engine, engine, wren
from tests.arsenal.invented import invented_result

__all__ = ["engine", "wren"]


def said(*arguments: str) -> str:
    out = io.StringIO()
    call_command("nextball", *arguments, stdout=out)
    return out.getvalue()


def test_the_list_names_every_customer(wren: Bowler, engine: Engine) -> None:
    text = said("--list")
    assert str(wren.pk) in text
    assert "Wren Marsh" in text


def test_the_list_as_json_has_id_and_name(wren: Bowler, engine: Engine) -> None:
    rows = json.loads(said("--list", "--json"))
    assert [(row["id"], row["name"]) for row in rows] == [(wren.pk, "Wren Marsh")]


def test_an_empty_list_says_so(db: None, engine: Engine) -> None:
    assert "no customers yet" in said("--list")
    assert json.loads(said("--list", "--json")) == []


def test_the_json_has_the_promised_fields_and_no_others(wren: Bowler, engine: Engine) -> None:
    answer = json.loads(said(str(wren.pk), "--json"))
    assert set(answer) == {
        "customer",
        "model_version",
        "seed",
        "tasks",
        "choices",
        "excluded",
        "doubt",
    }
    assert set(answer["customer"]) == {"id", "name"}
    for task in answer["tasks"]:
        assert set(task) == {"name", "weight", "window", "gap", "best_available", "owned"}
        for ball in task["owned"]:
            assert set(ball) == {
                "ball_id",
                "ball",
                "hook_length_ft",
                "late",
                "strength_boards",
                "carry",
            }
    for choice in answer["choices"]:
        # Only care says what is to be done; elsewhere layout and surface do.
        assert ("work" in choice) == (choice["kind"] == "care")
        assert set(choice) - {"work"} == {
            "rank",
            "kind",
            "ball",
            "layout",
            "surface",
            "gain",
            "gain_interval",
            "gain_middle",
            "certainty",
            "beats_next",
            "too_close",
            "cost",
            "family",
            "reason",
        }
        assert set(choice["cost"]) == {"amount", "currency"}
    assert all(set(item) == {"what", "why"} for item in answer["excluded"])


def test_how_sure_it_is_is_in_the_json_and_in_the_text(wren: Bowler, engine: Engine) -> None:
    doubt = json.loads(said(str(wren.pk), "--json"))["doubt"]
    assert doubt["too_close"] is True
    text = " ".join(said(str(wren.pk)).split())
    assert doubt["words"] in text
    assert "- Two more deliveries with rev rate: the chance of picking the wrong one falls" in text


def test_a_ranking_stored_before_its_doubt_was_asked_is_still_printed(
    wren: Bowler, engine: Engine
) -> None:
    old = invented_result()
    del old["doubt"]
    for choice in old["choices"]:
        del choice["gain_interval"], choice["too_close"]
    engine.result = old
    assert "doubt" not in json.loads(said(str(wren.pk), "--json"))
    assert "Too close" not in said(str(wren.pk))


def test_a_choice_without_a_layout_has_null(wren: Bowler, engine: Engine) -> None:
    choices = json.loads(said(str(wren.pk), "--json"))["choices"]
    layouts: dict[str, Any] = {choice["kind"]: choice["layout"] for choice in choices}
    assert layouts["surface"] is None
    assert set(layouts["order"]) == {"drilling_angle_deg", "pin_to_pap_in", "val_angle_deg"}


def test_the_limit_cuts_choices_and_nothing_else(wren: Bowler, engine: Engine) -> None:
    answer = json.loads(said(str(wren.pk), "--json", "--limit", "2"))
    assert [choice["rank"] for choice in answer["choices"]] == [1, 2]
    assert len(answer["excluded"]) == 2


def test_the_table_has_reasons_and_gaps(wren: Bowler, engine: Engine) -> None:
    text = said(str(wren.pk))
    assert "1. To order · Rowan · 50° × 4 1/2 in × 30° · 3000" in text
    assert "+8.1 points of strike chance, 97 % sure to gain, 189 USD, 1 as good" in text
    assert "opens a window nothing owned reaches" in text.replace("\n     ", " ")
    assert "GAP" in text


def test_the_ranking_is_stored_and_reopened(wren: Bowler, engine: Engine) -> None:
    said(str(wren.pk), "--json")
    said(str(wren.pk), "--json")
    assert Ranking.objects.get().is_done
    assert engine.runs == 1


def test_an_unknown_customer_is_refused_with_the_way_to_find_one(db: None, engine: Engine) -> None:
    with pytest.raises(CommandError, match=r"no customer 4711.*--list"):
        said("4711")


def test_a_customer_with_gaps_in_the_record_is_refused_by_what_is_missing(
    wren: Bowler, engine: Engine
) -> None:
    engine.missing = [{"what": "a finished fitting", "url_name": "fitting-add"}]
    with pytest.raises(CommandError, match="Missing: a finished fitting"):
        said(str(wren.pk))


def test_no_customer_at_all_is_refused(db: None, engine: Engine) -> None:
    with pytest.raises(CommandError, match="Which customer"):
        said()


def test_a_limit_below_one_is_refused(wren: Bowler, engine: Engine) -> None:
    with pytest.raises(CommandError, match="--limit must be 1 or more"):
        said(str(wren.pk), "--limit", "0")


def test_a_failure_is_a_refusal_with_its_words(wren: Bowler, engine: Engine) -> None:
    engine.failure = ValueError("the oil table has no rows")
    with pytest.raises(CommandError, match="oil table has no rows"):
        said(str(wren.pk))


def test_nothing_needed_is_printed_as_an_answer(wren: Bowler, engine: Engine) -> None:
    engine.result = invented_result(nothing_first=True)
    assert "1. Nothing needed" in said(str(wren.pk))


def test_it_waits_for_a_worker_that_is_at_it(
    wren: Bowler, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first try finds the ranking taken; the worker is done while the command sleeps."""
    slept: list[float] = []

    def taken(*, ranking_id: int) -> bool:
        Ranking.objects.filter(pk=ranking_id).update(progress=40)
        return False

    def worker_is_done(seconds: float) -> None:
        slept.append(seconds)
        compute(ranking_id=Ranking.objects.get().pk)

    command = "arsenal.management.commands.nextball"
    monkeypatch.setattr(f"{command}.compute", taken)
    monkeypatch.setattr(f"{command}.time.sleep", worker_is_done)
    out, told = io.StringIO(), io.StringIO()
    call_command("nextball", str(wren.pk), stdout=out, stderr=told)
    assert told.getvalue().startswith("A worker is at it: ")
    assert "1. To order · Rowan" in out.getvalue()
    assert (len(slept), engine.runs) == (1, 1)


@pytest.mark.parametrize(
    ("average", "told"),
    [
        (None, "(estimate); no average is on record to hold it against."),
        (185, "(estimate); the average on record is 185."),
    ],
)
def test_the_table_says_what_a_game_with_the_bag_is_expected_to_score(
    wren: Bowler, engine: Engine, average: int | None, told: str
) -> None:
    engine.result["game"] = {"expected": 187.6, "average": average, "by_task": [187.6]}
    text = said(str(wren.pk))
    assert f"expects 188 a game on these conditions {told}" in text


def test_the_table_says_what_isnt_done_in_play_only_where_a_cover_is_worked_on(
    wren: Bowler, engine: Engine
) -> None:
    assert NOT_IN_PLAY in said(str(wren.pk))
    choices = [c for c in engine.result["choices"] if c["kind"] not in ALTERS_SURFACE]
    engine.result = {**engine.result, "choices": choices}
    engine.inputs = {"speed_mph": 18.0}
    assert NOT_IN_PLAY not in said(str(wren.pk))
