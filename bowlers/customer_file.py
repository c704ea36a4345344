"""Customers as a CSV file."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.db.models import Q
from django.utils import timezone

from bowlers import consent
from bowlers.holding import Fingers, Hand, Hands, Thumb
from bowlers.models import (
    EARLIEST_BIRTH_YEAR,
    HIGHEST_AVERAGE,
    LONGEST_CONSENT,
    LONGEST_LEAGUE,
    LONGEST_PHONE,
    AtSpares,
    Bowler,
    CustomerMerge,
    search_key,
)
from bowlers.phones import PhoneFault, digits_of, phone_text
from proshop.files import bulk
from proshop.files.columns import Choice, Day, RecordNumber, Refused, Whole, Words
from proshop.files.faults import Fault
from proshop.files.kinds import ADD, CHANGE, SAME, FileKind, Plan, Planned, missing, put
from proshop.files.reading import Row, Table
from proshop.models import Shop

LONGEST_NOTE = 5000
# Of a longer file everybody in the shop is looked up instead of those it names.
FEW_ROWS = 2000


class Phone(Words):
    """A phone number as it is written, with at least a few digits."""

    def read(self, cell: str, *, comma: bool = False) -> str:
        text: str = super().read(cell)
        try:
            return phone_text(text)
        except PhoneFault as fault:
            raise Refused(str(fault)) from fault

    @property
    def rule(self) -> str:
        return "a phone number, 4 to 15 digits"


class BirthYear(Whole):
    """A year that isn't to come."""

    def read(self, cell: str, *, comma: bool = False) -> Any:
        year = super().read(cell, comma=comma)
        if year > timezone.localdate().year:
            raise Refused("is to come: write the year of birth with four digits.")
        return year


NUMBER = RecordNumber(
    "customer number", "pk", about="as in a file taken out here; empty for a new customer"
)
NAME = Words("name", "name", needed=True, longest=120, example="Dana Kowalski")
PHONE = Phone("phone", "phone", longest=LONGEST_PHONE, example="555 0142", empty="")


def _note(name: str, attribute: str, example: str) -> Words:
    return Words(
        name, attribute, longest=LONGEST_NOTE, several_lines=True, example=example, empty=""
    )


class CustomerFile(FileKind):
    slug = "customers"
    title = "Customers"
    row_word = "one customer"
    key = (
        "A row is about the customer with its customer number. Without a number it is about the "
        "one of the same name and phone, whatever the capitals and spaces, and without such a one "
        "it adds a customer."
    )
    home = "customer-list"
    columns = (
        NUMBER,
        NAME,
        PHONE,
        Choice("hand", "hand", choices=Hand, example="right"),
        Choice("thumb", "thumb", choices=Thumb, example="thumb in"),
        Choice("hands on the ball", "hands", choices=Hands, example="one hand"),
        Choice("finger holes", "fingers", choices=Fingers, example="fingertip"),
        Choice(
            "release at spares",
            "at_spares",
            choices=AtSpares,
            words=(("assumed", "not known"), ("usual", "the usual one")),
            example="not known",
        ),
        Whole("average (pins)", "average", low=0, high=HIGHEST_AVERAGE, example="180", empty=None),
        BirthYear(
            "year of birth", "born", low=EARLIEST_BIRTH_YEAR, high=2100, example="1990", empty=None
        ),
        Words("league", "league", longest=LONGEST_LEAGUE, example="Tuesday Trios", empty=""),
        _note("goal", "goal", "Carry more on the fresh"),
        _note("complaint", "complaint", "Goes high after game one"),
        _note("notes", "notes", ""),
        Words(
            "agreed to",
            "agreed_to",
            longest=LONGEST_CONSENT,
            example="measurements kept, a call when care is due",
            empty="",
        ),
        Day("agreed on (date)", "agreed_on", example="2026-05-31", empty=None),
    )
    told = columns[1:]

    def records(self, shop: Shop) -> Iterator[Mapping[str, Any]]:
        names = [column.attribute for column in self.columns]
        rows = Bowler.objects.for_shop(shop).order_by("search_key", "pk")
        return iter(rows.values(*names).iterator(chunk_size=2000))

    def plan(self, shop: Shop, table: Table, *, lock: bool = False) -> Plan:
        plan = Plan(faults=list(table.faults))
        known = _Known(shop, table.rows, lock=lock)
        seen: dict[object, int] = {}
        for row in table.rows:
            found = known.of(row)
            if isinstance(found, Fault):
                plan.faults.append(found)
                continue
            bowler = found or Bowler(shop=shop)
            faults = [] if found else missing(row, self.told)
            mark: object = bowler.pk or _key(row)
            if not faults and mark in seen:
                twice = f"is about the same customer as line {seen[mark]}: keep one of the two."
                faults = [Fault(row.line, "", "", twice)]
            if faults:
                plan.faults += faults
                continue
            seen[mark] = row.line
            # What a customer was found by stays as it is written here.
            told = self.told if bowler.pk is None or "pk" in row.told else self.told[2:]
            changes = put(bowler, row, told)
            if lacking := consent.lacking(bowler.agreed_to, bowler.agreed_on):
                plan.faults.append(_consent_fault(row, *lacking))
                continue
            action = ADD if not found else CHANGE if changes else SAME
            plan.rows.append(Planned(row.line, bowler.name, action, changes))
            if action == ADD:
                plan.fresh.append(bowler)
                plan.notes += known.doubts(row)
            elif action == CHANGE:
                plan.stale.append(bowler)
        return plan

    def store(self, plan: Plan, *, user: Any, reason: str) -> None:
        for bowler in (*plan.fresh, *plan.stale):
            bowler.set_keys()
        bulk.add_all(Bowler, plan.fresh, user=user, reason=reason)
        bulk.change_all(Bowler, plan.stale, user=user, reason=reason)


