"""What observations teach: records into reports, levels into a ranking's inputs and into words.

An observation's evidence, a table of how likely it is at every level, is kept with it under a key
of everything it was computed from; whoever looks at that customer again computes it anew if
anything changed. Levels are worked out from the evidence that stands whenever they are asked for,
so an observation set aside leaves no trace.
"""

from __future__ import annotations

import base64
import hashlib
import json
import math
import zlib
from collections import OrderedDict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from threading import Lock
from typing import TYPE_CHECKING, Any

import numpy as np
from django.db.models import Q

from arsenal.afterwards.models import Look, Motion, Observation
from arsenal.afterwards.querysets import ObservationQuerySet
from arsenal.engine import bodies, inputs
from arsenal.kept import store
from arsenal.lanes.models import Condition
from bowlers.engine import fitting_in_use
from physics import (
    MODEL_VERSION,
    care,
    expect,
    lane,
    learn,
    leaves,
    likely,
    pins,
    seen,
    worlds,
    worth,
)
from physics.errors import InputError

if TYPE_CHECKING:
    from arsenal.lanes.models import House
    from bowlers.models import Bowler

NOBODY: Mapping[int, Mapping[str, Any] | None] = {}
# The newest so many observations of a house count.
MOST_AT_A_HOUSE = 200
# About how many first balls a game are told of, when somebody says where a ball entered.
SHOTS_A_GAME, MOST_SHOTS = 6, 18
# A ball is looked for on a rough line: what it leads to is only where launches are tried about.
LINE_SAMPLES = 128
NOTHING_MOVED = 0.01
# Four megabytes each.
ANSWERS_HELD = 8
Name = tuple[int, int, int, int, int, str]
Question = Mapping[str, Any]
_held: OrderedDict[Name, learn.Evidence] = OrderedDict()
_holding = Lock()
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


def question_of(
    observation: Observation, delivery: Mapping[str, Any], hand: str, average: int | None
) -> dict[str, Any]:
    """Everything one observation's evidence is computed from, as plain numbers."""
    ball = inputs.owned_ball(observation.ball) | {
        "finish": observation.finish,
        "games": observation.games_since_finish,
        "games_since_oil_drawn": observation.games_since_oil_drawn,
        "games_since_cleaned": observation.games_since_cleaned,
    }
    for name in ("id", "name", "model", "benchmark", "spares"):
        ball.pop(name, None)
    told = ("laydown_board", "target_board", "entry_board", "break_board", "break_ft", "motion")
    condition = inputs.condition(observation.condition, observation.games_on_oil)
    return {
        "model_version": MODEL_VERSION,
        "hand": hand,
        "average": average,
        "delivery": dict(delivery),
        "ball": ball,
        "oil": condition["oil"],
        "lane_factor": condition["lane_factor"],
        "report": {name: getattr(observation, name) for name in told}
        | {
            "games": observation.games,
            "shape": observation.look,
            "leaves": list(observation.leaves),
        },
    }


def _text(question: Any) -> str:
    return json.dumps(question, sort_keys=True, separators=(",", ":"), allow_nan=False)


def key_of(question: Mapping[str, Any]) -> str:
    return _key(question)


def _key(of: Any) -> str:
    return hashlib.sha256(_text(of).encode()).hexdigest()


@lru_cache(maxsize=ANSWERS_HELD)
def _answered(text: str) -> tuple[expect.Play, expect.Response, seen.Report]:
    """The model's reading of a question, kept while the process lives."""
    asked = json.loads(text)
    play, report = _play_of(asked), _report_of(asked)
    return play, learn.response_to(play, report), report


def _report_of(asked: Mapping[str, Any]) -> seen.Report:
    told = dict(asked["report"])
    families = [leaves.family_of(leave, asked["hand"]) for leave in told.pop("leaves")]
    shots = min(MOST_SHOTS, SHOTS_A_GAME * told.pop("games"))
    return seen.Report(shots=shots, leaves=tuple(f for f in families if f is not None), **told)


