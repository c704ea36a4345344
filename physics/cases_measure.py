"""``measure``: what was read of a bowler in; release numbers with their standard errors out.

One JSON object, every field optional: ``shots`` (a list of deliveries), ``old_ball`` (its track),
``average``, ``ball``, ``lane``, ``hand``, ``laydown_board``, ``launch_deg`` and
``ball_circumference_in``. Fields nobody asked for are errors, as at the other doors.
"""

from collections.abc import Mapping
from typing import Any

from physics import care, fitting, friction, lane, readings, release_speed, ring, surface
from physics.errors import InputError, within
from physics.fields import Fields, checked_list
from physics.fitting import Behind, Delivery
from physics.readings import LaneSpeed, Quantity
from physics.track import STANDARD_CIRCUMFERENCE_IN

# One way to read each quantity: a shot that names two is asked to choose.
SPEED_WAYS = ("seconds", "frames", "display_mph", "release_mph")
REV_WAYS = ("frames", "clock_hours", "rpm")
ROTATION_WAYS = ("above_deg", "behind_radii", "deg")
TILT_WAYS = ("ring_width_in", "ring_to_pap_in", "deg")


def measure(case: Mapping[str, Any]) -> dict[str, Any]:
    """``measure``: each number with its standard error, and what would narrow them most."""
    fields = Fields(case)
    hand = fields.choice("hand", ("right", "left"), "right")
    average = fields.number("average", low=0.0, high=300.0) if fields.has("average") else None
    round_in = (
        fields.number("ball_circumference_in", low=20.0, high=30.0)
        if fields.has("ball_circumference_in")
        else None
    )
    setting = _setting(fields, hand)
    shots = fields.children("shots") if fields.has("shots") else []
    deliveries = [_delivery(shot, round_in) for shot in shots]
    old = _old_ball(fields.child("old_ball"), round_in) if fields.has("old_ball") else None
    fields.done()
    found = fitting.fit(deliveries, setting, average=average, old_ball=old)
    return {
        "numbers": {name: _number(number) for name, number in found.numbers.items()},
        "entry_sd_boards": found.entry_sd_boards,
        "narrow_first": [
            {
                "numbers": list(item.names),
                "measurement": item.words,
                "entry_sd_boards": item.entry_sd_boards,
            }
            for item in found.narrowers
        ],
    }


def _number(number: fitting.Number) -> dict[str, Any]:
    read = number.measured
    return {
        "value": number.value,
        "standard_error": number.standard_error,
        "entry_boards": number.entry_boards,
        "from": "prior" if read is None else "readings",
        "sd": None if read is None else read.sd,
        "count": 0 if read is None else read.count,
        "set_aside": [] if read is None else list(read.set_aside),
        "how": [] if read is None else list(read.how),
    }


# Readings.


def delivery(shot: Mapping[str, Any]) -> Delivery:
    """One delivery as a ``shot`` of the case says it; refusals name its fields."""
    return _delivery(Fields(shot), None)


def _delivery(shot: Fields, round_in: float | None) -> Delivery:
    launch = shot.number("launch_deg", 0.0, low=-20.0, high=20.0)
    tilt, over, up = _axis(shot, round_in)
    delivery = Delivery(
        speed_mph=_speed(shot.child("speed")) if shot.has("speed") else None,
        rev_rate_rpm=_rev_rate(shot.child("rev_rate")) if shot.has("rev_rate") else None,
        rotation_deg=_rotation(shot.child("rotation"), launch) if shot.has("rotation") else None,
        tilt_deg=tilt,
        pap_over_in=over,
        pap_up_in=up,
    )
    return shot.done(delivery)


def _old_ball(given: Fields, round_in: float | None) -> Delivery:
    tilt, over, up = _axis(given, round_in)
    given.done()
    if tilt is None and over is None:
        raise InputError(
            "old_ball", dict(given.raw), "a track: ring_points_in, or tilt, or pap, or both"
        )
    read = {"tilt_deg": tilt, "pap_over_in": over, "pap_up_in": up}
    return fitting.off_an_old_ball({name: q for name, q in read.items() if q is not None})


