"""A chain of shops as large as one likes: invented, and the same for the same numbers.

Its customers are the demo's over and over: their bags, holes, grips, fittings, conditions, plans
and tickets under other names, with other serial numbers and other readings. Their rankings are
those that the engine computed for the demo's customers, :data:`VARIANTS` times varied: the numbers
of the shapes are moved by a few percent, windows with them, and gaps are told anew from what comes
out. So they are shaped like stored ones, and nobody should read anything about bowling in them.
Names are put together from syllables; nobody is meant.
"""

from __future__ import annotations

import copy
import datetime as dt
import json
import random
import re
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import User
from django.db import connection, transaction
from django.utils import timezone

from arsenal import engine
from arsenal.advice import run, services
from arsenal.demo.load import load
from arsenal.models import (
    BallModel,
    BallSpec,
    BowlerCondition,
    Condition,
    DrillPlan,
    Hole,
    Observation,
    OwnedBall,
    PlannedHole,
    Ranking,
    StockBall,
    TaskFound,
    Ticket,
)
from arsenal.office.services import SCORES, kind_of
from bowlers.models import Bowler, Delivery, Fitting, Grip, search_key
from bowlers.phones import ending_key
from bowlers.readings import BY_NAME
from proshop.models import Membership, Shop
from tests.bench.crowd import FIRST, LAST
from tests.load.rows import Kind, Rows, history_of

PEOPLE, BALLS_EACH, FITTINGS_EACH, THROWS_EACH, RANKINGS_EACH = 10_000, 6, 10, 10, 20
# Of every model of the demo so many under other names; every other one isn't made any more.
MODELS_EACH = 6
HOUSES, LEAGUES, STAFF, NEIGHBOURS = 6, 40, 20, 3
NEIGHBOUR_SHARE = 0.05
VARIANTS = 10
LARGEST = "Head office"
DAYS_BETWEEN_RANKINGS = 27
HISTORIES = (Bowler, Fitting, Delivery, Grip, OwnedBall, Hole, DrillPlan, Ticket)


@dataclass(frozen=True)
class Chain:
    """What was built: the large shop, its owner and staff, and customers spread over all of it."""

    shop: Shop
    owner: User
    staff: list[User]
    sample: list[int]
    counts: dict[str, int]


