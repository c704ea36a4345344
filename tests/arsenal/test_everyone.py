"""Everybody's screens, from the customer's page to the next ball, without an error and with sense.

The demo's own customers, and the engine's own answers for them; the catalogue is cut down to a few
balls, so that seven rankings take seconds.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.db.transaction import atomic, set_rollback
from django.test import Client
from django.urls import reverse

from arsenal.advice import services
from arsenal.advice.run import compute
from arsenal.demo.people import (
    FULL_ROLLER,
    JUNIOR,
    LEFT,
    NOTHING_YET,
    PEOPLE,
    SENIOR,
    TILTED,
    TWO_HANDS,
    YOUTH,
)
from arsenal.models import BallModel, Hole, Ranking, StockBall
from bowlers.grips.picture import picture
from bowlers.grips.services import latest_grip
from bowlers.models import Bowler, Grip

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

COMPLETE = (LEFT, TWO_HANDS, YOUTH, FULL_ROLLER, TILTED, JUNIOR, SENIOR)
# Of every weight on these screens: a strong one, a weak one, and polyester for spares.
CATALOGUE = ("Hornbeam", "Grey Alder", "Rowan", "Hazel")
PAGES_OF_A_CUSTOMER = (
    *("customer", "customer-edit", "fitting-add", "grips", "grip-add", "bag", "bag-add"),
    *("customer-conditions", "gaps", "next-ball", "afterwards"),
)


@pytest.fixture(scope="module", autouse=True)
def loaded(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """The demo with a short catalogue, loaded once for all these tests and taken back."""
    with django_db_blocker.unblock():
        transaction = atomic()
        transaction.__enter__()
        try:
            call_command("demo", verbosity=0)
            BallModel.objects.exclude(name__in=CATALOGUE).update(orderable=False)
            StockBall.objects.update(state="sold")
            for person in COMPLETE:
                bowler = Bowler.objects.get(name=person.name)
                question = services.question_for(bowler)
                ranking = services.request_ranking(
                    bowler=bowler, question=question, user=None, in_line=False
                )
                compute(ranking_id=ranking.pk)
            yield
        finally:
            set_rollback(True)
            transaction.__exit__(None, None, None)


@dataclass(frozen=True)
class Screens:
    """What somebody at the counter reads of one customer, by the page's name."""

    bowler: Bowler
    markup: dict[str, str]

    def newest_grip(self) -> Grip:
        found = latest_grip(self.bowler)
        assert found is not None
        return found

    def text(self, name: str) -> str:
        """The words of a page, drawings and scripts left out."""
        bare = re.sub(r"<(svg|script|style)\b.*?</\1>", " ", self.markup[name], flags=re.S)
        return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", bare)).split())


Walk = Callable[[str], Screens]


@pytest.fixture
def walk(sign_in: Callable[[User], Client]) -> Walk:
    client = sign_in(User.objects.get(username="demo-counter"))

    def walked(name: str) -> Screens:
        bowler = Bowler.objects.get(name=name)
        addresses = {page: reverse(page, args=[bowler.pk]) for page in PAGES_OF_A_CUSTOMER}
        for kind, records in (
            ("fitting", bowler.fittings.all()),
            ("ball", bowler.bag.all()),
            ("grip", bowler.grips.all()),
        ):
            for number, record in enumerate(records):
                addresses[f"{kind} {number}"] = record.get_absolute_url()
        for number, met in enumerate(bowler.conditions.with_house()):
            addresses[f"condition {number}"] = met.condition.get_absolute_url()
        markup = {}
        for page, address in addresses.items():
            answer = client.get(address, follow=True)
            assert answer.status_code == 200, address
            markup[page] = answer.content.decode()
        screens = Screens(bowler, markup)
        for page in markup:
            said = screens.text(page)
            for words in (bowler.goal, bowler.complaint, bowler.notes):
                said = said.replace(words, " ") if words else said
            # Python's words for what isn't there, or isn't a number, are nobody's at a counter.
            assert not re.search(r"\bNone\b|\bnan\b|\binf\b|Infinity|\{\{", said), (page, said)
            # A name is an identity: whoever it is, it is their page.
            assert page.startswith("condition ") or bowler.name in said, page
        return screens

    return walked


@pytest.mark.parametrize("person", PEOPLE, ids=lambda person: person.kind)
def test_every_screen_of_everybody_opens(walk: Walk, person: Any) -> None:
    screens = walk(person.name)
    assert person.goal in screens.text("customer")


@pytest.mark.parametrize("person", COMPLETE, ids=lambda person: person.kind)
def test_everybody_complete_is_answered(walk: Walk, person: Any) -> None:
    """Each condition has its row, and the choices come with a reason, a gain and a cost."""
    screens = walk(person.name)
    ranking = Ranking.objects.get(bowler=screens.bowler)
    assert ranking.is_done, ranking.error
    result: dict[str, Any] = ranking.result or {}
    names = {met.condition.name for met in screens.bowler.conditions.with_house()}
    for name in names:
        assert name in screens.text("gaps")
    assert result["choices"]
    for choice in result["choices"]:
        assert len(choice["reason"]) > 20
    assert "estimate" in screens.text("next-ball").casefold()


