"""A whole release from whatever was read: several deliveries, one, or none at all.

A counter without a lane has the old ball's track, the house display, the customer's own video and
their average. What was read becomes a mean with its standard error; what wasn't takes the prior of
bowlers with this average, with its width. A reading is taken as it is, never pulled towards the
prior.

How wide it all is, is said in one number: the standard deviation, in boards at the head pin, of
where this delivery would enter on one line, from the errors of all its numbers taken as
independent. The measurement that would narrow it most is the one after which that number is least.
The PAP counts there only as far as it moves the path; a layout measured from it is off by its whole
error besides.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from physics import layout, readings, ring
from physics.body import Body
from physics.bowler import USUAL_AVERAGE, prior_repeatability
from physics.errors import within
from physics.readings import Combined, LaneSpeed, Quantity, combine
from physics.release_speed import Setting, Spin, release_mph, throw
from physics.units import FT_TO_M, M_TO_IN, MPH_TO_M_S, y_m_to_board

NUMBERS = (
    "speed_mph",
    "rev_rate_rpm",
    "rotation_deg",
    "tilt_deg",
    "pap_over_in",
    "pap_up_in",
)

# Bowlers by average: means and standard deviations between bowlers. Speeds and rev rates follow the
# trade's ranges for casual, league and high-level bowlers; rotation about 45°, tilt 10 to 17°, PAP
# 4 to 6 1/2 in over and slightly up (common practice, no source). Widths are estimates.
_PRIOR_AVERAGES = (110.0, 165.0, 210.0)
_PRIOR_MEANS: dict[str, tuple[float, float, float]] = {
    "speed_mph": (13.0, 16.5, 18.3),
    "rev_rate_rpm": (130.0, 275.0, 390.0),
    "rotation_deg": (40.0, 45.0, 45.0),
    "tilt_deg": (13.0, 13.0, 13.0),
    "pap_over_in": (5.0, 5.0, 5.0),
    "pap_up_in": (0.4, 0.4, 0.4),
}
_PRIOR_WIDTHS: dict[str, tuple[float, float, float]] = {
    "speed_mph": (2.0, 1.2, 1.2),
    "rev_rate_rpm": (55.0, 60.0, 75.0),
    "rotation_deg": (18.0, 15.0, 14.0),
    "tilt_deg": (5.5, 5.0, 5.0),
    "pap_over_in": (0.7, 0.6, 0.6),
    "pap_up_in": (0.5, 0.45, 0.45),
}
# Without an average: bowlers of all kinds about the usual one.
_ANY_AVERAGE = {"speed_mph": 2.2, "rev_rate_rpm": 100.0, "rotation_deg": 18.0}

# From shot to shot, where physics.bowler has no prior of it (estimate).
PAP_REPEATABILITY_IN = 0.15
# A worn track is that of the release at the time, on a ball that flared (estimates, shared).
OLD_TRACK = {"tilt_deg": 2.0, "pap_over_in": 0.2, "pap_up_in": 0.15}

POCKET_BOARD = 17.5
LAUNCHES_DEG = (-1.0, 6.0)


@dataclass(frozen=True)
class Behind:
    """The PAP seen from behind, still to be turned into rotation with the tilt."""

    offset_radii: float
    launch_deg: float = 0.0


@dataclass(frozen=True)
class Delivery:
    """What was read of one delivery; None is not read.

    ``speed_mph`` is a release speed, or a speed on the lane that the solver turns into one.
    """

    speed_mph: Quantity | LaneSpeed | None = None
    rev_rate_rpm: Quantity | None = None
    rotation_deg: Quantity | Behind | None = None
    tilt_deg: Quantity | None = None
    pap_over_in: Quantity | None = None
    pap_up_in: Quantity | None = None


@dataclass(frozen=True)
class Number:
    """One number of the release.

    ``measured``: what it was read from, None for a prior; ``entry_boards``: how far one standard
    error of it moves the entry, in boards.
    """

    value: float
    standard_error: float
    measured: Combined | None
    entry_boards: float = 0.0


@dataclass(frozen=True)
class Narrower:
    """A measurement to take: what it narrows, and how wide the entry would be after it."""

    names: tuple[str, ...]
    words: str
    entry_sd_boards: float


@dataclass(frozen=True)
class Fitting:
    """All numbers of a release by name, how wide they leave the entry, and what would narrow it.

    ``narrowers`` come with the most useful first; empty if nothing listed would narrow it.
    """

    numbers: dict[str, Number]
    entry_sd_boards: float
    narrowers: tuple[Narrower, ...]


def prior(name: str, average: float | None) -> tuple[float, float]:
    """Mean and standard deviation of a number among bowlers with this average."""
    at = USUAL_AVERAGE if average is None else average
    mean = float(np.interp(at, _PRIOR_AVERAGES, _PRIOR_MEANS[name]))
    width = float(np.interp(at, _PRIOR_AVERAGES, _PRIOR_WIDTHS[name]))
    return mean, _ANY_AVERAGE.get(name, width) if average is None else width


def off_an_old_ball(found: dict[str, Quantity]) -> Delivery:
    """Tilt and PAP read off a worn track: known less well than off a ring just thrown."""
    worn = {
        name: replace(
            reading,
            shared=math.hypot(reading.shared, OLD_TRACK[name]),
            how=f"{reading.how}, old ball",
        )
        for name, reading in found.items()
    }
    return Delivery(
        tilt_deg=worn.get("tilt_deg"),
        pap_over_in=worn.get("pap_over_in"),
        pap_up_in=worn.get("pap_up_in"),
    )


def fit(
    deliveries: Sequence[Delivery],
    setting: Setting,
    *,
    average: float | None = None,
    old_ball: Delivery | None = None,
) -> Fitting:
    """The release from deliveries, the old ball and the average, in that order of trust.

    ``setting``: the ball and lane on which speeds were read, and the line the width is told on; its
    PAP is that of this release once that is known. Refusals name the delivery as ``shots[i]``.
    """
    worn = old_ball or Delivery()
    numbers: dict[str, Number] = {}
    for name in ("tilt_deg", "pap_over_in", "pap_up_in", "rev_rate_rpm"):
        taken = [q for d in deliveries if (q := getattr(d, name)) is not None]
        numbers[name] = _number(name, taken, getattr(worn, name), average)
    thrown = replace(setting, body=_about(setting, numbers))
    tilt = _quantity(numbers["tilt_deg"])
    rotations = [
        _from_behind(i, q, tilt) if isinstance(q, Behind) else q
        for i, d in enumerate(deliveries)
        if (q := d.rotation_deg) is not None
    ]
    numbers["rotation_deg"] = _number("rotation_deg", rotations, None, average)
    spin = _spin(numbers)
    speeds = [
        _from_lane(i, q, spin, thrown) if isinstance(q, LaneSpeed) else q
        for i, d in enumerate(deliveries)
        if (q := d.speed_mph) is not None
    ]
    numbers["speed_mph"] = _number("speed_mph", speeds, None, average)
    return _with_width({name: numbers[name] for name in NUMBERS}, thrown, average)


def by_itself(
    read: Delivery,
    setting: Setting,
    *,
    beside: Mapping[str, Quantity] | None = None,
    average: float | None = None,
) -> dict[str, Quantity]:
    """What one delivery's readings say of its release: those read, by name.

    A speed on the lane becomes a release speed and a view from behind a rotation with the other
    numbers of this delivery; those it lacks are taken from ``beside``, the bowler's other
    deliveries, and else from the prior. Refusals name the reading: ``speed.seconds``.
    """
    around: dict[str, Number] = {}
    for name in NUMBERS:
        taken = getattr(read, name)
        known = taken if isinstance(taken, Quantity) else (beside or {}).get(name)
        mean, width = prior(name, average)
        around[name] = (
            Number(mean, width, None) if known is None else Number(known.value, known.error, None)
        )
    found = {n: q for n in NUMBERS if isinstance(q := getattr(read, n), Quantity)}
    if isinstance(read.rotation_deg, Behind):
        seen = read.rotation_deg
        with within("rotation"):
            rotation = readings.rotation_from_behind(
                seen.offset_radii, _quantity(around["tilt_deg"]), seen.launch_deg
            )
        found["rotation_deg"] = rotation
        around["rotation_deg"] = Number(rotation.value, rotation.error, None)
    if isinstance(read.speed_mph, LaneSpeed):
        thrown = replace(setting, body=_about(setting, around))
        with within("speed"):
            found["speed_mph"] = release_mph(read.speed_mph, _spin(around), thrown)
    return found


def _from_behind(shot: int, seen: Behind, tilt: Quantity) -> Quantity:
    with within(f"shots[{shot}].rotation"):
        return readings.rotation_from_behind(seen.offset_radii, tilt, seen.launch_deg)


def _from_lane(shot: int, read: LaneSpeed, spin: Spin, setting: Setting) -> Quantity:
    with within(f"shots[{shot}].speed"):
        return release_mph(read, spin, setting)


def _number(
    name: str, taken: Sequence[Quantity], worn: Quantity | None, average: float | None
) -> Number:
    """A number from its readings, else from the old ball, else from the prior."""
    if taken:
        middle = sum(q.value for q in taken) / len(taken)
        found = combine(taken, repeatability(name, middle, average))
    elif worn is not None:
        found = combine([worn])
    else:
        mean, width = prior(name, average)
        return Number(mean, width, None)
    return Number(found.mean, found.standard_error, found)


def repeatability(name: str, value: float, average: float | None) -> float:
    """Standard deviation from shot to shot expected of a number about this value."""
    expected = prior_repeatability(average)
    return {
        "speed_mph": expected.speed * abs(value),
        "rev_rate_rpm": expected.rev_rate * abs(value),
        "rotation_deg": expected.rotation_deg,
        "tilt_deg": expected.tilt_deg,
    }.get(name, PAP_REPEATABILITY_IN)


def _quantity(number: Number) -> Quantity:
    return Quantity(number.value, 0.0, number.standard_error, "as fitted")


def _spin(numbers: dict[str, Number]) -> Spin:
    return Spin(*(_quantity(numbers[n]) for n in ("rev_rate_rpm", "rotation_deg", "tilt_deg")))


def _about(setting: Setting, numbers: dict[str, Number], **moved: float) -> Body:
    """The setting's body thrown about the fitted PAP, moved by inches over and up."""
    ball = setting.body
    radius_in = ball.radius_m * M_TO_IN
    over, up = (
        (numbers[name].value + moved.get(name, 0.0)) / radius_in
        for name in ("pap_over_in", "pap_up_in")
    )
    return replace(ball, pap_body=ball.principal_axes @ layout.on_sphere(over, up))


