"""Balls drilled on paper, all layouts at once."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from arsenal.engine import bodies
from arsenal.engine.paper import on_paper
from physics import body, rules
from tests.arsenal import questions
from tests.physics import scenes

PAP = (5.0, 0.5)
NO_LAYOUT = {**questions.PIN_UP, "pin_to_pap_in": 0.0}


def drilled(
    layouts: list[dict[str, float]], grip: list[dict[str, Any]], **label: float
) -> tuple[body.Body | str, ...]:
    plan = json.dumps([layouts, grip, PAP, 12.0])
    named = json.dumps(questions.label(**label))
    return on_paper(named, plan, scenes.man(), rules.NO_BALANCE_HOLE)


def test_each_is_as_it_is_drilled_by_itself() -> None:
    """To 1e-9: the same numbers by the way that owned balls come, which has one layout."""
    layouts = [questions.PIN_UP, questions.PIN_DOWN]
    for numbers, found in zip(layouts, drilled(layouts, questions.GRIP), strict=True):
        alone, _, _ = bodies.ball_of(questions.label(), numbers, questions.GRIP, PAP)
        assert isinstance(found, body.Body)
        np.testing.assert_allclose(found.pap_body, alone.pap_body, rtol=0, atol=1e-9)
        assert found.principal_rg_m == pytest.approx(alone.principal_rg_m, rel=0, abs=1e-9)
        assert found.static_oz == pytest.approx(alone.static_oz, rel=0, abs=1e-9)


def test_a_layout_that_cannot_be_is_named_and_the_others_are_drilled() -> None:
    first, none, last = drilled(
        [questions.PIN_UP, NO_LAYOUT, questions.PIN_DOWN], questions.GRIP, top_weight_oz=2.25
    )
    assert isinstance(first, body.Body)
    assert isinstance(last, body.Body)
    assert isinstance(none, str)
    assert none.startswith("layout.pin_to_pap_in must be more than 0")


def test_where_no_layout_can_be_each_says_why() -> None:
    assert all(isinstance(why, str) for why in drilled([NO_LAYOUT, NO_LAYOUT], questions.GRIP))


def test_a_hole_that_cannot_be_drilled_rules_out_every_layout() -> None:
    deep = [{**questions.GRIP[0], "pitch_forward_in": 9.0}]
    found = drilled([questions.PIN_UP, questions.PIN_DOWN], deep)
    assert [str(why).split()[0] for why in found] == ["holes[0].pitch_forward_in"] * 2


def test_faults_by_the_rules_are_told_layout_by_layout() -> None:
    """Where half an ounce to the side is allowed, a layout that leaves more is ruled out."""
    strict = replace(
        rules.NO_BALANCE_HOLE, limits=(rules.Limit("side_oz", None, 0.5, rules.HOUSE),)
    )
    plan = json.dumps([[questions.PIN_UP], questions.GRIP, PAP, 12.0])
    (why,) = on_paper(json.dumps(questions.label()), plan, scenes.man(), strict)
    assert isinstance(why, str)
    assert "side weight" in why
