"""The phone page's picture turned over: a block for each ball, in it a lane for each condition.

A plotly figure, fetched only when asked for, of what the page's rows say already. Hook length
runs along as there; a band is a condition's window and the mark beside or in it is the ball, full
where it scores. Colours are names of the site's tokens, as in ``arsenal.advice.charts``.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from typing import Any

import plotly.graph_objects as go

from arsenal.advice import words
from arsenal.advice.charts import CLEAR, FAINT, INK, OWNED
from arsenal.advice.window_rows import Row, Rows
from proshop import metric

# Pixels: a lane has room for a condition's name above its mark, a block for the ball's over them.
LANE_PX, HEAD_PX, AXIS_PX, TOP_PX = 44, 40, 64, 4
LONGEST_BALL, LONGEST_CONDITION = 22, 40
# A window is drawn at least so wide, to be seen.
LEAST_BAND_FT = 0.3
INK_FULL, SHEET, WINDOW, GAP = "var(--ink)", "var(--sheet)", "var(--window)", "var(--gap-soft)"


def by_ball(rows: Rows) -> dict[str, Any]:
    """The figure and the same in words: ``{"figure": …, "told": [{"ball", "lines"}]}``."""
    balls = _balls(rows)
    lane_y, heads, depth = _places(balls)
    a_foot = metric.shown(1.0, "ft").number
    figure = go.Figure(layout=_layout(depth, _feet(rows, a_foot)))
    for trace in (*_bands(balls, lane_y, a_foot), *_marks(balls, lane_y, a_foot)):
        figure.add_trace(trace)
    for (ball, found), y in zip(balls, heads, strict=True):
        scores = sum(one["scores"] for _, one in found)
        figure.add_annotation(
            _note(f"{_safe(ball, LONGEST_BALL)}: scores on {scores} of {len(found)}", y, 15)
        )
    for (_, found), ys in zip(balls, lane_y, strict=True):
        for (row, _one), y in zip(found, ys, strict=True):
            name = _safe(row.task["name"], LONGEST_CONDITION)
            figure.add_annotation(_note(name, y - LANE_PX / 2 + 2, 13, INK))
    told = [
        {"ball": ball, "lines": [_told(row, one) for row, one in found]} for ball, found in balls
    ]
    return {"figure": figure.to_plotly_json(), "told": told}


def _balls(rows: Rows) -> list[tuple[str, list[tuple[Row, dict[str, Any]]]]]:
    """Each ball with the conditions it was tried on, in the page's order of both."""
    found: dict[Any, tuple[str, list[tuple[Row, dict[str, Any]]]]] = {}
    for row in rows.all:
        for ball in row.owned:
            key = ball.get("ball_id", ball["ball"])
            found.setdefault(key, (ball["ball"], []))[1].append((row, ball))
    return list(found.values())


def _places(balls: Sequence[tuple[str, list[Any]]]) -> tuple[list[list[float]], list[float], float]:
    """Pixels from the top: each block's lanes, each block's heading, and the foot of it all."""
    lanes, heads, y = [], [], 0.0
    for _, found in balls:
        heads.append(y + HEAD_PX - 26)
        y += HEAD_PX
        lanes.append([y + LANE_PX * (place + 0.5) for place in range(len(found))])
        y += LANE_PX * len(found)
    return lanes, heads, y


def _bands(balls: Sequence[Any], lane_y: Sequence[Sequence[float]], a_foot: float) -> list[Any]:
    """The windows as thick lines, those nothing owned fills in another colour."""
    bands = []
    for gap, colour in ((False, WINDOW), (True, GAP)):
        x: list[float | None] = []
        y: list[float | None] = []
        for (_, found), ys in zip(balls, lane_y, strict=True):
            for (row, _ball), lane in zip(found, ys, strict=True):
                if row.is_gap is not gap:
                    continue
                for low, high in row.task["window"] or []:
                    spare = max(0.0, LEAST_BAND_FT - (high - low)) / 2
                    x += [(low - spare) * a_foot, (high + spare) * a_foot, None]
                    y += [lane + 10, lane + 10, None]
        if x:
            bands.append(
                go.Scatter(
                    x=x, y=y, mode="lines", line={"color": colour, "width": 18},
                    hoverinfo="skip", name="gap" if gap else "window",
                )
            )  # fmt: skip
    return bands