def _axis(
    given: Fields, round_in: float | None
) -> tuple[Quantity | None, Quantity | None, Quantity | None]:
    """Tilt and PAP over and up: from ring points, or each by its own reading."""
    if given.has("ring_points_in"):
        for other in ("tilt", "pap"):
            if given.has(other):
                raise InputError(
                    given.name(other), given.raw[other], "left out: ring_points_in tell it already"
                )
        found = _ring(given, round_in)
        return found["tilt_deg"], found["pap_over_in"], found["pap_up_in"]
    tilt = _tilt(given.child("tilt"), round_in) if given.has("tilt") else None
    if not given.has("pap"):
        return tilt, None, None
    pap = given.child("pap")
    quarter = (round_in or STANDARD_CIRCUMFERENCE_IN) / 4
    over, up = readings.pap_by_ruler(
        pap.number("over_in", above=0.0, high=2 * quarter),
        pap.number("up_in", low=-quarter, high=quarter),
    )
    return pap.done((tilt, over, up))


def _ring(given: Fields, round_in: float | None) -> dict[str, Quantity]:
    name = given.name("ring_points_in")
    items = given.value("ring_points_in", "a list of [over, up] pairs")
    if not isinstance(items, list | tuple):
        raise InputError(name, items, "a list of [over, up] pairs")
    size = round_in or STANDARD_CIRCUMFERENCE_IN
    points = [
        checked_list(f"{name}[{i}]", item, count=2, low=-size / 2, high=size / 2)
        for i, item in enumerate(items)
    ]
    for i, (_, up) in enumerate(points):
        if abs(up) > size / 4:
            raise InputError(f"{name}[{i}][1]", up, f"within a quarter round, {size / 4:g} in")
    error = given.number("point_error_in", ring.POINT_IN, above=0.0, high=0.5)
    try:
        return ring.fit(points, circumference_in=size, point_in=error).quantities()
    except InputError as refused:
        where = refused.field.removeprefix("points")
        raise InputError(f"{name}{where}", refused.value, refused.allowed) from None


def _speed(given: Fields) -> Quantity | LaneSpeed:
    way = _one_of(given, SPEED_WAYS)
    with within(given.path):
        if way == "release_mph":
            low, high = release_speed.RELEASE_MPH
            value = given.number(way, low=low, high=high)
            return given.done(readings.typed("speed", value, _own_error(given)))
        if way == "display_mph":
            return given.done(
                readings.display(
                    given.number(way, above=0.0),
                    given.number("at_ft", low=0.0, high=release_speed.LANE_FT),
                    given.number("step_mph", readings.DISPLAY_STEP_MPH, above=0.0, high=5.0),
                )
            )
        rate = (
            given.number("frames_per_second", low=1.0, high=1e5)
            if given.has("frames_per_second") or way == "frames"
            else None
        )
        return given.done(
            _over(
                way,
                given.number(way, above=0.0),
                given.number("from_ft", 0.0, low=0.0, high=release_speed.LANE_FT),
                given.number("to_ft", 60.0, low=0.0, high=release_speed.LANE_FT),
                rate,
            )
        )


def _over(way: str, read: float, from_ft: float, to_ft: float, rate: float | None) -> LaneSpeed:
    """A mean speed from seconds, or from frames at a rate."""
    if way != "frames" or rate is None:
        return readings.speed_over(read, from_ft, to_ft, rate)
    try:
        return readings.speed_over(read / rate, from_ft, to_ft, rate)
    except InputError as refused:
        if refused.field != "seconds":
            raise
        allowed = refused.allowed.replace("a time that", "a count of frames whose time")
        raise InputError("frames", read, allowed.replace("time it", "count them")) from None


def _rev_rate(given: Fields) -> Quantity:
    way = _one_of(given, REV_WAYS)
    with within(given.path):
        if way == "rpm":
            value = given.number(way, low=0.0, high=readings.MOST_RPM)
            return given.done(readings.typed("rev_rate", value, _own_error(given)))
        rate = given.number("frames_per_second", low=1.0, high=1e5)
        if way == "frames":
            return given.done(
                readings.rev_rate_from_frames(
                    given.number(way, above=0.0), rate, given.number("turns", 1.0, above=0.0)
                )
            )
        return given.done(
            readings.rev_rate_from_clock(
                given.number(way, above=0.0), rate, given.number("over_frames", 10.0, above=0.0)
            )
        )


