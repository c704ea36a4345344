"""Writes of the bag, and its balls as they are once drilled."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.cache import cache
from django.db import transaction
from django.utils import timezone

from arsenal import engine
from arsenal.bag.forms import BaseHoleFormSet, OwnedBallForm
from arsenal.bag.models import Hole, LayoutNotation, OwnedBall
from arsenal.bag.starting_grip import holes_of, rows_in_hand
from arsenal.catalogue.forms import LABEL_FIELDS
from arsenal.catalogue.models import BallSpec, StockBall
from arsenal.catalogue.services import set_state
from arsenal.refusals import refusal_words
from bowlers.engine import delivery_summary, fitting_in_use, spreads_in_use
from bowlers.engine_grip import measures_of_holes
from bowlers.grips.services import painful_grip
from bowlers.models import Bowler, Grip
from physics.errors import InputError
from physics.measure import Spread


@dataclass(frozen=True)
class Drilled:
    """A ball with its drilled numbers, or with the reason there are none."""

    ball: OwnedBall
    numbers: dict[str, Any] | None
    refusal: str

    @property
    def holes(self) -> list[tuple[Hole, float | None]]:
        """Each hole with the least clearance of the track to its edge, in inches."""
        holes = list(self.ball.holes.all())
        clear = [row["clearance_in"] for row in (self.numbers or {}).get("clearance_in", [])]
        return list(zip(holes, clear or [None] * len(holes), strict=True))

    @property
    def angles(self) -> dict[str, Any]:
        return self._notation(LayoutNotation.ANGLES)

    @property
    def buffer(self) -> dict[str, Any]:
        return self._notation(LayoutNotation.BUFFER)

    @property
    def read_off(self) -> dict[str, Any]:
        return self._notation(LayoutNotation.READ_OFF)

    def _notation(self, notation: LayoutNotation) -> dict[str, Any]:
        """The layout in one notation: as typed in the one it was typed in, else computed."""
        computed = (self.numbers or {}).get("layout", {})
        typed = self.ball.layout_numbers if notation == self.ball.layout_notation else {}
        return {**computed, **typed}


def as_drilled(
    balls: Iterable[OwnedBall], spreads: Mapping[str, Spread] | None = None
) -> list[Drilled]:
    """Each ball of one customer through the engine, which sees their fitting in use once.

    A record the engine refuses keeps its place and says why. ``spreads``: the summary of that
    fitting, where it was looked up before.
    """
    found: list[Drilled] = []
    chosen = None
    for ball in balls:
        if spreads is None:
            spreads = spreads_in_use(ball.bowler)
        chosen = chosen or engine.rules_of(ball.shop)
        try:
            found.append(Drilled(ball, engine.drilled_numbers(ball, spreads, chosen), ""))
        except InputError as error:
            found.append(Drilled(ball, None, refusal_words(error)))
    return found


FADING_KEPT_S = 24 * 3600


def fading(ball: OwnedBall) -> dict[str, Any]:
    """Why a ball no longer does what it did fresh; computed once for the same numbers.

    Raises InputError when the engine can't drill it.
    """
    question = engine.fading_question(ball)
    text = json.dumps(question, sort_keys=True, default=str)
    key = f"fading-{engine.MODEL_VERSION}-{hashlib.sha256(text.encode()).hexdigest()}"
    found: dict[str, Any] | None = cache.get(key)
    if found is None:
        found = engine.fading_of(question)
        cache.set(key, found, FADING_KEPT_S)
    return found


@dataclass(frozen=True)
class Start:
    """What a new ball's form starts from, and where each part of it comes from.

    ``painful``: the grip on record that hurts; no holes are offered then.
    """

    initial: dict[str, Any]
    holes: list[dict[str, object]]
    pap_from: str
    holes_from: str
    painful: Grip | None


def start_for(*, bowler: Bowler, spec: BallSpec, stock: StockBall | None = None) -> Start:
    """Label from shelf or weight, PAP from the fitting in use, holes of the grip in hand."""
    label = stock or spec
    initial: dict[str, Any] = {"spec": spec.pk, "finish": spec.model.factory_finish}
    if isinstance(label, StockBall):
        initial |= {name: getattr(label, name) for name in LABEL_FIELDS}
    else:
        initial |= {"label_weight_lb": spec.weight_lb, "label_weight_oz": 0}
    fitting = fitting_in_use(bowler)
    if fitting is not None:
        spreads = delivery_summary(fitting)
        paps = [n for n in ("pap_over_in", "pap_up_in") if n in spreads]
        initial |= {n: round(spreads[n].mean, 2) for n in paps}
    painful = painful_grip(bowler)
    holes, holes_from = rows_in_hand(bowler)
    return Start(
        initial=initial,
        holes=[] if painful else holes,
        pap_from=f"the fitting of {fitting.fitted_on:%-d %b %Y}" if fitting else "",
        holes_from=holes_from,
        painful=painful,
    )


def grip_of(ball: OwnedBall) -> dict[str, Any]:
    """What a ball's holes say of the grip they were drilled for, by the grip's field names.

    Raises InputError when a finger hole is missing.
    """
    return measures_of_holes(holes_of(ball))


@transaction.atomic
def save_owned_ball(
    *, form: OwnedBallForm, holes: BaseHoleFormSet, from_shelf: StockBall | None = None
) -> OwnedBall:
    """Keep a ball with its holes, sold off the shelf if it came from there, or nothing at all.

    Raises InputError when the engine can't drill it: nothing is stored then.
    """
    ball: OwnedBall = form.save()
    holes.instance = ball
    holes.save()
    engine.drilled_numbers(OwnedBall.objects.with_drilling().get(pk=ball.pk))
    if from_shelf is not None:
        set_state(ball=from_shelf, expected_version=from_shelf.version, state="sold")
    return ball


@transaction.atomic
def set_retired(
    *, ball: OwnedBall, expected_version: int, retired: bool, sold: bool = False
) -> OwnedBall:
    """Retire a ball, as sold where it is, or bring it back; raises StaleRecord when it changed
    meanwhile."""
    ball.retired = retired
    ball.sold_on = timezone.localdate() if retired and sold else None
    ball.save_checked(expected_version)
    return ball
