"""A demo fitting read by instruments: what they would have shown of its throws, and what follows.

Speed stays a number, so that loading the demo needs no solver.
"""

from __future__ import annotations

from typing import Any

from arsenal.demo.kinds import Person, Throw
from bowlers.engine.measuring import derive
from bowlers.instruments import shot_of
from bowlers.readings import BY_NAME

FILMED: dict[str, dict[str, Any]] = {
    "rev_rate": {"way": "frames", "turns": 2.0, "frames_per_second": 240.0},
    "rotation": {"way": "above_deg", "launch_deg": 0.0},
    "tilt": {"way": "ring_width_in"},
    "pap": {"way": "ruler"},
}
ROUND_IN = 27.0


def filmed(throw: Throw, person: Person) -> dict[str, Any]:
    """The columns of one delivery: frames counted, a ring measured to the sixteenth of an inch."""
    told = throw.readings()
    if None in told.values():
        raise ValueError("a filmed throw has every reading")
    number = {name: float(value) for name, value in told.items() if value is not None}
    film = FILMED["rev_rate"]
    frames = film["turns"] * 60 * film["frames_per_second"] / number["rev_rate_rpm"]
    width = (90 - number["tilt_deg"]) * ROUND_IN / 180
    raw = shot_of(
        FILMED,
        number
        | {
            "rev_frames": float(round(frames)),
            "above_deg": number["rotation_deg"],
            "ring_width_in": round(16 * width) / 16,
        },
    )
    found = derive(raw, beside={}, hand=person.hand, average=person.average)
    values = {name: round(value, BY_NAME[name].decimals) for name, value in found.values.items()}
    return {**number, **values, "raw": raw, "errors": found.errors}
