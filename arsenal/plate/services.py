"""A ball laid out as it is and as it could be, side by side."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.cache import cache

from arsenal import engine
from arsenal.bag.models import OwnedBall
from arsenal.engine import plate_words, plates
from arsenal.plate.drawing import Picture, pictures
from physics.errors import InputError
from physics.measure import Spread

KEPT_S = 24 * 3600
NOTHING_BEFORE = (
    "The ball’s own record can’t be drilled as it stands: there is nothing to compare this with."
)


@dataclass(frozen=True)
class Row:
    """One number as it is and as it would be. ``change`` is None where either is unknown."""

    name: str
    unit: str
    places: int
    was: float | None
    now: float | None

    @property
    def change(self) -> float | None:
        if self.was is None or self.now is None:
            return None
        return round(self.now - self.was, self.places) + 0.0


@dataclass(frozen=True)
class Shown:
    """A ball's maps and the numbers that say the same, flare shown as on ``condition``."""

    figures: Mapping[str, Any]
    pictures: list[Picture]
    condition: str


@dataclass(frozen=True)
class Plate(Shown):
    """What a plate's page shows."""

    rows: list[Row]
    where: str
    said: list[str]
    changed: bool
    throw: Mapping[str, Any] | None


def question_of(ball: OwnedBall, spreads: Mapping[str, Spread] | None = None) -> dict[str, Any]:
    """The ball, its bowler and the lanes they meet most, as plain numbers."""
    return engine.fading_question(ball, spreads)


def plate_of(
    question: Mapping[str, Any],
    numbers: Mapping[str, Any],
    pap_in: tuple[float, float],
    holes: Sequence[Mapping[str, float]],
) -> Plate:
    """A question's ball laid out by these numbers and drilled so, beside what it is; raises
    InputError."""
    so = plates.cut_otherwise(question, holes)
    now = plates.laid(so, numbers, pap_in)
    figures = plates.figures(now)
    before = _before(question)
    throw = before["throw"]
    path = None if throw is None else plates.throw_after(so, throw, numbers, pap_in)
    was = before["figures"]
    said = plate_words.change_words(was, figures, throw, path) if was else [NOTHING_BEFORE]
    return Plate(
        figures=figures,
        pictures=pictures(plates.maps_of(now), question["customer"]["hand"]),
        condition=_condition(question),
        rows=_rows(was, figures, throw, path),
        where=plate_words.where_words(figures),
        said=said,
        changed=bool(said),
        throw=throw,
    )


def as_it_is(ball: OwnedBall, spreads: Mapping[str, Spread] | None = None) -> Shown | None:
    """The maps of a ball as it is; None where its record can't be drilled. ``spreads``: the summary
    of the customer's fitting in use, where it was looked up before."""
    question = question_of(ball, spreads)
    try:
        now = plates.laid(question, ball.layout_numbers, (ball.pap_over_in, ball.pap_up_in))
    except InputError:
        return None
    drawn = pictures(plates.maps_of(now), question["customer"]["hand"])
    return Shown(plates.figures(now), drawn, _condition(question))


def _condition(question: Mapping[str, Any]) -> str:
    met = question["conditions"]
    return str(met[0]["name"]) if met else ""


def _before(question: Mapping[str, Any]) -> dict[str, Any]:
    """The ball as it is; figures are None where its own record can't be drilled."""
    text = json.dumps(question, sort_keys=True, default=str)
    key = f"plate-{engine.MODEL_VERSION}-{hashlib.sha256(text.encode()).hexdigest()}"
    found: dict[str, Any] | None = cache.get(key)
    if found is None:
        ball = question["ball"]
        pap_in = (ball["pap_over_in"], ball["pap_up_in"])
        try:
            found = {
                "figures": plates.figures(plates.laid(question, ball["layout"], pap_in)),
                "throw": plates.throw_before(question),
            }
        except InputError:
            found = {"figures": None, "throw": None}
        cache.set(key, found, KEPT_S)
    return found


def _rows(
    was: Mapping[str, Any] | None,
    now: Mapping[str, Any],
    throw: Mapping[str, Any] | None,
    path: Mapping[str, Any] | None,
) -> list[Row]:
    def of(name: str, unit: str, places: int, *at: str | int) -> Row:
        return Row(name, unit, places, _at(was, at), _at(now, at))

    rows = [
        of("Pin over", "in", 2, "layout", "pin_over_in"),
        of("Pin up", "in", 2, "layout", "pin_up_in"),
        of("Pin above fingers", "in", 2, "pin_above_fingers_in"),
        of("Low RG", "in", 3, "principal_rg_in", 0),
        of("Differential", "in", 3, "differential_in"),
        of("Intermediate", "in", 3, "intermediate_differential_in"),
        of("Static, top", "oz", 2, "static_oz", "top"),
        of("Static, PAP side", "oz", 2, "static_oz", "side"),
        of("Static, fingers", "oz", 2, "static_oz", "finger"),
    ]
    if now["flare_in"] is not None:
        rows += [
            of("Flare in all", "in", 1, "flare_in"),
            of("Flare that shows", "in", 1, "seen_flare_in"),
        ]
        rows += [
            of(f"Track to {hole['name']} hole", "in", 2, "holes", k, "clearance_in")
            for k, hole in enumerate(now["holes"])
        ]
    if throw is not None and path is not None:
        then = throw["path"]
        rows += [
            Row("Board at the pins", "", 1, then["board"], path["board"]),
            Row("Entry angle", "°", 1, then["angle_deg"], path["angle_deg"]),
            Row("Hook length", "ft", 1, then["hook_ft"], path["hook_ft"]),
        ]
    return rows


def _at(figures: Mapping[str, Any] | None, path: tuple[str | int, ...]) -> float | None:
    if figures is None:
        return None
    value: Any = figures
    for part in path:
        value = value[part]
    return None if value is None else float(value)
