"""Drilled mass properties, static balances and principal axes.

Sources: parallel-axis theorem and moments of a cylinder, here added up from small pieces (derived);
material of holes at 1.2 g/cm3 and the change of RG by a thumb hole (derived rows). Static balance
is this project's convention: first moment about the geometric centre over the radius, in ounces.
The label's RGs are taken about the undrilled ball's own centre of mass.
"""

from __future__ import annotations

import json
import math
from dataclasses import FrozenInstanceError
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from physics import body
from physics.cases import drill, layout, read_layout, shot
from physics.errors import InputError
from tests.physics.balls_and_lanes import bowlers_numbers, reference
from tests.physics.referee_geometry import (
    IN_TO_M,
    OZ_TO_KG,
    Array,
    arc_in,
    drilled,
    marks,
    point,
)

TABLE = reference("drill_rows")
RADIUS_IN = 4.2975
UNDRILLED: dict[str, Any] = {
    "weight_lb": 15.0,
    "radius_in": RADIUS_IN,
    "rg_low_in": 2.48,
    "differential_in": 0.050,
    "intermediate_differential_in": 0.014,
    "top_weight_oz": 2.5,
    "pin_to_cg_in": 2.5,
}
THUMB = {
    "over_in": 0.0,
    "up_in": -2.625,
    "diameter_in": 1.0,
    "depth_in": 2.75,
    "pitch_forward_in": 0.0,
    "pitch_lateral_in": 0.0,
    "density_g_cm3": 1.2,
}
MIDDLE = {**THUMB, "over_in": -0.609, "up_in": 2.609, "diameter_in": 31 / 32, "depth_in": 1.75}
RING = {**MIDDLE, "over_in": 0.609}
GRIP = [
    {**THUMB, "pitch_forward_in": -0.125, "pitch_lateral_in": 0.0625},
    {**MIDDLE, "pitch_forward_in": 0.25},
    {**RING, "pitch_forward_in": 0.25, "pitch_lateral_in": -0.125},
]
ANGLES = {"drilling_angle_deg": 50.0, "pin_to_pap_in": 4.0, "val_angle_deg": 40.0}


def a_case(**changed: Any) -> dict[str, Any]:
    return {
        "ball": dict(UNDRILLED),
        "pap_over_in": 5.0,
        "pap_up_in": 0.5,
        "layout": dict(ANGLES),
        "holes": [dict(hole) for hole in GRIP],
        **changed,
    }


def pin_and_psa(case: dict[str, Any]) -> tuple[Array, Array]:
    angles = case["layout"]
    _, pin, psa = marks(
        case["pap_over_in"],
        case["pap_up_in"],
        angles["drilling_angle_deg"],
        angles["pin_to_pap_in"],
        angles["val_angle_deg"],
        case["ball"]["radius_in"],
    )
    return pin, psa


@pytest.mark.parametrize("row", TABLE["holes"], ids=lambda row: f"{row[0]} x {row[1]}")
def test_a_hole_takes_out_the_material_of_its_cylinder(row: list[float]) -> None:
    diameter, depth, volume, grams, ounces = row
    whole = drill(a_case(holes=[]))["mass_kg"]
    left = drill(a_case(holes=[{**THUMB, "diameter_in": diameter, "depth_in": depth}]))["mass_kg"]
    taken = whole - left
    # Printed to 0.1 g, 0.01 oz and 0.001 in3.
    assert taken * 1000 == pytest.approx(grams, rel=0, abs=0.051)
    assert taken / OZ_TO_KG == pytest.approx(ounces, rel=0, abs=0.0051)
    assert taken * 1000 / 1.2 / 16.387064 == pytest.approx(volume, rel=0, abs=0.00051)


