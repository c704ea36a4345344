"""The drill sheet: its words lead to the grip centre, and it prints on one page, true to size."""

from __future__ import annotations

import io
import math
import os
import re
from fractions import Fraction
from typing import Any

import numpy as np
import pypdf
import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from arsenal import printed
from arsenal.models import BallSpec, DrillPlan, PlannedHole
from arsenal.press import services, sheet
from bowlers.holding import Hand
from bowlers.models import Bowler
from physics import layout as placing
from proshop.models import Shop
from tests.arsenal import records

POINTS_IN = 72.0
RADIUS_IN = 8.595 / 2
PAPERS = {"letter": (8.5, 11.0), "a4": (210 / 25.4, 297 / 25.4)}


@pytest.fixture
def plan(shop: Shop) -> DrillPlan:
    bowler = records.customer(shop)
    records.fitting(bowler)
    return records.drill_plan(bowler, records.ball_model(shop).specs.get())


def whole(plan: DrillPlan) -> services.Planned:
    return services.planned(DrillPlan.objects.whole().get(pk=plan.pk))


def pdf_of(client: Client, plan: DrillPlan, paper: str) -> pypdf.PdfReader:
    answer = client.get(reverse("drill-sheet-pdf", args=[plan.pk]), {"paper": paper})
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    return pypdf.PdfReader(io.BytesIO(answer.content))


def text_of(reader: pypdf.PdfReader) -> str:
    # The reader shows the two bytes of a character as they are where they are in ASCII.
    text = " ".join(page.extract_text() for page in reader.pages).replace("\0", "")
    return " ".join(text.split())


# ---- words that lead from the pin to the grip centre ----


def size(text: str) -> float:
    return float(sum(Fraction(part) for part in text.replace("\N{NO-BREAK SPACE}", " ").split()))


def turned(point: Any, way: Any, angle_rad: float) -> Any:
    """A direction at a point of the ball, turned counterclockwise as seen from outside."""
    return math.cos(angle_rad) * way + math.sin(angle_rad) * np.cross(point, way)


def gone(point: Any, way: Any, inches: float) -> tuple[Any, Any]:
    """Along the great circle that way: the point reached, and the direction there."""
    arc = inches / RADIUS_IN
    return (
        math.cos(arc) * point + math.sin(arc) * way,
        math.cos(arc) * way - math.sin(arc) * point,
    )


def towards(point: Any, other: Any) -> Any:
    way = other - float(other @ point) * point
    return way / np.linalg.norm(way)


def angle_in(text: str) -> float:
    """Degrees counterclockwise a step says to turn."""
    found = re.search(r"turn ([\d.]+)° (counter)?clockwise", text)
    assert found
    return float(found[1]) * (1 if found[2] else -1)


def walked(plan: DrillPlan, numbers: dict[str, Any], hand: str) -> Any:
    """Follow the sheet's words on the physical ball and come to the grip centre.

    The ball stands as the viewer sees it: x to the right, y up, z towards them; a left-hander's
    over goes to the left.
    """
    steps = sheet.marking_steps(plan, numbers, hand)
    mirror = np.array([-1.0 if hand == Hand.LEFT else 1.0, 1.0, 1.0])
    layout = numbers["layout"]

    def at(over: float, up: float) -> Any:
        a, b = over / RADIUS_IN, up / RADIUS_IN
        return mirror * np.array(
            [math.cos(b) * math.sin(a), math.sin(b), math.cos(b) * math.cos(a)]
        )

    pin = at(layout["pin_over_in"], layout["pin_up_in"])
    psa = at(layout["psa_over_in"], layout["psa_up_in"])
    way = turned(pin, towards(pin, psa), math.radians(angle_in(steps[1])))
    far = re.search(r"go ([\d/\s]+?) in: the PAP", steps[1])
    assert far
    pap, _ = gone(pin, way, size(far[1]))
    up_val = turned(pap, towards(pap, pin), math.radians(angle_in(steps[2])))
    foot, along = pap, up_val
    if len(steps) == 5:
        move = re.search(r"Go (up|down) the VAL ([\d/\s]+?) in", steps[3])
        assert move
        sign = 1 if move[1] == "up" else -1
        foot, along = gone(pap, sign * up_val, size(move[2]))
        along = sign * along
    last = re.search(r"go ([\d/\s]+?) in to the (left|right)", steps[-1])
    assert last
    right_angle = turned(foot, along, math.radians(90 if last[2] == "left" else -90))
    centre, _ = gone(foot, right_angle, size(last[1]))
    return centre


