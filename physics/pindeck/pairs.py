"""What the deck's contacts amount to: restitution of two bodies, and the head pin's direction."""

import math

import mujoco
import numpy as np

from physics.pindeck import deck, pin, throw
from physics.pindeck.deck import Contacts
from physics.units import BOARD_M, CENTRE_BOARD, IN_TO_M


def ball_on_pin(contacts: Contacts, speed_m_s: float = 7.5) -> float:
    """Restitution of a sliding ball met full on by the head pin's belly."""
    model = deck.model(contacts, (1,))
    data = mujoco.MjData(model)
    entry = throw.Entry(float(CENTRE_BOARD), 0.0, speed_m_s, spin=(0.0, 0.0, 0.0))
    throw.place(model, data, entry)
    model.opt.gravity[2] = 0.0
    ball, number = model.body("ball").id, model.body("pin1").id
    # Centre of the pin's mass level with the ball's centre, so that nothing turns.
    data.qpos[2] = pin.shape().belly_m
    mujoco.mj_step(model, data, round(0.03 / contacts.step_s))
    at = [model.body_dofadr[b] for b in (ball, number)]
    # Speed of the pin where it was struck, not of its centre.
    arm = pin.shape().belly_m - pin.shape().mass_centre_m
    struck = data.qvel[at[1]] + data.qvel[at[1] + 4] * arm
    return float((struck - data.qvel[at[0]]) / speed_m_s)


def pin_on_pin(contacts: Contacts, speed_m_s: float = 7.5) -> float:
    """Restitution of two pins met belly to belly, both upright."""
    model = deck.model(contacts, (1, 2))
    data = mujoco.MjData(model)
    throw.place(model, data, throw.Entry(1.0, 0.0))
    model.opt.gravity[2] = 0.0
    first, second = (model.body(f"pin{n}").id for n in (1, 2))
    data.qvel[:] = 0
    q1, q2 = (model.jnt_qposadr[model.body_jntadr[b]] for b in (first, second))
    data.qpos[q1 : q1 + 3] = (0.0, 0.0, 0.5)
    data.qpos[q2 : q2 + 3] = (0.15, 0.0, 0.5)
    d1, d2 = (model.body_dofadr[b] for b in (first, second))
    data.qvel[d1] = speed_m_s
    mujoco.mj_step(model, data, round(0.02 / contacts.step_s))
    arm = pin.shape().belly_m - pin.shape().mass_centre_m
    after = [data.qvel[d] + data.qvel[d + 4] * arm for d in (d1, d2)]
    return float((after[1] - after[0]) / speed_m_s)


def head_pin_direction(contacts: Contacts, board: float, angle_deg: float) -> float:
    """Direction in which the head pin leaves, degrees left of straight down-lane."""
    model = deck.model(contacts, (1,))
    data = mujoco.MjData(model)
    throw.place(model, data, throw.Entry(board, angle_deg, spin=(0.0, 1.0, 0.0)))
    mujoco.mj_step(model, data, round(0.05 / contacts.step_s))
    at = model.body_dofadr[model.body("pin1").id]
    return math.degrees(math.atan2(data.qvel[at + 1], data.qvel[at]))


def disc_direction(board: float, angle_deg: float) -> float:
    """The same for two frictionless discs: along the line of centres at contact."""
    offset = (CENTRE_BOARD - board) * BOARD_M * math.cos(math.radians(angle_deg))
    reach = (4.2975 + pin.BELLY_RADIUS_IN) * IN_TO_M
    return math.degrees(math.asin(offset / reach)) + angle_deg


def tips_from(contacts: Contacts, lean_deg: float) -> bool:
    """Whether a pin let go at rest from this lean falls."""
    model = deck.model(contacts, (1,))
    data = mujoco.MjData(model)
    throw.place(model, data, throw.Entry(1.0, 0.0))
    data.qvel[:] = 0
    data.qpos[:2] = (-0.6, -0.45)
    lean = math.radians(lean_deg)
    q = model.jnt_qposadr[model.body_jntadr[model.body("pin1").id]]
    rim, height = pin.BASE_RADIUS_IN * IN_TO_M, pin.shape().mass_centre_m
    # Turned about the rim it leans over.
    data.qpos[q] += rim - rim * math.cos(lean) + height * math.sin(lean)
    data.qpos[q + 2] = rim * math.sin(lean) + height * math.cos(lean)
    data.qpos[q + 3 : q + 7] = (math.cos(lean / 2), 0, math.sin(lean / 2), 0)
    mujoco.mj_step(model, data, round(1.5 / contacts.step_s))
    return bool(data.xmat[model.body("pin1").id][8] < math.cos(math.radians(45)))


def stand(contacts: Contacts, seconds: float = 2.0) -> float:
    """Largest lean, degrees, of ten pins left alone so long."""
    model = deck.model(contacts)
    data = mujoco.MjData(model)
    throw.place(model, data, throw.Entry(1.0, 0.0))
    data.qvel[:] = 0
    data.qpos[:2] = (-0.6, -0.45)
    mujoco.mj_step(model, data, round(seconds / contacts.step_s))
    upright = [data.xmat[model.body(f"pin{n}").id][8] for n in range(1, 11)]
    return math.degrees(math.acos(min(1.0, float(np.min(upright)))))
