"""From raw readings to numbers of a release with their errors, by the numeric package.

A delivery keeps its raw readings as a shot of ``python -m physics measure`` (``speed``,
``rev_rate``, ``rotation``, ``tilt``, ``pap`` or ``ring_points_in``, ``launch_deg``), without what
was typed as a number. Its errors are kept by reading: ``{"speed_mph": {"own", "shared", "way"}}``
in the reading's unit; ``own`` is averaged out by more deliveries, ``shared`` isn't.
"""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from bowlers.readings import BY_NAME
from physics import cases_measure, fitting, readings, release_speed
from physics.errors import InputError

Error = dict[str, Any]
# The reading each part of a shot tells; ring points tell three.
PARTS = ("tilt", "pap", "ring_points_in", "rev_rate", "rotation", "speed")
PART_OF = {
    "speed_mph": "speed",
    "rev_rate_rpm": "rev_rate",
    "rotation_deg": "rotation",
    "tilt_deg": "tilt",
    "pap_over_in": "pap",
    "pap_up_in": "pap",
}
OF_A_RING = ("tilt_deg", "pap_over_in", "pap_up_in")
SHARES = {name: PART_OF[name] for name in ("speed_mph", "rev_rate_rpm")}


@dataclass(frozen=True)
class Derived:
    """What a delivery's raw readings say; ``refused`` by the part of the shot they are about."""

    values: dict[str, float]
    errors: dict[str, Error]
    refused: dict[str, InputError]

    def questions(self) -> list[str]:
        """Numbers that are possible but unusual: "Rev rate 620 rpm: is that right?"."""
        return unusual(self.values)

    def words(self) -> list[str]:
        """Each number with its standard error: "Tilt 13.3 ± 0.7°"."""
        return [
            reading.with_error(self.values[name], math.hypot(error["own"], error["shared"]))
            for name, reading in BY_NAME.items()
            if (error := self.errors.get(name)) is not None
        ]


def derive(
    raw: Mapping[str, Any],
    *,
    beside: Mapping[str, float],
    hand: str,
    average: int | None,
) -> Derived:
    """The numbers of one delivery, each part by itself so that one mistake spoils only its own.

    ``beside``: what else is known of this release, typed on this delivery or the mean of others;
    a speed on the lane is turned into one of release with it.
    """
    known = json.dumps({name: round(value, 3) for name, value in sorted(beside.items())})
    values: dict[str, float] = {}
    errors: dict[str, Error] = {}
    refused: dict[str, InputError] = {}
    good: dict[str, Any] = {name: raw[name] for name in ("launch_deg",) if name in raw}
    for part in PARTS:
        if part not in raw:
            continue
        tried = good | {part: raw[part]}
        try:
            found = _numbers(json.dumps(tried), known, hand, average)
        except InputError as error:
            refused[part] = error
            continue
        good = tried
        for name, (value, own, shared, way) in found.items():
            values[name] = value
            errors[name] = {"own": own, "shared": shared, "way": way}
    return Derived(values, errors, refused)


def unusual(values: Mapping[str, float]) -> list[str]:
    """What to ask of numbers that are possible but that few bowlers have."""
    return [
        f"{reading.label_text(values[name])}: is that right?"
        for name, reading in BY_NAME.items()
        if name in values and not reading.is_usual(values[name])
    ]


@dataclass(frozen=True)
class Known:
    """One number of a release without a throw; ``source``: what it was read from, empty for what
    bowlers of this average have. ``boards``: how far its error moves the entry."""

    name: str
    value: float
    error: float
    source: str
    boards: float

    @property
    def words(self) -> str:
        return BY_NAME[self.name].with_error(self.value, self.error)


@dataclass(frozen=True)
class WithoutThrow:
    """A whole release with no delivery thrown, and how wide it leaves the entry, in boards.

    ``narrowers``: measurements and the width after each, the most useful first.
    """

    numbers: list[Known]
    width_boards: float
    narrowers: list[tuple[str, float]]

    def stored(self) -> tuple[dict[str, float], dict[str, Error]]:
        """What was read, with errors as of one delivery; numbers of such bowlers aren't readings.

        The error found holds the bowler's scatter about the one delivery read, which whoever
        takes the mean of deliveries adds by himself.
        """
        read = [n for n in self.numbers if n.source]
        errors = {}
        for n in read:
            scatter = fitting.repeatability(n.name, n.value, self.average)
            own = math.sqrt(max(0.0, n.error**2 - scatter**2))
            errors[n.name] = {"own": 0.0, "shared": own, "way": "without a throw"}
        return {n.name: n.value for n in read}, errors

    average: float | None = None