@pytest.mark.parametrize("hand", [Hand.RIGHT, Hand.LEFT])
@settings(max_examples=40, deadline=None)
@given(
    drilling=st.floats(5, 120),
    pin=st.floats(1.0, 6.5),
    val=st.floats(5, 110),
    over=st.floats(3, 6.5),
    up=st.floats(-2, 2),
)
def test_the_words_lead_to_the_grip_centre_for_either_hand(
    hand: str, drilling: float, pin: float, val: float, over: float, up: float
) -> None:
    """Derived: spherical trigonometry on the ball as the viewer sees it. A ruler's 64ths and
    tenths of a degree may add up to a sixteenth of an inch, no more."""
    spec = BallSpec(intermediate_differential_in=0.01)
    plan = DrillPlan(spec=spec, pap_over_in=over, pap_up_in=up)
    pap = placing.on_sphere(over / RADIUS_IN, up / RADIUS_IN)
    placed = placing.from_angles(pap, drilling, pin, val, RADIUS_IN)
    centre = walked(plan, {"layout": placed.numbers()}, hand)
    off_in = RADIUS_IN * math.acos(min(1.0, float(centre[2])))
    assert off_in < 1 / 16


@pytest.mark.parametrize(("hand", "side"), [("right", "right"), ("left", "left")])
def test_a_pitch_toward_the_pap_is_told_on_the_viewers_side(
    plan: DrillPlan, hand: str, side: str
) -> None:
    """Common practice, no source: the bottom of the hole leans that way, fingers up."""
    plan.holes.filter(kind="thumb").update(pitch_lateral_in=0.125, pitch_forward_in=-0.25)
    found = whole(plan)
    assert found.numbers is not None
    thumb = sheet.hole_lines(found.plan, found.numbers, hand)[2]
    assert (thumb.lateral, thumb.lateral_words) == (f"1/8 {side}", f"bottom to your {side}")
    assert (thumb.forward, thumb.forward_words) == ("1/4 reverse", "bottom away from the palm")


def test_a_ring_finger_lies_on_the_pap_side(plan: DrillPlan) -> None:
    found = whole(plan)
    assert found.numbers is not None
    for hand, side in (("right", "right"), ("left", "left")):
        lines = sheet.hole_lines(found.plan, found.numbers, hand)
        assert [line.name for line in lines] == ["Middle finger", "Ring finger", "Thumb"]
        assert lines[1].over.endswith(side)
        assert not lines[0].over.endswith(side)


# ---- printed ----


@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_sheet_is_one_page_with_all_the_press_needs(
    staff_client: Client, plan: DrillPlan, paper: str
) -> None:
    reader = pdf_of(staff_client, plan, paper)
    assert len(reader.pages) == 1
    box = reader.pages[0].mediabox
    assert (float(box.width) / POINTS_IN, float(box.height) / POINTS_IN) == pytest.approx(
        PAPERS[paper], abs=0.01
    )
    text = text_of(reader)
    for said in (
        "RIGHT HAND",
        "Wren Marsh",
        "SN 4711",
        "15 lb 2 oz",
        "45° × 4 in × 40°",
        # Trade reference for a 27 in ball: 4 × 4.158 × 2.328; this ball is 27.002 in round.
        "4 × 4.159 × 2.328 in",
        "1 Middle",
        "2 Ring",
        "3 Thumb",
        "31/32",
        "2 39/64 up",
        "2 5/8 down",
        "no balance hole, from 1 August 2020",
        "3.00 oz",
        "DRAFT, not signed off: don’t drill",
        "Take care.",
        "Drilled by, date",
        "0 to 6 is 6 inches",
    ):
        assert said in text, said


@pytest.mark.parametrize("thumb", ["in", "none"])
def test_with_room_the_ball_is_drawn_about_pap_and_grip(
    staff_client: Client, plan: DrillPlan, thumb: str
) -> None:
    Bowler.objects.update(thumb=thumb, name="Bartholomew Featherstonehaugh of the Marshes")
    DrillPlan.objects.update(serial="SERIAL-0123456789")
    plan.holes.update(
        pitch_forward_in=-0.3281, pitch_lateral_in=0.2031, sleeve="insert", inside_in=0.6875
    )
    if thumb == "none":
        plan.holes.filter(kind="thumb").delete()
    reader = pdf_of(staff_client, plan, "letter")
    if kept := os.environ.get("SCREENSHOTS"):
        pypdf.PdfWriter(clone_from=reader).write(f"{kept}/sheet-maps-{thumb}.pdf")
    assert len(reader.pages) == 1
    text = text_of(reader)
    assert "About the PAP: distances from there are true" in text
    assert "About the grip centre" in text