def _play_of(asked: Mapping[str, Any]) -> expect.Play:
    ball, average = asked["ball"], asked["average"]
    read = bodies.readings_of(asked["delivery"], average)
    drilled, _, _ = bodies.ball_of(
        ball["label"],
        ball["layout"],
        ball["holes"],
        (ball["pap_over_in"], ball["pap_up_in"]),
        (read["pap_over_in"]["mean"], read["pap_up_in"]["mean"]),
        ball.get("plugs", ()),
    )
    played = care.Played(ball["games"], ball["games_since_oil_drawn"], ball["games_since_cleaned"])
    option = worth.Option(
        drilled,
        bodies.closure_of(ball["cover"], ball["finish"], played),
        worn=bodies.surface_of(ball["cover"], ball["finish"], played)[1],
    )
    who = bodies.bowler_of(asked["delivery"], average)
    film = bodies.oil_of(asked["oil"]).own_side_film_um(asked["hand"])
    return expect.Play(who, option, film, asked["lane_factor"], _line(who, option, film, asked))


def _line(
    who: Any, option: worth.Option, film: Any, asked: Mapping[str, Any]
) -> tuple[float, float]:
    """The line the model would play; one in the middle of the lane where none meets the pocket."""
    if asked["report"]["laydown_board"] is not None:
        return 20.0, 2.0
    found = worth.seek(
        who,
        [option],
        [worth.Task(film, 1.0)],
        lane_factors=[asked["lane_factor"]],
        samples=LINE_SAMPLES,
        starts=3,
        rounds=0,
    )
    board, launch = float(found.board[0, 0]), float(found.launch_deg[0, 0])
    return (board, launch) if math.isfinite(board) else (22.0, 2.5)


def _oil_sd(oil: Mapping[str, Any]) -> float:
    """How well the amount of a condition's oil is known: picked, or measured as a table."""
    return worlds.Priors().oil_amount if "units" in oil else lane.PICKED_SPREAD.volume


def _kept(question: Mapping[str, Any]) -> dict[str, Any]:
    """A question's evidence as it is stored: the table as half floats, compressed."""
    _, response, report = _answered(_text(question))
    table = seen.log_likelihood(response, report)
    packed = zlib.compress((table - table.max()).astype(np.float16).tobytes(), 9)
    return {
        "oil_sd": _oil_sd(question["oil"]),
        "doubts": asdict(response.doubts),
        "table": base64.b64encode(packed).decode(),
    }


def _name(observation: Observation) -> Name:
    """All that an observation counts as: whose, where, with what, and the key of its numbers."""
    return (
        observation.pk,
        observation.bowler_id,
        observation.condition.house_id,
        observation.condition_id,
        observation.ball_id,
        observation.evidence_key,
    )


def _evidence(names: Iterable[Name]) -> dict[Name, learn.Evidence]:
    """What each counts as, in their order. One query, for those that aren't at hand.

    A table is ten kilobytes in the database, and hundreds may speak of a house: keys say which
    were read before. One object for one observation's evidence, so that what follows from it is
    worked out once; two for two that say the same.
    """
    asked = {name[0]: name for name in names}
    with _holding:
        found = {name: _held[name] for name in asked.values() if name in _held}
        for name in found:
            _held.move_to_end(name)
    if lacking := [pk for pk, name in asked.items() if name not in found]:
        rows = Observation.objects.filter(pk__in=lacking).exclude(evidence=None)
        for pk, key, kept in rows.values_list("pk", "evidence_key", "evidence"):
            # It may have been read anew since.
            asked[pk] = (*asked[pk][:-1], key)
            found[asked[pk]] = _hold(asked[pk], kept)
    return {name: found[name] for name in asked.values() if name in found}


def _hold(name: Name, kept: Mapping[str, Any]) -> learn.Evidence:
    """The evidence of this name from now on, or what another thread has made of it meanwhile."""
    _, bowler, house, condition, ball, _ = name
    table = np.frombuffer(zlib.decompress(base64.b64decode(kept["table"])), np.float16)
    evidence = learn.Evidence(
        bowler=bowler,
        house=house,
        condition=condition,
        ball=ball,
        oil_sd=kept["oil_sd"],
        doubts=expect.Doubts(**kept["doubts"]),
        table=table.astype(float).reshape(len(expect.GRIP), len(expect.FILM), len(expect.SCATTER)),
    )
    with _holding:
        held = _held.setdefault(name, evidence)
        while len(_held) > learn.REMEMBERED:
            _held.popitem(last=False)
    return held


