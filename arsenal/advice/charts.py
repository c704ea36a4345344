"""The strip: two shots on a lane lying on its side, as a plotly figure.

Feet along, boards up, oil as a quiet grey shade, the difference between the two shots as a filled
gap; beneath, on the same feet, the share of its turn each has spent. Colours are names of the
site's tokens (``var(--…)``): the page's script puts in the values of the theme in use.

Figures are plain dicts: to have plotly's objects check every property takes longer than the rest of
a page. A test has them check it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from proshop import metric

PROPOSED, OWNED, OIL = "var(--proposed)", "var(--owned)", "var(--oil)"
INK, FAINT, CLEAR = "var(--ink-soft)", "var(--grid)", "rgba(0,0,0,0)"
# How solid a fill is: the page's script gives the token's colour this alpha.
BETWEEN_ALPHA, OIL_ALPHA = 0.28, 0.16
LINES = {"first choice": {"color": PROPOSED, "width": 3}, "owned": {"color": OWNED, "width": 3}}
DASHES = {"first choice": "solid", "owned": "6px,4px"}
BOARDS = 39
LANE_FT = 60.0
# Film above each of these is one more layer of grey.
OIL_STEPS_UNITS = (2.0, 8.0, 16.0, 26.0)
# A ball that rolls wavers once a turn, 2.2 ft: on whole feet that looked like a saw.
STEP_FT = 0.5
# Shares of the picture's height: the lane above, the turn beneath.
LANE_ROW, TURN_ROW = (0.42, 1.0), (0.0, 0.30)


def strip_figure(strip: Mapping[str, Any]) -> dict[str, Any]:
    """The figure of a stored strip, ready to be JSON for plotly.js."""
    shots = [_resampled(shot) for shot in strip["shots"]]
    a_foot = metric.shown(1.0, "ft").number
    traces = _oil(strip["oil"])
    for number, shot in enumerate(shots):
        traces += [_path(shot, filled=number > 0), _turn(shot)]
    annotations = _entries(shots)
    if a_foot != 1.0:
        traces = [{**trace, "x": _scaled(trace["x"], a_foot)} for trace in traces]
        annotations = [{**note, "x": note["x"] * a_foot} for note in annotations]
    return {"data": traces, "layout": {**_layout(a_foot), "annotations": annotations}}


def _scaled(feet: Sequence[float | None], a_foot: float) -> list[float | None]:
    return [None if one is None else round(one * a_foot, 3) for one in feet]


def strip_summary(strip: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """The same in numbers, for the table and the caption: every five feet and at the pins."""
    if not strip or not strip.get("shots"):
        return None
    stations = [*range(0, 60, 5), 60]
    shots = [_resampled(shot) for shot in strip["shots"]]
    rows = [
        {
            "feet": feet,
            "cells": [
                {
                    "board": float(np.interp(feet, shot["feet"], shot["board"])),
                    "turn": 100 * float(np.interp(feet, shot["feet"], shot["share"])),
                }
                for shot in shots
            ],
        }
        for feet in stations
    ]
    return {"task": strip["task"], "shots": strip["shots"], "rows": rows}


def _resampled(shot: Mapping[str, Any]) -> dict[str, Any]:
    """On the same half feet, so that the gap between two shots is filled straight across."""
    known = np.asarray(shot["feet"], dtype=float)
    last = float(min(known.max(), LANE_FT))
    feet = np.append(np.arange(max(known.min(), 0.0), last, STEP_FT), last)
    return {
        **shot,
        "feet": feet.round(2).tolist(),
        "board": np.interp(feet, known, np.asarray(shot["board"], dtype=float)).round(2).tolist(),
        "share": np.interp(feet, known, np.asarray(shot["share"], dtype=float)).round(4).tolist(),
    }


def _line(shot: Mapping[str, Any]) -> dict[str, Any]:
    """What both lines of a shot share: the path, and beneath it the turn."""
    return {
        "type": "scatter",
        "x": shot["feet"],
        "name": shot["label"],
        "mode": "lines",
        "line": {**LINES[shot["kind"]], "dash": DASHES[shot["kind"]]},
        "legendgroup": shot["label"],
        "showlegend": False,
    }


def _path(shot: Mapping[str, Any], *, filled: bool) -> dict[str, Any]:
    return {
        **_line(shot),
        **({"fill": "tonexty"} if filled else {}),
        "y": shot["board"],
        "fillcolor": PROPOSED,
        "meta": {"alpha": BETWEEN_ALPHA},
        "hovertemplate": "board %{y:.1f}<extra>%{fullData.name}</extra>",
    }


def _turn(shot: Mapping[str, Any]) -> dict[str, Any]:
    return {
        **_line(shot),
        "y": [round(100 * share, 1) for share in shot["share"]],
        "yaxis": "y2",
        "hovertemplate": "%{y:.0f} % of its turn<extra>%{fullData.name}</extra>",
    }


def _oil(oil: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Layers of grey: each covers the lane where the film is above one of the steps."""
    feet, units = oil["feet"], np.asarray(oil["units"], dtype=float)
    boards = oil.get("boards") or list(range(1, units.shape[1] + 1))
    ends = [*feet[1:], feet[-1] + (feet[-1] - feet[-2] if len(feet) > 1 else 1.0)]
    layers = []
    for least in OIL_STEPS_UNITS:
        x: list[float | None] = []
        y: list[float | None] = []
        for column, board in enumerate(boards):
            for start, end in _runs(units[:, column] > least):
                x += [feet[start], ends[end], ends[end], feet[start], feet[start], None]
                low, high = board - 0.5, board + 0.5
                y += [low, low, high, high, low, None]
        if x:
            layers.append(
                {
                    "type": "scatter",
                    "x": x,
                    "y": y,
                    "mode": "lines",
                    "line": {"width": 0},
                    "fill": "toself",
                    "fillcolor": OIL,
                    "meta": {"alpha": OIL_ALPHA},
                    "hoverinfo": "skip",
                    "showlegend": False,
                    "name": "oil",
                }
            )
    return layers


