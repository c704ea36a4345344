"""What the instruments of a fitting get wrong goes into the ranking in place of usual errors."""

from __future__ import annotations

import math

import pytest

from arsenal.engine import bodies
from arsenal.engine.inputs import delivery_numbers
from physics import bowler
from proshop.models import Shop
from tests.arsenal import records


def test_a_reading_s_own_instrument_counts_instead_of_a_typed_number_s() -> None:
    """By the formula of one delivery: own, shared and the bowler's repeatability in square."""
    typed = {"mean": 350.0, "sd": None, "count": 1}
    filmed = typed | {"own": 4.0, "shared": 1.0}
    repeat = 350 * bowler.prior_repeatability(190).rev_rate
    found = bodies.standard_error("rev_rate_rpm", filmed, 190)
    assert found == pytest.approx(math.hypot(4.0, 1.0, repeat))
    assert found < bodies.standard_error("rev_rate_rpm", typed, 190)
    tilt = {"mean": 12.0, "sd": None, "count": 1, "own": 0.5, "shared": 1.0}
    still = bowler.prior_repeatability(190).tilt_deg
    assert bodies.standard_error("tilt_deg", tilt, 190) == pytest.approx(
        math.hypot(0.5, 1.0, still)
    )


def test_a_ranking_is_told_the_errors_of_named_instruments_and_of_no_others(shop: Shop) -> None:
    fitting = records.fitting(records.customer(shop))
    error = {"own": 4.0, "shared": 1.0, "way": "frames"}
    for delivery in fitting.deliveries.all():
        delivery.errors = {"rev_rate_rpm": error}
        delivery.save()
    told = delivery_numbers(fitting)
    assert told["rev_rate_rpm"]["own"] == pytest.approx(4.0)
    assert told["rev_rate_rpm"]["shared"] == pytest.approx(1.0)
    assert set(told["speed_mph"]) == {"mean", "sd", "count"}
