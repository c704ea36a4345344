"""Small pictures as SVG text: points and lines on two axes, and ranges with what was found."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

WIDTH, HEIGHT = 640, 360
LEFT, RIGHT, TOP, BOTTOM = 64, 16, 16, 48
INK, FAINT = "#222222", "#cccccc"
# Told apart by lightness as well as hue; points and lines are labelled besides.
HALO = 'stroke="#ffffff" stroke-width="3" paint-order="stroke"'
COLOURS = ("#0b5fa5", "#c4510c", "#2d7d46", "#7a3e9d")


@dataclass(frozen=True)
class Series:
    """Points (x, y) under a name; joined by a line or marked by dots."""

    name: str
    points: Sequence[tuple[float, float]]
    joined: bool = True


@dataclass(frozen=True)
class Range:
    """A named range and what was found beside it."""

    name: str
    low: float
    high: float
    found: float

    @property
    def holds(self) -> bool:
        return self.low <= self.found <= self.high


def plot(
    x_name: str,
    y_name: str,
    series: Sequence[Series],
    *,
    band: tuple[float, float] | None = None,
    level: tuple[float, float] | None = None,
) -> str:
    """Series on two axes. ``band``: a stretch of x, ``level``: a stretch of y, that is shaded."""
    xs = [x for one in series for x, _ in one.points]
    ys = [y for one in series for _, y in one.points]
    across = _Axis(*_ends([*xs, *(band or ())]), LEFT, WIDTH - RIGHT)
    up = _Axis(*_ends([*ys, *(level or ())]), HEIGHT - BOTTOM, TOP)
    parts = []
    if band:
        x0, x1 = across.at(band[0]), across.at(band[1])
        parts.append(_box(x0, TOP, x1 - x0, HEIGHT - BOTTOM - TOP))
    if level:
        y0, y1 = up.at(level[1]), up.at(level[0])
        parts.append(_box(LEFT, y0, WIDTH - RIGHT - LEFT, y1 - y0))
    parts += _axes(across, up, x_name, y_name)
    for i, one in enumerate(series):
        parts += _drawn(one, across, up, COLOURS[i % len(COLOURS)])
        name_at = LEFT + 10, TOP + 16 + 16 * i
        parts.append(_text(*name_at, one.name, COLOURS[i % len(COLOURS)], "start", HALO))
    return _svg(HEIGHT, parts, f"{y_name} by {x_name}")


def ranges(unit: str, rows: Sequence[Range], *, label_px: int = 250) -> str:
    """A line a range: the range as a bar, what was found as a dot, or a cross if outside."""
    height = TOP + 20 * len(rows) + BOTTOM
    ends = _ends([v for r in rows for v in (r.low, r.high, r.found)])
    across = _Axis(*ends, label_px, WIDTH - RIGHT)
    parts = []
    for tick in across.ticks():
        x = across.at(tick)
        parts.append(_line(x, TOP, x, height - BOTTOM, FAINT))
        parts.append(_text(x, height - BOTTOM + 16, f"{tick:g}", INK, "middle"))
    for i, row in enumerate(rows):
        y = TOP + 20 * i + 10
        parts.append(_text(label_px - 8, y + 4, row.name, INK, "end"))
        parts.append(_box(across.at(row.low), y - 6, across.at(row.high) - across.at(row.low), 12))
        parts.append(_mark(across.at(row.found), y, holds=row.holds))
    parts.append(_text((label_px + WIDTH) / 2, height - 10, unit, INK, "middle"))
    return _svg(height, parts, unit)


@dataclass(frozen=True)
class _Axis:
    low: float
    high: float
    from_px: float
    to_px: float

    def at(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.from_px + share * (self.to_px - self.from_px)

    def ticks(self) -> list[float]:
        step = _step(self.high - self.low)
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [round(step * i, 10) for i in range(first, last + 1)]


def _ends(values: Sequence[float]) -> tuple[float, float]:
    low, high = min(values), max(values)
    room = 0.04 * (high - low) or 1.0
    return low - room, high + room


def _step(span: float) -> float:
    """A tenth power times 1, 2 or 5 that divides a span into four to nine."""
    rough = span / 6
    power = 10.0 ** math.floor(math.log10(rough))
    return min((m * power for m in (1.0, 2.0, 5.0, 10.0)), key=lambda s: abs(math.log(s / rough)))


def _axes(across: _Axis, up: _Axis, x_name: str, y_name: str) -> list[str]:
    parts = []
    for tick in across.ticks():
        x = across.at(tick)
        parts.append(_line(x, TOP, x, HEIGHT - BOTTOM, FAINT))
        parts.append(_text(x, HEIGHT - BOTTOM + 16, f"{tick:g}", INK, "middle"))
    for tick in up.ticks():
        y = up.at(tick)
        parts.append(_line(LEFT, y, WIDTH - RIGHT, y, FAINT))
        parts.append(_text(LEFT - 6, y + 4, f"{tick:g}", INK, "end"))
    parts.append(_text((LEFT + WIDTH) / 2, HEIGHT - 10, x_name, INK, "middle"))
    middle = (TOP + HEIGHT - BOTTOM) / 2
    turned = f'transform="rotate(-90 14 {middle:.0f})"'
    parts.append(_text(14, middle, y_name, INK, "middle", turned))
    return parts


def _drawn(one: Series, across: _Axis, up: _Axis, colour: str) -> list[str]:
    places = [(across.at(x), up.at(y)) for x, y in one.points]
    if one.joined:
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
        return [f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"/>']
    return [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{colour}"/>' for x, y in places]


def _mark(x: float, y: float, *, holds: bool) -> str:
    if holds:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{COLOURS[0]}"/>'
    arms = f"M{x - 5:.1f} {y - 5:.1f}l10 10m0 -10l-10 10"
    return f'<path d="{arms}" stroke="{COLOURS[1]}" stroke-width="3"/>'


def _box(x: float, y: float, width: float, height: float) -> str:
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" fill="#dfe9df"/>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, colour: str) -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}"/>'


def _text(x: float, y: float, words: str, colour: str, anchor: str, more: str = "") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" fill="{colour}" text-anchor="{anchor}" {more}>'
        f"{escape(words)}</text>"
    )


def _svg(height: float, parts: Sequence[str], title: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" '
        f'role="img" font-family="sans-serif" font-size="12">\n<title>{escape(title)}</title>\n'
        f'<rect width="{WIDTH}" height="{height:.0f}" fill="#ffffff"/>\n'
        + "\n".join(parts)
        + "\n</svg>\n"
    )
