"""The window rows: where everything lies on the picture of gaps; a template draws it.

One row a task. Hook length runs along, short (angular) on the left and long (rolly) on the right.
Each ball is a mark with its label beside it; marks whose labels would touch go into separate
lanes, so nothing overlaps whatever the number of balls. Two drawings of each row are made, for a
phone and for anything wider, because a drawing scaled down takes its letters with it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from arsenal.advice import words
from proshop import metric

# A ball within 5 % of the best available scores: the same rule as the window's.
SCORES = 0.95
# Widths of letters in the site's type, as a share of its size: a little generous.
LETTER = 0.53
TICK_STEPS = (1, 2, 5, 10)
MOST_TICKS = 8


@dataclass(frozen=True)
class Canvas:
    """Sizes of one drawing, in its own units."""

    name: str
    width: int
    type_size: int
    lane: int
    margin: int
    longest_name: int
    unit: str

    def wide(self, text: str) -> float:
        return len(text) * self.type_size * LETTER


# The legend says what the number is; a phone has no room for the unit beside each.
WIDE = Canvas("wide", width=960, type_size=17, lane=30, margin=26, longest_name=26, unit=" boards")
NARROW = Canvas("narrow", width=360, type_size=14, lane=26, margin=16, longest_name=18, unit="")


@dataclass(frozen=True)
class Axis:
    """Feet to units of a canvas; the same feet for every row of a page."""

    low_ft: float
    high_ft: float
    canvas: Canvas

    def x(self, feet: float) -> int:
        canvas = self.canvas
        share = (feet - self.low_ft) / (self.high_ft - self.low_ft)
        return round(canvas.margin + min(max(share, 0.0), 1.0) * (canvas.width - 2 * canvas.margin))

    @property
    def ticks(self) -> list[tuple[int, int]]:
        """Where whole feet lie, or metres where those are shown."""
        low, high = (metric.shown(feet, "ft").number for feet in (self.low_ft, self.high_ft))
        a_foot = metric.shown(1.0, "ft").number
        span = high - low
        step = next((step for step in TICK_STEPS if span / step <= MOST_TICKS), TICK_STEPS[-1])
        first = math.ceil(low / step) * step
        return [(self.x(number / a_foot), number) for number in range(first, int(high) + 1, step)]


@dataclass(frozen=True)
class Span:
    """A stretch of the hook-length axis."""

    x: int
    width: int

    def meets(self, low: float, high: float) -> bool:
        return self.x < high and low < self.x + self.width


@dataclass(frozen=True)
class Mark:
    """A ball on the picture."""

    x: int
    y: int
    radius: int
    scores: bool
    text_x: int
    anchor: str
    # Clear ground under a label that runs across the hatching.
    ground: Span | None
    name: str
    strength: str
    sign: str

    @property
    def ground_y(self) -> int:
        return self.y - self.radius - 3

    @property
    def ground_height(self) -> int:
        return 2 * self.radius + 7

    @property
    def text_y(self) -> int:
        """Where the label's letters stand, level with the mark."""
        return self.y + self.radius - 1


@dataclass(frozen=True)
class Caption:
    """Words set at a place, kept inside the drawing."""

    x: int
    y: int
    text: str
    # Clear ground under it, as wide as the words.
    ground: Span


@dataclass(frozen=True)
class Drawing:
    """One row on one canvas."""

    canvas: Canvas
    height: int
    band_top: int
    band_bottom: int
    axis_y: int
    windows: list[Span]
    window_caption: Caption | None
    gap_caption: Caption | None
    marks: list[Mark]
    ticks: list[tuple[int, int]]

    @property
    def gap_ground_y(self) -> int:
        """The top of the clear ground under the gap's sign."""
        return self.gap_caption.y - self.canvas.type_size if self.gap_caption else 0

    @property
    def band_height(self) -> int:
        return self.band_bottom - self.band_top

    @property
    def right(self) -> int:
        return self.canvas.width - self.canvas.margin

    @property
    def middle(self) -> int:
        return self.canvas.width // 2

    @property
    def tick_y(self) -> int:
        return self.axis_y + self.canvas.type_size + 6

    @property
    def ends_y(self) -> int:
        return self.tick_y + self.canvas.type_size + 6


