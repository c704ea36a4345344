"""The ball on the page: its maps, its numbers, and what stepping its layout does and says."""

from __future__ import annotations

import html
import math
import re
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse

from arsenal.bag.chain import LAYOUT
from arsenal.engine import bodies, menu, plate_words, plates
from arsenal.models import BowlerCondition, EarlierDrilling, OwnedBall, PluggedHole
from arsenal.plate.drawing import GRIP_REACH_IN, RADIUS
from bowlers.models import Bowler
from physics import care, shape, worth
from proshop.models import Shop
from tests.arsenal import questions, records

PIN_UP = {"drilling_angle_deg": 50.0, "pin_to_pap_in": 4.5, "val_angle_deg": 20.0}


@pytest.fixture
def ball(shop: Shop) -> OwnedBall:
    """A ball drilled pin up, whose bowler was fitted and meets a house pattern."""
    bowler = records.customer(shop, average=190)
    records.fitting(bowler)
    condition = records.condition(records.house(shop))
    BowlerCondition.objects.create(shop=shop, bowler=bowler, condition=condition, times_a_season=30)
    spec = records.ball_model(shop).specs.get()
    return records.owned_ball(bowler, spec, layout_numbers=PIN_UP)


def address(ball: OwnedBall) -> str:
    return reverse("owned-ball-plate", args=[ball.pk])


def typed(**changes: str) -> dict[str, str]:
    return {
        "layout_notation": "angles",
        "read_as": "angles",
        "angles_drilling_angle_deg": "50",
        "angles_pin_to_pap_in": "4.5",
        "angles_val_angle_deg": "20",
        "pap_over_in": "5",
        "pap_up_in": "0.5",
        **changes,
    }


def rows(answer: Any) -> dict[str, Any]:
    return {row.name: row for row in answer.context["plate"].rows}


def test_it_opens_on_the_ball_as_it_is(staff_client: Client, ball: OwnedBall) -> None:
    answer = staff_client.get(address(ball))
    plate = answer.context["plate"]
    assert not plate.changed
    assert all(not row.change for row in plate.rows)
    assert answer.context["form"]["angles_val_angle_deg"].value() == "20"
    assert b"This is the ball as it is" in answer.content


def test_pin_up_to_pin_down_is_two_steps_and_is_told_with_its_reason(
    staff_client: Client, ball: OwnedBall
) -> None:
    staff_client.get(address(ball))
    answer = staff_client.get(address(ball), {**typed(), "preset": "down"})
    found = rows(answer)
    # The trade's direction: the holes come off the pin, so differential and flare fall.
    assert found["Differential"].change < -0.002
    assert found["Flare in all"].change < -0.1
    assert found["Pin above fingers"].was > 0 > found["Pin above fingers"].now
    said = " ".join(answer.context["plate"].said)
    for words in (
        "the holes move in the core",
        "lowers the differential",
        f"from {found['Differential'].was:.3f} to {found['Differential'].now:.3f} in",
        "thrown alike along one line",
        "a change of finish on the ball as it is",
    ):
        assert words in said
    assert "pin down" in answer.context["plate"].where
    assert answer.context["form"]["angles_val_angle_deg"].value() == "70"


def test_a_stepped_layout_is_planned_without_typing_it_again(
    staff_client: Client, ball: OwnedBall
) -> None:
    answer = staff_client.get(address(ball), {**typed(), "preset": "down"})
    found = re.search(r'href="([^"]+)">Plan to drill it so', answer.content.decode())
    assert found is not None
    plan = staff_client.get(html.unescape(found[1]))
    form = plan.context["form"]
    assert form["angles_val_angle_deg"].value() == "70"
    assert form["pap_over_in"].value() == "5"


def test_a_change_of_finish_outweighs_it(staff_client: Client, ball: OwnedBall) -> None:
    answer = staff_client.get(address(ball), {**typed(), "preset": "down"})
    plate = answer.context["plate"]
    moved = abs(rows(answer)["Board at the pins"].change)
    assert moved < max(abs(row["boards"]) for row in plate.throw["finishes"])


