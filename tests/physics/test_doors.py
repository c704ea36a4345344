"""The package's doors: both hands on a lane that isn't symmetric, and input that can't be used.

Source: the written contract of `python -m physics shot|layout|drill`. A left-hander is the mirror
image of a right-hander: positions and velocities change sign in y, spins (axial vectors) in x and
z, and in a right-handed principal frame the PAP's second component changes sign (derived).
"""

from __future__ import annotations

import copy
import enum
import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from physics import cases
from physics.__main__ import main
from physics.errors import InputError
from tests.physics.balls_and_lanes import bowlers_numbers, random_ball, random_raw_release
from tests.physics.referee_motion import lane_quantities

ROOT = Path(__file__).parents[2]


def uneven_lane() -> dict[str, Any]:
    """A grid with more oil on one side, and its ends not symmetric about nought either."""
    xs = np.linspace(0.0, 18.0, 10)
    ys = np.array([-0.55, -0.3, -0.1, 0.05, 0.25, 0.5])
    wet = np.clip(1.2 - np.abs(ys - 0.12) / 0.4, 0.0, 1.0)
    mu = 0.22 - 0.18 * np.outer(np.clip(1.3 - xs / 13.0, 0.0, 1.0), wet)
    return {"type": "grid", "x_m": xs.tolist(), "y_m": ys.tolist(), "mu": mu.tolist()}


def mirrored_lane(grid: dict[str, Any]) -> dict[str, Any]:
    return {
        **grid,
        "y_m": [-y for y in reversed(grid["y_m"])],
        "mu": [list(reversed(row)) for row in grid["mu"]],
    }


ASYMMETRIC = {"mass_kg": 6.6, "radius_m": 0.1087, "principal_rg_m": [0.0630, 0.0636, 0.0642]}
TIMES_S = [0.0, 0.7, 1.4, 2.1, 2.3]


def thrown(hand: str, grid: dict[str, Any], pap: list[float], y_m: float) -> dict[str, Any]:
    return {
        "ball": ASYMMETRIC,
        "release": bowlers_numbers(
            position_m=[0.0, y_m],
            pap_body=pap,
            launch_deg=2.5,
            spin_phase_deg=25.0,
            rev_rate_rpm=380.0,
        ),
        "friction": grid,
        "hand": hand,
        "sample_times_s": TIMES_S,
    }


def test_a_left_hander_on_an_uneven_lane_is_the_mirrored_right_hander_on_the_mirrored_lane() -> (
    None
):
    grid = uneven_lane()
    left_case = thrown("left", grid, [0.64, 0.48, 0.6], 0.2)
    right_case = thrown("right", mirrored_lane(grid), [0.64, -0.48, 0.6], -0.2)
    left, right = cases.shot(left_case), cases.shot(right_case)
    pairs = [*zip(left["samples"], right["samples"], strict=True), (left["end"], right["end"])]
    compared = 0
    for one, other in pairs:
        if one is None or other is None:
            assert one is other
            continue
        compared += 1
        for name, sign in (("t_s", 1), ("x_m", 1), ("y_m", -1), ("vx_m_s", 1), ("vy_m_s", -1)):
            assert one[name] == pytest.approx(sign * other[name], rel=0, abs=1e-8)
        a, b = lane_quantities(left_case, one), lane_quantities(right_case, other)
        assert np.allclose(a["L"], b["L"] * [-1, 1, -1], rtol=0, atol=1e-7)
        # The body is a mirror image: low and high axes mirror, the middle one mirrors and flips.
        mirror = np.diag([1.0, -1.0, 1.0])
        flip = np.diag([1.0, -1.0, 1.0])
        assert np.allclose(a["attitude"], mirror @ b["attitude"] @ flip, rtol=0, atol=1e-5)
    assert compared >= 5
    assert left["roll"]["t_s"] == pytest.approx(right["roll"]["t_s"], rel=0, abs=1e-7)


def test_the_lane_is_not_mirrored_for_a_left_hander() -> None:
    # The same lane gives a left-hander another shot: it is one lane for everybody.
    grid = uneven_lane()
    left = cases.shot(thrown("left", grid, [0.64, 0.48, 0.6], 0.2))["end"]
    right = cases.shot(thrown("right", grid, [0.64, -0.48, 0.6], -0.2))["end"]
    assert abs(left["y_m"] + right["y_m"]) > 0.05
    assert left["y_m"] < 0.2  # hooks to its own pocket, the right


