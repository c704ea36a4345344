"""A fitting from whatever was read, a no-throw one included, through the ``measure`` door.

Source: the written contract of `python -m physics measure`. Priors by average follow ranges of the
trade (common practice, no source); widths are estimates, so only their order and coverage under
their own draws are checked. The width in boards is compared with deliveries thrown at random.
"""

from __future__ import annotations

import copy
import io
import json
import math
import sys
from typing import Any

import numpy as np
import pytest

from physics import fitting, readings, ring
from physics import release_speed as speeds
from physics.__main__ import main
from physics.cases_measure import measure
from physics.errors import InputError
from physics.fitting import Delivery
from tests.physics.test_ring import marked

NO_THROW: dict[str, Any] = {
    "average": 180,
    "shots": [
        {
            "speed": {"display_mph": 16.0, "at_ft": 55.0},
            "rev_rate": {"frames": 6, "frames_per_second": 30},
        }
    ],
    "old_ball": {"ring_points_in": marked(count=6, arc_deg=240, error_in=0.03, seed=1)},
}
LANE: dict[str, Any] = {
    "length_ft": 41,
    "volume_ml": 25,
    "inside_to_outside_ratio": 8,
    "shape": "blended",
}
SHOT: dict[str, Any] = {
    "speed": {"seconds": 2.3, "frames_per_second": 60},
    "rev_rate": {"frames": 48, "frames_per_second": 120, "turns": 2},
    "rotation": {"above_deg": 44.0},
    "tilt": {"ring_width_in": 11.5},
    "pap": {"over_in": 5.0, "up_in": 0.5},
    "launch_deg": 1.5,
}


def with_(case: dict[str, Any], path: str, value: Any) -> dict[str, Any]:
    """A copy of the case with one field set, or taken out where the value is ..."""
    changed = copy.deepcopy(case)
    at: Any = changed
    *way, last = [int(p) if p.isdigit() else p for p in path.split(".")]
    for step in way:
        at = at[step]
    if value is ...:
        del at[last]
    else:
        at[last] = value
    return changed


def test_a_no_throw_fitting_answers_every_number_with_an_honest_width() -> None:
    found = measure(NO_THROW)
    numbers = found["numbers"]
    assert list(numbers) == list(fitting.NUMBERS)
    # What the old ball shows, known no better than a worn track tells.
    assert numbers["tilt_deg"]["value"] == pytest.approx(12.0, abs=1.5)
    assert numbers["tilt_deg"]["standard_error"] >= 2.0
    assert numbers["pap_over_in"]["value"] == pytest.approx(5.0, abs=0.3)
    # The display, turned to release: 2 to 4 mph more than it showed.
    assert 18.0 < numbers["speed_mph"]["value"] < 20.0
    assert numbers["rev_rate_rpm"]["value"] == pytest.approx(300.0)
    # Nobody read rotation: the prior, and the first thing to measure.
    assert numbers["rotation_deg"]["from"] == "prior"
    assert numbers["rotation_deg"]["standard_error"] > 10
    assert found["narrow_first"][0]["numbers"] == ["rotation_deg"]
    widths = [item["entry_sd_boards"] for item in found["narrow_first"]]
    assert widths == sorted(widths)
    assert widths[0] < found["entry_sd_boards"]


def test_taking_the_measurement_named_narrows_it_about_as_much_as_was_said() -> None:
    before = measure(NO_THROW)
    named = before["narrow_first"][0]
    again = copy.deepcopy(NO_THROW)
    shot = {"rotation": {"above_deg": before["numbers"]["rotation_deg"]["value"]}}
    again["shots"] = [{**again["shots"][0], **shot}, shot, shot]
    after = measure(again)["entry_sd_boards"]
    assert after == pytest.approx(named["entry_sd_boards"], rel=0.1)
    assert after < 0.85 * before["entry_sd_boards"]


def test_nothing_read_at_all_leaves_the_prior_by_average() -> None:
    found = measure({})
    assert {n["from"] for n in found["numbers"].values()} == {"prior"}
    low, high = (measure({"average": a})["numbers"] for a in (120, 210))
    assert low["rev_rate_rpm"]["value"] < high["rev_rate_rpm"]["value"]
    assert low["speed_mph"]["value"] < high["speed_mph"]["value"]
    usual = measure({"average": 165})["numbers"]["speed_mph"]["standard_error"]
    assert found["numbers"]["speed_mph"]["standard_error"] > usual


def test_more_that_is_read_leaves_less_width() -> None:
    few = measure({"average": 180, "shots": [SHOT]})
    many = measure({"average": 180, "shots": [SHOT] * 4})
    lane_known = measure({"average": 180, "shots": [SHOT] * 4, "lane": LANE})
    widths = [f["entry_sd_boards"] for f in (measure(NO_THROW), few, many, lane_known)]
    assert widths == sorted(widths, reverse=True)
    assert many["numbers"]["rotation_deg"]["count"] == 4


def test_the_width_is_that_of_deliveries_thrown_at_random() -> None:
    setting = speeds.Setting(
        speeds.usual_ball(), speeds.oiled(speeds.usual_oil(), "right", speeds.closure_of())
    )
    shot = Delivery(
        speed_mph=readings.typed("speed", 17.0, 0.25),
        rev_rate_rpm=readings.typed("rev_rate", 320.0, 12.0),
        rotation_deg=readings.typed("rotation_deg", 45.0, 2.5),
        tilt_deg=readings.typed("tilt_deg", 12.0, 2.0),
        pap_over_in=readings.typed("pap_over_in", 5.0),
        pap_up_in=readings.typed("pap_up_in", 0.5),
    )
    found = fitting.fit([shot] * 3, setting, average=215)
    # The line the width is told on, and the four numbers that move the path most.
    line = fitting._to_the_pocket(found.numbers, setting)
    rng = np.random.default_rng(3)
    entries = []
    for _ in range(300):
        values = {
            name: n.value + n.standard_error * rng.standard_normal()
            for name, n in found.numbers.items()
        }
        entries.append(fitting._entry_board(values, line))
    told = math.hypot(
        *(n.entry_boards for name, n in found.numbers.items() if not name.startswith("pap_"))
    )
    # 300 draws know a standard deviation to 4 %; the rest is that the path isn't straight in them.
    assert float(np.std(entries)) == pytest.approx(told, rel=0.2)
    assert pytest.approx(float(np.mean(entries)), abs=0.5) == fitting.POCKET_BOARD


