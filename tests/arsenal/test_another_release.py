"""A bowler with more than one release: each measured, and gaps and next ball asked about either."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from arsenal import engine
from arsenal.advice import services
from arsenal.models import BowlerCondition, Ranking
from bowlers.models import Bowler, Fitting
from proshop.models import Shop
from tests.arsenal import records


@pytest.fixture
def bowler(shop: Shop) -> Bowler:
    """Complete, with a usual release of 300 rpm."""
    found = records.customer(shop, average=200)
    records.fitting(found)
    records.owned_ball(found, records.ball_model(shop).specs.get())
    condition = records.condition(records.house(shop))
    BowlerCondition.objects.create(shop=shop, bowler=found, condition=condition, times_a_season=30)
    return found


def stronger(bowler: Bowler) -> Fitting:
    fitting = records.fitting(bowler, rev_rate_rpm=420, rotation_deg=60)
    Fitting.objects.filter(pk=fitting.pk).update(
        purpose="other", release_note="more rotation on heavy oil"
    )
    fitting.refresh_from_db()
    return fitting


def test_another_release_is_measured_by_itself(staff_client: Client, bowler: Bowler) -> None:
    address = reverse("fitting-add", args=[bowler.pk])
    page = staff_client.get(f"{address}?purpose=other")
    assert page.context["form"]["purpose"].value() == "other"
    values: dict[str, Any] = {
        "fitted_on": "2026-05-03",
        "purpose": "other",
        "method": "thrown",
        "release_note": "  more rotation\non heavy oil ",
    }
    staff_client.post(address, values)
    fitting = bowler.fittings.of_purpose("other").get()
    assert fitting.release_note == "more rotation on heavy oil"
    shown = staff_client.get(fitting.get_absolute_url()).content.decode()
    assert "another release: more rotation on heavy oil" in shown
    assert "no earlier fitting of the other release" in shown
    # What it is for is no part of any other release.
    staff_client.post(address, values | {"purpose": "usual", "fitted_on": "2026-05-04"})
    newest = bowler.fittings.order_by("-pk").first()
    assert newest is not None
    assert (newest.purpose, newest.release_note) == ("usual", "")


def test_the_usual_release_stays_in_use(staff_client: Client, bowler: Bowler) -> None:
    before = services.question_for(bowler)
    stronger(bowler)
    assert services.question_for(bowler) == before
    page = staff_client.get(bowler.get_absolute_url()).content.decode()
    assert "for more rotation on heavy oil" in page
    assert "420" in page


def test_gaps_and_next_ball_can_be_asked_about_it(staff_client: Client, bowler: Bowler) -> None:
    gaps = reverse("gaps", args=[bowler.pk])
    # Nothing measured: what is asked for is told with the usual one.
    for address in (gaps, f"{gaps}?release=other"):
        assert "Thrown with" not in staff_client.get(address).content.decode()
    stronger(bowler)
    usual, other = services.question_for(bowler), services.question_for(bowler, "other")
    assert other.inputs["delivery"]["rev_rate_rpm"]["mean"] == 420
    assert (usual.inputs.get("release"), other.inputs["release"]) == (None, "other")
    page = staff_client.get(f"{gaps}?release=other").content.decode()
    assert "Thrown with" in page
    assert "more rotation on heavy oil" in page
    assert f"{reverse('next-ball', args=[bowler.pk])}?release=other" in page
    staff_client.post(f"{gaps}?release=other")
    asked = Ranking.objects.get()
    assert asked.inputs_key == other.key
    assert services.what_changed(asked) == ""
    staff_client.post(gaps)
    assert Ranking.objects.count() == 2


def test_without_its_fitting_it_is_missing_like_any(bowler: Bowler) -> None:
    with pytest.raises(engine.Missing):
        services.question_for(bowler, "other")
