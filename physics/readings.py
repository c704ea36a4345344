"""From what an instrument shows to a number of the release, with how well it is known.

Every instrument returns a :class:`Quantity`: the value, the standard error a repeat would average
out (``own``), the one all readings of that instrument share (``shared``), how it was read and the
raw readings. A reading rounded to a step is known to step/√12, the difference of two rounded
readings to step/√6 (rectangular and triangular distributions of the Guide to the Expression of
Uncertainty in Measurement, JCGM 100:2008, 4.3.7 and 4.3.9). What an eye, a hand or a camera's
place adds is an estimate, named below.

Speeds over a stretch of lane are not release speeds: :mod:`physics.release_speed` converts them.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from physics.bowler import narrowed
from physics.errors import InputError
from physics.measure import summarise
from physics.track import STANDARD_CIRCUMFERENCE_IN
from physics.units import FT_TO_M, M_S_TO_MPH

STEP_TO_SD = 1 / math.sqrt(12)
ENDS_TO_SD = 1 / math.sqrt(6)

# Estimates, as standard errors.
FRAME_RATE_SHARE = 0.003  # what a camera calls its frame rate
MARK_BACK_TURNS = 5 / 360  # the eye judging that a mark is back where it was
HOUR_TURNS = 1 / 12  # step to which a mark's place is read as on a clock
PRESS_S = 0.05  # a thumb on a stopwatch, either end, the event being seen to come
# Where the ball crosses either end of a timed stretch: to the eye, and on film frame by frame.
STRETCH_FT, STRETCH_FILMED_FT = 0.25, 0.1
DISPLAY_OWN_SHARE, DISPLAY_SHARED_SHARE = 0.005, 0.015
DISPLAY_STEP_MPH = 0.1
CAMERA_OWN_DEG, CAMERA_SHARED_DEG = 3.0, 2.0
CAMERA_RADII = 0.03  # an offset read off a picture, in ball radii, and the same again shared
RULER_STEP_IN = 1 / 16
PAP_MARK_IN = 0.10  # finding the point that doesn't move, in each direction
GRIP_CENTRE_IN = 0.05  # placing the grip centre and the midline, in each direction
# The rule's 8.500 to 8.595 in across, any of it as likely: 27 in is the trade's round number.
CIRCUMFERENCE_SD_IN = math.pi * 0.095 * STEP_TO_SD

LEAST_FRAMES_A_TURN = 3.0
# Beyond what any release reaches: a slip of the pen, not a bowler.
MOST_RPM = 1000.0
MEAN_SPEED_MPH = (3.0, 40.0)


@dataclass(frozen=True)
class Quantity:
    """One measured number, in the unit of its name.

    ``own``: standard error that repeating averages out; ``shared``: standard error common to all
    readings taken this way; ``how``: the instrument in words; ``raw``: what was read.
    """

    value: float
    own: float
    shared: float
    how: str
    raw: Mapping[str, float] = field(default_factory=dict)

    @property
    def error(self) -> float:
        """Standard error of this one reading."""
        return math.hypot(self.own, self.shared)


@dataclass(frozen=True)
class Instrument:
    """Standard errors of a way to read: own to a reading, and shared by all of them."""

    own: float
    shared: float

    def error_of_mean(self, prior_sd: float, sd: float | None, count: int) -> float:
        """Standard error of the mean of ``count`` deliveries read this way.

        ``prior_sd``: the bowler's repeatability expected before; ``sd``: that of the readings,
        which holds the instrument's own error too; None if there is one reading.
        """
        seen = narrowed(math.hypot(prior_sd, self.own), sd, count)
        return math.hypot(self.shared, seen / math.sqrt(count))


def _single(error: float) -> Instrument:
    """An instrument nobody named: half of one reading's error stays however often it's read."""
    return Instrument(own=error * math.sqrt(0.75), shared=error / 2)


# A number typed without saying how it was read. Speed and rev rate as shares, angles in degrees,
# places in inches; estimates.
TYPED: dict[str, Instrument] = {
    "speed": _single(0.02),
    "rev_rate": _single(0.04),
    "rotation_deg": _single(4.0),
    "tilt_deg": _single(3.0),
    "pap_over_in": _single(0.15),
    "pap_up_in": _single(0.15),
}


def typed(name: str, value: float, error: float | None = None) -> Quantity:
    """A number read directly off an instrument that isn't named.

    ``name`` is a key of :data:`TYPED`; ``error``: its standard error, where it is known.
    """
    instrument = TYPED[name] if error is None else _single(error)
    scale = abs(value) if error is None and name in ("speed", "rev_rate") else 1.0
    return Quantity(
        value,
        instrument.own * scale,
        instrument.shared * scale,
        "typed as read",
        {name: value},
    )


# Rev rate.


def rev_rate_from_frames(frames: float, frames_per_second: float, turns: float = 1.0) -> Quantity:
    """Rev rate, rpm, from the frames that so many turns take.

    Whole turns: the mark is back where it was, to the nearest frame and as the eye judges it. Part
    turns: the frames are exact and the mark's place is read to the nearest twelfth of a turn at
    either end. Count just after release: the rate rises down the lane.
    """
    _positive("frames", frames, "more than 0 frames: count from the frame after the first")
    _positive("frames_per_second", frames_per_second, "more than 0, as the camera was set")
    _positive("turns", turns, "more than 0 turns")
    if frames / turns < LEAST_FRAMES_A_TURN:
        raise InputError(
            "frames",
            frames,
            f"at least {LEAST_FRAMES_A_TURN:g} frames a turn, or turns can't be told apart; film "
            "at more frames a second",
        )
    whole = abs(turns - round(turns)) < 1e-9
    if whole:
        share = math.hypot(ENDS_TO_SD / frames, MARK_BACK_TURNS / turns)
    else:
        share = HOUR_TURNS * ENDS_TO_SD / turns
    return _rev_rate(
        60 * frames_per_second * turns / frames,
        share,
        f"{turns:g} turn{'' if turns == 1 else 's'} in {frames:g} frames "
        f"at {frames_per_second:g} a second",
        {"frames": frames, "frames_per_second": frames_per_second, "turns": turns},
    )


def rev_rate_from_clock(hours: float, frames_per_second: float, frames: float = 10.0) -> Quantity:
    """Rev rate, rpm, from how far a mark goes as on a clock face, in hours, over some frames."""
    _positive("clock_hours", hours, "more than 0 hours, twelve to the turn")
    found = rev_rate_from_frames(frames, frames_per_second, hours / 12)
    share = HOUR_TURNS * ENDS_TO_SD / (hours / 12)
    return _rev_rate(
        found.value,
        share,
        f"{hours:g} hours of a clock face in {frames:g} frames at {frames_per_second:g} a second",
        {"clock_hours": hours, "frames_per_second": frames_per_second, "frames": frames},
    )


def _rev_rate(rpm: float, share: float, how: str, raw: Mapping[str, float]) -> Quantity:
    if rpm > MOST_RPM:
        raise InputError(
            "frames_per_second",
            raw["frames_per_second"],
            f"a frame rate that gives at most {MOST_RPM:g} rpm (this gives {rpm:.0f}); slow motion "
            "played back may count other frames than it filmed",
        )
    return Quantity(rpm, rpm * share, rpm * FRAME_RATE_SHARE, how, raw)


# Speed.


@dataclass(frozen=True)
class LaneSpeed:
    """A speed read somewhere on the lane, mph, along the lane.

    The mean from ``from_ft`` to ``to_ft`` past the foul line; at one place where both are equal.
    ``place_sd_ft``: how well that place is known.
    """

    mph: Quantity
    from_ft: float
    to_ft: float
    place_sd_ft: float = 0.0


def speed_over(
    seconds: float,
    from_ft: float = 0.0,
    to_ft: float = 60.0,
    frames_per_second: float | None = None,
) -> LaneSpeed:
    """Mean speed from a time over a stretch of lane, by stopwatch, or by frames of a video.

    Down to the pins the trade counts 60 ft; the ball is heard half a foot before its centre gets
    there, so 59.5 is nearer.
    """
    _positive("seconds", seconds, "more than 0 seconds")
    if not to_ft > from_ft:
        raise InputError("to_ft", to_ft, f"further down the lane than from_ft, {from_ft:g}")
    if frames_per_second is None:
        timing, ends, camera, by = PRESS_S * math.sqrt(2), STRETCH_FT, 0.0, "by stopwatch"
    else:
        _positive("frames_per_second", frames_per_second, "more than 0, as the camera was set")
        timing, ends, camera = ENDS_TO_SD / frames_per_second, STRETCH_FILMED_FT, FRAME_RATE_SHARE
        by = f"at {frames_per_second:g} frames a second"
    length = to_ft - from_ft
    mph = length * FT_TO_M / seconds * M_S_TO_MPH
    low, high = MEAN_SPEED_MPH
    if not low <= mph <= high:
        raise InputError(
            "seconds",
            seconds,
            f"a time that gives {low:g} to {high:g} mph over {length:g} ft (this gives {mph:.1f}); "
            "time it again, or put the stretch right",
        )
    return LaneSpeed(
        Quantity(
            mph,
            mph * timing / seconds,
            mph * math.hypot(ends * math.sqrt(2) / length, camera),
            f"mean over {from_ft:g} to {to_ft:g} ft, {seconds:g} s {by}",
            {"seconds": seconds, "from_ft": from_ft, "to_ft": to_ft},
        ),
        from_ft,
        to_ft,
    )


def display(mph: float, at_ft: float, step_mph: float = DISPLAY_STEP_MPH) -> LaneSpeed:
    """The speed a house shows, read at a place on the lane (ft past the foul line)."""
    _positive("display_mph", mph, "more than 0 mph")
    _positive("step_mph", step_mph, "more than 0: the last digit the display shows")
    own = math.hypot(mph * DISPLAY_OWN_SHARE, step_mph * STEP_TO_SD)
    return LaneSpeed(
        Quantity(
            mph,
            own,
            mph * DISPLAY_SHARED_SHARE,
            f"display at {at_ft:g} ft",
            {"display_mph": mph, "at_ft": at_ft},
        ),
        at_ft,
        at_ft,
        place_sd_ft=2.0,
    )


# Tilt.


def tilt_from_ring_width(width_in: float, circumference_in: float | None = None) -> Quantity:
    """Tilt, degrees, from the first ring's width across its far side, through the negative axis.

    tilt = 90 − (width / 2)·(360 / circumference). A circumference nobody measured is taken as 27 in
    and as well known as the rule on the ball's size leaves it.
    """
    round_in = STANDARD_CIRCUMFERENCE_IN if circumference_in is None else circumference_in
    tilt = 90 - 180 * width_in / round_in
    reading = 180 / round_in * RULER_STEP_IN * math.sqrt(2) * ENDS_TO_SD
    return _tilt(
        "ring_width_in",
        width_in,
        tilt,
        math.hypot(reading, 180 / round_in * PAP_MARK_IN),
        180 * width_in / round_in**2 * _round_sd(circumference_in),
        f"ring {width_in:g} in across its far side",
    )


def tilt_from_ring_to_pap(distance_in: float, circumference_in: float | None = None) -> Quantity:
    """Tilt, degrees, from the arc between the PAP and the first ring: 90 + tilt degrees of it."""
    round_in = STANDARD_CIRCUMFERENCE_IN if circumference_in is None else circumference_in
    tilt = 360 * distance_in / round_in - 90
    reading = 360 / round_in * RULER_STEP_IN * ENDS_TO_SD
    return _tilt(
        "ring_to_pap_in",
        distance_in,
        tilt,
        math.hypot(reading, 360 / round_in * PAP_MARK_IN),
        360 * distance_in / round_in**2 * _round_sd(circumference_in),
        f"ring {distance_in:g} in from the PAP",
    )


def _round_sd(circumference_in: float | None) -> float:
    return CIRCUMFERENCE_SD_IN if circumference_in is None else RULER_STEP_IN * STEP_TO_SD


def _tilt(name: str, read_in: float, tilt: float, own: float, shared: float, how: str) -> Quantity:
    """The tilt, never below 0: a reading just past it is a full roller read a little wide."""
    if not -3 * math.hypot(own, shared) <= tilt < 90:
        raise InputError(
            name,
            read_in,
            "an arc of a ring with 0 to 90 degrees of tilt "
            f"(this gives {tilt:.1f}); measure the first ring again: with tilt it lies farther "
            "from the PAP than a quarter of the way round, and is narrower than half of it",
        )
    return Quantity(max(0.0, tilt), own, shared, how, {name: read_in})


# Rotation.


def rotation_from_above(read_deg: float, launch_deg: float = 0.0) -> Quantity:
    """Rotation, degrees, from the PAP seen from straight above just after release.

    ``read_deg``: the PAP's direction back from straight across the boards, towards the bowler.
    ``launch_deg``, positive towards the ball-hand gutter, turns it to the launch direction, from
    which rotation is counted.
    """
    return _rotation(
        "above_deg",
        read_deg,
        read_deg + launch_deg,
        CAMERA_OWN_DEG,
        CAMERA_SHARED_DEG,
        f"PAP {read_deg:g}° back, seen from above",
    )


def rotation_from_behind(offset_radii: float, tilt: Quantity, launch_deg: float = 0.0) -> Quantity:
    """Rotation, degrees, from the PAP seen from behind: acos(offset / cos tilt).

    ``offset_radii``: sideways from the ball's centre towards the pocket side, in ball radii. The
    view is blunt near 0 degrees, where the offset hardly changes; the error says so.
    """
    across = math.cos(math.radians(tilt.value))
    room = 3 * math.sqrt(2) * CAMERA_RADII
    if not -across - room <= offset_radii <= across + room:
        raise InputError(
            "behind_radii",
            offset_radii,
            f"at most cos(tilt) = {across:.3f} ball radii either way; measure the offset from the "
            "ball's centre in the picture over half the ball's width, and look at the tilt again",
        )

    def angle(offset: float, tilt_deg: float) -> float:
        share = offset / math.cos(math.radians(tilt_deg))
        return math.degrees(math.acos(min(1.0, max(-1.0, share))))

    middle = angle(offset_radii, tilt.value)
    own = max(
        abs(angle(offset_radii + sign * CAMERA_RADII, tilt.value) - middle) for sign in (-1, 1)
    )
    by_tilt = max(
        abs(angle(offset_radii, min(89.0, max(0.0, tilt.value + sign * tilt.error))) - middle)
        for sign in (-1, 1)
    )
    found = _rotation(
        "behind_radii",
        offset_radii,
        middle + launch_deg,
        own,
        math.hypot(own, by_tilt),
        f"PAP {offset_radii:g} radii aside, seen from behind",
    )
    return Quantity(
        found.value, found.own, found.shared, found.how, {**found.raw, "tilt_deg": tilt.value}
    )


def _rotation(
    name: str, read: float, rotation: float, own: float, shared: float, how: str
) -> Quantity:
    if not -180 < rotation <= 180:
        raise InputError(name, read, "an angle that leaves the rotation within half a turn")
    return Quantity(rotation, own, shared, how, {name: read})


# PAP.


def pap_by_ruler(over_in: float, up_in: float) -> tuple[Quantity, Quantity]:
    """PAP over and up, inches, from a mark found by eye and measured from the grip centre."""
    own = math.hypot(PAP_MARK_IN, RULER_STEP_IN * ENDS_TO_SD)
    return (
        Quantity(over_in, own, GRIP_CENTRE_IN, "PAP marked and measured", {"over_in": over_in}),
        Quantity(up_in, own, GRIP_CENTRE_IN, "PAP marked and measured", {"up_in": up_in}),
    )


# Several shots.


@dataclass(frozen=True)
class Combined:
    """Several readings of one number: robust mean, spread, and the mean's standard error.

    ``sd``: sample standard deviation, None of a single reading; ``set_aside``: indices of readings
    left out; ``how``: the ways it was read.
    """

    mean: float
    sd: float | None
    standard_error: float
    count: int
    set_aside: tuple[int, ...]
    how: tuple[str, ...]


def combine(readings: Sequence[Quantity], repeatability: float = 0.0) -> Combined:
    """Mean of several readings, and how well it is known.

    ``repeatability``: standard deviation from shot to shot expected of the bowler, in the unit of
    the readings, narrowed by the spread seen; 0 for what doesn't change. What all readings of one
    kind of instrument share isn't averaged away; what different kinds share is taken as nothing.
    """
    if not readings:
        raise InputError("readings", [], "at least one reading")
    spread = summarise(
        [r.value for r in readings],
        resolution=max(math.hypot(r.own, repeatability) for r in readings),
    )
    assert spread is not None  # noqa: S101 - there is at least one reading
    kept = [r for i, r in enumerate(readings) if i not in spread.set_aside]
    own = math.sqrt(sum(r.own**2 for r in kept) / len(kept))
    seen = narrowed(math.hypot(repeatability, own), spread.sd, spread.count)
    kinds: dict[str, list[float]] = {}
    for reading in kept:
        kinds.setdefault(_kind(reading), []).append(reading.shared)
    shared = math.sqrt(sum((sum(errors) / len(kept)) ** 2 for errors in kinds.values()))
    return Combined(
        mean=spread.mean,
        sd=spread.sd,
        standard_error=math.hypot(shared, seen / math.sqrt(spread.count)),
        count=spread.count,
        set_aside=spread.set_aside,
        how=tuple(dict.fromkeys(r.how for r in kept)),
    )


def _kind(reading: Quantity) -> str:
    """Readings with the same raw fields were taken the same way."""
    return " ".join(sorted(reading.raw))


def _positive(name: str, value: float, allowed: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(name, value, allowed)
