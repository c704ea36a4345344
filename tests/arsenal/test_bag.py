"""A customer's bag, as staff keep it."""

from __future__ import annotations

import importlib
from types import SimpleNamespace
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.db.models import F
from django.test import Client
from django.urls import reverse

from arsenal import engine
from arsenal.models import BallSpec, Hole, OwnedBall, StockBall
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records

LAYOUTS = {
    "angles": {"drilling_angle_deg": "45", "pin_to_pap_in": "4", "val_angle_deg": "40"},
    "buffer": {
        "pin_to_pap_in": "4",
        "psa_to_pap_in": "4.158",
        "pin_buffer_in": "2.328",
        "val_branch": "below_90",
    },
    "read_off": {
        "pin_over_in": "1.651",
        "pin_up_in": "3.211",
        "psa_over_in": "3.32",
        "psa_up_in": "−3.37",
    },
}


@pytest.fixture
def bowler(shop: Shop) -> Bowler:
    return records.customer(shop)


@pytest.fixture
def spec(shop: Shop) -> BallSpec:
    return records.ball_model(shop, weights=(15, 14)).specs.get(weight_lb=15)


@pytest.fixture
def adding(bowler: Bowler, spec: BallSpec) -> str:
    return f"{reverse('bag-add', args=[bowler.pk])}?spec={spec.pk}"


def sent(page: Any, notation: str = "angles", **changes: str) -> dict[str, Any]:
    """The form as offered, with label, PAP and a layout typed in."""
    values = records.form_values(page, page.context["form"], page.context["holes"])
    typed = {f"{notation}_{name}": value for name, value in LAYOUTS[notation].items()}
    return {
        **values,
        "label_weight_oz": "2",
        "top_weight_oz": "3",
        "pin_to_cg_in": "2.5",
        "pap_over_in": "5",
        "pap_up_in": "0.5",
        "layout_notation": notation,
        **typed,
        **changes,
    }


def test_a_ball_is_added_from_the_catalogue(
    staff_client: Client, bowler: Bowler, spec: BallSpec, adding: str
) -> None:
    picker = staff_client.get(reverse("bag-add", args=[bowler.pk])).content.decode()
    assert f"?spec={spec.pk}" in picker
    values = sent(staff_client.get(adding), nickname="Ålder ✓", role="benchmark", notes="Née 2019")
    answer = staff_client.post(adding, values)
    ball = OwnedBall.objects.get()
    assert answer.url == ball.get_absolute_url()  # type: ignore[attr-defined]
    assert (ball.shop, ball.bowler, ball.spec) == (bowler.shop, bowler, spec)
    assert ball.layout_numbers == {
        "drilling_angle_deg": 45,
        "pin_to_pap_in": 4,
        "val_angle_deg": 40,
    }
    assert ball.history.count() == 1
    assert Hole.history.count() == 3
    text = staff_client.get(ball.get_absolute_url()).content.decode()
    assert "Ålder ✓" in text
    assert "Take care." in text


@pytest.mark.parametrize("notation", ["angles", "buffer", "read_off"])
def test_a_layout_is_shown_in_all_three_notations_whichever_was_typed(
    staff_client: Client, adding: str, notation: str
) -> None:
    """The row 5 over, 0.5 up, 4 in, 40°, 45°: vectors and closed forms of the sphere."""
    staff_client.post(adding, sent(staff_client.get(adding), notation))
    ball = OwnedBall.objects.get()
    page = staff_client.get(ball.get_absolute_url())
    layout = page.context["drilled"].numbers["layout"]
    # Two hundredths: the numbers typed are themselves rounded, marks to a hundredth of an inch.
    for name, value in {
        "drilling_angle_deg": 45,
        "pin_to_pap_in": 4,
        "val_angle_deg": 40,
        "pin_buffer_in": 2.328,
        "psa_to_pap_in": 4.158,
        "pin_over_in": 1.651,
        "pin_up_in": 3.211,
        "psa_over_in": 3.32,
        "psa_up_in": -3.37,
    }.items():
        assert layout[name] == pytest.approx(value, abs=0.2 if "deg" in name else 0.02), name
    assert page.content.decode().count("as typed") == 1
    edit = staff_client.get(reverse("owned-ball-edit", args=[ball.pk]))
    for name, typed in LAYOUTS[notation].items():
        shown = edit.context["form"][f"{notation}_{name}"].value()
        assert str(shown).replace("-", "−") == typed.replace("-", "−")


