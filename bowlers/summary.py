"""Means, spreads and changes as a person reads them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bowlers.engine import kept_deliveries, spread_of, taken
from bowlers.models import Delivery, Fitting
from bowlers.readings import READINGS, Reading
from physics.measure import Spread


@dataclass(frozen=True)
class Line:
    """One reading of a fitting: its mean, spread and the entries left out of the mean."""

    reading: Reading
    spread: Spread | None
    set_aside: tuple[str, ...] = ()

    @property
    def mean(self) -> str:
        return rounded(self.reading, self.spread.mean) if self.spread else ""

    @property
    def sd(self) -> str:
        known = self.spread is not None and self.spread.sd is not None
        return rounded(self.reading, self.spread.sd) if known else ""  # type: ignore[union-attr,arg-type]

    @property
    def count(self) -> int:
        return self.spread.count if self.spread else 0


@dataclass(frozen=True)
class Change:
    """How one mean moved from an earlier fitting to this one."""

    reading: Reading
    then: str
    change: str
    beyond_spread: bool | None

    @property
    def words(self) -> str:
        """The change with its verdict: "+35, beyond"; empty when nothing was read this time."""
        if not self.change:
            return ""
        if not float(self.change.replace("−", "-")):
            return "no change"
        if self.beyond_spread is None:
            return f"{self.change}, one delivery only"
        return f"{self.change}, {'beyond' if self.beyond_spread else 'within'}"


@dataclass(frozen=True)
class Earlier:
    """An earlier fitting beside the one on the page; None where there is nothing to compare."""

    fitting: Fitting
    changes: tuple[Change | None, ...]


def rounded(reading: Reading, value: float) -> str:
    """A computed value: a tenth where readings are entered by tenths, inches by hundredths."""
    places = {"rpm": 0, "in": 2}.get(reading.unit, 1)
    shown = f"{value:.{places}f}"
    return shown.replace("-", "−") if float(shown) else shown.lstrip("-")


def line(deliveries: Sequence[Delivery], reading: Reading) -> Line:
    spread = spread_of(deliveries, reading)
    if spread is None:
        return Line(reading, None)
    read = taken(deliveries, reading)
    aside = tuple(
        f"{reading.text(read[index][1])} in delivery {read[index][0].order}"
        for index in spread.set_aside
    )
    return Line(reading, spread, aside)


def lines(fitting: Fitting) -> list[Line]:
    deliveries = kept_deliveries(fitting)
    return [line(deliveries, reading) for reading in READINGS]


def change(reading: Reading, now: Spread, then: Spread) -> Change:
    """The move of a mean against the spread of single deliveries in both fittings.

    The spread compared with is the root sum square of the two standard deviations: how far two
    single deliveries, one of each day, usually lie apart.
    """
    moved = now.mean - then.mean
    shown = rounded(reading, moved)
    beyond = None
    if now.sd is not None and then.sd is not None:
        beyond = abs(moved) > max(math.hypot(now.sd, then.sd), reading.resolution)
    return Change(
        reading=reading,
        then=rounded(reading, then.mean),
        change=shown if moved < 0 or not float(shown) else f"+{shown}",
        beyond_spread=beyond,
    )


def earlier(fitting: Fitting) -> list[Earlier]:
    """Finished fittings of the same customer and the same release before this one, newest first,
    with the changes."""
    now = kept_deliveries(fitting)
    alike = fitting.bowler.fittings.of_purpose(fitting.purpose)
    others = alike.finished().before(fitting).newest_first().with_deliveries()
    return [
        Earlier(
            fitting=other,
            changes=tuple(_change_since(kept_deliveries(other), now, r) for r in READINGS),
        )
        for other in others
    ]


def _change_since(
    then: Sequence[Delivery], now: Sequence[Delivery], reading: Reading
) -> Change | None:
    spread_then, spread_now = spread_of(then, reading), spread_of(now, reading)
    if spread_then is None:
        return None
    if spread_now is None:
        return Change(reading, rounded(reading, spread_then.mean), "", None)
    return change(reading, spread_now, spread_then)


# Revs within so many of those that match the speed are matched to it.
MATCHED_RPM = 50


def revs_over_speed(speed_mph: float, rev_rate_rpm: float) -> float:
    """How many rpm above those that match the speed: 250 at 16 mph and 50 more for each mph
    (common practice, no source)."""
    return rev_rate_rpm - (250 + 50 * (speed_mph - 16))


def release_words(fitting: Fitting) -> list[str]:
    """How the release would be called, from its means: rev rate for the speed, tilt, rotation.

    The bands are common practice without a published source: revs match the speed near
    250 rpm at 16 mph and 50 rpm more for each mph, give or take 50; tilt is low under 10° and
    high over 20°; rotation low under 30° and high over 60°.
    """
    deliveries = kept_deliveries(fitting)
    means = {
        reading.name: spread.mean
        for reading in READINGS
        if (spread := spread_of(deliveries, reading))
    }
    words: list[str] = []
    if "speed_mph" in means and "rev_rate_rpm" in means:
        excess = revs_over_speed(means["speed_mph"], means["rev_rate_rpm"])
        words.append(
            "rev rate high for the speed"
            if excess > MATCHED_RPM
            else "speed high for the rev rate"
            if excess < -MATCHED_RPM
            else "rev rate and speed matched"
        )
    for name, label, low, high in (
        ("tilt_deg", "tilt", 10, 20),
        ("rotation_deg", "rotation", 30, 60),
    ):
        if name in means:
            size = "low" if means[name] < low else "high" if means[name] > high else "medium"
            words.append(f"{size} {label}")
    return words
