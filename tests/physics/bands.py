"""Rung 6 as rows: what published deliveries do in the model beside what is reported of them.

Nothing here is fitted. Each row has its source and status; a row outside its band is reported as
outside. Sources marked "read" were read by those who gathered the reference, "second-hand" are
accounts of a source, "from memory" nobody looked up.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from physics import shape, worth
from physics.units import M_S_TO_MPH, M_TO_FT, MPH_TO_M_S, RPM_TO_RAD_S
from tests.physics import scenes


@dataclass(frozen=True)
class Style:
    """A published release. Tilt isn't published: 12 degrees, common practice."""

    name: str
    source: str
    mph: float
    rpm: float
    rotation_deg: float


# The governing body's three styles give an "axis angle" of 80, 70 and 60 degrees. It may be counted
# from the direction of travel, so that the rotation is 90 less it, or be the rotation itself: an
# inference either way, so both are thrown. Rotation of the tour groups isn't published: 45, common
# practice.
STYLES = (
    Style("governing body, low revs, rotation 10", "read", 19.0, 220.0, 10.0),
    Style("governing body, middle, rotation 20", "read", 18.0, 325.0, 20.0),
    Style("governing body, high revs, rotation 30", "read", 19.0, 520.0, 30.0),
    Style("governing body, low revs, rotation 80", "read", 19.0, 220.0, 80.0),
    Style("governing body, middle, rotation 70", "read", 18.0, 325.0, 70.0),
    Style("governing body, high revs, rotation 60", "read", 19.0, 520.0, 60.0),
    Style("30 men of a tour, 2020", "read (newspaper)", 18.61, 436.0, 45.0),
    Style("10 women of a tour, 2020", "read (newspaper)", 17.83, 297.0, 45.0),
)


@dataclass(frozen=True)
class Band:
    """A measured or reported range and what the model gives."""

    what: str
    style: str
    source: str
    low: float
    high: float
    found: float

    @property
    def inside(self) -> bool:
        return self.low <= self.found <= self.high


@functools.cache
def delivered(style: Style) -> tuple[float, ...]:
    """Result row of the reference solver on the best line of a hybrid on house oil."""
    option, task = scenes.option(), scenes.task()
    who = scenes.man(
        speed_m_s=style.mph * MPH_TO_M_S,
        spin_rad_s=style.rpm * RPM_TO_RAD_S,
        rotation_deg=style.rotation_deg,
    )
    lines = worth.seek(who, [option], [task])
    board, launch = float(lines.board[0, 0]), float(lines.launch_deg[0, 0])
    thrown = scenes.throw(board, launch, style.mph, style.rpm, style.rotation_deg)
    row = worth.reference_rows(option, task, 1.0, np.array([thrown]))[0]
    return tuple(float(v) for v in row)


def lost_mph(style: Style) -> float:
    return style.mph - delivered(style)[shape.ENTRY_SPEED_M_S] * M_S_TO_MPH


def rows() -> Iterator[Band]:
    for style in STYLES:
        got = delivered(style)
        yield Band(
            "speed lost from release to the pins, mph",
            style.name,
            "second-hand: 2-2.5 to a down-lane reading, 2.5-3 over the lane (magazine, web)",
            2.0,
            3.0,
            lost_mph(style),
        )
        yield Band(
            "entry angle into the pocket, degrees",
            style.name,
            "read: the governing body's window of 4 to 6",
            4.0,
            6.0,
            got[shape.ENTRY_ANGLE_DEG],
        )
        yield Band(
            "skid, feet (until a quarter of the turn is spent)",
            style.name,
            "second-hand: about 20 ft from the foul line, by pattern",
            10.0,
            30.0,
            got[shape.QUARTER_M] * M_TO_FT,
        )
        yield Band(
            "where it begins to roll, feet (60 if not before the pins)",
            style.name,
            "from memory, low confidence: 45 to 60",
            45.0,
            60.0,
            60.0 if np.isnan(got[shape.ROLL_M]) else got[shape.ROLL_M] * M_TO_FT,
        )