@pytest.mark.parametrize("seed", range(3))
def test_a_raw_state_is_the_same_ball_whichever_hand_is_named(seed: int) -> None:
    rng = np.random.default_rng([23, seed])
    case = {
        "ball": random_ball(rng),
        "release": random_raw_release(rng),
        "friction": uneven_lane(),
        "sample_times_s": TIMES_S,
    }
    assert cases.shot({**case, "hand": "left"}) == cases.shot({**case, "hand": "right"})


def test_the_hand_is_right_unless_said() -> None:
    case = thrown("right", uneven_lane(), [0.64, 0.48, 0.6], -0.2)
    without = {name: value for name, value in case.items() if name != "hand"}
    assert cases.shot(without) == cases.shot(case)


def test_what_is_left_out_has_the_values_the_contract_names() -> None:
    case = thrown("right", uneven_lane(), [0.64, 0.48, 0.6], -0.2)
    bare = copy.deepcopy(case)
    del bare["release"]["spin_phase_deg"]
    full = copy.deepcopy(bare)
    full["release"]["spin_phase_deg"] = 0.0
    full.update(lane_length_m=18.288, gravity_m_s2=9.80665)
    assert cases.shot(bare) == cases.shot(full)
    assert cases.shot(bare)["end"]["x_m"] == pytest.approx(18.288, rel=0, abs=1e-9)


def test_samples_past_the_end_are_null_and_keep_their_places() -> None:
    case = {**thrown("right", uneven_lane(), [0.64, 0.48, 0.6], -0.2)}
    case["sample_times_s"] = [99.0, 0.5, 30.0, 0.0]
    found = cases.shot(case)["samples"]
    assert [moment is None for moment in found] == [True, False, True, False]
    assert found[1]["t_s"] == 0.5
    assert found[3]["t_s"] == 0.0
    assert found[3]["y_m"] == -0.2


def test_without_sample_times_there_are_no_samples() -> None:
    case = thrown("right", uneven_lane(), [0.64, 0.48, 0.6], -0.2)
    del case["sample_times_s"]
    assert cases.shot(case)["samples"] == []


def test_a_shot_answers_with_the_fields_of_the_contract() -> None:
    found = cases.shot(thrown("right", uneven_lane(), [0.64, 0.48, 0.6], -0.2))
    assert set(found) == {"end", "roll", "reached", "samples"}
    assert set(found["roll"]) == {"t_s", "x_m", "y_m"}
    names = {
        "t_s",
        "x_m",
        "y_m",
        "vx_m_s",
        "vy_m_s",
        "orientation",
        "omega_body_rad_s",
        "angular_momentum_lane",
    }
    assert set(found["end"]) == names
    assert all(set(moment) == names for moment in found["samples"] if moment)
    json.dumps(found, allow_nan=False)


def test_the_grid_is_bilinear_and_its_edges_are_held() -> None:
    # Two columns of different friction and a ball that stays outside them: the edge's value rules.
    def slid(y_m: float, mu: Any) -> float:
        case = {
            "ball": {"mass_kg": 6.8, "radius_m": 0.1085, "principal_rg_m": [0.064] * 3},
            "release": {
                "position_m": [0.0, y_m],
                "velocity_m_s": [8.0, 0.0],
                "orientation": [1.0, 0.0, 0.0, 0.0],
                "omega_body_rad_s": [0.0, 0.0, 0.0],
            },
            "friction": mu,
            "lane_length_m": 4.0,
        }
        end: float = cases.shot(case)["end"]["vx_m_s"]
        return end

    grid = {"type": "grid", "x_m": [1.0, 3.0], "y_m": [-0.2, 0.2], "mu": [[0.1, 0.3]] * 2}
    for y_m, value in ((-0.4, 0.1), (-0.2, 0.1), (0.0, 0.2), (0.1, 0.25), (0.4, 0.3)):
        expected = slid(0.0, {"type": "constant", "mu": value})
        assert slid(y_m, grid) == pytest.approx(expected, rel=0, abs=1e-9)


