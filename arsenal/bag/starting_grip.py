"""Where a grip may start when nothing is known of the customer's last one.

Every number here is a starting point: common practice, no source. The customer's hand is measured
before anything is drilled.
"""

from __future__ import annotations

from typing import TypedDict

from arsenal.bag.models import Hole, OwnedBall


class HoleNumbers(TypedDict):
    """One hole as the form and the engine name it."""

    kind: str
    over_in: float
    up_in: float
    diameter_in: float
    depth_in: float
    pitch_forward_in: float
    pitch_lateral_in: float
    density_g_cm3: float


def _hole(
    kind: Hole.Kind, over_in: float, up_in: float, size: tuple[float, float], forward: float = 0.0
) -> HoleNumbers:
    return {
        "kind": kind.value,
        "over_in": over_in,
        "up_in": up_in,
        "diameter_in": size[0],
        "depth_in": size[1],
        "pitch_forward_in": forward,
        "pitch_lateral_in": 0.0,
        "density_g_cm3": 1.2,
    }


def _grip(
    half_bridge: float, finger_up: float, finger: tuple[float, float], thumb_up: float, pitch: float
) -> list[HoleNumbers]:
    # Ring finger on the PAP side: looking at the ball with the fingers up, a right hand's ring
    # finger and PAP both lie to the right; a left-hander's ball is the mirror image.
    return [
        _hole(Hole.Kind.MIDDLE, -half_bridge, finger_up, finger),
        _hole(Hole.Kind.RING, half_bridge, finger_up, finger),
        _hole(Hole.Kind.THUMB, 0.0, thumb_up, (1.0, 2.75), pitch),
    ]


# Bridges of 1/4, 5/16 and 3/8 in; spans of about 4 1/4, 3 3/4 and 3 1/4 in, edge to edge.
STARTING_GRIPS: dict[str, list[HoleNumbers]] = {
    "fingertip": _grip(0.609, 2.609, (0.969, 1.75), -2.625, 0.0),
    "semi": _grip(0.61, 2.32, (0.906, 2.0), -2.375, 0.25),
    "conventional": _grip(0.625, 2.06, (0.875, 2.25), -2.125, 0.25),
}


def starting_holes(fingers: str, thumb: str) -> list[HoleNumbers]:
    """A starting grip for this kind of grip; without a thumb hole when the thumb stays out."""
    holes = STARTING_GRIPS.get(fingers, STARTING_GRIPS["fingertip"])
    return [dict(h) for h in holes if thumb != "none" or h["kind"] != "thumb"]  # type: ignore[misc]


def holes_of(ball: OwnedBall) -> list[HoleNumbers]:
    """The holes of an earlier ball, to copy into a new one."""
    return [
        {
            "kind": hole.kind,
            "over_in": hole.over_in,
            "up_in": hole.up_in,
            "diameter_in": hole.diameter_in,
            "depth_in": hole.depth_in,
            "pitch_forward_in": hole.pitch_forward_in,
            "pitch_lateral_in": hole.pitch_lateral_in,
            "density_g_cm3": hole.density_g_cm3,
        }
        for hole in ball.holes.all()
    ]