@pytest.mark.parametrize(
    ("step", "box", "becomes"),
    [
        ("angles_val_angle_deg:5", "angles_val_angle_deg", "25"),
        ("angles_pin_to_pap_in:-0.125", "angles_pin_to_pap_in", "4.375"),
        ("pap_over_in:0.125", "pap_over_in", "5.125"),
        # A step never leaves the range of its box.
        ("angles_pin_to_pap_in:99", "angles_pin_to_pap_in", "13.5"),
    ],
)
def test_a_step_moves_one_number_without_a_script(
    staff_client: Client, ball: OwnedBall, step: str, box: str, becomes: str
) -> None:
    answer = staff_client.get(address(ball), {**typed(), "step": step})
    assert answer.context["form"][box].value() == becomes


@pytest.mark.parametrize("step", ["", "nothing:5", "angles_val_angle_deg:nan",
                                  "angles_val_angle_deg:x", "step:x", ":"])  # fmt: skip
def test_a_step_of_nothing_does_nothing(staff_client: Client, ball: OwnedBall, step: str) -> None:
    answer = staff_client.get(address(ball), {**typed(), "step": step})
    assert not answer.context["plate"].changed


@pytest.mark.parametrize("notation", ["buffer", "read_off"])
def test_the_layout_is_turned_into_another_notation_and_back(
    staff_client: Client, ball: OwnedBall, notation: str
) -> None:
    there = staff_client.get(address(ball), typed(layout_notation=notation))
    boxes = there.context["form"].data
    assert boxes["read_as"] == notation
    assert not there.context["plate"].changed
    back = staff_client.get(address(ball), {**boxes, "layout_notation": "angles"})
    # Distances are shown to the thousandth of an inch, angles to the tenth of a degree.
    assert float(back.context["form"]["angles_val_angle_deg"].value()) == pytest.approx(20, abs=0.2)
    assert back.context["plate"].changed is False or all(
        abs(row.change or 0) < 0.02 for row in back.context["plate"].rows if row.unit == "in"
    )


def test_parts_are_sent_where_parts_are_asked_for_and_the_address_follows(
    staff_client: Client, ball: OwnedBall
) -> None:
    part = staff_client.get(
        address(ball),
        {**typed(), "step": "angles_val_angle_deg:5"},
        headers={"HX-Request": "true", "HX-Target": "plate"},
    )
    assert b"<html" not in part.content
    assert b'id="plate"' in part.content
    assert "angles_val_angle_deg=25" in part.headers["HX-Replace-Url"]
    assert "step=" not in part.headers["HX-Replace-Url"]
    found = staff_client.get(
        address(ball), typed(), headers={"HX-Request": "true", "HX-Target": "plate-found"}
    )
    assert b'id="plate"' not in found.content
    assert b'id="plate-found"' in found.content


def place_of(answer: Any, kind: str, about: str = "pap") -> tuple[float, float]:
    picture = next(p for p in answer.context["plate"].pictures if p.about == about)
    spot = next(s for s in picture.spots if s.kind == kind)
    return spot.x, spot.y


def test_the_pin_is_drawn_where_its_distance_and_angle_put_it(
    staff_client: Client, ball: OwnedBall
) -> None:
    answer = staff_client.get(address(ball))
    x, y = place_of(answer, "pin")
    # The map about the PAP reaches half round the widest legal ball, 8.595 in across.
    scale = RADIUS / (math.pi * 8.595 / 2)
    assert math.hypot(x, y) == pytest.approx(4.5 * scale, abs=0.1)
    # 20° from straight up towards the grip, which lies to the left of a right-hander's PAP.
    assert math.degrees(math.atan2(-x, -y)) == pytest.approx(20, abs=0.2)
    grip_x, _ = place_of(answer, "grip")
    assert grip_x < 0
    pap_x, _ = place_of(answer, "pap", about="grip")
    assert 0 < pap_x < RADIUS * 5.2 / GRIP_REACH_IN


