"""Layouts: one placing of pin and PSA under its three names.

Sources: spherical geometry (derived); the definitions of drilling angle, pin-to-PAP, VAL angle and
pin buffer are the trade's (read in trade articles). The circumference is 27 in unless said.
"""

from __future__ import annotations

import json
import math
from dataclasses import FrozenInstanceError
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from physics.cases import layout
from physics.errors import InputError
from physics.layout import from_angles, from_buffer, on_sphere
from tests.physics.balls_and_lanes import reference
from tests.physics.referee_geometry import arc_in, marks, over_up_in, point

TABLE = reference("layout_rows")
RADIUS_IN = 27 / (2 * math.pi)
OUT = (
    "drilling_angle_deg",
    "pin_to_pap_in",
    "val_angle_deg",
    "pin_over_in",
    "pin_up_in",
    "pin_buffer_in",
    "psa_to_pap_in",
    "psa_over_in",
    "psa_up_in",
)


def by_angles(
    drilling: float, pin: float, val: float, over: float = 5.0, up: float = 0.0, **more: Any
) -> dict[str, float]:
    return layout(
        {
            "pap_over_in": over,
            "pap_up_in": up,
            "layout": {
                "drilling_angle_deg": drilling,
                "pin_to_pap_in": pin,
                "val_angle_deg": val,
            },
            **more,
        }
    )


@pytest.mark.parametrize("row", TABLE["rows"], ids=lambda row: f"{row[4]} x {row[2]} x {row[3]}")
def test_the_worked_layouts_come_out_to_their_digits(row: list[float]) -> None:
    given_row = dict(zip(TABLE["columns"], row, strict=True))
    found = by_angles(
        given_row["drilling_angle_deg"],
        given_row["pin_to_pap_in"],
        given_row["val_angle_deg"],
        given_row["pap_over_in"],
        given_row["pap_up_in"],
    )
    for name in OUT:
        # PSA places are printed to 0.01 in, the rest to 0.001: half a unit of the last digit.
        within = 0.0051 if name.startswith("psa_") and name != "psa_to_pap_in" else 0.00051
        assert found[name] == pytest.approx(given_row[name], rel=0, abs=within), name


def test_every_answer_has_every_number_and_no_other() -> None:
    assert set(by_angles(45, 4, 40)) == set(OUT)


paps = {"over": st.floats(2.0, 6.75), "up": st.floats(-2.5, 2.5)}
angles = {
    "drilling": st.floats(3.0, 177.0),
    "pin": st.floats(0.3, 6.75),
    "val": st.floats(1.0, 179.0),
}


@settings(deadline=None, max_examples=100)
@given(circumference=st.floats(26.7, 27.0), **paps, **angles)
def test_the_marks_lie_where_walking_the_great_circles_leads(
    over: float, up: float, drilling: float, pin: float, val: float, circumference: float
) -> None:
    radius = circumference / (2 * math.pi)
    found = by_angles(drilling, pin, val, over, up, ball_circumference_in=circumference)
    pap_mark, pin_mark, psa_mark = marks(over, up, drilling, pin, val, radius)
    # 1e-9 in: rounding of angles of order one times the radius.
    assert found["pin_to_pap_in"] == pytest.approx(pin, rel=0, abs=1e-9)
    assert found["psa_to_pap_in"] == pytest.approx(
        arc_in(psa_mark, pap_mark, radius), rel=0, abs=1e-8
    )
    for name, mark in (("pin", pin_mark), ("psa", psa_mark)):
        seen = point(found[f"{name}_over_in"], found[f"{name}_up_in"], radius)
        assert arc_in(seen, mark, radius) < 1e-7
    assert abs(float(pin_mark @ psa_mark)) < 1e-12


@settings(deadline=None, max_examples=100)
@given(**paps, **angles)
def test_the_closed_forms_of_buffer_and_psa_distance_hold(
    over: float, up: float, drilling: float, pin: float, val: float
) -> None:
    found = by_angles(drilling, pin, val, over, up)
    p, v, d = pin / RADIUS_IN, math.radians(val), math.radians(drilling)
    assert math.sin(found["pin_buffer_in"] / RADIUS_IN) == pytest.approx(
        math.sin(p) * math.sin(v), rel=0, abs=1e-12
    )
    assert math.cos(found["psa_to_pap_in"] / RADIUS_IN) == pytest.approx(
        math.sin(p) * math.cos(d), rel=0, abs=1e-12
    )


