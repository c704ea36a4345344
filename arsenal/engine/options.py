"""Every change of the bag that is tried, and those that can't be, with the reason."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from arsenal.engine import bodies, prices, rulings
from arsenal.engine.paper import cannot, on_paper
from arsenal.engine.words import layout_words
from physics import body, bowler, care, rules, worth
from physics.errors import InputError

LayoutNumbers = Mapping[str, Any]

POLISHED = "polished"
# Layouts nearer than this in each of their numbers are one layout at the press (estimates).
SAME_ANGLE_DEG, SAME_IN = 7.5, 0.3
# Shares by which roughness or dry friction must differ for care to be worth trying (estimates).
SAME_ROUGHNESS, SAME_GRIP = 0.03, 0.005
# Of the inputs, what new balls are chosen by.
NEW_BY = (
    "customer", "delivery", "grip", "menu", "prices", "rules", "shelf", "catalogue", "not_made",
    "weight_lb",
)  # fmt: skip


@dataclass(frozen=True)
class Choice:
    """One ball as it would be: what it is called, costs and replaces, and its body and surface.

    ``replaces`` is the index in the bag of the ball it would change, None for a new one.
    ``layout`` is None where the ball stays as it is drilled, but for a ball of the bag as it is.
    ``work`` is the treatment of ``physics.care`` where the kind is care, else empty; ``played``
    what the cover has behind it once all is done.
    """

    kind: str
    ball: str
    key: str
    finish: str
    layout: LayoutNumbers | None
    cost: float
    replaces: int | None
    option: worth.Option
    ball_id: int | None = None
    work: str = ""
    played: care.Played = care.FRESH


@dataclass(frozen=True)
class Menu:
    """The bag as it is, its balls in each care, every change tried, and what was ruled out."""

    owned: list[Choice]
    cared: list[Choice]
    changes: list[Choice]
    excluded: list[dict[str, str]]


class _Builder:
    """Builds choices one ball at a time; remembers what was ruled out."""

    def __init__(self, inputs: Mapping[str, Any], who: bowler.Bowler) -> None:
        self.inputs = inputs
        self.who = who
        delivery = bodies.readings_of(inputs["delivery"], inputs["customer"]["average"])
        self.pap = (delivery["pap_over_in"]["mean"], delivery["pap_up_in"]["mean"])
        self.tilt = delivery["tilt_deg"]["mean"]
        self.layouts: list[LayoutNumbers] = inputs["menu"]["layouts"]
        self.finishes: list[str] = inputs["menu"]["finishes"]
        self.prices: Mapping[str, float] = prices.ALL | inputs["prices"]
        self.rules = rulings.rules_from(inputs.get("rules"))
        self.excluded: list[dict[str, str]] = []
        self.plan = json.dumps([self.layouts, inputs["grip"], self.pap, self.tilt])

    def owned(self, index: int, ball: Mapping[str, Any]) -> Choice | None:
        """A ball of the bag as it stands, or None where its record can't be computed."""
        try:
            drilled, placed, _ = bodies.ball_of(
                ball["label"],
                ball["layout"],
                ball["holes"],
                (ball["pap_over_in"], ball["pap_up_in"]),
                self.pap,
                ball.get("plugs", ()),
            )
        except InputError as error:
            self._rule_out(ball["name"], cannot(error))
            return None
        return self._choice(
            "none",
            ball["name"],
            f"owned {ball['id']}",
            drilled,
            ball["cover"],
            ball["finish"],
            played=bodies.played_of(ball),
            layout_numbers=placed.numbers(),
            replaces=index,
            ball_id=ball["id"],
        )

    def cares(self, owned: Choice, ball: Mapping[str, Any]) -> Iterator[Choice]:
        """The ball cleaned, with its oil drawn out, with its own finish restored, or both last.

        Only what would bring something back is tried: a ball just cared for has nothing to gain.
        """
        tried: list[worth.Option] = [owned.option]
        for work in care.TREATMENTS:
            cared = self._choice(
                "care",
                ball["name"],
                owned.key,
                owned.option.body,
                ball["cover"],
                ball["finish"],
                played=care.after(owned.played, work),
                cost=self.prices[work],
                replaces=owned.replaces,
                ball_id=ball["id"],
                work=work,
            )
            if not any(_feels_like(cared.option, other) for other in tried):
                tried.append(cared.option)
                yield cared

    def surfaces(self, owned: Choice, ball: Mapping[str, Any]) -> Iterator[Choice]:
        """The ball with each finish but its own; the oil in its cover stays there."""
        for finish in self._finishes(ball["cover"]):
            if finish == ball["finish"]:
                continue
            yield self._choice(
                "surface",
                ball["name"],
                owned.key,
                owned.option.body,
                ball["cover"],
                finish,
                played=care.after(owned.played, "restore"),
                cost=self.prices["surface"],
                replaces=owned.replaces,
                ball_id=ball["id"],
            )

    def redrills(self, owned: Choice, ball: Mapping[str, Any]) -> Iterator[Choice]:
        """The ball plugged and drilled again in each layout but its own, its finish put on anew."""
        for numbers, drilled in self._drilled(ball["name"], ball["label"], owned.layout):
            yield self._choice(
                "redrill",
                ball["name"],
                owned.key,
                drilled,
                ball["cover"],
                ball["finish"],
                layout_numbers=numbers,
                played=care.after(owned.played, "restore"),
                cost=self.prices["redrill"],
                replaces=owned.replaces,
                ball_id=ball["id"],
            )

    def new(self, kind: str, ball: Mapping[str, Any]) -> Iterator[Choice]:
        """An undrilled ball in each layout and finish; polyester is a spare ball."""
        name = ball["name"]
        what = "spare" if ball["cover"] == "polyester" else kind
        faults = rules.undrilled_faults(body.Label(**ball["label"]), self.rules)
        if faults:
            self._rule_out(name, "; ".join(faults))
            return
        for numbers, drilled in self._drilled(name, ball["label"]):
            for finish in self._finishes(ball["cover"]):
                extra = 0.0 if finish == ball["factory_finish"] else self.prices["surface"]
                yield self._choice(
                    what,
                    name,
                    f"{kind} {ball['id']}",
                    drilled,
                    ball["cover"],
                    finish,
                    layout_numbers=numbers,
                    cost=ball["price"] + self.prices["drill"] + extra,
                )

    def _drilled(
        self, name: str, label: Mapping[str, float], now: LayoutNumbers | None = None
    ) -> Iterator[tuple[LayoutNumbers, body.Body]]:
        """The ball in each layout it can be drilled in but the one it has ``now``."""
        found = on_paper(json.dumps(label), self.plan, self.who, self.rules)
        for numbers, drilled in zip(self.layouts, found, strict=True):
            if _is_nearly(now, numbers):
                continue
            if isinstance(drilled, str):
                self._rule_out(f"{name}, {layout_words(numbers)}", drilled)
            else:
                yield numbers, drilled

    def _choice(
        self,
        kind: str,
        name: str,
        key: str,
        drilled: body.Body,
        cover: str,
        finish: str,
        *,
        played: care.Played = care.FRESH,
        layout_numbers: LayoutNumbers | None = None,
        cost: float = 0.0,
        replaces: int | None = None,
        ball_id: int | None = None,
        work: str = "",
    ) -> Choice:
        closure, worn = bodies.surface_of(cover, finish, played)
        return Choice(
            kind=kind,
            ball=name,
            key=key,
            finish=finish,
            layout=layout_numbers,
            cost=cost,
            replaces=replaces,
            option=worth.Option(drilled, closure, cover, finish, key, worn),
            ball_id=ball_id,
            work=work,
            played=played,
        )

    def _finishes(self, cover: str) -> list[str]:
        """Finishes tried on a cover: polyester stays polished (common practice, no source)."""
        return [POLISHED] if cover == "polyester" else self.finishes

    def _rule_out(self, what: str, why: str) -> None:
        self.excluded.append({"what": what, "why": why})


