"""What reports from the lanes teach: friction, oil and repeatability, by Bayes on a fixed grid.

The few free numbers are the **friction level** (log factor of a house's friction, as one bowler's
release sees it), the **oil level** of each condition (log factor of its film) and the
**repeatability** of the bowler (log factor of their spreads). Each report is a table over the fixed
grids of :mod:`physics.expect`. A ball's own errors are summed out on those grids exactly: its
cover's and its own friction multiply the lane's, and its roughness divides the film, so both are
shifts along a grid. Prior widths are those of :class:`physics.worlds.Priors`.

What one ball's errors are is shared by its reports, so reports of one ball never narrow the level
past them. A ball seen on several conditions is summed out on each with a width of sqrt(n) times its
own, which keeps what they say together right. Houses pool the friction messages of their bowlers;
a release measured wrongly, oil carried round otherwise than supposed and another law of friction
than the model's look like friction, so a bowler's message is widened by all three.
"""

import math
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from physics import expect, seen
from physics.expect import FILM, GRIP, SCATTER
from physics.worlds import Priors

Array = NDArray[np.float64]

FRICTION: Array = np.linspace(-0.45, 0.45, 73)
OIL: Array = np.linspace(-0.44, 0.44, 45)
INTERVAL = (0.10, 0.90)
# However many reports of a ball agree, what they say against a node ends here.
LEAST_LOG = -60.0
# What so many bowlers said at a house is remembered: others ask for it again and again. Forty
# kilobytes each with their tables; ten houses of which the newest two hundred reports count.
REMEMBERED = 2000
# Nodes that stand for all of them where a number is set beside its expectation.
DRAWN = 1000
# A report whose number lies this far out in what was predicted of it is unusual, or surprising.
UNUSUAL, SURPRISING = 0.20, 0.05


@dataclass(frozen=True, eq=False)
class Evidence:
    """One report as it counts: who, where, which ball on which condition, and its table.

    ``table``: log likelihood (grip x film x scatter); ``oil_sd``: how well the amount of the
    condition's oil is known, as a share.
    """

    bowler: Hashable
    house: Hashable
    condition: Hashable
    ball: Hashable
    oil_sd: float
    doubts: expect.Doubts
    table: Array = field(repr=False)


def response_to(play: expect.Play, report: seen.Report) -> expect.Response:
    """What the model expects of a play, in as much as this report speaks of it."""
    return expect.respond(play, report.line, with_leaves=bool(report.leaves))


@dataclass(frozen=True)
class Level:
    """One learnt number as a factor: its middle and the 80 % interval; ``log_mean``, ``log_sd``."""

    log_mean: float
    log_sd: float
    low: float
    high: float

    @property
    def factor(self) -> float:
        return math.exp(self.log_mean)

    def numbers(self) -> dict[str, float]:
        return {
            "factor": round(self.factor, 4),
            "low": round(self.low, 4),
            "high": round(self.high, 4),
            "log_sd": round(self.log_sd, 4),
        }


@dataclass(frozen=True)
class Learnt:
    """A bowler at a house after the reports, with what was held before beside it.

    ``oil`` by condition. ``effective_nodes``: how many nodes of friction x repeatability carry the
    weight (1/sum of squares); under about five the grid is too coarse for what it was told.
    """

    friction: Level
    friction_before: Level
    oil: Mapping[Hashable, Level]
    oil_before: Mapping[Hashable, Level]
    repeatability: Level
    repeatability_before: Level
    reports: int
    effective_nodes: float


def _bell(points: Array, sd: float, about: float = 0.0) -> Array:
    weights = np.exp(-0.5 * ((points - about) / sd) ** 2)
    return np.asarray(weights / weights.sum())


