"""Bags as a CSV file: out and in again, row by row, with every fault where it is."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from arsenal.bag.models import EarlierDrilling, PluggedHole
from arsenal.models import BallSpec, OwnedBall
from bowlers.models import Bowler
from proshop.files.kinds import kind_of
from proshop.files.reading import write
from proshop.models import Shop
from tests.arsenal import records
from tests.arsenal.test_catalogue_files import bring_in, plan, words

BAGS = kind_of("bags")
NEW: dict[str, Any] = {
    "customer": "Wren Marsh",
    "model": "Alder",
    "weight (lb)": 15,
    "serial number": "7F3A21",
    "top weight (oz)": 2.75,
    "pin to CG (in)": 2.5,
    "PAP over (in)": 5,
    "PAP up (in)": 0.5,
    "finish": "2000 grit",
    "layout written as": "angles",
    "drilling angle (°)": 50,
    "pin to PAP (in)": 4.5,
    "VAL angle (°)": 40,
    "middle over (in)": -0.66,
    "middle up (in)": 2.609,
    "middle diameter (in)": 0.96875,
    "middle depth (in)": 1.75,
    "middle in it": "finger insert",
    "middle open inside (in)": 0.75,
    "ring over (in)": 0.66,
    "ring up (in)": 2.609,
    "ring diameter (in)": 0.96875,
    "ring depth (in)": 1.75,
}


@pytest.fixture
def spec(shop: Shop) -> BallSpec:
    return records.ball_model(shop).specs.get()


@pytest.fixture
def bowler(shop: Shop, spec: BallSpec) -> Bowler:
    return records.customer(shop)


def text_of(*rows: dict[str, Any]) -> str:
    names = list(dict.fromkeys(name for row in rows for name in row))
    file = io.StringIO()
    sheet = csv.DictWriter(file, names, restval="")
    sheet.writeheader()
    sheet.writerows(rows)
    return file.getvalue()


def test_a_ball_comes_into_a_bag_as_by_form(shop: Shop, staff: User, bowler: Bowler) -> None:
    sent = bring_in("bags", shop, staff, text_of(NEW))
    assert (sent.added, sent.changed) == (1, 0)
    ball = OwnedBall.objects.with_drilling().get()
    assert (ball.bowler, ball.serial, ball.label_weight_lb) == (bowler, "7F3A21", 15)
    assert ball.layout_numbers == {
        "drilling_angle_deg": 50.0,
        "pin_to_pap_in": 4.5,
        "val_angle_deg": 40.0,
    }
    assert [hole.kind for hole in ball.holes.all()] == ["middle", "ring"]
    finger = ball.holes.get(kind="middle")
    # Derived: ball and insert as dense, so what is missing is the share left open.
    assert finger.density_g_cm3 == pytest.approx(1.2 * (0.75 / 0.96875) ** 2, abs=1e-9)
    assert finger.history.get().history_change_reason == "From the file a.csv"


def test_taken_out_and_brought_in_it_changes_nothing(shop: Shop, spec: BallSpec) -> None:
    """Ovals, slugs, marks, other notations, plugs, a left-hander, what a spreadsheet would run."""
    left = records.customer(shop, name="=Teal", hand="left")
    ball = records.owned_ball(left, spec, cg_off_line_in=-0.375, pin_to_psa_in=6.5, role="spares")
    ball.holes.filter(kind="thumb").update(
        sleeve="slug", inside_in=0.95, longer_in=0.99, oval_angle_deg=-20, density_g_cm3=1.1286
    )
    ball.holes.filter(kind="ring").update(longer_in=1 + 1 / 3)
    earlier = EarlierDrilling.objects.create(
        ball=ball, layout_numbers=records.ANGLES, layout_notation="angles", pap_over_in=5.0
    )
    PluggedHole.objects.create(
        drilling=earlier, kind="thumb", over_in=0, up_in=-2, diameter_in=1, depth_in=2
    )
    buffer = {
        "pin_to_pap_in": 4.0, "psa_to_pap_in": 4.158, "pin_buffer_in": 2.328,
        "val_branch": "below_90",
    }  # fmt: skip
    records.owned_ball(
        left, spec, layout_notation="buffer", layout_numbers=buffer, notes="-a\nb", nickname="+1",
        retired=True, sold_on="2026-05-31", serial="=1+1",
    )  # fmt: skip
    found = plan("bags", shop, write(BAGS.columns, BAGS.records(shop)))
    assert (found.faults, found.added, found.changed) == ([], [], [])
    assert found.same == 2


def test_a_row_changes_what_it_says_and_leaves_the_rest(
    shop: Shop, staff: User, bowler: Bowler, spec: BallSpec
) -> None:
    ball = records.owned_ball(bowler, spec, serial="A1", notes="keep me")
    row = {"ball number": ball.pk, "VAL angle (°)": 30, "thumb depth (in)": 2.5, "finish": "500"}
    (planned,) = plan("bags", shop, text_of(row)).rows
    assert [change.words for change in planned.changes] == [
        "finish: 2000 grit to 500 grit",
        "VAL angle (°): 40 to 30",
        "thumb depth (in): 2.75 to 2.5",
    ]
    bring_in("bags", shop, staff, text_of(row))
    ball = OwnedBall.objects.with_drilling().get()
    assert ball.layout_numbers == {**records.ANGLES, "val_angle_deg": 30.0}
    assert (ball.finish, ball.notes, ball.version) == ("500", "keep me", 2)
    thumb = ball.holes.get(kind="thumb")
    assert (thumb.depth_in, thumb.up_in) == (2.5, -2.625)
    assert thumb.history.latest().history_user == staff
    by_serial = {"customer": "wren marsh", "serial number": "a1", "finish": "1000 grit"}
    assert plan("bags", shop, text_of(by_serial)).rows[0].action == "change"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"customer": "Nobody"}, "customer: “Nobody” is no customer’s name: add the customer"),
        ({"customer": ""}, "customer: is missing"),
        ({"customer": "Twin"}, "is the name of 2 customers: write the customer number"),
        ({"model": "Elm"}, "model: “Elm” isn’t in the catalogue"),
        ({"label pounds (lb)": 12}, "the ball chosen is 15 lb: check the label"),
        ({"CG off the line (in)": 3}, "measure both from the same CG mark"),
        ({"VAL angle (°)": ""}, "VAL angle (°): is missing: a layout by angles needs it"),
        ({"pin to PAP (in)": 0}, "pin to PAP (in): “0” must be"),
        ({"ring depth (in)": 8.5}, "ring depth (in): “8.5” Depth must be between 0.25 and 4.25"),
        ({"ring over (in)": -0.5}, "at the surface they overlap"),
        ({"ring diameter (in)": ""}, "ring diameter (in): Diameter is missing"),
        ({"middle open inside (in)": 1.25}, "must be less than the hole"),
        ({"finish": "sandpaper"}, "finish: “sandpaper” must be one of"),
        ({"thumb depth (in)": 2}, "thumb over (in): Over is missing"),
    ],
)
def test_a_fault_is_told_with_its_line_column_and_remedy_and_nothing_is_stored(
    shop: Shop, staff: User, bowler: Bowler, change: dict[str, Any], said: str
) -> None:
    for _ in range(2):
        records.customer(shop, name="Twin")
    faults = words("bags", shop, text_of(NEW, {**NEW, "serial number": "B2", **change}))
    assert any(said in fault for fault in faults), faults
    assert all(fault.startswith("Line 3") for fault in faults)
    assert not OwnedBall.objects.exists()


def test_two_rows_about_one_ball_are_refused(shop: Shop, bowler: Bowler) -> None:
    (fault,) = words("bags", shop, text_of(NEW, {**NEW, "serial number": "7f3a21"}))
    assert "is about the same ball as line 2" in fault


def test_a_ball_is_not_moved_to_another_customer_by_file(
    shop: Shop, bowler: Bowler, spec: BallSpec
) -> None:
    ball = records.owned_ball(bowler, spec)
    other = records.customer(shop, name="Juniper Hale")
    (fault,) = words("bags", shop, text_of({"ball number": ball.pk, "customer number": other.pk}))
    assert "that is Wren Marsh’s" in fault


def test_another_shops_balls_and_customers_are_none(
    shop: Shop, other_shop: Shop, bowler: Bowler
) -> None:
    theirs = records.owned_ball(
        records.customer(other_shop), records.ball_model(other_shop).specs.get()
    )
    rows = ({"ball number": theirs.pk}, {**NEW, "customer number": theirs.bowler_id})
    assert [fault.split(":")[0] for fault in words("bags", shop, text_of(*rows))] == [
        "Line 2, ball number",
        "Line 3, customer number",
    ]


def test_its_page_takes_a_file_and_gives_one(staff_client: Client, bowler: Bowler) -> None:
    page = staff_client.get(reverse("bags-file")).content.decode()
    assert "one ball a customer owns, as it is drilled" in page
    answer = staff_client.get(reverse("bags-template"))
    assert b"ball number,customer number,customer,model" in b"".join(answer)
    assert reverse("bags-file") in staff_client.get(reverse("all-balls")).content.decode()


def test_balls_without_a_serial_number_are_added_a_row_each_and_that_is_said(
    shop: Shop, bowler: Bowler
) -> None:
    row = {**NEW, "serial number": ""}
    found = plan("bags", shop, text_of(row, row))
    assert (found.faults, len(found.added)) == ([], 2)
    assert len(found.notes) == 2
    assert all("brought in again it would add another ball" in note.words for note in found.notes)


def test_a_serial_number_on_two_balls_asks_for_the_ball_number(
    shop: Shop, bowler: Bowler, spec: BallSpec
) -> None:
    one, other = (records.owned_ball(bowler, spec, serial="A1") for _ in range(2))
    row = {"customer": "Wren Marsh", "serial number": "a1", "finish": "500 grit"}
    (fault,) = words("bags", shop, text_of(row))
    told = f"is on 2 balls of Wren Marsh: write the ball number, {one.pk} or {other.pk}."
    assert told in fault


def test_games_told_apart_stay_apart_and_those_left_out_are_the_finishs(
    shop: Shop, staff: User, bowler: Bowler
) -> None:
    games = {"games since the finish": 30, "games since oil was drawn": 4}
    bring_in("bags", shop, staff, text_of({**NEW, **games}))
    ball = OwnedBall.objects.get()
    assert (ball.games_since_finish, ball.games_since_oil_drawn) == (30, 4)
    assert ball.games_since_cleaned == 30


def test_a_row_gives_a_ball_another_model_and_another_notation(
    shop: Shop, staff: User, bowler: Bowler, spec: BallSpec
) -> None:
    elm = records.ball_model(shop, "Elm").specs.get()
    ball = records.owned_ball(bowler, spec)
    marks = {"pin_over_in": 1.651, "pin_up_in": 3.211, "psa_over_in": 3.32, "psa_up_in": -3.37}
    row = {
        "ball number": ball.pk,
        "model": "Elm",
        "weight (lb)": 15,
        "layout written as": "read off the ball",
        "pin over (in)": marks["pin_over_in"],
        "pin up (in)": marks["pin_up_in"],
        "PSA over (in)": marks["psa_over_in"],
        "PSA up (in)": marks["psa_up_in"],
    }
    (planned,) = plan("bags", shop, text_of(row)).rows
    said = [change.words for change in planned.changes]
    assert f"model and weight: {spec} to {elm}" in said
    assert "layout written as: angles to read off the ball" in said
    bring_in("bags", shop, staff, text_of(row))
    ball = OwnedBall.objects.get()
    assert ball.spec == elm
    assert (ball.layout_notation, ball.layout_numbers) == ("read_off", marks)


def test_another_opening_of_an_insert_is_as_dense_as_it_leaves_open_and_an_oval_is_kept(
    shop: Shop, staff: User, bowler: Bowler, spec: BallSpec
) -> None:
    ball = records.owned_ball(bowler, spec)
    ball.holes.filter(kind="middle").update(
        sleeve="insert", inside_in=0.75, density_g_cm3=1.2 * (0.75 / 0.969) ** 2
    )
    row = {
        "ball number": ball.pk,
        "middle open inside (in)": 0.6875,
        "thumb longer axis (in)": 1.125,
    }
    bring_in("bags", shop, staff, text_of(row))
    middle, thumb = ball.holes.get(kind="middle"), ball.holes.get(kind="thumb")
    assert middle.density_g_cm3 == pytest.approx(1.2 * (0.6875 / 0.969) ** 2, abs=1e-9)
    assert (thumb.diameter_in, thumb.longer_in) == (1.0, 1.125)


def test_a_ball_that_cant_be_drilled_for_another_reason_is_told_with_its_line(
    shop: Shop, bowler: Bowler, spec: BallSpec
) -> None:
    ball = records.owned_ball(bowler, spec)
    EarlierDrilling.objects.create(ball=ball, layout_notation="angles", pap_over_in=5.0)
    (fault,) = words("bags", shop, text_of({"ball number": ball.pk, "finish": "500 grit"}))
    assert fault.startswith("Line 2")
    assert "can’t be drilled: Layout must be one of" in fault
