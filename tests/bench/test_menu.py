"""The full menu (:mod:`tests.bench.menus`): how long it takes, and how that grows."""

from __future__ import annotations

import gc
import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from arsenal.engine import options
from arsenal.engine.paper import on_paper
from arsenal.engine.solved import Solved
from physics import menu
from physics.worth import Rows
from tests.bench.menus import Question, question_of, questions
from tests.bench.results import plot, record

pytestmark = [pytest.mark.bench, pytest.mark.django_db]

# Sizes tried: surfaces a few per cent off stand for more balls, friction of the house for more
# conditions.
OPTIONS = (500, 1000, 2000, 4000, 8000, 16000)
TASKS = (2, 4, 8, 16, 32)
CORES = (1, 2)


def timed(work: Any) -> tuple[float, float]:
    """Seconds by the clock and of the processor, once what others left is cleared away."""
    gc.collect()
    gc.freeze()
    clock, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - clock, time.process_time() - processor


def largest() -> Question:
    return max(questions(), key=lambda one: len(one.options))


def test_full_menu_cold() -> None:
    """Drilled on paper and answered, with nothing kept but compiled code; lanes as played are
    kept for all customers of a shop, and aren't counted."""
    asked = largest()
    asked.answered([0])
    # The question itself has drilled them already.
    on_paper.cache_clear()
    options._new_balls.cache_clear()
    drilled = timed(lambda: question_of(asked.inputs))
    solved = timed(asked.answered)
    drawer = Kept()
    met = asked.setting

    def from_store() -> None:
        rows = Rows.of(asked.options)
        Solved(drawer).menu(met.who, rows, asked.groups, met.tasks, met.factors)

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

    def answered(options: int, conditions: int) -> tuple[float, float]:
        met = [tasks[n % len(tasks)] for n in range(conditions)]
        friction = [
            factors[n % len(tasks)] * (1 + 0.02 * (n // len(tasks))) for n in range(conditions)
        ]
        return timed(lambda: menu.answer(who, several[:options], met, lane_factors=friction))

    by_options: dict[str, list[tuple[float, float]]] = {}
    by_conditions: dict[str, list[tuple[float, float]]] = {}
    whole, processor = [], []
    for threads in CORES:
        monkeypatch.setenv("ENGINE_THREADS", str(threads))
        label = f"{threads} thread{'s' * (threads > 1)}"
        by_options[label] = [(count, answered(count, len(tasks))[0]) for count in OPTIONS]
        by_conditions[label] = [(count, answered(2000, count)[0]) for count in TASKS]
        clock, cpu = timed(asked.answered)
        whole.append((threads, clock))
        processor.append((threads, cpu))
    plot(
        "menu_by_options", f"Full menu on {len(tasks)} conditions", "options", "s", by_options,
        log=True,
    )  # fmt: skip
    plot("menu_by_conditions", "2,000 options", "conditions", "s", by_conditions, log=True)
    plot(
        "menu_by_cores", f"{len(asked.options):,} options on {len(tasks)} conditions", "threads",
        "s", {"by the clock": whole, "of the processor": processor},
    )  # fmt: skip
    for key, curve, what in (
        ("menu_growth_power", by_options["2 threads"], "options"),
        ("menu_conditions_power", by_conditions["2 threads"], "conditions"),
    ):
        first, last = curve[0], curve[-1]
        power = np.log(last[1] / first[1]) / np.log(last[0] / first[0])
        record(
            key,
            float(power),
            f"power of the {what} with which time grows, {first[0]:.0f} to {last[0]:.0f}",
            goal="< 1" if what == "options" else "",
        )
    record("menu_cores_speedup", whole[0][1] / whole[1][1], "two threads against one, full menu")
    assert len(by_options) == len(CORES)
