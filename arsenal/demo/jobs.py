"""What the demo shop has drilled this season, has on the press, and has promised."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User

from arsenal import engine
from arsenal.bag.starting_grip import holes_of
from arsenal.demo.choosing import chosen_so_far, of_start
from arsenal.demo.keeping import Keeper
from arsenal.models import DrillPlan, OwnedBall, PlannedHole, PriceList, StockBall, Ticket
from arsenal.press.services import PREDICTED, start_plan
from arsenal.tickets.services import plan_prices
from bowlers.models import Bowler
from proshop.models import Shop


@dataclass(frozen=True)
class Drilled:
    """A ball of a bag that was drilled here, days before the demo was first loaded.

    ``scale_oz``: by how much the scale's top, side and finger weights lay off what the site had
    computed (invented); None where nobody weighed it yet.
    """

    who: str
    model: str
    days_ago: int
    scale_oz: tuple[float, float, float] | None
    collected: bool = True
    new_thumb: bool = False
    differed: str = ""


@dataclass(frozen=True)
class Service:
    """A job that isn't drilling; ``promised_in_h`` counts from when the demo was first loaded."""

    who: str
    model: str
    job: str
    step: str
    price: int
    promised_in_h: int
    words: str
    finish: str = ""
    deposit: int = 0
    new_thumb: bool = False
    collected_days_ago: int = 0


SEASON = (
    Drilled("Tom Whitaker", "Juniper", 64, (0.12, -0.06, 0.09)),
    Drilled("Luis Herrera", "Whitebeam", 47, (-0.08, 0.11, 0.02)),
    Drilled("Ingrid Palmer", "Crab Apple", 33, (0.19, 0.05, -0.1)),
    Drilled(
        "Renee Castillo", "Spindle", 26, (0.03, -0.13, 0.14), differed="Thumb a size up by hand."
    ),
    Drilled("Sofia Marino", "Medlar", 17, (0.07, 0.02, -0.03), new_thumb=True),
    Drilled("Carla Benning", "Scots Pine", 2, None, collected=False),
)
SERVICES = (
    Service("Dana Kowalski", "Wild Service", "extract", "waiting", 22, 26, "Then its polish again"),
    Service(
        "Josh Tanner", "Spindle", "resurface", "press", 25, 5, "All of it alike", finish="1000"
    ),
    Service("Walter Novak", "Quince", "clean", "ready", 5, -3, "By hand, no hot water"),
    Service("Denise Okafor", "Rowan", "clean", "off", 5, 50, "Does it at home from now on"),
    Service("Linda Farrow", "Medlar", "plug", "waiting", 20, 70, "Old thumb, for a new one"),
    Service(
        *("Ethan Crowe", "Grey Alder", "thumb", "collected", 15, -500, "Opened for a growing hand"),
        new_thumb=True,
        collected_days_ago=16,
    ),
)
# On the press: a ball off the shelf, as the first customer of that weight would have it.
AT_THE_PRESS = ("Grace Adeyemi", "Wych Elm", 14)
# Being laid out: a ball that is to be drilled again, its gate not answered yet.
AGAIN = ("Marcus Ellery", "Hornbeam")
# Being laid out: a ball off the shelf for an oval thumb.
OVAL = ("Harold Jessup", "Whitebeam", 13)
LAYOUT = {"drilling_angle_deg": 55.0, "pin_to_pap_in": 4.75, "val_angle_deg": 35.0}
# Where this shop's prices aren't the usual ones.
PRICES = {
    "price_insert": Decimal("8.50"),
    "price_slug": Decimal("13.50"),
    "price_thumb": Decimal("17.50"),
}
LABEL = ("label_weight_lb", "label_weight_oz", "top_weight_oz", "pin_to_cg_in", "serial")


def keep_jobs(keeper: Keeper, shop: Shop, bowlers: list[Bowler], staff: list[User]) -> None:
    """Plans, their holes and the tickets; what was predicted is computed."""
    keeper.keep(PriceList.objects.for_shop(shop), ("shop_id",), [{"shop": shop, **PRICES}])
    people = {bowler.name: bowler for bowler in bowlers}
    bags = {
        (ball.bowler.name, ball.spec.model.name): ball
        for ball in OwnedBall.objects.for_shop(shop).with_drilling().order_by("-pk")
    }
    rows = [*_drilled(shop, bags, staff), _at_the_press(shop, people, bags, staff)]
    rows += [_again(shop, bags), _oval(shop, people)]
    rows += [(plan, holes, None) for plan, holes in chosen_so_far(shop)]
    plans = keeper.keep(
        DrillPlan.objects.for_shop(shop),
        ("bowler_id", "serial", "notes"),
        (row for row, *_ in rows),
    )
    keeper.keep(
        PlannedHole.objects.filter(plan__shop=shop),
        ("plan_id", "kind"),
        (
            {"plan": plan, **hole}
            for plan, (_, holes, _) in zip(plans, rows, strict=True)
            for hole in holes
        ),
    )
    for plan, (_, _, scale_oz) in zip(plans, rows, strict=True):
        _predict(plan, scale_oz)
    keeper.keep(
        Ticket.objects.for_shop(shop),
        ("bowler_id", "words", "plan_id"),
        [*_plan_tickets(shop, plans), *_services(shop, people, bags)],
    )


Row = tuple[dict[str, Any], Sequence[Mapping[str, Any]], tuple[float, float, float] | None]


