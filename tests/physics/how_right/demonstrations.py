"""What a sceptical technician can measure at home, each with a worked example by the engine.

The example ball is ours: 15 lb, RG 2.50, differential 0.048, top weight 2.5 oz, pin 2.5 in from the
CG, PAP 5 over 1/2 up, three holes. Every number is computed here.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from physics import MODEL_VERSION, averaged, body, bowler, lane, layout, shape, track, worth
from physics.fields import Fields
from physics.release_speed import closure_of
from physics.surface import COVERS, FINISHES
from physics.units import (
    FT_TO_M,
    KG_TO_OZ,
    M_S_TO_MPH,
    M_TO_FT,
    M_TO_IN,
    MPH_TO_M_S,
    RPM_TO_RAD_S,
    board_to_y_m,
    y_m_to_board,
)
from tests.physics.how_right.pictures import Series, plot
from tests.physics.how_right.rungs import Picture
from tests.physics.referee_geometry import arc_in, point

RADIUS_IN = 27 / (2 * math.pi)
PAP_IN = (5.0, 0.5)
ANGLES = (50.0, 4.0, 40.0)
LABEL = body.Label(15.0, RADIUS_IN, 2.5, 0.048, 0.0, 2.5, 2.5)
THUMB = body.Hole(0.0, -2.625, 1.0, 2.75)
FINGERS = (body.Hole(-0.609, 2.609, 31 / 32, 1.75), body.Hole(0.609, 2.609, 31 / 32, 1.75))
HOUSE = (41.0, 25.0, 8.0, "blended")
TRIED = ("500", "2000", "4000", "polished")
THROWS = 8
TEMPLATE = Path(__file__).parent / "at_home.md"
OZ_TO_G = 1000 / KG_TO_OZ


def placed(angles: tuple[float, float, float] = ANGLES) -> layout.Layout:
    pap = layout.on_sphere(PAP_IN[0] / RADIUS_IN, PAP_IN[1] / RADIUS_IN)
    return layout.from_angles(pap, *angles, RADIUS_IN)


def drilled(
    holes: tuple[body.Hole, ...] = (THUMB, *FINGERS),
    angles: tuple[float, float, float] = ANGLES,
) -> body.Body:
    return body.drill(LABEL, placed(angles), holes)


def statics() -> dict[str, Any]:
    """Before and after the holes, and what a thumb an eighth deeper would change."""
    deep = (replace(THUMB, depth_in=THUMB.depth_in + 1 / 8), *FINGERS)
    whole, gripped, deeper = drilled(()), drilled(), drilled(deep)
    named = {
        "before, as marked": whole,
        "after thumb and fingers": gripped,
        "after, thumb 1/8 in deeper": deeper,
    }
    rows = [(name, *(f"{s:+.2f} oz" for s in b.static_oz), _pounds(b)) for name, b in named.items()]
    apart = [abs(a - b) for a, b in zip(gripped.static_oz, deeper.static_oz, strict=True)]
    side_oz = abs(gripped.static_oz[1])
    return {
        "statics_table": table(("", "top", "PAP side", "finger", "weight"), rows),
        "taken_g": 1000 * (whole.mass_kg - gripped.mass_kg),
        "arm_in": 2 * RADIUS_IN,
        "side_oz": side_oz,
        "side_g": side_oz * OZ_TO_G,
        "deeper_oz": max(apart),
        "deeper_g": 1000 * (gripped.mass_kg - deeper.mass_kg),
    }


def _pounds(ball: body.Body) -> str:
    pounds, ounces = divmod(ball.mass_kg * KG_TO_OZ + 1e-9, 16)
    return f"{pounds:.0f} lb {ounces:.1f} oz"


def marks() -> dict[str, Any]:
    """Three layouts by coordinates, and by distances from the referee's own geometry."""
    pap = point(*PAP_IN, RADIUS_IN)
    rows = []
    for angles in (ANGLES, (70.0, 5.0, 20.0), (30.0, 3.0, 70.0)):
        n = placed(angles).numbers()
        pin = point(n["pin_over_in"], n["pin_up_in"], RADIUS_IN)
        psa = point(n["psa_over_in"], n["psa_up_in"], RADIUS_IN)
        arcs = [arc_in(*pair, RADIUS_IN) for pair in ((pin, pap), (psa, pap), (pin, psa))]
        rows.append(
            (
                in_words(angles),
                f"{n['pin_over_in']:.2f}, {n['pin_up_in']:.2f} in",
                f"{n['psa_over_in']:.2f}, {n['psa_up_in']:.2f} in",
                *(f"{arc:.2f} in" for arc in [*arcs, n["pin_buffer_in"]]),
            )
        )
    head = ("layout", "pin over, up", "PSA over, up", "pin to PAP", "PSA to PAP", "pin to PSA")
    return {"marks_table": table((*head, "pin to VAL"), rows)}