@pytest.mark.parametrize(
    ("notation", "changes", "field", "says"),
    [
        ("angles", {"pin_to_pap_in": ""}, "angles_pin_to_pap_in", "Pin to PAP is missing"),
        ("angles", {"pin_to_pap_in": "0"}, "angles_pin_to_pap_in", "Pin to PAP must be more than"),
        ("angles", {"pin_to_pap_in": "50"}, "angles_pin_to_pap_in", "between 0 and 13.5 in"),
        ("angles", {"val_angle_deg": "1e9"}, "angles_val_angle_deg", "VAL angle must be a number"),
        ("angles", {"drilling_angle_deg": "nan"}, "angles_drilling_angle_deg", "must be a number"),
        ("buffer", {"val_branch": ""}, "buffer_val_branch", "below or above 90°"),
        ("buffer", {"pin_buffer_in": "4.5"}, "buffer_pin_buffer_in", "from -4.000 to 4.000"),
        ("buffer", {"psa_to_pap_in": "1"}, "buffer_psa_to_pap_in", "from 2.750 to 10.7"),
        ("read_off", {"psa_over_in": "-4"}, "read_off_psa_over_in", "within 1.5 in of a quarter"),
    ],
)
def test_a_layout_that_cannot_be_is_refused_at_its_field_and_kept(
    staff_client: Client,
    adding: str,
    notation: str,
    changes: dict[str, str],
    field: str,
    says: str,
) -> None:
    typed = {f"{notation}_{name}": value for name, value in changes.items()}
    page = staff_client.post(adding, sent(staff_client.get(adding), notation, **typed))
    assert says in " ".join(page.context["form"].errors[field])
    for name, value in LAYOUTS[notation].items():
        assert page.context["form"][f"{notation}_{name}"].value() == changes.get(name, value)
    assert not OwnedBall.objects.exists()
    assert not Hole.objects.exists()


def test_what_is_typed_in_another_notation_is_kept_and_not_asked_for(
    staff_client: Client, adding: str
) -> None:
    values = sent(staff_client.get(adding), angles_val_angle_deg="", read_off_pin_up_in="abc")
    page = staff_client.post(adding, values)
    form = page.context["form"]
    assert set(form.errors) == {"angles_val_angle_deg"}
    assert form["read_off_pin_up_in"].value() == "abc"


@pytest.mark.parametrize(
    ("changes", "where", "says"),
    [
        ({"pap_over_in": "9"}, "pap_over_in", "PAP over must be between 2 and 6.75 in."),
        ({"pap_up_in": "-9"}, "pap_up_in", "PAP up must be between −2.5 and 2.5 in."),
        ({"label_weight_lb": "10"}, "label_weight_lb", "the ball chosen is 15 lb"),
        ({"top_weight_oz": "3lbs"}, "top_weight_oz", "Top weight must be"),
        ({"games_since_finish": "-1"}, "games_since_finish", "must be between 0 and 2000"),
    ],
)
def test_an_absurd_number_is_refused_with_its_range(
    staff_client: Client, adding: str, changes: dict[str, str], where: str, says: str
) -> None:
    page = staff_client.post(adding, sent(staff_client.get(adding), **changes))
    assert says in " ".join(page.context["form"].errors[where])
    assert not OwnedBall.objects.exists()