@dataclass(frozen=True)
class Row:
    """One task: its words, its two drawings, its balls for the table."""

    number: int
    task: Mapping[str, Any]
    owned: list[dict[str, Any]]
    shapeless: list[dict[str, Any]]
    window_words: str
    gap_sign: str
    share: float
    drawings: list[Drawing]

    @property
    def is_gap(self) -> bool:
        """Where nothing is playable there is no gap to fill, whatever is owned."""
        return bool(self.task["gap"] and self.task["window"])

    @property
    def best_owned(self) -> dict[str, Any] | None:
        return max(self.owned, key=lambda ball: ball["carry"], default=None)


@dataclass(frozen=True)
class Rows:
    """All rows of a ranking, and what is said over them."""

    all: list[Row]
    benchmark: str
    # The stretch of hook length all rows are drawn on.
    feet: tuple[float, float]
    game_words: str = ""

    @property
    def gaps(self) -> int:
        return sum(row.is_gap for row in self.all)


def window_rows(result: Mapping[str, Any]) -> Rows:
    """The rows of a stored ranking, on one common axis of feet."""
    tasks = result["tasks"]
    low, high = _feet_shown(tasks)
    axes = [Axis(low, high, canvas) for canvas in (WIDE, NARROW)]
    total = sum(task["weight"] for task in tasks) or 1.0
    benchmark = result.get("benchmark")
    return Rows(
        all=[_row(number, task, axes, total) for number, task in enumerate(tasks, start=1)],
        benchmark=benchmark["ball"] if benchmark else "",
        feet=(low, high),
        game_words=words.game_words(result["game"]) if "game" in result else "",
    )


def _row(number: int, task: Mapping[str, Any], axes: Iterable[Axis], total: float) -> Row:
    enough = SCORES * task["best_available"]
    owned = sorted(
        (
            {**ball, "scores": ball["carry"] >= enough, "sign": _sign(ball)}
            for ball in task["owned"]
        ),
        key=lambda ball: (ball["hook_length_ft"] is None, ball["hook_length_ft"] or 0.0),
    )
    window = task["window"] or []
    gap_sign = ""
    if task["gap"] and window:
        side = words.GAP_SIDES.get(task.get("gap_side") or "", "")
        gap_sign = f"GAP: {side}" if side else "GAP"
    shaped = [ball for ball in owned if ball["hook_length_ft"] is not None]
    return Row(
        number=number,
        task=task,
        owned=owned,
        shapeless=[ball for ball in owned if ball["hook_length_ft"] is None],
        window_words=" and ".join(words.feet(interval) for interval in window),
        gap_sign=gap_sign,
        share=task["weight"] / total,
        drawings=[_drawing(axis, window, shaped, gap_sign) for axis in axes],
    )


def _drawing(
    axis: Axis, window: Sequence[Sequence[float]], balls: Sequence[dict[str, Any]], gap_sign: str
) -> Drawing:
    canvas = axis.canvas
    band_top = canvas.type_size + 12
    spans = [_span(axis, interval) for interval in window]
    marks, lanes = _marks(axis, balls, band_top, spans if gap_sign else [])
    band_bottom = band_top + max(lanes, 1) * canvas.lane + 8
    gap_caption = None
    if gap_sign:
        # The sign stands in a strip of its own under the marks, where the hatching is clear.
        middle = _middle(spans) if spans else canvas.width / 2
        gap_caption = _caption(canvas, middle, band_bottom + canvas.type_size, gap_sign)
        band_bottom += canvas.type_size + 12
    caption = None
    if spans:
        text = "window " + " and ".join(words.feet(list(part)) for part in window)
        text += f" {metric.unit_shown('ft')}"
        caption = _caption(canvas, _middle(spans), canvas.type_size, text)
    return Drawing(
        canvas=canvas,
        height=band_bottom + 2 * (canvas.type_size + 6) + 10,
        band_top=band_top,
        band_bottom=band_bottom,
        axis_y=band_bottom,
        windows=spans,
        window_caption=caption,
        gap_caption=gap_caption,
        marks=marks,
        ticks=axis.ticks,
    )