@settings(deadline=None, max_examples=100)
@given(**paps, **angles)
@example(
    over=2.0, up=0.354_862_273_072_585_55, drilling=90.0, pin=0.354_862_273_072_585_55, val=90.0
)
def test_angles_to_buffer_and_back_is_the_same_layout(
    over: float, up: float, drilling: float, pin: float, val: float
) -> None:
    start = by_angles(drilling, pin, val, over, up)
    back = layout(
        {
            "pap_over_in": over,
            "pap_up_in": up,
            "layout": {
                "pin_to_pap_in": start["pin_to_pap_in"],
                "psa_to_pap_in": start["psa_to_pap_in"],
                "pin_buffer_in": start["pin_buffer_in"],
                "val_branch": "below_90" if val < 90 else "above_90",
            },
        }
    )
    # Near 90 degrees an angle is read from its sine (or the drilling angle near 0 and 180 from its
    # cosine), which keeps half the digits of a ratio to the sine of the pin distance: for 0.3 in
    # some 1e-6 rad, 4e-6 in.
    for name in OUT:
        within = 1e-4 if name.endswith("deg") else 5e-6
        assert back[name] == pytest.approx(start[name], rel=0, abs=within), name


@settings(deadline=None, max_examples=100)
@given(**paps, **angles)
def test_angles_to_marks_read_off_and_back_is_the_same_layout(
    over: float, up: float, drilling: float, pin: float, val: float
) -> None:
    start = by_angles(drilling, pin, val, over, up)
    back = layout(
        {
            "pap_over_in": over,
            "pap_up_in": up,
            "layout": {
                name: start[name]
                for name in ("pin_over_in", "pin_up_in", "psa_over_in", "psa_up_in")
            },
        }
    )
    # Within a hair of the pole of "up" over means little; the marks still coincide.
    for name in OUT:
        if name.endswith("over_in"):
            continue
        assert back[name] == pytest.approx(start[name], rel=0, abs=1e-5), name
    for mark in ("pin", "psa"):
        one, other = (
            point(numbers[f"{mark}_over_in"], numbers[f"{mark}_up_in"], RADIUS_IN)
            for numbers in (start, back)
        )
        assert arc_in(one, other, RADIUS_IN) < 1e-6


def buffer_layout(branch: str, buffer_in: float = 2.328, psa_in: float = 4.158) -> dict[str, Any]:
    return {
        "pap_over_in": 5.0,
        "pap_up_in": 0.5,
        "layout": {
            "pin_to_pap_in": 4.0,
            "psa_to_pap_in": psa_in,
            "pin_buffer_in": buffer_in,
            "val_branch": branch,
        },
    }


def test_the_two_branches_of_a_buffer_are_a_pin_above_and_one_below() -> None:
    below, above = (layout(buffer_layout(branch)) for branch in ("below_90", "above_90"))
    # The buffer is printed to 0.001 in, which at 40 degrees is 0.02 degrees.
    assert below["val_angle_deg"] == pytest.approx(40.0, rel=0, abs=0.02)
    assert above["val_angle_deg"] == pytest.approx(180 - below["val_angle_deg"], rel=0, abs=1e-9)
    assert below["pin_up_in"] > 0.5 > above["pin_up_in"]
    assert below["pin_buffer_in"] == pytest.approx(above["pin_buffer_in"], rel=0, abs=1e-9)


def test_a_buffer_without_its_branch_is_refused_not_guessed() -> None:
    case = buffer_layout("below_90")
    del case["layout"]["val_branch"]
    with pytest.raises(InputError) as refused:
        layout(case)
    assert refused.value.field == "layout.val_branch"


@pytest.mark.parametrize(
    ("buffer_in", "psa_in", "field"),
    [(4.5, 4.158, "layout.pin_buffer_in"), (2.3, 1.0, "layout.psa_to_pap_in")],
)
def test_a_buffer_or_psa_distance_no_sphere_allows_is_refused_by_name(
    buffer_in: float, psa_in: float, field: str
) -> None:
    with pytest.raises(InputError) as refused:
        layout(buffer_layout("below_90", buffer_in, psa_in))
    assert refused.value.field == field


def test_a_flat_reckoning_overstates_the_buffer() -> None:
    row = TABLE["planar_buffer_overstates"]
    found = by_angles(45, row["pin_to_pap_in"], row["val_angle_deg"])["pin_buffer_in"]
    flat = row["pin_to_pap_in"] * math.sin(math.radians(row["val_angle_deg"]))
    assert flat == pytest.approx(row["planar_in"], rel=0, abs=5e-4)
    assert found == pytest.approx(row["true_in"], rel=0, abs=5e-4)


