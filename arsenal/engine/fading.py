"""Why a ball no longer does what it did fresh: one throw, one line, and each cause's share.

On the condition the customer meets most, the mean delivery is thrown along the best line the fresh
ball had: fresh, as it is now, and with every mixture of the causes, whose shares are averaged over
the order in which they come (Shapley's value), so that they add up to the whole.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from arsenal.engine import bodies, inputs, prices, ranking
from arsenal.engine.words import care_words, finish_words
from bowlers.engine import spreads_in_use
from physics import care, shape, worth
from physics.units import UM_TO_MICROINCH, board_to_y_m

if TYPE_CHECKING:
    from arsenal.bag.models import OwnedBall
    from physics.measure import Spread

Array = NDArray[np.float64]

# Differences smaller than these are not worth a word (boards at the pins, feet of hook).
BOARDS, HOOK_FT = 0.3, 0.8
# And of what the figures shown can tell (boards of one cause, microinches).
A_CAUSE, ROUGHNESS_MICROINCH = 0.05, 0.05
SEED = 1
# What play does, by the count of games it goes with.
CAUSES = {"finish": "the worn finish", "oil": "oil taken up", "clean": "what lies on the cover"}


def fading_question(ball: OwnedBall, spreads: Mapping[str, Spread] | None = None) -> dict[str, Any]:
    """Everything the answer depends on, as plain numbers; without fitting or lanes where none is
    known, and then it says what is missing. ``spreads``: the summary of the customer's fitting in
    use, where it was looked up before."""
    bowler = ball.bowler
    met = bowler.conditions.with_house().order_by("-times_a_season", "pk").first()
    spreads = spreads_in_use(bowler) if spreads is None else spreads
    return {
        "ball": inputs.owned_ball(ball),
        "customer": {"hand": bowler.hand, "average": bowler.average},
        "delivery": {
            name: {"mean": s.mean, "sd": s.sd, "count": s.count} for name, s in spreads.items()
        },
        "conditions": []
        if met is None
        else [inputs.condition(met.condition) | {"times_a_season": met.times_a_season}],
        "currency": bowler.shop.currency,
        "prices": prices.prices_of(bowler.shop),
    }


def fading_of(question: Mapping[str, Any]) -> dict[str, Any]:
    """What play has taken from the ball and care would bring back, as numbers and a paragraph.

    Raises InputError where the ball's record can't be drilled.
    """
    ball = question["ball"]
    played = bodies.played_of(ball)
    found: dict[str, Any] = {
        "surface": [
            {
                "name": "Roughness",
                "unit": "µin",
                "places": 1,
                "fresh": UM_TO_MICROINCH * care.roughness_um(ball["finish"], 0.0),
                "now": UM_TO_MICROINCH * care.roughness_um(ball["finish"], played.finish),
            },
            {
                "name": "Friction on the dry",
                "unit": "",
                "places": 3,
                "fresh": care.dry_friction(ball["cover"], care.FRESH),
                "now": care.dry_friction(ball["cover"], played),
            },
        ],
        "missing": _missing(question),
        "condition": "",
        "thrown": [],
        "causes": [],
        "care": [],
    }
    if played == care.FRESH:
        return found | {"said": "It is fresh: play has taken nothing from its cover or finish yet."}
    if not found["missing"]:
        found |= _thrown(question, played)
    return found | {"said": _said(ball, played, found)}


def _missing(question: Mapping[str, Any]) -> list[dict[str, str]]:
    """What has to be known before the ball can be thrown, and where to add it."""
    wanted = []
    if not question["delivery"]:
        wanted.append({"what": "a finished fitting", "url_name": "fitting-add"})
    if not question["conditions"]:
        wanted.append({"what": "the conditions bowled on", "url_name": "customer-conditions"})
    return wanted


def _thrown(question: Mapping[str, Any], played: care.Played) -> dict[str, Any]:
    """The throw fresh and now, the share of each cause, and what each care brings back."""
    throw = _Throw(question)
    condition = question["conditions"][0]["name"]
    if not throw.playable:
        return {"condition": condition}
    fresh, now = throw.row(care.FRESH), throw.row(played)
    shares = _shares(throw, played)
    return {
        "condition": condition,
        "thrown": [
            _pair("Board at the pins", "", 1, fresh[shape.ENTRY_BOARD], now[shape.ENTRY_BOARD]),
            _pair("Entry angle", "°", 1, fresh[shape.ENTRY_ANGLE_DEG], now[shape.ENTRY_ANGLE_DEG]),
            _pair("Hook length", "ft", 1, _hook(fresh), _hook(now)),
            _pair(
                "Strikes, own best line", "\u00a0%", 0, *(100 * throw.chances(care.FRESH, played))
            ),
        ],
        "causes": [
            {"cause": cause, "words": CAUSES[cause], "boards": float(share)}
            for cause, share in shares.items()
            if getattr(played, cause)
        ],
        "care": [
            _brought_back(question, throw, played, work)
            for work in care.TREATMENTS
            if care.after(played, work) != played
        ],
    }


class _Throw:
    """The mean delivery on the best line of the fresh ball, on the condition met most."""

    def __init__(self, question: Mapping[str, Any]) -> None:
        ball, delivery = question["ball"], question["delivery"]
        self.setting = ranking.setting_of(question)
        self.cover, self.finish = ball["cover"], ball["finish"]
        self.body, _, _ = bodies.ball_of(
            ball["label"],
            ball["layout"],
            ball["holes"],
            (ball["pap_over_in"], ball["pap_up_in"]),
            (delivery["pap_over_in"]["mean"], delivery["pap_up_in"]["mean"]),
            ball.get("plugs", ()),
        )
        line = self._lines(care.FRESH)
        self.board, self.launch_deg = float(line.board[0, 0]), float(line.launch_deg[0, 0])

    @property
    def playable(self) -> bool:
        return math.isfinite(self.board)

    def option(self, played: care.Played) -> worth.Option:
        return worth.Option(self.body, bodies.closure_of(self.cover, self.finish, played))

    def row(self, played: care.Played) -> Array:
        """The reference solver's row of the mean delivery."""
        delivery = (board_to_y_m(self.board), self.launch_deg, *self.setting.who.means())
        rows = worth.reference_rows(
            self.option(played),
            self.setting.tasks[0],
            self.setting.factors[0],
            np.array([delivery]),
        )
        return np.asarray(rows[0])

    def chances(self, *played: care.Played) -> Array:
        """Strike chance (estimate) on the best line of each."""
        return self._lines(*played).value[:, 0]

    def _lines(self, *played: care.Played) -> worth.Lines:
        return worth.seek(
            self.setting.who,
            [self.option(p) for p in played],
            self.setting.tasks,
            lane_factors=self.setting.factors,
            seed=SEED,
        )


