"""Full menus: each demo customer's question with six balls in the bag, every ball of catalogue and
shelf in 48 layouts and seven finishes, and all eight conditions of the demo, as laid down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.core.management import call_command

from arsenal.engine import Missing, inputs_for
from arsenal.engine.options import menu_of
from arsenal.engine.ranking import NEW, Setting, setting_of
from arsenal.engine.solved import Solved
from bowlers.models import Bowler
from physics import worth

PINS_IN = (2.75, 3.375, 4.0, 4.5, 5.0, 5.5)
VALS_DEG = (25.0, 38.0, 52.0, 65.0)
DRILLINGS_DEG = (40.0, 70.0)
FINISHES = ("360", "500", "1000", "2000", "3000", "4000", "polished")
CONDITIONS = 8
BAG = 6


@dataclass(frozen=True)
class Question:
    """A customer's full menu. ``groups``: as :meth:`arsenal.engine.solved.Solved.menu`."""

    name: str
    inputs: dict[str, Any]
    setting: Setting
    options: list[worth.Option]
    groups: list[int]

    def answered(self, conditions: Sequence[int] | None = None) -> worth.Lines:
        """As a ranking's screen answers it, on all conditions or those of these indices."""
        met = self.setting
        which = range(len(met.tasks)) if conditions is None else conditions
        return Solved().menu(
            met.who,
            worth.Rows.of(self.options),
            self.groups,
            [met.tasks[j] for j in which],
            [met.factors[j] for j in which],
        )


@cache
def questions() -> list[Question]:
    """Every customer of the demo who can be advised."""
    call_command("demo", verbosity=0)
    asked = []
    for customer in Bowler.objects.order_by("pk"):
        try:
            asked.append(inputs_for(customer))
        except Missing:
            continue
    met = {c["name"]: c for one in asked for c in one["conditions"]}
    conditions = [met[name] for name in sorted(met)][:CONDITIONS]
    balls = [ball for one in asked for ball in one["bag"]]
    return [_full(one, conditions, balls) for one in asked]


def _full(asked: dict[str, Any], conditions: list[Any], balls: list[Any]) -> Question:
    layouts = [
        {"drilling_angle_deg": drilling, "pin_to_pap_in": pin, "val_angle_deg": val}
        for drilling in DRILLINGS_DEG
        for pin in PINS_IN
        for val in VALS_DEG
    ]
    others = [b for b in balls if b not in asked["bag"]]
    return question_of(
        asked
        | {
            "bag": (asked["bag"] + others)[:BAG],
            "conditions": conditions,
            "menu": {"layouts": layouts, "finishes": list(FINISHES)},
        }
    )


def question_of(inputs: dict[str, Any]) -> Question:
    setting = setting_of(inputs)
    made = menu_of(inputs, setting.who)
    choices = [*made.owned, *made.changes]
    return Question(
        inputs["customer"]["name"],
        inputs,
        setting,
        [choice.option for choice in choices],
        [NEW if choice.replaces is None else choice.replaces for choice in choices],
    )
