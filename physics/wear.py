"""Oil worn by play: deliveries run over the lane take film up along their paths and carry some on.

At each contact the films of ball and lane split evenly, as in the ring oil of the solvers: per
turn the ring meets the lane's film h with the share o of it that still lies on the last turn's
ring, so both leave the contact with (h + o r)/2; what flare has carried past the contact stays on
the ball. With o = 1 that is the solvers' equation dr = (h - r)/2 a turn. The lane gives what the
ball takes, over the same strip:

    lost by the lane = absorbed by covers + left on balls          (mL, to rounding)

where the lane's loss counts what was carried down as gained. Where the ball carries a thicker film
than the lane it passes, the split works the other way: carrydown.

Films are in micrometres on the own-side grid of a right-hander (rows each foot, columns by board);
a micrometre on a square metre is a millilitre.
"""

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from physics.averaged import (
    FILM_STEP_M,
    PATH_AXIS,
    PATH_COLUMNS,
    PATH_SPEED,
    PATH_SPIN,
    PATH_Y,
    follow,
    run_into,
)
from physics.errors import InputError
from physics.friction import ring_overlap
from physics.lane import FILM_ROWS, OilTable
from physics.shape import ENTRY_BOARD, ON_LANE, RESULTS
from physics.traffic import LEAGUE, Thrower, Traffic
from physics.units import BOARD_M, BOARDS, CENTRE_BOARD, IN_TO_M, UNIT_TO_UM, board_to_y_m
from physics.worth import body_tuple

Array = NDArray[np.float64]

# A path step a foot: the film's own rows.
STEPS = FILM_ROWS - 1
# Bowlers look for their line again after so many deliveries on the lane.
STAGE = 24
# Games on one lane after which it is called burnt: a person's game counts one. Two leagues of five
# a lane; the trade saw the back of the lane change after about 24 games (read: trade articles).
BURNT_GAMES = 30
MOST_GAMES = 60

# Lines tried by a bowler who looks for one: launches, and laydowns about the one they stand on.
LAUNCH_LOW_DEG, LAUNCH_STEP_DEG, LAUNCHES = -3.0, 0.5, 21
MOVES_RIGHT, MOVES_LEFT = 3.0, 4.0
LEFTMOST_BOARD, RIGHTMOST_BOARD = 38.0, 4.0
# A miss at the pins counts as its square up to this many boards; a move of the feet of this many
# boards is worth avoiding a miss of one board (estimates).
WORST_MISS_BOARDS, MOVE_BOARDS = 4.0, 4.0

# Width of the line of oil a contact exchanges: about what is seen of a ring on a ball (common
# practice, no source), less than the width over which the contact feels the last ring. It scales
# how many games wear the lane so far, and is the least certain number here.
LINE_M = 0.25 * IN_TO_M

ABSORBED, ON_BALLS = 0, 1


@dataclass(frozen=True)
class Worn:
    """Oil after play: the table, and where the oil went (mL).

    ``lost_ml`` left the lane (what was carried down is back on it), ``carried_ml`` lies past the
    fresh pattern's end; ``laydown_board``: where each kind of thrower stands now, own boards.
    """

    table: OilTable
    games: int
    deliveries: int
    lost_ml: float
    absorbed_ml: float
    on_balls_ml: float
    carried_ml: float
    laydown_board: tuple[float, ...]


def play(
    fresh: OilTable,
    games: int,
    *,
    traffic: Traffic = LEAGUE,
    lane_factor: float = 1.0,
    seed: int = 0,
) -> Worn:
    """The table after so many games on the lane by this traffic, each person's game counting one.

    The same arguments give the same table, and more games continue the same play: the lane after
    fifteen games is on the way to that after thirty. ``lane_factor`` is the friction of the lane
    against the reference lane. Deliveries change the oil one by one; every :data:`STAGE` of them
    the bowlers look for the line that meets their target best.
    """
    if not 0 <= games <= MOST_GAMES:
        raise InputError("games", games, f"0 to {MOST_GAMES} games")
    film = fresh.own_side_film_um("right")
    before = film.copy()
    balls = [_Ready(one, lane_factor) for one in traffic.throwers]
    account = np.zeros(2)
    deliveries = round(games * traffic.deliveries_a_game)
    for stage, first in enumerate(range(0, deliveries, STAGE)):
        rng = np.random.default_rng([seed, stage])
        for ball in balls:
            ball.look(film)
        who, scatter = traffic.order(STAGE, rng), rng.standard_normal((STAGE, 6))
        for thrown in range(min(STAGE, deliveries - first)):
            film = balls[who[thrown]].throw(film, scatter[thrown], account)
    on_right = film - before
    past = np.arange(FILM_ROWS) >= fresh.length_ft
    return Worn(
        table=_with_change(fresh, on_right[:, ::-1] / UNIT_TO_UM) if games else fresh,
        games=games,
        deliveries=deliveries,
        lost_ml=-volume_ml(on_right),
        absorbed_ml=float(account[ABSORBED]),
        on_balls_ml=float(account[ON_BALLS]),
        carried_ml=volume_ml(np.where(past[:, None], on_right, 0.0)),
        laydown_board=tuple(ball.laydown for ball in balls),
    )


