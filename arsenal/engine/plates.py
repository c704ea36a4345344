"""The ball on the page: one ball's numbers for any layout, what its map shows, and what a change
of layout does to one and the same throw."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from arsenal.engine import between_holes, bodies, drilling, menu, ranking
from physics import body, bowler, care, layout, plate, shape, worth
from physics.cases import read_layout
from physics.errors import InputError
from physics.layout import Layout
from physics.units import KG_TO_LB, board_to_y_m

Array = NDArray[np.float64]
Question = Mapping[str, Any]

SEED = 1
# Between points of a curve on the map, inches; finer for what is small.
SPACING_IN, FINE_IN = 0.7, 0.1
# A step longer than this is a curve leaving the map on one side and coming in on the other.
JUMP_IN = 3.0
# What says how a hole is cut.
CUT = ("over_in", "up_in", "diameter_in", "depth_in", "pitch_forward_in", "pitch_lateral_in")


@dataclass(frozen=True)
class Laid:
    """A ball drilled for one layout, with the tracks of an ordinary throw where one is known.

    ``plugs``: holes of earlier drillings, filled since, where they lie in this grip frame.
    """

    drilled: body.Body
    placed: Layout
    holes: list[body.Hole]
    names: list[str]
    insides: list[Mapping[str, float] | None]
    plugs: list[tuple[str, body.Hole]]
    cg: Array
    flare: plate.Flare | None
    clear: list[plate.Clearance]


def layout_of(
    numbers: Mapping[str, Any], pap_in: tuple[float, float], radius_in: float
) -> dict[str, Any]:
    """One layout in every notation; raises InputError naming what can't be."""
    found: dict[str, Any] = read_layout(numbers, *pap_in, radius_in).numbers()
    return found | {"val_branch": "above_90" if found["val_angle_deg"] > 90 else "below_90"}


def cut_otherwise(question: Question, holes: Sequence[Mapping[str, float]]) -> dict[str, Any]:
    """The question about its ball with holes cut otherwise, one for each it has, in their order.

    ``holes``: the numbers of ``CUT``. What sits in a hole stays: a wider one has a thicker wall.
    Raises InputError naming a hole that is narrower than its sleeve is open.
    """
    ball = question["ball"]
    rows = []
    for number, (hole, cut) in enumerate(zip(ball["holes"], holes, strict=True)):
        row = {**hole, **cut}
        opening = ball.get("insides", {}).get(hole["kind"])
        if opening is not None and cut["diameter_in"] != hole["diameter_in"]:
            inside_in = opening["longer_in"] or opening["diameter_in"]
            if inside_in >= cut["diameter_in"]:
                raise InputError(
                    f"holes[{number}].diameter_in",
                    cut["diameter_in"],
                    f"more than {inside_in:.3f} in: that is open inside what sits in it",
                )
            row["density_g_cm3"] = drilling.net_density(
                cut["diameter_in"], opening["diameter_in"], opening["longer_in"]
            )
        if row.get("longer_in") and row["longer_in"] <= row["diameter_in"]:
            raise InputError(
                f"holes[{number}].diameter_in",
                cut["diameter_in"],
                f"less than {row['longer_in']:.3f} in, the longer axis of its oval",
            )
        rows.append(row)
    return {**question, "ball": {**ball, "holes": rows}}


def laid(question: Question, numbers: Mapping[str, Any], pap_in: tuple[float, float]) -> Laid:
    """The question's ball drilled for this layout; raises InputError naming what can't be."""
    ball = question["ball"]
    drilled, placed, holes = bodies.ball_of(
        ball["label"], numbers, ball["holes"], pap_in, plugs=ball.get("plugs", ())
    )
    names = bodies.hole_names(ball["holes"])
    insides = [ball.get("insides", {}).get(hole["kind"]) for hole in ball["holes"]]
    plugs = _plugs(ball.get("plugs", ()), placed)
    radius_in = placed.radius_in
    between_holes.refuse_impossible(tuple(holes), tuple(names), radius_in)
    cg = body.undrilled_cg(body.Label(**ball["label"]), placed)
    if not question["delivery"]:
        return Laid(drilled, placed, holes, names, insides, plugs, cg, None, [])
    who = _who(question)
    option = worth.Option(drilled, _closure(ball))
    flare_m = bodies.flare_m(option, who)
    seen_m = flare_m
    if question["conditions"]:
        condition = question["conditions"][0]
        seen_m = bodies.seen_flare_m(option, who, condition, question["customer"]["hand"])
    flared = plate.flare(drilled, who.tilt_deg, flare_m, seen_m)
    return Laid(
        drilled,
        placed,
        holes,
        names,
        insides,
        plugs,
        cg,
        flared,
        plate.clearances(flared, holes, radius_in),
    )