def in_words(angles: tuple[float, float, float]) -> str:
    return f"{angles[0]:g}° × {angles[1]:g} in × {angles[2]:g}°"


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table as Markdown."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines)


@dataclass(frozen=True)
class Case:
    """One bowler, line and ball, thrown in four finishes."""

    mph: float = 17.5
    rpm: float = 350.0
    rotation_deg: float = 45.0
    tilt_deg: float = 12.0
    laydown_board: float = 22.0
    launch_deg: float = 2.4
    average: float = 200.0
    oil_length_ft: float = HOUSE[0]
    oil_volume_ml: float = HOUSE[1]
    oil_ratio: float = HOUSE[2]
    oil_shape: str = "blended"
    cover: str = "hybrid"

    def film_um(self) -> Any:
        table = lane.picked(self.oil_length_ft, self.oil_volume_ml, self.oil_ratio, self.oil_shape)
        return table.own_side_film_um("right")

    def task(self) -> worth.Task:
        return worth.Task(self.film_um(), 1.0)

    def who(self) -> bowler.Bowler:
        return bowler.Bowler(
            speed_m_s=self.mph * MPH_TO_M_S,
            spin_rad_s=self.rpm * RPM_TO_RAD_S,
            rotation_deg=self.rotation_deg,
            tilt_deg=self.tilt_deg,
            repeatability=bowler.prior_repeatability(self.average),
            thrown=(0.0, 0.0, 0.0, 0.0),
        )

    def throw(self) -> tuple[float, ...]:
        return (board_to_y_m(self.laydown_board), self.launch_deg, *self.who().means())

    def throws(self) -> Any:
        return np.array([self.throw()])


RANGES = {
    "mph": (8.0, 30.0),
    "rpm": (0.0, 800.0),
    "rotation_deg": (0.0, 90.0),
    "tilt_deg": (0.0, 45.0),
    "laydown_board": (1.0, 39.0),
    "launch_deg": (-10.0, 10.0),
    "average": (50.0, 300.0),
    "oil_length_ft": (20.0, 55.0),
    "oil_volume_ml": (1.0, 60.0),
    "oil_ratio": (1.0, 20.0),
}


def read_case(given: Mapping[str, Any]) -> Case:
    """A case from JSON; what is left out is the worked example's. Errors name the field."""
    fields, plain = Fields(given), Case()
    numbers: dict[str, Any] = {
        name: fields.number(name, getattr(plain, name), low=low, high=high)
        for name, (low, high) in RANGES.items()
    }
    words: dict[str, Any] = {
        "oil_shape": fields.choice("oil_shape", tuple(lane.SHAPES), plain.oil_shape),
        "cover": fields.choice("cover", tuple(COVERS), plain.cover),
    }
    fields.done()
    return Case(**numbers, **words)


def option_of(case: Case, finish: str) -> worth.Option:
    return worth.Option(drilled(), closure_of(case.cover, finish), case.cover, finish)


def predicted(case: Case) -> dict[str, Any]:
    """What each finish is expected to do on one line, and how far a mean of so many throws is off.

    ``entry_board_if``: the board with 8 % less and more friction, all finishes alike.
    """
    task = case.task()
    rows = {}
    for finish in TRIED:
        option = option_of(case, finish)
        row = worth.reference_rows(option, task, 1.0, case.throws())[0]
        either = [
            float(worth.reference_rows(option, task, f, case.throws())[0, shape.ENTRY_BOARD])
            for f in (0.92, 1.08)
        ]
        rows[finish] = {
            "entry_board": round(float(row[shape.ENTRY_BOARD]), 1),
            "entry_board_if": [round(v, 1) for v in either],
            "entry_deg": round(float(row[shape.ENTRY_ANGLE_DEG]), 1),
            "quarter_of_turn_ft": round(float(row[shape.QUARTER_M]) * M_TO_FT, 1),
            "mph_at_pins": round(float(row[shape.ENTRY_SPEED_M_S]) * M_S_TO_MPH, 1),
            "on_lane": bool(row[shape.ON_LANE] > 0.5),
        }
    return {
        "model_version": MODEL_VERSION,
        "case": vars(case),
        "throws_of_each": THROWS,
        "standard_error_of_a_mean_boards": round(_scatter(case) / math.sqrt(THROWS), 2),
        "finishes": rows,
    }