def test_a_left_handers_ball_is_the_mirror_image_with_the_same_numbers(
    staff_client: Client, ball: OwnedBall
) -> None:
    right = staff_client.get(address(ball))
    Bowler.objects.filter(pk=ball.bowler_id).update(hand="left")
    left = staff_client.get(address(ball))
    for kind in ("pin", "psa", "grip", "cg"):
        (x, y), (other_x, other_y) = place_of(right, kind), place_of(left, kind)
        assert (other_x, other_y) == pytest.approx((-x, y))
    same = ("Pin over", "Differential", "Static, PAP side", "Flare in all")
    assert [rows(left)[name].now for name in same] == [rows(right)[name].now for name in same]


def test_who_cant_see_the_maps_gets_everything_they_show_in_numbers(
    staff_client: Client, ball: OwnedBall
) -> None:
    answer = staff_client.get(address(ball))
    text = answer.content.decode()
    pictures = re.findall(r'<svg class="plate-map"[^>]*aria-describedby="([\w-]+)"', text)
    assert pictures == ["plate-places", "plate-places"]
    table = text[text.index('id="plate-places"') :]
    drawn = {label.text for p in answer.context["plate"].pictures for label in p.labels}
    for label in drawn:
        assert label.removesuffix(" in").lower() in table.lower()
    for hole in answer.context["plate"].figures["holes"]:
        assert f"{hole['name']} hole" in table.lower()
    for words in ("midline", "VAL", "first track", "would draw rings"):
        assert words in table


def test_without_a_fitting_the_layout_is_shown_and_what_is_missing_is_said(
    staff_client: Client, ball: OwnedBall
) -> None:
    ball.bowler.fittings.all().delete()
    answer = staff_client.get(address(ball))
    assert answer.context["plate"].throw is None
    assert "Flare in all" not in rows(answer)
    assert b"needs a finished fitting" in answer.content
    assert b"known once a fitting is finished" in answer.content


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"angles_pin_to_pap_in": "0"}, "with the pin on the PAP"),
        ({"angles_pin_to_pap_in": "fourish"}, "Pin to PAP must be a number"),
        ({"angles_val_angle_deg": ""}, "VAL angle is missing"),
        ({"pap_over_in": "40"}, "PAP over must be between"),
        ({"read_as": "runes"}, "runes"),
        # Turned into another notation, or to the pin down.
        ({"angles_pin_to_pap_in": "0", "layout_notation": "buffer"}, "with the pin on the PAP"),
        ({"angles_pin_to_pap_in": "0", "preset": "down"}, "with the pin on the PAP"),
    ],
)
def test_what_cant_be_is_said_with_the_remedy_and_stays_typed(
    staff_client: Client, ball: OwnedBall, changes: dict[str, str], says: str
) -> None:
    answer = staff_client.get(address(ball), typed(**changes))
    assert answer.status_code == 200
    assert says in answer.content.decode()
    for box, value in changes.items():
        if box not in {"read_as", "preset"}:
            assert answer.context["form"][box].value() == value


def test_the_buffers_two_answers_are_asked_for_and_not_chosen(
    staff_client: Client, ball: OwnedBall
) -> None:
    boxes = typed(layout_notation="buffer", read_as="buffer") | {
        "buffer_pin_to_pap_in": "4.5",
        "buffer_psa_to_pap_in": "5",
        "buffer_pin_buffer_in": "1.5",
    }
    asked = staff_client.get(address(ball), boxes)
    assert "plate" not in asked.context
    assert b"below or above 90" in asked.content
    told = [
        staff_client.get(address(ball), {**boxes, "buffer_val_branch": branch})
        for branch in ("below_90", "above_90")
    ]
    high, low = (rows(answer)["Pin up"].now for answer in told)
    assert high > low


def test_holes_that_meet_inside_the_ball_are_asked_about(
    staff_client: Client, ball: OwnedBall
) -> None:
    ball.holes.exclude(kind="thumb").update(depth_in=3.5)
    answer = staff_client.get(address(ball))
    assert b"meet inside the ball" in answer.content
    assert answer.context["plate"].rows