def test_a_shot_s_own_reading_goes_before_the_old_ball() -> None:
    both = {**NO_THROW, "shots": [{"tilt": {"ring_to_pap_in": 8.25}}]}
    assert measure(both)["numbers"]["tilt_deg"]["value"] == pytest.approx(20.0)
    assert measure(NO_THROW)["numbers"]["tilt_deg"]["value"] < 15.0


def test_left_and_right_handers_read_alike_on_even_oil() -> None:
    case = {**NO_THROW, "lane": LANE}
    right, left = (measure({**case, "hand": hand}) for hand in ("right", "left"))
    for name, number in right["numbers"].items():
        assert left["numbers"][name]["value"] == pytest.approx(number["value"], rel=1e-9)


def test_a_slip_of_the_pen_among_the_shots_is_set_aside() -> None:
    rates = [{"rev_rate": {"rpm": rpm}} for rpm in (310, 322, 31, 305, 316)]
    number = measure({"shots": rates})["numbers"]["rev_rate_rpm"]
    assert number["set_aside"] == [2]
    assert number["count"] == 4
    assert number["value"] == pytest.approx(313.25)


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        ("shots.0.rev_rate.frames", 0, "shots[0].rev_rate.frames"),
        ("shots.0.rev_rate.frames", 2, "shots[0].rev_rate.frames"),
        ("shots.0.rev_rate.frames_per_second", ..., "shots[0].rev_rate.frames_per_second"),
        ("shots.0.rev_rate.frames_per_second", 1e-287, "shots[0].rev_rate.frames_per_second"),
        ("shots.0.rev_rate.rpm", 300, "shots[0].rev_rate"),
        ("shots.0.rev_rate.frame", 6, "shots[0].rev_rate.frame"),
        ("shots.0.speed.display_mph", 40.0, "shots[0].speed.display_mph"),
        ("shots.0.speed.at_ft", 70.0, "shots[0].speed.at_ft"),
        ("shots.0.speed.at_ft", ..., "shots[0].speed.at_ft"),
        ("shots.0.spede", {}, "shots[0].spede"),
        ("shots.0.tilt", {"ring_width_in": 14.5}, "shots[0].tilt.ring_width_in"),
        ("shots.0.rotation", {"behind_radii": 1.15}, "shots[0].rotation.behind_radii"),
        ("old_ball.ring_points_in.2", [1.0, float("nan")], "old_ball.ring_points_in[2][1]"),
        ("old_ball.ring_points_in.2", [1.0], "old_ball.ring_points_in[2]"),
        ("old_ball.ring_points_in.2", [1.0, 7.0], "old_ball.ring_points_in[2][1]"),
        ("old_ball.ring_points_in.2", [-1.0, 0.0], "old_ball.ring_points_in[2]"),
        ("old_ball.ring_points_in", [[0, 0], [1, 1]], "old_ball.ring_points_in"),
        ("old_ball.tilt", {"deg": 12}, "old_ball.tilt"),
        ("old_ball", {}, "old_ball"),
        ("average", 301, "average"),
        ("hand", "both", "hand"),
        ("ball", {"cover": "rubber"}, "ball.cover"),
        ("lane", {"mu": -1}, "lane.mu"),
        ("lane", {**LANE, "shape": "wavy"}, "lane.shape"),
        ("lane", {**LANE, "length_ft": 80}, "lane.length_ft"),
        ("lane", {"distance_ft": [0, 40], "units": [[1.0] * 38] * 2}, "lane.units[0]"),
        ("lane", {"distance_ft": [0, 40], "units": 5}, "lane.units"),
        ("sohts", [], "sohts"),
    ],
)
def test_input_that_cannot_be_used_is_refused_by_field(path: str, value: Any, field: str) -> None:
    with pytest.raises(InputError) as refused:
        measure(with_(NO_THROW, path, value))
    assert refused.value.field == field
    assert refused.value.allowed


def test_the_command_prints_one_result_or_one_refusal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(json.dumps(NO_THROW)))
    assert main(["measure"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed["numbers"]["rev_rate_rpm"]["value"] == pytest.approx(300.0)
    bad = with_(NO_THROW, "shots.0.speed.display_mph", 2.0)
    monkeypatch.setattr(sys, "stdin", io.StringIO(json.dumps(bad)))
    assert main(["measure"]) == 2
    message = json.loads(capsys.readouterr().err)
    assert message["field"] == "shots[0].speed.display_mph"
    assert message["value"] == 2.0
    assert "read it again" in message["allowed"]


def test_an_old_track_is_known_less_well_than_a_ring_just_thrown() -> None:
    fresh = ring.fit(marked(count=6, arc_deg=240)).quantities()
    old = fitting.off_an_old_ball(fresh)
    assert old.tilt_deg is not None
    assert old.pap_over_in is not None
    assert old.tilt_deg.error > fresh["tilt_deg"].error
    assert old.pap_over_in.error > fresh["pap_over_in"].error
