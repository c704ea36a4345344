"""The weigh-in sheet of a tournament bag: each ball against the rule set, with room to weigh."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from arsenal import engine
from arsenal.bag.models import OwnedBall
from arsenal.bag.services import Drilled, as_drilled
from arsenal.rules.models import HardnessReading
from bowlers.models import Bowler

STATICS = (
    ("top_oz", "Top (− bottom)", "top", "measured_top_oz"),
    ("side_oz", "PAP side (− other)", "side", "measured_side_oz"),
    ("finger_oz", "Fingers (− thumb)", "finger", "measured_finger_oz"),
)


@dataclass(frozen=True)
class Static:
    """One static of one ball: as computed, as last weighed, and its limit."""

    words: str
    computed: float
    weighed: float | None
    limit: str
    from_memory: bool
    fails: bool
    by: str


@dataclass(frozen=True)
class Line:
    """One ball of the bag on the sheet."""

    drilled: Drilled
    statics: list[Static]
    fails: list[dict[str, Any]]
    open: list[dict[str, Any]]
    reading: HardnessReading | None

    @property
    def ball(self) -> OwnedBall:
        return self.drilled.ball


def weigh_in(bowler: Bowler, chosen: Collection[int] = ()) -> list[Line]:
    """The balls in use, or those chosen of them, each held to the shop's rules."""
    balls = bowler.bag.in_use().with_drilling().prefetch_related("drill_plans")
    if chosen:
        balls = balls.filter(pk__in=chosen)
    return [_line(drilled) for drilled in as_drilled(balls)]


def _line(drilled: Drilled) -> Line:
    check = (drilled.numbers or {}).get("check", [])
    statics = [name for name, *_ in STATICS]
    others = [row for row in check if row["quantity"] not in statics]
    return Line(
        drilled,
        _statics(drilled, {row["quantity"]: row for row in check}),
        [row for row in others if row["fails"]],
        [row for row in others if not row["known"]],
        engine.newest_reading(drilled.ball),
    )


def _statics(drilled: Drilled, rows: dict[str, dict[str, Any]]) -> list[Static]:
    if drilled.numbers is None:
        return []
    plans = [plan for plan in drilled.ball.drill_plans.all() if plan.is_weighed]
    last = max(plans, key=lambda plan: plan.drilled_at or plan.created_at, default=None)
    found = []
    for quantity, words, key, field in STATICS:
        row = rows.get(quantity)
        found.append(
            Static(
                words=words,
                computed=drilled.numbers["static_oz"][key],
                weighed=getattr(last, field) if last else None,
                limit=row["limit"].removeprefix("not more than ") if row else "none",
                from_memory=bool(row and row["from_memory"]),
                fails=bool(row and row["fails"]),
                by=row["by"] if row else "",
            )
        )
    return found