def test_the_undrilled_ball_is_its_label() -> None:
    found = drill(a_case(holes=[]))
    assert found["mass_kg"] == pytest.approx(15 * 0.45359237, rel=1e-12)
    assert found["principal_rg_in"] == pytest.approx([2.48, 2.516, 2.53], rel=0, abs=1e-9)
    assert found["differential_in"] == pytest.approx(0.050, rel=0, abs=1e-9)
    assert found["intermediate_differential_in"] == pytest.approx(0.014, rel=0, abs=1e-9)
    pin, psa = pin_and_psa(a_case())
    expected = np.array([pin, np.cross(psa, pin), psa])
    assert np.allclose(found["principal_axes"], expected, rtol=0, atol=1e-6)


@pytest.mark.parametrize("row", TABLE["top_weight"]["rows"])
def test_top_weight_is_a_vector_towards_the_cg_mark(row: list[float]) -> None:
    offset, side, top = row
    ball = {
        **UNDRILLED,
        "radius_in": 27 / (2 * math.pi),
        "top_weight_oz": TABLE["top_weight"]["top_weight_oz"],
        "cg_over_in": offset,
        "cg_up_in": 0.0,
    }
    static = drill(a_case(ball=ball, holes=[]))["static_oz"]
    # Printed to 0.001 oz.
    assert static["side"] == pytest.approx(side, rel=0, abs=5.1e-4)
    assert static["top"] == pytest.approx(top, rel=0, abs=5.1e-4)
    assert static["finger"] == pytest.approx(0.0, rel=0, abs=1e-9)


def test_the_cg_lies_on_the_line_from_pin_to_psa_unless_its_mark_says_otherwise() -> None:
    case = a_case(holes=[])
    pin, psa = pin_and_psa(case)
    along = 2.5 / RADIUS_IN
    mark = math.cos(along) * pin + math.sin(along) * psa
    static = drill(case)["static_oz"]
    assert [static["side"], static["finger"], static["top"]] == pytest.approx(
        (2.5 * mark).tolist(), rel=0, abs=1e-9
    )


def test_centre_of_mass_and_statics_are_the_same_moment() -> None:
    found = drill(a_case())
    offset_in = np.array(found["cg_offset_mm"]) / 25.4
    ounces = found["mass_kg"] / OZ_TO_KG
    static = found["static_oz"]
    assert (offset_in * ounces / RADIUS_IN).tolist() == pytest.approx(
        [static["side"], static["finger"], static["top"]], rel=0, abs=1e-9
    )


def test_each_static_balance_loses_on_the_side_of_the_hole() -> None:
    whole = drill(a_case(holes=[]))["static_oz"]
    for over, up, name, sign in (
        (2.0, 0.0, "side", -1),
        (-2.0, 0.0, "side", 1),
        (0.0, 2.6, "finger", -1),
        (0.0, -2.6, "finger", 1),
        (0.0, 1.0, "top", -1),
    ):
        hole = {**THUMB, "over_in": over, "up_in": up}
        change = drill(a_case(holes=[hole]))["static_oz"][name] - whole[name]
        assert sign * change > 0.1


def test_a_thumb_hole_raises_rg_along_its_axis_and_lowers_it_across() -> None:
    row = TABLE["thumb_hole"]
    ball = {
        **UNDRILLED,
        "rg_low_in": row["rg_in"],
        "differential_in": 0.0,
        "intermediate_differential_in": 0.0,
        "top_weight_oz": 0.0,
    }
    found = drill(a_case(ball=ball, holes=[THUMB]))
    low, middle, high = found["principal_rg_in"]
    # Printed to 0.0001 in. The row is about the geometric centre; the drilled centre of mass lies
    # 0.018 in off, which lowers the value across by 0.00007 in.
    assert high == pytest.approx(row["rg_along_in"], rel=0, abs=0.6e-4)
    assert low == pytest.approx(row["rg_across_in"], rel=0, abs=1.2e-4)
    assert middle == pytest.approx(low, rel=0, abs=1e-9)
    axis = np.array(found["principal_axes"][2])
    assert abs(float(axis @ point(0.0, -2.625, RADIUS_IN))) == pytest.approx(1.0, abs=1e-9)