def _drilled(
    shop: Shop, bags: dict[tuple[str, str], OwnedBall], staff: list[User]
) -> Iterator[Row]:
    for job in SEASON:
        ball = bags[job.who, job.model]
        when = shop.created_at - datetime.timedelta(days=job.days_ago)
        yield (
            _of_ball(shop, ball)
            | {
                "ball": ball,
                "state": "drilled",
                "signed_by": staff[1],
                "signed_at": when - datetime.timedelta(hours=20),
                "drilled_by": staff[2],
                "drilled_at": when,
                "differed": job.differed,
            },
            holes_of(ball),
            job.scale_oz,
        )


def _at_the_press(
    shop: Shop,
    people: dict[str, Bowler],
    bags: dict[tuple[str, str], OwnedBall],
    staff: list[User],
) -> Row:
    who, model, weight = AT_THE_PRESS
    like = next(ball for (name, _), ball in bags.items() if name == who and not ball.retired)
    stock = StockBall.objects.for_shop(shop).on_shelf().with_model()
    found = stock.filter(spec__model__name=model, spec__weight_lb=weight).order_by("pk")[0]
    row = _of_ball(shop, like) | {
        "bowler": people[who],
        "spec": found.spec,
        "stock": found,
        "finish": found.spec.model.factory_finish,
        "layout_notation": "angles",
        "layout_numbers": LAYOUT,
        "state": "signed",
        "signed_by": staff[1],
        "signed_at": shop.created_at - datetime.timedelta(hours=4),
        **{name: getattr(found, name) for name in LABEL},
    }
    return row, holes_of(like), None


def _again(shop: Shop, bags: dict[tuple[str, str], OwnedBall]) -> Row:
    ball = bags[AGAIN]
    row = _of_ball(shop, ball) | {
        "ball": ball,
        "again": True,
        "layout_notation": "angles",
        "layout_numbers": LAYOUT,
        "notes": "Pin up, to get it further down the lane.",
    }
    return row, holes_of(ball), None


def _oval(shop: Shop, people: dict[str, Bowler]) -> Row:
    """A ball for a thumb that was measured oval: its holes are those of the hand."""
    who, model, weight = OVAL
    stock = StockBall.objects.for_shop(shop).on_shelf().with_model()
    found = stock.filter(spec__model__name=model, spec__weight_lb=weight).order_by("pk")[0]
    start = start_plan(bowler=people[who], spec=found.spec, stock=found)
    row = of_start(start, people[who]) | {
        "spec": found.spec,
        "stock": found,
        "layout_notation": "angles",
        "layout_numbers": LAYOUT,
        "notes": "The thumb oval, as the hand was measured.",
    }
    return row, start.holes, None


def _of_ball(shop: Shop, ball: OwnedBall) -> dict[str, Any]:
    names = (*LABEL, "layout_notation", "layout_numbers", "pap_over_in", "pap_up_in", "finish")
    return {
        "shop": shop,
        "bowler": ball.bowler,
        "spec": ball.spec,
        **{name: getattr(ball, name) for name in names},
    }


def _predict(plan: DrillPlan, scale_oz: tuple[float, float, float] | None) -> None:
    """What was signed for, computed, and what the scale showed, written where it differs."""
    predicted: dict[str, Any] | None = None
    weighed: list[float | None] = [None] * 3
    if plan.state in ("signed", "drilled"):
        numbers = engine.planned_numbers(DrillPlan.objects.whole().get(pk=plan.pk))
        predicted = {name: numbers[name] for name in PREDICTED}
        predicted["model_version"] = engine.MODEL_VERSION
        if scale_oz is not None:
            statics = [numbers["static_oz"][key] for key in ("top", "side", "finger")]
            weighed = [round(s + off, 2) for s, off in zip(statics, scale_oz, strict=True)]
    wanted = dict(zip(("measured_top_oz", "measured_side_oz", "measured_finger_oz"), weighed,
                      strict=True)) | {"predicted": predicted}  # fmt: skip
    if any(getattr(plan, name) != value for name, value in wanted.items()):
        for name, value in wanted.items():
            setattr(plan, name, value)
        plan.save()


def _plan_tickets(shop: Shop, plans: list[DrillPlan]) -> Iterator[dict[str, Any]]:
    season = {(job.who, job.model): job for job in SEASON}
    for plan in plans:
        job = season.get((plan.bowler.name, plan.spec.model.name))
        if plan.is_draft:
            continue
        done = job is not None and plan.is_drilled
        collected = done and job is not None and job.collected
        yield {
            "shop": shop,
            "bowler": plan.bowler,
            "plan": plan,
            "ball": plan.ball,
            "job": "drill",
            "step": "collected" if collected else "ready" if done else "press",
            **plan_prices(plan),
            "deposit": 50,
            "promised_at": plan.drilled_at or shop.created_at + datetime.timedelta(hours=28),
            "ready_at": plan.drilled_at,
            "collected_at": plan.drilled_at + datetime.timedelta(days=1)
            if collected and plan.drilled_at
            else None,
            "new_thumb": job is not None and job.new_thumb,
        }


def _services(
    shop: Shop, people: dict[str, Bowler], bags: dict[tuple[str, str], OwnedBall]
) -> Iterator[dict[str, Any]]:
    for job in SERVICES:
        promised = shop.created_at + datetime.timedelta(hours=job.promised_in_h)
        gone = shop.created_at - datetime.timedelta(days=job.collected_days_ago)
        yield {
            "shop": shop,
            "bowler": people[job.who],
            "ball": bags[job.who, job.model],
            "job": job.job,
            "step": job.step,
            "finish": job.finish,
            "price_work": job.price,
            "deposit": job.deposit,
            "promised_at": promised,
            "ready_at": promised if job.step in ("ready", "collected") else None,
            "collected_at": gone if job.collected_days_ago else None,
            "words": job.words,
            "new_thumb": job.new_thumb,
        }
