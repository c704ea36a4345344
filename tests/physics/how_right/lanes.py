"""Oil, wear and the directions of the trade."""

from __future__ import annotations

import numpy as np

from physics import care, lane
from physics.surface import FINISHES
from physics.units import UNIT_TO_UM
from tests.physics import test_directions as directions
from tests.physics import test_lane as lanes
from tests.physics import test_wear as wearing
from tests.physics.how_right.pictures import Series, plot
from tests.physics.how_right.rungs import (
    DERIVED,
    MEMORY,
    SECOND_HAND,
    Finding,
    Found,
    Picture,
    between,
    short,
    within,
)

PINS_IN = (1.0, 1.5, 2.0, 2.375, 2.75, 3.0, 3.375, 3.75, 4.0, 4.375, 4.75, 5.125, 5.5, 6.25)


def oil() -> Found:
    rows = [(27, 42, 11.13), (25, 40, 10.82), (20, 38, 9.11), (30, 45, 11.54), (7.21, 34, 3.67)]
    worst = max(abs(lanes.even_table(u, feet).volume_ml / ml - 1) for ml, feet, u in rows)
    picked = [lane.picked(42, 26, r, shape) for r in (1.0, 1.6, 3.0) for shape in lane.SHAPES]
    ratios = [abs(one.ratio / r - 1) for one, r in zip(picked, _each(), strict=True) if one.ratio]
    return Found(
        [
            within(
                "film of one unit, less 0.1798 µm", "0.0167 mL a square foot (from memory, high "
                "confidence), spread evenly", MEMORY, UNIT_TO_UM - 0.1798, 5e-5, "µm",
            ),
            within(
                "volume of five even patterns from their mean units", "mL over area over unit",
                DERIVED, worst, 1.5e-3, "",
            ),
            within(
                "ratio of a picked pattern, boards 18L–18R over 3–7, nine patterns",
                "two trade pages, one citing the US governing body", SECOND_HAND,
                max(ratios), 1e-9, "",
            ),
        ]
    )  # fmt: skip


def _each() -> list[float]:
    return [ratio for ratio in (1.0, 1.6, 3.0) for _ in lane.SHAPES]


def played_on() -> Found:
    states = {games: wearing.worn(games) for games in (5, 15, 30)}
    worst = max(abs(s.lost_ml / (s.absorbed_ml + s.on_balls_ml) - 1) for s in states.values())
    left = {games: s.table.volume_ml / wearing.HOUSE.volume_ml for games, s in states.items()}
    thousand = care.roughness_um("1000", 40.0)
    between_pads = FINISHES["4000"].roughness_um, FINISHES["2000"].roughness_um
    drawn = []
    for name, table in (
        ("fresh", wearing.HOUSE),
        *((f"{g} games", s.table) for g, s in states.items()),
    ):
        film = table.own_side_film_um("right")
        x_m, _ = lane.own_side_grid_m()
        row = int(np.argmin(np.abs(x_m - 20 * 0.3048)))
        drawn.append(Series(name, [(i + 1.0, float(v)) for i, v in enumerate(film[row])]))
    svg = plot("board from the right gutter", "film at 20 ft, micrometres", drawn)
    return Found(
        [
            within(
                "oil lost by the lane less what covers took up and balls carried off",
                "conservation, 5, 15 and 30 games", DERIVED, worst, 1e-9, "",
            ),
            Finding(
                "share of a 24 mL house pattern left after 15 and 30 games",
                "nothing published to hold it to: how wide a line a ball takes is an estimate",
                "estimate of this project",
                "reported", f"{100 * left[15]:.0f} % and {100 * left[30]:.0f} %", None,
            ),
            between(
                "roughness of a 1000 pad after 40 games, where trade articles say 4000–5000",
                "trade articles", SECOND_HAND, thousand, between_pads[0], between_pads[1], "µm",
            ),
        ],
        [Picture("wear", "A league on 24 mL: right-handers' line burns first.", svg)],
    )  # fmt: skip


def oil_and_wear() -> Found:
    tables, play = oil(), played_on()
    return Found([*tables.findings, *play.findings], play.pictures)


def trade() -> Found:
    findings = []
    for one in directions.STATEMENTS:
        smaller, larger = one.smaller(), one.larger()
        findings.append(
            Finding(
                one.words, *_status(one.status), "in this direction",
                f"{short(smaller, 3)} < {short(larger, 3)}",
                larger - smaller > 0.005 * abs(larger),
            )
        )  # fmt: skip
    flares = [directions.throw(directions.plain(pin)).flare_in for pin in PINS_IN]
    peak = PINS_IN[int(np.argmax(flares))]
    findings.append(
        between(
            "pin distance of most flare; without friction exactly 3 3/8",
            "trade articles: 3 to 4 in", SECOND_HAND, peak, 2.75, 4.0, "in",
        )
    )  # fmt: skip
    svg = plot(
        "pin to PAP, inches", "flare, inches",
        [Series("15 lb ball, no holes, differential 0.048", [*zip(PINS_IN, flares, strict=True)])],
        band=(3.0, 4.0),
    )  # fmt: skip
    caption = "Flare by pin distance on house oil; shaded: where the trade has its peak."
    return Found(findings, [Picture("flare", caption, svg)])


def _status(said: str) -> tuple[str, str]:
    """Source and mark of a statement, which has both in one phrase."""
    mark, _, source = said.partition(": ")
    if mark == "read":
        return source, SECOND_HAND if "trade" in source else "published"
    if mark == "derived":
        return source, DERIVED
    if mark == "estimate":
        return source, "estimate of this project"
    return said.removeprefix("common practice, no source").strip("; ") or "the trade", (
        "common practice, no source"
    )
