"""What the demo shop chose where the site had advised something: made of a ranking once it is done,
as nothing is advised before it was computed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from arsenal.advice.models import Ranking
from arsenal.demo.people import REVS, SPEED
from arsenal.models import DrillPlan, PlannedHole
from arsenal.press import advised, services
from bowlers.models import Bowler
from proshop.models import Shop


@dataclass(frozen=True)
class Choice:
    """Which of the choices that are drilled was taken, counted from 0, and why not the first."""

    drilled: int
    reason: str = ""
    notes: str = ""
    # The label of the ball that came, where it had to be ordered (invented).
    label: Mapping[str, Any] = field(default_factory=dict)


CHOICES: dict[str, Choice] = {
    REVS.name: Choice(
        1,
        "Had one like it for three seasons and trusts it; a week’s wait is no matter.",
        "Came with Tuesday’s delivery.",
        {"serial": "D4999", "label_weight_oz": "2.2", "top_weight_oz": 2.6, "pin_to_cg_in": 2.5},
    ),
    SPEED.name: Choice(0, notes="As advised: it is on the shelf."),
}


def follow_in_demo(ranking: Ranking) -> None:
    """Lay out what was chosen, once a ranking of the demo's is done and nobody did yet."""
    made = rows_of(ranking) if ranking.shop.is_demo else None
    if made is None or DrillPlan.objects.filter(bowler=ranking.bowler, notes=made[0]["notes"]):
        return
    plan, holes = made
    with transaction.atomic():
        stored = DrillPlan.objects.create(**plan)
        for hole in holes:
            PlannedHole.objects.create(plan=stored, **hole)


def chosen_so_far(shop: Shop) -> Iterator[tuple[dict[str, Any], list[dict[str, Any]]]]:
    """The same of each customer's newest ranking that is done."""
    for name in CHOICES:
        newest = Ranking.objects.for_shop(shop).filter(bowler__name=name).done().newest_first()
        ranking = newest.select_related("bowler", "shop").first()
        made = rows_of(ranking) if ranking else None
        if made is not None:
            yield made


def rows_of(ranking: Ranking) -> tuple[dict[str, Any], list[dict[str, Any]]] | None:
    """The plan of what was chosen, and its holes; None where there is no such choice."""
    choice = CHOICES.get(ranking.bowler.name)
    if choice is None:
        return None
    places = range(1, len((ranking.result or {}).get("choices", [])) + 1)
    options = [option for place in places if (option := advised.option_at(ranking, place))]
    if len(options) <= choice.drilled:
        return None
    option = options[choice.drilled]
    stock, spec, ball = advised.ball_behind(ranking, option)
    if spec is None or not (stock or ball or choice.label):
        return None
    start = services.start_plan(
        bowler=ranking.bowler, spec=spec, stock=stock, ball=ball, option=option
    )
    label = {} if stock or ball else dict(choice.label)
    plan = (
        of_start(start, ranking.bowler)
        | label
        | {
            "spec": spec,
            "stock": stock,
            "ball": ball,
            "again": ball is not None,
            "layout_notation": "angles",
            "layout_numbers": {
                name: start.initial[f"angles_{name}"]
                for name in ("drilling_angle_deg", "pin_to_pap_in", "val_angle_deg")
            },
            "ranking": ranking,
            "advice": advised.advice_of(ranking),
            "reason": choice.reason,
            "notes": choice.notes,
        }
    )
    return plan, start.holes


def of_start(start: services.Start, bowler: Bowler) -> dict[str, Any]:
    """What a plan starts from, as columns."""
    columns = {field.name for field in DrillPlan._meta.concrete_fields} - {"spec", "id"}
    begun = {name: value for name, value in start.initial.items() if name in columns}
    return {"shop": bowler.shop, "bowler": bowler, **begun}
