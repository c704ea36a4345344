"""Advice, choice and reason side by side, for a whole shop, and how each turned out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from arsenal.afterwards.models import Observation
from arsenal.engine import inputs, plates
from arsenal.press.advised import is_followed, plan_words
from arsenal.press.models import DrillPlan
from physics.errors import InputError


@dataclass(frozen=True)
class Override:
    """One plan that had advice: what was chosen, whether that was it, and what was seen since."""

    plan: DrillPlan
    chosen: str
    follows: bool
    turned_out: list[str]


def overrides(plans: Sequence[DrillPlan]) -> list[Override]:
    """Each plan with its words: two queries however many."""
    drilled = [plan for plan in plans if plan.ball_id and plan.drilled_at]
    ends = _ends(drilled)
    seen = _seen_since(drilled, ends)
    return [
        _row(
            plan,
            seen.get(plan.pk, [])
            + ([f"drilled again on {ends[plan.pk]:%-d %b %Y}"] if plan.pk in ends else []),
        )
        for plan in plans
    ]


def _row(plan: DrillPlan, turned_out: list[str]) -> Override:
    layout = (plan.predicted or {}).get("layout")
    if layout is None:
        pap = (plan.pap_over_in, plan.pap_up_in)
        try:
            layout = plates.layout_of(plan.layout_numbers, pap, inputs.RADIUS_IN)
        except InputError:
            return Override(plan, str(plan), False, turned_out)
    return Override(plan, plan_words(plan, layout), is_followed(plan, layout), turned_out)


def _seen_since(drilled: Sequence[DrillPlan], ends: Mapping[int, date]) -> dict[int, list[str]]:
    """What was seen of each plan's ball from the day it was drilled until it was drilled again."""
    reports: dict[int, list[Any]] = {}
    balls = {plan.ball_id for plan in drilled}
    for seen in Observation.objects.standing().filter(ball__in=balls).order_by("seen_on", "pk"):
        reports.setdefault(seen.ball_id, []).append(seen)
    found = {}
    for plan in drilled:
        start, end = timezone.localdate(plan.drilled_at), ends.get(plan.pk)
        since = [
            seen
            for seen in reports.get(plan.ball_id or 0, [])
            if start <= seen.seen_on and (end is None or seen.seen_on < end)
        ]
        if since:
            found[plan.pk] = _told(since)
    return found


def _told(since: Sequence[Observation]) -> list[str]:
    games = sum(seen.games for seen in since)
    said = [f"{games} game{'s' if games != 1 else ''} seen"]
    words: Counter[str] = Counter()
    for seen in since:
        words.update(
            str(said_of).lower()
            for said_of in (seen.get_look_display(), seen.get_motion_display())
            if said_of
        )
    return said + [f"“{word}” {count} of {len(since)} times" for word, count in words.most_common()]


def _ends(drilled: Sequence[DrillPlan]) -> dict[int, date]:
    """The day each plan's holes were plugged for the next drilling of the same ball."""
    found: dict[int, date] = {}
    for later in _later(drilled):
        for plan in drilled:
            if plan.ball_id == later.ball_id and _moment(plan) < _moment(later):
                day = timezone.localdate(later.drilled_at)
                found[plan.pk] = min(day, found.get(plan.pk, day))
    return found


def _moment(plan: DrillPlan) -> datetime:
    """When a plan that is drilled was."""
    if plan.drilled_at is None:
        raise ValueError(f"{plan.number} isn't drilled.")
    return plan.drilled_at


def _later(drilled: Sequence[DrillPlan]) -> list[DrillPlan]:
    balls = {plan.ball_id for plan in drilled}
    again = DrillPlan.objects.filter(ball__in=balls, again=True, drilled_at__isnull=False)
    return list(again.only("ball_id", "drilled_at"))
