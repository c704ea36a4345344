"""What observations teach: all that stands of a house into levels, a ranking's inputs and words.

Levels are worked out from the evidence that stands whenever they are asked for, so an observation
set aside leaves no trace.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Q

from arsenal.afterwards.models import Look, Motion, Observation
from arsenal.afterwards.querysets import ObservationQuerySet
from arsenal.engine import bodies
from arsenal.engine.evidence import (
    NOBODY,
    Name,
    Question,
    answer_to,
    held,
    key_of,
    name_of,
    up_to_date,
)
from arsenal.kept import store
from arsenal.lanes.models import Condition
from physics import MODEL_VERSION, learn, leaves, likely, pins, seen

if TYPE_CHECKING:
    from arsenal.lanes.models import House
    from bowlers.models import Bowler

# The newest so many observations of a house count.
MOST_AT_A_HOUSE = 200
NOTHING_MOVED = 0.01
# Leaves named beside those seen.
LIKELIEST = 4
SEEN_WORDS = {
    "entry_board": ("Entry", "board"),
    "break_board": ("Breakpoint", "board"),
    "break_ft": ("Breakpoint", "ft"),
}


@dataclass(frozen=True)
class Own:
    """A bowler's own observation, what its evidence is computed from, and that."""

    observation: Observation
    question: Question
    evidence: learn.Evidence


@dataclass(frozen=True)
class Heard:
    """All the evidence that may speak of a bowler: their own, and others' of the same houses.

    ``key``: of all that was said, to keep under what follows from it; ``met``: conditions that the
    bowler meets or was seen on, where they were asked for. ``lanes`` is None where nobody said
    anything.
    """

    bowler: Bowler
    lanes: learn.Lanes | None
    own: list[Own]
    key: str
    met: list[Condition]


def leave_name(text: str) -> str:
    """A leave as it is kept: ``4-9``; InputError if it isn't one."""
    return pins.leave_name(pins.bits_of(leaves.pins_of(text)))


def _heard_at(houses: Sequence[int], standing: ObservationQuerySet) -> list[Name]:
    """The newest of what stands of these houses, with evidence of this model, computed where need
    be; the newest first.

    Hundreds may speak of a house: whole records are looked up of those to be computed only, and
    conditions by number, by which the database knows how many there will be.
    """
    met = Condition.objects.filter(house__in=houses).order_by()
    house_of = dict(met.values_list("pk", "house"))
    told = ("pk", "bowler_id", "condition_id", "ball_id", "evidence_key", "evidence_model")
    rows = standing.filter(condition__in=list(house_of)).values_list(*told)[:MOST_AT_A_HOUSE]
    names: dict[int, Name] = {}
    stale = set()
    for pk, bowler, condition, ball, key, model in rows:
        names[pk] = (pk, bowler, house_of[condition], condition, ball, key)
        if model != MODEL_VERSION:
            stale.add(pk)
    whole = standing.filter(pk__in=stale) if stale else ()
    computed = {row.pk: name_of(row) for row, _ in up_to_date(whole, wholly=False)}
    return [
        computed.get(pk, name) for pk, name in names.items() if pk in computed or pk not in stale
    ]


def heard_about(bowler: Bowler, theirs: Sequence[Observation] | None = None) -> Heard:
    """All that was said of this bowler and of every house they meet or were seen at.

    ``theirs``: all of their observations that stand, if they were looked up before.
    """
    theirs = _theirs(bowler) if theirs is None else theirs
    seen_on = {observation.condition_id for observation in theirs}
    conditions = Condition.objects.for_shop(bowler.shop).with_house()
    met = list(conditions.filter(Q(met_by__bowler=bowler) | Q(pk__in=seen_on)).distinct())
    return _heard(bowler, sorted({condition.house_id for condition in met}), theirs, met=met)


def _theirs(bowler: Bowler) -> list[Observation]:
    """What this bowler saw that stands."""
    standing = Observation.objects.for_shop(bowler.shop).standing().with_records()
    mine = standing.newest_first().filter(bowler=bowler)
    # Most have seen nothing, and to ask for these with all that hangs on them takes longer.
    return list(mine) if mine.exists() else []