def agree(case: dict[str, Any], sign: float = 1.0) -> dict[str, Any]:
    """The package's ball and the one added up from pieces are the same body."""
    found = drill(case)
    pin, psa = pin_and_psa(case)
    expected = drilled(case, pin, psa)
    assert found["mass_kg"] == pytest.approx(expected.mass_kg, rel=1e-12)
    assert np.allclose(np.array(found["cg_offset_mm"]) / 25.4, expected.centre_in, atol=1e-9)
    assert found["principal_rg_in"] == pytest.approx(expected.rg_in.tolist(), rel=0, abs=1e-9)
    static = found["static_oz"]
    assert [static["side"], static["finger"], static["top"]] == pytest.approx(
        (expected.moment_oz_in / case["ball"]["radius_in"]).tolist(), rel=0, abs=1e-9
    )
    # The axes diagonalise the tensor added up from pieces (their signs are a convention).
    rows = np.array(found["principal_axes"])
    assert np.allclose(rows @ rows.T, np.eye(3), rtol=0, atol=1e-12)
    assert float(np.linalg.det(rows)) == pytest.approx(sign, rel=0, abs=1e-12)
    turned = rows @ expected.inertia_kg_in2 @ rows.T
    assert np.allclose(turned, np.diag(np.diag(turned)), rtol=0, atol=1e-9)
    pap = point(case["pap_over_in"], case["pap_up_in"], case["ball"]["radius_in"])
    assert np.allclose(found["pap_body"], rows @ pap, rtol=0, atol=1e-12)
    return found


def test_a_gripped_ball_is_what_is_left_when_the_pieces_are_taken_out() -> None:
    agree(a_case())


@settings(deadline=None, max_examples=40)
@given(
    over=st.floats(-3.0, 3.0),
    up=st.floats(-4.0, 4.0),
    diameter=st.floats(0.5, 1.5),
    depth=st.floats(0.5, 4.0),
    forward=st.floats(-1.0, 1.0),
    lateral=st.floats(-1.0, 1.0),
    density=st.floats(0.6, 3.5),
    drilling=st.floats(10.0, 90.0),
    pin=st.floats(1.0, 6.0),
    val=st.floats(10.0, 120.0),
)
def test_any_pitched_hole_in_any_layout_takes_out_what_its_pieces_do(
    over: float,
    up: float,
    diameter: float,
    depth: float,
    forward: float,
    lateral: float,
    density: float,
    drilling: float,
    pin: float,
    val: float,
) -> None:
    if math.hypot(over, up) < 0.05:
        return  # forward has no direction at the grip centre
    hole = {
        "over_in": over,
        "up_in": up,
        "diameter_in": diameter,
        "depth_in": depth,
        "pitch_forward_in": forward,
        "pitch_lateral_in": lateral,
        "density_g_cm3": density,
    }
    agree(
        a_case(
            holes=[hole, GRIP[1]],
            layout={
                "drilling_angle_deg": drilling,
                "pin_to_pap_in": pin,
                "val_angle_deg": val,
            },
        )
    )