def test_drilling_angle_nought_puts_the_psa_on_the_line_to_the_pap() -> None:
    found = by_angles(0.0, 4.0, 40.0)
    assert found["psa_to_pap_in"] == pytest.approx(6.75 - 4.0, rel=0, abs=1e-9)


def test_drilling_angle_ninety_puts_the_psa_a_quarter_round_from_the_pap() -> None:
    assert by_angles(90.0, 3.2, 35.0)["psa_to_pap_in"] == pytest.approx(6.75, rel=0, abs=1e-9)


def test_val_angle_ninety_puts_the_pin_on_the_midline() -> None:
    found = by_angles(50.0, 3.5, 90.0, 5.0, 0.0)
    assert found["pin_over_in"] == pytest.approx(1.5, rel=0, abs=1e-9)
    assert found["pin_up_in"] == pytest.approx(0.0, rel=0, abs=1e-9)


def test_val_angle_nought_puts_the_pin_on_the_val() -> None:
    found = by_angles(50.0, 3.5, 0.0, 5.0, 0.0)
    assert found["pin_buffer_in"] == pytest.approx(0.0, rel=0, abs=1e-9)
    assert found["pin_over_in"] == pytest.approx(5.0, rel=0, abs=1e-9)
    assert found["pin_up_in"] == pytest.approx(3.5, rel=0, abs=1e-9)


def test_a_growing_drilling_angle_swings_the_psa_to_the_thumb() -> None:
    # Common practice of the trade; with the pin above the midline it goes down, then past the grip.
    low = [by_angles(angle, 4.0, 40.0) for angle in (20.0, 45.0, 70.0)]
    assert all(one["psa_up_in"] < 0 for one in low)
    overs = [one["psa_over_in"] for one in low]
    assert overs == sorted(overs, reverse=True)


def test_a_small_val_angle_is_pin_up_and_a_large_one_pin_down() -> None:
    heights = [by_angles(45.0, 4.5, val)["pin_up_in"] for val in (20.0, 45.0, 75.0, 110.0)]
    assert heights == sorted(heights, reverse=True)
    assert heights[0] > 3.0
    assert heights[-1] < 0.0


@pytest.mark.parametrize("row", TABLE["rg_at_pap"]["rows"])
def test_rg_at_the_pap_follows_from_the_pin_distance(row: list[float]) -> None:
    # rg^2 = low^2 cos^2 p + high^2 sin^2 p for a symmetric core (derived).
    pin_in, rg = row
    low, high = TABLE["rg_at_pap"]["rg_low_in"], TABLE["rg_at_pap"]["rg_high_in"]
    if pin_in == 0:
        cosine = 1.0
    else:
        found = by_angles(45.0, pin_in, 40.0)
        pin = point(found["pin_over_in"], found["pin_up_in"], RADIUS_IN)
        cosine = float(pin @ point(5.0, 0.0, RADIUS_IN))
    value = math.sqrt(low**2 * cosine**2 + high**2 * (1 - cosine**2))
    assert value == pytest.approx(rg, rel=0, abs=5e-5)


def test_a_pin_on_the_pap_is_said_to_leave_the_angles_without_meaning() -> None:
    with pytest.raises(InputError) as refused:
        by_angles(45.0, 0.0, 40.0)
    assert refused.value.field == "layout.pin_to_pap_in"
    with pytest.raises(InputError) as refused:
        layout(
            {
                "pap_over_in": 5.0,
                "pap_up_in": 0.0,
                "layout": {
                    "pin_over_in": 5.0,
                    "pin_up_in": 0.0,
                    "psa_over_in": -1.75,
                    "psa_up_in": 0.0,
                },
            }
        )
    assert refused.value.field.startswith("layout.pin_")


@settings(deadline=None, max_examples=30)
@given(**paps, **angles)
def test_no_number_of_a_layout_changes_with_the_hand(
    over: float, up: float, drilling: float, pin: float, val: float
) -> None:
    right, left = (by_angles(drilling, pin, val, over, up, hand=hand) for hand in ("right", "left"))
    assert right == left