def _marks(
    axis: Axis, balls: Sequence[dict[str, Any]], top: int, hatched: Sequence[Span]
) -> tuple[list[Mark], int]:
    """Each ball into the first lane where its mark and label touch nothing.

    Beside what is hatched if there is room on either side, else on clear ground of its own.
    """
    canvas = axis.canvas
    radius = canvas.lane // 4
    lanes: list[list[tuple[float, float]]] = []
    marks = []
    for ball in balls:
        x = axis.x(ball["hook_length_ft"])
        offset = radius + 6
        room_right, room_left = canvas.width - 4 - x - offset, x - offset - 4
        rest = [words.boards(ball["strength_boards"], canvas.unit), ball["sign"]]
        name, width = _fitted(canvas, ball["ball"], rest, max(room_right, room_left))
        reach = offset + width
        crosses_right, crosses_left = (
            any(span.meets(low, low + width) for span in hatched) for low in (x + offset, x - reach)
        )
        to_right = width <= room_right or room_right >= room_left
        if crosses_right and not crosses_left and width <= room_left:
            to_right = False
        crosses = crosses_right if to_right else crosses_left
        low = x + offset if to_right else x - reach
        taken = (x - radius, x + reach) if to_right else (x - reach, x + radius)
        lane = next(
            (
                number
                for number, others in enumerate(lanes)
                if all(taken[1] + 8 < low or taken[0] - 8 > high for low, high in others)
            ),
            len(lanes),
        )
        if lane == len(lanes):
            lanes.append([])
        lanes[lane].append(taken)
        marks.append(
            Mark(
                x=x,
                y=top + 4 + lane * canvas.lane + canvas.lane // 2,
                radius=radius,
                scores=ball["scores"],
                text_x=x + offset if to_right else x - offset,
                anchor="start" if to_right else "end",
                ground=Span(round(low) - 3, round(width) + 6) if crosses else None,
                name=name,
                strength=rest[0],
                sign=ball["sign"],
            )
        )
    return marks, len(lanes)


def _feet_shown(tasks: Iterable[Mapping[str, Any]]) -> tuple[float, float]:
    """The feet every row of the page has in common: all balls, windows and what was tried."""
    feet: list[float] = []
    for task in tasks:
        feet += [
            ball["hook_length_ft"] for ball in task["owned"] if ball["hook_length_ft"] is not None
        ]
        for interval in task["window"] or []:
            feet += interval
        feet += task.get("hook_range") or []
    if not feet:
        return 10.0, 40.0
    low, high = math.floor(min(feet)) - 1, math.ceil(max(feet)) + 1
    spare = max(0, 8 - (high - low))
    return float(low - spare // 2), float(high + spare - spare // 2)


def _span(axis: Axis, interval: Sequence[float]) -> Span:
    """At least wide enough to be seen, about its middle."""
    low, high = axis.x(interval[0]), axis.x(interval[1])
    width = max(high - low, 10)
    return Span(x=(low + high - width) // 2, width=width)


def _middle(spans: Sequence[Span]) -> float:
    return (spans[0].x + spans[-1].x + spans[-1].width) / 2


def _caption(canvas: Canvas, middle: float, y: int, text: str) -> Caption:
    half = canvas.wide(text) / 2
    x = round(min(max(middle, half + 4), canvas.width - half - 4))
    return Caption(x=x, y=y, text=text, ground=Span(round(x - half) - 3, round(2 * half) + 6))


def _sign(ball: Mapping[str, Any]) -> str:
    """Late: never got there. Early: rolled out before the pins."""
    return "late" if ball["late"] else "early" if ball.get("early") else ""


def _fitted(canvas: Canvas, name: str, rest: Sequence[str], room: float) -> tuple[str, float]:
    """The name, cut if it must be, and the width of the whole label with what follows the name."""
    after = "".join(f" {part}" for part in rest if part)
    longest = min(canvas.longest_name, int(room / canvas.wide("x")) - len(after))
    name = _short(name, longest)
    return name, canvas.wide(name + after)


def _short(name: str, longest: int) -> str:
    return name if len(name) <= longest else name[: longest - 1].rstrip() + "…"