def test_where_the_maps_would_take_a_second_page_they_are_left_out(
    staff_client: Client, plan: DrillPlan
) -> None:
    """A long model's name, a signature and a symmetric ball's words leave no room for them."""
    plan.spec.model.name = "Old Walnut with the very long name that takes three whole lines of it"
    plan.spec.model.save()
    BallSpec.objects.update(intermediate_differential_in=0.0)
    DrillPlan.objects.update(serial="SERIAL-0123456789-0123456789-0123456789"[:40])
    plan.holes.update(
        pitch_forward_in=-0.3281, pitch_lateral_in=0.2031, sleeve="insert", inside_in=0.6875
    )
    reader = pdf_of(staff_client, plan, "letter")
    assert len(reader.pages) == 1


@pytest.mark.parametrize("paper", list(PAPERS))
def test_a_long_note_takes_the_place_of_the_maps(
    staff_client: Client, plan: DrillPlan, paper: str
) -> None:
    DrillPlan.objects.update(notes="Mind the logo. " * 30, reason="Wants it so. " * 20)
    plan.holes.update(pitch_forward_in=-0.3281, sleeve="insert", inside_in=0.6875)
    reader = pdf_of(staff_client, plan, paper)
    assert len(reader.pages) == 1
    assert "About the PAP" not in text_of(reader)


@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_fullest_sheet_still_takes_one_page(
    staff_client: Client, shop: Shop, paper: str
) -> None:
    """Long names, both ovals and sleeves, every caution, a second drilling and a long reason."""
    bowler = records.customer(shop, "Bartholomew Featherstonehaugh-Cholmondeley of the Marshes")
    records.fitting(bowler)
    spec = records.ball_model(shop, "Old Walnut with the very long name of forty").specs.get()
    ball = records.owned_ball(bowler, spec, finish="polished")
    plan = records.drill_plan(
        bowler,
        spec,
        ball=ball,
        again=True,
        top_weight_oz=6.0,
        serial="SERIAL-0123456789-0123456789",
        notes="Mind the crack in the logo. " * 20,
        reason="Practice only, never in certified play; " * 7,
        layout_numbers={**records.ANGLES, "drilling_angle_deg": 60.0},
    )
    plan.holes.update(
        pitch_forward_in=-0.3281, pitch_lateral_in=0.2031, sleeve="insert", inside_in=0.6875
    )
    plan.holes.filter(kind="thumb").update(
        longer_in=1.15, oval_angle_deg=33.0, sleeve="slug", inside_in=0.875
    )
    reader = pdf_of(staff_client, plan, paper)
    if kept := os.environ.get("SCREENSHOTS"):
        pypdf.PdfWriter(clone_from=reader).write(f"{kept}/fullest-sheet-{paper}.pdf")
    assert len(reader.pages) == 1
    text = text_of(reader)
    assert "Drilled before" in text
    assert "OVER BY" in text
    assert "Customer: drilled again, warranty void" in text


def ruler_length_pt(page: pypdf.PageObject) -> float:
    """From the ruler's first mark to its last as printed, points: its 49 upright strokes alone
    begin in one line on the page."""
    tops: dict[float, list[float]] = {}
    start: tuple[float, float] | None = None

    def stroke(operator: bytes, operands: Any, matrix: Any, _text: Any) -> None:
        nonlocal start
        if operator not in (b"m", b"l"):
            return
        x, y = (float(v) for v in operands)
        a, b, c, d, e, f = (float(v) for v in matrix)
        point = (a * x + c * y + e, b * x + d * y + f)
        if operator == b"l" and start is not None and abs(point[0] - start[0]) < 0.01:
            tops.setdefault(round(start[1], 1), []).append(start[0])
        start = point

    page.extract_text(visitor_operand_before=stroke)
    (marks,) = [found for found in tops.values() if len(found) == 49]
    return max(marks) - min(marks)