def _rotation(given: Fields, launch_deg: float) -> Quantity | Behind:
    way = _one_of(given, ROTATION_WAYS)
    with within(given.path):
        if way == "behind_radii":
            return given.done(Behind(given.number(way, low=-1.2, high=1.2), launch_deg))
        value = given.number(way, low=-180.0, high=180.0)
        if way == "above_deg":
            return given.done(readings.rotation_from_above(value, launch_deg))
        return given.done(readings.typed("rotation_deg", value, _own_error(given)))


def _tilt(given: Fields, round_in: float | None) -> Quantity:
    way = _one_of(given, TILT_WAYS)
    with within(given.path):
        if way == "deg":
            value = given.number(way, low=0.0, high=89.0)
            return given.done(readings.typed("tilt_deg", value, _own_error(given)))
        value = given.number(way, above=0.0, high=30.0)
        by_ring = {
            "ring_width_in": readings.tilt_from_ring_width,
            "ring_to_pap_in": readings.tilt_from_ring_to_pap,
        }
        return given.done(by_ring[way](value, round_in))


def _own_error(given: Fields) -> float | None:
    """The standard error of a typed number, where it is known."""
    return given.number("error", above=0.0) if given.has("error") else None


def _one_of(given: Fields, ways: tuple[str, ...]) -> str:
    named = [way for way in ways if given.has(way)]
    if len(named) != 1:
        raise InputError(given.path, dict(given.raw), f"exactly one of {', '.join(ways)}")
    return named[0]


# Ball and lane.


def _setting(fields: Fields, hand: str) -> release_speed.Setting:
    """The ball and lane the speeds were read on; what isn't said is ordinary, and less sure."""
    ball = fields.child("ball") if fields.has("ball") else Fields({}, "ball")
    surface_known = ball.has("cover")
    games = ball.number("games", 0.0, low=0.0, high=10_000.0)
    closure = release_speed.closure_of(
        ball.choice("cover", tuple(surface.COVERS), "hybrid"),
        ball.choice("finish", tuple(surface.FINISHES), "2000"),
        care.Played(finish=games, oil=games, clean=games),
    )
    thrown = ball.done(
        release_speed.usual_ball(
            weight_lb=ball.number("weight_lb", 15.0, low=5.0, high=17.0),
            rg_low_in=ball.number("rg_low_in", 2.5, low=2.3, high=2.9),
            differential_in=ball.number("differential_in", 0.048, low=0.0, high=0.08),
            pin_to_pap_in=ball.number("pin_to_pap_in", 4.5, low=0.1, high=6.75),
        )
    )
    on, known = _lane(fields, hand, closure)
    grip, film = release_speed.doubts(oil_known=known, surface_known=surface_known)
    return release_speed.Setting(
        body=thrown,
        friction=on,
        laydown_board=fields.number("laydown_board", 20.0, low=1.0, high=39.0),
        launch_deg=fields.number("launch_deg", 1.5, low=-10.0, high=10.0),
        grip_share=grip,
        film_share=film,
    )


def _lane(fields: Fields, hand: str, closure: friction.Film) -> tuple[friction.Friction, bool]:
    """The lane's friction for this ball, and whether somebody said which lane it is."""
    if not fields.has("lane"):
        return release_speed.oiled(release_speed.usual_oil(), hand, closure), False
    given = fields.child("lane")
    with within(given.path):
        if given.has("mu"):
            return given.done(friction.constant(given.number("mu", low=0.0, high=5.0))), True
        if given.has("units"):
            feet = given.numbers("distance_ft", low=0.0)
            rows = given.value("units", f"{len(feet)} rows of 39 numbers")
            if not isinstance(rows, list | tuple):
                raise InputError(given.name("units"), rows, f"{len(feet)} rows of 39 numbers")
            units = [
                checked_list(f"{given.name('units')}[{i}]", row, low=0.0)
                for i, row in enumerate(rows)
            ]
            table = lane.table(feet, units)
        else:
            table = lane.picked(
                given.number("length_ft"),
                given.number("volume_ml"),
                given.number("inside_to_outside_ratio"),
                given.choice("shape", tuple(lane.SHAPES), "blended"),
                given.number("ramp_board") if given.has("ramp_board") else None,
            )
        return given.done(release_speed.oiled(table, hand, closure)), True
