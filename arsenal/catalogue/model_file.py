"""The catalogue as a CSV file: one row for each ball model and weight."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from arsenal.catalogue.forms import MOST_MONEY
from arsenal.catalogue.models import (
    DIFFERENTIAL_HIGHEST_IN,
    HEAVIEST_LB,
    LIGHTEST_LB,
    RG_HIGHEST_IN,
    RG_LOWEST_IN,
    BallModel,
    BallSpec,
    Cover,
    Finish,
)
from bowlers.models import search_key
from proshop.files import bulk
from proshop.files.columns import Choice, Number, Whole, Words, YesNo
from proshop.files.faults import Fault
from proshop.files.kinds import ADD, CHANGE, SAME, FileKind, Plan, Planned, missing, put
from proshop.files.reading import Row, Table
from proshop.models import Shop

NAME = Words("name", "name", longest=80, needed=True, example="Field Maple")
WEIGHT = Whole(
    "weight (lb)",
    "weight_lb",
    low=LIGHTEST_LB,
    high=HEAVIEST_LB,
    unit="lb",
    example="15",
    about="a model of several weights has a row for each",
)
OF_MODEL = (
    Choice("cover", "cover", choices=Cover, needed=True, example="solid reactive"),
    Choice(
        "finish from the maker", "factory_finish", choices=Finish, needed=True, example="2000 grit"
    ),
    Number("price", "price", high=MOST_MONEY, places=2, needed=True, example="189.00"),
    YesNo("can be ordered", "orderable", example="yes"),
    Whole("time to arrive (days)", "lead_days", high=365, unit="days", example="7"),
    YesNo("discontinued", "discontinued", example="no"),
    Words("notes", "notes", longest=2000, several_lines=True, empty=""),
)
INTERMEDIATE = Number(
    "intermediate differential (in)",
    "intermediate_differential_in",
    high=DIFFERENTIAL_HIGHEST_IN,
    unit="in",
    example="0.012",
    about="0 for a symmetric ball",
)
OF_SPEC = (
    Number(
        "low RG (in)",
        "rg_low_in",
        low=RG_LOWEST_IN,
        high=RG_HIGHEST_IN,
        unit="in",
        needed=True,
        example="2.49",
    ),
    Number(
        "differential (in)",
        "differential_in",
        high=DIFFERENTIAL_HIGHEST_IN,
        unit="in",
        needed=True,
        example="0.048",
    ),
    INTERMEDIATE,
)


class ModelFile(FileKind):
    slug = "models"
    title = "Catalogue"
    row_word = "a ball model at one weight"
    key = (
        "A row is about the model of that name, and within it about that weight; what isn’t there "
        "yet is added. What is said of the model itself may stand in one of its rows or in each, "
        "the same then. Models and weights that a file doesn’t name stay as they are."
    )
    home = "catalogue"
    columns = (NAME, *OF_MODEL, WEIGHT, *OF_SPEC)

    def records(self, shop: Shop) -> Iterator[Mapping[str, Any]]:
        for model in BallModel.objects.for_shop(shop).with_specs():
            whole = {column.attribute: getattr(model, column.attribute) for column in OF_MODEL}
            whole["name"] = model.name
            specs = list(model.specs.all())
            for spec in specs:
                told = {column.attribute: getattr(spec, column.attribute) for column in OF_SPEC}
                yield {**whole, "weight_lb": spec.weight_lb, **told}
            if not specs:
                yield whole

    def plan(self, shop: Shop, table: Table, *, lock: bool = False) -> Plan:
        plan = Plan(faults=list(table.faults))
        known = _Known(shop, lock=lock)
        for row in table.rows:
            if "name" not in row.told:
                plan.faults += missing(row, [NAME])
                continue
            _plan_row(plan, known.of(shop, row.told["name"]), row)
        for about in known.named:
            for record in about.to_store:
                (plan.fresh if record.pk is None else plan.stale).append(record)
        return plan

    def store(self, plan: Plan, *, user: Any, reason: str) -> None:
        new_models, new_specs = _sorted(plan.fresh)
        models, specs = _sorted(plan.stale)
        for model in new_models:
            model.search_key = search_key(model.name)
        bulk.add_all(BallModel, new_models, user=user, reason=reason)
        for spec in new_specs:
            # Its model may have got its number only now.
            spec.model = spec.model
        bulk.add_all(BallSpec, new_specs, user=user, reason=reason)
        bulk.change_all(BallModel, models, user=user, reason=reason)
        bulk.change_all(BallSpec, specs, user=user, reason=reason)


def _sorted(records: list[Any]) -> tuple[list[BallModel], list[BallSpec]]:
    return (
        [record for record in records if isinstance(record, BallModel)],
        [record for record in records if isinstance(record, BallSpec)],
    )


@dataclass(eq=False)
class _About:
    """A model as the file leaves it."""

    model: BallModel
    is_new: bool
    specs: dict[int, BallSpec]
    # By column of the model, and by weight: the line that told it first.
    told: dict[str, tuple[int, str]] = field(default_factory=dict)
    weights: dict[int | None, int] = field(default_factory=dict)
    to_store: list[Any] = field(default_factory=list)


class _Known:
    """The shop's models: by name, or by the name however it is written if one alone has it."""

    def __init__(self, shop: Shop, *, lock: bool) -> None:
        models = BallModel.objects.for_shop(shop)
        specs = BallSpec.objects.for_shop(shop)
        if lock:
            models, specs = models.select_for_update(), specs.select_for_update(of=("self",))
        by_model: dict[int, dict[int, BallSpec]] = defaultdict(dict)
        for spec in specs:
            by_model[spec.model_id][spec.weight_lb] = spec
        self._by_name: dict[str, _About] = {}
        self._by_key: dict[str, list[_About]] = defaultdict(list)
        for model in models:
            self._keep(_About(model, False, by_model[model.pk]))
        # In the order of the file.
        self.named: dict[_About, None] = {}

    def _keep(self, about: _About) -> _About:
        self._by_name[about.model.name] = about
        self._by_key[search_key(about.model.name)].append(about)
        return about

    def of(self, shop: Shop, name: str) -> _About:
        alike = self._by_key.get(search_key(name), [])
        about = self._by_name.get(name) or (alike[0] if len(alike) == 1 else None)
        if about is None:
            about = self._keep(_About(BallModel(shop=shop, name=name), True, {}))
        self.named.setdefault(about)
        return about


