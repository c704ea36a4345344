"""The shelf as a CSV file: one row for each ball that is or was on it."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any

from arsenal.catalogue.forms import MOST_MONEY, label_fault, off_line_fault
from arsenal.catalogue.model_file import NAME, WEIGHT
from arsenal.catalogue.models import (
    HEAVIEST_LB,
    LIGHTEST_LB,
    OFF_LINE_IN,
    OUNCES_BELOW_A_POUND,
    PIN_TO_CG_HIGHEST_IN,
    PIN_TO_PSA_IN,
    TOP_WEIGHT_HIGHEST_OZ,
    BallSpec,
    StockBall,
)
from bowlers.models import search_key
from proshop.files import bulk
from proshop.files.columns import Choice, Column, Number, RecordNumber, Whole, Words
from proshop.files.faults import Fault
from proshop.files.kinds import ADD, CHANGE, SAME, Changed, FileKind, Plan, Planned, missing, put
from proshop.files.reading import Row, Table
from proshop.models import Shop

NUMBER = RecordNumber(
    "ball number", "pk", about="as in a file taken out here; empty for a new ball"
)
MODEL = Words(
    "model", "model", longest=80, needed=True, example=NAME.example, about="as in the catalogue"
)
OF_WEIGHT = Whole(
    WEIGHT.name,
    "weight_lb",
    low=LIGHTEST_LB,
    high=HEAVIEST_LB,
    unit="lb",
    needed=True,
    example="15",
    about="as in the catalogue",
)
SERIAL = Words("serial number", "serial", longest=40, example="7F3A21", empty="")
POUNDS = Whole(
    "label pounds (lb)",
    "label_weight_lb",
    low=LIGHTEST_LB,
    high=HEAVIEST_LB,
    unit="lb",
    example="15",
    about="the weight when left out",
)
OUNCES = Number(
    "label ounces (oz)",
    "label_weight_oz",
    high=float(OUNCES_BELOW_A_POUND),
    unit="oz",
    places=2,
    example="2.50",
)
OFF_LINE = Number(
    "CG off the line (in)",
    "cg_off_line_in",
    low=-OFF_LINE_IN,
    high=OFF_LINE_IN,
    unit="in",
    example="0.25",
    about="looking from pin to PSA, plus to the right",
)
LABEL: tuple[Column, ...] = (
    SERIAL,
    POUNDS,
    OUNCES,
    Number(
        "top weight (oz)",
        "top_weight_oz",
        high=TOP_WEIGHT_HIGHEST_OZ,
        unit="oz",
        needed=True,
        example="2.75",
    ),
    Number(
        "pin to CG (in)",
        "pin_to_cg_in",
        high=PIN_TO_CG_HIGHEST_IN,
        unit="in",
        needed=True,
        example="2.5",
    ),
    OFF_LINE,
    Number(
        "pin to PSA mark (in)",
        "pin_to_psa_in",
        low=PIN_TO_PSA_IN[0],
        high=PIN_TO_PSA_IN[1],
        unit="in",
        example="6.75",
        empty=None,
    ),
    Words("approval", "approval_note", longest=200, empty=""),
)
OF_BALL: tuple[Column, ...] = (
    *LABEL,
    Number(
        "price",
        "price",
        high=MOST_MONEY,
        places=2,
        example="189.00",
        about="the catalogue’s when left out",
    ),
    Choice("state", "state", choices=StockBall.State, example="on the shelf"),
)

# 7E10 opened in a spreadsheet and saved again.
REWRITTEN = re.compile(r"\d([.,]\d+)?E[+-]\d+", re.IGNORECASE)


class ShelfFile(FileKind):
    slug = "shelf"
    title = "Shelf"
    row_word = "one ball, with what its own label says"
    key = (
        "A row is about the ball with its ball number. Without a number it is about the one with "
        "its serial number. Without either it adds a ball each time it is brought in."
    )
    home = "shelf"
    columns = (NUMBER, MODEL, OF_WEIGHT, *OF_BALL)

    def records(self, shop: Shop) -> Iterator[Mapping[str, Any]]:
        for ball in StockBall.objects.for_shop(shop).with_model():
            told = {column.attribute: getattr(ball, column.attribute) for column in OF_BALL}
            place = {"model": ball.spec.model.name, "weight_lb": ball.spec.weight_lb}
            yield {"pk": ball.pk, **place, **told}

    def plan(self, shop: Shop, table: Table, *, lock: bool = False) -> Plan:
        plan = Plan(faults=list(table.faults))
        known = _Known(shop, lock=lock)
        seen: dict[object, int] = {}
        for row in table.rows:
            ball = known.of(row)
            if isinstance(ball, Fault):
                plan.faults.append(ball)
                continue
            mark: object = (ball.pk if ball else None) or row.told.get("serial")
            if mark and mark in seen:
                told = f"is about the same ball as line {seen[mark]}: keep one of the two."
                plan.faults.append(Fault(row.line, "", "", told))
                continue
            if mark:
                seen[mark] = row.line
            _plan_row(plan, shop, row, ball, known)
        return plan

    def store(self, plan: Plan, *, user: Any, reason: str) -> None:
        bulk.add_all(StockBall, plan.fresh, user=user, reason=reason)
        bulk.change_all(StockBall, plan.stale, user=user, reason=reason)


class _Known:
    """The shop's balls, and the weights its models are made in."""

    def __init__(self, shop: Shop, *, lock: bool) -> None:
        balls = StockBall.objects.for_shop(shop).with_model()
        if lock:
            balls = balls.select_for_update(of=("self",))
        self.by_number: dict[int, StockBall] = {ball.pk: ball for ball in balls}
        self.by_serial: dict[str, list[StockBall]] = defaultdict(list)
        for ball in self.by_number.values():
            if ball.serial:
                self.by_serial[ball.serial.casefold()].append(ball)
        self.specs = Specs(shop)

    def of(self, row: Row) -> StockBall | Fault | None:
        """The ball a row is about, None for a new one, or why that can't be told."""
        if "pk" in row.told:
            told = "is no ball of this shop’s shelf: leave the cell empty to add one."
            return self.by_number.get(row.told["pk"]) or row.fault(NUMBER, told)
        same = self.by_serial.get(row.told.get("serial", "").casefold(), [])
        if len(same) > 1:
            numbers = " or ".join(str(ball.pk) for ball in same)
            told = f"is on {len(same)} balls: write the ball number, {numbers}."
            return row.fault(SERIAL, told)
        return same[0] if same else None


