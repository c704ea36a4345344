"""The pin deck as a rigid-body model: ten pins, the ball, deck, gutters, side boards and pit.

Deck frame: x down-lane from the head pin's spot, y to the left, z up from the deck. Lane, gutter,
spot and pin sizes are the trade's, cited beside each number; how contacts
give and rub is declared in :class:`Contacts`, each value within its stated range.
"""

from dataclasses import dataclass

import mujoco
import numpy as np
from numpy.typing import NDArray

from physics.pindeck import pin
from physics.units import IN_TO_M, LANE_WIDTH_IN

Array = NDArray[np.float64]

PINS = 10
# 12 in between spots in an equilateral triangle of 36 in (governing bodies); numbered as the trade
# does: 1 in front, then from left to right in each row.
SPOT_IN = 12.0
_ROW_IN = SPOT_IN * np.sqrt(3) / 2
SPOTS_M: Array = (
    np.array(
        [
            (row * _ROW_IN, (row / 2 - place) * SPOT_IN)
            for row in range(4)
            for place in range(row + 1)
        ]
    )
    * IN_TO_M
)
# Head-pin spot to pit, tail plank left out (trade articles).
PIT_M = (34 + 3 / 16) * IN_TO_M
# Flat gutters beside the deck: width and depth (the depth along the deck is from memory).
GUTTER_WIDTH_M, GUTTER_DEPTH_M = 9.25 * IN_TO_M, 3.5 * IN_TO_M
# Pit depth and distance of the cushion behind the deck: estimates; only what comes back matters.
PIT_DEPTH_M, CUSHION_M = 0.10, PIT_M + 0.75
APPROACH_M = 0.7


@dataclass(frozen=True)
class Contacts:
    """How contacts give and rub. Friction is Coulomb; damping is a share of critical damping.

    Restitutions follow from damping: ball and pin 0.65-0.78 is the test range (from memory, low
    confidence), the same taken for pin and pin; friction values are estimates between plastic and
    plastic or lacquer. ``time_s`` is how long a contact lasts; ``step_s`` the time step.
    """

    ball_pin_damping: float = 0.13
    pin_pin_damping: float = 0.14
    floor_damping: float = 0.35
    side_damping: float = 0.25
    cushion_damping: float = 1.0
    ball_pin_friction: float = 0.20
    pin_pin_friction: float = 0.25
    pin_floor_friction: float = 0.30
    ball_floor_friction: float = 0.20
    time_s: float = 1.6e-3
    step_s: float = 2e-4

    def reference(self, damping: float) -> str:
        """A contact's stiffness and damping for the engine, which takes both as negative."""
        rate = np.pi / self.time_s
        return f"{-(rate**2):.1f} {-2 * damping * rate:.3f}"


def model(
    contacts: Contacts | None = None, standing: tuple[int, ...] = tuple(range(1, 11))
) -> mujoco.MjModel:
    """The compiled model with the pins named in ``standing`` on their spots.

    Which of two touching bodies sets the contact is decided by the engine's priority: pins 0, ball
    1, floors and boards 2.
    """
    made = mujoco.MjModel.from_xml_string(_xml(contacts or Contacts(), standing))
    made.geom_user[:, 0], made.geom_user[:, 1] = made.geom_contype, made.geom_conaffinity
    return made


