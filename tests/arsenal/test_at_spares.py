"""The second release on its way from records to what second balls are thrown with."""

from __future__ import annotations

import datetime
import uuid
from typing import Any

import pytest
from django.contrib.auth.models import User

from arsenal import engine
from arsenal.engine import at_spares, ranking
from bowlers import services
from bowlers.models import Bowler
from physics import spares
from proshop.models import Shop
from tests.arsenal import questions
from tests.furnished import furnish

FLAT = {
    "speed_mph": questions.reading(18.4, 0.3),
    "rev_rate_rpm": questions.reading(150.0, 12.0),
    "rotation_deg": questions.reading(8.0, 3.0),
    "tilt_deg": questions.reading(10.0, 2.0),
    "pap_over_in": questions.reading(5.5),
    "pap_up_in": questions.reading(0.25),
}


def releases(**changed: Any) -> list[Any]:
    return ranking.setting_of(questions.question(**changed)).at_spares


def test_what_nobody_said_is_a_flatter_release_and_called_assumed() -> None:
    usual, second = releases(spares={"release": "assumed", "delivery": None})
    assert second == spares.flatter(usual)
    assert releases() == [usual, second]  # as before it was asked
    assert "assumed, not measured" in at_spares.words(questions.question())


def test_a_bowler_of_one_release_throws_spares_with_it_alone() -> None:
    question = questions.question(spares={"release": "usual", "delivery": None})
    assert ranking.setting_of(question).at_spares == [ranking.setting_of(question).who]
    assert "assumed" not in at_spares.words(question)


def test_a_measured_release_takes_the_place_of_the_assumed_one() -> None:
    question = questions.question(spares={"release": "measured", "delivery": FLAT})
    usual, second = ranking.setting_of(question).at_spares
    assert second.rotation_deg == 8.0
    assert second.speed_m_s / usual.speed_m_s == pytest.approx(18.4 / 17.5, rel=1e-12)
    # The axis comes out half an inch further over than the balls are laid out for.
    assert second.pap_shift_in == pytest.approx((0.5, -0.25), abs=1e-12)
    assert "assumed" not in at_spares.words(question)


@pytest.mark.django_db
def test_a_fitting_for_spares_is_stored_with_the_question(shop: Shop, staff: User) -> None:
    furnish(shop, staff)
    bowler = Bowler.objects.get()
    before = engine.inputs_for(bowler)
    assert before["spares"] == {"release": "assumed", "delivery": None}
    bowler.at_spares = "usual"
    bowler.save_checked(bowler.version)
    assert engine.inputs_for(bowler)["spares"]["release"] == "usual"
    fitting = services.start_fitting(
        bowler=bowler,
        fitted_on=datetime.date(2026, 5, 3),
        notes="",
        logged_by=staff,
        purpose="spares",
    )
    services.save_delivery(
        fitting=fitting,
        row_key=uuid.uuid4(),
        readings={name: reading["mean"] for name, reading in FLAT.items()},
        expected_version=None,
    )
    assert engine.inputs_for(bowler)["spares"]["release"] == "usual"  # not finished yet
    services.finish_fitting(fitting=fitting)
    after = engine.inputs_for(bowler)
    assert after["spares"]["release"] == "measured"
    assert after["spares"]["delivery"]["rotation_deg"]["mean"] == 8.0
    assert after["delivery"] == before["delivery"]
