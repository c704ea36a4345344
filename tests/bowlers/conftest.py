"""Customers and fittings for the stories of this folder."""

import datetime
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User

from bowlers import services
from bowlers.models import Bowler, Delivery, Fitting
from proshop.models import Shop

HTMX = {"HX-Request": "true"}
PLAIN = {
    "speed_mph": 17.0,
    "rev_rate_rpm": 340.0,
    "rotation_deg": 45.0,
    "tilt_deg": 12.0,
    "pap_over_in": 5.0,
    "pap_up_in": 0.5,
}


@pytest.fixture
def bowler(shop: Shop) -> Bowler:
    return Bowler.objects.create(shop=shop, name="Åsa Lindqvist")


@pytest.fixture
def fitting(bowler: Bowler, staff: User) -> Fitting:
    return services.start_fitting(
        bowler=bowler, fitted_on=datetime.date(2026, 5, 3), notes="", logged_by=staff
    )


Log = Callable[..., Delivery]


@pytest.fixture
def log() -> Log:
    """log(fitting, speed_mph=17.5) stores a complete delivery, changed as said."""

    def logged(fitting: Fitting, **changed: float | None) -> Delivery:
        return services.save_delivery(
            fitting=fitting,
            row_key=uuid.uuid4(),
            readings={**PLAIN, **changed},
            expected_version=None,
        )

    return logged


def row(**typed: Any) -> dict[str, Any]:
    """What the page sends for a complete row, changed as said."""
    return {
        "form_token": str(uuid.uuid4()),
        "row_key": str(uuid.uuid4()),
        "record_version": "",
        **{name: str(value) for name, value in PLAIN.items()},
        **typed,
    }
