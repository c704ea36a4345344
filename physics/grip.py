"""A hand's measures and the holes they put in a ball, either way round.

Frame of :mod:`physics.layout`: over towards the PAP, up towards the fingers, out at the grip
centre; a left-hander's numbers are a right-hander's on the mirrored ball. The ring finger lies on
the PAP side. The centreline runs through the middle of the bridge and the thumb; the grip centre
lies on it halfway between the edges the spans run between. Without a thumb the grip centre is the
mark where the middle of the palm lies: spans run to it, and over and up of every point on the
ball, the PAP's too, are counted from it.

Sources: where spans run and where the grip centre lies, rule-book text as quoted in a trade
article, its middle from memory; the rest is spherical trigonometry.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from physics.body import Hole
from physics.errors import InputError
from physics.layout import on_sphere, over_up_rad

Vector = NDArray[np.float64]

# The widest legal ball, 8.595 in across.
RADIUS_IN = 8.595 / 2
# Of cover and filler, and of inserts and slugs: estimates, makers publish neither.
BALL_G_CM3 = SLEEVE_G_CM3 = 1.2
FINGERS = ("middle", "ring")


@dataclass(frozen=True)
class Digit:
    """One hole of a grip, inches.

    ``hole_in`` is drilled in the ball. ``inside_in`` is what an insert or slug in it leaves open;
    None when there is none. ``oval_in`` is (width, depth) of a thumb cut oval, its longer and
    shorter axis, and ``oval_angle_deg`` that of the longer from the centreline, positive when its
    upper end leans to the PAP side. An oval without ``hole_in`` is cut in the ball itself.
    Pitches: forward brings the bottom of the hole towards the palm, lateral towards the PAP side.
    """

    hole_in: float | None
    depth_in: float
    inside_in: float | None = None
    pitch_forward_in: float = 0.0
    pitch_lateral_in: float = 0.0
    oval_in: tuple[float, float] | None = None
    oval_angle_deg: float = 0.0

    @property
    def drilled_in(self) -> float:
        """Diameter of what is drilled, of an oval that of a round hole as large."""
        if self.hole_in is not None:
            return self.hole_in
        return math.sqrt(self.oval_in[0] * self.oval_in[1]) if self.oval_in else 0.0

    @property
    def open_share(self) -> float:
        """Share of the drilled hole that stays open once insert or slug is in."""
        if self.hole_in is None:
            return 1.0
        inside = self.hole_in**2 if self.inside_in is None else self.inside_in**2
        if self.oval_in:
            inside = self.oval_in[0] * self.oval_in[1]
        return min(1.0, inside / self.hole_in**2)

    def reach_in(self, finished: bool) -> float:
        """From the hole's middle to its edge along the span: as drilled, or where it is held."""
        if self.oval_in and (finished or self.hole_in is None):
            angle = math.radians(self.oval_angle_deg)
            return math.hypot(
                self.oval_in[0] / 2 * math.cos(angle), self.oval_in[1] / 2 * math.sin(angle)
            )
        inside = self.inside_in if finished and self.inside_in is not None else None
        return (self.drilled_in if inside is None else inside) / 2