def build(scale: float, *, patterns: int = 23, sample: int = 20, seed: int = 1) -> Chain:
    """A chain in an empty database: one shop of 10,000 customers times ``scale``, with what they
    have, and three of a twentieth of that. ``patterns``: so many of the demo's customers are ranked
    for it, by the engine, here and now."""
    demo = load(make_password=lambda: uuid.uuid4().hex)
    known = Bowler.objects.for_shop(demo.shop).select_related("shop").order_by("pk")
    moulds = [mould for one in known[:patterns] if (mould := Mould(one)).variants]
    rows = Rows()
    people = max(2, round(PEOPLE * scale))
    with transaction.atomic():
        _compress_quickly()
        first = Filling(rows, LARGEST, demo.shop, random.Random(seed))
        numbers = [first.customer(moulds[n % len(moulds)], n) for n in range(people)]
        for n in range(NEIGHBOURS):
            there = Filling(
                rows, f"{LARGEST}, neighbour {n + 1}", demo.shop, random.Random(seed + 1 + n)
            )
            for m in range(max(1, round(people * NEIGHBOUR_SHARE))):
                there.customer(moulds[m % len(moulds)], m)
        rows.write()
        for model in HISTORIES:
            history_of(model, timezone.now())
        _weigh()
    return _chain(first.shop, numbers[:: max(1, people // sample)][:sample])


def _compress_quickly() -> None:
    """Rankings are ten gigabytes of text: compressed by the quicker way there is."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL default_toast_compression = 'lz4'")
            cursor.execute("SET LOCAL synchronous_commit = off")


def _weigh() -> None:
    """Tell the database how large its tables are before it checks every reference between them:
    it would go by the plans of an empty one, from end to end of a table for each row."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def found(sample: int = 20) -> Chain | None:
    """The chain built here before, if there is one."""
    shop = Shop.objects.filter(name=LARGEST).first()
    if shop is None:
        return None
    numbers = list(Bowler.objects.for_shop(shop).order_by("pk").values_list("pk", flat=True))
    return _chain(shop, numbers[:: max(1, len(numbers) // sample)][:sample])


def _chain(shop: Shop, sample: list[int]) -> Chain:
    staff = list(User.objects.filter(memberships__shop=shop).order_by("pk"))
    counts = {
        model._meta.db_table: model._base_manager.count()
        for model in (Bowler, OwnedBall, Delivery, Ranking, TaskFound)
    }
    return Chain(shop, staff[0], staff[1:], sample, counts)


def people_of(built: Chain) -> list[Bowler]:
    """The customers whose pages are opened."""
    return list(Bowler.objects.filter(pk__in=built.sample).select_related("shop").order_by("pk"))


def settle(customers: Sequence[int]) -> None:
    """Let the newest ranking of these customers answer the question of their records as they are,
    so that their pages show it instead of asking for another."""
    for bowler in Bowler.objects.filter(pk__in=customers).select_related("shop"):
        try:
            question = services.question_for(bowler)
        except engine.Missing:
            continue
        newest = Ranking.objects.for_bowler(bowler).done().order_by("-finished_at", "-pk")[0]
        Ranking.objects.filter(pk=newest.pk).update(
            inputs=question.inputs,
            inputs_key=question.key,
            model_version=question.model_version,
        )


@dataclass(frozen=True)
class Variant:
    """A ranking as text, cut where numbers of other records stand, and what it found."""

    inputs: list[str]
    result: list[str]
    tasks: list[dict[str, Any]]
    kind: str
    weight_lb: int
    version: str


class Mould:
    """One customer of the demo, to be made again under other names."""

    def __init__(self, bowler: Bowler) -> None:
        self.bowler = bowler
        self.bag = list(bowler.bag.order_by("pk").prefetch_related("holes"))
        self.grips = list(bowler.grips.order_by("pk"))
        fitting = bowler.fittings.filter(status="finished", purpose="usual").order_by("-pk").first()
        self.fitting = fitting
        self.throws = list(fitting.deliveries.order_by("order")) if fitting else []
        self.met = list(bowler.conditions.order_by("pk"))
        self.plans = list(
            bowler.drill_plans.filter(state="drilled").prefetch_related("holes").order_by("pk")
        )
        self.tickets = list(bowler.tickets.order_by("pk"))
        self.seen = list(bowler.observations.filter(set_aside=False).order_by("pk"))
        done = _ranked(bowler) if self.bag and self.throws else None
        self.variants = [_variant(done, n) for n in range(VARIANTS)] if done else []


def _ranked(bowler: Bowler) -> Ranking | None:
    """What the engine finds for a customer as they are; None where something is missing."""
    try:
        question = services.question_for(bowler)
    except engine.Missing:
        return None
    ranking = services.request_ranking(bowler=bowler, question=question, user=None, in_line=False)
    run.compute(ranking_id=ranking.pk)
    return Ranking.objects.done().filter(pk=ranking.pk).first()


NUMBER = re.compile(r'"@([a-z]+):?([^"@]*)@"')


def _variant(ranking: Ranking, number: int) -> Variant:
    draw = random.Random(f"{ranking.pk} {number}")
    result: dict[str, Any] = copy.deepcopy(ranking.result or {})
    inputs: dict[str, Any] = copy.deepcopy(ranking.inputs)
    for task in result["tasks"]:
        _vary(task, draw)
    result["customer"] = {**result["customer"], "id": "@person@", "name": "@name@"}
    inputs["customer"] = {**inputs["customer"], "id": "@person@", "name": "@name@"}
    for row in inputs["bag"]:
        row["id"] = f"@ball:{row['id']}@"
    for row in inputs["conditions"]:
        row["id"] = f"@oil:{row['id']}@"
    weight_lb = inputs["weight_lb"]
    models = {row["id"]: row["id"] for row in inputs["catalogue"]}
    found = _found(result, models)
    return Variant(
        NUMBER.split(json.dumps(inputs)),
        NUMBER.split(json.dumps(_with_marks(result))),
        found,
        kind_of(inputs["delivery"]),
        weight_lb,
        ranking.model_version,
    )


def _vary(task: dict[str, Any], draw: random.Random) -> None:
    """Move a task's numbers by a few percent, and tell anew whether there is a gap."""
    task["best_available"] = round(task["best_available"] * draw.uniform(0.95, 1.05), 4)
    shift = draw.uniform(-1.0, 1.0)
    if task["window"]:
        task["window"] = [[round(e + shift, 2) for e in part] for part in task["window"]]
    for ball in task["owned"]:
        ball["carry"] = round(ball["carry"] * draw.uniform(0.9, 1.1), 4)
        ball["hook_length_ft"] = round(ball["hook_length_ft"] + draw.uniform(-1.0, 1.0), 3)
    best = max((ball["carry"] for ball in task["owned"]), default=0.0)
    task["gap"] = best < SCORES * task["best_available"]
    if task["gap"] and task["gap_side"] is None:
        task["gap_side"] = draw.choice(("rolly", "angular", "both", None))
    elif not task["gap"]:
        task["gap_side"] = None


def _found(result: dict[str, Any], models: dict[int, int]) -> list[dict[str, Any]]:
    """What a ranking found, task by task, as the office lays it out."""
    total = sum(task["weight"] for task in result["tasks"]) or 1.0
    found = []
    for n, task in enumerate(result["tasks"]):
        best = max(task["owned"], key=lambda ball: ball["carry"], default=None)
        late = task["gap"] and best is not None and best["late"]
        gap = bool(task["gap"] and task["window"])
        fills = [
            row["id"]
            for row in result.get("fills", [])
            if row["place"] == "order" and row["by_task"][n] >= SCORES * task["best_available"]
        ]
        found.append(
            {
                "name": task["name"][:150],
                "condition": task["condition_id"],
                "weight": task["weight"] / total,
                "gap": gap,
                "side": ("late" if late else task["gap_side"] or "none") if gap else "",
                "fills": [models[one] for one in fills if one in models] if gap else [],
            }
        )
    return found


def _with_marks(value: Any, name: str = "") -> Any:
    if isinstance(value, dict):
        return {key: _with_marks(one, key) for key, one in value.items()}
    if isinstance(value, list):
        return [_with_marks(one, name) for one in value]
    if name == "ball_id" and isinstance(value, int):
        return f"@ball:{value}@"
    if name == "condition_id" and isinstance(value, int):
        return f"@oil:{value}@"
    return value


class Filling:
    """One shop being filled."""

    def __init__(self, rows: Rows, name: str, demo: Shop, draw: random.Random) -> None:
        self.draw, self.now = draw, timezone.now()
        self.today = timezone.localdate(self.now)
        self.shop = Shop.objects.create(name=name)
        self.kinds = {
            model: Kind(rows, model)
            for model in (
                *(Bowler, Grip, Fitting, Delivery, OwnedBall, Hole, BowlerCondition, Ranking),
                *(TaskFound, TaskFound.filled_by.through, DrillPlan, PlannedHole, Ticket),
                Observation,
            )
        }
        self._patterns: dict[Any, list[Any]] = {}
        slug = name.lower().replace(",", "").replace(" ", "-")
        for n in range(STAFF if name == LARGEST else 2):
            user = User.objects.create(username=f"{slug}-{n}", password="!")
            role = Membership.Role.OWNER if n == 0 else Membership.Role.STAFF
            Membership.objects.create(user=user, shop=self.shop, role=role)
            self.user = user
        self._catalogue(demo)
        self._lanes(demo)

    def _catalogue(self, demo: Shop) -> None:
        """The demo's models and shelf several times over; ``specs`` by demo model and weight."""
        models, specs = [], []
        for copied in range(MODELS_EACH):
            for model in BallModel.objects.for_shop(demo).prefetch_related("specs"):
                made = self._again(model, name=f"{model.name} {copied + 1}")
                made.search_key = search_key(made.name)
                made.discontinued = made.discontinued or copied % 2 == 1
                models.append(made)
                for spec in model.specs.all():
                    new = copy.copy(spec)
                    new._state = copy.copy(spec._state)
                    new._state.adding, new.pk = True, None
                    specs.append((model.pk, made, new))
        BallModel.objects.bulk_create(models)
        for _, made, new in specs:
            new.model = made
        BallSpec.objects.bulk_create([new for _, _, new in specs])
        self.specs: dict[tuple[int, int], list[BallSpec]] = {}
        for number, _, new in specs:
            self.specs.setdefault((number, new.weight_lb), []).append(new)
        stock = list(StockBall.objects.for_shop(demo).select_related("spec"))
        made_stock = []
        for n in range(12 * len(stock)):
            ball = stock[n % len(stock)]
            spec = self._spec(ball.spec)
            one = self._again(
                ball,
                spec=spec,
                serial=f"S{n:06d}",
                state="sold" if n >= 6 * len(stock) else "shelf",
            )
            made_stock.append(one)
        StockBall.objects.bulk_create(made_stock)
        # As it would be: the oldest have stood there for most of a year.
        standing = list(StockBall.objects.filter(shop=self.shop))
        for n, ball in enumerate(standing):
            ball.created_at = self.now - dt.timedelta(days=300 * n // len(standing))
        StockBall.objects.bulk_update(standing, ["created_at"])

    def _lanes(self, demo: Shop) -> None:
        """``oils``: of every demo condition those of the houses here."""
        self.oils: dict[int, list[Condition]] = {}
        known = list(Condition.objects.for_shop(demo).select_related("house"))
        for n in range(HOUSES):
            house = self._again(known[n % len(known)].house, name=f"House {n + 1}")
            house.save()
            for condition in known:
                made = self._again(condition, house=house)
                made.name = f"{condition.name}, house {n + 1}"[:80]
                self.oils.setdefault(condition.pk, []).append(made)
        Condition.objects.bulk_create([made for some in self.oils.values() for made in some])

    def _again(self, record: Any, **changes: Any) -> Any:
        made = copy.copy(record)
        made._state = copy.copy(record._state)
        made._state.fields_cache = {}
        made._state.adding, made.pk, made.id = True, None, None
        made.shop = self.shop
        for name, value in changes.items():
            setattr(made, name, value)
        return made

    def _spec(self, spec: BallSpec) -> BallSpec:
        return self.draw.choice(self.specs[spec.model_id, spec.weight_lb])

    def _like(self, record: Any) -> list[Any]:
        """The values of a demo record, looked at once."""
        key = (type(record), record.pk)
        if key not in self._patterns:
            kind = self.kinds[type(record)]
            pattern = kind.pattern(record)
            for name, value in {
                "shop_id": self.shop.pk,
                "created_at": self.now,
                "updated_at": self.now,
            }.items():
                if name in kind.place:
                    pattern[kind.place[name]] = value
            self._patterns[key] = pattern
        return self._patterns[key]

    def customer(self, mould: Mould, n: int) -> int:
        """Another customer like this one, with all they have; their number."""
        draw, kinds = self.draw, self.kinds
        name = f"{draw.choice(FIRST)} {draw.choice(LAST)}{draw.choice(LAST).lower()} {n}"
        phone = f"+1 {draw.randrange(200, 999)} 555 {draw.randrange(10_000):04}"
        average = mould.bowler.average
        person = kinds[Bowler].put(
            self._like(mould.bowler),
            name=name,
            search_key=search_key(name),
            phone=phone,
            phone_key=ending_key(phone),
            average=None if average is None else max(60, min(290, average + draw.randint(-9, 9))),
            league=f"League {n % LEAGUES + 1}" if n % 4 else "",
            is_demo=False,
            created_at=self.now - dt.timedelta(days=600 + n % 100),
        )
        for grip in mould.grips:
            kinds[Grip].put(self._like(grip), bowler_id=person)
        self._fittings(mould, person)
        balls = self._bag(mould, person)
        oils = self._met(mould, person)
        newest = self._rankings(mould, person, name, balls, oils, n)
        self._jobs(mould, person, balls, newest, n)
        self._seen(mould, person, balls, oils, n)
        return person

    def _fittings(self, mould: Mould, person: int) -> None:
        fitting, throw = self.kinds[Fitting], self.kinds[Delivery]
        assert mould.fitting is not None
        near = [
            (name, throw.place[name], reading.low, reading.high)
            for name, reading in BY_NAME.items()
        ]
        key, whose, order, number = (
            throw.place[name] for name in ("row_key", "fitting_id", "order", "id")
        )
        patterns = [self._like(one) for one in mould.throws]
        for visit in range(FITTINGS_EACH):
            on = self.today - dt.timedelta(days=30 + 90 * (FITTINGS_EACH - visit))
            pk = fitting.put(
                self._like(mould.fitting), bowler_id=person, fitted_on=on, logged_by_id=self.user.pk
            )
            for n in range(THROWS_EACH):
                row = list(patterns[n % len(patterns)])
                for _, place, low, high in near:
                    if row[place] is not None:
                        moved = row[place] * self.draw.uniform(0.98, 1.02)
                        row[place] = round(min(high, max(low, moved)), 3)
                row[number] = throw.rows.number(Delivery)
                row[key] = uuid.UUID(int=self.draw.getrandbits(128))
                row[whose], row[order] = pk, n + 1
                throw.rows.add(Delivery, row)

    def _bag(self, mould: Mould, person: int) -> dict[int, int]:
        """Balls by the number of the demo's."""
        made: dict[int, int] = {}
        for n in range(BALLS_EACH):
            ball = mould.bag[n % len(mould.bag)]
            pk = self.kinds[OwnedBall].put(
                self._like(ball),
                bowler_id=person,
                spec_id=self._spec(ball.spec).pk,
                serial=f"{self.draw.getrandbits(32):08X}",
                games_since_cleaned=self.draw.randrange(40),
                nickname="",
                # More than the mould owns are old ones.
                retired=ball.retired or n >= len(mould.bag),
            )
            made.setdefault(ball.pk, pk)
            for hole in ball.holes.all():
                self.kinds[Hole].put(self._like(hole), ball_id=pk)
        return made

    def _met(self, mould: Mould, person: int) -> dict[int, Condition]:
        """Conditions by the number of the demo's: all of them in one house."""
        house = self.draw.randrange(HOUSES)
        oils = {pk: made[house] for pk, made in self.oils.items()}
        for met in mould.met:
            self.kinds[BowlerCondition].put(
                self._like(met), bowler_id=person, condition_id=oils[met.condition_id].pk
            )
        return oils

    def _rankings(
        self,
        mould: Mould,
        person: int,
        name: str,
        balls: dict[int, int],
        oils: dict[int, Condition],
        n: int,
    ) -> int:
        marks = {"person": str(person), "name": json.dumps(name)}

        def filled(parts: list[str]) -> str:
            """Text and what stands between: a kind of mark, then its number."""
            said = [parts[0]]
            for k in range(1, len(parts), 3):
                kind, number, rest = parts[k : k + 3]
                if kind == "ball":
                    said.append(str(balls.get(int(number), 0)))
                elif kind == "oil":
                    said.append(str(oils[int(number)].pk))
                else:
                    said.append(marks[kind])
                said.append(rest)
            return "".join(said)

        pattern = self._like_ranking(mould)
        newest = 0
        for number in range(RANKINGS_EACH):
            variant = mould.variants[(n + number) % len(mould.variants)]
            days = DAYS_BETWEEN_RANKINGS * (RANKINGS_EACH - 1 - number) + n % 20
            finished = self.now - dt.timedelta(days=days, minutes=n % 600)
            newest = self.kinds[Ranking].put(
                pattern,
                bowler_id=person,
                inputs=filled(variant.inputs),
                result=filled(variant.result),
                inputs_key=f"{number:064x}",
                model_version=variant.version,
                created_at=finished,
                updated_at=finished,
                asked_at=finished,
                started_at=finished,
                heard_at=finished,
                finished_at=finished,
            )
            latest = number == RANKINGS_EACH - 1
            self._found(mould, variant, person, newest, oils, latest, timezone.localdate(finished))
        return newest

    def _like_ranking(self, mould: Mould) -> list[Any]:
        key = (Ranking, mould.bowler.pk)
        if key not in self._patterns:
            empty = Ranking(
                shop=self.shop,
                requested_by=self.user,
                status="done",
                progress=100,
                progress_note="Done",
                seed=1,
                attempts=1,
                inputs={},
                result={},
            )
            self._patterns[key] = self.kinds[Ranking].pattern(empty)
        return self._patterns[key]

    def _found(
        self,
        mould: Mould,
        variant: Variant,
        person: int,
        ranking: int,
        oils: dict[int, Condition],
        latest: bool,
        on: dt.date,
    ) -> None:
        kind, through = self.kinds[TaskFound], self.kinds[TaskFound.filled_by.through]
        pattern = kind.pattern()
        for task in variant.tasks:
            oil = oils[task["condition"]]
            pk = kind.put(
                pattern,
                ranking_id=ranking,
                shop_id=self.shop.pk,
                bowler_id=person,
                house_id=oil.house_id,
                task=f"{task['name'][:140]}, house {oil.house.name.split()[-1]}",
                weight=task["weight"],
                gap=task["gap"],
                side=task["side"],
                hand=mould.bowler.hand,
                kind=variant.kind,
                weight_lb=variant.weight_lb,
                found_on=on,
                latest=latest,
            )
            for model in task["fills"] if latest else ():
                made = self.specs.get((model, variant.weight_lb))
                for spec in made or ():
                    if not spec.model.discontinued:
                        through.put(through.pattern(), taskfound_id=pk, ballspec_id=spec.pk)

    def _jobs(self, mould: Mould, person: int, balls: dict[int, int], ranking: int, n: int) -> None:
        """What was drilled for every second customer, and tickets for every one."""
        for plan in mould.plans if n % 2 else ():
            when = self.now - dt.timedelta(days=(n * 7) % 500, hours=2)
            pk = self.kinds[DrillPlan].put(
                self._like(plan),
                bowler_id=person,
                spec_id=self._spec(plan.spec).pk,
                stock_id=None,
                ball_id=balls.get(plan.ball_id or 0),
                ranking_id=ranking,
                advice=json.dumps({"words": "To order", "day": "", "options": []}),
                reason="" if n % 3 else "The customer wanted another colour.",
                signed_by_id=self.user.pk,
                drilled_by_id=self.user.pk,
                drilled_at=when,
            )
            for hole in plan.holes.all():
                self.kinds[PlannedHole].put(self._like(hole), plan_id=pk)
        for ticket in mould.tickets:
            # One of a hundred is open, as on a busy day.
            step = ticket.step if n % 100 == 0 else "collected"
            self.kinds[Ticket].put(
                self._like(ticket),
                bowler_id=person,
                plan_id=None,
                ball_id=balls.get(ticket.ball_id or 0),
                step=step,
                promised_at=self.now + dt.timedelta(days=n % 9 - 2),
                ready_at=self.now if step == "collected" else None,
                collected_at=self.now - dt.timedelta(days=20 + n % 400)
                if step == "collected"
                else None,
            )

    def _seen(
        self, mould: Mould, person: int, balls: dict[int, int], oils: dict[int, Condition], n: int
    ) -> None:
        for seen in mould.seen:
            self.kinds[Observation].put(
                self._like(seen),
                bowler_id=person,
                ball_id=balls[seen.ball_id],
                condition_id=oils[seen.condition_id].pk,
                seen_on=self.today - dt.timedelta(days=n % 300),
                logged_by_id=self.user.pk,
            )