def _plugs(plugs: Sequence[Mapping[str, Any]], placed: Layout) -> list[tuple[str, body.Hole]]:
    kinds = [hole["kind"] for plug in plugs for hole in plug["holes"]]
    return [
        (bodies.HOLE_NAMES[kind], hole)
        for kind, hole in zip(kinds, bodies.plugged(plugs, placed), strict=True)
    ]


def figures(now: Laid) -> dict[str, Any]:
    """A laid-out ball's numbers, by names that pages and words use."""
    found: dict[str, Any] = now.drilled.numbers() | {
        "weight_lb": now.drilled.mass_kg * KG_TO_LB,
        "layout": now.placed.numbers(),
        "pin_above_fingers_in": _above_fingers(now),
        "holes": [
            {
                "name": name,
                "cut": [getattr(hole, number) for number in CUT],
                "to_pin_in": _arc(_middle(hole, now), now.placed.pin, now),
                "to_pap_in": _arc(_middle(hole, now), now.placed.pap, now),
                "clearance_in": clear.inches if clear else None,
            }
            for name, hole, clear in _with_clearance(now)
        ],
        "places": _places(now),
        "meetings": between_holes.meetings(
            tuple(now.holes), tuple(now.names), now.placed.radius_in
        ),
        "flare_in": None,
        "seen_flare_in": None,
        "track_in": None,
    }
    if now.flare is not None:
        found |= {
            "flare_in": now.flare.inches,
            "seen_flare_in": now.flare.seen_inches,
            "track_in": now.placed.radius_in * now.flare.away_rad,
        }
    return found


def _places(now: Laid) -> list[dict[str, Any]]:
    """Every point the maps show, with its numbers and what there is to say of it."""
    rows: list[tuple[str, Array, str]] = [
        ("Pin", now.placed.pin, "the low-RG axis"),
        ("PSA", now.placed.psa, "the high-RG axis, a quarter round from the pin"),
        ("CG", now.cg, "before drilling"),
        ("PAP", now.placed.pap, ""),
        ("Grip centre", plate.GRIP_CENTRE, ""),
    ]
    for (name, hole, clear), inside in zip(_with_clearance(now), now.insides, strict=True):
        size = f"{hole.diameter_in:.3f} in across"
        if hole.longer_in:
            size = f"oval, {hole.longer_in:.3f} × {hole.diameter_in:.3f} in"
        said = f"{size}, {hole.depth_in:.2f} in deep"
        if inside is not None:
            open_in, longer_in = inside["diameter_in"], inside["longer_in"]
            said += f", open {open_in:.3f}"
            said += f" × {longer_in:.3f} in, an oval, inside" if longer_in else " in inside"
        if clear is not None:
            said += (
                f"; the track clears its edge by {clear.inches:.2f} in"
                if clear.inches >= 0
                else f"; the track cuts it by {-clear.inches:.2f} in"
            )
        rows.append((f"{name.capitalize()} hole", _middle(hole, now), said))
    rows += [
        (f"Plug, {name}", _middle(hole, now), f"{hole.diameter_in:.3f} in across, filled since")
        for name, hole in now.plugs
    ]
    if now.flare is not None and now.flare.bow_ties is not None:
        rows += [("Bow tie", tie, "where the tracks cross") for tie in now.flare.bow_ties]
    radius_in = now.placed.radius_in
    return [
        {
            "name": name,
            "over_in": _over_up(at, radius_in)[0],
            "up_in": _over_up(at, radius_in)[1],
            "to_pap_in": _arc(at, now.placed.pap, now),
            "to_pin_in": _arc(at, now.placed.pin, now),
            "words": words,
        }
        for name, at, words in rows
    ]