@dataclass(frozen=True)
class Grip:
    """Spans, bridge and holes of one hand, inches along the ball's surface.

    Spans run from the edge of a finger hole that is nearest the thumb to the thumb hole's edge
    nearest the fingers; without a thumb to the palm mark. ``finished`` spans are measured where
    finger and thumb rest, inside insert and slug; the others between the holes as drilled. The
    bridge is what is left of the ball between the finger holes as drilled.
    """

    span_middle_in: float
    span_ring_in: float
    bridge_in: float
    middle: Digit
    ring: Digit
    thumb: Digit | None = None
    finished: bool = False

    def as_drilled(self) -> "Grip":
        """The same grip with its spans between the holes as drilled."""
        if not self.finished:
            return self
        palm = self._walls(self.thumb)
        return replace(
            self,
            span_middle_in=self.span_middle_in - self._walls(self.middle) - palm,
            span_ring_in=self.span_ring_in - self._walls(self.ring) - palm,
            finished=False,
        )

    def as_held(self) -> "Grip":
        """The same grip with its spans where finger and thumb rest."""
        if self.finished:
            return self
        palm = self._walls(self.thumb)
        return replace(
            self,
            span_middle_in=self.span_middle_in + self._walls(self.middle) + palm,
            span_ring_in=self.span_ring_in + self._walls(self.ring) + palm,
            finished=True,
        )

    @staticmethod
    def _walls(digit: Digit | None) -> float:
        return 0.0 if digit is None else digit.reach_in(False) - digit.reach_in(True)


def holes(grip: Grip, radius_in: float = RADIUS_IN) -> dict[str, Hole]:
    """The holes of a grip by finger: middle, ring and, with a thumb, thumb.

    Raises InputError for spans that no such bridge allows.
    """
    cut = grip.as_drilled()
    points, centre_rad = _placed(cut, radius_in)
    digits = {"middle": cut.middle, "ring": cut.ring, "thumb": cut.thumb}
    return {
        kind: _hole(digit, _turned(points[kind], -centre_rad), radius_in)
        for kind, digit in digits.items()
        if digit is not None
    }


def measured(drilled: Mapping[str, Hole], radius_in: float = RADIUS_IN) -> Grip:
    """The grip of a ball's holes, its spans between the holes as drilled.

    Holes don't say what is in them: insides are unknown. Without a thumb hole spans run to the
    grip centre, which is the palm mark. Raises InputError when a finger hole is missing.
    """
    for kind in FINGERS:
        if kind not in drilled:
            raise InputError("holes", sorted(drilled), f"holes with one for the {kind} finger")
    at = {
        kind: on_sphere(hole.over_in / radius_in, hole.up_in / radius_in)
        for kind, hole in drilled.items()
    }
    thumb = drilled.get("thumb")
    palm = at["thumb"] if thumb else np.array([0.0, 0.0, 1.0])
    digits = {kind: _digit(hole) for kind, hole in drilled.items()}
    edge = digits["thumb"].reach_in(False) if thumb else 0.0
    spans = [
        radius_in * _arc(at[kind], palm) - digits[kind].reach_in(False) - edge for kind in FINGERS
    ]
    apart = radius_in * _arc(at["middle"], at["ring"])
    return Grip(
        span_middle_in=spans[0],
        span_ring_in=spans[1],
        bridge_in=apart - (digits["middle"].drilled_in + digits["ring"].drilled_in) / 2,
        middle=digits["middle"],
        ring=digits["ring"],
        thumb=digits.get("thumb"),
    )


def on_map(over_in: float, up_in: float, radius_in: float = RADIUS_IN) -> tuple[float, float]:
    """A point of the ball on a flat map about the grip centre, inches: distances and directions
    from the centre are true (azimuthal equidistant). x is over, y is up."""
    point = on_sphere(over_in / radius_in, up_in / radius_in)
    away = math.hypot(point[0], point[1])
    if away < 1e-12:
        return 0.0, 0.0
    arc = radius_in * math.atan2(away, float(point[2]))
    return float(arc * point[0] / away), float(arc * point[1] / away)


