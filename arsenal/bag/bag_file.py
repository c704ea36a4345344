"""Bags as a CSV file: one row for each ball a customer owns, drilled as it is."""

from __future__ import annotations

import copy
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import TextChoices

from arsenal import engine
from arsenal.bag.forms import BALL_IN, HoleForm
from arsenal.bag.layout_fields import LAYOUT_FIELDS, QUARTER_IN
from arsenal.bag.models import (
    MOST_GAMES,
    PAP_OVER_IN,
    PAP_UP_IN,
    GripHole,
    Hole,
    LayoutNotation,
    OwnedBall,
    Role,
)
from arsenal.catalogue.forms import label_fault, off_line_fault
from arsenal.catalogue.models import BallSpec, Finish
from arsenal.catalogue.shelf_file import LABEL, MODEL, OF_WEIGHT, OFF_LINE, POUNDS, SERIAL, Specs
from arsenal.refusals import HOLE, refusal_words
from bowlers.models import Bowler, search_key
from physics.errors import InputError
from proshop.files import bulk
from proshop.files.columns import (
    NEVER,
    Choice,
    Column,
    Day,
    Number,
    RecordNumber,
    Whole,
    Words,
    YesNo,
)
from proshop.files.faults import Fault
from proshop.files.kinds import ADD, CHANGE, SAME, Changed, FileKind, Plan, Planned, missing, put
from proshop.files.reading import Row, Table
from proshop.models import Shop


class ValBranch(TextChoices):
    """On which side of 90° the VAL angle is, where the distances fit both."""

    BELOW = "below_90", "below 90"
    ABOVE = "above_90", "above 90"


NUMBER = RecordNumber(
    "ball number", "pk", about="as in a file taken out here; empty for a new ball"
)
OWNER = RecordNumber("customer number", "owner", about="or the name, where one customer has it")
OWNER_NAME = Words("customer", "owner_name", longest=120, example="Dana Kowalski")
PAP = tuple(
    Number(name, attribute, low=low, high=high, unit="in", needed=needed, example=example)
    for name, attribute, (low, high), needed, example in (
        ("PAP over (in)", "pap_over_in", PAP_OVER_IN, True, "5.25"),
        ("PAP up (in)", "pap_up_in", PAP_UP_IN, False, "0.5"),
    )
)
NOTATION = Choice(
    "layout written as",
    "layout_notation",
    choices=LayoutNotation,
    words=(("angles", "angles"), ("buffer", "distances"), ("read_off", "read off the ball")),
    example="angles",
)


def _games(name: str, attribute: str) -> Whole:
    return Whole(name, attribute, low=0, high=MOST_GAMES, example="0")


OF_BALL: tuple[Column, ...] = (
    Words("nickname", "nickname", longest=60, empty=""),
    *LABEL,
    *PAP,
    Choice("finish", "finish", choices=Finish, needed=True, example="2000 grit"),
    _games("games since the finish", "games_since_finish"),
    _games("games since oil was drawn", "games_since_oil_drawn"),
    _games("games since it was cleaned", "games_since_cleaned"),
    Choice("role", "role", choices=Role, empty=""),
    YesNo("bought elsewhere", "bought_elsewhere", example="no"),
    YesNo("retired", "retired", example="no"),
    Day("sold on", "sold_on", empty=None),
    Words("notes", "notes", longest=2000, several_lines=True, empty=""),
)


def _inches(name: str, number: str, low: float, high: float, example: str = "") -> Number:
    return Number(f"{name} (in)", f"layout.{number}", low=low, high=high, unit="in",
                  example=example)  # fmt: skip


def _degrees(name: str, number: str, example: str) -> Number:
    return Number(f"{name} (°)", f"layout.{number}", low=-180, high=180, unit="°", example=example)


