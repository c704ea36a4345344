"""Release speed from a speed read anywhere on the lane, by the reference solver.

A ball slows from release to the pins by an amount that depends on its spin, its surface and the
oil, so no constant turns a display or a timed mean into release speed. The solver throws this
bowler's delivery at the release speed that gives the reading; what isn't known for sure (rev rate,
rotation, tilt, where the display reads, friction, oil) is moved by its own standard error and the
answer found again. Own-side frame of :mod:`physics.motion`.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from physics import body, care, friction, lane, layout, motion, release, surface
from physics.errors import InputError
from physics.friction import Friction
from physics.readings import LaneSpeed, Quantity
from physics.units import (
    FOUL_LINE_TO_HEAD_PIN_M,
    FT_TO_M,
    M_S_TO_MPH,
    M_TO_FT,
    MPH_TO_M_S,
    RPM_TO_RAD_S,
    board_to_y_m,
)
from physics.worlds import Priors

# No bowler releases outside of this.
RELEASE_MPH = (5.0, 30.0)
PROFILE_M = 0.5 * FT_TO_M
# Speeds are read to 0.1 mph at best: a hundredth of that.
ROOT_MPH = 1e-3
MOST_ROUNDS = 60
SLOPE_MPH = 0.25
SHOT_TOLERANCE = 1e-6
# 60 ft in metres and back isn't 60 to the last bit.
LANE_FT = round(FOUL_LINE_TO_HEAD_PIN_M * M_TO_FT, 9)


@dataclass(frozen=True)
class Setting:
    """The ball and the lane of a reading, and how well their friction is known.

    ``grip_share``: standard error of friction as a share; ``film_share``: of the oil film against
    the surface's roughness, as a share.
    """

    body: body.Body
    friction: Friction
    laydown_board: float = 20.0
    launch_deg: float = 1.5
    grip_share: float = 0.0
    film_share: float = 0.0


@dataclass(frozen=True)
class Spin:
    """The rest of a release: rev rate (rpm), rotation and tilt (degrees), as they were read."""

    rev_rate_rpm: Quantity
    rotation_deg: Quantity
    tilt_deg: Quantity


def usual_ball(
    pap_over_in: float = 5.0,
    pap_up_in: float = 0.5,
    *,
    weight_lb: float = 15.0,
    rg_low_in: float = 2.5,
    differential_in: float = 0.048,
    pin_to_pap_in: float = 4.5,
) -> body.Body:
    """A symmetric ball without holes, ordinary in whatever isn't said."""
    radius = 4.2975
    pap = layout.on_sphere(pap_over_in / radius, pap_up_in / radius)
    placed = layout.from_angles(pap, 45.0, pin_to_pap_in, 35.0, radius)
    label = body.Label(weight_lb, radius, rg_low_in, differential_in, 0.0, 2.5, 2.5)
    return body.drill(label, placed, [])


def closure_of(
    cover: str = "hybrid", finish: str = "2000", played: care.Played = care.FRESH
) -> friction.Film:
    """Closure of a cover and finish, fresh or played for so many games."""
    kind = surface.COVERS[cover]
    return friction.Film(
        kind.mu_oil,
        care.dry_friction(cover, played),
        surface.FILM_SCALE * care.roughness_um(finish, played.finish),
        absorption_per_s=kind.absorption_per_s,
    )


def oiled(table: lane.OilTable, hand: str, closure: friction.Film) -> Friction:
    """An oil table under a ball's closure, in the bowler's own-side frame."""
    x_m, y_m = lane.own_side_grid_m()
    return friction.oiled(x_m, y_m, table.own_side_film_um(hand), closure)


def usual_oil() -> lane.OilTable:
    """An ordinary house pattern: 41 ft, 25 mL, 8 : 1, falling off in a blend."""
    return lane.picked(41.0, 25.0, 8.0, "blended")


def doubts(*, oil_known: bool, surface_known: bool) -> tuple[float, float]:
    """Standard errors, as shares, of friction and of the film against the roughness.

    Those of the ranking's priors. Where nobody says which, the house may have half or twice the oil
    and grip a tenth more or less, and the cover another tenth, its roughness as much as the oil
    (estimates).
    """
    known = Priors()
    grip = [known.lane_friction, known.cover_friction, known.own_friction]
    film = [known.oil_amount, known.finish_roughness]
    grip += [0.1] * (not oil_known) + [0.1] * (not surface_known)
    film += [math.log(2)] * (not oil_known) + [math.log(2)] * (not surface_known)
    return math.hypot(*grip), math.hypot(*film)


def scaled(on: Friction, grip: float, film: float) -> Friction:
    """A friction map with its coefficients times ``grip`` and its film times ``film``."""
    mu_oil, mu_dry, scale, exponent, absorption, patch = on.film
    table = on.table * grip if on.kind == friction.GRID else on.table
    closure = (mu_oil * grip, mu_dry * grip, scale / film, exponent, absorption, patch)
    return replace(on, zone_mu=on.zone_mu * grip, table=table, film=closure)


def throw(release_mph: float, spin: tuple[float, float, float], setting: Setting) -> motion.Shot:
    """One delivery by the reference solver; ``spin``: rev rate (rpm), rotation and tilt (deg)."""
    rpm, rotation, tilt = spin
    ball = setting.body
    orientation, omega = release.orientation_and_spin(
        inertia=[ball.mass_kg * rg**2 for rg in ball.principal_rg_m],
        pap_body=ball.pap_body,
        direction=release.spin_direction(rotation, tilt, setting.launch_deg, "right"),
        rev_rate_rad_s=rpm * RPM_TO_RAD_S,
        spin_phase_deg=0.0,
        hand="right",
    )
    return motion.deliver(
        mass_kg=ball.mass_kg,
        radius_m=ball.radius_m,
        principal_rg_m=ball.principal_rg_m,
        position_m=(0.0, board_to_y_m(setting.laydown_board)),
        velocity_m_s=release.launch_velocity(release_mph * MPH_TO_M_S, setting.launch_deg, "right"),
        orientation=orientation,
        omega_body_rad_s=omega,
        friction=setting.friction,
        profile_step_m=PROFILE_M,
        tolerance=SHOT_TOLERANCE,
    )