def throw_before(question: Question) -> dict[str, Any] | None:
    """The ball as it is on its best line, and what finishes would do there, to be kept for the
    steps that follow; None where bowler, lanes or a playable line are missing."""
    if not question["delivery"] or not question["conditions"]:
        return None
    ball = question["ball"]
    setting = ranking.setting_of(question)
    pap = (ball["pap_over_in"], ball["pap_up_in"])
    option = worth.Option(_thrown_body(question, ball["layout"], pap), _closure(ball))
    lines = worth.seek(
        setting.who, [option], setting.tasks, lane_factors=setting.factors, seed=SEED
    )
    board, launch = float(lines.board[0, 0]), float(lines.launch_deg[0, 0])
    if not math.isfinite(board):
        return None
    line = {"board": board, "launch_deg": launch}
    before = _row(setting, option, line)
    finishes = []
    for finish in _finishes(ball):
        played = care.after(bodies.played_of(ball), "restore")
        cared = worth.Option(option.body, bodies.closure_of(ball["cover"], finish, played))
        row = _row(setting, cared, line)
        if np.isfinite(row[shape.ENTRY_BOARD]):
            boards = float(row[shape.ENTRY_BOARD] - before[shape.ENTRY_BOARD])
            finishes.append({"finish": finish, "boards": boards})
    return {
        "condition": question["conditions"][0]["name"],
        "line": line,
        "path": _path(before),
        "finishes": finishes,
    }


def throw_after(
    question: Question,
    before: Mapping[str, Any],
    numbers: Mapping[str, Any],
    pap_in: tuple[float, float],
) -> dict[str, Any]:
    """The same throw with the ball laid out anew, by the reference solver."""
    option = worth.Option(_thrown_body(question, numbers, pap_in), _closure(question["ball"]))
    return _path(_row(ranking.setting_of(question), option, before["line"]))


@dataclass(frozen=True)
class _Curves:
    """What both maps draw, as points on the ball: worked out once, laid flat twice."""

    midline: Array
    val: Array
    pin_to_pap: Array
    rims: list[Array]
    insides: list[list[Array]]
    plugs: list[Array]
    tracks: list[Array]


def maps_of(now: Laid) -> dict[str, dict[str, Any]]:
    """What lies where on the two maps, inches from their middles: about the PAP and the grip.

    Places are pairs, right and up; curves are arrays of them (n × 2).
    """
    radius_in = now.placed.radius_in
    curves = _Curves(
        midline=plate.midline(radius_in),
        val=plate.vertical_axis_line(now.placed.pap),
        pin_to_pap=plate.arc(now.placed.pap, now.placed.pin),
        rims=[plate.rim(hole, radius_in) for hole in now.holes],
        insides=[
            [] if inside is None else [plate.rim(replace(hole, **inside), radius_in)]
            for hole, inside in zip(now.holes, now.insides, strict=True)
        ],
        plugs=[plate.rim(hole, radius_in) for _, hole in now.plugs],
        tracks=[now.flare.track(k) for k in range(len(now.flare.axes))] if now.flare else [],
    )
    return {
        "pap": _map(now, curves, plate.about_pap(now.placed)),
        "grip": _map(now, curves, plate.about_grip(radius_in)),
    }


def _map(now: Laid, curves: _Curves, view: plate.View) -> dict[str, Any]:
    points = {
        "pap": now.placed.pap,
        "grip": plate.GRIP_CENTRE,
        "pin": now.placed.pin,
        "psa": now.placed.psa,
        "cg": now.cg,
    }

    def small(rims: Sequence[Array]) -> list[Array]:
        return [_thin(view.to_map(rim), FINE_IN) for rim in rims]

    found: dict[str, Any] = {
        "edge_in": view.edge_in,
        "points": {name: _place(view, at) for name, at in points.items()},
        "midline": _lines(view, curves.midline),
        "val": _lines(view, curves.val),
        "pin_to_pap": _lines(view, curves.pin_to_pap),
        "holes": [
            {
                "name": name,
                "rim": rim,
                "insides": small(insides),
                "edge": _place(view, clear.edge) if clear else None,
                "track": _place(view, clear.track) if clear else None,
                "clearance_in": clear.inches if clear else None,
            }
            for (name, _, clear), rim, insides in zip(
                _with_clearance(now), small(curves.rims), curves.insides, strict=True
            )
        ],
        "plugs": small(curves.plugs),
        "tracks": [_thin(view.to_map(track), SPACING_IN) for track in curves.tracks],
        "bands": [],
        "bow_ties": [],
    }
    if now.flare is not None:
        flare = now.flare
        # A track's disc that holds the point opposite the middle is the outside of its ring.
        outside = [
            math.acos(max(-1.0, min(1.0, float(axis @ view.centre)))) > math.pi - flare.away_rad
            for axis in flare.axes
        ]
        found |= {
            "bands": [
                {
                    "seen": k + 1 < flare.seen,
                    "between": (k, k + 1),
                    "with_edge": outside[k] != outside[k + 1],
                }
                for k in range(len(flare.axes) - 1)
            ],
            "bow_ties": []
            if flare.bow_ties is None
            else [_place(view, tie) for tie in flare.bow_ties],
        }
    return found