def test_a_left_hander_reads_the_same_numbers_in_mirrored_pictures(walk: Walk) -> None:
    screens = walk(LEFT.name)
    assert "Left-handed" in screens.text("customer")
    assert "mirror image of a right hand’s, with the same numbers" in screens.text("grips")
    grip = screens.newest_grip()
    left, right = picture(grip, "left"), picture(grip, "right")
    assert left.pap_x == -right.pap_x < 0
    assert [hole.x for hole in left.holes] == [-hole.x for hole in right.holes]
    # A thumb pitched to the PAP side: to the viewer's left on a left-hander's ball.
    thumbs = Hole.objects.filter(ball__bowler=screens.bowler, kind="thumb")
    assert all(hole.pitch_lateral_in > 0 for hole in thumbs)
    assert "1/8 in to your left" in screens.text("grips")
    # By their own boards: the side nobody plays on stays wet, burnt or not.
    result = Ranking.objects.get(bowler=screens.bowler).result or {}
    assert {task["name"].split(", ")[-1] for task in result["tasks"]} >= {"burnt"}


@pytest.mark.parametrize("person", [TWO_HANDS, YOUTH], ids=lambda person: person.kind)
def test_a_grip_without_a_thumb_has_a_palm_mark_and_no_thumb_anywhere(
    walk: Walk, person: Any
) -> None:
    screens = walk(person.name)
    assert "No thumb hole: scribe the palm’s centre with a plus (+)" in screens.text("grips")
    assert "palm-mark" in screens.markup["grips"]
    assert not screens.bowler.bag.filter(holes__kind="thumb").exists()
    # The rule that asks for the mark is named on each of their balls.
    balls = [page for page in screens.markup if page.startswith("ball ")]
    assert balls
    for page in balls:
        assert "Palm centre marked with a plus (+)" in screens.text(page)
    inputs = Ranking.objects.get(bowler=screens.bowler).inputs
    assert {hole["kind"] for hole in inputs["grip"]} == {"middle", "ring"}


def test_a_full_roller_s_track_runs_between_thumb_and_fingers_and_is_kept_clear(
    walk: Walk,
) -> None:
    screens = walk(FULL_ROLLER.name)
    assert "low tilt" in screens.text("customer")
    excluded = (Ranking.objects.get(bowler=screens.bowler).result or {})["excluded"]
    # What would flare over a hole is ruled out, and says by how much.
    assert any("the track runs over the" in row["why"] for row in excluded)
    for ball in screens.bowler.bag.in_use():
        assert ball.holes.count() == 3


def test_a_spinner_is_told_of_the_tilt(walk: Walk) -> None:
    screens = walk(TILTED.name)
    assert "high tilt" in screens.text("customer")
    # Her thumb hurts: her next ball isn't drilled before a grip says what changes.
    assert "hurts: base of the thumb" in screens.text("next-ball")
    assert "see a medical professional" in screens.text("next-ball")


def test_a_junior_is_held_to_the_rules_for_light_balls_and_grows(walk: Walk) -> None:
    """8 to 10 lb: 2 oz top and 3/4 oz to the sides (from memory, as the page says)."""
    screens = walk(JUNIOR.name)
    ball = screens.text("ball 0")
    assert "10 lb" in ball
    assert "not more than 2.00 oz from memory: check the current rule book" in ball
    assert "not more than 0.75 oz from memory: check the current rule book" in ball
    newest = max(screens.bowler.fittings.all(), key=lambda fitting: fitting.fitted_on)
    page = f"fitting {list(screens.bowler.fittings.all()).index(newest)}"
    assert "Still growing:" in screens.text(page)
    assert "A growing hand: spans up by" in screens.text("grips")
    choices = (Ranking.objects.get(bowler=screens.bowler).result or {})["choices"]
    inputs = Ranking.objects.get(bowler=screens.bowler).inputs
    assert inputs["weight_lb"] == 10
    assert choices


def test_a_senior_s_oval_thumb_is_drawn_as_it_leans(walk: Walk) -> None:
    screens = walk(SENIOR.name)
    assert "15° to your right" in screens.text("grips")
    thumb = next(
        hole for hole in picture(screens.newest_grip(), "right").holes if hole.kind == "thumb"
    )
    assert thumb.rx > thumb.ry


def test_a_beginner_with_nothing_is_told_where_to_begin(walk: Walk) -> None:
    screens = walk(NOTHING_YET.name)
    assert "Not measured yet" in screens.text("customer")
    for page in ("gaps", "next-ball"):
        said = screens.text(page)
        for wanted in ("finished fitting", "balls this customer owns", "conditions"):
            assert wanted in said, page
    markup = screens.markup["customer-conditions"]
    # One tap from the first condition.
    assert 'name="league"' in markup
    assert "No grip on record yet" in screens.text("grips")