def speed_on_lane_mph(
    release_mph: float,
    spin: tuple[float, float, float],
    setting: Setting,
    from_ft: float,
    to_ft: float,
) -> float:
    """Speed along the lane of a delivery: mean over a stretch, or at one place; NaN if it stops."""
    profile = throw(release_mph, spin, setting).profile
    x = PROFILE_M * np.arange(len(profile))
    if to_ft > from_ft:
        times = np.interp([from_ft * FT_TO_M, to_ft * FT_TO_M], x, profile[:, 0])
        mean = (to_ft - from_ft) * FT_TO_M / (times[1] - times[0])
        return float(mean) * M_S_TO_MPH
    return float(np.interp(to_ft * FT_TO_M, x, profile[:, 2])) * M_S_TO_MPH


def release_mph(reading: LaneSpeed, spin: Spin, setting: Setting) -> Quantity:
    """The release speed, mph, that gives a reading on the lane, with all that makes it uncertain.

    Each input is moved by its standard error up and down and the reading's change divided by that
    per mph of release (the law of propagation, JCGM 100:2008, 5.1). The reading's own error stays
    its own; everything else is shared by the bowler's other shots. Raises :class:`InputError` for a
    place off the lane and for a reading that no release from 5 to 30 mph gives.
    """
    for name, place in (("from_ft", reading.from_ft), ("to_ft", reading.to_ft)):
        if not 0 <= place <= LANE_FT:
            raise InputError(
                "at_ft" if reading.from_ft == reading.to_ft else name,
                place,
                f"a place on the lane, 0 to {LANE_FT:g} ft past the foul line",
            )
    read = reading.mph
    rpm, rotation, tilt = (q.value for q in (spin.rev_rate_rpm, spin.rotation_deg, spin.tilt_deg))

    def there(
        release: float = 0.0,
        *,
        rpm_more: float = 0.0,
        rotation_more: float = 0.0,
        tilt_more: float = 0.0,
        shift_ft: float = 0.0,
        grip: float = 0.0,
        film: float = 0.0,
    ) -> float:
        """The reading this release gives, with one thing moved."""
        ends = [min(LANE_FT, max(0.0, at + shift_ft)) for at in (reading.from_ft, reading.to_ft)]
        moved = scaled(setting.friction, math.exp(grip), math.exp(film))
        return speed_on_lane_mph(
            release,
            (max(0.0, rpm + rpm_more), rotation + rotation_more, max(0.0, tilt + tilt_more)),
            replace(setting, friction=moved) if grip or film else setting,
            ends[0],
            ends[1],
        )

    found = _root(lambda v: there(v) - read.value)
    if not math.isfinite(found):
        raise _impossible(reading, [there(v) for v in RELEASE_MPH])
    per_mph = (there(found + SLOPE_MPH) - there(found - SLOPE_MPH)) / (2 * SLOPE_MPH)
    errors = {
        "rpm_more": spin.rev_rate_rpm.error,
        "rotation_more": spin.rotation_deg.error,
        "tilt_more": spin.tilt_deg.error,
        "shift_ft": reading.place_sd_ft,
        "grip": setting.grip_share,
        "film": setting.film_share,
    }
    parts = [read.shared] + [
        (there(found, **{name: error}) - there(found, **{name: -error})) / 2
        for name, error in errors.items()
        if error > 0
    ]
    return Quantity(
        found,
        read.own / per_mph,
        math.hypot(*parts) / per_mph,
        f"{read.how}, turned to release by the solver",
        read.raw,
    )


def _impossible(reading: LaneSpeed, ends: list[float]) -> InputError:
    raw = reading.mph.raw
    name = next((n for n in ("display_mph", "seconds") if n in raw), "speed_mph")
    least, most = (f"{v:.1f}" if math.isfinite(v) else "0" for v in ends)
    return InputError(
        name,
        raw.get(name, reading.mph.value),
        f"a speed that some release from {RELEASE_MPH[0]:g} to {RELEASE_MPH[1]:g} mph gives: with "
        f"this rev rate {least} to {most} mph there (this is {reading.mph.value:.1f}); read it "
        "again, and see to where on the lane it is read and to the rev rate",
    )


def _root(over: Callable[[float], float]) -> float:
    """Release speed at which ``over`` is 0, by regula falsi with Illinois' halving; NaN if none.

    A ball that stops short counts as reading nothing: too slow.
    """

    def at(v: float) -> float:
        value = over(v)
        return value if math.isfinite(value) else -math.inf

    low, high = RELEASE_MPH
    f_low, f_high = at(low), at(high)
    if f_low > 0 or f_high < 0:
        return math.nan
    side = 0
    for _ in range(MOST_ROUNDS):
        if math.isfinite(f_low) and f_high > f_low:
            middle = (low * f_high - high * f_low) / (f_high - f_low)
        else:
            middle = (low + high) / 2
        f = at(middle)
        if abs(f) < ROOT_MPH or high - low < ROOT_MPH:
            return middle
        if f > 0:
            high, f_high = middle, f
            f_low = f_low / 2 if side == 1 else f_low
            side = 1
        else:
            low, f_low = middle, f
            f_high = f_high / 2 if side == -1 else f_high
            side = -1
    return middle
