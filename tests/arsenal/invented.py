"""A ranking that nobody computed: invented numbers of the right shape, to test pages with.

Nothing here says anything about bowling; the tests of the engine are elsewhere.
"""

from __future__ import annotations

import math
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from arsenal.models import Ranking
from bowlers.models import Bowler
from tests.arsenal import records

BALLS = (
    "Hornbeam",
    "Silver Birch",
    "Old Walnut with the long name",
    "Rowan",
    "Alder",
    "Blackthorn",
    "Wych Elm",
    "Hazel",
    "Juniper",
)
CONDITIONS = (
    "House blend, medium",
    "House blend after two blocks",
    "Flat and long",
    "Dry house at noon",
    "Short and blocked",
    "Heavy oil, flat",
    "Old wood, light oil",
    "Tournament, middle length",
)


def rowan_first(bowler: Bowler, staff: User) -> Ranking:
    """An invented answer whose first choice is a Rowan to order, 50° × 4 1/2 in × 30°."""
    model = records.ball_model(bowler.shop, "Rowan")
    found: Ranking = Ranking.objects.create(
        shop=bowler.shop,
        bowler=bowler,
        requested_by=staff,
        status="done",
        seed=1,
        model_version="invented",
        inputs={"weight_lb": 15, "catalogue": [{"name": "Rowan", "id": model.pk}]},
        inputs_key="0" * 64,
        result=invented_result(),
        asked_at=timezone.now(),
        finished_at=timezone.now(),
    )
    return found


def invented_result(
    *,
    customer_id: int = 1,
    balls: int = 3,
    tasks: int = 2,
    nothing_first: bool = False,
    no_window_on: int | None = None,
    strip: bool = True,
    care: bool = False,
) -> dict[str, Any]:
    return {
        "customer": {"id": customer_id, "name": "Wren Marsh"},
        "model_version": "invented",
        "seed": 1,
        "benchmark": {"ball_id": 1, "ball": BALLS[0]},
        "tasks": [_task(number, balls, number == no_window_on) for number in range(tasks)],
        "choices": _choices(tasks, nothing_first, care),
        "doubt": _doubt(),
        "excluded": [
            {"what": "Rowan, 20° × 3 in × 10°", "why": "The track runs over the thumb hole."},
            {"what": "Alder, 90° × 6 in × 70°", "why": "Side weight would be 3.2 oz."},
        ],
        "strip": _strip() if strip else None,
        "without_ring_oil": {"kendall_tau": 0.9, "first_same": True},
        "timings": {},
    }


def _task(number: int, balls: int, no_window: bool) -> dict[str, Any]:
    best = 0.62 - 0.04 * number
    middle = 19.0 + 1.5 * number
    gap = number % 2 == 1
    window = [[middle - 1.2, middle + 1.3]] if number % 3 else [[15, 16.2], [middle - 1, middle]]
    owned = []
    for ball in range(balls):
        hook = middle + 2.5 + 0.9 * ball if gap else middle - 3 + 1.7 * ball
        late = ball == 2
        owned.append(
            {
                "ball_id": ball + 1,
                "ball": BALLS[ball],
                "hook_length_ft": hook,
                "late": late,
                "early": ball == 3,
                "shape_note": "",
                "strength_boards": 0.0 if ball == 0 else 2.5 - 1.4 * ball,
                "carry": 0.7 * best if gap else best * (0.97 if ball % 2 else 0.8),
                "room_left_boards": 1.5,
                "room_right_boards": 2.0,
                "line": {"laydown_board": 22.0, "launch_deg": 1.8, "arrow_board": 14.0},
                "entry": {"board": 17.2, "angle_deg": 4.6, "speed_mph": 16.1},
                "breakpoint": {"board": 7.5, "ft": 41.0},
            }
        )
    return {
        "name": CONDITIONS[number],
        "condition_id": number + 1,
        "house": "Long Meadow",
        "weight": 30.0 - 3 * number,
        "pattern": {"length_ft": 40.0, "volume_ml": 24.0, "ratio": 6.0, "class": "house"},
        "window": None if no_window else window,
        "gap": gap and not no_window,
        "gap_side": "rolly" if gap else None,
        "gap_words": "Everything owned rolls out before the pins; nothing sharp is left."
        if gap
        else "Silver Birch scores here.",
        "best_available": 0.04 if no_window else best,
        "best_option": "Rowan, 50° × 4 1/2 in × 30°, 3000",
        "hook_range": [14.0, 29.0],
        "owned": owned,
    }