def _marks(balls: Sequence[Any], lane_y: Sequence[Sequence[float]], a_foot: float) -> list[Any]:
    """The balls, full where they score and empty where they fall short; said when touched."""
    marks = []
    for scores in (True, False):
        shown = [
            (ball["hook_length_ft"] * a_foot, lane + 10, _hover(name, row, ball))
            for (name, found), ys in zip(balls, lane_y, strict=True)
            for (row, ball), lane in zip(found, ys, strict=True)
            if ball["scores"] is scores and ball["hook_length_ft"] is not None
        ]
        if shown:
            x, y, said = zip(*shown, strict=True)
            marks.append(
                go.Scatter(
                    x=x, y=y, mode="markers", customdata=said,
                    name="scores" if scores else "falls short",
                    marker={
                        "size": 15, "color": OWNED if scores else SHEET,
                        "line": {"color": OWNED, "width": 2.5},
                    },
                    hovertemplate="%{customdata}<extra></extra>",
                )
            )  # fmt: skip
    return marks


def _hover(name: str, row: Row, ball: dict[str, Any]) -> str:
    return "<br>".join(
        _safe(part, LONGEST_CONDITION) for part in (name, row.task["name"], *_facts(ball))
    )


def _facts(ball: dict[str, Any]) -> list[str]:
    facts = []
    if ball["hook_length_ft"] is not None:
        hook = metric.shown(ball["hook_length_ft"], "ft", 1)
        facts.append(f"{hook.number:.{hook.places}f} {metric.unit_shown('feet')} of hook")
        facts.append(words.boards(ball["strength_boards"]))
    verdict = "scores" if ball["scores"] else "falls short"
    facts.append(f"{verdict}, {ball['sign']}" if ball["sign"] else verdict)
    return facts


def _told(row: Row, ball: dict[str, Any]) -> str:
    window = (
        f" The window: {row.window_words} {metric.unit_shown('feet')}." if row.window_words else ""
    )
    return f"{row.task['name']}: {', '.join(fact for fact in _facts(ball) if fact)}.{window}"


def _safe(text: str, longest: int) -> str:
    """As words, whatever is in it: plotly reads its text as markup."""
    short = text if len(text) <= longest else text[: longest - 1].rstrip() + "…"
    return html.escape(short, quote=False)


def _note(text: str, y: float, size: int, colour: str = INK_FULL) -> dict[str, Any]:
    return {
        "xref": "paper", "x": 0, "yref": "y", "y": y, "xanchor": "left", "yanchor": "top",
        "showarrow": False, "text": text, "align": "left",
        "font": {"size": size, "color": colour, "weight": 700 if colour == INK_FULL else 400},
    }  # fmt: skip


def _feet(rows: Rows, a_foot: float) -> list[float]:
    """The stretch of hook length the page's own picture has."""
    low, high = rows.feet
    return [low * a_foot, high * a_foot]


def _layout(depth: float, feet: list[float]) -> dict[str, Any]:
    return {
        # An empty template: the stock one is larger than the figure and has looks of its own.
        "template": {},
        "paper_bgcolor": CLEAR,
        "plot_bgcolor": CLEAR,
        "height": depth + TOP_PX + AXIS_PX,
        "margin": {"l": 8, "r": 8, "t": TOP_PX, "b": AXIS_PX},
        "hovermode": "closest",
        "dragmode": False,
        "showlegend": False,
        "xaxis": {
            "range": feet,
            "fixedrange": True,
            "zeroline": False,
            "gridcolor": FAINT,
            "tickfont": {"color": INK, "size": 13},
            "title": {
                "text": f"← angular    {metric.unit_shown('feet')} of hook    rolly →",
                "font": {"color": INK, "size": 14},
            },
        },
        # In pixels from the top, so that a lane is as high on every page.
        "yaxis": {"range": [depth, 0], "fixedrange": True, "visible": False},
    }