def _heard(
    bowler: Bowler,
    houses: Sequence[int],
    theirs: Sequence[Observation],
    *,
    known: Mapping[int, Mapping[str, Any] | None] = NOBODY,
    met: Sequence[Condition] = (),
) -> Heard:
    """The bowler's own is brought up to date with their records; that of others, with the model."""
    standing = Observation.objects.for_shop(bowler.shop).standing().with_records().newest_first()
    own = up_to_date(theirs, wholly=True, known=known)
    others = _heard_at(houses, standing.exclude(bowler=bowler))
    said = held([*(name_of(row) for row, _ in own), *others])
    there = {name[0]: evidence for name, evidence in said.items()}
    return Heard(
        bowler=bowler,
        lanes=learn.Lanes(said.values()) if said else None,
        own=[
            Own(row, question, there[row.pk])
            for row, question in own
            if question is not None and row.pk in there
        ],
        key=key_of([name[1:] for name in said]),
        met=list(met),
    )


def with_learnt(asked: dict[str, Any], bowler: Bowler) -> dict[str, Any]:
    """A ranking's question with what was learnt taken over; as it was where nothing was seen.

    Friction becomes part of a condition's lane factor and narrows its prior (``friction_sd``).
    ``learnt`` keeps each factor as it was applied, with the share of its doubt that is ``left``.
    """
    ids = {row["id"] for row in asked["conditions"]}
    houses = dict(Condition.objects.filter(pk__in=ids).order_by().values_list("pk", "house"))
    known = {bowler.pk: asked["delivery"]}
    lanes = _heard(bowler, sorted(set(houses.values())), _theirs(bowler), known=known).lanes
    if lanes is None:
        return asked
    by_house = {house: lanes.learnt(bowler.pk, house) for house in sorted(set(houses.values()))}
    conditions = []
    for row in asked["conditions"]:
        learnt = by_house[houses[row["id"]]]
        friction = _taken(learnt.friction, learnt.friction_before)
        oil = dict(bodies.NOTHING_LEARNT)
        if row["id"] in learnt.oil:
            oil = _taken(learnt.oil[row["id"]], learnt.oil_before[row["id"]])
        taken: dict[str, Any] = {"learnt": {"friction": friction, "oil": oil}}
        taken["lane_factor"] = round(row["lane_factor"] * friction["factor"], 5)
        taken["friction_sd"] = round(lanes.priors.lane_friction * friction["left"], 5)
        conditions.append(row | taken)
    first = next(iter(by_house.values()))
    spread = _taken(first.repeatability, first.repeatability_before)
    return asked | {"conditions": conditions, "learnt": {"repeatability": spread}}


def _taken(level: learn.Level, before: learn.Level) -> dict[str, float]:
    left = min(1.0, level.log_sd / before.log_sd)
    return {"factor": round(level.factor, 4), "left": round(left, 3)}


def learnt_by(heard: Heard) -> list[dict[str, Any]]:
    """By house where this customer was seen, or meets what others were seen on: each level before
    and after, in numbers and in words."""
    lanes, bowler = heard.lanes, heard.bowler
    if lanes is None:
        return []
    by_house = {condition.house_id: condition.house for condition in heard.met}
    names = {condition.pk: condition.name for condition in heard.met}
    found = []
    for pk, house in sorted(by_house.items(), key=lambda item: item[1].name):
        own = sum(1 for e in lanes.evidence if e.bowler == bowler.pk and e.house == pk)
        others = sum(1 for e in lanes.evidence if e.bowler != bowler.pk and e.house == pk)
        if own or others:
            rows = _rows(lanes.learnt(bowler.pk, pk), names)
            found.append({"house": house, "own": own, "others": others, "rows": rows})
    return found


def _rows(learnt: learn.Learnt, names: Mapping[Any, str]) -> list[dict[str, Any]]:
    rows = [
        _row("Friction of the lanes", learnt.friction_before, learnt.friction, FRICTION_WORDS),
        *(
            _row(f"Oil of {names[pk]}", learnt.oil_before[pk], level, OIL_WORDS)
            for pk, level in learnt.oil.items()
            if pk in names
        ),
    ]
    if learnt.reports:
        before, after = learnt.repeatability_before, learnt.repeatability
        rows.append(_row("Spread from shot to shot", before, after, SPREAD_WORDS))
    return rows


FRICTION_WORDS = ("grip more than thought", "grip less than thought", "grip about as thought")
OIL_WORDS = ("more oil than thought", "less oil than thought", "about the oil that was thought")
SPREAD_WORDS = (
    "wider than expected of the average",
    "narrower than expected of the average",
    "about as expected of the average",
)


def _row(
    what: str, before: learn.Level, after: learn.Level, words: tuple[str, str, str]
) -> dict[str, Any]:
    more, less, same = words
    by = after.log_mean
    said = more if by > 0 else less
    if abs(by) <= max(NOTHING_MOVED, 0.5 * after.log_sd):
        # A shift that is small beside what isn't known says nothing worth a word.
        said = same
    elif after.low < 1.0 < after.high:
        said = f"perhaps {said}"
    return {
        "what": what,
        "before": before.numbers() | {"text": _percent(before)},
        "after": after.numbers() | {"text": _percent(after)},
        "words": said,
    }