@pytest.mark.parametrize(
    ("hole", "name"), [(THUMB, "thumb below"), (MIDDLE, "finger above")], ids=["thumb", "finger"]
)
def test_forward_pitch_tilts_the_bottom_towards_the_grip_centre(
    hole: dict[str, float], name: str
) -> None:
    assert name
    grip = np.array([0.0, 0.0, 1.0])
    surface = point(hole["over_in"], hole["up_in"], RADIUS_IN)
    forward = grip - (grip @ surface) * surface
    forward /= np.linalg.norm(forward)

    def middle_of_what_is_taken(**pitch: float) -> Array:
        ball = {**UNDRILLED, "top_weight_oz": 0.0}
        found = drill(a_case(ball=ball, holes=[{**hole, **pitch}]))
        whole = 15 * 0.45359237
        centre: Array = -np.array(found["cg_offset_mm"]) / 25.4 * found["mass_kg"]
        taken: Array = centre / (whole - found["mass_kg"])
        return taken

    straight = middle_of_what_is_taken()
    assert np.allclose(straight, (RADIUS_IN - hole["depth_in"] / 2) * surface, atol=1e-9)
    for pitch in (0.25, -0.25):
        moved = middle_of_what_is_taken(pitch_forward_in=pitch) - straight
        # The axis misses the centre by the pitch: half the depth leans by depth/2 * pitch/R.
        expected = hole["depth_in"] / 2 * pitch / RADIUS_IN
        assert float(moved @ forward) == pytest.approx(expected, rel=0, abs=1e-9)
    towards_pap = middle_of_what_is_taken(pitch_lateral_in=0.25) - straight
    assert towards_pap[0] > 0
    assert float(towards_pap @ forward) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("row", TABLE["pitch_angle"]["rows"])
def test_a_pitch_is_the_distance_by_which_the_axis_misses_the_centre(row: list[float]) -> None:
    # asin(pitch / R): the row's angle against the lean of what is taken out.
    pitch, degrees = row
    ball = {**UNDRILLED, "top_weight_oz": 0.0}
    whole = 15 * 0.45359237
    centres = []
    for depth in (1.0, 3.0):
        hole = {**THUMB, "depth_in": depth, "pitch_forward_in": pitch}
        found = drill(a_case(ball=ball, holes=[hole]))
        centre = -np.array(found["cg_offset_mm"]) / 25.4 * found["mass_kg"]
        centres.append(centre / (whole - found["mass_kg"]))
    axis = centres[1] - centres[0]
    axis /= np.linalg.norm(axis)
    surface = point(0.0, -2.625, RADIUS_IN)
    assert math.degrees(math.acos(float(-axis @ surface))) == pytest.approx(
        degrees, rel=0, abs=6e-4
    )
    # And the line misses the centre by just that much.
    assert float(np.linalg.norm(np.cross(centres[0], axis))) == pytest.approx(
        pitch, rel=0, abs=1e-8
    )


@pytest.mark.parametrize("hand", ["right", "left"])
def test_principal_axes_are_right_handed_on_the_real_ball(hand: str) -> None:
    # A left-hander's grip frame (over towards the PAP) is a mirror image, so there the same
    # right-handed axes have determinant -1.
    found = agree(a_case(hand=hand), 1.0 if hand == "right" else -1.0)
    pin, psa = pin_and_psa(a_case())
    rows = np.array(found["principal_axes"])
    assert float(rows[0] @ pin) > 0.9
    assert float(rows[2] @ psa) > 0.9


@pytest.mark.parametrize("hand", ["right", "left"])
def test_a_case_read_from_a_file_is_drilled_like_any_other(hand: str) -> None:
    case = a_case(hand=hand)
    assert drill(json.loads(json.dumps(case))) == drill(case)


def test_a_left_handers_ball_is_the_mirror_image() -> None:
    right, left = (drill(a_case(hand=hand)) for hand in ("right", "left"))
    for name in ("mass_kg", "principal_rg_in", "cg_offset_mm", "static_oz", "differential_in"):
        assert right[name] == pytest.approx(left[name]), name
    assert left["pap_body"] == pytest.approx(
        [right["pap_body"][0], -right["pap_body"][1], right["pap_body"][2]], rel=0, abs=1e-12
    )