def test_a_ball_of_another_circumference_has_another_quarter() -> None:
    # 8.500 in across: the quarter is 6.676 in (derived); angles, not inches, make the layout.
    small = by_angles(90.0, 4.0, 40.0, ball_circumference_in=8.5 * math.pi)
    assert small["psa_to_pap_in"] == pytest.approx(6.676, rel=0, abs=5e-4)
    scale = 8.5 * math.pi / 27
    scaled = by_angles(90.0, 4.0 / scale, 40.0, 5.0 / scale)
    for name in OUT:
        factor = 1.0 if name.endswith("deg") else scale
        assert small[name] == pytest.approx(factor * scaled[name], rel=0, abs=1e-9), name


def test_the_convention_for_over_and_up_is_its_own_inverse() -> None:
    for over, up in ((0.0, 0.0), (5.0, 0.5), (-3.0, -2.0), (6.0, 4.0)):
        assert over_up_in(point(over, up, RADIUS_IN), RADIUS_IN) == pytest.approx((over, up))
    assert np.allclose(point(6.75, 0.0, RADIUS_IN), [1, 0, 0], atol=1e-15)
    assert np.allclose(point(0.0, 6.75, RADIUS_IN), [0, 1, 0], atol=1e-15)


@pytest.mark.parametrize("seed", range(4))
def test_marks_off_by_less_than_the_rules_allow_are_read_as_a_quarter_apart(seed: int) -> None:
    # The governing body's tolerance for the PSA's mark is 1.5 in (read): a mark may be off.
    rng = np.random.default_rng(seed)
    exact = by_angles(50.0, 4.0, 45.0)
    case = {
        "pap_over_in": 5.0,
        "pap_up_in": 0.0,
        "layout": {
            "pin_over_in": exact["pin_over_in"],
            "pin_up_in": exact["pin_up_in"],
            "psa_over_in": exact["psa_over_in"] + rng.uniform(-0.7, 0.7),
            "psa_up_in": exact["psa_up_in"] + rng.uniform(-0.7, 0.7),
        },
    }
    found = layout(case)
    pin = point(found["pin_over_in"], found["pin_up_in"], RADIUS_IN)
    psa = point(found["psa_over_in"], found["psa_up_in"], RADIUS_IN)
    assert arc_in(pin, psa, RADIUS_IN) == pytest.approx(6.75, rel=0, abs=1e-9)
    assert found["pin_over_in"] == pytest.approx(exact["pin_over_in"], rel=0, abs=1e-9)


@pytest.mark.parametrize("up", [6.75, -6.75])
def test_a_mark_exactly_a_quarter_up_is_still_on_the_ball(up: float) -> None:
    found = layout(
        {
            "pap_over_in": 5.0,
            "pap_up_in": 0.0,
            "layout": {"pin_over_in": 2.0, "pin_up_in": 0.0, "psa_over_in": 0.0, "psa_up_in": up},
        }
    )
    assert abs(found["psa_up_in"]) == pytest.approx(6.75, rel=0, abs=1e-6)
    # There every over is the same place; the one that is told is 0.
    assert found["psa_over_in"] == 0.0
    # A pin on the midline with the PSA straight up or down is a drilling angle of 90 either way.
    assert found["drilling_angle_deg"] == pytest.approx(-90.0 if up > 0 else 90.0, rel=0, abs=1e-6)


def test_marks_that_cannot_be_pin_and_psa_of_one_ball_are_refused() -> None:
    with pytest.raises(InputError):
        layout(
            {
                "pap_over_in": 5.0,
                "pap_up_in": 0.0,
                "layout": {
                    "pin_over_in": 2.0,
                    "pin_up_in": 2.0,
                    "psa_over_in": 3.0,
                    "psa_up_in": 0.0,
                },
            }
        )


PAP = on_sphere(5.0 / RADIUS_IN, 0.0)


def by_buffer(pin: float, psa: float, buffer: float, branch: str = "below_90") -> dict[str, float]:
    """Straight from the function, which holds every number to its ends itself."""
    return from_buffer(PAP, pin, psa, buffer, json.loads(json.dumps(branch)), RADIUS_IN).numbers()


