"""Putting the demo into the database, or back to what it was."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from arsenal import engine
from arsenal.advice import services
from arsenal.advice.models import Ranking
from arsenal.demo.balls import MODELS, SHELF, Label, Model
from arsenal.demo.care import PASTS, Past
from arsenal.demo.evenings import EVENINGS, Evening
from arsenal.demo.grips import HANDS, holes_of, measured, sleeve_of
from arsenal.demo.instruments import FILMED, filmed
from arsenal.demo.jobs import keep_jobs
from arsenal.demo.keeping import Keeper
from arsenal.demo.kinds import Ball, Person, Visit
from arsenal.demo.lanes import HOUSES
from arsenal.demo.people import ASKED_FIRST, PEOPLE
from arsenal.models import (
    BallModel,
    BallSpec,
    BowlerCondition,
    CareEntry,
    Condition,
    EarlierDrilling,
    Hole,
    House,
    Observation,
    OwnedBall,
    PluggedHole,
    StockBall,
)
from bowlers.models import Bowler, CustomerMerge, Delivery, Fitting, Grip, ToldApart
from proshop.models import Membership, SentFile, Shop

SHOP = "Demo shop, two counters"
STAFF = (
    ("demo-owner", "Mabel", "Thorne", Membership.Role.OWNER),
    ("demo-counter", "Rafe", "Dunmore", Membership.Role.STAFF),
    ("demo-press", "Jo", "Castellan", Membership.Role.STAFF),
)
# Names rows of the demo for good, so that the same delivery is the same row at the next load.
NAMES = uuid.UUID("6f1f1e0e-7d0f-4d5b-9d2e-3a5c0b2f4e11")


class NameTaken(Exception):
    """An account of this name works in another shop."""


@dataclass(frozen=True)
class Loaded:
    """The demo as it now stands; ``passwords`` of the accounts that got a new one."""

    shop: Shop
    staff: list[User]
    passwords: dict[str, str]
    waiting: list[Ranking]


@transaction.atomic
def load(*, make_password: Any, new_passwords: bool = False) -> Loaded:
    """Make the demo shop what this package says. Other shops are left alone.

    What was changed or added in the demo shop since is put back or removed.
    """
    shop = _shop()
    staff, passwords = _staff(shop, make_password, new_passwords)
    keeper = Keeper()
    specs = _balls(keeper, shop)
    conditions = _lanes(keeper, shop)
    bowlers = _people(keeper, shop, staff)
    _hands(keeper, shop, bowlers)
    _bags(keeper, shop, bowlers, specs, staff)
    _met(keeper, shop, bowlers, conditions)
    _seen(keeper, shop, bowlers, conditions, staff)
    _drop_answers_to_other_questions(shop)
    keep_jobs(keeper, shop, bowlers, staff)
    keeper.sweep()
    for model in (CustomerMerge, ToldApart, SentFile):
        model._default_manager.filter(shop=shop).delete()
    return Loaded(shop, staff, passwords, _ask(bowlers, staff[0]))


def _shop() -> Shop:
    shop = Shop.objects.select_for_update().filter(is_demo=True).order_by("pk").first()
    if shop is None:
        return Shop.objects.create(name=SHOP, is_demo=True)
    if (shop.name, shop.currency) != (SHOP, "USD"):
        shop.name, shop.currency = SHOP, "USD"
        shop.save()
    return shop


def _staff(
    shop: Shop, make_password: Any, new_passwords: bool
) -> tuple[list[User], dict[str, str]]:
    staff, passwords = [], {}
    for username, first, last, role in STAFF:
        user = User.objects.filter(username=username).first()
        works = Membership.objects.filter(user=user) if user else Membership.objects.none()
        known = works.filter(shop=shop).first()
        if known is None and works.exists():
            raise NameTaken(username)
        if user is None or known is None or new_passwords:
            user = user or User(username=username)
            passwords[username] = make_password()
            user.set_password(passwords[username])
        user.first_name, user.last_name = first, last
        user.save()
        Membership.objects.update_or_create(user=user, shop=shop, defaults={"role": role})
        staff.append(user)
    return staff, passwords


def _balls(keeper: Keeper, shop: Shop) -> dict[tuple[str, int], BallSpec]:
    models = keeper.keep(
        BallModel.objects.for_shop(shop), ("name",), (_model(shop, model) for model in MODELS)
    )
    specs = keeper.keep(
        BallSpec.objects.for_shop(shop),
        ("model_id", "weight_lb"),
        (
            {"model": record, **asdict(figures)}
            for record, model in zip(models, MODELS, strict=True)
            for figures in model.figures()
        ),
    )
    by_name = {(spec.model.name, spec.weight_lb): spec for spec in specs}
    keeper.keep(
        StockBall.objects.for_shop(shop),
        ("serial",),
        (
            {
                "shop": shop,
                "spec": by_name[ball.model, ball.label.pounds],
                "serial": _serial("S", number, ball.model),
                "price": ball.price,
                "state": ball.state,
                "cg_off_line_in": ball.cg_off_line_in,
                **_label(ball.label),
            }
            for number, ball in enumerate(SHELF, start=1)
        ),
    )
    return by_name


def _model(shop: Shop, model: Model) -> dict[str, Any]:
    return {
        "shop": shop,
        "name": model.name,
        "cover": model.cover,
        "factory_finish": model.finish,
        "price": model.price,
        "orderable": model.orderable,
        "discontinued": model.discontinued,
        "lead_days": model.lead_days,
        "notes": model.notes,
    }


def _label(label: Label) -> dict[str, Any]:
    return {
        "label_weight_lb": label.pounds,
        "label_weight_oz": label.ounces,
        "top_weight_oz": label.top_oz,
        "pin_to_cg_in": label.pin_to_cg_in,
    }


def _serial(letter: str, number: int, model: str) -> str:
    return f"{model[:2].upper()}{letter}{4100 + 37 * number}"


def _lanes(keeper: Keeper, shop: Shop) -> dict[str, Condition]:
    houses = keeper.keep(
        House.objects.for_shop(shop),
        ("name",),
        (
            {
                "shop": shop,
                "name": house.name,
                "lane_surface": house.surface,
                "friction_factor": house.friction,
            }
            for house in HOUSES
        ),
    )
    conditions = keeper.keep(
        Condition.objects.for_shop(shop),
        ("house_id", "name"),
        (
            {
                "shop": shop,
                "house": record,
                "name": oil.name,
                "length_ft": oil.length_ft,
                "volume_ml": oil.volume_ml,
                "inside_to_outside_ratio": oil.ratio,
                "shape": oil.shape,
                "oil_table": oil.table,
            }
            for record, house in zip(houses, HOUSES, strict=True)
            for oil in house.oils
        ),
    )
    return {condition.name: condition for condition in conditions}


def _people(keeper: Keeper, shop: Shop, staff: list[User]) -> list[Bowler]:
    bowlers = keeper.keep(
        Bowler.objects.for_shop(shop),
        ("name",),
        (_bowler(shop, person, number) for number, person in enumerate(PEOPLE)),
    )
    visits = [
        (bowler, person, visit)
        for bowler, person in zip(bowlers, PEOPLE, strict=True)
        for visit in person.visits
    ]
    first_loaded = timezone.localdate(shop.created_at)
    fittings = keeper.keep(
        Fitting.objects.for_shop(shop),
        ("bowler_id", "fitted_on"),
        (
            {
                "shop": shop,
                "bowler": bowler,
                "fitted_on": first_loaded - datetime.timedelta(days=visit.days_ago),
                "status": "draft" if visit.draft else "finished",
                "instruments": FILMED if visit.is_filmed else {},
                "notes": visit.notes,
                "purpose": visit.purpose,
                "release_note": visit.release_note,
                "logged_by": staff[number % len(staff)],
            }
            for number, (bowler, _, visit) in enumerate(visits)
        ),
    )
    keeper.keep(
        Delivery.objects.for_shop(shop),
        ("fitting_id", "row_key"),
        (
            row
            for fitting, (_, person, visit) in zip(fittings, visits, strict=True)
            for row in _deliveries(fitting, person, visit)
        ),
    )
    return bowlers


def _bowler(shop: Shop, person: Person, number: int) -> dict[str, Any]:
    return {
        "shop": shop,
        "is_demo": True,
        # 555-0100 to 555-0199 are nobody's numbers in North America (ATIS, from memory).
        "phone": f"555 01{(7 * number + 42) % 100:02}",
        **{
            name: getattr(person, name)
            for name in (
                "name",
                "hand",
                "thumb",
                "hands",
                "fingers",
                "at_spares",
                "average",
                "born",
            )
        },
        **{name: getattr(person, name) for name in ("goal", "complaint", "notes")},
    }


def _deliveries(fitting: Fitting, person: Person, visit: Visit) -> Iterator[dict[str, Any]]:
    for order, (throw, dropped) in enumerate(visit.deliveries(person.name), start=1):
        yield {
            "shop_id": fitting.shop_id,
            "fitting": fitting,
            "row_key": uuid.uuid5(NAMES, f"{person.name} {visit.days_ago} {order}"),
            "order": order,
            "dropped": dropped,
            "confirmed": not visit.draft,
            **(filmed(throw, person) if visit.is_filmed else throw.readings()),
        }


def _hands(keeper: Keeper, shop: Shop, bowlers: list[Bowler]) -> None:
    first_loaded = timezone.localdate(shop.created_at)
    keeper.keep(
        Grip.objects.for_shop(shop),
        ("bowler_id", "measured_on"),
        (
            {
                "shop": shop,
                "bowler": bowler,
                "measured_on": first_loaded - datetime.timedelta(days=hand.days_ago),
                **measured(person, hand),
            }
            for bowler, person in zip(bowlers, PEOPLE, strict=True)
            for hand in HANDS.get(person.name, ())
        ),
    )


def _bags(
    keeper: Keeper,
    shop: Shop,
    bowlers: list[Bowler],
    specs: dict[tuple[str, int], BallSpec],
    staff: list[User],
) -> None:
    owned = [
        (bowler, person, ball)
        for bowler, person in zip(bowlers, PEOPLE, strict=True)
        for ball in person.bag
    ]
    balls = keeper.keep(
        OwnedBall.objects.for_shop(shop),
        ("bowler_id", "serial"),
        (
            _owned(bowler, person, ball, number, specs)
            for number, (bowler, person, ball) in enumerate(owned, start=1)
        ),
    )
    keeper.keep(
        Hole.objects.filter(ball__shop=shop),
        ("ball_id", "kind"),
        (
            {"ball": record, **asdict(hole), **sleeve_of(person, hole, ball)}
            for record, (_, person, ball) in zip(balls, owned, strict=True)
            for hole in (holes_of(person) if ball.holes is None else ball.holes)
        ),
    )
    _pasts(keeper, shop, balls, [(person, ball) for _, person, ball in owned], staff)


def _pasts(
    keeper: Keeper,
    shop: Shop,
    balls: list[OwnedBall],
    made_of: list[tuple[Person, Ball]],
    staff: list[User],
) -> None:
    """What was done to the balls, and what they were before."""
    first_loaded = timezone.localdate(shop.created_at)

    def on(days_ago: int) -> datetime.date:
        return first_loaded - datetime.timedelta(days=days_ago)

    found = [
        (record, person, PASTS[person.name, ball.model])
        for record, (person, ball) in zip(balls, made_of, strict=True)
        if (person.name, ball.model) in PASTS
    ]
    keeper.keep(
        CareEntry.objects.filter(ball__shop=shop),
        ("ball_id", "on", "work"),
        (
            {
                "ball": record,
                "on": on(done.days_ago),
                "work": done.work,
                "finish": done.finish,
                "games": done.games,
                "note": done.note,
                "by": staff[-1],
            }
            for record, _, past in found
            for done in past.done
        ),
    )
    drilled_before = [
        (record, person, past.before) for record, person, past in found if past.before
    ]
    earlier = keeper.keep(
        EarlierDrilling.objects.filter(ball__shop=shop),
        ("ball_id",),
        (
            {
                "ball": record,
                "layout_notation": before.layout[0],
                "layout_numbers": before.layout[1],
                "pap_over_in": record.pap_over_in,
                "pap_up_in": record.pap_up_in,
                "plugged_on": on(before.days_ago),
                "notes": before.notes,
            }
            for record, _, before in drilled_before
        ),
    )
    keeper.keep(
        PluggedHole.objects.filter(drilling__ball__shop=shop),
        ("drilling_id", "kind"),
        (
            {"drilling": drilling, **asdict(hole)}
            for drilling, (_, person, _before) in zip(earlier, drilled_before, strict=True)
            for hole in holes_of(person)
        ),
    )


def _owned(
    bowler: Bowler,
    person: Person,
    ball: Ball,
    number: int,
    specs: dict[tuple[str, int], BallSpec],
) -> dict[str, Any]:
    notation, numbers = ball.layout
    over, up = ball.pap or person.pap()
    weight = ball.label.pounds
    past = PASTS.get((person.name, ball.model), Past())
    return {
        "shop_id": bowler.shop_id,
        "bowler": bowler,
        "spec": specs[ball.model, weight],
        "serial": _serial("B", number, ball.model),
        "nickname": ball.nickname,
        "layout_notation": notation,
        "layout_numbers": numbers,
        "pap_over_in": over,
        "pap_up_in": up,
        "finish": ball.finish,
        "games_since_finish": ball.games,
        "games_since_oil_drawn": ball.games if ball.oil is None else ball.oil,
        "games_since_cleaned": ball.games if ball.cleaned is None else ball.cleaned,
        "role": ball.role,
        "notes": ball.notes,
        "retired": ball.retired,
        **_label(ball.label),
        **past.columns,
    }


def _met(
    keeper: Keeper, shop: Shop, bowlers: list[Bowler], conditions: dict[str, Condition]
) -> None:
    keeper.keep(
        BowlerCondition.objects.for_shop(shop),
        ("bowler_id", "condition_id", "games_on_oil"),
        (
            {
                "shop": shop,
                "bowler": bowler,
                "condition": conditions[name],
                "times_a_season": times,
                "games_on_oil": games,
            }
            for bowler, person in zip(bowlers, PEOPLE, strict=True)
            for name, games, times in person.met()
        ),
    )


def _seen(
    keeper: Keeper,
    shop: Shop,
    bowlers: list[Bowler],
    conditions: dict[str, Condition],
    staff: list[User],
) -> None:
    first_loaded = timezone.localdate(shop.created_at)
    balls = {
        (ball.bowler_id, ball.spec.model.name): ball
        for ball in OwnedBall.objects.for_shop(shop).select_related("spec__model")
    }
    evenings = [(b, e) for b in bowlers for e in EVENINGS.get(b.name, ())]
    keeper.keep(
        Observation.objects.for_shop(shop),
        ("bowler_id", "ball_id", "condition_id", "seen_on"),
        (
            _evening(
                evening,
                balls[bowler.pk, evening.model],
                conditions[evening.oil],
                first_loaded - datetime.timedelta(days=evening.days_ago),
            )
            | {"logged_by": staff[number % len(staff)]}
            for number, (bowler, evening) in enumerate(evenings)
        ),
    )


def _evening(
    evening: Evening, ball: OwnedBall, condition: Condition, day: datetime.date
) -> dict[str, Any]:
    laydown, target = evening.line or (None, None)
    return {
        "shop_id": ball.shop_id,
        "bowler_id": ball.bowler_id,
        "ball": ball,
        "condition": condition,
        "seen_on": day,
        "games": evening.games,
        "games_on_oil": evening.games_on_oil,
        "finish": ball.finish,
        "games_since_finish": ball.games_since_finish,
        "games_since_oil_drawn": ball.games_since_oil_drawn,
        "games_since_cleaned": ball.games_since_cleaned,
        "laydown_board": laydown,
        "target_board": target,
        "entry_board": evening.entry,
        "break_board": evening.turned[0],
        "break_ft": evening.turned[1],
        "leaves": list(evening.leaves),
        "motion": evening.motion,
        "look": evening.look,
        "remark": evening.remark,
        "set_aside": evening.set_aside,
    }


def _drop_answers_to_other_questions(shop: Shop) -> None:
    """Remove rankings of what the records no longer say, so that a reload is as new."""
    answers = []
    for bowler in Bowler.objects.for_shop(shop).filter(rankings__isnull=False).distinct():
        try:
            question = services.question_for(bowler)
        except engine.Missing:
            continue
        answer = services.answer_to(bowler=bowler, question=question)
        answers.append(answer.pk if answer else None)
    Ranking.objects.for_shop(shop).exclude(pk__in=[pk for pk in answers if pk]).delete()


def _ask(bowlers: list[Bowler], owner: User) -> list[Ranking]:
    """Put a few rankings in line, for the worker to compute while people look around."""
    by_name = {bowler.name: bowler for bowler in bowlers}
    return [
        services.request_ranking(
            bowler=by_name[name], question=services.question_for(by_name[name]), user=owner
        )
        for name in ASKED_FIRST
    ]
