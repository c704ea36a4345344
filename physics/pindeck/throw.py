"""One ball into the pins: the state it arrives with, and which pins are left standing."""

import math
from dataclasses import dataclass

import mujoco
import numpy as np
from numpy.typing import NDArray

from physics.pindeck import deck, pin
from physics.pindeck.deck import PINS, SPOTS_M
from physics.units import BOARD_M, CENTRE_BOARD, IN_TO_M

Array = NDArray[np.float64]

# A pin tilted further than this, or off the deck, is down.
DOWN_TILT = math.cos(math.radians(45))
# The ball starts where it can't touch a pin yet.
START_M = -0.25
LONGEST_S = 2.0
QUIET_J = 0.03
STEADY = math.cos(math.radians(5))
PIT_TAKES_M = -0.11
LOOK_EVERY = 50
BAD_ACCELERATION = mujoco.mjtWarning.mjWARN_BADQACC


@dataclass(frozen=True)
class Entry:
    """How a ball meets the pins, right-hander's boards.

    ``board``: its centre at the head pin's row; ``angle_deg``: towards the left of straight
    down-lane; ``speed_m_s``; ``mass_kg``, ``radius_m``, ``gyration_m``; ``spin``: angular velocity
    times radius over speed, along (its direction of travel, the left of it, up): full roll is
    (0, 1, any).
    """

    board: float
    angle_deg: float
    speed_m_s: float = 7.4
    mass_kg: float = 6.8
    radius_m: float = 4.2975 * IN_TO_M
    gyration_m: float = 2.53 * IN_TO_M
    spin: tuple[float, float, float] = (0.0, 1.0, 0.0)


@dataclass(frozen=True)
class Outcome:
    """``standing``: pin numbers left. ``left_deck_board``: where the ball left the deck, NaN if it
    didn't. ``time_s``: until all was quiet. ``sound`` is False where the run went wrong."""

    standing: tuple[int, ...]
    left_deck_board: float
    time_s: float
    sound: bool


def place(model, data, entry: Entry, *, spots_m: Array | None = None, pin_mass_kg=None) -> None:  # type: ignore[no-untyped-def]
    """Set the model's masses and the data's state for an entry; pins upright on their spots."""
    mujoco.mj_resetData(model, data)
    _all_in_play(model)
    ball = model.body("ball").id
    model.body_mass[ball] = entry.mass_kg
    model.body_inertia[ball] = entry.mass_kg * entry.gyration_m**2
    model.geom("ball").size[0] = entry.radius_m
    shape = pin.shape()
    for number in range(1, PINS + 1):
        try:
            body = model.body(f"pin{number}").id
        except KeyError:
            continue
        mass = 1.55 if pin_mass_kg is None else pin_mass_kg[number - 1]
        model.body_mass[body] = mass
        across, along = shape.gyration_m2
        model.body_inertia[body] = (mass * across, mass * across, mass * along)
        joint = model.jnt_qposadr[model.body_jntadr[body]]
        spot = SPOTS_M[number - 1] if spots_m is None else spots_m[number - 1]
        data.qpos[joint : joint + 3] = (*spot, shape.mass_centre_m)
    mujoco.mj_setConst(model, data)
    angle = math.radians(entry.angle_deg)
    along_lane, left = math.cos(angle), math.sin(angle)
    y = (entry.board - CENTRE_BOARD) * BOARD_M + START_M * math.tan(angle)
    data.qpos[:7] = (START_M, y, entry.radius_m, 1, 0, 0, 0)
    data.qvel[:3] = (entry.speed_m_s * along_lane, entry.speed_m_s * left, 0)
    ahead, across_spin, up = (s * entry.speed_m_s / entry.radius_m for s in entry.spin)
    data.qvel[3:6] = (
        ahead * along_lane - across_spin * left,
        ahead * left + across_spin * along_lane,
        up,
    )


def _all_in_play(model) -> None:  # type: ignore[no-untyped-def]
    """Undo what :func:`run` took out."""
    model.geom_contype[:] = model.geom_user[:, 0].astype(int)
    model.geom_conaffinity[:] = model.geom_user[:, 1].astype(int)
    model.body_gravcomp[:] = 0


def run(model, data, most_s: float = LONGEST_S) -> Outcome:  # type: ignore[no-untyped-def]
    """Let the pins fall until none is up, or nothing left on the deck could fell another.

    A pin needs about 0.034 J to be tipped over its rim, so what moves with less than ``QUIET_J``
    ends nothing. What has dropped into the pit is taken out of play.
    """
    numbers = [n for n in range(1, PINS + 1) if _has(model, n)]
    bodies = np.array([model.body(f"pin{n}").id for n in numbers])
    first = model.body_dofadr[bodies]
    velocities = first[:, None] + np.arange(6)
    height = pin.shape().mass_centre_m
    masses, inertias = model.body_mass[bodies], model.body_inertia[bodies]
    in_play = np.ones(len(numbers), bool)
    ball_geom = model.geom("ball").id
    left_deck = math.nan
    up = in_play
    while data.time < most_s:
        mujoco.mj_step(model, data, LOOK_EVERY)
        if not np.isfinite(data.qpos).all() or data.warning[BAD_ACCELERATION].number:
            return Outcome((), math.nan, data.time, False)
        x, y, z = data.qpos[:3]
        if math.isnan(left_deck) and x > deck.PIT_M:
            left_deck = y / BOARD_M + CENTRE_BOARD
        if model.geom_contype[ball_geom] and z < -0.05:
            _take_out(model, data, model.body("ball").id)
        where = data.xpos[bodies]
        for i in np.flatnonzero(in_play & (where[:, 0] > deck.PIT_M) & (where[:, 2] < PIT_TAKES_M)):
            in_play[i] = False
            _take_out(model, data, int(bodies[i]))
        leaning = data.xmat[bodies][:, 8]
        up = in_play & (leaning > DOWN_TILT) & (where[:, 2] > 0.6 * height)
        if not up.any():
            break
        v = data.qvel[velocities]
        energy = 0.5 * masses * (v[:, :3] ** 2).sum(1) + 0.5 * (inertias * v[:, 3:] ** 2).sum(1)
        lively = in_play & (energy > QUIET_J) | up & (leaning < STEADY)
        past = x > deck.PIT_M or z < 0.05 or data.qvel[0] < 0.02
        if past and not lively.any():
            break
    standing = tuple(n for n, stands in zip(numbers, up, strict=True) if stands)
    return Outcome(standing, left_deck, float(data.time), True)


def _take_out(model, data, body: int) -> None:  # type: ignore[no-untyped-def]
    """A body out of play: it hangs where it is and touches nothing."""
    begin, count = model.body_geomadr[body], model.body_geomnum[body]
    model.geom_contype[begin : begin + count] = 0
    model.geom_conaffinity[begin : begin + count] = 0
    model.body_gravcomp[body] = 1
    at = model.body_dofadr[body]
    data.qvel[at : at + 6] = 0
    data.qpos[model.jnt_qposadr[model.body_jntadr[body]]] += 5.0


def _has(model, number: int) -> bool:  # type: ignore[no-untyped-def]
    return bool(mujoco.mj_name2id(model, mujoco.mjtObj.mjOBJ_BODY, f"pin{number}") >= 0)
