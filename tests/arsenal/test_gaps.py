"""The gaps page: the window rows say in words and signs what they show, and nothing overlaps."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from arsenal.advice.window_rows import NARROW, WIDE, Axis, Canvas, Drawing, window_rows
from arsenal.models import Ranking
from bowlers.models import Bowler
from tests.arsenal.advice_cast import Engine, engine, work_off, wren
from tests.arsenal.invented import invented_result

__all__ = ["engine", "work_off", "wren"]


@pytest.fixture
def page(
    wren: Bowler, engine: Engine, staff_client: Client, work_off: Callable[[], None]
) -> Callable[..., str]:
    def shown(**wanted: Any) -> str:
        engine.result = invented_result(**wanted)
        address = reverse("gaps", args=[wren.pk])
        staff_client.post(address)
        work_off()
        return str(staff_client.get(address).content.decode())

    return shown


def test_a_gap_is_marked_by_words_and_a_hatched_stretch(page: Callable[..., str]) -> None:
    text = page(tasks=2)
    assert text.count("GAP: too rolly") == 3  # once in words, once in each drawing
    assert text.count('class="gap-stretch"') == 2
    assert "nothing sharp is left" in text


def test_a_bag_without_gaps_says_so_and_hatches_nothing(page: Callable[..., str]) -> None:
    text = page(tasks=1)
    assert "No gaps" in text
    assert "gap-stretch" not in text
    assert "Covered." in text


def test_a_condition_that_nothing_can_play_has_no_window_and_says_so(
    page: Callable[..., str],
) -> None:
    text = page(tasks=1, no_window_on=0)
    assert "No window." in text
    assert 'class="window-caption"' not in text


def test_every_ball_stands_in_the_picture_and_in_the_table_with_its_strength(
    page: Callable[..., str],
) -> None:
    text = page(tasks=1, balls=3)
    assert text.count("<tspan>+1.1 boards</tspan>") == text.count("<tspan>+1.1</tspan>") == 1
    assert re.search(r"<td>\+1\.1</td>", text)
    assert re.search(r'<th scope="row">\s*Silver Birch\s*</th>', text)


def test_spares_say_the_chance_with_each_ball_and_that_a_release_was_assumed(
    wren: Bowler, engine: Engine, staff_client: Client, work_off: Callable[[], None]
) -> None:
    result = invented_result(tasks=1)
    result["at_spares"] = {"release": "assumed", "words": "A flatter one that is assumed."}
    how = {
        "release": "usual release",
        "laydown_board": 31.0,
        "launch_deg": 3.0,
        "turned_deg": 0.4,
        "way": "straight",
    }
    balls = [
        {"ball_id": 1, "ball": "Hornbeam", "convert": 0.48, "best": False, "thrown": None},
        {"ball_id": 2, "ball": "Hazel", "convert": 0.91, "best": True, "thrown": how},
    ]
    result["tasks"][0]["spares"] = [
        {"leave": "10", "a_game": 0.8, "ball": "Hazel", "convert": 0.91, "balls": balls}
    ]
    engine.result = result
    address = reverse("gaps", args=[wren.pk])
    staff_client.post(address)
    work_off()
    text = " ".join(staff_client.get(address).content.decode().split())
    assert "A flatter one that is assumed." in text
    assert "48" in text
    assert "straight, usual release, from 31, turns 0.4°" in text
    # As it was stored before each ball was told apart.
    del result["tasks"][0]["spares"][0]["balls"]
    Ranking.objects.update(result=result)
    assert "turns 0.4°" not in staff_client.get(address).content.decode()


def test_late_and_early_balls_are_called_so(page: Callable[..., str]) -> None:
    text = page(tasks=1, balls=4)
    assert text.count('<tspan class="ball-sign">late</tspan>') == 2
    assert text.count('<tspan class="ball-sign">early</tspan>') == 2
    assert re.search(r"falls short,\s+late", text)


def test_the_ends_of_the_axis_are_labelled_in_words(page: Callable[..., str]) -> None:
    text = page(tasks=1)
    assert "← angular" in text
    assert "rolly →" in text


def test_the_drawings_carry_no_inline_style(page: Callable[..., str]) -> None:
    text = page(tasks=2, balls=9)
    assert " style=" not in text
    assert "<style" not in text


def test_a_ball_without_a_hook_shape_is_named_in_words(
    wren: Bowler, engine: Engine, page: Callable[..., str], staff_client: Client
) -> None:
    result = invented_result(tasks=1)
    result["tasks"][0]["owned"][0] |= {
        "hook_length_ft": None,
        "shape_note": "It leaves the hand already rolling.",
    }
    rows = window_rows(result)
    assert [ball["ball"] for ball in rows.all[0].shapeless] == ["Hornbeam"]
    assert all(len(drawing.marks) == 2 for drawing in rows.all[0].drawings)


def test_a_ball_that_scores_is_filled_and_one_that_does_not_is_hollow() -> None:
    row = window_rows(invented_result(tasks=1)).all[0]
    scoring = {mark.name: mark.scores for mark in row.drawings[0].marks}
    assert scoring == {"Hornbeam": False, "Silver Birch": True, "Old Walnut with the long…": False}


def test_all_rows_of_a_page_share_one_axis() -> None:
    rows = window_rows(invented_result(tasks=8, balls=9)).all
    assert len({tuple(row.drawings[0].ticks) for row in rows}) == 1


def test_longer_hooks_lie_further_right() -> None:
    axis = Axis(10, 40, WIDE)
    assert axis.x(12) < axis.x(20) < axis.x(39)


def spaces(drawing: Drawing, canvas: Canvas) -> list[tuple[float, float, float]]:
    """(lane, left, right) of each mark with its label."""
    taken = []
    for mark in drawing.marks:
        words = " ".join(part for part in (mark.name, mark.strength, mark.sign) if part)
        reach = canvas.wide(words)
        ends = (
            (mark.x - mark.radius, mark.text_x + reach)
            if mark.anchor == "start"
            else (mark.text_x - reach, mark.x + mark.radius)
        )
        taken.append((mark.y, *ends))
    return taken


@given(
    hooks=st.lists(st.floats(8, 45), min_size=1, max_size=12),
    strengths=st.lists(st.floats(-12, 12), min_size=12, max_size=12),
)
def test_no_two_labels_touch_and_none_leaves_the_picture(
    hooks: list[float], strengths: list[float]
) -> None:
    result = invented_result(tasks=1, balls=9)
    balls = result["tasks"][0]["owned"]
    result["tasks"][0]["owned"] = [
        {**balls[number % 9], "hook_length_ft": hook, "strength_boards": strength}
        for number, (hook, strength) in enumerate(zip(hooks, strengths, strict=False))
    ]
    for drawing, canvas in zip(window_rows(result).all[0].drawings, (WIDE, NARROW), strict=True):
        taken = spaces(drawing, canvas)
        assert len(taken) == len(hooks)
        for number, (lane, left, right) in enumerate(taken):
            assert left >= 0
            assert right <= canvas.width
            assert drawing.band_top <= lane <= drawing.band_bottom
            for other_lane, other_left, other_right in taken[:number]:
                assert lane != other_lane or right < other_left or other_right < left


def test_balls_without_a_hook_length_and_no_window_leave_the_usual_stretch_of_feet() -> None:
    result = invented_result(tasks=1, no_window_on=0)
    (task,) = result["tasks"]
    del task["hook_range"]
    for ball in task["owned"]:
        ball["hook_length_ft"] = None
    rows = window_rows(result)
    assert rows.feet == (10.0, 40.0)
    assert [ball["ball"] for ball in rows.all[0].shapeless] == [b["ball"] for b in task["owned"]]
    assert all(drawing.marks == [] for drawing in rows.all[0].drawings)
