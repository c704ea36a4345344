"""A ball as it was: its record and its holes after any one change."""

from __future__ import annotations

import datetime
from typing import Any

from arsenal.bag.models import Hole, OwnedBall

# Changes of one save lie a few milliseconds apart; nobody saves twice within this.
ONE_SAVE = datetime.timedelta(seconds=1)


def as_it_was(ball: OwnedBall, at: datetime.datetime) -> OwnedBall | None:
    """The ball with the holes it had once the change at this time was saved.

    None before the ball was recorded. It can be shown and computed with, and isn't to be saved.
    """
    moment = at + ONE_SAVE
    history: Any = ball.history
    entry = history.filter(history_date__lte=moment).order_by("-history_date", "-pk").first()
    if entry is None:
        return None
    then: OwnedBall = entry.instance
    then.bowler, then.shop = ball.bowler, ball.shop
    if then.spec_id == ball.spec_id:
        then.spec = ball.spec
    then._prefetched_objects_cache = {  # type: ignore[attr-defined]
        "holes": _holes(ball, moment),
        "earlier": [e for e in ball.earlier.all() if _recorded(e, moment)],
        "hardness_readings": [],
        "size_readings": [],
    }
    return then


def _holes(ball: OwnedBall, moment: datetime.datetime) -> list[Hole]:
    """Each hole's newest row by then, those deleted by then left out."""
    newest: dict[int, Any] = {}
    history: Any = Hole.history
    rows = history.filter(ball_id=ball.pk, history_date__lte=moment)
    for row in rows.order_by("history_date", "history_id"):
        newest[row.id] = row
    return [row.instance for key, row in sorted(newest.items()) if row.history_type != "-"]


def _recorded(earlier: Any, moment: datetime.datetime) -> bool:
    return bool(earlier.history.filter(history_date__lte=moment).exists())
