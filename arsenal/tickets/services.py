"""Writes of tickets: opened, moved along, priced, asked after."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from arsenal.bag.caring import write_down
from arsenal.bag.models import CareEntry, Hole, OwnedBall
from arsenal.press.models import DrillPlan, PlannedHole
from arsenal.prices.models import PriceList
from arsenal.tickets.models import FollowUp, Job, Step, Ticket

# Thumb holes nearer in size than this are one to the hand, inches: a strip of tape.
SAME_THUMB_IN = 1 / 64


@transaction.atomic
def ticket_for(plan: DrillPlan) -> Ticket:
    """The ticket of a plan that goes to the press, opened and priced if it has none yet."""
    found: Ticket | None = Ticket.objects.filter(plan=plan).first()
    if found is None:
        job = Job.REDRILL if plan.again else Job.DRILL
        found = Ticket(
            shop=plan.shop,
            bowler=plan.bowler,
            plan=plan,
            ball=plan.ball,
            job=job,
            new_thumb=_is_new_thumb(plan),
            **plan_prices(plan),
        )
    found.step = Step.PRESS
    found.ready_at = None
    _save(found)
    return found


def plan_prices(plan: DrillPlan) -> dict[str, Decimal]:
    """All that a plan costs by the price list: the work, the ball, its inserts and its slug."""
    listed = PriceList.of(plan.shop)
    sleeves = [hole.sleeve for hole in plan.holes.all()]
    ball = Decimal(0)
    if not plan.again:
        ball = plan.stock.price if plan.stock else plan.spec.model.price
    return {
        "price_ball": ball,
        "price_work": listed.price(Job.REDRILL if plan.again else Job.DRILL),
        "price_inserts": sleeves.count(PlannedHole.Sleeve.INSERT) * listed.price("insert"),
        "price_slug": sleeves.count(PlannedHole.Sleeve.SLUG) * listed.price("slug"),
    }


def total_by_list(ticket: Ticket) -> Decimal:
    """What the job would cost all in were it opened today: by the plan as it is now, or the work
    by the list with the ball and the parts as the ticket has them."""
    if ticket.plan is not None:
        return sum(plan_prices(ticket.plan).values(), Decimal(0))
    return ticket.total - ticket.price_work + PriceList.of(ticket.shop).price(ticket.job)


def _is_new_thumb(plan: DrillPlan) -> bool:
    """Whether the planned thumb is another than that of the newest ball in use."""
    planned = next((hole for hole in plan.holes.all() if hole.kind == Hole.Kind.THUMB), None)
    if planned is None:
        return False
    worn = Hole.objects.filter(ball__bowler=plan.bowler, ball__retired=False, kind="thumb")
    last = worn.order_by("-ball_id").first()
    if last is None:
        return True
    names = ("diameter_in", "pitch_forward_in", "pitch_lateral_in")
    return any(abs(getattr(planned, n) - getattr(last, n)) > SAME_THUMB_IN for n in names)


@transaction.atomic
def plan_drilled(plan: DrillPlan) -> None:
    """Its ticket is ready: the ball stands by the counter."""
    ticket = Ticket.objects.filter(plan=plan).first()
    if ticket is not None and ticket.is_open:
        ticket.ball = plan.ball
        ticket.step, ticket.ready_at = Step.READY, timezone.now()
        _save(ticket)


@transaction.atomic
def plan_taken_back(plan: DrillPlan, *, aside: bool) -> None:
    """Its ticket waits again, or is called off with it."""
    ticket = Ticket.objects.filter(plan=plan).first()
    if ticket is not None and ticket.step in (Step.WAITING, Step.PRESS, Step.OFF):
        ticket.step = Step.OFF if aside else Step.WAITING
        _save(ticket)


@transaction.atomic
def move(*, ticket: Ticket, to: str, expected_version: int, user: Any = None) -> Ticket:
    """Move a ticket along, back, or call it off; care done to the ball is noted on it.

    Raises ValidationError where it can't go there, StaleRecord when it was moved meanwhile.
    """
    _refuse(ticket, to)
    now = timezone.now()
    if to == Step.READY and ticket.step in (Step.WAITING, Step.PRESS):
        ticket.ready_at = now
        _note_care(ticket, user)
    if to == Step.COLLECTED:
        ticket.collected_at = now
    elif ticket.step == Step.COLLECTED:
        ticket.collected_at = None
    ticket.step = Step(to)
    ticket.save_checked(expected_version)
    return ticket


def _refuse(ticket: Ticket, to: str) -> None:
    allowed = {ticket.next_step, ticket.step_before}
    if ticket.is_open:
        allowed.add(Step.OFF)
    if to not in {step.value for step in allowed if step is not None}:
        raise ValidationError(
            f"{ticket.number} is {ticket.get_step_display().lower()} already, or can’t go there "
            "from where it stands: look at it again."
        )
    plan = ticket.plan
    if plan is not None and not plan.is_drilled and to in (Step.PRESS, Step.READY, Step.COLLECTED):
        if not plan.is_signed:
            raise ValidationError(f"Sign {plan.number} off first: that puts it on the press.")
        if to != Step.PRESS:
            raise ValidationError(
                f"Say on {plan.number} that it is drilled, and what differed: that makes it ready."
            )


def _note_care(ticket: Ticket, user: Any) -> None:
    """What the job did to cover and finish, into the ball's care log."""
    work = _work_of(ticket)
    if ticket.ball is None or work is None:
        return
    ball: OwnedBall = OwnedBall.objects.get(pk=ticket.ball.pk)
    entry = CareEntry(
        ball=ball,
        on=timezone.localdate(),
        work=work,
        finish=ticket.finish if work == CareEntry.Work.SURFACE else "",
        note=f"{ticket.number} {ticket.words}".strip()[:200],
        by=user,
    )
    write_down(entry, expected_version=ball.version)


def _work_of(ticket: Ticket) -> str | None:
    """The job as the care log calls it; None for what leaves cover and finish as they are."""
    if ticket.job == Job.RESURFACE:
        return CareEntry.Work.SURFACE if ticket.finish else CareEntry.Work.RESTORE
    return {Job.CLEAN: CareEntry.Work.CLEAN, Job.EXTRACT: CareEntry.Work.EXTRACT}.get(
        Job(ticket.job)
    )


@transaction.atomic
def asked(*, reminder: Any, words: str) -> FollowUp:
    """Keep that a customer was asked, and what they said."""
    found: FollowUp = FollowUp.objects.create(
        shop=reminder.bowler.shop,
        bowler=reminder.bowler,
        ticket=reminder.ticket,
        about=reminder.about,
        words=words,
    )
    return found


def _save(ticket: Ticket) -> None:
    if ticket._state.adding:
        ticket.save()
    else:
        ticket.save_checked(ticket.version)