# How wide it is, and what would narrow it.


def _with_width(numbers: dict[str, Number], setting: Setting, average: float | None) -> Fitting:
    line = _to_the_pocket(numbers, setting)
    told = {
        name: replace(number, entry_boards=_moves(name, number.standard_error, numbers, line))
        for name, number in numbers.items()
    }
    width = math.hypot(*(n.entry_boards for n in told.values()))
    found = []
    for words, measure in MEASUREMENTS:
        after = measure(told, setting, average)
        boards = [
            n.entry_boards * min(1.0, after.get(name, math.inf) / n.standard_error)
            if n.standard_error
            else 0.0
            for name, n in told.items()
        ]
        names = tuple(n for n in after if after[n] < told[n].standard_error)
        if math.hypot(*boards) < width:
            found.append(Narrower(names, words, math.hypot(*boards)))
    found.sort(key=lambda item: item.entry_sd_boards)
    return Fitting(told, width, tuple(found))


def _entry_board(values: dict[str, float], setting: Setting) -> float:
    spin = (max(0.0, values["rev_rate_rpm"]), values["rotation_deg"], max(0.0, values["tilt_deg"]))
    shot = throw(max(3.0, values["speed_mph"]), spin, setting)
    return y_m_to_board(float(shot.end[2]))


def _moves(name: str, error: float, numbers: dict[str, Number], setting: Setting) -> float:
    """Boards that one standard error of a number moves the entry, either way on average."""

    def at(step: float) -> float:
        values = {n: number.value for n, number in numbers.items()}
        values[name] += step
        there = setting
        if name.startswith("pap_"):
            there = replace(setting, body=_about(setting, numbers, **{name: step}))
        return _entry_board(values, there)

    return abs(at(error) - at(-error)) / 2