def evidence_of(observation: Observation) -> None:
    """Compute and keep an observation's evidence, if its customer has a fitting in use.

    Raises InputError for records nothing can be made of.
    """
    question = _question(observation, {})
    if question is not None:
        _keep(observation, question)


def _up_to_date(
    observations: Iterable[Observation],
    *,
    wholly: bool,
    known: Mapping[int, Mapping[str, Any] | None] = NOBODY,
) -> list[tuple[Observation, Question | None]]:
    """Those with evidence of this model, computed where there is none; ``wholly``: also where
    anything it was computed from has changed, and each with that. What can't be computed is left
    out. ``known``: deliveries by bowler, as far as they were looked up before."""
    ready: list[tuple[Observation, Question | None]] = []
    deliveries = dict(known)
    for observation in observations:
        current = observation.evidence_model == MODEL_VERSION
        question: Question | None = None
        if wholly or not current:
            question = _question(observation, deliveries)
            if question is None:
                continue
            if not current or observation.evidence_key != key_of(question):
                try:
                    _keep(observation, question)
                except InputError:
                    continue
        ready.append((observation, question))
    return ready


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
    computed = {row.pk: _name(row) for row, _ in _up_to_date(whole, wholly=False)}
    return [
        computed.get(pk, name) for pk, name in names.items() if pk in computed or pk not in stale
    ]


def _question(
    observation: Observation, deliveries: dict[int, Mapping[str, Any] | None]
) -> dict[str, Any] | None:
    """None where the customer has no fitting in use. ``deliveries`` are looked up once a bowler."""
    bowler = observation.bowler
    if bowler.pk not in deliveries:
        fitting = fitting_in_use(bowler)
        deliveries[bowler.pk] = None if fitting is None else inputs.delivery_numbers(fitting)
    delivery = deliveries[bowler.pk]
    if delivery is None:
        return None
    return question_of(observation, delivery, bowler.hand, bowler.average)


def why_uncounted(bowler: Bowler) -> str:
    """What is needed before anything this customer saw can count; "" where nothing is."""
    if fitting_in_use(bowler) is not None:
        return ""
    return "A finished fitting with at least one complete delivery is needed: how it was thrown."


def _keep(observation: Observation, question: Mapping[str, Any]) -> None:
    observation.evidence = _kept(question)
    observation.evidence_model = MODEL_VERSION
    observation.evidence_key = key_of(question)
    # Not an edit: neither the version nor the history moves.
    Observation.objects.filter(pk=observation.pk).update(
        evidence=observation.evidence,
        evidence_model=observation.evidence_model,
        evidence_key=observation.evidence_key,
    )


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
    own = _up_to_date(theirs, wholly=True, known=known)
    others = _heard_at(houses, standing.exclude(bowler=bowler))
    said = _evidence([*(_name(row) for row, _ in own), *others])
    there = {name[0]: evidence for name, evidence in said.items()}
    return Heard(
        bowler=bowler,
        lanes=learn.Lanes(said.values()) if said else None,
        own=[
            Own(row, question, there[row.pk])
            for row, question in own
            if question is not None and row.pk in there
        ],
        key=_key([name[1:] for name in said]),
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
    said = _evidence(_heard_at([house.pk], standing))
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
    keys = {pk: _key(["beside", *_name(one.observation)[1:], heard.key]) for pk, one in own.items()}
    kept = store.fetch(list(keys.values()))
    computed: dict[str, bytes] = {}
    for pk, key in keys.items():
        if key not in kept and key not in computed:
            computed[key] = json.dumps(_beside(own[pk], heard.lanes)).encode()
    store.keep(computed)
    known = kept | computed
    return {pk: json.loads(known[key]) for pk, key in keys.items() if key in known}


def _beside(own: Own, lanes: learn.Lanes) -> dict[str, Any]:
    play, response, report = _answered(_text(own.question))
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