# By the number of the layout; pin to PAP belongs to two notations.
LAYOUT: dict[str, Column] = {
    "drilling_angle_deg": _degrees("drilling angle", "drilling_angle_deg", "50"),
    "pin_to_pap_in": _inches("pin to PAP", "pin_to_pap_in", 0, 2 * QUARTER_IN, "4.5"),
    "val_angle_deg": _degrees("VAL angle", "val_angle_deg", "40"),
    "psa_to_pap_in": _inches("PSA to PAP", "psa_to_pap_in", 0, 2 * QUARTER_IN),
    "pin_buffer_in": _inches("pin buffer", "pin_buffer_in", -QUARTER_IN, QUARTER_IN),
    "val_branch": Choice("VAL angle is", "layout.val_branch", choices=ValBranch),
    "pin_over_in": _inches("pin over", "pin_over_in", -2 * QUARTER_IN, 2 * QUARTER_IN),
    "pin_up_in": _inches("pin up", "pin_up_in", -QUARTER_IN, QUARTER_IN),
    "psa_over_in": _inches("PSA over", "psa_over_in", -2 * QUARTER_IN, 2 * QUARTER_IN),
    "psa_up_in": _inches("PSA up", "psa_up_in", -QUARTER_IN, QUARTER_IN),
}
# Ranges as the form of a hole has them, which reads every hole once more.
OF_HOLE = (
    ("over", "over_in", -4, 4),
    ("up", "up_in", -5, 5),
    ("diameter", "diameter_in", 0.5, 1.75),
    ("depth", "depth_in", 0.25, BALL_IN),
    ("forward pitch", "pitch_forward_in", -1.5, 1.5),
    ("sideways pitch", "pitch_lateral_in", -1.5, 1.5),
    ("longer axis", "longer_in", 0, 1.75),
    ("open inside", "inside_in", 0.375, 1.5),
)


def _hole_columns(kind: str) -> dict[str, Column]:
    columns: dict[str, Column] = {
        name: Number(f"{kind} {words} (in)", f"{kind}.{name}", low=low, high=high, unit="in",
                     empty=None if name == "inside_in" else 0.0 if name == "longer_in" else NEVER)
        for words, name, low, high in OF_HOLE
    }  # fmt: skip
    columns["oval_angle_deg"] = Number(
        f"{kind} lean of the oval (°)", f"{kind}.oval_angle_deg", low=-90, high=90, unit="°"
    )
    columns["sleeve"] = Choice(f"{kind} in it", f"{kind}.sleeve", choices=GripHole.Sleeve, empty="")
    columns["density_g_cm3"] = Number(
        f"{kind} density (g/cm³)", f"{kind}.density_g_cm3", low=0, high=3.8, unit="g/cm³"
    )
    return columns


HOLES = {kind: _hole_columns(kind) for kind in GripHole.Kind.values}


class BagFile(FileKind):
    slug = "bags"
    title = "Bags"
    row_word = "one ball a customer owns, as it is drilled"
    key = (
        "A row is about the ball with its ball number. Without a number it is about the ball of "
        "that customer with its serial number, and without such a one it adds a ball. A hole is "
        "there once its over, up, diameter and depth are written; none is taken away."
    )
    home = "all-balls"
    columns = (
        NUMBER,
        OWNER,
        OWNER_NAME,
        MODEL,
        OF_WEIGHT,
        *OF_BALL,
        NOTATION,
        *LAYOUT.values(),
        *(column for columns in HOLES.values() for column in columns.values()),
    )

    def records(self, shop: Shop) -> Iterator[Mapping[str, Any]]:
        for ball in OwnedBall.objects.for_shop(shop).with_drilling().order_by("pk"):
            yield _written(ball)

    def plan(self, shop: Shop, table: Table, *, lock: bool = False) -> Plan:
        plan = Plan(faults=list(table.faults))
        known = _Known(shop, lock=lock)
        seen: dict[object, int] = {}
        for row in table.rows:
            found = known.of(row)
            if isinstance(found, Fault):
                plan.faults.append(found)
                continue
            serial = row.told.get("serial", "").casefold()
            mark: object = found.ball.pk or (found.ball.bowler_id, serial)
            if found.ball.pk or serial:
                if mark in seen:
                    told = f"is about the same ball as line {seen[mark]}: keep one of the two."
                    plan.faults.append(Fault(row.line, "", "", told))
                    continue
                seen[mark] = row.line
            _plan_row(plan, row, found, known)
        return plan

    def store(self, plan: Plan, *, user: Any, reason: str) -> None:
        for records, put_in in ((plan.fresh, bulk.add_all), (plan.stale, bulk.change_all)):
            balls = [record for record in records if isinstance(record, OwnedBall)]
            put_in(OwnedBall, balls, user=user, reason=reason)
        for records, put_in in ((plan.fresh, bulk.add_all), (plan.stale, bulk.change_all)):
            holes = [record for record in records if isinstance(record, Hole)]
            for hole in holes:
                # Its ball may have got its number only now.
                hole.ball = hole.ball
            put_in(Hole, holes, user=user, reason=reason)