@pytest.mark.parametrize("ball", [{}, {"intermediate_differential_in": 0.0}], ids=["asym", "sym"])
def test_pin_down_lowers_the_drilled_differential_and_pin_up_keeps_it(
    ball: dict[str, float],
) -> None:
    # Common practice of the trade; the mechanism (holes near the low-RG axis raise its RG, holes
    # away from it don't) is derived. Thumb and fingers, pin above and below the finger line.
    found = {}
    for val in (20.0, 75.0):
        layout_numbers = {**ANGLES, "val_angle_deg": val, "pin_to_pap_in": 4.5}
        case = a_case(layout=layout_numbers, ball={**UNDRILLED, **ball})
        found[val] = drill(case)["differential_in"]
    assert found[75.0] < found[20.0] - 0.005


def test_a_hole_on_the_pin_lowers_the_differential_by_what_its_axis_gains() -> None:
    case = a_case()
    numbers = layout(
        {
            "pap_over_in": 5.0,
            "pap_up_in": 0.5,
            "layout": ANGLES,
            "ball_circumference_in": 2 * math.pi * RADIUS_IN,
        }
    )
    on_pin = {**THUMB, "over_in": numbers["pin_over_in"], "up_in": numbers["pin_up_in"]}
    on_psa = {**THUMB, "over_in": numbers["psa_over_in"], "up_in": numbers["psa_up_in"]}
    whole = drill({**case, "holes": []})["differential_in"]
    # One inch thumb hole: .0077 along and -.0038 across, .0115 in all (derived row).
    for hole, change in ((on_pin, -0.0115), (on_psa, 0.0115)):
        found = drill({**case, "holes": [hole]})["differential_in"] - whole
        assert found == pytest.approx(change, rel=0, abs=0.0006)


def test_what_is_drilled_can_be_thrown_by_either_hand() -> None:
    # The mirrored ball, thrown by the other hand on a lane that is its own mirror image, takes the
    # mirrored path: the frames of `drill` and `shot` agree.
    ends = []
    for hand in ("right", "left"):
        ball = drill(a_case(hand=hand))
        ends.append(
            shot(
                {
                    "ball": {
                        "mass_kg": ball["mass_kg"],
                        "radius_m": RADIUS_IN * IN_TO_M,
                        "principal_rg_m": [rg * IN_TO_M for rg in ball["principal_rg_in"]],
                    },
                    "release": bowlers_numbers(pap_body=ball["pap_body"]),
                    "friction": {"type": "zones", "until_m": [12.0], "mu": [0.05, 0.22]},
                    "hand": hand,
                }
            )["end"]
        )
    right, left = ends
    assert left["y_m"] == pytest.approx(-right["y_m"], rel=0, abs=1e-7)
    assert left["vy_m_s"] == pytest.approx(-right["vy_m_s"], rel=0, abs=1e-7)
    assert left["vx_m_s"] == pytest.approx(right["vx_m_s"], rel=0, abs=1e-7)
    # A ball drilled for the other hand does not: its second component has the wrong sign.
    wrong = drill(a_case(hand="right"))
    thrown = shot(
        {
            "ball": {
                "mass_kg": wrong["mass_kg"],
                "radius_m": RADIUS_IN * IN_TO_M,
                "principal_rg_m": [rg * IN_TO_M for rg in wrong["principal_rg_in"]],
            },
            "release": bowlers_numbers(pap_body=wrong["pap_body"]),
            "friction": {"type": "zones", "until_m": [12.0], "mu": [0.05, 0.22]},
            "hand": "left",
        }
    )["end"]
    assert abs(thrown["y_m"] + right["y_m"]) > 1e-5


def test_a_pitch_without_a_direction_is_refused_at_the_grip_centre() -> None:
    centre = {**THUMB, "up_in": 0.0}
    drill(a_case(holes=[centre]))  # straight in is fine
    for pitch in ("pitch_forward_in", "pitch_lateral_in"):
        with pytest.raises(InputError) as refused:
            drill(a_case(holes=[{**centre, pitch: 0.125}]))
        assert refused.value.field.startswith("holes[0].pitch_")