SHOT: dict[str, Any] = {
    "ball": ASYMMETRIC,
    "release": bowlers_numbers(),
    "friction": {"type": "constant", "mu": 0.12},
}
RAW: dict[str, Any] = {
    "position_m": [0.0, 0.0],
    "velocity_m_s": [8.0, 0.0],
    "orientation": [1.0, 0.0, 0.0, 0.0],
    "omega_body_rad_s": [1.0, 2.0, 3.0],
}
LAYOUT: dict[str, Any] = {
    "pap_over_in": 5.0,
    "pap_up_in": 0.5,
    "layout": {"drilling_angle_deg": 45.0, "pin_to_pap_in": 4.0, "val_angle_deg": 40.0},
}
DRILL: dict[str, Any] = {
    **LAYOUT,
    "ball": {
        "weight_lb": 15.0,
        "radius_in": 4.2975,
        "rg_low_in": 2.48,
        "differential_in": 0.05,
        "intermediate_differential_in": 0.01,
        "top_weight_oz": 2.5,
        "pin_to_cg_in": 2.5,
    },
    "holes": [
        {
            "over_in": 0.0,
            "up_in": -2.6,
            "diameter_in": 1.0,
            "depth_in": 2.75,
            "pitch_forward_in": 0.0,
            "pitch_lateral_in": 0.0,
            "density_g_cm3": 1.2,
        }
    ],
}


class Field(enum.Enum):
    """What stands for a field left out; named, so that its tests have the same name each time."""

    GONE = enum.auto()


GONE = Field.GONE
GRID: dict[str, Any] = {
    "type": "grid",
    "x_m": [0.0, 5.0],
    "y_m": [-0.5, 0.5],
    "mu": [[0.1, 0.1], [0.2, 0.2]],
}
ZONES: dict[str, Any] = {"type": "zones", "until_m": [5.0, 12.0], "mu": [0.05, 0.1, 0.2]}

