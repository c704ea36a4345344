"""What the site advised, beside what the technician chose."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format

from arsenal.advice.choices import surface_words
from arsenal.advice.models import Ranking
from arsenal.advice.words import DRILLED, kind_words, layout_words
from arsenal.bag.models import OwnedBall
from arsenal.catalogue.models import BallSpec, Finish, StockBall
from arsenal.press.models import DrillPlan
from bowlers.models import Bowler

# Nearer than this in each number two layouts are one at the press (an estimate).
SAME_ANGLE_DEG, SAME_IN = 2.5, 0.07


def newest_ranking(bowler: Bowler) -> Ranking | None:
    found: Ranking | None = Ranking.objects.for_bowler(bowler).done().newest_first().first()
    return found


def advice_of(ranking: Ranking | None) -> dict[str, Any]:
    """The first choice of a ranking in words, with all that counts as having followed it."""
    choices = (ranking.result or {}).get("choices") if ranking else None
    if ranking is None or not choices:
        return {}
    first = choices[0]
    day = date_format(timezone.localtime(ranking.finished_at or ranking.asked_at), "j M Y")
    return {
        "words": option_words(first),
        "day": day,
        "options": [
            {key: option.get(key) for key in ("ball", "layout", "surface")}
            for option in (first, *first["family"])
        ],
    }


def option_words(option: Mapping[str, Any]) -> str:
    """A choice in one line: ``To order: Rowan, 50° × 4 1/2 in × 30°, 3000 grit``."""
    if option["kind"] == "none":
        return "Nothing needed: keep the bag as it is"
    said = [option["ball"], option.get("work") or "", layout_words(option["layout"])]
    if not option.get("work"):
        said.append(surface_words(option["surface"]))
    return f"{kind_words(option['kind'])}: {', '.join(part for part in said if part)}"


def plan_words(plan: DrillPlan, layout: Mapping[str, Any]) -> str:
    """A plan in the same words."""
    kind = "Redrill" if plan.again else "From the shelf" if plan.stock_id else "New ball"
    return f"{kind}: {_ball_name(plan)}, {layout_words(layout)}, {Finish(plan.finish).label}"


def is_followed(plan: DrillPlan, layout: Mapping[str, Any]) -> bool:
    """Whether a plan is what was advised, or one of what was as good; so without any advice."""
    if not plan.advice:
        return True
    names = {plan.spec.model.name, _ball_name(plan)}
    return any(
        option["ball"] in names
        and option["surface"] == plan.finish
        and _is_same(option["layout"], layout)
        for option in plan.advice["options"]
    )


def _ball_name(plan: DrillPlan) -> str:
    return str(plan.ball) if plan.again and plan.ball else plan.spec.model.name


def _is_same(one: Mapping[str, Any] | None, other: Mapping[str, Any]) -> bool:
    return one is not None and all(
        abs(one[name] - other[name]) <= most
        for name, most in (
            ("drilling_angle_deg", SAME_ANGLE_DEG),
            ("pin_to_pap_in", SAME_IN),
            ("val_angle_deg", SAME_ANGLE_DEG),
        )
    )


def option_at(ranking: Ranking, place: int, member: int = 0) -> dict[str, Any] | None:
    """The ranking's choice at a place counted from 1, or one of its family; None if there is none
    that is drilled."""
    choices = (ranking.result or {}).get("choices", [])
    if not 1 <= place <= len(choices):
        return None
    family = [choices[place - 1], *choices[place - 1]["family"]]
    if not 0 <= member < len(family):
        return None
    option: dict[str, Any] = family[member]
    return option if option["kind"] in DRILLED and option["layout"] else None


def ball_behind(
    ranking: Ranking, option: Mapping[str, Any]
) -> tuple[StockBall | None, BallSpec | None, OwnedBall | None]:
    """The record an option speaks of, as it is today: on the shelf, to order, or owned.

    All None when it is gone since: sold, retired, or taken out of the catalogue.
    """
    name, shop = option["ball"], ranking.shop
    if option["kind"] == "redrill":
        ids = [ball["id"] for ball in ranking.inputs.get("bag", []) if ball["name"] == name]
        balls = OwnedBall.objects.for_shop(shop).in_use().filter(bowler=ranking.bowler, pk__in=ids)
        ball = balls.with_drilling().first()
        return None, ball.spec if ball else None, ball
    ids = [ball["id"] for ball in ranking.inputs.get("shelf", []) if ball["name"] == name]
    shelf = StockBall.objects.for_shop(shop).kept_for(ranking.bowler).with_model()
    stock = shelf.filter(pk__in=ids).first()
    if stock is not None:
        return stock, stock.spec, None
    models = [ball["id"] for ball in ranking.inputs.get("catalogue", []) if ball["name"] == name]
    specs = BallSpec.objects.for_shop(shop).with_model().filter(model_id__in=models)
    return None, specs.filter(weight_lb=ranking.inputs.get("weight_lb")).first(), None