def worn_alike(other: OilTable, fresh: OilTable, worn: OilTable) -> OilTable:
    """Another fresh table as worn as ``worn`` is against ``fresh``, place by place.

    For tables drawn about the one that was played on: the share of the film kept is applied to
    theirs, and what was carried down is added. Past the end of ``fresh`` the share is that of its
    last oiled foot.
    """
    before, after = fresh.own_side_film_um("left"), worn.own_side_film_um("left")
    oiled = before > 1e-9
    kept = np.ones_like(before)
    np.divide(np.minimum(after, before), before, out=kept, where=oiled)
    rows = np.flatnonzero(oiled.any(axis=1))
    if len(rows):
        kept[rows[-1] + 1 :] = kept[rows[-1]]
    film = other.own_side_film_um("left")
    change = film * (kept - 1.0) + np.maximum(after - before, 0.0)
    return _with_change(other, change / UNIT_TO_UM)


def state_name(games: int) -> str:
    """ "fresh", "after N games" or "burnt": what a condition so played on is called."""
    if games == 0:
        return "fresh"
    if games >= BURNT_GAMES:
        return "burnt"
    return f"after {games} game{'' if games == 1 else 's'}"


def volume_ml(film_um: Array) -> float:
    """Volume of a film on the own-side grid, by the trapezoid rule along the lane."""
    return float((film_um * _cell_areas()[:, None]).sum())


def _cell_areas() -> Array:
    """Square metres that a point of the grid stands for, by row: half a foot at either end."""
    areas = np.full(FILM_ROWS, FILM_STEP_M * BOARD_M)
    areas[0] *= 0.5
    areas[-1] *= 0.5
    return areas


def _with_change(fresh: OilTable, change: Array) -> OilTable:
    """The fresh table with a change known at each foot; its own rows are kept, feet added."""
    feet = np.arange(FILM_ROWS, dtype=float)
    distance = np.union1d(fresh.distance_ft, feet)
    units = np.empty((len(distance), BOARDS))
    for board in range(BOARDS):
        laid = np.interp(distance, fresh.distance_ft, fresh.units[:, board])
        units[:, board] = laid + np.interp(distance, feet, change[:, board])
    return OilTable(distance, np.maximum(units, 0.0))


class _Ready:
    """A kind of thrower with the ball in hand, standing somewhere."""

    def __init__(self, thrower: Thrower, lane_factor: float) -> None:
        self.mirrored = thrower.hand == "left"
        self.means = thrower.means()
        self.spreads = thrower.spreads()
        self.target = float(thrower.target_board)
        self.ball, self.p = body_tuple(thrower.ball())
        self.closure = thrower.closure(lane_factor).numbers()
        self.laydown, self.launch = float(thrower.laydown_board), math.nan

    def look(self, film: Array) -> None:
        """Find the line again; where none meets the target, stay."""
        board, launch = find_line(
            self.laydown,
            self.target,
            float(self.spreads[5]),
            self.means,
            self.ball,
            self.p,
            self.closure,
            self._own(film),
        )
        if math.isfinite(board):
            self.laydown, self.launch = board, launch
        elif math.isnan(self.launch):
            self.launch = 1.0

    def throw(self, film: Array, z: Array, account: Array) -> Array:
        """One delivery, scattered by ``z``; the film after it, and its oil in the account."""
        own = self._own(film)
        speed, spin, rotation, tilt = self.means + self.spreads[:4] * z[:4]
        pass_over(
            board_to_y_m(self.laydown + float(self.spreads[4] * z[4])),
            self.launch + float(self.spreads[5] * z[5]),
            max(2.0, float(speed)),
            max(0.5, float(spin)),
            float(rotation),
            max(0.0, float(tilt)),
            self.ball,
            self.p,
            self.closure,
            own,
            account,
        )
        return self._own(own)

    def _own(self, film: Array) -> Array:
        """The film from the right-hander's side to the thrower's own, or back."""
        return np.ascontiguousarray(film[:, ::-1]) if self.mirrored else film


