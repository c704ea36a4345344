"""JSON cases and command lines, sent nonsense: a result, or a refusal that names what is wrong."""

from __future__ import annotations

import copy
import io
import json
import math
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command, get_commands
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from physics import cases
from physics.__main__ import main
from physics.errors import InputError
from proshop.models import Shop
from tests.arsenal import records
from tests.fuzz import odd, tried
from tests.fuzz.judged import stored
from tests.fuzz.test_pages import CASES, RULES
from tests.physics.balls_and_lanes import bowlers_numbers
from tests.physics.test_fitting import NO_THROW, SHOT

LAYOUT = {"drilling_angle_deg": 45, "pin_to_pap_in": 4, "val_angle_deg": 40}
HOLE = {
    "over_in": 0.6,
    "up_in": 2.1,
    "diameter_in": 0.97,
    "depth_in": 1.75,
    "pitch_forward_in": 0.1,
    "pitch_lateral_in": 0.0,
    "density_g_cm3": 1.2,
}
LABEL = {
    "radius_in": 4.2975,
    "weight_lb": 15.1,
    "rg_low_in": 2.48,
    "differential_in": 0.05,
    "intermediate_differential_in": 0.0,
    "pin_to_cg_in": 2.5,
    "top_weight_oz": 3,
}
BALL = {"mass_kg": 6.6, "radius_m": 0.1087, "principal_rg_m": [0.0630, 0.0636, 0.0642]}
GRID = {"type": "grid", "x_m": [0, 9, 18], "y_m": [-0.5, 0, 0.5], "mu": [[0.05] * 3] * 3}
# One case of each command that is answered.
IN_EARNEST: dict[str, dict[str, Any]] = {
    "shot": {
        "ball": BALL,
        "release": bowlers_numbers(),
        "friction": GRID,
        "hand": "right",
        "sample_times_s": [0.0, 0.7],
    },
    "layout": {"pap_over_in": 5, "pap_up_in": 0.5, "hand": "right", "layout": LAYOUT},
    "drill": {"ball": LABEL, "hand": "right", "pap_over_in": 5, "pap_up_in": 0.5, "layout": LAYOUT,
              "holes": [HOLE, {**HOLE, "over_in": -0.6}]},
    "measure": {**NO_THROW, "shots": [SHOT, SHOT]},
}  # fmt: skip
DEEP: Any = 1.0
for _ in range(200):
    DEEP = [DEEP]