def _written(ball: OwnedBall) -> dict[str, Any]:
    """A ball as a row: what it says by the attributes of the columns."""
    told: dict[str, Any] = {column.attribute: getattr(ball, column.attribute) for column in OF_BALL}
    told |= {
        "pk": ball.pk,
        "owner": ball.bowler_id,
        "owner_name": ball.bowler.name,
        "model": ball.spec.model.name,
        "weight_lb": ball.spec.weight_lb,
        "layout_notation": ball.layout_notation,
    }
    told |= {f"layout.{number}": value for number, value in ball.layout_numbers.items()}
    for hole in ball.holes.all():
        told |= {f"{hole.kind}.{name}": getattr(hole, name) for name in HOLES[hole.kind]}
    return told


@dataclass
class _About:
    """The ball a row is about, with its holes by kind."""

    ball: OwnedBall
    holes: dict[str, Hole] = field(default_factory=dict)


class _Known:
    """The shop's customers, balls and weights."""

    def __init__(self, shop: Shop, *, lock: bool) -> None:
        balls = OwnedBall.objects.for_shop(shop)
        if lock:
            # Held by themselves: with what they come with, outer joins can't be.
            list(balls.select_for_update().order_by("pk").values_list("pk"))
        self.shop = shop
        self.balls: dict[int, OwnedBall] = {ball.pk: ball for ball in balls.with_drilling()}
        self.by_serial: dict[tuple[int, str], list[OwnedBall]] = defaultdict(list)
        for ball in self.balls.values():
            if ball.serial:
                self.by_serial[ball.bowler_id, ball.serial.casefold()].append(ball)
        self.bowlers: dict[int, Bowler] = {b.pk: b for b in Bowler.objects.for_shop(shop)}
        self.by_name: dict[str, list[Bowler]] = defaultdict(list)
        for bowler in self.bowlers.values():
            self.by_name[search_key(bowler.name)].append(bowler)
        self.specs = Specs(shop)
        self.rules = engine.rules_of(shop)

    def of(self, row: Row) -> _About | Fault:
        owner = self._owner(row)
        if isinstance(owner, Fault):
            return owner
        ball = self._ball(row, owner)
        if isinstance(ball, Fault):
            return ball
        if ball is None:
            if owner is None:
                told = f"is missing: write {OWNER_NAME.rule}, or the customer number."
                return row.fault(OWNER_NAME, told)
            fresh = OwnedBall(shop=self.shop, bowler=owner)
            return _About(fresh)
        if owner is not None and owner.pk != ball.bowler_id:
            told = f"isn’t whose ball {ball.pk} is: that is {ball.bowler.name}’s. Balls stay whose "
            return row.fault(OWNER, told + "they are in a file.")
        return _About(ball, {hole.kind: hole for hole in ball.holes.all()})

    def _owner(self, row: Row) -> Bowler | Fault | None:
        if "owner" in row.told:
            told = "is no customer of this shop: take the number from a file taken out here."
            return self.bowlers.get(row.told["owner"]) or row.fault(OWNER, told)
        if "owner_name" not in row.told or "pk" in row.told:
            return None
        same = self.by_name.get(search_key(row.told["owner_name"]), [])
        if len(same) == 1:
            return same[0]
        told = "is no customer’s name: add the customer first."
        if same:
            numbers = " or ".join(str(bowler.pk) for bowler in same)
            told = f"is the name of {len(same)} customers: write the customer number, {numbers}."
        return row.fault(OWNER_NAME, told)

    def _ball(self, row: Row, owner: Bowler | None) -> OwnedBall | Fault | None:
        if "pk" in row.told:
            told = "is no ball of this shop’s bags: leave the cell empty to add one."
            return self.balls.get(row.told["pk"]) or row.fault(NUMBER, told)
        if owner is None or not row.told.get("serial"):
            return None
        same = self.by_serial.get((owner.pk, row.told["serial"].casefold()), [])
        if len(same) > 1:
            numbers = " or ".join(str(ball.pk) for ball in same)
            told = f"is on {len(same)} balls of {owner.name}: write the ball number, {numbers}."
            return row.fault(SERIAL, told)
        return same[0] if same else None


