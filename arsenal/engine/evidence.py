"""What one observation counts as: records into a report, and the report into a table of evidence.

An observation's evidence, a table of how likely it is at every level, is kept with it under a key
of everything it was computed from; whoever looks at that customer again computes it anew if
anything changed.
"""

from __future__ import annotations

import base64
import hashlib
import json
import math
import zlib
from collections import OrderedDict
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from functools import lru_cache
from threading import Lock
from typing import TYPE_CHECKING, Any

import numpy as np

from arsenal.afterwards.models import Observation
from arsenal.engine import bodies, inputs
from bowlers.engine import fitting_in_use
from physics import MODEL_VERSION, care, expect, lane, learn, leaves, seen, worlds, worth
from physics.errors import InputError

if TYPE_CHECKING:
    from bowlers.models import Bowler

NOBODY: Mapping[int, Mapping[str, Any] | None] = {}
# About how many first balls a game are told of, when somebody says where a ball entered.
SHOTS_A_GAME, MOST_SHOTS = 6, 18
# A ball is looked for on a rough line: what it leads to is only where launches are tried about.
LINE_SAMPLES = 128
# Four megabytes each.
ANSWERS_HELD = 8
Name = tuple[int, int, int, int, int, str]
Question = Mapping[str, Any]
_held: OrderedDict[Name, learn.Evidence] = OrderedDict()
_holding = Lock()


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


def key_of(of: Any) -> str:
    """Under which what follows from this alone is kept: the same for the same."""
    return hashlib.sha256(_text(of).encode()).hexdigest()


def answer_to(question: Question) -> tuple[expect.Play, expect.Response, seen.Report]:
    """The model's reading of a question, kept while the process lives."""
    return _answered(_text(question))


@lru_cache(maxsize=ANSWERS_HELD)
def _answered(text: str) -> tuple[expect.Play, expect.Response, seen.Report]:
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


def _kept(question: Question) -> dict[str, Any]:
    """A question's evidence as it is stored: the table as half floats, compressed."""
    _, response, report = answer_to(question)
    table = seen.log_likelihood(response, report)
    packed = zlib.compress((table - table.max()).astype(np.float16).tobytes(), 9)
    return {
        "oil_sd": _oil_sd(question["oil"]),
        "doubts": asdict(response.doubts),
        "table": base64.b64encode(packed).decode(),
    }


def name_of(observation: Observation) -> Name:
    """All that an observation counts as: whose, where, with what, and the key of its numbers."""
    return (
        observation.pk,
        observation.bowler_id,
        observation.condition.house_id,
        observation.condition_id,
        observation.ball_id,
        observation.evidence_key,
    )


def held(names: Iterable[Name]) -> dict[Name, learn.Evidence]:
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


def up_to_date(
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


def _question(
    observation: Observation, deliveries: dict[int, Mapping[str, Any] | None]
) -> Question | None:
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


def _keep(observation: Observation, question: Question) -> None:
    observation.evidence = _kept(question)
    observation.evidence_model = MODEL_VERSION
    observation.evidence_key = key_of(question)
    # Not an edit: neither the version nor the history moves.
    Observation.objects.filter(pk=observation.pk).update(
        evidence=observation.evidence,
        evidence_model=observation.evidence_model,
        evidence_key=observation.evidence_key,
    )
