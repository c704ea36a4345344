"""Metric by a switch: the one place where what is shown in the trade's units becomes metric.

Nothing that is stored, computed or typed changes: records, rankings, boxes to type in, files and
printed sheets keep the trade's units. Layouts and holes do too wherever they are shown, since
rulers and drills are divided in inches, and so do names, of balls and conditions, and the pounds by
which balls are called. Each browser has its own choice, kept in a cookie.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from contextvars import ContextVar
from typing import NamedTuple

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.formats import number_format

COOKIE = "units"
METRIC = "metric"
A_YEAR_S = 365 * 24 * 3600
CHOSEN: ContextVar[bool] = ContextVar("metric", default=False)


class Metric(NamedTuple):
    """What becomes of a unit: exact factors by definition (1 in = 25.4 mm, 1 lb = 0.45359237 kg).

    ``places`` more or fewer are shown, so that nothing looks finer than it was.
    """

    unit: str
    factor: float
    places: int


UNITS = {
    "mph": Metric("km/h", 1.609344, 0),
    "ft": Metric("m", 0.3048, 1),
    "in": Metric("mm", 25.4, -1),
    "lb": Metric("kg", 0.45359237, 0),
    "oz": Metric("g", 28.349523125, -1),
    "µin": Metric("µm", 0.0254, 1),
    "microinches": Metric("µm", 0.0254, 1),
}
LONG = {"feet": "metres", "ft": "m"}
# A number with its unit, as the engine's sentences have them: never part of a fraction, of a layout
# (after ×) or of a name (after a comma), and "in" only where it can't be the preposition.
QUANTITY = re.compile(
    r"(?<![\w/.×,])(?<!× )(?<!, )(?P<low>\d+(?:\.\d+)?)(?:(?P<to>–| to )(?P<high>\d+(?:\.\d+)?))?"
    r"(?P<gap>[ \xa0])(?P<unit>mph|ft|oz|lb|microinches|in(?=[.,;:)]|$| against| for))\b"
)


class Shown(NamedTuple):
    """A number as it is shown: in which unit, to how many places."""

    number: float
    unit: str
    places: int


def is_chosen() -> bool:
    return CHOSEN.get()


def shown(number: float, unit: str, places: int = 0) -> Shown:
    """A number of the trade's unit as whoever looks wants it."""
    if not is_chosen() or unit not in UNITS:
        return Shown(number, unit, places)
    metric = UNITS[unit]
    return Shown(number * metric.factor, metric.unit, max(places + metric.places, 0))


def unit_shown(unit: str) -> str:
    """A unit alone, as over a column; words too, as ``feet``."""
    if not is_chosen():
        return unit
    return LONG.get(unit) or (UNITS[unit].unit if unit in UNITS else unit)


def sentence(text: str) -> str:
    """A sentence with its quantities as whoever looks wants them."""
    return QUANTITY.sub(_converted, text) if is_chosen() else text


def _converted(found: re.Match[str]) -> str:
    ends = [_end(end, found["unit"]) for end in (found["low"], found["high"]) if end]
    return f"{(found['to'] or '').join(ends)}{found['gap']}{unit_shown(found['unit'])}"


def _end(text: str, unit: str) -> str:
    places = len(text.partition(".")[2])
    metric = shown(float(text), unit, places)
    return number_format(round(metric.number, metric.places), decimal_pos=metric.places)


Answer = Callable[[HttpRequest], HttpResponseBase]


def chosen_by_cookie(get_response: Answer) -> Answer:
    """Middleware: the choice of this browser holds while its request is answered."""

    def answered(request: HttpRequest) -> HttpResponseBase:
        token = CHOSEN.set(request.COOKIES.get(COOKIE) == METRIC)
        try:
            return get_response(request)
        finally:
            CHOSEN.reset(token)

    return answered