def _choices(tasks: int, nothing_first: bool, care: bool) -> list[dict[str, Any]]:
    layout = {"drilling_angle_deg": 50.0, "pin_to_pap_in": 4.5, "val_angle_deg": 30.0}
    drilled = {
        "mass_kg": 6.72,
        "principal_rg_in": [2.51, 2.545, 2.557],
        "differential_in": 0.047,
        "intermediate_differential_in": 0.012,
        "static_oz": {"top": 1.2, "side": -0.4, "finger": 0.3},
    }
    change: list[Any] = [
        ("order", "Rowan", layout, "3000", 0.081, 0.97, 189.0, 0.9),
        ("surface", "Hornbeam", None, "2000", 0.052, 0.88, 20.0, 0.6),
        ("stock", "Alder", {**layout, "pin_to_pap_in": 5.0}, "polished", 0.04, 0.72, 149.0, 0.8),
        ("redrill", "Silver Birch", {**layout, "val_angle_deg": 65.0}, "1000", 0.011, 0.6, 80.0, 1),
    ]
    if care:
        change.insert(2, ("care", "Silver Birch", None, "2000", 0.045, 0.8, 22.0, 0.7))
    none: Any = ("none", "", None, "", 0.0, 0.8, 0.0, None)
    rows: list[Any] = [none, ("surface", "Hornbeam", None, "2000", -0.004, 0.41, 20.0, None)]
    return [
        {
            "rank": rank,
            "kind": kind,
            "ball": ball,
            "layout": where,
            "surface": surface,
            "gain": gain,
            "gain_by_task": [gain * (1.5 if number == 0 else 0.5) for number in range(tasks)],
            "certainty": certainty,
            "gain_interval": [gain - 0.03, gain + 0.02],
            "gain_middle": gain - 0.01,
            "beats_next": beats,
            "too_close": beats is not None and beats < 0.75,
            "cost": {"amount": cost, "currency": "USD"},
            "family": [
                {
                    "ball": ball,
                    "layout": {**layout, "drilling_angle_deg": 60.0},
                    "surface": surface,
                    "kind": kind,
                    "gain": gain - 0.001,
                    "cost": {"amount": cost, "currency": "USD"},
                }
            ]
            if kind == "order"
            else [],
            "reason": f"{ball or 'Every ball'} spends its turn where the pins are. "
            "On the house blend that opens a window nothing owned reaches.",
            "drilled": drilled if where else None,
        }
        | ({"work": "Draw the oil out and restore its 2000 grit finish"} if kind == "care" else {})
        for rank, (kind, ball, where, surface, gain, certainty, cost, beats) in enumerate(
            rows if nothing_first else [*change, none], start=1
        )
    ]


def _doubt() -> dict[str, Any]:
    return {
        "draws": 64,
        "interval_share": 0.8,
        "first_beats_second": 0.61,
        "against": "second",
        "too_close": True,
        "limit": 0.75,
        "words": "Too close to call: the first choice beats the second in only 61 % of the draws.",
        "explained": 0.6,
        "rest": 0.4,
        "hangs_on": [
            {"what": "rev rate", "share": 0.4},
            {"what": "friction of the lanes at Long Meadow", "share": 0.2},
        ],
        "would_settle": [
            {
                "words": "Two more deliveries with rev rate: the chance of picking the wrong one "
                "falls from 39 % to 31 % (estimate).",
                "learnt_share": 0.3,
                "wrong_now": 0.39,
                "wrong_then": 0.31,
            }
        ],
        "priors": {"lane_friction": 0.06},
    }


def _strip() -> dict[str, Any]:
    feet = [0.5 * step for step in range(121)]

    def shot(label: str, kind: str, entry: float, turned: float) -> dict[str, Any]:
        board = [22 - 15 * math.sin(math.pi * x / 82) ** 2 for x in feet]
        bend = [max(0.0, x - 36) ** 2 / 576 for x in feet]
        reach = entry - board[-1]
        return {
            "label": label,
            "kind": kind,
            "feet": feet,
            "board": [y + reach * share for y, share in zip(board, bend, strict=True)],
            "share": [min(1.0, turned * (x / 60) ** 3) for x in feet],
            "entry": {"board": entry, "angle_deg": 3 + entry / 10, "speed_mph": 16.2},
            "breakpoint": {"board": 7.0, "ft": 41.0},
            "leaves": [{"leave": "10", "a_game": 1.1}, {"leave": "4-9", "a_game": 0.6}],
        }

    return {
        "task": CONDITIONS[0],
        "shots": [
            shot("Rowan, 50° × 4 1/2 in × 30°, 3000", "first choice", 17.4, 0.93),
            shot("Hornbeam", "owned", 13.1, 0.7),
        ],
        "oil": {
            "feet": [2.0 * step for step in range(20)],
            "boards": list(range(1, 40)),
            "units": [
                [
                    max(0.0, 40 * math.sin(math.pi * board / 40) ** 1.5 * (1 - step / 22))
                    for board in range(1, 40)
                ]
                for step in range(20)
            ],
        },
    }