def _shares(throw: _Throw, played: care.Played) -> dict[str, float]:
    """Boards at the pins that each cause moves the ball by; they sum to the whole."""
    boards: dict[frozenset[str], float] = {}
    for count in range(len(CAUSES) + 1):
        for chosen in itertools.combinations(CAUSES, count):
            mixed = replace(care.FRESH, **{cause: getattr(played, cause) for cause in chosen})
            boards[frozenset(chosen)] = float(throw.row(mixed)[shape.ENTRY_BOARD])
    orders = list(itertools.permutations(CAUSES))
    shares = dict.fromkeys(CAUSES, 0.0)
    for order in orders:
        for place, cause in enumerate(order):
            before = frozenset(order[:place])
            shares[cause] += (boards[before | {cause}] - boards[before]) / len(orders)
    return shares


def _brought_back(
    question: Mapping[str, Any], throw: _Throw, played: care.Played, work: str
) -> dict[str, Any]:
    """Boards and feet that one care moves the ball by, from what it does now."""
    now, cared = throw.row(played), throw.row(care.after(played, work))
    return {
        "work": work,
        "words": care_words(work, question["ball"]["finish"]),
        "boards": float(cared[shape.ENTRY_BOARD] - now[shape.ENTRY_BOARD]),
        "hook_ft": _number(_hook(cared) - _hook(now)),
        "cost": question["prices"][work],
        "currency": question["currency"],
    }


