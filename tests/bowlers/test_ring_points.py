"""Points of the first ring marked on a fitting: PAP and tilt from the circle, mistakes by number.

Points are those of a ring with the PAP 5 in over and 1/2 in up and 12° of tilt (arithmetic on a
ball of 27 in), to the sixteenth of an inch.
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from django.test import Client

from bowlers.engine.plate import RADIUS_IN, SCALE, plate
from bowlers.fields import read_number
from bowlers.models import Delivery, Fitting
from tests.bowlers.conftest import HTMX, Log
from tests.physics.test_ring import marked

POINTS = [
    [round(16 * v) / 16 for v in point] for point in marked((5.0, 0.5, 12.0), count=6, arc_deg=200)
]


def sent(points: list[list[float]] = POINTS, **more: Any) -> dict[str, Any]:
    boxes: dict[str, Any] = {}
    for number, (over, up) in enumerate(points, start=1):
        boxes |= {f"point_{number}_over": str(over), f"point_{number}_up": str(up)}
    return {**boxes, **more}


def of(delivery: Delivery) -> dict[str, Any]:
    """Which delivery the ring is of, as it was when the page was made."""
    return {"delivery": delivery.pk, "seen": f"{delivery.pk}-{delivery.version}"}


def address(fitting: Fitting) -> str:
    return f"/fittings/{fitting.pk}/ring/"


def test_the_pap_and_tilt_follow_from_the_points(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    delivery = log(fitting, pap_over_in=4.0, tilt_deg=20)
    answer = staff_client.post(address(fitting), sent(**of(delivery)))
    assert answer.headers["Location"].startswith(f"/fittings/{fitting.pk}/")
    delivery.refresh_from_db()
    assert delivery.pap_over_in == pytest.approx(5.0, abs=0.1)
    assert delivery.pap_up_in == pytest.approx(0.5, abs=0.1)
    assert delivery.tilt_deg == pytest.approx(12.0, abs=1.0)
    assert delivery.raw == {"ring_points_in": POINTS}
    assert (delivery.speed_mph, delivery.rev_rate_rpm) == (17, 340)
    assert {e["way"] for e in delivery.errors.values()} == {"ring_points_in"}


def test_a_ring_may_be_the_first_thing_of_a_delivery(
    staff_client: Client, fitting: Fitting
) -> None:
    staff_client.post(address(fitting), sent(delivery=""))
    delivery = fitting.deliveries.get()
    assert delivery.pap_over_in == pytest.approx(5.0, abs=0.1)
    assert delivery.speed_mph is None


def test_the_ringed_row_is_saved_again_without_losing_its_ring(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    delivery = log(fitting)
    staff_client.post(address(fitting), sent(**of(delivery)))
    page = staff_client.get(f"/fittings/{fitting.pk}/").content.decode()
    row, _ = page.split('id="next"')
    assert 'name="speed_mph"' in row
    assert 'name="tilt_deg"' not in row
    typed = {"row_key": delivery.row_key, "record_version": 2, "speed_mph": "18"}
    staff_client.post(f"/fittings/{fitting.pk}/rows/", typed, headers=HTMX)
    delivery.refresh_from_db()
    assert delivery.speed_mph == 18
    assert delivery.raw["ring_points_in"] == POINTS
    assert delivery.pap_over_in == pytest.approx(5.0, abs=0.1)


def test_a_delivery_changed_meanwhile_is_told_of_before_its_numbers_are_replaced(
    staff_client: Client, fitting: Fitting, log: Log
) -> None:
    delivery = log(fitting, pap_over_in=4.0)
    form = sent(**of(delivery))
    delivery.pap_over_in = 4.5
    delivery.save_checked(delivery.version)
    page = staff_client.post(address(fitting), form)
    assert page.status_code == 200
    assert "changed this delivery" in page.content.decode()
    assert "PAP over 4.5" in page.content.decode()
    delivery.refresh_from_db()
    assert delivery.pap_over_in == 4.5
    again = {**form, "seen": page.context["form"]["seen"].value()}
    assert staff_client.post(address(fitting), again).status_code == 302
    delivery.refresh_from_db()
    assert delivery.pap_over_in == pytest.approx(5.0, abs=0.1)


def test_a_point_off_the_circle_is_named_and_nothing_typed_is_lost(
    staff_client: Client, fitting: Fitting
) -> None:
    wrong = [list(p) for p in POINTS]
    wrong[3] = [wrong[3][0] + 1.5, wrong[3][1]]
    page = staff_client.post(address(fitting), sent(wrong)).content.decode()
    assert "Point 4 must be points of one circle" in page
    assert "point 4 is the worst: measure it again, or leave it out" in page
    assert "points[" not in page
    assert f'name="point_4_over" value="{wrong[3][0]}"' in page
    assert not fitting.deliveries.exists()


def test_a_point_keeps_its_number_when_boxes_before_it_are_empty(
    staff_client: Client, fitting: Fitting
) -> None:
    boxes = sent()
    twin = {"point_4_over": boxes["point_2_over"], "point_4_up": boxes["point_2_up"]}
    three = {n: v for n, v in boxes.items() if n.startswith(("point_2", "point_3"))}
    page = staff_client.post(address(fitting), {**three, **twin}).content.decode()
    assert "Point 4 must be a point apart from point 2" in page


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"point_2_up": ""}, "Point 2: up is missing"),
        ({"point_2_up": "9"}, "Point 2 up must be between −6.75 and 6.75 in."),
        ({"point_1_over": "near"}, "Point 1 over must be a number"),
        ({"delivery": "999999"}, "choose a delivery of this fitting"),
    ],
)
def test_boxes_that_cannot_be_used_are_named(
    staff_client: Client, fitting: Fitting, changed: dict[str, Any], words: str
) -> None:
    page = staff_client.post(address(fitting), sent(**changed)).content.decode()
    assert words in page
    assert not fitting.deliveries.exists()


def test_too_few_points_are_refused(staff_client: Client, fitting: Fitting) -> None:
    page = staff_client.post(address(fitting), sent(POINTS[:2])).content.decode()
    assert "at least 3 points of the first ring; mark more of them" in page
    page = staff_client.post(address(fitting), {"point_1_over": ""}).content.decode()
    assert "at least 3 points of the first ring" in page


def test_the_circle_is_drawn_while_points_are_typed(staff_client: Client, fitting: Fitting) -> None:
    page = staff_client.get(address(fitting) + "derived/", sent(), headers=HTMX).content.decode()
    assert "PAP over 5.0" in page
    assert 'class="plate-ring"' in page
    assert page.count('class="plate-mark"') == 6
    assert not fitting.deliveries.exists()


def test_distances_from_the_grip_are_true_on_the_plate_and_mirrored_for_the_left() -> None:
    """An azimuthal equidistant map: so far on the ball is so far on the paper, whichever way."""
    reach = SCALE / RADIUS_IN
    right = plate([(1, 4.0, 0.0), (2, 0.0, 3.0), (3, 2.0, 2.0)], "right")
    left = plate([(1, 4.0, 0.0)], "left")
    assert (right.marks[0].x, right.marks[0].y) == pytest.approx((4 * reach, 0), abs=0.01)
    assert (right.marks[1].x, right.marks[1].y) == pytest.approx((0, -3 * reach), abs=0.01)
    # Two inches over, then two up at right angles: cos c = cos a cos b on the sphere.
    away = math.acos(math.cos(2 / RADIUS_IN) ** 2) * RADIUS_IN
    assert math.hypot(right.marks[2].x, right.marks[2].y) == pytest.approx(away * reach, abs=0.02)
    assert left.marks[0].x == pytest.approx(-4 * reach, abs=0.01)


def test_a_ring_about_an_impossible_pap_is_refused_with_the_range(
    staff_client: Client, fitting: Fitting
) -> None:
    near = marked((1.5, 0.5, 12.0), count=6, arc_deg=200)
    page = staff_client.post(address(fitting), sent(near, delivery="")).content.decode()
    assert "PAP over comes out at 1.5" in page
    assert "PAP over must be between 2 and 6.75 in. Measure the points again." in page
    assert not fitting.deliveries.exists()


def test_the_points_of_a_ring_stand_on_its_page_again(
    staff_client: Client, fitting: Fitting
) -> None:
    staff_client.post(address(fitting), sent(delivery=""))
    page = staff_client.get(address(fitting))
    values = [
        [read_number(str(one.value())) for one in two] for _, *two in page.context["form"].pairs
    ]
    assert values[:6] == POINTS
    assert values[6:] == [[None, None]] * 2