def test_a_plug_is_drawn_and_told_where_it_lies_now(staff_client: Client, ball: OwnedBall) -> None:
    assert staff_client.get(address(ball)).context["plate"].pictures[0].plugs == []
    same = {name: getattr(ball, name) for name in LAYOUT}
    earlier = EarlierDrilling.objects.create(ball=ball, **same)
    PluggedHole.objects.create(
        drilling=earlier, kind="thumb", over_in=0.25, up_in=-1.5, diameter_in=1.0, depth_in=2.5
    )
    answer = staff_client.get(address(ball))
    assert [len(picture.plugs) for picture in answer.context["plate"].pictures] == [1, 1]
    places = {place["name"]: place for place in answer.context["plate"].figures["places"]}
    plug = places["Plug, thumb"]
    assert (plug["over_in"], plug["up_in"]) == pytest.approx((0.25, -1.5), abs=1e-6)
    assert b"plate-plug" in answer.content


def test_another_shops_ball_is_not_shown(ball: OwnedBall, other_staff: Any, sign_in: Any) -> None:
    assert sign_in(other_staff).get(address(ball)).status_code == 404


# ---- holes ----


def test_a_hole_is_stepped_and_everything_follows_it(staff_client: Client, ball: OwnedBall) -> None:
    """The thumb an eighth farther up: its rim, clearance, place and the finger weight move, the
    core stays. Derived: what is missing lies nearer the fingers, so they weigh less."""
    at = {**typed(), "step": "thumb_up_in:0.0625"}
    once = staff_client.get(address(ball), at)
    assert once.context["form"]["thumb_up_in"].value() == "-2.5625"
    again = staff_client.get(address(ball), {**typed(thumb_up_in="-2.5625"), "step": at["step"]})
    told = rows(again)
    assert told["Pin up"].change == 0
    assert told["Static, fingers"].change < 0
    assert told["Track to thumb hole"].change != 0
    thumb = next(
        place for place in again.context["plate"].figures["places"] if place["name"] == "Thumb hole"
    )
    assert thumb["up_in"] == pytest.approx(-2.5, abs=1e-9)
    said = " ".join(again.context["plate"].said)
    assert said.startswith("In the grip itself the thumb hole is cut otherwise.")
    assert "core turns" not in said
    assert '<details class="plate-holes" open>' in again.content.decode()


def test_a_stepped_hole_goes_into_the_plan_and_the_others_stay_the_hands(
    staff_client: Client, ball: OwnedBall
) -> None:
    at = typed(thumb_up_in="-2.5", ring_depth_in="2", angles_val_angle_deg="30")
    page = staff_client.get(address(ball), at)
    assert set(page.context["form"].moved_holes) == {"thumb_up_in", "ring_depth_in"}
    redrill = f"{reverse('redrill-add', args=[ball.pk])}?{page.context['address']}"
    form = staff_client.get(redrill).context
    starting = {row["kind"].value(): row for row in form["holes"].forms}
    assert starting["thumb"]["up_in"].value() == "-2.5"
    assert starting["ring"]["depth_in"].value() == "2"
    assert float(starting["middle"]["depth_in"].value()) == 1.75
    assert form["form"]["angles_val_angle_deg"].value() == "30"


