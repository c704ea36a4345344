"""Plain numbers of a ranking's inputs into the bodies, lanes and bowlers of physics."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from arsenal.engine import wearing
from physics import (
    averaged,
    body,
    bowler,
    care,
    cavity,
    fitting,
    friction,
    grip,
    lane,
    layout,
    readings,
    shape,
    surface,
    track,
    wear,
    worlds,
    worth,
)
from physics.cases import read_layout
from physics.units import BOARDS, IN_TO_M, MPH_TO_M_S, RPM_TO_RAD_S, board_to_y_m

Array = NDArray[np.float64]

PATCH_IN = 0.6
# A flare long enough to matter for clearance is judged on this throw (laydown board, launch).
CLEARANCE_THROW = (20.0, 1.5)
CLEARANCE_FILM_UM = 1.0


def ball_of(
    label: Mapping[str, float],
    layout_numbers: Mapping[str, Any],
    holes: Sequence[Mapping[str, Any]],
    pap_in: tuple[float, float],
    thrown_pap_in: tuple[float, float] | None = None,
    plugs: Sequence[Mapping[str, Any]] = (),
) -> tuple[body.Body, layout.Layout, list[body.Hole]]:
    """A drilled body. ``pap_in`` is the PAP it was laid out for, ``thrown_pap_in`` the one it is
    thrown about, if another; ``plugs`` are earlier drillings, filled since. Always the
    right-hander's ball: in the own-side frame a left-hander's is the same. Raises InputError naming
    what can't be drilled."""
    placed = read_layout(layout_numbers, pap_in[0], pap_in[1], label["radius_in"])
    drilled_holes = holes_of(holes)
    filled = plugged(plugs, placed)
    drilled = body.drill(body.Label(**label), placed, [*drilled_holes, *filled])
    if thrown_pap_in is not None:
        over, up = (value / label["radius_in"] for value in thrown_pap_in)
        pap = layout.on_sphere(over, up)
        drilled = replace(drilled, pap_body=drilled.principal_axes @ pap)
        placed = replace(placed, pap=pap)
    return drilled, placed, drilled_holes


def holes_of(holes: Sequence[Mapping[str, Any]]) -> list[body.Hole]:
    return [body.Hole(**{k: float(v) for k, v in one.items() if k != "kind"}) for one in holes]


def plugged(plugs: Sequence[Mapping[str, Any]], placed: layout.Layout) -> list[body.Hole]:
    """Holes of earlier drillings in today's grip frame, each as heavy as what the plug left out of
    the ball: as what was drilled out is denser than its plug."""
    found = []
    for plug in plugs:
        over, up = plug["pap_in"]
        then = read_layout(plug["layout"], over, up, placed.radius_in)
        turn = cavity.rotation(then, placed)
        missing = grip.BALL_G_CM3 - plug["plug_g_cm3"]
        for hole in plug["holes"]:
            numbers = {k: float(v) for k, v in hole.items() if k != "kind"}
            was = body.Hole(**numbers | {"density_g_cm3": missing})
            found.append(cavity.carried(was, turn, placed.radius_in))
    return found


def played_of(ball: Mapping[str, Any]) -> care.Played:
    """Games since finish, oil and cleaning of an owned ball's numbers.

    Those stored before oil and cleaning were told apart only know the finish.
    """
    games = ball["games"]
    return care.Played(
        finish=games,
        oil=ball.get("games_since_oil_drawn", games),
        clean=ball.get("games_since_cleaned", games),
    )


def games_after(work: str, finish: int, oil: int, clean: int) -> tuple[int, int, int]:
    """Games since finish, oil and cleaning of a ball once some work on its cover is done."""
    played = care.after(care.Played(finish=finish, oil=oil, clean=clean), work)
    return round(played.finish), round(played.oil), round(played.clean)


@lru_cache(maxsize=1024)
def closure_of(cover: str, finish: str, played: care.Played = care.FRESH) -> friction.Film:
    """The film-ratio closure of a cover and finish, fresh or played for so many games."""
    kind = surface.COVERS[cover]
    return friction.Film(
        mu_oil=kind.mu_oil,
        mu_dry=care.dry_friction(cover, played),
        scale_um=surface.FILM_SCALE * care.roughness_um(finish, played.finish),
        exponent=1.0,
        absorption_per_s=kind.absorption_per_s,
        patch_m=PATCH_IN * IN_TO_M,
    )


@lru_cache(maxsize=1024)
def surface_of(
    cover: str, finish: str, played: care.Played
) -> tuple[friction.Film, tuple[float, float]]:
    """A surface's closure, and its roughness and dry friction as shares of what they were fresh."""
    fresh, now = (closure_of(cover, finish, at) for at in (care.FRESH, played))
    return now, (now.scale_um / fresh.scale_um, now.mu_dry / fresh.mu_dry)


