"""A customer's grip, as staff record it."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from bowlers.engine_grip import grip_in_use, spans_both_ways
from bowlers.grips.models import Grip
from bowlers.grips.picture import picture
from bowlers.models import Bowler
from physics.errors import InputError
from tests.arsenal import records
from tests.bowlers.conftest import HTMX

TYPED = {
    "measured_on": "2026-05-03",
    "thumb": "in",
    "fingers": "fingertip",
    "span_edge": "drilled",
    "span_middle_in": "4 1/4",
    "span_ring_in": "4 3/8",
    "bridge_in": "1/4",
    "middle_hole_in": "31/32",
    "middle_depth_in": "1 3/4",
    "ring_hole_in": "31/32",
    "ring_depth_in": "1 3/4",
    "thumb_hole_in": "1",
    "thumb_depth_in": "2 3/4",
    "thumb_forward_in_size": "1/8",
    "thumb_forward_in_way": "away",
    "thumb_lateral_in_size": "1/16",
    "thumb_lateral_in_way": "left",
}


def adding(bowler: Bowler) -> str:
    return reverse("grip-add", args=[bowler.pk])


def stored(bowler: Bowler) -> Grip:
    found: Grip = Grip.objects.get(bowler=bowler)
    return found


def errors(response: Any) -> dict[str, list[str]]:
    return dict(response.context["form"].errors)


def test_a_grip_is_recorded_in_words_and_kept_in_signs(
    staff_client: Client, bowler: Bowler
) -> None:
    answer = staff_client.post(adding(bowler), TYPED)
    grip = stored(bowler)
    assert answer["Location"] == grip.get_absolute_url()
    assert (grip.span_middle_in, grip.span_ring_in, grip.bridge_in) == (4.25, 4.375, 0.25)
    # Away from the palm is reverse; the viewer's left is away from a right-hander's PAP.
    assert (grip.thumb_forward_in, grip.thumb_lateral_in) == (-0.125, -0.0625)
    page = staff_client.get(grip.get_absolute_url()).content.decode()
    assert "1/8 in away from the palm" in page
    assert "1/16 in to your left" in page


@pytest.mark.parametrize(("hand", "lateral_in"), [("right", -0.0625), ("left", 0.0625)])
def test_left_is_the_viewers_left_whatever_the_hand(
    staff_client: Client, bowler: Bowler, hand: str, lateral_in: float
) -> None:
    Bowler.objects.filter(pk=bowler.pk).update(hand=hand)
    staff_client.post(adding(bowler), TYPED)
    assert stored(bowler).thumb_lateral_in == lateral_in


def test_a_pitch_without_a_direction_is_asked_for_and_nothing_is_lost(
    staff_client: Client, bowler: Bowler
) -> None:
    typed = {**TYPED, "thumb_forward_in_way": "", "notes": "Née ✓", "bridge_in": "a quarter"}
    answer = staff_client.post(adding(bowler), typed)
    assert "toward the palm or away from the palm" in errors(answer)["thumb_forward_in_size"][0]
    assert "Bridge must be a number" in errors(answer)["bridge_in"][0]
    page = answer.content.decode()
    for text in ("a quarter", "Née ✓", "4 3/8"):
        assert text in page
    assert not Grip.objects.exists()


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"span_middle_in": "8"}, "span_middle_in", "between 0.5 and 6.5 in"),
        ({"span_ring_in": ""}, "span_ring_in", "Span of the ring finger is missing"),
        ({"thumb_hole_in": ""}, "thumb_hole_in", "Thumb, hole drilled in the ball is missing"),
        ({"thumb_inside_in": "1 1/8"}, "thumb_inside_in", "smaller than the hole"),
        ({"oval_width_in": "1"}, "oval_depth_in", "both its width and its depth"),
        ({"oval_width_in": "0.9", "oval_depth_in": "1"}, "oval_width_in", "swap them"),
        ({"oval_width_in": "1 1/8", "oval_depth_in": "1"}, "oval_width_in", "must fit the hole"),
        ({"span_ring_in": "6 1/4"}, "span_ring_in", "with this bridge"),
        (
            {"oval_width_in": "1", "oval_depth_in": "7/8", "thumb_inside_in": "3/4"},
            "thumb_inside_in",
            "The oval says what is inside",
        ),
        ({"measured_on": "2999-01-01"}, "measured_on", "in the future"),
        ({"measured_on": "1899-12-31"}, "measured_on", "in 1900 or later"),
        ({"measured_on": "soon"}, "measured_on", "must be a day"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    staff_client: Client, bowler: Bowler, changed: dict[str, str], field: str, words: str
) -> None:
    answer = staff_client.post(adding(bowler), {**TYPED, **changed})
    assert words in " ".join(errors(answer)[field])
    assert not Grip.objects.exists()


def test_what_is_unusual_is_asked_about_and_kept(staff_client: Client, bowler: Bowler) -> None:
    staff_client.post(adding(bowler), {**TYPED, "bridge_in": "1"})
    page = staff_client.get(stored(bowler).get_absolute_url()).content.decode()
    assert "Bridge 1 in: is that right?" in page


def test_an_oval_with_an_angle_is_kept_by_the_side_of_the_pap(
    staff_client: Client, bowler: Bowler
) -> None:
    Bowler.objects.filter(pk=bowler.pk).update(hand="left")
    typed = {
        **TYPED,
        "thumb_hole_in": "",
        "oval_width_in": "1 1/16",
        "oval_depth_in": "31/32",
        "oval_angle_deg_size": "20",
        "oval_angle_deg_way": "left",
    }
    staff_client.post(adding(bowler), typed)
    grip = stored(bowler)
    assert (grip.oval_width_in, grip.oval_depth_in, grip.oval_angle_deg) == (1.0625, 0.96875, 20)


def test_without_a_thumb_the_palm_mark_is_drawn_and_nothing_of_a_thumb_is_kept(
    staff_client: Client, bowler: Bowler
) -> None:
    typed = {**TYPED, "thumb": "none", "span_middle_in": "1 7/8", "span_ring_in": "2"}
    staff_client.post(adding(bowler), {**typed, "thumb_depth_in": "nonsense"})
    grip = stored(bowler)
    assert (grip.thumb_hole_in, grip.thumb_depth_in, grip.thumb_forward_in) == (None, None, 0)
    page = staff_client.get(grip.get_absolute_url()).content.decode()
    assert "palm mark" in page
    assert "scribe the palm’s centre with a plus" in page


def test_the_drawing_follows_what_is_typed_and_stores_nothing(
    staff_client: Client, bowler: Bowler
) -> None:
    address = reverse("grip-preview", args=[bowler.pk])
    half = {**TYPED, "bridge_in": ""}
    assert "Enter both spans" in staff_client.post(address, half, headers=HTMX).content.decode()
    drawn = staff_client.post(address, TYPED, headers=HTMX).content.decode()
    assert "<svg" in drawn
    # Common practice, no source: shown with its mark, never as law.
    assert "at a span of 4" in drawn
    assert "common practice, no source" in drawn
    assert not Grip.objects.exists()


def test_a_left_hander_sees_the_mirror_image_of_the_same_numbers(bowler: Bowler) -> None:
    grip = records.grip(bowler, thumb_lateral_in=0.125, thumb_forward_in=0.0625)
    right, left = picture(grip, "right"), picture(grip, "left")
    for one, other in zip(right.holes, left.holes, strict=True):
        assert (one.x, one.y) == (-other.x, other.y)
        assert one.arrow is None or other.arrow is not None
        if one.arrow and other.arrow:
            assert (one.arrow.x, one.arrow.y) == (-other.arrow.x, other.arrow.y)
    thumb = right.holes[2]
    assert thumb.arrow is not None
    # A right-hander's PAP lies to the viewer's right, and the palm above the thumb hole.
    assert thumb.arrow.x > thumb.x
    assert thumb.arrow.y < thumb.y


def test_a_new_grip_starts_from_the_last_one(staff_client: Client, bowler: Bowler) -> None:
    records.grip(bowler, thumb_forward_in=-0.125, measured_on=datetime.date(2026, 1, 5))
    page = staff_client.get(adding(bowler))
    assert page.context["form"]["span_ring_in"].value() == "4.375"
    assert 'value="4 3/8"' in page.content.decode()
    assert page.context["form"]["thumb_forward_in_way"].value() == "away"
    assert "the grip of 5 January 2026" in page.content.decode()


def test_a_grip_that_hurts_isnt_copied_until_something_changes(
    staff_client: Client, bowler: Bowler
) -> None:
    records.grip(
        bowler,
        thumb_forward_in=-0.125,
        thumb_lateral_in=-0.0625,
        hurts="base of the thumb",
        hurts_words="after two games",
        measured_on=datetime.date(2026, 1, 5),
    )
    page = staff_client.get(adding(bowler)).content.decode()
    assert "it hurt: base of the thumb (“after two games”)" in page
    assert "see a medical professional" in page
    typed = {**TYPED, "hurts_at": ["base of the thumb"]}

    stopped = staff_client.post(adding(bowler), typed)
    assert "isn’t copied as it is" in errors(stopped)["to_change"][0]
    said = {**typed, "to_change": "Less pitch away from the palm"}
    unchanged = staff_client.post(adding(bowler), said)
    assert "Every number is still that of the grip that hurts" in str(errors(unchanged))
    assert Grip.objects.count() == 1

    staff_client.post(adding(bowler), {**said, "thumb_forward_in_size": "0"})
    newest = Grip.objects.newest_first().first()
    assert newest is not None
    assert (newest.hurts, newest.thumb_forward_in) == ("base of the thumb", 0)
    assert not newest.stops_copying


def test_a_pain_that_is_gone_is_unticked_and_the_grip_copied(
    staff_client: Client, bowler: Bowler
) -> None:
    records.grip(bowler, hurts="wrist", measured_on=datetime.date(2026, 1, 5))
    staff_client.post(adding(bowler), TYPED)
    assert Grip.objects.count() == 2


def test_earlier_grips_stand_beside_with_the_change_in_each(
    staff_client: Client, bowler: Bowler
) -> None:
    records.grip(
        bowler, span_middle_in=4.125, thumb_forward_in=0.125, measured_on=datetime.date(2025, 1, 5)
    )
    now = records.grip(bowler, thumb_forward_in=-0.0625)
    page = staff_client.get(now.get_absolute_url()).content.decode()
    assert "+1/8 in" in page
    assert "3/16 in further away from the palm" in page
    assert "5 Jan 2025" in page


def test_a_growing_hand_is_pointed_out(staff_client: Client, bowler: Bowler) -> None:
    Bowler.objects.filter(pk=bowler.pk).update(born=datetime.date.today().year - 12)
    records.grip(bowler, measured_on=datetime.date(2026, 1, 5), span_middle_in=4, span_ring_in=4)
    now = records.grip(bowler, measured_on=datetime.date(2026, 5, 5))
    page = staff_client.get(now.get_absolute_url()).content.decode()
    assert "spans up by 1/4 in and 3/8 in in 120 days" in page


def test_a_grip_is_put_right_with_its_history(staff_client: Client, bowler: Bowler) -> None:
    grip = records.grip(bowler)
    address = reverse("grip-edit", args=[grip.pk])
    page = staff_client.get(address)
    typed = {**TYPED, "record_version": page.context["form"]["record_version"].value()}
    staff_client.post(address, {**typed, "bridge_in": "5/16"})
    grip.refresh_from_db()
    assert grip.bridge_in == 0.3125
    shown = staff_client.get(grip.get_absolute_url()).content.decode()
    assert "Bridge: 0.25 to 0.3125" in shown


def test_a_grip_for_another_way_of_holding_the_ball_is_said_to_be_so(
    staff_client: Client, bowler: Bowler
) -> None:
    grip = records.grip(bowler)
    assert grip_in_use(bowler) == grip
    Bowler.objects.filter(pk=bowler.pk).update(thumb="none")
    bowler.refresh_from_db()
    assert grip_in_use(bowler) is None
    page = staff_client.get(grip.get_absolute_url()).content.decode()
    assert "holds the ball otherwise now" in page
    assert "measure it again" in staff_client.get(bowler.get_absolute_url()).content.decode()


def test_the_customers_page_leads_to_the_grip(staff_client: Client, bowler: Bowler) -> None:
    page = staff_client.get(bowler.get_absolute_url()).content.decode()
    assert reverse("grips", args=[bowler.pk]) in page
    empty = staff_client.get(reverse("grips", args=[bowler.pk])).content.decode()
    assert "No grip on record yet" in empty
    grip = records.grip(bowler)
    assert staff_client.get(reverse("grips", args=[bowler.pk]))["Location"] == (
        grip.get_absolute_url()
    )


def test_the_same_form_sent_twice_is_one_grip(staff_client: Client, bowler: Bowler) -> None:
    token = records.token_in(staff_client.get(adding(bowler)))
    for _ in range(2):
        staff_client.post(adding(bowler), {**TYPED, "form_token": token})
    assert Grip.objects.count() == 1


def test_half_an_oval_that_is_no_number_is_told_once(staff_client: Client, bowler: Bowler) -> None:
    typed = {**TYPED, "oval_width_in": "15/16", "oval_depth_in": "deep"}
    answer = staff_client.post(adding(bowler), typed)
    (said,) = errors(answer)["oval_depth_in"]
    assert "must be a number" in said


def test_a_long_oval_is_asked_about_and_kept(staff_client: Client, bowler: Bowler) -> None:
    typed = {**TYPED, "thumb_hole_in": "", "oval_width_in": "1 1/4", "oval_depth_in": "7/8"}
    staff_client.post(adding(bowler), typed)
    page = staff_client.get(stored(bowler).get_absolute_url()).content.decode()
    assert "Oval 3/8 in wider than deep: is that right?" in page


@pytest.mark.parametrize(
    "earlier",
    [{"span_edge": "held"}, {"span_middle_in": 4.25, "span_ring_in": 4.375}],
    ids=["measured otherwise", "not grown"],
)
def test_a_hand_that_can_t_be_seen_to_grow_is_not_said_to(
    staff_client: Client, bowler: Bowler, earlier: dict[str, Any]
) -> None:
    Bowler.objects.filter(pk=bowler.pk).update(born=datetime.date.today().year - 12)
    spans = {"span_middle_in": 4, "span_ring_in": 4, **earlier}
    records.grip(bowler, measured_on=datetime.date(2026, 1, 5), **spans)
    now = records.grip(bowler, measured_on=datetime.date(2026, 5, 5))
    page = staff_client.get(now.get_absolute_url()).content.decode()
    assert "A growing hand" not in page


def test_a_thumb_without_its_hole_has_no_spans_to_be_turned_over(bowler: Bowler) -> None:
    grip = records.grip(bowler, thumb_hole_in=None)
    with pytest.raises(InputError, match="the size and depth of its hole"):
        spans_both_ways(grip)