@pytest.mark.parametrize(
    ("changes", "row", "where", "says"),
    [
        ({"holes-0-depth_in": "5"}, 0, "depth_in", "Depth must be between 0.25 and 4.25 in."),
        ({"holes-0-depth_in": "9"}, 0, "depth_in", "comes out at the far side"),
        ({"holes-1-over_in": "-0.3"}, 1, "over_in", "at the surface they overlap"),
        ({"holes-2-longer_in": "3/4"}, 2, "longer_in", "Leave it empty for a round hole"),
        ({"holes-0-sleeve": "insert"}, 0, "inside_in", "how wide the sleeve is open"),
        ({"holes-0-inside_in": "3/4"}, 0, "sleeve", "an insert or a slug"),
        (
            {"holes-0-sleeve": "insert", "holes-0-inside_in": "1 1/4"},
            0,
            "inside_in",
            "less than the hole",
        ),
        (
            {"holes-2-sleeve": "slug", "holes-2-inside_in": "3/4", "holes-2-longer_in": "5/8"},
            2,
            "longer_in",
            "more than what is open inside",
        ),
        (
            {"holes-2-sleeve": "slug", "holes-2-inside_in": "3/4", "holes-2-longer_in": "1 1/8"},
            2,
            "longer_in",
            "less than the hole",
        ),
        ({"holes-2-diameter_in": ""}, 2, "diameter_in", "Diameter is missing"),
        ({"holes-1-kind": "middle"}, 1, "kind", "has a middle finger hole already"),
        (
            {"holes-1-over_in": "0", "holes-1-up_in": "0", "holes-1-pitch_forward_in": "1/8"},
            1,
            None,
            "must be",
        ),
    ],
)
def test_a_hole_that_cannot_be_is_refused_on_its_row(
    staff_client: Client,
    adding: str,
    changes: dict[str, str],
    row: int,
    where: str | None,
    says: str,
) -> None:
    page = staff_client.post(adding, sent(staff_client.get(adding), **changes))
    errors = page.context["holes"].forms[row].errors
    assert says in " ".join(str(e) for e in (errors[where] if where else errors.values()))
    assert "Not saved yet" in page.content.decode()
    assert not OwnedBall.objects.exists()


def test_a_new_ball_starts_from_the_fitting_and_from_the_last_ball(
    staff_client: Client, bowler: Bowler, spec: BallSpec, adding: str
) -> None:
    page = staff_client.get(adding)
    assert "measure the customer" in page.content.decode()
    assert [h["kind"].value() for h in page.context["holes"]] == ["middle", "ring", "thumb"]
    assert page.context["form"]["pap_over_in"].value() is None
    records.fitting(bowler)
    ball = records.owned_ball(bowler, spec)
    ball.holes.filter(kind="ring").update(depth_in=1.5)
    page = staff_client.get(adding)
    assert page.context["form"]["pap_over_in"].value() == "5.25"
    assert [h["depth_in"].value() for h in page.context["holes"]] == ["1.75", "1.5", "2.75"]
    assert "Copied from" in page.content.decode()


@pytest.mark.parametrize(
    ("fingers", "thumb", "kinds"),
    [
        ("fingertip", "in", {"middle", "ring", "thumb"}),
        ("conventional", "in", {"middle", "ring", "thumb"}),
        ("semi", "in", {"middle", "ring", "thumb"}),
        ("fingertip", "none", {"middle", "ring"}),
    ],
)
def test_a_starting_grip_can_be_drilled(
    staff_client: Client, shop: Shop, spec: BallSpec, fingers: str, thumb: str, kinds: set[str]
) -> None:
    bowler = records.customer(shop, fingers=fingers, thumb=thumb)
    address = f"{reverse('bag-add', args=[bowler.pk])}?spec={spec.pk}"
    staff_client.post(address, sent(staff_client.get(address)))
    assert {h.kind for h in OwnedBall.objects.get().holes.all()} == kinds