def oil_of(numbers: Mapping[str, Any]) -> lane.OilTable:
    """The oil table of a condition's numbers, picked or given, as worn as they say."""
    fresh = as_laid_down(numbers)
    played = numbers.get("worn")
    return wearing.worn(fresh, played["games"], played["lane_factor"]).table if played else fresh


def pattern_of(numbers: Mapping[str, Any]) -> dict[str, Any]:
    """Length, volume, both crosswise ratios and class of a condition's oil.

    Oil that was bowled on ends where three units end: thin oil is carried further by every ball.
    """
    table = oil_of(numbers)
    length = table.reach_ft(lane.COUNTED_UNITS) if "worn" in numbers else table.length_ft
    return {
        "length_ft": round(length, 1),
        "volume_ml": table.volume_ml,
        "ratio": table.ratio,
        "board_10_ratio": table.board_10_ratio,
        "class": table.pattern_class,
    }


def as_laid_down(numbers: Mapping[str, Any]) -> lane.OilTable:
    """The oil before anybody bowled on it."""
    if "units" in numbers:
        return lane.table(numbers["distance_ft"], numbers["units"])
    return lane.picked(
        numbers["length_ft"],
        numbers["volume_ml"],
        numbers["inside_to_outside_ratio"],
        numbers["shape"],
        numbers.get("ramp_board"),
    )


def readings_of(
    delivery: Mapping[str, Mapping[str, Any]], average: float | None
) -> dict[str, Mapping[str, Any]]:
    """The six readings of a bowler; one never taken is that of such bowlers, on no delivery."""
    return {
        name: delivery.get(name)
        or {"mean": fitting.prior(name, average)[0], "sd": None, "count": 0}
        for name in fitting.NUMBERS
    }


def standard_error(
    name: str,
    reading: Mapping[str, Any],
    average: float | None,
    *,
    more: int = 0,
    instrument: readings.Instrument | None = None,
) -> float:
    """Standard error of a reading's mean, in its own unit.

    After so many ``more`` deliveries, or with another ``instrument`` (speed and rev rate as
    shares). The instrument is the one the reading names, else of a number typed as it was. What an
    instrument gets wrong every time stays however often it is read; what the
    bowler does anew each time is averaged out. A reading never taken is as wide as bowlers are.
    """
    count = reading["count"] + more
    if not count:
        return fitting.prior(name, average)[1]
    field = FIELD_OF[name]
    relative = field in ("speed", "rev_rate")
    repeat = getattr(bowler.prior_repeatability(average), field, fitting.PAP_REPEATABILITY_IN)
    sd = _share(reading) if relative else reading["sd"]
    # A spread seen on these deliveries says no more of the ones to come than it says of these.
    by = instrument or _named(reading, relative=relative) or readings.TYPED[field]
    error = by.error_of_mean(repeat, sd, reading["count"] or 1)
    own = math.sqrt(max(0.0, error**2 - by.shared**2) * (reading["count"] or 1) / count)
    return math.hypot(by.shared, own) * (abs(reading["mean"]) if relative else 1.0)


def _named(reading: Mapping[str, Any], *, relative: bool) -> readings.Instrument | None:
    """The instrument a reading says it was taken with; None for a number typed as it was."""
    if "own" not in reading:
        return None
    scale = 1 / abs(reading["mean"]) if relative and reading["mean"] else 1.0
    return readings.Instrument(reading["own"] * scale, reading["shared"] * scale)


# Names of readings as those of a bowler's repeatability and of instruments.
FIELD_OF = {
    "speed_mph": "speed",
    "rev_rate_rpm": "rev_rate",
    "rotation_deg": "rotation_deg",
    "tilt_deg": "tilt_deg",
    "pap_over_in": "pap_over_in",
    "pap_up_in": "pap_up_in",
}


# A level nobody has seen anything of: its factor, and the share of its doubt that is left.
NOTHING_LEARNT: dict[str, float] = {"factor": 1.0, "left": 1.0}


def spread_learnt(asked: Mapping[str, Any]) -> Mapping[str, float]:
    """What was learnt of a customer's spreads, as a ranking's inputs have it."""
    found: Mapping[str, float] = asked.get("learnt", {}).get("repeatability", NOTHING_LEARNT)
    return found


def oil_doubt(
    numbers: Mapping[str, Any], hand: str, learnt: Mapping[str, float] = NOTHING_LEARNT
) -> worlds.OilDoubt | None:
    """How far the lane's oil may lie from a condition's numbers: those of the picker stand for a
    family of tables; a table as measured may be off in its amount alone, which is None.

    What was ``learnt`` of the oil's amount scales it, and narrows the doubt of the volume."""
    if "units" in numbers:
        return None
    length_ft, volume_ml = numbers["length_ft"], numbers["volume_ml"]
    ratio, shape_name = numbers["inside_to_outside_ratio"], numbers["shape"]
    ramp_board = numbers.get("ramp_board")
    fresh, worn = as_laid_down(numbers), oil_of(numbers)

    volume = lane.PICK_NUMBERS.index("oil_volume")

    def film_um(z: Array) -> Array:
        z = np.array(z, float)
        z[volume] *= learnt["left"]
        table = lane.table_at(length_ft, volume_ml, ratio, shape_name, z, ramp_board=ramp_board)
        # Another table than the one played on is taken to be worn in the same places.
        worn_too = wear.worn_alike(table, fresh, worn) if "worn" in numbers else table
        return worn_too.own_side_film_um(hand) * learnt["factor"]

    return worlds.OilDoubt(lane.PICK_NUMBERS, film_um)


