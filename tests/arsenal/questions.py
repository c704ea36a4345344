"""A ranking's inputs without a database: a small bag, two conditions, a short menu."""

from __future__ import annotations

import copy
from typing import Any


def _hole(kind: str, over: float, up: float, diameter: float, depth: float) -> dict[str, Any]:
    return {
        "kind": kind,
        "over_in": over,
        "up_in": up,
        "diameter_in": diameter,
        "depth_in": depth,
        "pitch_forward_in": 0.0,
        "pitch_lateral_in": 0.0,
        "density_g_cm3": 1.2,
    }


GRIP = [
    _hole("middle", -0.609, 2.609, 0.969, 1.75),
    _hole("ring", 0.609, 2.609, 0.969, 1.75),
    _hole("thumb", 0.0, -2.625, 1.0, 2.75),
]
PIN_UP = {"drilling_angle_deg": 50.0, "pin_to_pap_in": 4.5, "val_angle_deg": 25.0}
PIN_DOWN = {"drilling_angle_deg": 50.0, "pin_to_pap_in": 4.0, "val_angle_deg": 65.0}


def label(low: float = 2.5, differential: float = 0.048, **changed: float) -> dict[str, float]:
    return {
        "weight_lb": 15.0,
        "radius_in": 4.2975,
        "rg_low_in": low,
        "differential_in": differential,
        "intermediate_differential_in": 0.0,
        "top_weight_oz": 2.5,
        "pin_to_cg_in": 2.5,
        **changed,
    }


def owned(number: int, name: str, cover: str, finish: str, **changed: Any) -> dict[str, Any]:
    return {
        "id": number,
        "name": name,
        "model": name,
        "cover": cover,
        "finish": finish,
        "games": 0,
        "benchmark": False,
        "spares": False,
        "label": label(),
        "layout": dict(PIN_UP),
        "pap_over_in": 5.0,
        "pap_up_in": 0.5,
        "holes": copy.deepcopy(GRIP),
        **changed,
    }


def new(number: int, name: str, cover: str, finish: str, **changed: Any) -> dict[str, Any]:
    return {
        "id": number,
        "name": name,
        "cover": cover,
        "factory_finish": finish,
        "label": label(),
        "price": 160.0,
        "lead_days": 7,
        **changed,
    }


def reading(mean: float, sd: float = 0.0) -> dict[str, Any]:
    return {"mean": mean, "sd": sd, "count": 4}


HOUSE = {"length_ft": 41.0, "volume_ml": 25.0, "inside_to_outside_ratio": 8.0, "shape": "blended"}
FLAT = {"length_ft": 44.0, "volume_ml": 28.0, "inside_to_outside_ratio": 2.5, "shape": "flat"}


def question(**changed: Any) -> dict[str, Any]:
    """A matched bowler with one dull ball on a house pattern and a flat one."""
    plain: dict[str, Any] = {
        "customer": {"id": 1, "name": "Wren Marsh", "hand": "right", "average": 190},
        "currency": "USD",
        "delivery": {
            "speed_mph": reading(17.5, 0.3),
            "rev_rate_rpm": reading(350.0, 12.0),
            "rotation_deg": reading(45.0, 3.0),
            "tilt_deg": reading(12.0, 2.0),
            "pap_over_in": reading(5.0),
            "pap_up_in": reading(0.5),
        },
        "grip": copy.deepcopy(GRIP),
        "bag": [owned(1, "Hornbeam", "solid", "1000")],
        "conditions": [
            _met(1, "House blend", HOUSE, 30),
            _met(2, "Flat and long", FLAT, 10),
        ],
        "shelf": [],
        "catalogue": [new(1, "Silver Lime", "pearl", "polished")],
        "not_made": [],
        "weight_lb": 15,
        "menu": {"layouts": [dict(PIN_UP), dict(PIN_DOWN)], "finishes": ["1000", "polished"]},
        "prices": {"surface": 25.0, "drill": 60.0, "redrill": 95.0},
    }
    return {**plain, **changed}


def _met(number: int, name: str, oil: dict[str, Any], times: int) -> dict[str, Any]:
    return {
        "id": number,
        "name": name,
        "house": "Long Meadow",
        "lane_factor": 1.0,
        "times_a_season": times,
        "oil": dict(oil),
    }