def _plan_row(plan: Plan, row: Row, about: _About, known: _Known) -> None:
    ball, is_new = about.ball, about.ball.pk is None
    faults = missing(row, (MODEL, OF_WEIGHT, *OF_BALL)) if is_new else []
    spec = None if faults else known.specs.of(row, None if is_new else ball.spec)
    if isinstance(spec, Fault):
        faults.append(spec)
    if faults or not isinstance(spec, BallSpec):
        plan.faults += faults
        return
    changes: list[Changed] = []
    if is_new:
        ball.spec, ball.label_weight_lb = spec, spec.weight_lb
    elif ball.spec_id != spec.pk:
        changes.append(Changed("model and weight", str(ball.spec), str(spec)))
        ball.spec = spec
    changes += put(ball, row, OF_BALL)
    if is_new:
        for name in ("games_since_oil_drawn", "games_since_cleaned"):
            if name not in row.told:
                setattr(ball, name, ball.games_since_finish)
    faults += _label_faults(row, ball)
    faults += _put_layout(row, ball, changes, is_new=is_new)
    moved = _put_holes(row, about, changes, faults)
    if not faults and (is_new or changes):
        faults += _engine_faults(row, about, known.rules)
    if faults:
        plan.faults += faults
        return
    action = ADD if is_new else CHANGE if changes else SAME
    name = f"{ball.bowler.name}: {ball}"
    plan.rows.append(Planned(row.line, name, action, () if is_new else tuple(changes)))
    if is_new:
        plan.fresh.append(ball)
        if not ball.serial:
            told = "has no serial number: brought in again it would add another ball."
            plan.notes.append(Fault(row.line, "", "", told))
    elif changes:
        plan.stale.append(ball)
    for hole in moved:
        (plan.fresh if hole.pk is None else plan.stale).append(hole)


def _label_faults(row: Row, ball: OwnedBall) -> list[Fault]:
    faults = []
    label = {"label_weight_lb": ball.label_weight_lb, "label_weight_oz": ball.label_weight_oz}
    if fault := label_fault(ball.spec, label):
        faults.append(row.fault(POUNDS, f"can’t be right. {fault}"))
    marks = {"cg_off_line_in": ball.cg_off_line_in, "pin_to_cg_in": ball.pin_to_cg_in}
    if fault := off_line_fault(marks):
        faults.append(row.fault(OFF_LINE, f"can’t be right. {fault}"))
    return faults