def _to_the_pocket(numbers: dict[str, Number], setting: Setting) -> Setting:
    """The launch that sends the mean delivery to the pocket, or the one given if none does."""
    values = {n: number.value for n, number in numbers.items()}
    low, high = LAUNCHES_DEG

    def over(launch: float) -> float:
        return _entry_board(values, replace(setting, launch_deg=launch)) - POCKET_BOARD

    if over(low) < 0 or over(high) > 0:
        return setting
    for _ in range(10):
        middle = (low + high) / 2
        low, high = (middle, high) if over(middle) > 0 else (low, middle)
    return replace(setting, launch_deg=(low + high) / 2)


Measure = Callable[[dict[str, Number], Setting, float | None], dict[str, float]]
SHOTS = 3


def _mean_error(name: str, one: Quantity, average: float | None) -> float:
    """Standard error of the mean of three deliveries read like this one."""
    return combine([one] * SHOTS, repeatability(name, one.value, average)).standard_error


def _filmed_revs(
    numbers: dict[str, Number], setting: Setting, average: float | None
) -> dict[str, float]:
    rpm = max(30.0, numbers["rev_rate_rpm"].value)
    one = readings.rev_rate_from_frames(2 * 60 * 120 / rpm, 120, 2)
    return {"rev_rate_rpm": _mean_error("rev_rate_rpm", one, average)}