def _scatter(case: Case) -> float:
    """Standard deviation of the entry board of one line from throw to throw, boards."""
    who, option, film = case.who(), option_of(case, "2000"), case.film_um()
    z = bowler.normal_samples(512, 5)
    means, spreads = np.array(who.means()), np.array(who.spreads())
    throws = np.column_stack(
        [
            board_to_y_m(case.laydown_board) + z[:, 4] * spreads[4],
            case.launch_deg + z[:, 5] * spreads[5],
            *(means[i] + z[:, i] * spreads[i] for i in range(4)),
        ]
    )
    ball, p = worth.body_tuple(option.body)
    rows = averaged.run_many(throws, ball, p, option.closure.numbers(), film, averaged.STEPS)
    return float(rows[rows[:, shape.ON_LANE] > 0.5, shape.ENTRY_BOARD].std())


def sealed(case: Case) -> tuple[str, str]:
    """The prediction as a line of JSON, and its SHA-256 to give away before throwing."""
    text = json.dumps(predicted(case), ensure_ascii=False) + "\n"
    return text, hashlib.sha256(text.encode()).hexdigest()


def flare() -> dict[str, Any]:
    """Rings, flare and clearance of two layouts."""
    case, rows = Case(), []
    for angles in ((50.0, 3.375, 40.0), (50.0, 5.5, 40.0)):
        ball, where = drilled(angles=angles), placed(angles)
        option = worth.Option(ball, closure_of(case.cover, "2000"), case.cover, "2000")
        row = worth.reference_rows(option, case.task(), 1.0, case.throws())[0]
        seen, moved = float(row[shape.VISIBLE_FLARE_M]), float(row[shape.FLARE_M])
        clear = [
            track.flare_clearances_in(ball, where, (THUMB, *FINGERS), case.tilt_deg, arc)
            for arc in (seen, moved)
        ]
        away = track.track_radius_in(case.tilt_deg)
        rows.append(
            (
                in_words(angles),
                f"{away:.2f} in",
                f"{27 - 2 * away:.2f} in",
                f"{seen * M_TO_IN:.1f} in",
                f"{clear[0][0]:.2f}, {min(clear[0][1:]):.2f} in",
                f"{moved * M_TO_IN:.1f} in",
                f"{clear[1][0]:.2f} in",
            )
        )
    head = (
        "layout",
        "PAP to first ring",
        "its width across",
        "visible flare",
        "thumb, finger clear of visible rings by",
        "flare in all",
        "thumb clear of all of it by",
    )
    return {"flare_table": table(head, rows)}


def four_finishes() -> dict[str, Any]:
    """The sealed prediction of the example."""
    case = Case()
    text, seal = sealed(case)
    found = json.loads(text)
    rows = [
        (
            FINISHES[finish].label,
            f"{one['entry_board']:.1f}",
            ", ".join(f"{board:.1f}" for board in one["entry_board_if"]),
            f"{one['entry_deg']:.1f}°",
            f"{one['quarter_of_turn_ft']:.1f} ft",
            f"{one['mph_at_pins']:.1f} mph",
        )
        for finish, one in found["finishes"].items()
    ]
    head = (
        "finish, fresh",
        "entry board",
        "with 8 % less, more friction",
        "entry angle",
        "a quarter of the turn at",
        "speed at the pins",
    )
    error = found["standard_error_of_a_mean_boards"]
    return {
        "finishes_table": table(head, rows),
        "fields": ", ".join(f"`{name}`" for name in vars(case)),
        "seal": seal,
        "throws": THROWS,
        "error": error,
        "two": error * math.sqrt(2),
        "limit": 2 * error * math.sqrt(2),
    }


def at_home() -> str:
    """The part of the page that says what to try, with its numbers."""
    case = Case()
    numbers = {
        "over": PAP_IN[0],
        "up": PAP_IN[1],
        "mph": case.mph,
        "rpm": case.rpm,
        "rotation": case.rotation_deg,
        "tilt": case.tilt_deg,
        "average": case.average,
        "laydown": case.laydown_board,
        "launch": case.launch_deg,
        "feet": case.oil_length_ft,
        "volume": case.oil_volume_ml,
        "ratio": case.oil_ratio,
    }
    template = TEMPLATE.read_text(encoding="utf-8")
    return template.format(**numbers, **statics(), **marks(), **flare(), **four_finishes())


def pictures() -> list[Picture]:
    """Paths of the four finishes."""
    case, drawn = Case(), []
    for finish in TRIED:
        shot = worth.reference_shot(
            case.who(), option_of(case, finish), case.task(), 1.0, case.throw(),
            profile_step_m=FT_TO_M,
        )  # fmt: skip
        ys = shot.profile[np.isfinite(shot.profile[:, 1]), 1]
        path = [(float(i), y_m_to_board(float(y))) for i, y in enumerate(ys)]
        drawn.append(Series(FINISHES[finish].label, path))
    svg = plot("feet from the foul line", "board", drawn)
    return [Picture("four-finishes", "One delivery in four finishes.", svg)]