def bag_as_it_is(inputs: Mapping[str, Any], who: bowler.Bowler) -> list[Choice]:
    """The balls of the bag whose record can be computed, nothing changed."""
    builder = _Builder(inputs, who)
    found: list[Choice] = []
    for ball in inputs["bag"]:
        as_is = builder.owned(len(found), ball)
        if as_is is not None:
            found.append(as_is)
    return found


def menu_of(inputs: Mapping[str, Any], who: bowler.Bowler) -> Menu:
    """The whole menu for a customer."""
    builder = _Builder(inputs, who)
    owned: list[Choice] = []
    cared: list[Choice] = []
    changes: list[Choice] = []
    for ball in inputs["bag"]:
        as_is = builder.owned(len(owned), ball)
        if as_is is None:
            continue
        owned.append(as_is)
        in_care = list(builder.cares(as_is, ball))
        cared += in_care
        changes += in_care
        changes += builder.surfaces(as_is, ball)
        changes += builder.redrills(as_is, ball)
    said = json.dumps({name: inputs[name] for name in NEW_BY if name in inputs})
    new, excluded = _new_balls(said, who)
    return Menu(owned, cared, [*changes, *new], builder.excluded + [dict(why) for why in excluded])


# Some megabytes each, kept by a process: what changes from one question of a customer to the next
# is most often the bag.
@lru_cache(maxsize=4)
def _new_balls(
    inputs: str, who: bowler.Bowler
) -> tuple[tuple[Choice, ...], tuple[dict[str, str], ...]]:
    """New balls to choose from, and what was ruled out. ``inputs``: those of ``NEW_BY`` as JSON."""
    asked = json.loads(inputs)
    builder = _Builder(asked, who)
    found: list[Choice] = []
    for ball in asked["shelf"]:
        found += builder.new("stock", ball)
    on_shelf = {ball["name"] for ball in asked["shelf"]}
    for ball in asked["catalogue"]:
        # The same model in the same weight stands on the shelf: nobody waits for another.
        if ball["name"] not in on_shelf:
            found += builder.new("order", ball)
    for name in asked["not_made"]:
        builder._rule_out(name, f"not made in {asked['weight_lb']} lb")
    return tuple(found), tuple(builder.excluded)


def _feels_like(one: worth.Option, other: worth.Option) -> bool:
    """Whether two surfaces of one ball are nearer than anything care could be felt by."""
    rough = one.closure.scale_um / other.closure.scale_um
    grip = one.closure.mu_dry / other.closure.mu_dry
    return abs(rough - 1) < SAME_ROUGHNESS and abs(grip - 1) < SAME_GRIP


def _is_nearly(one: LayoutNumbers | None, other: LayoutNumbers) -> bool:
    """Whether two layouts, each with its three numbers, are one at the press."""
    if one is None:
        return False
    return bool(
        abs(one["pin_to_pap_in"] - other["pin_to_pap_in"]) < SAME_IN
        and abs(one["drilling_angle_deg"] - other["drilling_angle_deg"]) < SAME_ANGLE_DEG
        and abs(one["val_angle_deg"] - other["val_angle_deg"]) < SAME_ANGLE_DEG
    )