def _consent_fault(row: Row, name: str, told: str) -> Fault:
    """What is wrong with what was agreed, at its column."""
    column = next(column for column in CustomerFile.columns if column.attribute == name)
    return row.fault(column, told)


def _key(row: Row) -> tuple[str, str]:
    """Name and phone of a row, whatever the capitals and spaces."""
    return search_key(row.told.get("name", "")), digits_of(row.told.get("phone", ""))


class _Known:
    """The shop's customers that rows may be about, found by number, or by name and phone."""

    def __init__(self, shop: Shop, rows: Sequence[Row], *, lock: bool) -> None:
        # Numbers of customers who were merged into others, by the number they have now.
        self.merged = dict(
            CustomerMerge.objects.for_shop(shop).values_list("gone_number", "kept_id")
        )
        bowlers = Bowler.objects.for_shop(shop)
        if len(rows) <= FEW_ROWS:
            told = {row.told["pk"] for row in rows if "pk" in row.told}
            numbers = {self.merged.get(number, number) for number in told}
            bowlers = bowlers.filter(
                Q(pk__in=numbers) | Q(search_key__in={_key(row)[0] for row in rows})
            )
        if lock:
            bowlers = bowlers.select_for_update()
        self.by_number: dict[int, Bowler] = {bowler.pk: bowler for bowler in bowlers}
        self.by_key: dict[tuple[str, str], list[Bowler]] = defaultdict(list)
        self.by_name: dict[str, list[int]] = defaultdict(list)
        for bowler in self.by_number.values():
            self.by_key[bowler.search_key, digits_of(bowler.phone)].append(bowler)
            self.by_name[bowler.search_key].append(bowler.pk)

    def of(self, row: Row) -> Bowler | Fault | None:
        """The customer a row is about, None for a new one, or why that can't be told."""
        if "pk" in row.told:
            number = row.told["pk"]
            found = self.by_number.get(self.merged.get(number, number))
            told = "is no customer of this shop: leave the cell empty to add one."
            return found or row.fault(NUMBER, told)
        same = self.by_key.get(_key(row), []) if "name" in row.told else []
        if len(same) > 1:
            numbers = " and ".join(str(bowler.pk) for bowler in same)
            told = (
                f"is the name of {len(same)} customers with this phone: write the customer "
                f"number, {numbers}."
            )
            return row.fault(NAME, told)
        return same[0] if same else None

    def doubts(self, row: Row) -> list[Fault]:
        """What a row that adds a customer may have meant instead."""
        same = self.by_name.get(_key(row)[0], [])
        if not same:
            return []
        numbers = " or ".join(str(number) for number in same[:3])
        told = f"is also the name of customer {numbers}, with another phone; added as a new one."
        return [row.fault(NAME, told)]
