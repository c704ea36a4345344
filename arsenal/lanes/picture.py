"""The oil as a picture: the lane on its side, feet along, boards up, oil as quiet grey.

Only geometry and shares are worked out here; the template draws them, the style sheet shades them.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from arsenal.lanes.models import BOARDS
from arsenal.lanes.oil_csv import OilTable

FOOT, BOARD = 10.0, 4.0
LANE_FT = 60
# Film is drawn in so many steps of grey: finer ones can't be told apart and cost a rectangle each.
GREYS = 16


@dataclass(frozen=True)
class Patch:
    """A stretch of one board under the same thickness of oil, in drawing units."""

    x: float
    y: float
    width: float
    height: float
    opacity: float


@dataclass(frozen=True)
class Tick:
    at: float
    label: str


@dataclass(frozen=True)
class OilPicture:
    width: float
    height: float
    patches: list[Patch]
    feet: list[Tick]
    boards: list[Tick]
    most_units: float
    end_ft: float

    # Where the words go around the lane, in drawing units.
    @property
    def view_width(self) -> float:
        return self.width + 58 + 14

    @property
    def view_height(self) -> float:
        return self.height + 8 + 46

    @property
    def tick_end(self) -> float:
        return self.height + 5

    @property
    def feet_words(self) -> float:
        return self.height + 18

    @property
    def axis_words(self) -> float:
        return self.height + 36

    @property
    def middle(self) -> float:
        return self.height / 2


TABLE_STEP_FT = 5


def oil_rows(table: OilTable) -> list[tuple[int, list[float]]]:
    """The numbers behind the picture: units by board from the right gutter, each five feet as far
    as there is oil."""
    found = []
    for feet in range(0, LANE_FT + 1, TABLE_STEP_FT):
        units = units_at(table, feet)[::-1]
        if max(units) > 0:
            found.append((feet, units))
    return found


def oil_picture(table: OilTable, full_grey: float | None = None) -> OilPicture:
    """Rectangles of equal shade along each board, foot by foot, with the ticks of both axes.

    ``full_grey``: units drawn in the strongest grey, if not the most there are: two states of one
    condition are then shaded alike.
    The table counts boards from the left gutter; that gutter is drawn on top, so that boards rise
    from the right gutter, as a right-hander counts them.
    """
    feet = [0.5 + n for n in range(LANE_FT)]
    rows = [units_at(table, at) for at in feet]
    most = full_grey or max(max(row) for row in rows)
    patches = [
        patch
        for board in range(BOARDS)
        for patch in _patches(board, [row[board] for row in rows], most)
    ]
    return OilPicture(
        width=LANE_FT * FOOT,
        height=BOARDS * BOARD,
        patches=patches,
        feet=[Tick(ft * FOOT, str(ft)) for ft in range(0, LANE_FT + 1, 10)],
        boards=[Tick((BOARDS - n + 0.5) * BOARD, str(n)) for n in (5, 10, 15, 20, 25, 30, 35)],
        most_units=most,
        end_ft=max(
            (at + 0.5 for at, row in zip(feet, rows, strict=True) if max(row) > most / GREYS / 2),
            default=0,
        ),
    )


def units_at(table: OilTable, feet: float) -> list[float]:
    """Units across the lane at a distance: straight lines between rows, dry beyond the last.

    The first row of a table lies at the foul line, which no ``feet`` lies before.
    """
    known = table["distance_ft"]
    after = bisect_right(known, feet)
    if after == len(known):
        return [0.0] * BOARDS if feet > known[-1] else table["units"][-1]
    share = (feet - known[after - 1]) / (known[after] - known[after - 1])
    return [
        a + share * (b - a)
        for a, b in zip(table["units"][after - 1], table["units"][after], strict=True)
    ]


def _patches(board: int, units: list[float], most: float) -> list[Patch]:
    patches: list[Patch] = []
    start = 0
    levels = [min(round(GREYS * value / most), GREYS) if most else 0 for value in units]
    for end in range(1, len(levels) + 1):
        if end == len(levels) or levels[end] != levels[start]:
            if levels[start]:
                patches.append(
                    Patch(
                        x=start * FOOT,
                        y=board * BOARD,
                        width=(end - start) * FOOT,
                        height=BOARD,
                        opacity=round(levels[start] / GREYS, 4),
                    )
                )
            start = end
    return patches