def test_the_pin_to_pap_distance_of_the_drilled_ball_stays_near_the_layouts() -> None:
    # Drilling moves the low-RG axis a little: the rules allow its mark an inch (read).
    found = drill(a_case())
    low = np.array(found["principal_axes"][0])
    pin, _ = pin_and_psa(a_case())
    assert 0.01 < arc_in(low, pin, RADIUS_IN) < 1.5


def test_many_layouts_at_once_are_each_as_by_itself() -> None:
    """To 1e-9, a nanometre and less than a millionth of an ounce: mass, RGs, axes and statics."""
    label = body.Label(**UNDRILLED)
    holes = [body.Hole(**hole) for hole in GRIP]
    layouts = [
        read_layout({**ANGLES, "pin_to_pap_in": pin, "val_angle_deg": val}, 5.0, 0.5, RADIUS_IN)
        for pin in (2.0, 3.375, 5.5)
        for val in (20.0, 70.0)
    ]
    for placed, ball in zip(layouts, body.drill_many(label, layouts, holes), strict=True):
        alone = body.drill(label, placed, holes)
        for name in ("mass_kg", "principal_rg_m", "pap_body", "cg_offset_m", "static_oz"):
            expected = pytest.approx(getattr(alone, name), rel=0, abs=1e-9)
            assert getattr(ball, name) == expected
        np.testing.assert_allclose(ball.principal_axes, alone.principal_axes, rtol=0, atol=1e-9)


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, -45.0])
@pytest.mark.parametrize("place", [(0.0, -2.625), (-1.0, 2.5), (3.0, 0.0)])
def test_an_oval_hole_takes_out_what_its_pieces_do(
    place: tuple[float, float], angle: float
) -> None:
    oval = {
        **THUMB,
        "over_in": place[0],
        "up_in": place[1],
        "diameter_in": 0.9,
        "longer_in": 1.4,
        "oval_angle_deg": angle,
        "pitch_forward_in": 0.5,
        "pitch_lateral_in": -0.375,
    }
    agree(a_case(holes=[oval, GRIP[1]]))


def test_an_ovals_upper_end_turns_to_the_pap_side() -> None:
    def leaning(angle: float) -> float:
        longer, _ = body.oval_directions(
            body.Hole(0.0, -2.625, 0.9, 2.75, longer_in=1.4, oval_angle_deg=angle), RADIUS_IN
        )
        # Whichever end is the upper one.
        return float(longer[0] * np.sign(longer[1]))

    straight_up, across = body.oval_directions(
        body.Hole(0.0, -2.625, 0.9, 2.75, longer_in=1.4), RADIUS_IN
    )
    assert [straight_up[0], abs(across[0])] == pytest.approx([0.0, 1.0], rel=0, abs=1e-12)
    assert leaning(20.0) == pytest.approx(math.sin(math.radians(20.0)), rel=0, abs=1e-12)
    assert leaning(-20.0) == pytest.approx(-math.sin(math.radians(20.0)), rel=0, abs=1e-12)


@pytest.mark.parametrize("place", [(2.0, 0.0), (-2.0, 0.0), (0.0, 2.6), (0.0, -2.6), (3.0, -1.0)])
def test_lateral_pitch_leans_to_the_pap_side_and_up_where_that_has_no_meaning(
    place: tuple[float, float],
) -> None:
    hole = body.Hole(*place, 1.0, 2.75, pitch_lateral_in=0.5)
    surface, inward = body.hole_axis(hole, RADIUS_IN)
    straight = body.hole_axis(body.Hole(*place, 1.0, 2.75), RADIUS_IN)[1]
    lean = inward - straight
    side = 1 if place[1] == 0 else 0
    assert lean[side] > 0.04
    # Sideways and not towards the grip centre, and past the centre by the pitch.
    assert abs(float(np.cross(surface, [0.0, 0.0, 1.0]) @ lean)) == pytest.approx(
        0.5 / RADIUS_IN * np.linalg.norm(np.cross(surface, [0.0, 0.0, 1.0])), rel=1e-12
    )
    assert float(np.linalg.norm(np.cross(RADIUS_IN * surface, inward))) == pytest.approx(0.5)
    assert float(np.linalg.norm(inward)) == pytest.approx(1.0, rel=0, abs=1e-12)
    agree(a_case(holes=[{**THUMB, "over_in": place[0], "up_in": place[1],
                         "pitch_lateral_in": 0.5}]))  # fmt: skip


