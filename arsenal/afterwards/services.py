"""Writes of observations, and what the page shows of them."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.utils import timezone

from arsenal import engine
from arsenal.afterwards.models import Observation
from arsenal.refusals import refusal_words
from physics.errors import InputError

if TYPE_CHECKING:
    from django.contrib.auth.models import AbstractBaseUser

    from arsenal.afterwards.forms import ObservationForm
    from bowlers.models import Bowler


@dataclass(frozen=True)
class Seen:
    """One observation with the engine's expectation of it beside what was seen."""

    record: Observation
    beside: dict[str, Any] | None


@dataclass(frozen=True)
class Afterwards:
    """Everything the page shows: what was seen, and what was learnt, house by house; ``earlier``:
    how many more stand that aren't shown."""

    standing: list[Seen]
    earlier: int
    aside: list[Observation]
    houses: list[dict[str, Any]]
    refusal: str


@transaction.atomic
def log_observation(*, form: ObservationForm, user: AbstractBaseUser | None) -> Observation:
    """Keep what was seen, with the ball's finish and games as they are now.

    Raises InputError when the engine can't make anything of it: nothing is stored then.
    """
    seen: Observation = form.instance
    ball = seen.ball
    seen.logged_by = user if user is not None and user.is_authenticated else None  # type: ignore[assignment]
    seen.finish = ball.finish
    seen.games_since_oil_drawn = ball.games_since_oil_drawn
    seen.games_since_cleaned = ball.games_since_cleaned
    saved: Observation = form.save()
    engine.evidence_of(saved)
    keep_expected(saved)
    return saved


def keep_expected(observation: Observation) -> None:
    """Keep with an observation what all the others had one expect of its numbers."""
    try:
        heard = engine.heard_about(observation.bowler)
        beside = engine.beside(heard, [observation]).get(observation.pk)
    except InputError:
        beside = None
    rows = [
        {key: row[key] for key in ("what", "unit", "seen", "expected", "low", "high")}
        for row in (beside["numbers"] if beside else ())
    ]
    observation.expected = rows
    # Not an edit: neither the version nor the history moves.
    Observation.objects.filter(pk=observation.pk).update(expected=rows)


@transaction.atomic
def set_aside(*, observation: Observation, expected_version: int, aside: bool) -> Observation:
    """Count an observation for nothing, or bring it back; raises StaleRecord when it changed.

    What is learnt is always worked out from those that stand, so this undoes an entry exactly.
    """
    observation.set_aside = aside
    observation.save_checked(expected_version)
    return observation


def afterwards_of(bowler: Bowler, *, shown: int | None = None) -> Afterwards:
    """The page of one customer, with so many of the newest that stand; all of them if not told.

    What was expected of each is worked out anew whenever anybody who bowls there has told more.
    """
    rows: Sequence[Observation] = list(bowler.observations.with_records().newest_first())
    standing = [row for row in rows if not row.set_aside]
    try:
        heard = engine.heard_about(bowler, standing)
        learnt, beside = engine.learnt_by(heard), engine.beside(heard, standing[:shown])
    except InputError as error:
        learnt, beside, refusal = [], {}, refusal_words(error)
    else:
        refusal = engine.why_uncounted(bowler) if standing else ""
    return Afterwards(
        standing=[Seen(row, beside.get(row.pk)) for row in standing[:shown]],
        earlier=len(standing[shown:]) if shown is not None else 0,
        aside=[row for row in rows if row.set_aside],
        houses=learnt,
        refusal=refusal,
    )


def start_for(bowler: Bowler, ball_id: int | None = None) -> dict[str, Any]:
    """What a new entry starts from: the last ball and condition, or the most likely ones; today.

    ``ball_id``: the ball whose page it was asked from, if this customer has it.
    """
    last: Observation | None = bowler.observations.newest_first().first()
    today: datetime.date = timezone.localdate()
    if last is not None:
        started: dict[str, Any] = {"ball": last.ball_id, "condition": last.condition_id}
        started["games"] = last.games
    else:
        met = bowler.conditions.order_by("-times_a_season", "pk").first()
        ball = bowler.bag.in_use().exclude(role="spares").order_by("-pk").first()
        started = {"ball": ball.pk if ball else None, "games": 3}
        started["condition"] = met.condition_id if met else None
    if ball_id is not None and bowler.bag.in_use().filter(pk=ball_id).exists():
        started["ball"] = ball_id
    return started | {"seen_on": today}