@pytest.mark.parametrize("pin", [0.25, 1.0, 2.0, 3.375, 4.0, 5.5, 6.5, 6.75, 8.0, 13.0])
def test_a_buffer_can_be_as_long_as_the_pin_distance_and_a_psa_on_its_line(pin: float) -> None:
    """Derived: the pin square to the VAL is a VAL angle of 90, the PSA in line 0 or 180."""
    # Beyond a quarter the way round the other side is the shorter one.
    reach = min(pin, 13.5 - pin)
    for buffer, val in ((reach, 90.0), (-reach, -90.0)):
        for psa, drilling in ((6.75 - reach, 0.0), (6.75 + reach, 180.0)):
            for branch in ("below_90", "above_90"):
                found = by_buffer(pin, psa, buffer, branch)
                # At its ends a sine keeps half the digits.
                turn = abs(found["val_angle_deg"] - val) % 360
                assert min(turn, 360 - turn) < 1e-5
                assert abs(found["drilling_angle_deg"]) == pytest.approx(drilling, abs=1e-5)
                assert found["pin_to_pap_in"] == pytest.approx(pin, rel=0, abs=1e-9)


@pytest.mark.parametrize(
    ("pin", "psa", "buffer", "field", "allowed"),
    [
        (4.0, 6.75, 4.001, "pin_buffer_in", "from -4.000 to 4.000 in"),
        (4.0, 6.75, -4.001, "pin_buffer_in", "from -4.000 to 4.000 in"),
        # Longer than a quarter, whose sine a shorter one has too.
        (6.7, 6.75, 7.0, "pin_buffer_in", "from -6.700 to 6.700 in"),
        (6.7, 6.75, -7.0, "pin_buffer_in", "from -6.700 to 6.700 in"),
        (4.0, 2.749, 0.0, "psa_to_pap_in", "from 2.750 to 10.750 in"),
        (4.0, 10.751, 0.0, "psa_to_pap_in", "from 2.750 to 10.750 in"),
        (0.0, 6.75, 0.0, "pin_to_pap_in", "more than 0 and less than half a circumference"),
        (13.5, 6.75, 0.0, "pin_to_pap_in", "more than 0 and less than half a circumference"),
        (14.0, 6.75, 0.0, "pin_to_pap_in", "more than 0 and less than half a circumference"),
    ],
)
def test_what_a_pin_distance_allows_is_told_by_both_its_ends(
    pin: float, psa: float, buffer: float, field: str, allowed: str
) -> None:
    """Derived: on 27 in the PSA lies 6.75 in from the pin, so from the PAP 6.75 less or more the
    pin distance."""
    with pytest.raises(InputError) as refused:
        by_buffer(pin, psa, buffer)
    assert refused.value.field == f"layout.{field}"
    assert allowed in str(refused.value)


@pytest.mark.parametrize("pin", [0.0, -1.0, 13.5, 14.0])
def test_a_pin_that_is_nowhere_between_pap_and_its_antipode_is_refused(pin: float) -> None:
    with pytest.raises(InputError) as refused:
        from_angles(PAP, 45.0, pin, 40.0, RADIUS_IN)
    assert refused.value.field == "layout.pin_to_pap_in"


@pytest.mark.parametrize("pin", [1e-6, 13.499_999])
def test_a_pin_beside_the_pap_or_its_antipode_is_still_a_layout(pin: float) -> None:
    found = by_angles(45.0, pin, 40.0)
    assert found["pin_to_pap_in"] == pytest.approx(pin, rel=0, abs=1e-9)
    assert found["psa_to_pap_in"] == pytest.approx(6.75, rel=0, abs=1e-6)


def test_a_layout_stays_what_it_is() -> None:
    placed = from_angles(PAP, 45.0, 4.0, 40.0, RADIUS_IN)
    with pytest.raises(FrozenInstanceError):
        placed.radius_in = 4.0  # type: ignore[misc]


@pytest.mark.parametrize("off", [1.49, -1.49, 1.51, -1.51])
def test_marks_are_read_within_an_inch_and_a_half_of_a_quarter(off: float) -> None:
    """Read: the US governing body allows the mark 1.5 in. What is off, is told."""
    marks_of = {"pin_over_in": -1.0, "pin_up_in": 0.0, "psa_over_in": 5.75 + off, "psa_up_in": 0.0}
    case = {"pap_over_in": 4.0, "pap_up_in": 1.0, "layout": marks_of}
    if abs(off) < 1.5:
        assert layout(case)["psa_over_in"] == pytest.approx(5.75, rel=0, abs=1e-9)
        return
    with pytest.raises(InputError) as refused:
        layout(case)
    assert refused.value.field == "layout.psa_over_in"
    assert "off by 1.51 in" in str(refused.value)


def test_a_branch_that_is_neither_is_refused() -> None:
    with pytest.raises(InputError) as refused:
        from_buffer(on_sphere(1.2, 0.1), 4.0, 4.158, 2.328, "either", RADIUS_IN)
    assert refused.value.field == "layout.val_branch"