def _xml(c: Contacts, standing: tuple[int, ...]) -> str:
    shape = pin.shape()
    pins = "".join(_pin_xml(n, shape, c) for n in standing)
    half = LANE_WIDTH_IN / 2 * IN_TO_M
    deck_middle, deck_half = (PIT_M - APPROACH_M) / 2, (PIT_M + APPROACH_M) / 2
    gutter_y = half + GUTTER_WIDTH_M / 2
    wall_y = half + GUTTER_WIDTH_M
    long_middle, long_half = (CUSHION_M - APPROACH_M) / 2, (CUSHION_M + APPROACH_M) / 2
    pin_floor = (
        f'friction="{c.pin_floor_friction} 0.0005 0.00005" solref="{c.reference(c.floor_damping)}"'
    )
    ball_floor = (
        f'friction="{c.ball_floor_friction} 0.0005 0.00005" solref="{c.reference(c.floor_damping)}"'
    )
    side = (
        f'friction="{c.pin_floor_friction} 0.0005 0.00005" solref="{c.reference(c.side_damping)}"'
    )
    cushion = f'friction="0.6 0.0005 0.00005" solref="{c.reference(c.cushion_damping)}"'

    def box(at: tuple[float, float, float], size: tuple[float, float, float], kind: str) -> str:
        where = f'pos="{at[0]:.5f} {at[1]:.5f} {at[2]:.5f}"'
        return f'<geom type="box" {where} size="{size[0]:.5f} {size[1]:.5f} {size[2]:.5f}" {kind}/>'

    for_pins = 'contype="4" conaffinity="1" priority="2"'
    # Nothing has a bit of its own for this one: pins must not stand on the ball's floor as well.
    for_ball = 'contype="8" conaffinity="2" priority="2"'
    for_both = 'contype="4" conaffinity="3" priority="2"'
    deep = 0.2
    statics = [
        box((deck_middle, 0, -deep), (deck_half, half, deep), f"{for_pins} {pin_floor}"),
        box((deck_middle, 0, -deep), (deck_half, half, deep), f"{for_ball} {ball_floor}"),
        box((CUSHION_M + 0.1, 0, 0.5), (0.1, wall_y + 0.2, 1.0), f"{for_both} {cushion}"),
        box(
            (long_middle, 0, -deep - GUTTER_DEPTH_M - PIT_DEPTH_M),
            (long_half + 0.3, wall_y + 0.2, deep),
            f"{for_both} {cushion}",
        ),
    ]
    for sign in (-1, 1):
        statics.append(
            box(
                (deck_middle, sign * gutter_y, -deep - GUTTER_DEPTH_M),
                (deck_half, GUTTER_WIDTH_M / 2, deep),
                f"{for_both} {pin_floor}",
            )
        )
        statics.append(
            box(
                (long_middle, sign * (wall_y + 0.1), 0.3),
                (long_half, 0.1, 0.9),
                f"{for_both} {side}",
            )
        )
    return f"""<mujoco>
<option timestep="{c.step_s}" cone="elliptic" solver="Newton" gravity="0 0 -9.80665"
  integrator="Euler" tolerance="1e-6">
<flag sleep="enable"/></option>
<size memory="64M" nuser_geom="2"/>
<default><geom condim="3" solimp="0.99 0.99 0.001"/></default>
<worldbody>{"".join(statics)}
<body name="ball" pos="-0.6 0 0.109"><freejoint/>
<inertial pos="0 0 0" mass="6.8" diaginertia="0.028 0.028 0.028"/>
<geom name="ball" type="sphere" size="{4.2975 * IN_TO_M}" contype="2" conaffinity="1" priority="1"
 friction="{c.ball_pin_friction} 0.0005 0.00005" solref="{c.reference(c.ball_pin_damping)}"/>
</body>{pins}
</worldbody></mujoco>"""


def _pin_xml(number: int, shape: pin.PinShape, c: Contacts) -> str:
    x, y = SPOTS_M[number - 1]
    rub = (
        f'friction="{c.pin_pin_friction} 0.0005 0.00005" solref="{c.reference(c.pin_pin_damping)}"'
    )
    kind = f'contype="1" conaffinity="5" {rub}'
    centre = shape.mass_centre_m
    spheres = "".join(
        f'<geom type="sphere" pos="0 0 {z - centre:.6f}" size="{r:.6f}" {kind}/>'
        for z, r in zip(shape.centre_m, shape.radius_m, strict=True)
    )
    foot = 0.3 * IN_TO_M
    across, along = (1.55 * k for k in shape.gyration_m2)
    return f"""<body name="pin{number}" pos="{x:.6f} {y:.6f} {centre:.6f}"><freejoint/>
<inertial pos="0 0 0" mass="1.55" diaginertia="{across:.7f} {across:.7f} {along:.7f}"/>
<geom type="cylinder" pos="0 0 {foot - centre:.6f}" size="{pin.BASE_RADIUS_IN * IN_TO_M:.6f} {foot}"
 contype="1" conaffinity="4" {rub}/>
{spheres}</body>"""