def _blur(rows: Array, columns: Array, sd: float) -> Array:
    """Weights (rows x columns) of a normal about each row, on the columns."""
    step = float(columns[1] - columns[0])
    sd = max(sd, 0.6 * step)
    weights = np.exp(-0.5 * ((columns[None, :] - rows[:, None]) / sd) ** 2)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def level_of(points: Array, weights: Array) -> Level:
    """Mean, spread and 80 % interval of weights on a grid of logs, each node spread evenly about
    itself."""
    share = weights / weights.sum()
    mean = float(share @ points)
    sd = math.sqrt(max(float(share @ (points - mean) ** 2), 0.0))
    step = float(points[1] - points[0])
    edges = np.append(points - step / 2, points[-1] + step / 2)
    below = np.append(0.0, np.cumsum(share))
    low, high = (float(np.interp(q, below, edges)) for q in INTERVAL)
    return Level(mean, sd, math.exp(low), math.exp(high))


@dataclass
class _Beliefs:
    """Normalised weights on the grids: friction, repeatability, and oil by condition."""

    friction: Array
    scatter: Array
    oil: dict[Hashable, Array]


class Lanes:
    """All reports of a shop that may speak of each other, and what follows for anybody there.

    Nothing is kept of what was asked: leaving a report out is the same as never having had it.
    """

    def __init__(self, evidence: Iterable[Evidence], priors: Priors | None = None) -> None:
        self.evidence = list(evidence)
        self.priors = priors or Priors()
        # Hundreds may have seen a house, and each is asked for by the others' sake.
        self._from: dict[Hashable, list[Evidence]] = {}
        self._on: dict[Hashable, list[Evidence]] = {}
        for one in self.evidence:
            self._from.setdefault(one.bowler, []).append(one)
            self._on.setdefault(one.condition, []).append(one)
        self._messages: dict[tuple[Hashable, Hashable], dict[Hashable, Array]] = {}

    # Widths -------------------------------------------------------------------------------------

    def _release_sd(self, bowler: Hashable, house: Hashable) -> float:
        """How far what this bowler sees of the friction may lie from the house's own: a release
        measured wrongly, oil carried round otherwise than supposed, and another law of friction."""
        parts = [(e.doubts.release, e.doubts.ring, e.doubts.law) for e in self._of(bowler, house)]
        return math.hypot(*np.mean(parts, axis=0)) if parts else 0.0

    def _scatter_sd(self, bowler: Hashable) -> float:
        """How well a bowler's spreads are known before any report."""
        known = [e.doubts.scatter for e in self._from.get(bowler, ())]
        return max(known, default=self.priors.repeatability)

    def _of(self, bowler: Hashable, house: Hashable) -> list[Evidence]:
        return [e for e in self._from.get(bowler, ()) if e.house == house]

    # Messages -----------------------------------------------------------------------------------

    def _by_condition(
        self, evidence: Sequence[Evidence], counts: Mapping[Hashable, int]
    ) -> dict[Hashable, Array]:
        """Likelihood (friction x oil x scatter) of each condition, balls' own errors summed out."""
        found: dict[Hashable, Array] = {}
        groups: dict[tuple[Hashable, Hashable], Array] = {}
        for e in evidence:
            key = (e.condition, e.ball)
            groups[key] = groups.get(key, 0.0) + e.table
        for (condition, ball), table in groups.items():
            one = next(e for e in evidence if (e.condition, e.ball) == (condition, ball))
            across = self._blurs(one.doubts, counts.get(ball, 1))
            like = np.exp(np.maximum(table - table.max(), LEAST_LOG))
            summed = np.einsum("fg,ou,gus->fos", *across, like, optimize=True)
            together = found.get(condition, 1.0) * (summed / summed.max())
            # Balls that contradict each other must not leave nothing at all.
            found[condition] = together / together.max()
        return found

    @staticmethod
    def _blurs(ball: expect.Doubts, conditions: int) -> tuple[Array, Array]:
        more = math.sqrt(max(conditions, 1))
        return (
            _blur(FRICTION, GRIP, ball.own_grip * more),
            _blur(OIL, FILM, ball.own_film * more),
        )

    @staticmethod
    def _seen_on(evidence: Sequence[Evidence]) -> dict[Hashable, int]:
        """On how many conditions each ball was seen."""
        pairs = {(e.ball, e.condition) for e in evidence}
        balls = [ball for ball, _ in pairs]
        return {ball: balls.count(ball) for ball in balls}

    def _prior(self, bowler: Hashable, release_sd: float) -> _Beliefs:
        width = math.hypot(self.priors.lane_friction, release_sd)
        return _Beliefs(
            friction=_bell(FRICTION, width),
            scatter=_bell(SCATTER, self._scatter_sd(bowler)),
            oil={},
        )

    def _oil_sd(self, condition: Hashable) -> float:
        known = [e.oil_sd for e in self._on.get(condition, ())]
        return max(known, default=self.priors.oil_amount)

    def _oil_prior(self, condition: Hashable) -> Array:
        return _bell(OIL, self._oil_sd(condition))

    def _said_by(self, bowler: Hashable, house: Hashable) -> dict[Hashable, Array]:
        """What one bowler's reports say to others: likelihood of the house's friction under
        ``"friction"``, of the oil under each condition."""
        key = (bowler, house)
        if key not in self._messages:
            evidence = tuple(self._of(bowler, house))
            oil_sd = {e.condition: self._oil_sd(e.condition) for e in evidence}
            self._messages[key] = _said(
                evidence, tuple(oil_sd.items()), self._scatter_sd(bowler), self.priors
            )
        return self._messages[key]

    def _say(
        self, evidence: Sequence[Evidence], oil_sd: Mapping[Hashable, float], scatter_sd: float
    ) -> dict[Hashable, Array]:
        """:meth:`_said_by`, computed: of one bowler's evidence at one house."""
        one = evidence[0]
        release = self._release_sd(one.bowler, one.house)
        tables = self._by_condition(evidence, self._seen_on(evidence))
        friction = self._prior(one.bowler, release).friction
        scatter = _bell(SCATTER, scatter_sd)
        out: dict[Hashable, Array] = {}
        joint = np.ones((len(FRICTION), len(SCATTER)))
        for condition, table in tables.items():
            out[condition] = np.einsum("f,s,fos->o", friction, scatter, table)
            joint = joint * np.einsum("o,fos->fs", _bell(OIL, oil_sd[condition]), table)
            joint /= joint.sum()
        theirs = joint @ scatter
        out["friction"] = _blur(FRICTION, FRICTION, release) @ (theirs / theirs.max())
        return out

    def _scatter_elsewhere(self, bowler: Hashable, house: Hashable) -> Array:
        """Likelihood of a bowler's repeatability from the other houses they were seen in."""
        said = np.ones(len(SCATTER))
        for other in {e.house for e in self._from.get(bowler, ()) if e.house != house}:
            evidence = self._of(bowler, other)
            tables = self._by_condition(evidence, self._seen_on(evidence))
            prior = self._prior(bowler, self._release_sd(bowler, other))
            joint = np.ones((len(FRICTION), len(SCATTER)))
            for condition, table in tables.items():
                joint = joint * np.einsum("o,fos->fs", self._oil_prior(condition), table)
                joint /= joint.sum()
            message = prior.friction @ joint
            said = said * (message / message.max())
        return said

    def _from_others(self, bowler: Hashable, house: Hashable, release_sd: float) -> _Beliefs:
        """What this bowler's own reports are weighed against: prior, and what others said."""
        house_friction = _bell(FRICTION, self.priors.lane_friction)
        oil: dict[Hashable, Array] = {}
        for other in {e.bowler for e in self.evidence if e.house == house} - {bowler}:
            said = self._said_by(other, house)
            house_friction = house_friction * said["friction"]
            for condition, message in said.items():
                if condition != "friction":
                    oil[condition] = oil.get(condition, self._oil_prior(condition)) * message
        house_friction /= house_friction.sum()
        seen_by_release = house_friction @ _blur(FRICTION, FRICTION, release_sd)
        scatter = _bell(SCATTER, self._scatter_sd(bowler)) * self._scatter_elsewhere(bowler, house)
        return _Beliefs(
            friction=seen_by_release / seen_by_release.sum(),
            scatter=scatter / scatter.sum(),
            oil={c: weights / weights.sum() for c, weights in oil.items()},
        )

    # Answers ------------------------------------------------------------------------------------

    def learnt(self, bowler: Hashable, house: Hashable) -> Learnt:
        """The levels for one bowler at one house; before = by everything but their own reports."""
        evidence = self._of(bowler, house)
        release = self._release_sd(bowler, house)
        before = self._from_others(bowler, house, release)
        tables = self._by_condition(evidence, self._seen_on(evidence))
        joint, oil = self._joint(before, tables)
        share = joint / joint.sum()
        plain = self._prior(bowler, release)
        return Learnt(
            friction=level_of(FRICTION, share.sum(axis=1)),
            friction_before=level_of(FRICTION, plain.friction),
            oil={c: level_of(OIL, weights) for c, weights in oil.items()},
            oil_before={c: level_of(OIL, self._oil_prior(c)) for c in oil},
            repeatability=level_of(SCATTER, share.sum(axis=0)),
            repeatability_before=level_of(SCATTER, plain.scatter),
            reports=len(evidence),
            effective_nodes=float(1.0 / (share**2).sum()),
        )

    def _joint(
        self, before: _Beliefs, tables: Mapping[Hashable, Array]
    ) -> tuple[Array, dict[Hashable, Array]]:
        """Weights (friction x scatter), and of the oil of each condition that anybody spoke of."""
        start = np.outer(before.friction, before.scatter)
        said = {
            c: np.einsum("o,fos->fs", before.oil.get(c, self._oil_prior(c)), table)
            for c, table in tables.items()
        }
        joint = start.copy()
        for message in said.values():
            joint = joint * message
            joint /= joint.sum()
        oil = dict(before.oil)
        for condition, table in tables.items():
            rest = start.copy()
            for other, message in said.items():
                if other != condition:
                    rest = rest * message
                    rest /= rest.sum()
            prior = before.oil.get(condition, self._oil_prior(condition))
            weights = prior * np.einsum("fs,fos->o", rest, table)
            oil[condition] = weights / weights.sum()
        return joint, oil

    def house(self, house: Hashable) -> tuple[Level, Level, int]:
        """The friction level of a house from all its bowlers: before, after, how many reports."""
        before = _bell(FRICTION, self.priors.lane_friction)
        weights = before
        for bowler in {e.bowler for e in self.evidence if e.house == house}:
            weights = weights * self._said_by(bowler, house)["friction"]
            weights = weights / weights.sum()
        count = sum(1 for e in self.evidence if e.house == house)
        return level_of(FRICTION, before), level_of(FRICTION, weights), count

    def expected(self, one: Evidence, *, without: Sequence[Evidence] = ()) -> Array:
        """Weights (grip x film x scatter) with which the model expects what ``one`` reports, from
        every report but those left out: of one, what it would have expected of it unseen."""
        gone = {id(e) for e in without}
        left = Lanes([e for e in self.evidence if id(e) not in gone], self.priors)
        # What others said doesn't hang on what this bowler's own reports are left out.
        for other in {e.bowler for e in self.evidence if e.house == one.house} - {one.bowler}:
            left._messages[other, one.house] = self._said_by(other, one.house)
        mine = left._of(one.bowler, one.house)
        same = [e for e in mine if e.ball == one.ball and e.condition == one.condition]
        rest = [e for e in mine if e.ball != one.ball or e.condition != one.condition]
        release = self._release_sd(one.bowler, one.house)
        before = left._from_others(one.bowler, one.house, release)
        counts = self._seen_on(self._of(one.bowler, one.house))
        tables = self._by_condition(rest, counts)
        table = tables.pop(one.condition, None)
        start, _ = self._joint(before, tables)
        oil = before.oil.get(one.condition, self._oil_prior(one.condition))
        weights = np.einsum("fs,o->fos", start, oil)
        if table is not None:
            weights = weights * table
            weights /= weights.sum()
        grips, films = self._blurs(one.doubts, counts.get(one.ball, 1))
        spread = np.einsum("fg,ou,fos->gus", grips, films, weights, optimize=True)
        if same:
            own = np.sum([e.table for e in same], axis=0)
            spread = spread * np.exp(np.maximum(own - own.max(), LEAST_LOG))
        return np.asarray(spread / spread.sum())