def _runs(above: np.ndarray[Any, Any]) -> list[tuple[int, int]]:
    """First and last index of each unbroken run of true."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], np.asarray(above, dtype=int), [0]))))
    return [(int(start), int(stop) - 1) for start, stop in edges.reshape(-1, 2)]


def _entries(shots: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Entry numbers at the right end of each shot, pushed apart where they would touch."""
    ordered = sorted(shots, key=lambda shot: shot["entry"]["board"])
    heights = [shot["entry"]["board"] for shot in ordered]
    if len(heights) == 2 and heights[1] - heights[0] < 9:
        middle = sum(heights) / 2
        heights = [middle - 4.5, middle + 4.5]
    return [
        {
            "x": LANE_FT,
            "y": min(max(height, 4), BOARDS - 4),
            "xanchor": "left",
            "xshift": 6,
            "showarrow": False,
            "align": "left",
            "text": f"board {shot['entry']['board']:.1f}<br>{shot['entry']['angle_deg']:.1f}°",
            "font": {"color": LINES[shot["kind"]]["color"], "size": 13},
        }
        for shot, height in zip(ordered, heights, strict=True)
    ]


def _layout(a_foot: float) -> dict[str, Any]:
    """``a_foot``: what a foot is in the unit shown along the lane."""
    axis = {
        "gridcolor": FAINT,
        "linecolor": FAINT,
        "zeroline": False,
        "fixedrange": True,
        "tickfont": {"color": INK, "size": 13},
        "title": {"font": {"color": INK, "size": 13}, "standoff": 6},
    }

    def titled(text: str) -> dict[str, Any]:
        return {**axis["title"], "text": text}  # type: ignore[dict-item]

    return {
        # An empty template: the stock one is larger than the figure and has looks of its own.
        "template": {},
        "paper_bgcolor": CLEAR,
        "plot_bgcolor": CLEAR,
        "margin": {"l": 46, "r": 96, "t": 8, "b": 44},
        "hovermode": "x",
        "dragmode": False,
        "showlegend": False,
        "xaxis": {
            **axis,
            "title": titled(f"{metric.unit_shown('feet')} from the foul line"),
            "range": [0, LANE_FT * a_foot],
            "dtick": 10 if a_foot == 1.0 else 3,
            "anchor": "y2",
        },
        "yaxis": {
            **axis,
            "title": titled("board"),
            "domain": LANE_ROW,
            "range": [0.5, BOARDS + 0.5],
            "tickvals": [5, 10, 15, 20, 25, 30, 35],
        },
        "yaxis2": {
            **axis,
            "title": titled("turn spent, %"),
            "domain": TURN_ROW,
            "rangemode": "tozero",
            "tickvals": [0, 25, 50, 75, 100],
        },
    }