def _row(setting: ranking.Setting, option: worth.Option, line: Mapping[str, float]) -> Array:
    delivery = (board_to_y_m(line["board"]), line["launch_deg"], *setting.who.means())
    rows = worth.reference_rows(option, setting.tasks[0], setting.factors[0], np.array([delivery]))
    return np.asarray(rows[0])


def _path(row: Array) -> dict[str, float | None]:
    hook = float(shape.hook_length_ft(row))
    return {
        "board": _number(float(row[shape.ENTRY_BOARD])),
        "angle_deg": _number(float(row[shape.ENTRY_ANGLE_DEG])),
        "hook_ft": _number(hook),
    }


def _who(question: Question) -> bowler.Bowler:
    return bodies.bowler_of(question["delivery"], question["customer"]["average"])


def _closure(ball: Mapping[str, Any]) -> Any:
    return bodies.closure_of(ball["cover"], ball["finish"], bodies.played_of(ball))


def _thrown_body(
    question: Question, numbers: Mapping[str, Any], pap_in: tuple[float, float]
) -> body.Body:
    """Thrown about the PAP of the fitting, as rankings do, whichever it was laid out for."""
    ball, delivery = question["ball"], question["delivery"]
    thrown = (delivery["pap_over_in"]["mean"], delivery["pap_up_in"]["mean"])
    plugs = ball.get("plugs", ())
    return bodies.ball_of(ball["label"], numbers, ball["holes"], pap_in, thrown, plugs)[0]


def _finishes(ball: Mapping[str, Any]) -> list[str]:
    """Finishes a ball could have instead: polyester stays polished (common practice)."""
    if ball["cover"] == "polyester":
        return []
    return [finish for finish in menu.FINISHES if finish != ball["finish"]]


def _above_fingers(now: Laid) -> float | None:
    """How far the pin lies above the great circle through the finger holes, inches."""
    at = {name: _middle(hole, now) for name, hole in zip(now.names, now.holes, strict=True)}
    ends = [at.get(bodies.HOLE_NAMES[kind]) for kind in ("middle", "ring")]
    if ends[0] is None or ends[1] is None:
        return None
    square = np.cross(ends[0], ends[1])
    length = float(np.linalg.norm(square))
    if length < 1e-9:
        return None
    square = square / length * (1 if square[1] >= 0 else -1)
    return now.placed.radius_in * math.asin(max(-1.0, min(1.0, float(now.placed.pin @ square))))


def _with_clearance(now: Laid) -> list[tuple[str, body.Hole, plate.Clearance | None]]:
    clear: Sequence[plate.Clearance | None] = now.clear or [None] * len(now.holes)
    return list(zip(now.names, now.holes, clear, strict=True))


def _middle(hole: body.Hole, now: Laid) -> Array:
    radius_in = now.placed.radius_in
    return layout.on_sphere(hole.over_in / radius_in, hole.up_in / radius_in)


def _arc(a: Array, b: Array, now: Laid) -> float:
    return now.placed.radius_in * math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b))


def _over_up(at: Array, radius_in: float) -> tuple[float, float]:
    over, up = layout.over_up_rad(at)
    return over * radius_in, up * radius_in


def _place(view: plate.View, at: Array) -> tuple[float, float]:
    x, y = view.to_map(at)[0]
    return float(x), float(y)


def _lines(view: plate.View, points: Array) -> list[Array]:
    """A curve's pieces: it is cut where it leaves the map on one side to come in on another."""
    places = view.to_map(points)
    cuts = np.flatnonzero(_steps(places) > JUMP_IN) + 1
    return [_thin(part, SPACING_IN) for part in np.split(places, cuts) if len(part) > 1]


def _thin(places: Array, spacing_in: float) -> Array:
    """A curve's points no nearer than ``spacing_in`` to each other, with both its ends."""
    passed = np.floor(np.cumsum(_steps(places)) / spacing_in)
    keep = np.ones(len(places), dtype=bool)
    keep[1:-1] = np.diff(passed[:-1], prepend=0.0) > 0
    return places[keep]


def _steps(places: Array) -> Array:
    """From each point to the next, inches."""
    moved = np.diff(places, axis=0)
    return np.asarray(np.hypot(moved[:, 0], moved[:, 1]))


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