def without_throw(case: Mapping[str, Any]) -> WithoutThrow:
    """The release from an old ball, a display, a video and an average.

    ``case`` is one of ``python -m physics measure``; raises :class:`InputError` by its fields.
    """
    return _without_throw(json.dumps(case, sort_keys=True))


@lru_cache(maxsize=200)
def _without_throw(case: str) -> WithoutThrow:
    asked = json.loads(case)
    told = cases_measure.measure(asked)
    return WithoutThrow(
        numbers=[
            Known(
                name,
                number["value"],
                number["standard_error"],
                "; ".join(number["how"]) if number["from"] == "readings" else "",
                number["entry_boards"],
            )
            for name, number in told["numbers"].items()
        ],
        width_boards=told["entry_sd_boards"],
        narrowers=[(n["measurement"], n["entry_sd_boards"]) for n in told["narrow_first"]],
        average=asked.get("average"),
    )


@lru_cache(maxsize=2000)
def _numbers(
    shot: str, beside: str, hand: str, average: int | None
) -> dict[str, tuple[float, float, float, str]]:
    """Value, own error, shared error and way of each number; kept, as a row is asked about often.

    ``shot`` and ``beside`` as JSON, so that they can be told apart.
    """
    raw = json.loads(shot)
    known = {name: _typed(name, value) for name, value in json.loads(beside).items()}
    found = fitting.by_itself(
        cases_measure.delivery(raw), usual_setting(hand), beside=known, average=average
    )
    return {n: (q.value, q.own, q.shared, _way(n, raw)) for n, q in found.items()}


def usual_setting(hand: str) -> release_speed.Setting:
    """An ordinary ball on an ordinary lane, as nobody said which, and so much less sure."""
    grip, film = release_speed.doubts(oil_known=False, surface_known=False)
    on = release_speed.oiled(release_speed.usual_oil(), hand, release_speed.closure_of())
    return release_speed.Setting(release_speed.usual_ball(), on, grip_share=grip, film_share=film)


def _typed(name: str, value: float) -> readings.Quantity:
    return readings.typed(SHARES.get(name, name), value)


def _way(name: str, raw: Mapping[str, Any]) -> str:
    """How a number was read: deliveries alike in it share what the instrument gets wrong."""
    if "ring_points_in" in raw and name in OF_A_RING:
        return "ring_points_in"
    part = raw.get(PART_OF[name], {})
    ways = (*cases_measure.SPEED_WAYS, *cases_measure.REV_WAYS, *cases_measure.ROTATION_WAYS)
    return next((way for way in (*ways, *cases_measure.TILT_WAYS) if way in part), "ruler")


def instrument_errors(
    taken: Sequence[tuple[float, Mapping[str, Any] | None]], name: str
) -> dict[str, float] | None:
    """Own and shared error of the readings behind a mean; None if all were typed as numbers.

    ``taken``: each value kept with its errors, None for one typed. Own errors are averaged in
    square; what readings of one way share stays, what different ways share is taken as nothing,
    as in :func:`physics.readings.combine`.
    """
    if not taken or all(error is None for _, error in taken):
        return None
    own: list[float] = []
    shared: dict[str, list[float]] = {}
    for value, error in taken:
        if error is None:
            typed = _typed(name, value)
            error = {"own": typed.own, "shared": typed.shared, "way": "typed"}
        own.append(float(error["own"]))
        shared.setdefault(str(error["way"]), []).append(float(error["shared"]))
    count = len(taken)
    return {
        "own": math.sqrt(sum(e * e for e in own) / count),
        "shared": math.sqrt(sum((sum(errors) / count) ** 2 for errors in shared.values())),
    }


def names_told(raw: Mapping[str, Any]) -> set[str]:
    """The readings that a shot tells, whatever it holds of them."""
    told = {name for name, part in PART_OF.items() if part in raw}
    return told | (set(OF_A_RING) if "ring_points_in" in raw else set())