def _percent(level: learn.Level) -> str:
    """A level against what was thought: ``+4 % (−3 to +11)``, with its 80 % interval."""
    middle, low, high = (
        f"{round(100 * (value - 1)):+d}".replace("-", "−").replace("+0", "0")
        for value in (level.factor, level.low, level.high)
    )
    return f"{middle} % ({low} to {high})"


def house_friction(house: House) -> dict[str, Any] | None:
    """The friction level of a house as all who bowl there have it; None where nobody was seen."""
    standing = Observation.objects.for_shop(house.shop).standing().with_records().newest_first()
    said = held(_heard_at([house.pk], standing))
    if not said:
        return None
    lanes = learn.Lanes(said.values())
    before, after, count = lanes.house(house.pk)
    bowlers = len({evidence.bowler for evidence in said.values()})
    row = _row("Friction of the lanes", before, after, FRICTION_WORDS)
    return {"rows": [row], "observations": count, "bowlers": bowlers}


def beside(heard: Heard, observations: Sequence[Observation]) -> dict[int, dict[str, Any]]:
    """By observation, what was seen beside what all the other observations had one expect of it:
    ``numbers`` and ``words``, a row each, and ``leaves``, None where none was told.

    Kept for every process under all that was said: each takes tens of milliseconds.
    """
    if heard.lanes is None:
        return {}
    asked = {observation.pk for observation in observations}
    own = {one.observation.pk: one for one in heard.own if one.observation.pk in asked}
    keys = {
        pk: key_of(["beside", *name_of(one.observation)[1:], heard.key]) for pk, one in own.items()
    }
    kept = store.fetch(list(keys.values()))
    computed: dict[str, bytes] = {}
    for pk, key in keys.items():
        if key not in kept and key not in computed:
            computed[key] = json.dumps(_beside(own[pk], heard.lanes)).encode()
    store.keep(computed)
    known = kept | computed
    return {pk: json.loads(known[key]) for pk, key in keys.items() if key in known}


def _beside(own: Own, lanes: learn.Lanes) -> dict[str, Any]:
    play, response, report = answer_to(own.question)
    observation = own.observation
    weights = learn.unseen(lanes, own.evidence, response, report)
    numbers = learn.beside(weights, response, report)
    return {
        "numbers": [_beside_row(name, value) for name, value in numbers.items()],
        "words": [_said_row(word) for word in likely.said(weights, response, report)],
        "leaves": _leaves_row(observation, report, likely.left(play, response, weights))
        if observation.leaves
        else None,
    }


def _said_row(said: likely.Said) -> dict[str, Any]:
    labels = dict([*Motion.choices, *Look.choices])
    return {
        "word": labels[said.word],
        "chance": round(said.chance, 3),
        "surprise": learn.surprise_of(said.as_far_out),
    }


def _leaves_row(observation: Observation, report: seen.Report, left: likely.Left) -> dict[str, Any]:
    """Leaves seen beside the likeliest ones, and how they are read, where they say anything."""
    hand = observation.bowler.hand
    out = left.as_far_out(report.leaves) if report.leaves else None
    return {
        "seen": observation.leaves,
        "read_as": _read_as(observation.leaves, hand),
        "likeliest": [
            {"leave": pins.leave_name(mask, hand), "share": round(share, 3)}
            for mask, share in left.likeliest(LIKELIEST)
        ],
        "as_far_out": None if out is None else round(out, 3),
        "surprise": "" if out is None else learn.surprise_of(out),
    }


def _read_as(told: Sequence[str], hand: str) -> str:
    """What leaves say of where the ball met the head pin: ``10 pocket; 4-9, 4 high``."""
    by_family: dict[int, list[str]] = {}
    for leave in dict.fromkeys(told):
        family = leaves.family_of(leave, hand)
        if family is not None:
            by_family.setdefault(family, []).append(leave)
    return "; ".join(
        f"{', '.join(by_family[family])} {leaves.FAMILIES[family]}" for family in sorted(by_family)
    )


def _beside_row(name: str, value: learn.Beside) -> dict[str, Any]:
    what, unit = SEEN_WORDS[name]
    return {
        "what": what,
        "unit": unit,
        "seen": value.seen,
        "expected": round(value.expected, 1),
        "low": round(value.low, 1),
        "high": round(value.high, 1),
        "as_far_out": round(value.as_far_out, 3),
        "surprise": value.surprise,
    }