def _hook(row: Array) -> float:
    return float(shape.hook_length_ft(row))


def _pair(name: str, unit: str, places: int, fresh: float, now: float) -> dict[str, Any]:
    return {
        "name": name,
        "unit": unit,
        "places": places,
        "fresh": _number(fresh),
        "now": _number(now),
    }


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _said(ball: Mapping[str, Any], played: care.Played, found: Mapping[str, Any]) -> str:
    """The answer in a short paragraph, every number from the rows beside it."""
    rough, grip = found["surface"]
    finish = finish_words(ball["finish"])
    surface = (
        f"Its {finish} has gone from {rough['fresh']:.1f} to {rough['now']:.1f} microinches of "
        "roughness"
        if abs(rough["now"] - rough["fresh"]) >= ROUGHNESS_MICROINCH
        else f"Its {finish} is as rough as it was, {rough['now']:.1f} microinches"
    )
    surface += f", its friction on the dry from {grip['fresh']:.3f} to {grip['now']:.3f}."
    if found["missing"]:
        wanted = " and ".join(item["what"] for item in found["missing"])
        return f"{surface} How many boards that is needs {wanted}."
    if not found["thrown"]:
        return f"{surface} On {found['condition']} no line brings it to the pocket, fresh or not."
    return " ".join([_change(found), surface, _by_cause(found), _by_care(found)]).strip()


def _change(found: Mapping[str, Any]) -> str:
    """First sentence: boards and feet on one line."""
    boards, _, hook, _ = found["thrown"]
    moved = boards["now"] - boards["fresh"]
    where = f"On {found['condition']}, thrown as in the fitting and along one line,"
    if hook["fresh"] is None or hook["now"] is None:
        turn, turned = "", 0.0
    else:
        turned = hook["now"] - hook["fresh"]
        turn = f", and its turn takes {hook['now']:.1f} ft for {hook['fresh']:.1f}"
    if abs(moved) < BOARDS and abs(turned) < HOOK_FT:
        return (
            f"By these numbers it hasn't changed much: {where[0].lower()}{where[1:]} it meets the "
            f"pins within {max(abs(moved), 0.1):.1f} boards of where it did fresh. Look at the "
            "lanes and the release too."
        )
    if abs(moved) < BOARDS:
        return f"{where} it meets the pins where it did fresh{turn}."
    if moved < 0:
        return f"{where} it hooks {-moved:.1f} boards less than it did fresh{turn}."
    return (
        f"It hooks more, not less: {where[0].lower()}{where[1:]} {moved:.1f} boards more, and "
        f"sooner, than it did fresh{turn}."
    )


def _by_cause(found: Mapping[str, Any]) -> str:
    parts = [
        f"{cause['words']} {'takes' if cause['boards'] < 0 else 'adds'} "
        f"{abs(cause['boards']):.1f} boards"
        for cause in found["causes"]
        if abs(cause["boards"]) >= A_CAUSE
    ]
    joined = ", ".join(parts)
    return f"{joined[0].upper()}{joined[1:]}." if joined else ""


def _by_care(found: Mapping[str, Any]) -> str:
    """The care that moves it furthest back, and what the cheapest that does most of that costs."""
    boards, *_ = found["thrown"]
    lost = boards["fresh"] - boards["now"]
    if abs(lost) < BOARDS:
        return ""
    done = [care_ for care_ in found["care"] if care_["boards"] * lost > 0]
    enough = [care_ for care_ in done if abs(lost - care_["boards"]) < BOARDS]
    if enough:
        best = min(enough, key=lambda care_: float(care_["cost"]))
        return f"To get that back: {_lowered(best['words'])}."
    if not done:
        return ""
    best = min(done, key=lambda care_: abs(lost - care_["boards"]))
    return f"To get {abs(best['boards']):.1f} of that back: {_lowered(best['words'])}."


def _lowered(words: str) -> str:
    return words[0].lower() + words[1:]