def _filmed_rotation(
    numbers: dict[str, Number], setting: Setting, average: float | None
) -> dict[str, float]:
    one = readings.rotation_from_above(numbers["rotation_deg"].value)
    return {"rotation_deg": _mean_error("rotation_deg", one, average)}


def _filmed_speed(
    numbers: dict[str, Number], setting: Setting, average: float | None
) -> dict[str, float]:
    """Over the first fifteen feet, where no ball has slowed much."""
    mph = max(6.0, numbers["speed_mph"].value)
    timed = readings.speed_over(15 * FT_TO_M / (mph * MPH_TO_M_S), 0.0, 15.0, 240)
    one = release_mph(timed, _spin(numbers), setting)
    return {"speed_mph": _mean_error("speed_mph", one, average)}


def _ringed(
    numbers: dict[str, Number], setting: Setting, average: float | None
) -> dict[str, float]:
    """Six points over half of the first ring of one delivery, about the fitted PAP."""
    told = ring.expected(
        numbers["pap_over_in"].value, numbers["pap_up_in"].value, numbers["tilt_deg"].value
    )
    return {
        name: math.hypot(reading.error, repeatability(name, reading.value, average))
        for name, reading in told.items()
    }


MEASUREMENTS: tuple[tuple[str, Measure], ...] = (
    ("two turns counted on film at 120 frames a second, three deliveries", _filmed_revs),
    ("the PAP filmed from above just after release, three deliveries", _filmed_rotation),
    ("the first 15 ft timed on film at 240 frames a second, three deliveries", _filmed_speed),
    ("six points marked over half of the first ring of one delivery", _ringed),
)