def _placed(grip: Grip, radius_in: float) -> tuple[dict[str, Vector], float]:
    """Points of the holes with the middle of the bridge at the middle of the map, and how far
    down the centreline from there the grip centre lies, radians (negative is down).

    With the bridge's middle at (0, 0, 1), the fingers lie an arc m and r from it along a great
    circle turned by θ, the thumb an arc t down the centreline. The cosine law to each finger,
    cos L = cos m cos t ± sin m sin t sin θ, gives t, then θ.
    """
    m, r = ((grip.bridge_in / 2 + d.drilled_in / 2) / radius_in for d in (grip.middle, grip.ring))
    palm = grip.thumb.reach_in(False) if grip.thumb else 0.0
    arcs = {
        "middle": (grip.span_middle_in + grip.middle.reach_in(False) + palm) / radius_in,
        "ring": (grip.span_ring_in + grip.ring.reach_in(False) + palm) / radius_in,
    }
    to_middle, to_ring = math.cos(arcs["middle"]), math.cos(arcs["ring"])
    along = (math.sin(r) * to_middle + math.sin(m) * to_ring) / math.sin(m + r)
    down = math.acos(along) if abs(along) < 1 else 0.0
    turn = (to_middle - math.cos(m) * along) / (math.sin(m) * math.sin(down)) if down else 2.0
    if abs(turn) > 1:
        raise InputError(
            "span_ring_in",
            grip.span_ring_in,
            "a span that meets the other one with this bridge: they differ by more than the "
            "fingers lie apart, or are shorter than the bridge allows",
        )
    lie = math.sqrt(1 - turn**2)
    points = {
        "middle": np.array([-math.sin(m) * lie, -math.sin(m) * turn, math.cos(m)]),
        "ring": np.array([math.sin(r) * lie, math.sin(r) * turn, math.cos(r)]),
        "thumb": np.array([0.0, -math.sin(down), math.cos(down)]),
    }
    if grip.thumb is None:
        return points, -down
    middles = [
        _span_middle(points[kind], points["thumb"], digit.reach_in(False), palm, radius_in)
        for kind, digit in (("middle", grip.middle), ("ring", grip.ring))
    ]
    return points, sum(math.atan2(point[1], point[2]) for point in middles) / len(middles)


def _span_middle(
    finger: Vector, thumb: Vector, finger_edge_in: float, thumb_edge_in: float, radius_in: float
) -> Vector:
    """Halfway between the two edges a span runs between."""
    arc = _arc(finger, thumb)
    half = (arc + (finger_edge_in - thumb_edge_in) / radius_in) / 2
    return np.asarray(
        (math.sin(arc - half) * finger + math.sin(half) * thumb) / math.sin(arc), dtype=np.float64
    )


def _turned(point: Vector, by_rad: float) -> Vector:
    """Turned along the centreline, up for positive."""
    c, s = math.cos(by_rad), math.sin(by_rad)
    return np.array([point[0], c * point[1] + s * point[2], c * point[2] - s * point[1]])


def _hole(digit: Digit, point: Vector, radius_in: float) -> Hole:
    over, up = over_up_rad(point)
    longer, shorter = (0.0, digit.drilled_in)
    if digit.hole_in is None and digit.oval_in:
        longer, shorter = digit.oval_in
    round_hole = longer <= shorter
    return Hole(
        over_in=over * radius_in,
        up_in=up * radius_in,
        diameter_in=shorter,
        depth_in=digit.depth_in,
        longer_in=0.0 if round_hole else longer,
        oval_angle_deg=0.0 if round_hole else digit.oval_angle_deg,
        pitch_forward_in=digit.pitch_forward_in,
        pitch_lateral_in=digit.pitch_lateral_in,
        # What is missing from the finished ball: an insert or slug puts some of it back.
        density_g_cm3=BALL_G_CM3 - SLEEVE_G_CM3 * (1 - digit.open_share),
    )


def _digit(hole: Hole) -> Digit:
    oval = (hole.longer_in, hole.diameter_in) if hole.longer_in else None
    return Digit(
        hole_in=None if oval else hole.diameter_in,
        oval_in=oval,
        oval_angle_deg=hole.oval_angle_deg,
        depth_in=hole.depth_in,
        pitch_forward_in=hole.pitch_forward_in,
        pitch_lateral_in=hole.pitch_lateral_in,
    )


def _arc(a: Vector, b: Vector) -> float:
    return math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b))