def surprise_of(as_far_out: float) -> str:
    """In words, the share of expectations at least as far out as what was seen."""
    if as_far_out < SURPRISING:
        return "surprising"
    return "unusual" if as_far_out < UNUSUAL else "as expected"


@dataclass(frozen=True)
class Beside:
    """A number seen beside what was expected of it: middle, 80 % interval, and the share of
    expectations at least as far out (two-sided) as what was seen."""

    seen: float
    expected: float
    low: float
    high: float
    as_far_out: float

    @property
    def surprise(self) -> str:
        return surprise_of(self.as_far_out)


def unseen(lanes: Lanes, one: Evidence, response: expect.Response, report: seen.Report) -> Array:
    """Weights (grip x film x launches x scatter) from all the *other* reports: what the model would
    have expected of this one."""
    weights = lanes.expected(one, without=[one])
    launch = np.exp(seen.launch_log_weights(response, report))
    return np.asarray(weights[:, :, None, :] * launch)


def beside(weights: Array, response: expect.Response, report: seen.Report) -> dict[str, Beside]:
    """Every number of a report beside what was expected of it (:func:`unseen`).

    Where a ball went in on a line nobody told says nothing, so it isn't held against anything.
    """
    return {
        name: _beside(value, expected, scale, weights)
        for name, value, expected, scale in seen.numbers_seen(response, report)
        if response.told or name != "entry_board"
    }


