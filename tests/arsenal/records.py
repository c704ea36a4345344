"""Records for the tests of catalogue, bag and lanes: invented balls, houses and customers."""

from __future__ import annotations

import re
import uuid
from typing import Any

from django.http.response import HttpResponseBase

from arsenal.models import (
    BallModel,
    BallSpec,
    Condition,
    DrillPlan,
    Hole,
    House,
    Observation,
    OwnedBall,
    PhoneLink,
    PhoneReport,
    PhoneSheet,
    PlannedHole,
    StockBall,
    Ticket,
)
from arsenal.phone.services import new_link
from bowlers.models import Bowler, Delivery, Fitting, Grip
from proshop.models import Shop

ANGLES = {"drilling_angle_deg": 45.0, "pin_to_pap_in": 4.0, "val_angle_deg": 40.0}


def ball_model(shop: Shop, name: str = "Alder", weights: tuple[int, ...] = (15,)) -> BallModel:
    model = BallModel.objects.create(
        shop=shop, name=name, cover="solid", factory_finish="2000", price="180"
    )
    for weight in weights:
        BallSpec.objects.create(
            model=model,
            weight_lb=weight,
            rg_low_in=2.48,
            differential_in=0.05,
            intermediate_differential_in=0.01,
        )
    return model


def stock_ball(shop: Shop, spec: BallSpec, **changes: Any) -> StockBall:
    values = {
        "label_weight_lb": spec.weight_lb,
        "label_weight_oz": "2",
        "top_weight_oz": 3.0,
        "pin_to_cg_in": 2.5,
        "price": "170",
    }
    return StockBall.objects.create(shop=shop, spec=spec, **{**values, **changes})


def customer(shop: Shop, name: str = "Wren Marsh", **changes: Any) -> Bowler:
    bowler: Bowler = Bowler.objects.create(shop=shop, name=name, **changes)
    return bowler


def fitting(bowler: Bowler, **changes: float) -> Fitting:
    """A finished fitting of two deliveries whose PAP lies a tenth of an inch apart."""
    found: Fitting = Fitting.objects.create(shop=bowler.shop, bowler=bowler, status="finished")
    values = {
        "speed_mph": 17.0,
        "rev_rate_rpm": 300.0,
        "rotation_deg": 45.0,
        "tilt_deg": 12.0,
        "pap_up_in": 0.5,
    }
    for order, over in enumerate((5.2, 5.3)):
        Delivery.objects.create(
            shop=bowler.shop,
            fitting=found,
            order=order,
            **{**values, "pap_over_in": over, **changes},
        )
    return found


def owned_ball(bowler: Bowler, spec: BallSpec, **changes: Any) -> OwnedBall:
    values = {
        "label_weight_lb": spec.weight_lb,
        "label_weight_oz": "2",
        "top_weight_oz": 3.0,
        "pin_to_cg_in": 2.5,
        "layout_notation": "angles",
        "layout_numbers": ANGLES,
        "pap_over_in": 5.0,
        "pap_up_in": 0.5,
        "finish": "2000",
    }
    ball: OwnedBall = OwnedBall.objects.create(
        shop=bowler.shop, bowler=bowler, spec=spec, **{**values, **changes}
    )
    for kind, over, up, size, depth in (
        ("middle", -0.609, 2.609, 0.969, 1.75),
        ("ring", 0.609, 2.609, 0.969, 1.75),
        ("thumb", 0.0, -2.625, 1.0, 2.75),
    ):
        Hole.objects.create(
            ball=ball, kind=kind, over_in=over, up_in=up, diameter_in=size, depth_in=depth
        )
    return ball


HOLES = (
    ("middle", -0.66, 2.609, 0.969, 1.75),
    ("ring", 0.66, 2.609, 0.969, 1.75),
    ("thumb", 0.0, -2.625, 1.0, 2.75),
)


def drill_plan(bowler: Bowler, spec: BallSpec, **changes: Any) -> DrillPlan:
    """A plan of three straight holes, not signed for."""
    values = {
        "label_weight_lb": spec.weight_lb,
        "label_weight_oz": "2",
        "top_weight_oz": 3.0,
        "pin_to_cg_in": 2.5,
        "layout_notation": "angles",
        "layout_numbers": ANGLES,
        "pap_over_in": 5.0,
        "pap_up_in": 0.5,
        "finish": "2000",
        "serial": "SN 4711",
    }
    plan: DrillPlan = DrillPlan.objects.create(
        shop=bowler.shop, bowler=bowler, spec=spec, **{**values, **changes}
    )
    for kind, over, up, size, depth in HOLES:
        PlannedHole.objects.create(
            plan=plan, kind=kind, over_in=over, up_in=up, diameter_in=size, depth_in=depth
        )
    return plan


