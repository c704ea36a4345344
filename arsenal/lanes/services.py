"""Writes and readings of the lanes room that go beyond one record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, cast

from django.core.paginator import Page, Paginator
from django.db import transaction
from django.db.models import QuerySet
from django.forms import BoundField

from arsenal import engine
from arsenal.lanes.forms import PICKER, ConditionForm, TimesForm
from arsenal.lanes.models import (
    BOARDS,
    LENGTH_FT,
    RATIO,
    VOLUME_ML,
    BowlerCondition,
    Condition,
)
from arsenal.lanes.oil_csv import OilTable
from arsenal.lanes.picker import QUESTIONS, numbers_of_answers
from arsenal.lanes.picture import OilPicture, oil_picture, oil_rows
from arsenal.lanes.shares import SharesForm
from arsenal.refusals import refusal_words
from bowlers.models import Bowler
from physics.errors import InputError


@dataclass(frozen=True)
class Met:
    """A condition a customer meets, in what state, with its share of the season and the numbers
    of its oil as laid down. ``box`` is where its times are typed, ``form`` where its state is."""

    row: BowlerCondition
    form: TimesForm
    box: BoundField
    share_percent: float
    state: str
    numbers: dict[str, Any]


def numbers_of(condition: Condition, games: int = 0) -> dict[str, Any]:
    """What the engine computes of a condition so played on, or ``refusal``: why it can't."""
    try:
        return engine.condition_numbers(condition, games)
    except InputError as error:
        return {"refusal": refusal_words(error)}


# Games after which every condition's page shows its oil: laid down, a league later, burnt.
STATES = (0, 15, engine.BURNT_GAMES)


@dataclass(frozen=True)
class States:
    """A condition fresh, worn and burnt, with the state that is looked at (``games``).

    ``ready``: whether all of it was known; if not, ``rows`` holds the fresh state alone, which is
    then the one drawn.
    """

    games: int
    ready: bool
    rows: list[dict[str, Any]]
    oil: OilTable
    full_grey: float
    burnt: int = engine.BURNT_GAMES

    @property
    def table(self) -> list[tuple[int, list[float]]]:
        """Feet, and units by board from the right gutter."""
        return oil_rows(self.oil)

    @property
    def boards(self) -> range:
        return range(1, BOARDS + 1)

    @property
    def shown(self) -> str:
        """Name of the state that is drawn."""
        words = engine.state_name(self.games if self.ready else 0)
        return words[:1].upper() + words[1:]


def states_of(condition: Condition, games: int, *, at_once: bool) -> States:
    """States of a condition's oil; unless wanted ``at_once``, only as far as they are known.

    Raises InputError where the condition's numbers can't be a lane's oil.
    """
    wanted = sorted({*STATES, games})
    ready = at_once or all(engine.is_played(condition, each) for each in wanted)
    fresh = cast(OilTable, engine.condition_oil(condition))
    shown = games if ready else 0
    return States(
        games=games,
        ready=ready,
        rows=[engine.condition_numbers(condition, each) for each in (wanted if ready else [0])],
        oil=cast(OilTable, engine.condition_oil(condition, shown)) if shown else fresh,
        full_grey=max(max(row) for row in fresh["units"]),
    )


@dataclass(frozen=True)
class Preview:
    """Oil as it is said so far: drawn with its numbers, or ``wanting``: why it isn't."""

    wanting: str = ""
    numbers: dict[str, Any] | None = None
    picture: OilPicture | None = None


