"""What a customer of the demo is made of, and how a fitting's deliveries scatter."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from arsenal.demo.balls import Label


@dataclass(frozen=True)
class Throw:
    """What a delivery is read as; None where it wasn't read."""

    speed_mph: float | None
    rev_rate_rpm: float | None
    rotation_deg: float | None
    tilt_deg: float | None
    pap_over_in: float | None
    pap_up_in: float | None

    def readings(self) -> dict[str, float | None]:
        return dict(vars(self))


# How finely an instrument at a counter reads, and how far a throw lies from the next at an
# average of about 200: invented, in the neighbourhood of what bowlers do.
READ_TO = Throw(0.1, 5, 1, 1, 0.0625, 0.0625)
SCATTER = Throw(0.25, 9, 2.2, 1.1, 0.06, 0.05)


@dataclass(frozen=True)
class Visit:
    """A fitting: how long ago when the demo was first loaded, the throw about which its deliveries
    scatter, and how widely."""

    days_ago: int
    throw: Throw
    count: int = 5
    loose: float = 1.0
    draft: bool = False
    notes: str = ""
    # Which release was measured: "usual", "spares" or "other", and what another one is for.
    purpose: str = "usual"
    release_note: str = ""
    # Read by film, ring and ruler instead of typed as numbers.
    is_filmed: bool = False
    # Throws that got away, logged and then left out.
    slips: tuple[Throw, ...] = ()

    def deliveries(self, who: str) -> Iterator[tuple[Throw, bool]]:
        """Each delivery with whether it was left out: the same ones every time."""
        chance = random.Random(f"{who} {self.days_ago}")
        columns = {
            name: self._column(chance, name, mean) for name, mean in self.throw.readings().items()
        }
        for number in range(self.count):
            yield Throw(**{name: values[number] for name, values in columns.items()}), False
        for slip in self.slips:
            yield slip, True

    def _column(
        self, chance: random.Random, name: str, mean: float | None
    ) -> Sequence[float | None]:
        """One reading of all deliveries, as the instrument shows it."""
        spread, step = getattr(SCATTER, name) * self.loose, getattr(READ_TO, name)
        offs = [chance.gauss(0, spread) for _ in range(self.count)]
        middle = sum(offs) / self.count
        if mean is None:
            return [None] * self.count
        low = -2.5 if name == "pap_up_in" else 0.0
        high = 6.75 if name == "pap_over_in" else 1000.0
        read = [round((mean + off - middle) / step) * step for off in offs]
        return [round(min(max(value, low), high), 4) for value in read]


# Radius of the widest legal ball.
ROUND_IN = 8.595 / 2


@dataclass(frozen=True)
class Drilled:
    """One hole: kind, where, how wide and deep, and its pitches."""

    kind: str
    over_in: float
    up_in: float
    diameter_in: float
    depth_in: float
    pitch_forward_in: float = 0.0
    pitch_lateral_in: float = 0.0
    density_g_cm3: float = 1.2


def grip(
    *,
    finger_up: float = 2.609,
    thumb_down: float = 2.625,
    half_bridge: float = 0.609,
    finger: tuple[float, float] = (0.969, 1.75),
    thumb: tuple[float, float] | None = (1.0, 2.75),
    finger_pitch: float = 0.0,
    thumb_pitch: float = 0.0,
    under: float = 0.0,
) -> tuple[Drilled, ...]:
    """Holes of one hand: inches from the grip centre; ``under`` pitches the thumb to the PAP.

    ``half_bridge`` is half the way between the finger holes' middles, along the ball: meridians
    draw together toward the fingers, so each lies further over than that.
    """
    lie = math.sin(half_bridge / ROUND_IN) / math.cos(finger_up / ROUND_IN)
    over = round(ROUND_IN * math.asin(lie), 3)
    fingers = (
        Drilled("middle", -over, finger_up, *finger, finger_pitch),
        Drilled("ring", over, finger_up, *finger, finger_pitch),
    )
    if thumb is None:
        return fingers
    return (*fingers, Drilled("thumb", 0.0, -thumb_down, *thumb, thumb_pitch, under))


Layout = tuple[str, dict[str, Any]]


def angles(drilling: float, pin_to_pap: float, val: float) -> Layout:
    """Drilling angle × pin to PAP × VAL angle."""
    return "angles", {
        "drilling_angle_deg": float(drilling),
        "pin_to_pap_in": float(pin_to_pap),
        "val_angle_deg": float(val),
    }


def buffer(
    pin_to_pap: float, psa_to_pap: float, pin_buffer: float, branch: str = "below_90"
) -> Layout:
    """Pin to PAP × PSA to PAP × pin buffer."""
    return "buffer", {
        "pin_to_pap_in": float(pin_to_pap),
        "psa_to_pap_in": float(psa_to_pap),
        "pin_buffer_in": float(pin_buffer),
        "val_branch": branch,
    }


def read_off(pin_over: float, pin_up: float, psa_over: float, psa_up: float) -> Layout:
    """Over and up of the marks of pin and PSA, as found on the ball."""
    return "read_off", {
        "pin_over_in": float(pin_over),
        "pin_up_in": float(pin_up),
        "psa_over_in": float(psa_over),
        "psa_up_in": float(psa_up),
    }


@dataclass(frozen=True)
class Ball:
    """An owned ball; without holes of its own it has the customer's grip."""

    model: str
    label: Label
    layout: Layout
    finish: str
    games: int
    role: str = ""
    nickname: str = ""
    notes: str = ""
    pap: tuple[float, float] | None = None
    holes: tuple[Drilled, ...] | None = None
    retired: bool = False
    # Games since oil was drawn out and since it was cleaned; None: as many as since the finish.
    oil: int | None = None
    cleaned: int | None = None


@dataclass(frozen=True)
class Person:
    """A customer: who they are, how they throw, what they own and where they bowl.

    ``meets``: times a season by condition, or by condition and games bowled on it before.
    """

    name: str
    kind: str
    goal: str
    complaint: str
    visits: tuple[Visit, ...] = ()
    bag: tuple[Ball, ...] = ()
    meets: Mapping[str | tuple[str, int], int] = field(default_factory=dict)
    average: int | None = None
    born: int | None = None
    hand: str = "right"
    thumb: str = "in"
    hands: str = "one"
    at_spares: str = "assumed"
    fingers: str = "fingertip"
    notes: str = ""
    holes: tuple[Drilled, ...] = grip()

    def met(self) -> Iterator[tuple[str, int, int]]:
        """Condition, games on its oil before them, and times a season."""
        for state, times in self.meets.items():
            name, games = (state, 0) if isinstance(state, str) else state
            yield name, games, times

    def pap(self) -> tuple[float, float]:
        """PAP of the last visit that read one."""
        for visit in reversed([v for v in self.visits if v.purpose == "usual"]):
            over, up = visit.throw.pap_over_in, visit.throw.pap_up_in
            if over is not None and up is not None:
                return over, up
        return 5.0, 0.25