@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_ruler_is_six_inches_on_paper(
    staff_client: Client, plan: DrillPlan, paper: str
) -> None:
    """An inch is 72 points (ISO 32000). A hundredth of an inch is finer than any tape."""
    page = pdf_of(staff_client, plan, paper).pages[0]
    assert ruler_length_pt(page) / POINTS_IN == pytest.approx(6.0, abs=0.01)


def test_a_left_handers_sheet_says_so(staff_client: Client, plan: DrillPlan) -> None:
    Bowler.objects.update(hand="left", thumb="none")
    PlannedHole.objects.filter(kind="thumb").delete()
    text = text_of(pdf_of(staff_client, plan, "letter"))
    assert "LEFT HAND" in text
    assert "PAP to your LEFT" in text
    assert "scribe the palm centre with a plus (+)" in text


def test_the_sheet_leads_back_to_the_record_by_its_code(
    staff_client: Client, plan: DrillPlan
) -> None:
    page = staff_client.get(reverse("drill-sheet", args=[plan.pk])).content.decode()
    assert '<svg xmlns="http://www.w3.org/2000/svg"' in page or "<svg" in page
    assert 'class="qr"' in page
    assert "style=" not in page
    assert "<script>" not in page


def test_an_unknown_paper_is_letter(staff_client: Client, plan: DrillPlan) -> None:
    box = pdf_of(staff_client, plan, "../../etc").pages[0].mediabox
    assert float(box.width) == pytest.approx(612, abs=0.5)


def test_a_plan_that_can_not_be_drilled_has_no_sheet(staff_client: Client, plan: DrillPlan) -> None:
    plan.holes.filter(kind="ring").update(over_in=-0.6)
    for name in ("drill-sheet", "drill-sheet-pdf"):
        page = staff_client.get(reverse(name, args=[plan.pk]), follow=True)
        assert "There is no sheet yet" in page.content.decode()


def test_a_machine_without_the_libraries_says_what_to_do(
    staff_client: Client, plan: DrillPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(html: str, size: str) -> tuple[bytes, int]:
        raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr(printed, "pdf_bytes", missing)
    answer = staff_client.get(reverse("drill-sheet-pdf", args=[plan.pk]))
    assert answer.status_code == 503
    assert "print the page from the browser" in answer.content.decode()


def test_names_that_look_like_markup_are_printed_as_they_are(
    staff_client: Client, plan: DrillPlan
) -> None:
    Bowler.objects.update(name='<img src="file:///etc/hostname"> & Żółć 李')
    text = text_of(pdf_of(staff_client, plan, "a4"))
    assert '<img src="file:///etc/hostname"> & Żółć' in text


def test_a_negative_angle_is_turned_the_other_way(plan: DrillPlan) -> None:
    layout = {"drilling_angle_deg": -30.0, "pin_to_pap_in": 4.0, "val_angle_deg": 40.0}
    numbers = {"layout": layout}
    right, left = (sheet.marking_steps(plan, numbers, hand)[1] for hand in (Hand.RIGHT, Hand.LEFT))
    assert "turn 30.0° clockwise" in right
    assert "turn 30.0° counterclockwise" in left


def test_a_static_without_a_limit_is_said_to_have_none() -> None:
    rows = sheet.static_lines({"check": [], "static_oz": {"top": 1.5, "side": 0.0, "finger": -2.0}})
    assert [(row["expected"], row["limit"], row["fails"], row["by"]) for row in rows] == [
        (1.5, "none", False, ""),
        (0.0, "none", False, ""),
        (-2.0, "none", False, ""),
    ]


def test_a_plan_signed_for_that_can_no_longer_be_drawn_still_has_its_sheet(
    staff_client: Client, plan: DrillPlan
) -> None:
    """Signed for with numbers that are kept; what the engine refuses since is drawn no more."""
    DrillPlan.objects.update(serial="SN 4711")
    address = reverse("drill-plan-sign", args=[plan.pk])
    staff_client.post(address, {"record_version": DrillPlan.objects.get().version})
    sheet_of = reverse("drill-sheet", args=[plan.pk])
    assert len(staff_client.get(sheet_of).context["maps"]) == 2
    plan.holes.filter(kind="ring").update(over_in=-0.6)
    page = staff_client.get(sheet_of)
    assert page.context["maps"] == []
    assert "SN 4711" in page.content.decode()