def bowler_of(
    delivery: Mapping[str, Mapping[str, Any]],
    average: float | None,
    learnt: Mapping[str, float] = NOTHING_LEARNT,
) -> bowler.Bowler:
    """The bowler as a distribution: fitted means, prior repeatability narrowed by the log, and
    times what was ``learnt`` of their spreads on the lanes."""
    read = readings_of(delivery, average)
    shares = {
        "speed": _share(read["speed_mph"]),
        "rev_rate": _share(read["rev_rate_rpm"]),
        "rotation_deg": read["rotation_deg"]["sd"],
        "tilt_deg": read["tilt_deg"]["sd"],
    }
    counts = {FIELD_OF[name]: r["count"] for name, r in read.items() if FIELD_OF[name] in shares}
    error = {name: standard_error(name, reading, average) for name, reading in read.items()}
    return bowler.Bowler(
        speed_m_s=read["speed_mph"]["mean"] * MPH_TO_M_S,
        spin_rad_s=max(read["rev_rate_rpm"]["mean"] * RPM_TO_RAD_S, 1.0),
        rotation_deg=read["rotation_deg"]["mean"],
        tilt_deg=read["tilt_deg"]["mean"],
        repeatability=bowler.times(
            bowler.with_logged(bowler.prior_repeatability(average), shares, counts),
            learnt["factor"],
        ),
        thrown=(
            error["speed_mph"] * MPH_TO_M_S,
            error["rev_rate_rpm"] * RPM_TO_RAD_S,
            error["rotation_deg"],
            error["tilt_deg"],
        ),
        pap_error_in=(error["pap_over_in"], error["pap_up_in"]),
        spread_error=(
            learnt["left"] * bowler.spread_error(average is not None, min(counts.values())),
            learnt["left"] * bowler.spread_error(average is not None),
        ),
    )


def _share(reading: Mapping[str, Any]) -> float | None:
    sd, mean = reading["sd"], reading["mean"]
    return None if sd is None or not mean else sd / mean


def flare_m(option: worth.Option, who: bowler.Bowler) -> float:
    """Arc the axis moves before the ball rolls, on an ordinary throw down a lane evenly oiled.

    A longer slide than most lanes give, so that clearance is judged on the safe side.
    """
    return float(flares_m([option.body], option.closure, who)[0])


def flares_m(balls: Sequence[body.Body], closure: friction.Film, who: bowler.Bowler) -> Array:
    """:func:`flare_m` of each of several balls with one surface."""
    film = np.full((lane.FILM_ROWS, BOARDS), CLEARANCE_FILM_UM)
    return np.asarray(_clearance_throws(balls, closure, who, film)[:, shape.FLARE_M])


def seen_flare_m(
    option: worth.Option, who: bowler.Bowler, condition: Mapping[str, Any], hand: str
) -> float:
    """How much of the flare draws rings: arc the axis moves while the same throw is still on the
    oil of a condition."""
    film = oil_of(condition["oil"]).own_side_film_um(hand)
    return float(
        _clearance_throws([option.body], option.closure, who, film)[0, shape.VISIBLE_FLARE_M]
    )


def _clearance_throws(
    balls: Sequence[body.Body], closure: friction.Film, who: bowler.Bowler, film_um: Array
) -> Array:
    board, launch = CLEARANCE_THROW
    throws = np.tile([board_to_y_m(board), launch, *who.means()], (len(balls), 1))
    closures = np.tile(closure.numbers(), (len(balls), 1))
    found: Array = averaged.run_each(
        throws, worth.body_rows(balls), closures, film_um, averaged.STEPS
    )
    return found


def clearances_in(
    drilled: body.Body,
    placed: layout.Layout,
    holes: Sequence[body.Hole],
    tilt_deg: float,
    flare: float,
) -> list[float]:
    """Least clearance of each hole's edge to the track anywhere along the flare, inches."""
    return track.flare_clearances_in(drilled, placed, holes, tilt_deg, flare)


def track_faults(names: Sequence[str], clear: Sequence[float]) -> list[str]:
    """Holes the track runs over, in words with by how much."""
    return [
        f"the track runs over the {name} hole by {-value:.2f} in"
        for name, value in zip(names, clear, strict=True)
        if value < 0
    ]


HOLE_NAMES = {"thumb": "thumb", "middle": "middle finger", "ring": "ring finger"}


def hole_names(holes: Sequence[Mapping[str, Any]]) -> list[str]:
    return [HOLE_NAMES.get(str(hole.get("kind", "")), "gripping") for hole in holes]