def _plan_row(plan: Plan, about: _About, row: Row) -> None:
    weight: int | None = row.told.get("weight_lb")
    starts = about.is_new and not about.weights
    faults = _row_faults(about, row, weight, starts=starts)
    about.weights.setdefault(weight, row.line)
    changes = list(put(about.model, row, OF_MODEL))
    if (starts or changes) and about.model not in about.to_store:
        about.to_store.insert(0, about.model)
    spec = about.specs.get(weight) if weight is not None else None
    adds = False
    if weight is not None and spec is None:
        adds = True
        spec = BallSpec(model=about.model, weight_lb=weight)
    if spec is not None and not faults:
        changed = put(spec, row, OF_SPEC)
        changes += changed
        if adds or changed:
            about.to_store.append(spec)
        faults = _figure_faults(spec, row)
    if faults:
        plan.faults += faults
        return
    name = about.model.name if weight is None else f"{about.model.name}, {weight} lb"
    action = ADD if adds or starts else CHANGE if changes else SAME
    plan.rows.append(Planned(row.line, name, action, () if action == ADD else tuple(changes)))


def _figure_faults(spec: BallSpec, row: Row) -> list[Fault]:
    if spec.intermediate_differential_in <= spec.differential_in:
        return []
    told = (
        f"can’t exceed the differential, {INTERMEDIATE.write(spec.differential_in)} in: check "
        "whether the two are swapped."
    )
    return [row.fault(INTERMEDIATE, told)]


def _row_faults(about: _About, row: Row, weight: int | None, *, starts: bool) -> list[Fault]:
    faults: list[Fault] = []
    if weight in about.weights:
        what = "this model without a weight" if weight is None else f"this model at {weight} lb"
        told = f"is about {what}, as line {about.weights[weight]}: keep one of the two."
        return [Fault(row.line, "", "", told)]
    if starts:
        faults += missing(row, OF_MODEL)
    for column in OF_MODEL:
        if column.attribute not in row.told:
            continue
        value = column.write(row.told[column.attribute])
        line, before = about.told.setdefault(column.attribute, (row.line, value))
        if before != value:
            told = f"differs from line {line}, “{before}”: write the same in every row of a model."
            faults.append(row.fault(column, told))
    if weight is None:
        if any(column.attribute in row.told for column in OF_SPEC):
            faults.append(row.fault(WEIGHT, f"is missing: write {WEIGHT.rule}."))
    elif weight not in about.specs:
        faults += missing(row, OF_SPEC)
    return faults