def test_stepping_through_another_notation_keeps_the_holes(
    staff_client: Client, ball: OwnedBall
) -> None:
    at = typed(thumb_up_in="-2.5", layout_notation="buffer", read_as="angles")
    page = staff_client.get(address(ball), at)
    assert page.context["form"]["thumb_up_in"].value() == "-2.5"
    assert page.context["form"]["layout_notation"].value() == "buffer"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"thumb_depth_in": "40"}, "comes out at the far side"),
        ({"ring_over_in": "-0.5"}, "at the surface they overlap"),
        ({"middle_diameter_in": "wide"}, "Diameter must be a number"),
        ({"thumb_diameter_in": "0.9"}, "that is open inside what sits in it"),
        ({"middle_diameter_in": "1.1"}, "less than 1.000 in, the longer axis of its oval"),
    ],
)
def test_a_hole_that_cant_be_is_said_beside_its_box_and_stays_typed(
    staff_client: Client, ball: OwnedBall, change: dict[str, str], said: str
) -> None:
    ball.holes.filter(kind="thumb").update(sleeve="slug", inside_in=0.95, diameter_in=1.25)
    ball.holes.filter(kind="middle").update(longer_in=1.0)
    page = staff_client.get(address(ball), typed(**change))
    (name, value) = next(iter(change.items()))
    assert said in " ".join(page.context["form"].errors[name])
    assert page.context["form"][name].value() == value
    assert "plate" not in page.context


def test_a_wider_hole_for_the_same_slug_has_a_thicker_wall(
    staff_client: Client, ball: OwnedBall
) -> None:
    """Derived: ball and slug are as dense, so all that is missing is what the slug leaves open."""
    ball.holes.filter(kind="thumb").update(
        sleeve="slug", inside_in=1.0, diameter_in=1.25, density_g_cm3=1.2 / 1.25**2
    )
    told = rows(staff_client.get(address(ball), typed(thumb_diameter_in="1.5")))
    assert told["Static, top"].change == pytest.approx(0, abs=0.011)


def test_a_ball_whose_own_record_cant_be_is_compared_with_nothing(
    staff_client: Client, ball: OwnedBall
) -> None:
    """What was typed can be drilled: it is shown, and not called the ball as it is."""
    ball.layout_numbers = {**PIN_UP, "pin_to_pap_in": 0.0}
    ball.save()
    page = staff_client.get(address(ball), typed())
    plate = page.context["plate"]
    assert [row.was for row in plate.rows] == [None] * len(plate.rows)
    assert [row.change for row in plate.rows] == [None] * len(plate.rows)
    assert rows(page)["Differential"].now > 0
    assert plate.throw is None
    text = page.content.decode()
    assert "record can’t be drilled as it stands" in text
    assert "This is the ball as it is" not in text
    assert "Plan to drill it so" in text


def test_a_ball_without_finger_holes_has_no_pin_above_them(
    staff_client: Client, ball: OwnedBall
) -> None:
    ball.holes.exclude(kind="thumb").delete()
    row = rows(staff_client.get(address(ball)))["Pin above fingers"]
    assert (row.was, row.now, row.change) == (None, None, None)


def test_an_oval_is_told_by_both_its_axes(staff_client: Client, ball: OwnedBall) -> None:
    ball.holes.filter(kind="middle").update(longer_in=1.0)
    places = staff_client.get(address(ball)).context["plate"].figures["places"]
    words = {place["name"]: place["words"] for place in places}
    assert words["Middle finger hole"].startswith("oval, 1.000 × 0.969 in, 1.75 in deep")
    assert words["Ring finger hole"].startswith("0.969 in across, 1.75 in deep")


# ---- the throw kept for the steps, and what is said of a change ----


def asked_of(ball: dict[str, Any]) -> dict[str, Any]:
    return questions.question() | {"ball": ball}


def no_thrower(monkeypatch: pytest.MonkeyPatch, board: float, lost: str) -> None:
    """One line for every ball, and shots along it that reach the pins but for one finish."""

    def row(setting: Any, option: worth.Option, line: Any) -> Any:
        found = np.full(shape.RESULTS, 18.0)
        found[shape.ENTRY_BOARD] = math.nan if option.closure == shut else 20.0
        return found

    shut = bodies.closure_of("solid", lost, care.FRESH)
    line = SimpleNamespace(board=np.array([[board]]), launch_deg=np.array([[2.0]]))
    monkeypatch.setattr(worth, "seek", lambda *asked, **how: line)
    monkeypatch.setattr(plates, "_row", row)


