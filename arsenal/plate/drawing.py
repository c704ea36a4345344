"""The plate as a picture: inches of the engine's maps into the numbers of an SVG.

Both maps are drawn as somebody looking at that point of the ball with the fingers up sees it: the
PAP side is to the right of a right-hander's ball and to the left of a left-hander's.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

RADIUS = 200.0
# The map about the grip shows what marking needs: the PAP and the pin fit, the far side doesn't.
GRIP_REACH_IN = 7.25
POINT_WORDS = {"pap": "PAP", "grip": "grip centre", "pin": "pin", "psa": "PSA", "cg": "CG"}
QUARTER_IN = 6.75
# Lines of text nearer than this to one another are moved apart.
LINE, BESIDE = 13.0, 9.0

Place = tuple[float, float]


@dataclass(frozen=True)
class Label:
    text: str
    x: float
    y: float
    anchor: str
    kind: str = "plain"


@dataclass(frozen=True)
class Spot:
    """A marked point: ``kind`` says which sign it gets."""

    kind: str
    x: float
    y: float


@dataclass(frozen=True)
class HoleDrawn:
    name: str
    rim: str
    insides: list[str]
    gap: str
    cut: bool


@dataclass(frozen=True)
class Picture:
    """One map, ready for its template: paths, spots and labels in the picture's own units."""

    about: str
    title: str
    edge: float
    quarter: float
    midline: str
    val: str
    pin_to_pap: str
    bands: list[tuple[str, str]]
    first_track: str
    last_track: str
    plugs: list[str]
    holes: list[HoleDrawn]
    spots: list[Spot]
    labels: list[Label]


def pictures(maps: Mapping[str, Mapping[str, Any]], hand: str) -> list[Picture]:
    """The map about the PAP, then the one about the grip."""
    return [picture(maps["pap"], "pap", hand), picture(maps["grip"], "grip", hand)]


def picture(drawn: Mapping[str, Any], about: str, hand: str) -> Picture:
    """``drawn``: one map of ``engine.plates.maps_of``."""
    reach_in = drawn["edge_in"] if about == "pap" else GRIP_REACH_IN
    pen = _Pen(RADIUS / reach_in, -1.0 if hand == "left" else 1.0)
    points = {name: pen.at(place) for name, place in drawn["points"].items()}
    tracks = [pen.closed(track) for track in drawn["tracks"]]
    middle = "PAP" if about == "pap" else "grip centre"
    return Picture(
        about=about,
        title=f"The ball about the {middle}: distances from the {middle} are true",
        edge=RADIUS,
        quarter=round(QUARTER_IN * pen.scale, 1),
        midline=pen.lines(drawn["midline"]),
        val=pen.lines(drawn["val"]),
        pin_to_pap=pen.lines(drawn["pin_to_pap"]),
        bands=_bands(pen, drawn, tracks),
        first_track=tracks[0] if tracks else "",
        last_track=tracks[-1] if tracks else "",
        plugs=[pen.closed(rim) for rim in drawn["plugs"]],
        holes=[_hole(pen, hole) for hole in drawn["holes"]],
        spots=[Spot(name, *place) for name, place in points.items() if _within(place)]
        + [Spot("bow-tie", *at) for at in map(pen.at, drawn["bow_ties"]) if _within(at)],
        labels=_labels(pen, drawn, points),
    )


class _Pen:
    """Inches, y up, into the picture's units, y down; mirrored for a left-hander."""

    def __init__(self, scale: float, side: float) -> None:
        self.scale, self.side = scale, side

    def at(self, place_in: Sequence[float]) -> Place:
        x, y = place_in
        return round(self.side * x * self.scale, 1) + 0.0, round(-y * self.scale, 1) + 0.0

    def path(self, places_in: ArrayLike) -> str:
        """A line through places (n × 2)."""
        drawn = np.asarray(places_in) * (self.side * self.scale, -self.scale)
        return "M" + "L".join(f"{x:g} {y:g}" for x, y in (drawn.round(1) + 0.0).tolist())

    def lines(self, pieces: Iterable[ArrayLike]) -> str:
        return "".join(self.path(piece) for piece in pieces)

    def closed(self, places_in: ArrayLike) -> str:
        return f"{self.path(places_in)}Z"


def _bands(pen: _Pen, drawn: Mapping[str, Any], tracks: Sequence[str]) -> list[tuple[str, str]]:
    """Between each two tracks what only one of them holds: filled by the even-odd rule."""
    whole = drawn["edge_in"] * pen.scale
    half = f"A{whole:.1f} {whole:.1f} 0 1 0"
    edge = f"M{-whole:.1f} 0{half} {whole:.1f} 0{half} {-whole:.1f} 0Z"
    return [
        (
            "seen" if band["seen"] else "unseen",
            "".join(tracks[k] for k in band["between"]) + (edge if band["with_edge"] else ""),
        )
        for band in drawn["bands"]
    ]


def _hole(pen: _Pen, hole: Mapping[str, Any]) -> HoleDrawn:
    gap = pen.path([hole["edge"], hole["track"]]) if hole["edge"] else ""
    clearance = hole["clearance_in"]
    return HoleDrawn(
        name=hole["name"],
        rim=pen.closed(hole["rim"]),
        insides=[pen.closed(ring) for ring in hole.get("insides", [])],
        gap=gap,
        cut=clearance is not None and clearance < 0,
    )


def _labels(pen: _Pen, drawn: Mapping[str, Any], points: Mapping[str, Place]) -> list[Label]:
    """Names beside their signs, pushed apart where they would lie on one another."""
    wanted: list[tuple[str, Place, str]] = [
        (POINT_WORDS[name], place, name) for name, place in points.items()
    ]
    wanted += [("bow tie", pen.at(at), "bow-tie") for at in drawn["bow_ties"]]
    for hole in drawn["holes"]:
        clear = hole["clearance_in"]
        if clear is not None:
            wanted.append((f"{clear:.2f}".replace("-", "−") + " in", pen.at(hole["track"]), "gap"))
    taken: list[tuple[float, float, float, float]] = []
    found = []
    for text, (x, y), kind in wanted:
        if not _within((x, y)):
            continue
        wide = 6.4 * len(text)
        fits = x + BESIDE + wide < RADIUS
        anchor, left = ("start", x + BESIDE) if fits else ("end", x - BESIDE - wide)
        tries = [0.0, -LINE, LINE, -2 * LINE, 2 * LINE, -3 * LINE, 3 * LINE]
        boxes = [(left, y + 4 + step - 10, left + wide, y + 4 + step + 2) for step in tries]
        box = next((b for b in boxes if not any(_meet(b, t) for t in taken)), boxes[0])
        taken.append(box)
        text_x = box[0] if anchor == "start" else box[2]
        found.append(Label(text, round(text_x, 1), round(box[3] - 2, 1), anchor, kind))
    return found


def _meet(a: Sequence[float], b: Sequence[float]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _within(place: Place) -> bool:
    return math.hypot(*place) <= RADIUS