@njit(nogil=True, cache=True, error_model="numpy")
def find_line(habit, target, launch_sd, means, ball, p, closure, film):  # type: ignore[no-untyped-def]
    """Laydown board and launch that meet a board at the pins with the least harm from misses.

    Lines whose mean delivery passes ``target`` are weighed by the mean squared miss of a launch a
    standard deviation to either side, and by how far the feet move from ``habit``. NaN if there
    is none.
    """
    throws, out = np.empty((LAUNCHES, 6)), np.empty((LAUNCHES, RESULTS))
    for n in range(LAUNCHES):
        throws[n, 2], throws[n, 3], throws[n, 4], throws[n, 5] = (
            means[0], means[1], means[2], means[3]
        )  # fmt: skip
    row = np.empty(LAUNCHES)
    best, best_board, best_launch = math.inf, math.nan, math.nan
    board = max(RIGHTMOST_BOARD, habit - MOVES_RIGHT)
    while board <= min(LEFTMOST_BOARD, habit + MOVES_LEFT) + 1e-9:
        for n in range(LAUNCHES):
            throws[n, 0] = (board - CENTRE_BOARD) * BOARD_M
            throws[n, 1] = LAUNCH_LOW_DEG + n * LAUNCH_STEP_DEG
        run_into(throws, ball, p, closure, film, STEPS, out)
        for n in range(LAUNCHES):
            row[n] = out[n, ENTRY_BOARD] - target if out[n, ON_LANE] > 0.5 else math.nan
        for n in range(1, LAUNCHES):
            if not (row[n - 1] * row[n] <= 0.0 and row[n - 1] != row[n]):
                continue
            place = n - 1 + row[n - 1] / (row[n - 1] - row[n])
            harm = ((board - habit) / MOVE_BOARDS) ** 2
            for side in (-1.0, 1.0):
                at = place + side * launch_sd / LAUNCH_STEP_DEG
                i = min(max(math.floor(at), 0), LAUNCHES - 2)
                f = min(max(at - i, 0.0), 1.0)
                miss = row[i] + f * (row[i + 1] - row[i])
                if math.isnan(miss):
                    miss = WORST_MISS_BOARDS
                harm += 0.5 * min(miss * miss, WORST_MISS_BOARDS * WORST_MISS_BOARDS)
            if harm < best:
                best, best_board = harm, board
                best_launch = LAUNCH_LOW_DEG + place * LAUNCH_STEP_DEG
        board += 1.0
    return best_board, best_launch


@njit(nogil=True, cache=True, error_model="numpy")
def pass_over(y, launch_deg, speed, spin, rotation_deg, tilt_deg, ball, p, closure, film, account):  # type: ignore[no-untyped-def]
    """Run one delivery and move oil between it and ``film`` (changed in place).

    Arguments as :func:`physics.averaged.run`; adds what the cover absorbed and what stayed on the
    ball to ``account`` (mL).
    """
    out = np.empty(RESULTS)
    path = np.full((STEPS, PATH_COLUMNS), math.nan)
    follow(
        y, launch_deg, speed, spin, rotation_deg, tilt_deg, ball, p, closure, film, STEPS, out, path
    )  # fmt: skip
    absorption, patch = closure[4], closure[5]
    # The ring is a circle 90 degrees plus the tilt from the axis.
    area = 2.0 * math.pi * ball[1] * math.cos(math.radians(tilt_deg)) * LINE_M
    cell = FILM_STEP_M * BOARD_M
    ring, before = 0.0, y
    for step in range(STEPS):
        after = path[step, PATH_Y]
        if math.isnan(after):
            break
        dt = math.hypot(FILM_STEP_M, after - before) / path[step, PATH_SPEED]
        turns = path[step, PATH_SPIN] * dt / (2.0 * math.pi)
        advance = path[step, PATH_AXIS] * dt / turns
        overlap = ring_overlap(advance, patch)
        # Halfway along the step: between this foot's row and the next, and between two boards.
        place = 0.5 * (before + after) / BOARD_M + (CENTRE_BOARD - 1)
        j = min(max(math.floor(place), 0), BOARDS - 2)
        f = min(max(place - j, 0.0), 1.0)
        here = 0.0
        for i in (step, step + 1):
            here += 0.5 * ((1.0 - f) * film[i, j] + f * film[i, j + 1])
        up = 0.5 * area * turns * here
        down = 0.5 * area * turns * overlap * ring
        for i in (step, step + 1):
            room = 0.5 * cell if i == 0 or i == STEPS else cell
            for k in (j, j + 1):
                weight = 0.5 * (f if k > j else 1.0 - f)
                taken = weight * film[i, k] / here if here > 0.0 else 0.0
                film[i, k] += (down * weight - up * taken) / room
        account[ABSORBED] += area * absorption * dt * ring
        account[ON_BALLS] += area * turns * (1.0 - overlap) * ring
        ring += turns * (0.5 * (here + overlap * ring) - ring) - absorption * dt * ring
        before = after
    account[ON_BALLS] += area * ring