def ticket(bowler: Bowler, **changes: Any) -> Ticket:
    """A ball to be cleaned for 5, nothing paid yet."""
    values = {"job": "clean", "price_work": "5"}
    found: Ticket = Ticket.objects.create(shop=bowler.shop, bowler=bowler, **{**values, **changes})
    return found


def grip(bowler: Bowler, **changes: Any) -> Grip:
    """A plain fingertip grip with a quarter-inch bridge."""
    finger = {"hole_in": 0.96875, "depth_in": 1.75}
    values = {
        "span_middle_in": 4.25,
        "span_ring_in": 4.375,
        "bridge_in": 0.25,
        **{f"middle_{name}": value for name, value in finger.items()},
        **{f"ring_{name}": value for name, value in finger.items()},
        "thumb_hole_in": 1.0,
        "thumb_depth_in": 2.75,
    }
    return Grip.objects.create(shop=bowler.shop, bowler=bowler, **{**values, **changes})


def house(shop: Shop, name: str = "Quarry Lanes") -> House:
    return House.objects.create(shop=shop, name=name, lane_surface="older synthetic")


def condition(house: House, name: str = "House shape, 40 ft", **changes: Any) -> Condition:
    values = {
        "length_ft": 40.0,
        "volume_ml": 24.0,
        "inside_to_outside_ratio": 6.0,
        "shape": "blended",
    }
    return Condition.objects.create(
        shop=house.shop, house=house, name=name, **{**values, **changes}
    )


def observation(ball: OwnedBall, condition: Condition, **changes: Any) -> Observation:
    """An evening with a line told: entered a little high, left the 4-9 once."""
    values = {
        "games": 3,
        "finish": ball.finish,
        "laydown_board": 22.0,
        "target_board": 13.0,
        "entry_board": 18.5,
        "leaves": ["4-9"],
    }
    seen: Observation = Observation.objects.create(
        shop=ball.shop,
        bowler=ball.bowler,
        ball=ball,
        condition=condition,
        **{**values, **changes},
    )
    return seen


def phone_link(bowler: Bowler, **changes: Any) -> PhoneLink:
    """An open link of this customer's."""
    link = new_link(bowler)
    for name, value in changes.items():
        setattr(link, name, value)
    link.renew_token()
    link.save()
    return link


def phone_sheet(bowler: Bowler, **changes: Any) -> PhoneSheet:
    """A plan for a night, on this customer's page."""
    values = {
        "heading": "A night on House shape, 40 ft",
        "lines": ["Game 1, lanes fresh: start with Hornbeam, from board 22 over 14."],
        "closing": "One ball does for the night (estimate).",
    }
    sheet: PhoneSheet = PhoneSheet.objects.create(
        shop=bowler.shop, bowler=bowler, **{**values, **changes}
    )
    return sheet


def phone_report(ball: OwnedBall, condition: Condition, **changes: Any) -> PhoneReport:
    values = {"form_token": uuid.uuid4(), "games": 3, "leaves": ["10"], "motion": "never"}
    report: PhoneReport = PhoneReport.objects.create(
        shop=ball.shop,
        bowler=ball.bowler,
        ball=ball,
        condition=condition,
        **{**values, **changes},
    )
    return report


def form_values(response: HttpResponseBase, *forms: Any) -> dict[str, Any]:
    """What a browser would send back of these forms and formsets, untouched."""
    values: dict[str, Any] = {}
    for form in forms:
        if hasattr(form, "management_form"):
            values |= form_values(response, form.management_form, *form.forms)
            continue
        for field in form:
            value = field.value()
            if value is None or value is False:
                continue
            values[field.html_name] = value() if callable(value) else value
    if "form_token" in values:
        values["form_token"] = token_in(response)
    return values


def token_in(response: Any) -> str:
    """The first token printed on the page."""
    found = re.search(r'name="form_token" value="([^"]+)"', response.content.decode())
    assert found, "no form token on the page"
    return found[1]