def evenly(weights: Array, count: int) -> NDArray[np.intp]:
    """Flat places drawn evenly along the weights' running sum: the same for the same weights."""
    running = np.cumsum(weights.ravel())
    at = (np.arange(count) + 0.5) / count * running[-1]
    return np.asarray(np.minimum(np.searchsorted(running, at), weights.size - 1))


def _beside(value: float, expected: Array, scale: Array, weights: Array) -> Beside:
    drawn = evenly(weights, DRAWN)
    middle = np.broadcast_to(expected, weights.shape).ravel()[drawn]
    width = np.broadcast_to(scale, weights.shape).ravel()[drawn]
    mean = float(middle.mean())
    below = float(seen.student_below(value, middle, width).mean())
    reach = 4.0 * math.sqrt(float(((middle - mean) ** 2 + 2.0 * width**2).mean()))
    at = np.linspace(mean - reach, mean + reach, 81)
    shares = seen.student_below(at[:, None], middle, width).mean(axis=1)
    low, middle_value, high = (float(np.interp(q, shares, at)) for q in (0.1, 0.5, 0.9))
    return Beside(value, middle_value, low, high, 2.0 * min(below, 1.0 - below))


@lru_cache(maxsize=REMEMBERED)
def _said(
    evidence: tuple[Evidence, ...],
    oil_sd: tuple[tuple[Hashable, float], ...],
    scatter_sd: float,
    priors: Priors,
) -> dict[Hashable, Array]:
    """What one bowler says at one house, by all it depends on; evidence is told by identity. Not to
    be changed by whoever gets it."""
    return Lanes(evidence, priors)._say(evidence, dict(oil_sd), scatter_sd)