def _put_layout(row: Row, ball: OwnedBall, changes: list[Changed], *, is_new: bool) -> list[Fault]:
    """The layout a row tells, whole in its notation; what it leaves out stays where that did."""
    told = {name: row.told[f"layout.{name}"] for name in LAYOUT if f"layout.{name}" in row.told}
    before = {} if is_new else dict(ball.layout_numbers)
    notation = row.told.get("layout_notation", ball.layout_notation)
    kept = before if notation == ball.layout_notation else {}
    numbers: dict[str, Any] = {}
    faults = []
    for name in LAYOUT_FIELDS[notation]:
        value = told.get(name, kept.get(name))
        if value is None:
            words = NOTATION.write(notation)
            faults.append(row.fault(LAYOUT[name], f"is missing: a layout by {words} needs it."))
        elif name in kept and LAYOUT[name].write(value) == LAYOUT[name].write(kept[name]):
            numbers[name] = kept[name]
        else:
            numbers[name] = value
    if not faults and (notation, numbers) != (ball.layout_notation, before):
        if notation != ball.layout_notation:
            was, now = (NOTATION.write(n) for n in (ball.layout_notation, notation))
            changes.append(Changed(NOTATION.name, was, now))
        changes += [
            Changed(LAYOUT[name].name, LAYOUT[name].write(before.get(name)), LAYOUT[name].write(v))
            for name, v in numbers.items()
            if before.get(name) != v
        ]
        ball.layout_notation, ball.layout_numbers = notation, numbers
    return faults


def _put_holes(row: Row, about: _About, changes: list[Changed], faults: list[Fault]) -> list[Hole]:
    """The holes a row adds or changes, each through the form of a hole."""
    moved = []
    for kind, columns in HOLES.items():
        told = {
            name: row.told[f"{kind}.{name}"] for name in columns if f"{kind}.{name}" in row.told
        }
        hole = about.holes.get(kind)
        if hole is None and not any(value not in (None, "", 0.0) for value in told.values()):
            continue
        differ = [
            Changed(column.name, column.write(getattr(hole, name, None)), column.write(told[name]))
            for name, column in columns.items()
            if name in told and column.write(getattr(hole, name, None)) != column.write(told[name])
        ]
        if hole is not None and not differ:
            continue
        hole = hole or Hole(ball=about.ball, kind=kind)
        known = {name: getattr(hole, name) for name in columns}
        if hole.sleeve and "density_g_cm3" not in told:
            known["density_g_cm3"] = None
        found = HoleForm(_typed(kind, known | told), instance=hole)
        if not found.is_valid():
            faults += [
                row.fault(columns[name], " ".join(str(error) for error in errors))
                if name in columns
                else Fault(row.line, "", "", " ".join(str(error) for error in errors))
                for name, errors in found.errors.items()
            ]
            continue
        changes += differ
        about.holes[kind] = hole
        moved.append(hole)
    return moved


def _typed(kind: str, numbers: Mapping[str, Any]) -> dict[str, str]:
    """A hole as it would be typed into its form."""
    whole = {"density_g_cm3": 1.2} | {name: v for name, v in numbers.items() if v is not None}
    written = {
        name: value if isinstance(value, str) else f"{value:.12g}" for name, value in whole.items()
    }
    if not whole.get("longer_in"):
        written = {name: v for name, v in written.items() if name != "longer_in"}
    return written | {"kind": kind}


def _engine_faults(row: Row, about: _About, rules: Any) -> list[Fault]:
    """What the engine can't drill, at the column it is about."""
    holes = list(about.holes.values())
    # A copy that seems stored: relations of a ball that has no number yet can't be asked for.
    ball = copy.copy(about.ball)
    earlier = list(about.ball.earlier.all()) if ball.pk else []
    ball.pk = ball.pk or 0
    ball._prefetched_objects_cache = {  # type: ignore[attr-defined]
        "holes": holes,
        "earlier": earlier,
        "hardness_readings": [],
        "size_readings": [],
    }
    try:
        engine.drilled_numbers(ball, {}, rules)
    except InputError as error:
        told = f"must be {error.allowed}."
        found = HOLE.search(error.field)
        if found and int(found[1]) < len(holes) and found[2]:
            columns = HOLES[holes[int(found[1])].kind]
            if found[2] in columns:
                return [row.fault(columns[found[2]], told)]
        leaf = error.field.rsplit(".", 1)[-1]
        column = LAYOUT.get(leaf) or {c.attribute: c for c in PAP}.get(leaf)
        if column is not None:
            return [row.fault(column, told)]
        return [Fault(row.line, "", "", f"can’t be drilled: {refusal_words(error)}")]
    return []