def test_a_shelf_ball_brings_its_label_and_is_sold_with_the_bag(
    staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    stock = records.stock_ball(bowler.shop, spec, serial="XY-9", top_weight_oz=2.25)
    address = f"{reverse('bag-add', args=[bowler.pk])}?stock={stock.pk}"
    page = staff_client.get(address)
    assert page.context["form"]["serial"].value() == "XY-9"
    wrong = staff_client.post(address, sent(page, angles_pin_to_pap_in="0"))
    assert wrong.status_code == 200
    assert StockBall.objects.get().state == "shelf"
    values = sent(page)
    staff_client.post(address, values)
    staff_client.post(address, values)
    assert StockBall.objects.get().state == "sold"
    assert OwnedBall.objects.count() == 1
    assert staff_client.get(address).status_code == 404


def test_a_shelf_ball_changed_meanwhile_is_told_and_nothing_is_added(
    staff_client: Client, bowler: Bowler, spec: BallSpec, monkeypatch: pytest.MonkeyPatch
) -> None:
    stock = records.stock_ball(bowler.shop, spec)
    address = f"{reverse('bag-add', args=[bowler.pk])}?stock={stock.pk}"
    values = sent(staff_client.get(address))
    numbers = engine.drilled_numbers

    def meanwhile(*about: Any) -> dict[str, Any]:
        StockBall.objects.update(version=F("version") + 1)
        return numbers(*about)

    monkeypatch.setattr(engine, "drilled_numbers", meanwhile)
    answer = staff_client.post(address, values)
    assert "changed or sold meanwhile: pick it again" in answer.content.decode()
    assert not OwnedBall.objects.exists()
    assert StockBall.objects.get().state == "shelf"


def test_without_a_notation_no_layout_is_guessed(staff_client: Client, adding: str) -> None:
    page = staff_client.post(adding, sent(staff_client.get(adding), layout_notation=""))
    assert page.context["form"].errors["layout_notation"]
    assert not OwnedBall.objects.exists()


def test_an_oval_thumb_with_a_slug_and_fingers_with_inserts_are_kept(
    staff_client: Client, adding: str
) -> None:
    holes = {
        "holes-0-sleeve": "insert",
        "holes-0-inside_in": "3/4",
        "holes-2-longer_in": "1 1/8",
        "holes-2-oval_angle_deg": "-20",
    }
    staff_client.post(adding, sent(staff_client.get(adding), **holes))
    ball = OwnedBall.objects.with_drilling().get()
    finger, thumb = ball.holes.get(kind="middle"), ball.holes.get(kind="thumb")
    assert (finger.sleeve, finger.inside_in) == ("insert", 0.75)
    # A ring of sleeve is put back: what is missing is the open share of the hole.
    assert finger.density_g_cm3 == pytest.approx(1.2 * (0.75 / finger.diameter_in) ** 2, abs=1e-4)
    assert (thumb.longer_in, thumb.oval_angle_deg) == (1.125, -20)
    found = engine.drilled_numbers(ball)
    ball.holes.filter(kind="thumb").update(longer_in=0)
    round_thumb = engine.drilled_numbers(OwnedBall.objects.with_drilling().get())
    # π/4 · (1 1/8 − 1) · 1 · 2 3/4 in³ of 1.2 g/cm³.
    missing_kg = 3.14159 / 4 * 0.125 * 1.0 * 2.75 * 16.387 * 1.2e-3
    assert round_thumb["mass_kg"] - found["mass_kg"] == pytest.approx(missing_kg, rel=1e-3)


def test_a_cg_that_lies_off_the_line_moves_the_statics_and_mirrors_with_the_hand(
    staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    on_line, right, left = (
        records.owned_ball(bowler, spec, cg_off_line_in=off) for off in (0.0, 1.0, -1.0)
    )

    def side(ball: OwnedBall) -> float:
        fresh = OwnedBall.objects.with_drilling().get(pk=ball.pk)
        return float(engine.drilled_numbers(fresh)["static_oz"]["side"])

    assert side(right) != pytest.approx(side(on_line), abs=0.1)
    # Three ounces of top weight an inch off the line lie 3 sin(13.33°) = 0.69 oz to its side.
    apart = abs(side(right) - side(left))
    assert 0.5 < apart < 2 * 0.70
    found = side(right)
    Bowler.objects.filter(pk=bowler.pk).update(hand="left")
    assert side(left) == pytest.approx(found)


def test_a_cg_farther_off_the_line_than_from_the_pin_is_refused(
    staff_client: Client, adding: str
) -> None:
    page = staff_client.post(adding, sent(staff_client.get(adding), cg_off_line_in="3"))
    assert "same CG mark" in " ".join(page.context["form"].errors["cg_off_line_in"])
    assert not OwnedBall.objects.exists()


def test_a_double_click_adds_one_ball(staff_client: Client, adding: str) -> None:
    values = sent(staff_client.get(adding))
    first, second = staff_client.post(adding, values), staff_client.post(adding, values)
    assert first.url == second.url  # type: ignore[attr-defined]
    assert (OwnedBall.objects.count(), Hole.objects.count()) == (1, 3)


def test_an_edit_keeps_history_of_ball_and_holes(
    staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    ball = records.owned_ball(bowler, spec)
    address = reverse("owned-ball-edit", args=[ball.pk])
    page = staff_client.get(address)
    values = records.form_values(page, page.context["form"], page.context["holes"])
    staff_client.post(
        address,
        values | {"finish": "500", "holes-2-pitch_forward_in": "-1/8", "holes-1-DELETE": "on"},
    )
    ball.refresh_from_db()
    assert (ball.finish, ball.version) == ("500", 2)
    assert [h.kind for h in ball.holes.all()] == ["middle", "thumb"]
    text = staff_client.get(ball.get_absolute_url()).content.decode()
    assert "1/8 reverse" in text
    assert "Finish: 2000 to 500" in text
    assert "Ring finger: deleted" in text


def test_a_stale_edit_is_told_and_changes_no_hole(
    staff_client: Client, second_staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    ball = records.owned_ball(bowler, spec)
    address = reverse("owned-ball-edit", args=[ball.pk])
    mine, theirs = staff_client.get(address), second_staff_client.get(address)
    parts = [theirs.context[name] for name in ("form", "holes")]
    second_staff_client.post(address, records.form_values(theirs, *parts) | {"finish": "500"})
    values = records.form_values(mine, *(mine.context[name] for name in ("form", "holes")))
    page = staff_client.post(address, values | {"finish": "360", "holes-0-depth_in": "2"})
    assert "after you opened it" in page.content.decode()
    assert page.context["form"]["finish"].value() == "360"
    ball.refresh_from_db()
    assert (ball.finish, ball.holes.get(kind="middle").depth_in) == ("500", 1.75)


def test_a_ball_is_retired_and_brought_back(
    staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    ball = records.owned_ball(bowler, spec)
    address = reverse("owned-ball-retire", args=[ball.pk])
    staff_client.post(address, {"record_version": "1", "retired": "1"})
    page = staff_client.get(reverse("bag", args=[bowler.pk]))
    assert [d.ball.pk for d in page.context["retired"]] == [ball.pk]
    assert "Every ball here is retired" in page.content.decode()
    stale = staff_client.post(address, {"record_version": "1", "retired": "0"}, follow=True)
    assert "was changed meanwhile" in stale.content.decode()
    staff_client.post(address, {"record_version": "2", "retired": "0"})
    assert OwnedBall.objects.in_use().count() == 1


def test_pin_up_and_pin_down_differ_as_holes_near_the_pin_say(
    staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    """Common direction of the trade: holes near the pin lower the drilled differential."""
    up = records.owned_ball(bowler, spec)
    down = records.owned_ball(
        bowler,
        spec,
        layout_numbers={"drilling_angle_deg": 45.0, "pin_to_pap_in": 4.0, "val_angle_deg": 75.0},
    )
    found = {
        ball.pk: engine.drilled_numbers(OwnedBall.objects.with_drilling().get(pk=ball.pk))
        for ball in (up, down)
    }
    assert found[up.pk]["differential_in"] != pytest.approx(found[down.pk]["differential_in"])
    text = staff_client.get(reverse("bag", args=[bowler.pk])).content.decode()
    for numbers in found.values():
        assert f"{numbers['differential_in']:.3f}" in text


def test_a_record_the_engine_refuses_is_told_and_can_be_put_right(
    staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    ball = records.owned_ball(bowler, spec, layout_numbers={"drilling_angle_deg": 45.0})
    for address in (ball.get_absolute_url(), reverse("bag", args=[bowler.pk])):
        text = staff_client.get(address).content.decode()
        assert "be computed: " in text
        assert reverse("owned-ball-edit", args=[ball.pk]) in text
    assert staff_client.get(reverse("owned-ball-edit", args=[ball.pk])).status_code == 200


def test_the_bag_costs_the_same_queries_however_full(
    staff_client: Client, bowler: Bowler, spec: BallSpec, django_assert_num_queries: Any
) -> None:
    records.fitting(bowler)
    for _ in range(4):
        records.owned_ball(bowler, spec)
    # Session, user, membership; customer, balls with their models, holes now and before, readings
    # of hardness and size; fitting and deliveries.
    with django_assert_num_queries(13):
        staff_client.get(reverse("bag", args=[bowler.pk]))


def test_flare_and_clearance_of_the_track_need_a_fitting(
    staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    ball = records.owned_ball(bowler, spec)
    assert "known once a fitting is finished" in (
        staff_client.get(ball.get_absolute_url()).content.decode()
    )
    records.fitting(bowler, tilt_deg=12.0)
    page = staff_client.get(ball.get_absolute_url())
    numbers = page.context["drilled"].numbers
    for (hole, clearance), row in zip(
        page.context["drilled"].holes, numbers["clearance_in"], strict=True
    ):
        assert clearance == row["clearance_in"]
        assert str(hole).lower().startswith(row["hole"][:4])
        assert f"<td>{clearance:.2f}</td>".replace("-", "−") in page.content.decode()
    assert "Flare, an estimate" in page.content.decode()


def test_a_track_over_a_hole_is_warned_of(
    staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    """Full roller, the whole circumference between thumb and fingers: tilt 0, PAP 6 3/4 over."""
    records.fitting(bowler, tilt_deg=0.0, pap_over_in=6.75, pap_up_in=0.0)
    ball = records.owned_ball(bowler, spec, pap_over_in=6.75, pap_up_in=0.0)
    ball.holes.filter(kind="thumb").update(over_in=0.0, up_in=-0.2)
    text = staff_client.get(ball.get_absolute_url()).content.decode()
    assert "track runs over the thumb hole" in text
    assert "mark-warn" in text


def test_another_shop_finds_nothing_and_strangers_sign_in(
    staff_client: Client,
    other_staff_client: Client,
    stranger: Client,
    bowler: Bowler,
    spec: BallSpec,
    adding: str,
) -> None:
    ball = records.owned_ball(bowler, spec)
    for address in (
        reverse("bag", args=[bowler.pk]),
        adding,
        ball.get_absolute_url(),
        reverse("owned-ball-edit", args=[ball.pk]),
    ):
        assert staff_client.get(address).status_code == 200, address
        assert other_staff_client.get(address).status_code == 404, address
        assert "/sign-in/" in stranger.get(address).url  # type: ignore[attr-defined]
    retire = reverse("owned-ball-retire", args=[ball.pk])
    assert other_staff_client.post(retire, {"record_version": "1"}).status_code == 404


def test_a_spec_of_another_shop_cannot_be_put_in_a_bag(
    staff_client: Client, bowler: Bowler, other_shop: Shop, adding: str
) -> None:
    theirs = records.ball_model(other_shop).specs.get()
    address = f"{reverse('bag-add', args=[bowler.pk])}?spec={theirs.pk}"
    assert staff_client.get(address).status_code == 404
    page = staff_client.post(adding, sent(staff_client.get(adding), spec=str(theirs.pk)))
    assert "spec" in page.context["form"].errors


def test_the_customer_page_counts_balls_and_conditions(
    staff_client: Client, bowler: Bowler, spec: BallSpec
) -> None:
    page = staff_client.get(bowler.get_absolute_url()).content.decode()
    assert reverse("bag-add", args=[bowler.pk]) in page
    assert "No conditions yet" in page
    records.owned_ball(bowler, spec)
    page = staff_client.get(bowler.get_absolute_url()).content.decode()
    assert "1 ball in use." in page


def test_oil_and_cleaning_left_empty_are_as_long_ago_as_the_finish(
    staff_client: Client, adding: str
) -> None:
    page = staff_client.get(adding)
    assert page.context["form"]["games_since_oil_drawn"].value() is None
    staff_client.post(adding, sent(page, games_since_finish="30", games_since_cleaned="4"))
    ball = OwnedBall.objects.get()
    assert (ball.games_since_finish, ball.games_since_oil_drawn) == (30, 30)
    assert ball.games_since_cleaned == 4


def test_games_out_of_range_are_refused_by_name(staff_client: Client, adding: str) -> None:
    page = staff_client.post(adding, sent(staff_client.get(adding), games_since_oil_drawn="-2"))
    assert "must be between 0 and 2000" in str(page.context["form"].errors["games_since_oil_drawn"])
    assert not OwnedBall.objects.exists()


def test_a_ball_stored_with_one_count_goes_on_from_it_in_all_three(
    bowler: Bowler, spec: BallSpec
) -> None:
    ball = records.owned_ball(bowler, spec, games_since_finish=37)
    moved = importlib.import_module("arsenal.migrations.0002_care_games")
    moved.count_from_the_finish(apps, SimpleNamespace(connection=connection))
    ball.refresh_from_db()
    assert (ball.games_since_oil_drawn, ball.games_since_cleaned) == (37, 37)
    assert ball.history.get().games_since_oil_drawn == 37


@pytest.fixture
def stored(bowler: Bowler, spec: BallSpec) -> OwnedBall:
    return records.owned_ball(bowler, spec)


def test_two_holes_change_places(staff_client: Client, stored: OwnedBall) -> None:
    """Each takes the other's name: no hole is lost, and neither is refused for the other."""
    address = reverse("owned-ball-edit", args=[stored.pk])
    page = staff_client.get(address)
    values = records.form_values(page, page.context["form"], page.context["holes"])
    other = {"middle": "ring", "ring": "middle"}
    swapped = {
        name: other[value]
        for name, value in values.items()
        if name.endswith("-kind") and value in other
    }
    before = {hole.kind: hole.over_in for hole in stored.holes.all()}
    assert staff_client.post(address, values | swapped).status_code == 302
    after = {hole.kind: hole.over_in for hole in stored.holes.all()}
    assert after == before | {"middle": before["ring"], "ring": before["middle"]}


def test_a_kind_of_hole_that_is_stored_is_not_stored_twice(
    staff_client: Client, stored: OwnedBall
) -> None:
    """Nor by a form that doesn't speak of the row that has it."""
    address = reverse("owned-ball-edit", args=[stored.pk])
    page = staff_client.get(address)
    form = page.context["holes"]
    values = records.form_values(page, page.context["form"], form)
    values |= {"holes-TOTAL_FORMS": "1", "holes-INITIAL_FORMS": "1", "holes-0-kind": "ring"}
    answer = staff_client.post(address, values)
    assert answer.status_code == 200
    assert "has a ring finger hole already" in answer.content.decode()
    assert stored.holes.count() == 3