def test_a_cg_off_the_pins_line_lies_as_far_from_pin_and_line_as_measured() -> None:
    """Derived: 2.5 in from the pin and 0.75 in from its line to the PSA, to the right of somebody
    who looks along it from outside."""
    # The last are as far off as they are away, but for rounding.
    for off in (0.75, -0.75, 2.5, -2.5, 2.5 + 4e-15, -2.5 - 4e-15):
        found = drill(a_case(ball={**UNDRILLED, "cg_off_line_in": off}, holes=[]))["static_oz"]
        mark = np.array([found["side"], found["finger"], found["top"]]) / 2.5
        assert float(np.linalg.norm(mark)) == pytest.approx(1.0, rel=0, abs=1e-12)
        pin, psa = pin_and_psa(a_case())
        assert arc_in(mark, pin, RADIUS_IN) == pytest.approx(2.5, rel=0, abs=1e-7)
        right = np.cross(psa, pin)
        assert RADIUS_IN * math.asin(float(mark @ right)) == pytest.approx(off, rel=0, abs=1e-7)
        assert float(mark @ psa) >= -1e-7
    with pytest.raises(InputError) as refused:
        drill(a_case(ball={**UNDRILLED, "cg_off_line_in": 2.51}, holes=[]))
    assert refused.value.field.endswith("cg_off_line_in")
    assert "2.50 in" in str(refused.value)


BARE = body.Label(15.0, RADIUS_IN, 2.48, 0.05, 0.014)
PLACED = read_layout(ANGLES, 5.0, 0.5, RADIUS_IN)


def test_what_a_label_and_a_hole_do_not_say_is_nothing() -> None:
    whole = body.drill(BARE, PLACED, [])
    assert whole.static_oz == (0.0, 0.0, 0.0)
    assert not whole.cg_offset_m.any()
    on_the_pin = body.drill(body.Label(15.0, RADIUS_IN, 2.48, 0.05, 0.014, 2.0), PLACED, [])
    top, side, finger = on_the_pin.static_oz
    assert [side, finger, top] == pytest.approx((2.0 * PLACED.pin).tolist(), rel=0, abs=1e-12)
    short = body.drill(BARE, PLACED, [body.Hole(0.0, -2.625, 1.0, 2.75)])
    full = body.drill(BARE, PLACED, [body.Hole(**THUMB)])
    assert short.mass_kg == full.mass_kg
    assert np.array_equal(short.principal_axes, full.principal_axes)
    assert body.drill_many(BARE, [], [body.Hole(**THUMB)]) == []


def test_a_cg_mark_is_a_mark_only_by_both_its_numbers() -> None:
    half = body.Label(15.0, RADIUS_IN, 2.48, 0.05, 0.014, 2.0, cg_over_in=3.0)
    assert np.allclose(body.undrilled_cg(half, PLACED), PLACED.pin, rtol=0, atol=1e-12)
    both = body.Label(15.0, RADIUS_IN, 2.48, 0.05, 0.014, 2.0, cg_over_in=3.0, cg_up_in=-1.5)
    mark = point(3.0, -1.5, RADIUS_IN)
    assert np.allclose(body.undrilled_cg(both, PLACED), mark, rtol=0, atol=1e-12)


def test_the_widest_of_a_hole_is_its_longer_axis() -> None:
    assert body.Hole(0.0, -2.6, 1.0, 2.75).widest_in == 1.0
    assert body.Hole(0.0, -2.6, 1.0, 2.75, longer_in=1.25).widest_in == 1.25


