"""The full menu: how long it takes, how that grows, and how far it falls short of brute force.

A demo customer's question with six balls in the bag, every ball of catalogue and shelf in 48
layouts and seven finishes, and all eight conditions of the demo, as laid down. Brute force searches
the whole lane for every option on every condition, with the same solver and the same measure.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from django.core.management import call_command

from arsenal.engine import Missing, inputs_for
from arsenal.engine.options import menu_of
from arsenal.engine.paper import on_paper
from arsenal.engine.ranking import NEW, Setting, setting_of
from arsenal.engine.solved import Solved
from bowlers.models import Bowler
from physics import menu, worth
from tests.bench.results import plot, record
from tests.physics import brute

pytestmark = [pytest.mark.bench, pytest.mark.django_db]

PINS_IN = (2.75, 3.375, 4.0, 4.5, 5.0, 5.5)
VALS_DEG = (25.0, 38.0, 52.0, 65.0)
DRILLINGS_DEG = (40.0, 70.0)
FINISHES = ("360", "500", "1000", "2000", "3000", "4000", "polished")
CONDITIONS = 8
BAG = 6
# Sizes tried: surfaces a few per cent off stand for more balls, friction of the house for more
# conditions.
OPTIONS = (500, 1000, 2000, 4000, 8000, 16000)
TASKS = (2, 4, 8, 16, 32)
# Options measured against brute force with make bench: every so many, and two conditions.
SAMPLED = 5


@dataclass(frozen=True)
class Question:
    """A customer's full menu. ``groups``: as :meth:`arsenal.engine.solved.Solved.menu`."""

    name: str
    inputs: dict[str, Any]
    setting: Setting
    options: list[worth.Option]
    groups: list[int]

    def answered(self, tasks: int = CONDITIONS) -> worth.Lines:
        met = self.setting
        return Solved().menu(
            met.who, self.options, self.groups, met.tasks[:tasks], met.factors[:tasks]
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
    inputs = asked | {
        "bag": (asked["bag"] + others)[:BAG],
        "conditions": conditions,
        "menu": {"layouts": layouts, "finishes": list(FINISHES)},
    }
    setting = setting_of(inputs)
    return _question(inputs, setting)


def _question(inputs: dict[str, Any], setting: Setting) -> Question:
    made = menu_of(inputs, setting.who)
    choices = [*made.owned, *made.changes]
    return Question(
        inputs["customer"]["name"],
        inputs,
        setting,
        [choice.option for choice in choices],
        [NEW if choice.replaces is None else choice.replaces for choice in choices],
    )


def timed(work: Any) -> tuple[float, float]:
    """Seconds by the clock and of the processor."""
    clock, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - clock, time.process_time() - processor


def largest() -> Question:
    return max(questions(), key=lambda one: len(one.options))


def test_full_menu_cold() -> None:
    """Drilled on paper and answered, with nothing kept but compiled code; lanes as played are
    kept for all customers of a shop, and aren't counted."""
    asked = largest()
    menu.answer(asked.setting.who, asked.options[:200], asked.setting.tasks[:1])
    # The question itself has drilled them already.
    on_paper.cache_clear()
    drilled = timed(lambda: _question(asked.inputs, asked.setting))
    solved = timed(asked.answered)
    drawer = Kept()
    met = asked.setting

    def from_store() -> None:
        Solved(drawer).menu(met.who, asked.options, asked.groups, met.tasks, met.factors)

    from_store()
    warm = timed(from_store)
    record("menu_options", len(asked.options), "options of the full menu", goal="≥ 4,000", digits=6)
    record("menu_conditions", len(met.tasks), "conditions of the full menu", goal="8")
    record("menu_cold_s", drilled[0] + solved[0], "s, full menu cold, by the clock", goal="≤ 1.0")
    record("menu_drill_s", drilled[0], "s of it to drill every option on paper")
    record("menu_cold_cpu_s", drilled[1] + solved[1], "s of processor, the same on all threads")
    record("menu_again_s", warm[0], "s, the same menu again from a store in memory", goal="≤ 0.05")
    assert len(asked.options) >= 4000


class Kept:
    """A store in memory."""

    def __init__(self) -> None:
        self.pieces: dict[str, bytes] = {}

    def fetch(self, keys: Sequence[str]) -> dict[str, bytes]:
        return {key: self.pieces[key] for key in keys if key in self.pieces}

    def keep(self, pieces: Any) -> None:
        self.pieces |= pieces


def test_growth(monkeypatch: pytest.MonkeyPatch) -> None:
    """Time to answer against options, conditions and threads; the order of options is shuffled so
    that each size is a fair sample."""
    asked = largest()
    who, tasks, factors = asked.setting.who, asked.setting.tasks, asked.setting.factors
    order = np.random.default_rng(0).permutation(len(asked.options))
    several = [
        replace(one, closure=replace(one.closure, scale_um=share * one.closure.scale_um))
        for share in (1.0, 1.03, 0.97, 1.06)
        for one in (asked.options[int(i)] for i in order)
    ]
    by_options: dict[str, list[tuple[float, float]]] = {}
    for threads in (1, 2):
        monkeypatch.setenv("ENGINE_THREADS", str(threads))
        curve = by_options[f"{threads} thread{'s' * (threads > 1)}"] = []
        for count in OPTIONS if threads > 1 else OPTIONS[:4]:
            part = several[:count]
            took, _ = timed(lambda part=part: menu.answer(who, part, tasks, lane_factors=factors))
            curve.append((len(part), took))
    curve = []
    for count in TASKS:
        met = [tasks[n % len(tasks)] for n in range(count)]
        friction = [factors[n % len(tasks)] * (1 + 0.02 * (n // len(tasks))) for n in range(count)]
        took, _ = timed(
            lambda met=met, friction=friction: menu.answer(
                who, several[:2000], met, lane_factors=friction
            )
        )
        curve.append((count, took))
    plot(
        "menu_by_options", f"Full menu on {len(tasks)} conditions", "options", "s", by_options,
        log=True,
    )  # fmt: skip
    plot("menu_by_conditions", "2,000 options, 2 threads", "conditions", "s", {"": curve}, log=True)
    first, last = by_options["2 threads"][0], by_options["2 threads"][-1]
    power = np.log(last[1] / first[1]) / np.log(last[0] / first[0])
    record(
        "menu_growth_power",
        float(power),
        f"power of the options with which time grows, {first[0]:.0f} to {last[0]:.0f}",
        goal="< 1",
    )
    assert len(by_options) == 2


def shortfalls(asked: Question, every: int, tasks: int) -> list[brute.Short]:
    """How short the answer falls on each condition, of every so many options."""
    options = asked.options[::every]
    met = replace(
        asked.setting, tasks=asked.setting.tasks[:tasks], factors=asked.setting.factors[:tasks]
    )
    got = menu.answer(met.who, options, met.tasks, lane_factors=met.factors)
    true = brute.lines(met.who, options, met.tasks, met.factors)
    return [
        brute.shortfall(true.value[:, j], got.lines.value[:, j], got.solved[:, j])
        for j in range(tasks)
    ]


def told(found: list[brute.Short], says: str, *, long_run: bool) -> None:
    record(
        "menu_regret_pct", max(one.regret for one in found),
        f"points the first choice is short of the best at most, {says}",
        goal="≤ 0.2", long_run=long_run,
    )  # fmt: skip
    record(
        "menu_top10_regret_pct", max(one.tenth for one in found),
        f"points one of the first ten is short of the true tenth at most, {says}",
        goal="≤ 0.2", long_run=long_run,
    )  # fmt: skip
    record(
        "menu_tau50", min(one.tau for one in found),
        f"Kendall's tau over the true first fifty at least, ties inside 0.2 points, {says}",
        goal="≥ 0.95", long_run=long_run,
    )  # fmt: skip
    record(
        "menu_tau50_median", float(np.median([one.tau for one in found])),
        f"the same, median, {says}", long_run=long_run,
    )  # fmt: skip
    record(
        "menu_top10_within_share", float(np.mean([one.tenth <= 0.2 for one in found])),
        f"share of conditions with all of the first ten within 0.2 points, {says}",
        long_run=long_run,
    )  # fmt: skip


@pytest.mark.long_run
def test_full_menu_against_brute_force() -> None:
    """All options, all conditions, all customers: hours."""
    found = []
    for asked in questions():
        found += shortfalls(asked, 1, CONDITIONS)
        told(found, f"{len(found)} menus of customers on conditions", long_run=True)
    assert found


@pytest.mark.long_run
def test_a_fifth_of_the_menu_against_brute_force() -> None:
    """Every fifth option on two conditions, all customers: the same in a few minutes."""
    found = [short for asked in questions() for short in shortfalls(asked, SAMPLED, 2)]
    record(
        "menu_sampled_regret_pct", max(one.regret for one in found),
        f"points the first choice is short, every fifth option, {len(found)} menus",
        goal="≤ 0.2", long_run=True,
    )  # fmt: skip
    record(
        "menu_sampled_top10_regret_pct", max(one.tenth for one in found),
        f"points one of the first ten is short, every fifth option, {len(found)} menus",
        goal="≤ 0.2", long_run=True,
    )  # fmt: skip
    record(
        "menu_sampled_tau50", min(one.tau for one in found),
        f"Kendall's tau over the first fifty, every fifth option, {len(found)} menus",
        goal="≥ 0.95", long_run=True,
    )  # fmt: skip
    assert found
