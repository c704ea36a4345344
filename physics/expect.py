"""What the model expects of a ball on a line, at every friction and oil level the lane may have.

Three grids: ``GRIP`` (log factor of the ball's friction on the lane), ``FILM`` (log factor of the
oil it meets) and ``SCATTER`` (log factor of the bowler's shot-to-shot spreads). The fast solver
draws a picture of the line at some nodes of the first two, shots along the launch and slopes in the
rest; fixed samples of the bowler's scatter are read off it about several launches, and what they
make is interpolated to every node.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from physics import pins, worth
from physics.averaged import run_into, run_many
from physics.bowler import Bowler, normal_samples
from physics.leaves import leave_chance
from physics.line import aim, aside
from physics.pins import chance
from physics.shape import (
    ARROW_BOARD,
    ARROWS_M,
    BREAK_BOARD,
    BREAK_M,
    ENTRY_ANGLE_DEG,
    ENTRY_BOARD,
    ENTRY_SPEED_M_S,
    LANE_FT,
    ON_LANE,
    QUARTER_M,
    RESULTS,
    ROLL_M,
    THREE_QUARTERS_M,
    TURN_SPENT,
)
from physics.units import BOARD_M, M_S_TO_MPH, M_TO_FT, board_to_y_m
from physics.worlds import Priors

Array = NDArray[np.float64]

GRIP: Array = np.linspace(-0.52, 0.52, 33)
FILM: Array = np.linspace(-1.2, 1.2, 17)
SCATTER: Array = np.linspace(-0.90, 0.90, 9)
# Where the solver is asked; linear between.
AT_GRIP: Array = np.array([-0.52, -0.34, -0.2, -0.1, -0.05, 0.0, 0.05, 0.1, 0.2, 0.34, 0.52])
AT_FILM: Array = np.array([-1.2, -0.6, -0.25, 0.0, 0.25, 0.6, 1.2])
AT_SCATTER: Array = np.array([-0.9, -0.45, 0.0, 0.45, 0.9])
# Launches of a picture either way of the line, and samples read off it.
HALF, SAMPLES = 12, 48
STEPS = 60
LEAST_SD, NO_HOOK_FT, MOST_AS_GRIP = 0.1, 45.0, 0.15
# Share of the ring oil's error that differs from ball to ball: an estimate.
RING_UNLIKE_FRICTION = 0.5
# The law of friction itself may be another: log friction that moves the entry as far as a power of
# 1.5 of the film ratio in place of 1 does, found alike on one ball and condition. From bowler to
# bowler, and from ball to ball and condition to condition (standard deviations over 24 invented
# bowlers with three balls on two conditions; how far off the law may be is an estimate).
LAW_AS_FRICTION, LAW_UNLIKE_FRICTION = 0.047, 0.035

# How well the line is known when it is told: laydown and arrows to a good third of a board each,
# which is a fifth of a degree of launch. When it isn't told, launches to either side of the line
# the model would play are tried, and what the ball did picks among them. All estimates.
TOLD_LAYDOWN_BOARDS, TOLD_LAUNCH_DEG = 0.4, 0.2
ASSUMED_LAYDOWN_BOARDS, ASSUMED_LAUNCH_DEG = 2.0, 2.0
# Launches about a line told, as Gauss-Hermite nodes of a standard normal, and about one assumed.
_nodes, _weights = np.polynomial.hermite_e.hermegauss(5)
TOLD_AT, TOLD_LOG_WEIGHT = TOLD_LAUNCH_DEG * _nodes, np.log(_weights / _weights.sum())
ASSUMED_AT = np.linspace(-ASSUMED_LAUNCH_DEG, ASSUMED_LAUNCH_DEG, 11)

# What a report may give a number for, in the order of the columns read off a picture.
NUMBERS = ("entry_board", "break_board", "break_ft")


@dataclass(frozen=True)
class Play:
    """Who threw what where: the bowler, the ball as it was, the lane as the model has it.

    ``line``: laydown board and launch the model would play, used when the report tells none.
    """

    who: Bowler
    option: worth.Option
    film_um: Array
    lane_factor: float
    line: tuple[float, float]


@dataclass(frozen=True)
class Doubts:
    """What isn't known of a play besides the levels themselves; standard deviations of logs.

    ``release``, ``ring``: log friction that would move the entry as far as the measured release's
    standard errors, and as what is supposed of ring oil, do. ``own_grip``, ``own_film``: of the
    ball's own friction and roughness. ``scatter``: of the bowler's spreads. ``law``: as another law
    of friction would look to one bowler.
    """

    release: float
    ring: float
    own_grip: float
    own_film: float
    scatter: float
    law: float = 0.0


@dataclass(frozen=True)
class Response:
    """What the model expects: grip x film x launches about the line x scatter, but where noted.

    ``numbers``: the middle of many shots and the spread of one, by the report's names;
    ``families``: chance that what is left is of each family; ``rolled_ft``, ``left_over``,
    ``hook_ft`` of the mean delivery; ``laydown_slope`` (grip x film): boards of entry, and of the
    breakpoint, for a board of laydown; ``line``: its middle, ``told`` whether the report told it.
    """

    numbers: dict[str, tuple[Array, Array]]
    families: tuple[Array, ...]
    rolled_ft: Array
    left_over: Array
    hook_ft: Array
    laydown_slope: Array
    doubts: Doubts
    line: tuple[float, float]
    told: bool

    @property
    def laydown_sd(self) -> float:
        return TOLD_LAYDOWN_BOARDS if self.told else ASSUMED_LAYDOWN_BOARDS

    @property
    def launch_log_weight(self) -> Array:
        """Log weight of each launch before anything was seen."""
        if self.told:
            return np.asarray(TOLD_LOG_WEIGHT)
        return np.full(len(ASSUMED_AT), -math.log(len(ASSUMED_AT)))


def _doubts(play: Play, moved: tuple[float, float], full: Array, priors: Priors) -> Doubts:
    """Boards moved as log friction that would move the entry as far; and the ball's own doubts."""
    middle = full[:, len(FILM) // 2, full.shape[2] // 2, len(SCATTER) // 2, 0]
    around = slice(len(GRIP) // 2 - 3, len(GRIP) // 2 + 4)
    slope = max(1.0, abs(float(np.polyfit(GRIP[around], middle[around], 1)[0])))
    release, ring = (min(MOST_AS_GRIP, boards / slope) for boards in moved)
    rough_left, grip_left = (abs(math.log(share)) for share in play.option.worn)
    own = (priors.cover_friction, priors.own_friction, priors.soaking * grip_left)
    return Doubts(
        release=release,
        ring=ring,
        own_grip=math.hypot(*own, RING_UNLIKE_FRICTION * ring, LAW_UNLIKE_FRICTION),
        own_film=math.hypot(priors.finish_roughness, priors.finish_wear * rough_left),
        # Where a ball goes is the aim's doing more than the release's.
        scatter=play.who.spread_error[1],
        law=LAW_AS_FRICTION,
    )


def respond(
    play: Play,
    told: tuple[float, float] | None = None,
    *,
    with_leaves: bool = True,
    priors: Priors | None = None,
) -> Response:
    """The model's expectation of this play on every node.

    ``told``: laydown board and board at the arrows, if they are known; else launches about the
    play's own line.
    """
    priors = priors or Priors()
    body = worth.body_tuple(play.option.body)
    closure = worth.on_lane(play.option.closure, play.lane_factor).numbers()
    line = play.line if told is None else _told_line(play, told, body, closure)
    offsets = ASSUMED_AT if told is None else TOLD_AT
    spreads = np.array(play.who.spreads())
    reach = min(4.5, float(offsets[-1]) + 3.0 * spreads[5])
    launches = line[1] + np.linspace(-reach, reach, 2 * HALF + 1)
    nodes, slopes = _pictures(
        board_to_y_m(line[0]), launches, play.who.means(), spreads, AT_GRIP, AT_FILM, *body,
        closure, play.film_um, STEPS,
    )  # fmt: skip
    read = _read(
        nodes, slopes, reach / HALF, offsets, spreads[5], np.exp(AT_SCATTER),
        normal_samples(SAMPLES, 11), with_leaves, pins.table().strikes(play.option.body.mass_kg),
    )  # fmt: skip
    full = _everywhere(read)
    shots = {
        name: (full[..., 2 * n], np.maximum(full[..., 2 * n + 1], LEAST_SD))
        for n, name in enumerate(NUMBERS)
    }
    mean = full[:, :, :, 0, 9:]
    return Response(
        numbers=shots,
        families=tuple(full[..., 6 + n] for n in range(3)),
        rolled_ft=mean[..., 0],
        left_over=mean[..., 1],
        hook_ft=mean[..., 2],
        laydown_slope=_by_laydown(play, slopes),
        doubts=_doubts(play, _moved_by(play, line, body, closure, priors), full, priors),
        line=line,
        told=told is not None,
    )


def _told_line(  # type: ignore[no-untyped-def]
    play: Play, told: tuple[float, float], body, closure
) -> tuple[float, float]:
    """Laydown board and the launch whose mean delivery crosses the arrows where it was told."""
    laydown_board, arrow_board = told
    straight = (laydown_board - arrow_board) * BOARD_M / ARROWS_M
    launch = math.degrees(math.atan(straight))
    for _ in range(2):
        throw = np.array([[board_to_y_m(laydown_board), launch, *play.who.means()]])
        crossed = float(
            run_many(throw, body[0], body[1], closure, play.film_um, STEPS)[0, ARROW_BOARD]
        )
        if math.isfinite(crossed):
            launch += math.degrees((crossed - arrow_board) * BOARD_M / ARROWS_M)
    return laydown_board, launch


def _by_laydown(play: Play, slopes: Array) -> Array:
    """Boards of entry, and of the breakpoint, for a board of laydown, on every node."""
    boards = max(play.who.spreads()[4] / BOARD_M, 1e-6)
    return np.asarray(
        np.einsum("gG,fF,GFk->kgf", _TO_GRIP, _TO_FILM, slopes[:, :, 1, 4, [0, 2]] / boards)
    )


def _moved_by(
    play: Play, line: tuple[float, float], body: Any, closure: tuple[float, ...], priors: Priors
) -> tuple[float, float]:
    """Boards by which the middle of many shots moves with the measured release's standard errors,
    and with the spreads of what is supposed of the oil a ball carries round."""
    thrown = play.who.thrown

    def moved(k: int, by: float) -> float:
        up, down = (
            _middle_entry(play, line, body, closure, {k: sign * by}) for sign in (1.0, -1.0)
        )
        return 0.5 * (up - down)

    def ringed(at: int, share: float) -> float:
        up, down = (
            _middle_entry(
                play,
                line,
                body,
                (*closure[:at], closure[at] * math.exp(sign * share), *closure[at + 1 :]),
                {},
            )
            for sign in (1.0, -1.0)
        )
        return 0.5 * (up - down)

    return (
        math.hypot(*(moved(k, thrown[k]) for k in range(4))),
        math.hypot(ringed(4, priors.ring_absorption), ringed(5, priors.ring_patch)),
    )


def _middle_entry(
    play: Play,
    line: tuple[float, float],
    body: Any,
    closure: tuple[float, ...],
    off: dict[int, float],
) -> float:
    """Entry of the middle one of fixed samples, with some numbers of the release moved."""
    spreads, z = np.array(play.who.spreads()), normal_samples(SAMPLES // 2, 11)
    values = np.array(play.who.means()) + spreads[:4] * z[:, :4]
    for k, by in off.items():
        values[:, k] += by
    values[:, :2] = np.maximum(values[:, :2], (2.0, 0.5))
    values[:, 3] = np.maximum(values[:, 3], 0.0)
    y = board_to_y_m(line[0]) + spreads[4] * z[:, 4]
    throws = np.column_stack([y, line[1] + spreads[5] * z[:, 5], values])
    rows = run_many(throws, body[0], body[1], closure, play.film_um, STEPS)
    return float(np.median(rows[:, ENTRY_BOARD]))


def _between(points: Array, nodes: Array) -> Array:
    """Weights (points x nodes) of linear interpolation."""
    return np.array([np.interp(points, nodes, row) for row in np.eye(len(nodes))]).T


_TO_GRIP, _TO_FILM = _between(GRIP, AT_GRIP), _between(FILM, AT_FILM)
_TO_SCATTER = _between(SCATTER, AT_SCATTER)


def _everywhere(coarse: Array) -> Array:
    """Values at the solver's nodes (grip x film x launches x scatter x columns), everywhere."""
    along = np.einsum("gG,GFdWc->gFdWc", _TO_GRIP, coarse)
    along = np.einsum("fF,gFdWc->gfdWc", _TO_FILM, along)
    return np.asarray(np.einsum("wW,gfdWc->gfdwc", _TO_SCATTER, along))


# Columns of a picture's nodes.
_ENTRY, _ANGLE, _BREAK, _BREAK_FT, _MPH, _ON, _ROLLED, _LEFT, _HOOK = range(9)


@njit(nogil=True, cache=True, error_model="numpy")
def _row(out, into):  # type: ignore[no-untyped-def]
    """What a picture keeps of one shot."""
    into[0], into[1], into[2] = out[ENTRY_BOARD], out[ENTRY_ANGLE_DEG], out[BREAK_BOARD]
    into[3], into[4] = out[BREAK_M] * M_TO_FT, out[ENTRY_SPEED_M_S] * M_S_TO_MPH
    into[5] = out[ON_LANE]
    rolled = LANE_FT - out[ROLL_M] * M_TO_FT
    into[6] = 0.0 if math.isnan(rolled) else rolled
    into[7] = 1.0 - out[TURN_SPENT]
    end = out[THREE_QUARTERS_M]
    if math.isnan(end):
        end = LANE_FT / M_TO_FT
    hook = (end - out[QUARTER_M]) * M_TO_FT
    # A ball with under a quarter of its turn spent has no hook length: as rolly as they come.
    into[8] = NO_HOOK_FT if math.isnan(hook) else hook


@njit(nogil=True, cache=True, error_model="numpy")
def _pictures(y, launches, means, spreads, grips, films, ball, p, closure, film, steps):  # type: ignore[no-untyped-def]
    """A picture of the line at every grip and film: shots along the launch, and slopes.

    Slopes are of entry, angle and breakpoint by one standard deviation of speed, spin, rotation,
    tilt and laydown, at three launches. More oil by a factor is a finer scale of the film ratio by
    the same: the closure sees only their quotient, and the film carried on the ball grows with the
    film on the lane.
    """
    count = launches.shape[0]
    nodes = np.empty((grips.shape[0], films.shape[0], count, 9))
    slopes = np.zeros((grips.shape[0], films.shape[0], 3, 5, 3))
    apart = (count - 1) // 6
    throws, out = np.empty((count + 30, 6)), np.empty((count + 30, RESULTS))
    for n in range(count):
        aim(throws[n], y, launches[n], means)
    for place in range(3):
        for k in range(5):
            for side in range(2):
                throw = throws[count + 10 * place + 2 * k + side]
                aim(throw, y, launches[(count - 1) // 2 + (place - 1) * apart], means)
                aside(throw, spreads, k, 1.0 - 2.0 * side)
    up, down = np.empty(9), np.empty(9)
    for i in range(grips.shape[0]):
        grip = math.exp(grips[i])
        for j in range(films.shape[0]):
            scale = closure[2] * math.exp(-films[j])
            here = (
                closure[0] * grip, closure[1] * grip, scale, closure[3], closure[4], closure[5]
            )  # fmt: skip
            run_into(throws, ball, p, here, film, steps, out)
            for n in range(count):
                _row(out[n], nodes[i, j, n])
            for place in range(3):
                for k in range(5):
                    _row(out[count + 10 * place + 2 * k], up)
                    _row(out[count + 10 * place + 2 * k + 1], down)
                    if up[5] > 0.5 and down[5] > 0.5:
                        for c in range(3):
                            slopes[i, j, place, k, c] = 0.5 * (up[c] - down[c])
    return nodes, slopes


@njit(nogil=True, cache=True, error_model="numpy")
def _read(nodes, slopes, spacing, offsets, launch_sd, widths, samples, with_leaves, strikes):  # type: ignore[no-untyped-def]
    """Many shots read off each picture, about each launch and at each width of scatter.

    The oil steers misses back, so the middle of many shots isn't the mean delivery's and their
    spread isn't a slope's. Columns: middle and half-range (16 to 84 %) of entry, breakpoint board
    and feet; chance of each family among leaves; feet in roll, turn left and hook of the mean shot.
    """
    n_grip, n_film, count = nodes.shape[0], nodes.shape[1], nodes.shape[2]
    half = (count - 1) // 2
    apart = (count - 1) // 6
    size = samples.shape[0]
    out = np.zeros((n_grip, n_film, offsets.shape[0], widths.shape[0], 12))
    seen = np.empty((3, size))
    kept = np.empty((3, size))
    for i in range(n_grip):
        for j in range(n_film):
            picture, slope = nodes[i, j], slopes[i, j]
            for d in range(offsets.shape[0]):
                for w in range(widths.shape[0]):
                    into = out[i, j, d, w]
                    on_lane, missed = 0, 0.0
                    for s in range(size):
                        z = samples[s]
                        place = half + (offsets[d] + launch_sd * widths[w] * z[5]) / spacing
                        n = min(max(math.floor(place), 0), count - 2)
                        f = min(max(place - n, 0.0), 1.0)
                        one, two = picture[n], picture[n + 1]
                        off = min(max((place - half) / apart, -1.0), 1.0)
                        side = 2 if off > 0.0 else 0
                        off = abs(off)
                        board = one[0] + f * (two[0] - one[0])
                        angle = one[1] + f * (two[1] - one[1])
                        turned = one[2] + f * (two[2] - one[2])
                        for k in range(5):
                            by = z[k] * widths[w]
                            board += by * ((1.0 - off) * slope[1, k, 0] + off * slope[side, k, 0])
                            angle += by * ((1.0 - off) * slope[1, k, 1] + off * slope[side, k, 1])
                            turned += by * ((1.0 - off) * slope[1, k, 2] + off * slope[side, k, 2])
                        seen[0, s], seen[1, s] = board, turned
                        seen[2, s] = one[3] + f * (two[3] - one[3])
                        if one[5] < 0.5 or two[5] < 0.5:
                            continue
                        for c in range(3):
                            kept[c, on_lane] = seen[c, s]
                        on_lane += 1
                        if with_leaves:
                            mph = one[4] + f * (two[4] - one[4])
                            leaving = 1.0 - chance(board, angle, mph, strikes)
                            light, pocket, high = leave_chance(board, angle)
                            missed += leaving
                            into[6] += leaving * light
                            into[7] += leaving * pocket
                            into[8] += leaving * high
                    # Where hardly a shot stays on the lane, where they leave it stands for entry.
                    few = on_lane < size // 4
                    for c in range(3):
                        values = np.sort(seen[c] if few else kept[c, :on_lane])
                        last = values.shape[0] - 1
                        into[2 * c] = values[int(0.5 * last + 0.5)]
                        low, high = values[int(0.16 * last + 0.5)], values[int(0.84 * last + 0.5)]
                        into[2 * c + 1] = 0.5 * (high - low)
                    for c in range(6, 9):
                        into[c] = into[c] / missed if missed > 0.0 else 1.0 / 3.0
                    place = half + offsets[d] / spacing
                    n = min(max(math.floor(place), 0), count - 2)
                    f = min(max(place - n, 0.0), 1.0)
                    one, two = picture[n], picture[n + 1]
                    for c in range(3):
                        into[9 + c] = one[6 + c] + f * (two[6 + c] - one[6 + c])
    return out
