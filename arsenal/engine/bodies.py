"""Plain numbers of a ranking's inputs into the bodies, lanes and bowlers of physics."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from physics import (
    averaged,
    body,
    bowler,
    care,
    friction,
    lane,
    layout,
    readings,
    shape,
    surface,
    track,
    worth,
)
from physics.cases import read_layout
from physics.units import BOARDS, IN_TO_M, MPH_TO_M_S, RPM_TO_RAD_S, board_to_y_m

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
) -> tuple[body.Body, layout.Layout, list[body.Hole]]:
    """A drilled body. ``pap_in`` is the PAP it was laid out for, ``thrown_pap_in`` the one it is
    thrown about, if another. Always the right-hander's ball: in the own-side frame a left-hander's
    is the same. Raises InputError naming what can't be drilled."""
    placed = read_layout(layout_numbers, pap_in[0], pap_in[1], label["radius_in"])
    drilled_holes = [
        body.Hole(**{k: float(v) for k, v in hole.items() if k != "kind"}) for hole in holes
    ]
    drilled = body.drill(body.Label(**label), placed, drilled_holes)
    if thrown_pap_in is not None:
        over, up = (value / label["radius_in"] for value in thrown_pap_in)
        pap = layout.on_sphere(over, up)
        drilled = replace(drilled, pap_body=drilled.principal_axes @ pap)
        placed = replace(placed, pap=pap)
    return drilled, placed, drilled_holes


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


def oil_of(numbers: Mapping[str, Any]) -> lane.OilTable:
    """The oil table of a condition's numbers, picked or given."""
    if "units" in numbers:
        return lane.table(numbers["distance_ft"], numbers["units"])
    return lane.picked(
        numbers["length_ft"],
        numbers["volume_ml"],
        numbers["inside_to_outside_ratio"],
        numbers["shape"],
    )


def bowler_of(delivery: Mapping[str, Mapping[str, Any]], average: float | None) -> bowler.Bowler:
    """The bowler as a distribution: fitted means, prior repeatability narrowed by the log."""
    means = {name: reading["mean"] for name, reading in delivery.items()}
    shares = {
        "speed": _share(delivery["speed_mph"]),
        "rev_rate": _share(delivery["rev_rate_rpm"]),
        "rotation_deg": delivery["rotation_deg"]["sd"],
        "tilt_deg": delivery["tilt_deg"]["sd"],
    }
    counts = {
        "speed": delivery["speed_mph"]["count"],
        "rev_rate": delivery["rev_rate_rpm"]["count"],
        "rotation_deg": delivery["rotation_deg"]["count"],
        "tilt_deg": delivery["tilt_deg"]["count"],
    }
    prior = bowler.prior_repeatability(average)
    repeat = bowler.with_logged(prior, shares, counts)
    error = {
        name: readings.TYPED[name].error_of_mean(getattr(prior, name), shares[name], counts[name])
        for name in counts
    }
    speed, spin = means["speed_mph"] * MPH_TO_M_S, means["rev_rate_rpm"] * RPM_TO_RAD_S
    return bowler.Bowler(
        speed_m_s=speed,
        spin_rad_s=max(spin, 1.0),
        rotation_deg=means["rotation_deg"],
        tilt_deg=means["tilt_deg"],
        repeatability=repeat,
        thrown=(
            error["speed"] * speed,
            error["rev_rate"] * spin,
            error["rotation_deg"],
            error["tilt_deg"],
        ),
    )


def _share(reading: Mapping[str, Any]) -> float | None:
    sd, mean = reading["sd"], reading["mean"]
    return None if sd is None or not mean else sd / mean


def flare_m(option: worth.Option, who: bowler.Bowler) -> float:
    """Arc the axis moves before the ball rolls, on an ordinary throw down a lane evenly oiled.

    A longer slide than most lanes give, so that clearance is judged on the safe side.
    """
    ball, p = worth.body_tuple(option.body)
    board, launch = CLEARANCE_THROW
    throw = np.array([[board_to_y_m(board), launch, *who.means()]])
    film = np.full((lane.FILM_ROWS, BOARDS), CLEARANCE_FILM_UM)
    result = averaged.run_many(throw, ball, p, option.closure.numbers(), film, averaged.STEPS)
    return float(result[0, shape.FLARE_M])


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