def test_a_round_hole_is_an_oval_of_equal_axes() -> None:
    round_one = body.drill(BARE, PLACED, [body.Hole(0.5, 2.5, 1.0, 2.0, 0.25, -0.25)])
    oval = body.Hole(0.5, 2.5, 1.0, 2.0, 0.25, -0.25, longer_in=1.0, oval_angle_deg=33.0)
    same = body.drill(BARE, PLACED, [oval])
    assert same.mass_kg == pytest.approx(round_one.mass_kg, rel=1e-15)
    assert same.principal_rg_m == pytest.approx(round_one.principal_rg_m, rel=1e-13)


@pytest.mark.parametrize(
    ("forward", "lateral", "named"),
    [(4.3, 0.0, "forward"), (3.1, -3.1, "forward"), (-3.0, 3.2, "lateral"),
     (0.0, 4.2975, "lateral")],
)  # fmt: skip
def test_pitches_that_miss_the_ball_are_refused_by_the_larger(
    forward: float, lateral: float, named: str
) -> None:
    """Derived: an axis that misses the centre by the radius no longer enters the ball."""
    hole = body.Hole(0.0, -2.6, 1.0, 2.0, forward, lateral)
    with pytest.raises(InputError) as refused:
        body.hole_axis(hole, RADIUS_IN, "holes[4]")
    assert refused.value.field == f"holes[4].pitch_{named}_in"
    with pytest.raises(InputError) as refused:
        body.hole_axis(hole, RADIUS_IN)
    assert refused.value.field == f"hole.pitch_{named}_in"
    # A hair less just touches it.
    body.hole_axis(body.Hole(0.0, -2.6, 1.0, 2.0, 4.29, 0.0), RADIUS_IN)


def test_holes_as_heavy_as_the_ball_are_refused_by_the_one_that_is_too_much() -> None:
    # 1.2 g/cm3 of a hole 1 in across and 2.75 in deep are 42.5 g; so many times that of 6804 g.
    heavy = body.Hole(**{**THUMB, "density_g_cm3": 1.2 * 100})
    with pytest.raises(InputError) as refused:
        body.drill(BARE, PLACED, [heavy, heavy])
    assert refused.value.field == "holes[1].depth_in"


def test_a_ball_no_body_could_be_is_refused() -> None:
    """Of any body the two smaller principal moments make up the largest, or more."""
    with pytest.raises(InputError) as refused:
        body.drill(body.Label(15.0, RADIUS_IN, 1.0, 1.0, 1.0), PLACED, [])
    assert refused.value.field == "holes"
    # One small moment is no fault where the second makes up for it: 1, 2.25 and 2.56.
    body.drill(body.Label(15.0, RADIUS_IN, 1.0, 0.6, 0.1), PLACED, [])
    # A plate is the border: 1 and 1 make up the square root of 2.
    body.drill(body.Label(15.0, RADIUS_IN, 1.0, 0.414, 0.414), PLACED, [])


def test_the_centre_of_mass_for_the_solver_is_the_offset_along_the_axes() -> None:
    ball = body.drill(body.Label(**UNDRILLED), PLACED, [body.Hole(**hole) for hole in GRIP])
    turned = ball.principal_axes.T @ np.array(ball.centre_of_mass_m)
    assert np.allclose(turned, ball.cg_offset_m, rtol=0, atol=1e-15)
    assert ball.numbers()["centre_of_mass_m"] == list(ball.centre_of_mass_m)
    assert ball.radius_m == pytest.approx(RADIUS_IN * 0.0254, rel=1e-15)


def test_an_undrilled_ball_and_its_parts_stay_what_they_are() -> None:
    ball = body.drill(BARE, PLACED, [])
    for told, name in ((ball, "mass_kg"), (BARE, "weight_lb"), (body.Hole(**THUMB), "depth_in")):
        with pytest.raises(FrozenInstanceError):
            setattr(told, name, 1.0)