def preview_of(form: ConditionForm) -> Preview:
    """What a condition's form says of the oil, whether it was sent or is offered."""
    condition = Condition(house=form.instance.house)
    if form.is_bound:
        told = {name: form.cleaned_data.get(name) for name in (*PICKER, "ramp_board")}
        condition.oil_table = form.instance.oil_table
        wrong = [
            fault for name, faults in form.errors.items() if name != "name" for fault in faults
        ]
    else:
        wrong = []
        condition.oil_table = form.instance.oil_table
        told = {name: getattr(form.instance, name) for name in (*PICKER, "ramp_board")}
        if form.instance.pk is None:
            told = numbers_of_answers({q.name: q.usual for q in QUESTIONS})
    if wrong or (condition.oil_table is None and any(told[name] is None for name in PICKER)):
        return Preview(str(wrong[0]) if wrong else "Say what the oil is like to see it drawn.")
    for name, value in told.items():
        setattr(condition, name, value)
    numbers = numbers_of(condition)
    if "refusal" in numbers:
        return Preview(numbers["refusal"])
    table = cast(OilTable, engine.condition_oil(condition))
    return Preview("", numbers, oil_picture(table))


@transaction.atomic
def save_condition(*, form: ConditionForm) -> Condition:
    """Keep a condition; an oil table fills in the picker numbers it overrides.

    Raises InputError when these numbers, or this table, can't be a lane's oil.
    """
    numbers = engine.condition_numbers(form.instance)
    if form.instance.oil_table:
        _take_numbers_from_table(form.instance, numbers)
    condition: Condition = form.save()
    return condition


def _take_numbers_from_table(condition: Condition, numbers: dict[str, Any]) -> None:
    for name, bounds, unit in (("length_ft", LENGTH_FT, "ft"), ("volume_ml", VOLUME_ML, "mL")):
        if not bounds[0] <= numbers[name] <= bounds[1]:
            what = "reaches" if name == "length_ft" else "adds up to"
            raise InputError(
                "oil_table",
                numbers[name],
                f"oil of {bounds[0]:g} to {bounds[1]:g} {unit}; this table {what} "
                f"{numbers[name]:.1f} {unit}",
            )
    condition.length_ft = numbers["length_ft"]
    condition.volume_ml = numbers["volume_ml"]
    # A table may leave the outside dry: the picker stops at the steepest ratio it can draw.
    condition.inside_to_outside_ratio = min(max(numbers["ratio"] or RATIO[1], RATIO[0]), RATIO[1])
    condition.shape = condition.shape or Condition.Shape.BLENDED


MEETING_A_PAGE = 50


@dataclass(frozen=True)
class Meeting:
    """A customer with a state of a condition they meet."""

    row: BowlerCondition
    state: str
    share_percent: float


def who_meets(rows: QuerySet[BowlerCondition], page: str | None) -> Page[Meeting]:
    """One page of the customers behind these rows, by name, with the share of their season."""
    wanted = rows.with_share().by_customer()  # type: ignore[attr-defined]
    found = Paginator(wanted, MEETING_A_PAGE).get_page(page)
    found.object_list = [
        Meeting(row, engine.state_name(row.games_on_oil), 100 * row.times_a_season / row.season)
        for row in found.object_list
    ]
    return found


@transaction.atomic
def remove_met(*, row: BowlerCondition, expected_version: int | None) -> bool:
    """Take a condition off a customer's list; False when the row changed meanwhile."""
    if row.version != expected_version:
        return False
    row.delete()
    return True


@dataclass(frozen=True)
class MetList:
    rows: Sequence[Met]
    shares: SharesForm


def met_conditions(
    bowler: Bowler, *, editing: TimesForm | None = None, shares: SharesForm | None = None
) -> MetList:
    """What a customer meets, most often first; ``editing`` and ``shares`` are forms sent back."""
    rows = shares.rows if shares is not None else list(bowler.conditions.with_house())
    season = sum(row.times_a_season for row in rows)
    shares = shares or SharesForm(rows=rows)
    met = [
        Met(
            row=row,
            box=shares.box(row),
            form=(
                editing
                if editing is not None and editing.instance.pk == row.pk
                else TimesForm(instance=row, auto_id=f"id_{row.pk}_%s")
            ),
            share_percent=100 * row.times_a_season / season,
            state=engine.state_name(row.games_on_oil),
            numbers=numbers_of(row.condition),
        )
        for row in rows
    ]
    return MetList(met, shares)