VALUES: st.SearchStrategy[Any] = st.one_of(
    st.sampled_from(
        [
            *(None, True, False, "", "x", "1", "NaN", "\ud800", "a\0b", [], {}, [[]], {"": None}),
            *(math.nan, math.inf, -math.inf, 0, -0.0, 1e308, -1e308, 5e-324, 10**400, -(10**30)),
            *(1e-9, 1e9, [1] * 5000, [None], [{}], {"type": "grid"}, "right", "left", DEEP),
        ]
    ),
    st.floats(-10, 10),
    st.integers(-400, 400),
    st.lists(st.floats(-2, 2), max_size=4),
).map(copy.deepcopy)


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to every value of a case, itself apart."""
    inside = value.items() if isinstance(value, dict) else enumerate(value)
    for key, held in inside:
        yield (*path, key)
        if isinstance(held, dict | list):
            yield from places(held, (*path, key))


@st.composite
def broken(draw: st.DrawFn, case: dict[str, Any]) -> dict[str, Any]:
    """The case with one to three of its values replaced, taken out or joined by another."""
    found = copy.deepcopy(case)
    for _ in range(draw(st.integers(1, 3))):
        *way, last = draw(st.sampled_from(list(places(found)) or [("nothing",)]))
        within: Any = found
        for key in way:
            within = within[key]
        what = draw(st.sampled_from(["value"] * 6 + ["gone", "more"]))
        if what == "value" or isinstance(within, list):
            within[last] = draw(VALUES)
        elif what == "gone":
            within.pop(last, None)
        else:
            within[draw(st.sampled_from(["x", "", "hand", "type", "\udfff"]))] = draw(VALUES)
    return found


@pytest.mark.parametrize("command", sorted(cases.COMMANDS))
def test_a_broken_case_is_answered_or_refused_by_its_field(command: str) -> None:
    whole = IN_EARNEST[command]
    json.dumps(cases.COMMANDS[command](whole), allow_nan=False)
    # Shots and fittings are computed: they take as long as all else together.
    number = CASES * {"shot": 2, "measure": 4}.get(command, 15) // 100

    @settings(RULES, max_examples=number)
    @given(broken(whole))
    def holds(case: dict[str, Any]) -> None:
        tried.one()
        try:
            answer = cases.COMMANDS[command](case)
        except InputError as error:
            refused = (error.field, error.allowed)
            assert all(refused)
        else:
            # Strict JSON: neither NaN nor infinity comes out.
            json.dumps(answer, allow_nan=False)

    holds()


@pytest.mark.parametrize("name", [*sorted(cases.COMMANDS), "robot", "x", ""])
def test_any_text_on_standard_input_is_refused_in_one_line(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    @settings(RULES, max_examples=CASES // 100)
    @given(
        st.one_of(
            st.text(max_size=60),
            st.sampled_from(
                ["[" * 100_000, '{"a":' * 50_000, "nul", "1e999", '{"x": NaN}', '"\\ud800"', "{}x"]
            ),
            st.sampled_from(odd.NUMBERS),
        )
    )
    def holds(text: str) -> None:
        tried.one()
        monkeypatch.setattr(sys, "stdin", io.StringIO(text))
        capsys.readouterr()
        if name == "robot" and not text.strip():
            # Nothing asked is its whole report, which takes a while.
            return
        assert main([name, *(["--json"] if name == "robot" else [])]) == 2
        told = json.loads(capsys.readouterr().err)
        assert told["field"]
        assert told["allowed"]

    holds()


COMMANDS = {
    "nextball": ["", "--list", "--json", "--limit", "--limit=0", "--limit=x", "0", "-1", "999999"],
    "add_person": ["", "--shop", "--shop=", "--role=king", "--role=owner", "--name=", "sam"],
    "restore": ["--replace", "--compare", "missing.zip", "empty", "text", "bomb", "other", "/"],
    "move_to": ["--replace", "nonsense", "ftp://x/y", "http://[", "postgres://a:b@c:port/d"],
    "backup": ["--keep", "--keep=x", "--keep=-5", "under a file", "/", "text"],
    "reap_jobs": ["--age", "--age=x", "--age=-5", "--age=99999999999999", "--age=0"],
    "doctor": ["--x", "x"],
    "forget_forms": ["--days", "--days=x", "--days=0", "--days=-5", "--days=" + "9" * 30],
    "rerank": ["--all", "--stale", "--shop=nobody", "--shop", "--shop=Two Counters", "--x"],
    "spread": ["--json", "--customer", "--customer=x", "--customer=-1", "--customer=" + "9" * 30],
}
# Run until they are stopped, or for minutes, and take numbers or nothing.
LEFT_OUT = {"serve", "db_worker", "warm", "demo"}
ARGUMENTS = st.sampled_from(
    ["", "\0", "--", "-", "--help=1", "9" * 30, "\ud800", "x" * 5000, "../..", "%s", "{0}", "nan"]
)


def test_every_command_of_the_site_is_tried() -> None:
    ours = {
        name for name, app in get_commands().items() if app in {"proshop", "bowlers", "arsenal"}
    }
    assert ours == {*COMMANDS, *LEFT_OUT}


@pytest.fixture
def files(tmp_path: Path) -> dict[str, str]:
    """Files that are no backups."""
    kinds = {"empty": b"", "text": b"what?", "bomb": odd.BOMB, "other": odd.BOMB[:-40]}
    for name, content in kinds.items():
        (tmp_path / name).write_bytes(content)
    return {name: str(tmp_path / name) for name in kinds} | {
        "under a file": str(tmp_path / "text" / "x.zip")
    }


@pytest.mark.django_db
@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_a_command_line_is_carried_out_or_refused_in_words(
    command: str,
    files: dict[str, str],
    shop: Shop,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("django.conf.settings.VAR_DIR", tmp_path)
    # Whatever is taken for a file's name lies there.
    inside = tmp_path / "a" / "b"
    inside.mkdir(parents=True)
    monkeypatch.chdir(inside)
    records.customer(shop)
    before = stored()

    @settings(RULES, max_examples=CASES // 100)
    @given(st.lists(st.one_of(st.sampled_from(COMMANDS[command]), ARGUMENTS), max_size=4))
    def holds(arguments: list[str]) -> None:
        tried.one()
        said = io.StringIO()
        words = ""
        with transaction.atomic():
            try:
                call_command(
                    command, *(files.get(one, one) for one in arguments), stdout=said, stderr=said
                )
            except CommandError as error:
                words = str(error) or "nothing"
            if words:
                assert words != "nothing"
                assert stored() == before
            transaction.set_rollback(True)

    holds()
