"""The first steps on a customer's page: the fitting and the grip."""

import datetime

from django.urls import reverse
from django.utils.formats import date_format

from bowlers import hub
from bowlers.engine import fitting_in_use
from bowlers.engine_grip import grip_in_use
from bowlers.models import Bowler


def fitting_step(bowler: Bowler) -> hub.Step:
    fitting = fitting_in_use(bowler)
    draft = bowler.fittings.drafts().newest_first().first()
    if draft is not None:
        begun = f"A fitting begun on {date_format(draft.fitted_on, 'j F Y')} isn’t finished."
        return hub.Step(
            title="Fitting",
            done=fitting is not None,
            said=f"{_last(fitting.fitted_on)} {begun}" if fitting else begun,
            href=draft.get_absolute_url(),
            action="Go on with it",
        )
    return hub.Step(
        title="Fitting",
        done=fitting is not None,
        said=(
            _last(fitting.fitted_on)
            if fitting
            else "Not measured yet: log a few deliveries with speed, rev rate, rotation, "
            "tilt and PAP."
        ),
        href=fitting.get_absolute_url() if fitting else reverse("fitting-add", args=[bowler.pk]),
        action="Open the fitting" if fitting else "Log a fitting",
    )


def _last(day: datetime.date) -> str:
    return f"Last on {date_format(day, 'j F Y')}."


def grip_step(bowler: Bowler) -> hub.Step:
    grip = grip_in_use(bowler)
    if grip is not None:
        said = f"Measured on {date_format(grip.measured_on, 'j F Y')}."
        if grip.stops_copying:
            said += f" It hurts: {grip.hurt_words}."
        return hub.Step("Grip", True, said, grip.get_absolute_url(), "Open the grip")
    return hub.Step(
        title="Grip",
        done=False,
        said=(
            "Measured for another way of holding the ball: measure it again."
            if bowler.grips.exists()
            else "Not on record yet: measure the hand, or copy the grip in hand."
        ),
        href=reverse("grips", args=[bowler.pk]),
        action="Record the grip",
    )


def register_steps() -> None:
    hub.register("fitting", 10, fitting_step)
    hub.register("grip", 18, grip_step)