class Specs:
    """The weights the shop's models are made in, found by name however that is written."""

    def __init__(self, shop: Shop) -> None:
        self._by_name: dict[tuple[str, int], BallSpec] = {}
        self._weights: dict[str, list[int]] = defaultdict(list)
        for spec in BallSpec.objects.for_shop(shop).with_model().order_by("weight_lb"):
            for name in (spec.model.name, search_key(spec.model.name)):
                self._by_name.setdefault((name, spec.weight_lb), spec)
                self._weights[name].append(spec.weight_lb)

    def of(self, row: Row, known: BallSpec | None) -> BallSpec | Fault:
        """The model and weight a row names; of a ball that is there each may be left out."""
        name = row.told.get("model", known.model.name if known else "")
        weight = row.told.get("weight_lb", known.weight_lb if known else 0)
        for key in (name, search_key(name)):
            if (spec := self._by_name.get((key, weight))) is not None:
                return spec
            if weights := self._weights.get(key):
                made = ", ".join(str(pounds) for pounds in dict.fromkeys(weights))
                told = f"isn’t a weight of {name} in the catalogue: it has {made} lb. Add it there."
                return row.fault(OF_WEIGHT, told)
        told = "isn’t in the catalogue: add the model there, by form or by file, then send this."
        return row.fault(MODEL, told)


def _plan_row(plan: Plan, shop: Shop, row: Row, found: StockBall | None, known: _Known) -> None:
    faults = [] if found else missing(row, (MODEL, OF_WEIGHT, *OF_BALL))
    spec = known.specs.of(row, found.spec if found else None) if not faults else None
    if isinstance(spec, Fault):
        faults = [spec]
    if faults or not isinstance(spec, BallSpec):
        plan.faults += faults
        return
    ball = found or StockBall(
        shop=shop, spec=spec, label_weight_lb=spec.weight_lb, price=spec.model.price
    )
    changes: list[Changed] = []
    if ball.spec_id != spec.pk:
        changes.append(Changed("model and weight", str(ball.spec), str(spec)))
        ball.spec = spec
    changes += put(ball, row, OF_BALL)
    if ball.state != StockBall.State.PROMISED:
        ball.promised_to = None
    label = {"label_weight_lb": ball.label_weight_lb, "label_weight_oz": ball.label_weight_oz}
    if fault := label_fault(spec, label):
        plan.faults.append(row.fault(POUNDS, f"can’t be right. {fault}"))
        return
    marks = {"cg_off_line_in": ball.cg_off_line_in, "pin_to_cg_in": ball.pin_to_cg_in}
    if fault := off_line_fault(marks):
        plan.faults.append(row.fault(OFF_LINE, f"can’t be right. {fault}"))
        return
    action = ADD if not found else CHANGE if changes else SAME
    name = f"{spec}, {ball.serial}" if ball.serial else str(spec)
    plan.rows.append(Planned(row.line, name, action, () if action == ADD else tuple(changes)))
    if "serial" in row.told and REWRITTEN.fullmatch(ball.serial):
        told = "looks like a serial that a spreadsheet took for a number: compare it with the ball."
        plan.notes.append(row.fault(SERIAL, told))
    if action == ADD:
        plan.fresh.append(ball)
        if not ball.serial:
            told = "has no serial number: brought in again it would add another ball."
            plan.notes.append(Fault(row.line, "", "", told))
    elif action == CHANGE:
        plan.stale.append(ball)