def test_without_a_line_nothing_is_thrown(monkeypatch: pytest.MonkeyPatch) -> None:
    no_thrower(monkeypatch, math.nan, "500")
    assert plates.throw_before(asked_of(questions.owned(1, "Hornbeam", "solid", "1000"))) is None


def test_a_finish_that_leaves_the_lane_is_held_against_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    no_thrower(monkeypatch, 22.0, "500")
    found = plates.throw_before(asked_of(questions.owned(1, "Hornbeam", "solid", "1000")))
    assert found is not None
    assert found["line"] == {"board": 22.0, "launch_deg": 2.0}
    finishes = {row["finish"] for row in found["finishes"]}
    assert finishes == set(menu.FINISHES) - {"1000", "500"}


def figures(**changes: Any) -> dict[str, Any]:
    """A ball's figures as far as words are made of them."""
    places = {"pin_over_in": 1.5, "pin_up_in": 3.0, "psa_over_in": 3.0, "psa_up_in": -3.0}
    return {
        "layout": {**places, "pin_to_pap_in": 4.0},
        "pin_above_fingers_in": 0.5,
        "holes": [{"name": "thumb", "to_pin_in": 4.0, "cut": [1.0]}],
        "differential_in": 0.048,
        "intermediate_differential_in": 0.01,
        "flare_in": 3.0,
        **changes,
    }


def thrown(path: dict[str, float | None], *boards: float) -> dict[str, Any]:
    """The throw of the ball as it is, with finishes that move it by so many boards."""
    finishes = zip(("500", "2000"), boards, strict=False)
    return {
        "condition": "House blend",
        "path": path,
        "finishes": [{"finish": finish, "boards": moved} for finish, moved in finishes],
    }


PATH: dict[str, float | None] = {"board": 18.0, "angle_deg": 4.5, "hook_ft": 20.0}


def test_without_both_finger_holes_the_pin_is_told_from_the_grip_centre() -> None:
    there = figures(pin_above_fingers_in=None)
    assert plate_words.where_words(there) == (
        "The pin lies 1.50 in over and 3.00 in up from the grip centre."
    )


def test_a_change_without_a_throw_says_nothing_of_lane_or_flare() -> None:
    cut = figures(holes=[{"name": "thumb", "to_pin_in": 4.0, "cut": [1.25]}], flare_in=None)
    said = plate_words.change_words(figures(), cut, None, None)
    assert said[0] == "In the grip itself the thumb hole is cut otherwise."
    assert len(said) == 2
    assert "evens out" in said[1]


def test_a_path_that_leaves_the_lane_is_told_and_held_against_no_finish() -> None:
    lost: dict[str, float | None] = {**PATH, "board": None}
    assert plate_words._path_words(thrown(PATH), lost) == (
        "On House blend, along the same line, it doesn’t reach the pins on the lane."
    )
    assert plate_words._beside_finish(thrown(PATH, 1.0, 2.0), lost) == ""


def test_a_path_without_a_hook_length_says_nothing_of_it() -> None:
    now: dict[str, float | None] = {"board": 19.0, "angle_deg": 5.0, "hook_ft": None}
    assert plate_words._path_words(thrown(PATH), now) == (
        "On House blend, thrown alike along one line, it hooks 1.0 boards more at the pins and "
        "comes in 0.5° steeper."
    )


@pytest.mark.parametrize(
    ("moved", "said"),
    [
        (0.5, "That is less than any finish would do: "),
        (1.2, "That is about what 500 grit would do: "),
        (3.0, "That is more than any finish would do: "),
    ],
)
def test_a_change_is_held_against_the_finishes(moved: float, said: str) -> None:
    now: dict[str, float | None] = {**PATH, "board": 18.0 - moved}
    told = plate_words._beside_finish(thrown(PATH, -1.0, 2.0), now)
    assert told.startswith(said)
    assert told.endswith("moves it 1.0 boards (500 grit) to 2.0 (2000 grit).")
    assert plate_words._beside_finish(thrown(PATH), now) == ""