# (command, where, what is put there, the field the error must name)
BAD: list[tuple[str, str, Any, str]] = [
    ("shot", "ball.mass_kg", -6.8, "ball.mass_kg"),
    ("shot", "ball.mass_kg", 0.0, "ball.mass_kg"),
    ("shot", "ball.mass_kg", float("nan"), "ball.mass_kg"),
    ("shot", "ball.mass_kg", float("inf"), "ball.mass_kg"),
    ("shot", "ball.mass_kg", 10**400, "ball.mass_kg"),
    ("shot", "ball.mass_kg", "6.8", "ball.mass_kg"),
    ("shot", "ball.mass_kg", True, "ball.mass_kg"),
    ("shot", "ball.mass_kg", None, "ball.mass_kg"),
    ("shot", "ball.mass_kg", GONE, "ball.mass_kg"),
    ("shot", "ball.radius_m", -0.1, "ball.radius_m"),
    ("shot", "ball.principal_rg_m", [0.064, 0.064], "ball.principal_rg_m"),
    ("shot", "ball.principal_rg_m", [0.064, 0.063, 0.065], "ball.principal_rg_m"),
    ("shot", "ball.principal_rg_m", [0.03, 0.04, 0.06], "ball.principal_rg_m"),
    ("shot", "ball.principal_rg_m", [0.063, float("nan"), 0.065], "ball.principal_rg_m[1]"),
    ("shot", "ball.colour", "red", "ball.colour"),
    ("shot", "ball", 3, "ball"),
    ("shot", "wind_m_s", 1.0, "wind_m_s"),
    ("shot", "hand", "both", "hand"),
    ("shot", "hand", ["right"], "hand"),
    ("shot", "release.speed_m_s", -1.0, "release.speed_m_s"),
    ("shot", "release.speed_m_s", GONE, "release.speed_m_s"),
    ("shot", "release.rev_rate_rpm", -5.0, "release.rev_rate_rpm"),
    ("shot", "release.axis_tilt_deg", 120.0, "release.axis_tilt_deg"),
    ("shot", "release.pap_body", [1.0, 1.0, 1.0], "release.pap_body"),
    ("shot", "release.pap_body", [0.0, 0.0, 0.0], "release.pap_body"),
    ("shot", "release.loft_m", 0.1, "release.loft_m"),
    ("shot", "release.position_m", [0.0], "release.position_m"),
    ("shot", "release", {**RAW, "speed_m_s": 8.0}, "release.speed_m_s"),
    ("shot", "release", {**RAW, "orientation": [1.0, 1.0, 0.0, 0.0]}, "release.orientation"),
    ("shot", "release", {**RAW, "orientation": [1.0, 0.0, 0.0]}, "release.orientation"),
    ("shot", "friction", GONE, "friction"),
    ("shot", "friction.type", "ice", "friction.type"),
    ("shot", "friction.mu", -0.1, "friction.mu"),
    ("shot", "friction", {**ZONES, "mu": [0.05, 0.1]}, "friction.mu"),
    ("shot", "friction", {**ZONES, "until_m": [12.0, 5.0]}, "friction.until_m"),
    ("shot", "friction", {**GRID, "mu": [[0.1, 0.1]]}, "friction.mu"),
    ("shot", "friction", {**GRID, "mu": [[0.1, 0.1], [0.2]]}, "friction.mu[1]"),
    ("shot", "friction", {**GRID, "mu": [[0.1, 0.1], [0.2, -0.2]]}, "friction.mu[1][1]"),
    ("shot", "friction", {**GRID, "x_m": [5.0, 0.0]}, "friction.x_m"),
    ("shot", "friction", {**GRID, "x_m": []}, "friction.x_m"),
    ("shot", "friction", {**GRID, "y_m": [0.5, 0.5]}, "friction.y_m"),
    ("shot", "sample_times_s", [-1.0], "sample_times_s[0]"),
    ("shot", "sample_times_s", 1.0, "sample_times_s"),
    ("shot", "lane_length_m", -3.0, "lane_length_m"),
    ("shot", "gravity_m_s2", 0.0, "gravity_m_s2"),
    ("layout", "pap_up_in", 6.8, "pap_up_in"),
    ("layout", "pap_up_in", -6.8, "pap_up_in"),
    ("layout", "pap_over_in", float("nan"), "pap_over_in"),
    ("layout", "pap_over_in", GONE, "pap_over_in"),
    ("layout", "layout", GONE, "layout"),
    ("layout", "layout", {}, "layout"),
    ("layout", "layout.pin_to_pap_in", -1.0, "layout.pin_to_pap_in"),
    ("layout", "layout.val_angle_deg", GONE, "layout.val_angle_deg"),
    ("layout", "layout.pin_buffer_in", 2.0, "layout.pin_buffer_in"),
    ("layout", "ball_circumference_in", -27.0, "ball_circumference_in"),
    ("layout", "hands", "right", "hands"),
    ("drill", "ball.weight_lb", -15.0, "ball.weight_lb"),
    ("drill", "ball.intermediate_differential_in", 0.06, "ball.intermediate_differential_in"),
    ("drill", "ball.differential_in", -0.01, "ball.differential_in"),
    ("drill", "ball.top_weight_oz", float("inf"), "ball.top_weight_oz"),
    ("drill", "ball.serial", "x", "ball.serial"),
    ("drill", "holes.0.depth_in", -1.0, "holes[0].depth_in"),
    ("drill", "holes.0.depth_in", GONE, "holes[0].depth_in"),
    ("drill", "holes.0.diameter_in", 0.0, "holes[0].diameter_in"),
    ("drill", "holes.0.density_g_cm3", -1.2, "holes[0].density_g_cm3"),
    ("drill", "holes.0.up_in", 6.9, "holes[0].up_in"),
    ("drill", "holes.0.kind", "thumb", "holes[0].kind"),
    ("drill", "holes", GONE, "holes"),
    ("drill", "holes", 3, "holes"),
    ("drill", "pap_up_in", 7.0, "pap_up_in"),
]


def spoilt(command: str, where: str, what: Any) -> dict[str, Any]:
    case: dict[str, Any] = copy.deepcopy({"shot": SHOT, "layout": LAYOUT, "drill": DRILL}[command])
    *path, last = where.split(".")
    place: Any = case
    for step in path:
        place = place[int(step)] if step.isdigit() else place[step]
    if what is GONE:
        del place[last]
    else:
        place[last] = what
    return case


@pytest.mark.parametrize(
    ("command", "where", "what", "field"),
    BAD,
    ids=[f"{command} {where} {str(what)[:24]}" for command, where, what, _ in BAD],
)
def test_bad_input_is_refused_by_the_name_of_its_field(
    command: str, where: str, what: Any, field: str
) -> None:
    with pytest.raises(InputError) as refused:
        cases.COMMANDS[command](spoilt(command, where, what))
    assert refused.value.field == field
    assert refused.value.allowed.strip()


