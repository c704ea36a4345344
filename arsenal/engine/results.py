"""A ranking's arrays as the stored result: tasks, choices, what was ruled out, and the strip."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from arsenal.engine import at_spares, doubts, fills, reasons, spare_rows, strip, tasks
from arsenal.engine.options import Choice, Menu
from arsenal.engine.words import care_words
from physics import doubt, rank

if TYPE_CHECKING:
    from arsenal.engine.ranking import DrawnGains, Found, Setting

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Answer:
    """Everything a ranking found out, before it is put into words."""

    inputs: Mapping[str, Any]
    seed: int
    model_version: str
    setting: Setting
    menu: Menu
    screened: Found
    confirmed: Found
    families: list[list[int]]
    drawn: DrawnGains
    gains: Array
    first_gains: Array
    noise: float
    without_ring_oil: dict[str, Any]
    timings: dict[str, Any]

    @property
    def bag_size(self) -> int:
        return len(self.menu.owned)

    @property
    def currency(self) -> str:
        return str(self.inputs["currency"])


def result_of(answer: Answer) -> dict[str, Any]:
    """The result as it is stored and shown; plain JSON, no not-a-numbers."""
    customer = answer.inputs["customer"]
    benchmark = tasks.benchmark_of(answer)
    rows = [
        tasks.row(answer, j, benchmark) | {"spares": spare_rows.rows(answer, j)}
        for j in range(len(answer.setting.tasks))
    ]
    choices = _choices(answer, rows)
    return {
        "customer": {"id": customer["id"], "name": customer["name"]},
        "model_version": answer.model_version,
        "seed": answer.seed,
        "benchmark": None
        if benchmark is None
        else {
            "ball_id": answer.menu.owned[benchmark].ball_id,
            "ball": answer.menu.owned[benchmark].ball,
        },
        "gain_unit": "pins a game",
        "game": spare_rows.game_rows(answer),
        "at_spares": {
            "release": at_spares.kind_of(answer.inputs),
            "words": at_spares.words(answer.inputs),
        },
        "tasks": rows,
        "choices": choices,
        "fills": fills.fills_of(answer),
        "doubt": doubts.doubt_of(answer),
        "excluded": answer.menu.excluded,
        "strip": strip.strip_of(answer, rows),
        "without_ring_oil": answer.without_ring_oil,
        "timings": answer.timings,
    }


def _choices(answer: Answer, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Families of changes in falling gain, and *nothing needed* where the gains end."""
    listed = [_choice(answer, rows, place) for place in range(len(answer.families))]
    for place, choice in enumerate(listed[:-1]):
        drawn = answer.drawn.gains
        beats = doubt.beats(drawn[:, place], drawn[:, place + 1])
        choice["beats_next"] = round(beats, 3)
        choice["too_close"] = beats < doubts.TOO_CLOSE
    totals = answer.gains.sum(axis=1)
    listed.append(_nothing(answer, rows, float(totals.max()) if len(totals) else 0.0))
    for place, choice in enumerate(listed, start=1):
        choice["rank"] = place
    return listed


def _choice(answer: Answer, rows: list[dict[str, Any]], place: int) -> dict[str, Any]:
    row, *others = answer.families[place]
    choice = answer.confirmed.choices[row]
    gains = answer.gains[row - answer.bag_size]
    drawn = answer.drawn.gains[:, place]
    return {
        "rank": 0,
        "kind": choice.kind,
        "ball": choice.ball,
        "layout": None if choice.layout is None else dict(choice.layout),
        "surface": choice.finish,
        "gain": round(float(gains.sum()), 3),
        "gain_by_task": [round(float(g), 3) for g in gains],
        "gain_interval": [round(end, 3) for end in doubt.interval(drawn)],
        "gain_middle": round(float(np.median(drawn)), 3),
        "certainty": round(float(rank.certainty(drawn)), 3),
        "beats_next": None,
        "too_close": False,
        "cost": {"amount": choice.cost, "currency": answer.currency},
        "family": [_other(answer, other) for other in others],
        "reason": spare_rows.reason(answer, row)
        if spare_rows.is_for_spares(answer, row)
        else reasons.reason_for(answer, rows, row),
        "drilled": choice.option.body.numbers(),
    } | _work(choice)


def _work(choice: Choice) -> dict[str, str]:
    """What is to be done, which only care has to say."""
    return {"work": care_words(choice.work, choice.finish)} if choice.work else {}


def _other(answer: Answer, row: int) -> dict[str, Any]:
    choice = answer.confirmed.choices[row]
    return {
        "kind": choice.kind,
        "ball": choice.ball,
        "layout": None if choice.layout is None else dict(choice.layout),
        "surface": choice.finish,
        "gain": round(float(answer.gains[row - answer.bag_size].sum()), 3),
        "cost": {"amount": choice.cost, "currency": answer.currency},
    } | _work(choice)


def _nothing(answer: Answer, rows: list[dict[str, Any]], largest: float) -> dict[str, Any]:
    """*Nothing needed*: gain nothing, certain by how often no change shown would gain."""
    best_drawn = answer.drawn.gains.max(axis=1) if answer.drawn.gains.size else None
    certainty = 1.0 if best_drawn is None else float((best_drawn <= answer.noise).mean())
    return {
        "rank": 0,
        "kind": "none",
        "ball": "",
        "layout": None,
        "surface": "",
        "gain": 0.0,
        "gain_by_task": [0.0] * len(rows),
        "gain_interval": [0.0, 0.0],
        "gain_middle": 0.0,
        "certainty": round(certainty, 3),
        "beats_next": None,
        "too_close": False,
        "cost": {"amount": 0.0, "currency": answer.currency},
        "family": [],
        "reason": reasons.reason_for_nothing(answer, rows, largest),
        "drilled": None,
    }


def plain(value: float) -> float | None:
    """A number for JSON, rounded; None for not-a-number."""
    return None if not math.isfinite(value) else round(float(value), 3)