def test_the_cases_that_are_spoilt_above_are_good_before() -> None:
    for command, case in (("shot", SHOT), ("layout", LAYOUT), ("drill", DRILL)):
        json.dumps(cases.COMMANDS[command](case), allow_nan=False)
    for friction in (GRID, ZONES):
        cases.shot({**SHOT, "friction": friction})
    cases.shot({**SHOT, "release": RAW})


def test_a_case_is_never_changed_by_being_read() -> None:
    good: list[tuple[str, dict[str, Any]]] = [
        ("shot", SHOT),
        ("layout", LAYOUT),
        ("drill", DRILL),
    ]
    for command, case in good:
        before = copy.deepcopy(case)
        cases.COMMANDS[command](case)
        assert case == before


def test_moments_of_a_flat_plate_are_the_last_that_any_body_can_have() -> None:
    # I1 + I2 = I3 is a plate, allowed; a hair past it is no body at all (derived).
    low, middle = 0.040, 0.046
    high = (low**2 + middle**2) ** 0.5
    cases.shot({**SHOT, "ball": {**ASYMMETRIC, "principal_rg_m": [low, middle, high]}})
    with pytest.raises(InputError):
        cases.shot({**SHOT, "ball": {**ASYMMETRIC, "principal_rg_m": [low, middle, high * 1.0001]}})


def run(command: str, text: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "physics", command],
        input=text,
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
        timeout=120,
    )


def one_refusal(text: str) -> dict[str, Any]:
    """The one line of strict JSON that a refusal is."""
    (line,) = text.strip().splitlines()

    def no_constants(name: str) -> None:
        raise AssertionError(f"{name} is not JSON")

    message: dict[str, Any] = json.loads(line, parse_constant=no_constants)
    assert set(message) == {"field", "value", "allowed"}
    return message


def test_the_command_prints_one_json_result() -> None:
    done = run("layout", json.dumps(LAYOUT))
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert json.loads(done.stdout) == pytest.approx(cases.layout(LAYOUT))


def test_the_command_refuses_with_status_two_and_one_json_line() -> None:
    done = run("drill", json.dumps(spoilt("drill", "holes.0.depth_in", -1.0)))
    assert done.returncode == 2
    assert done.stdout == ""
    message = one_refusal(done.stderr)
    assert message["field"] == "holes[0].depth_in"
    assert message["value"] == -1.0


@pytest.mark.parametrize(
    ("arguments", "text", "field"),
    [
        (["shot"], json.dumps(spoilt("shot", "ball.mass_kg", float("nan"))), "ball.mass_kg"),
        (["shot"], json.dumps(spoilt("shot", "ball.mass_kg", float("inf"))), "ball.mass_kg"),
        (["layout"], "[1, 2]", "case"),
        (["layout"], "{not json", "case"),
        (["layout"], "", "case"),
        (["roll"], json.dumps(SHOT), "command"),
        ([], "", "command"),
        (["shot", "layout"], json.dumps(SHOT), "command"),
    ],
    ids=[
        "not a number",
        "infinite",
        "not an object",
        "not json",
        "empty",
        "unknown command",
        "no command",
        "two commands",
    ],
)
def test_whatever_is_typed_is_refused_in_the_same_form(
    arguments: list[str],
    text: str,
    field: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(text))
    assert main(arguments) == 2
    written = capsys.readouterr()
    assert written.out == ""
    assert one_refusal(written.err)["field"] == field


def test_a_label_no_body_can_have_is_blamed_on_the_label() -> None:
    """Moments obey the triangle inequality: 1 + 1 < 1.5 squared can't be."""
    case = {
        "ball": {
            "weight_lb": 15.0,
            "radius_in": 4.2975,
            "rg_low_in": 1.0,
            "differential_in": 0.5,
            "intermediate_differential_in": 0.5,
            "top_weight_oz": 0.0,
            "pin_to_cg_in": 0.0,
        },
        "pap_over_in": 5.0,
        "pap_up_in": 0.0,
        "layout": {"drilling_angle_deg": 45.0, "pin_to_pap_in": 4.0, "val_angle_deg": 40.0},
        "holes": [],
    }
    with pytest.raises(InputError) as refused:
        cases.drill(case)
    assert refused.value.field == "ball.differential_in"


def test_json_nested_past_reading_is_refused_in_one_line() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "physics", "shot"],
        input="[" * 200_000,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert json.loads(done.stderr)["field"] == "case"
