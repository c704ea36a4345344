"""What a ball is worth to a bowler on each task: lines sought, confirmed, and doubted.

Everything here is arrays over options and tasks: what an option is called, costs or looks like is
the caller's business. The fast solver screens every option; :func:`confirm` recomputes the values
that are shown with the reference solver; :func:`draws` repeats them under stated priors. What a
change of the bag adds is counted in :mod:`physics.rank`.
"""

import math
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from physics import averaged, confirming, friction, line, motion, pins, release, shape, worlds
from physics.body import Body
from physics.bowler import Bowler, normal_samples
from physics.lane import own_side_grid_m
from physics.units import M_S_TO_MPH, STANDARD_GRAVITY_M_S2, board_to_y_m
from physics.worlds import OilDoubt, Priors, Worlds

Array = NDArray[np.float64]
Progress = Callable[[float], None]

# Samples read off a line's local picture; samples thrown in full to confirm it with the fast
# solver, and how many of those with the reference solver too.
SAMPLES, THROWN, REFERENCE = 512, 1024, 32
CONFIRM_TOLERANCE = 1e-5


def cores() -> int:
    """Threads to use: ``ENGINE_THREADS`` of the environment, else the cores this process may use.

    Results are the same on any number.
    """
    given = os.environ.get("ENGINE_THREADS", "")
    if given.isdecimal() and int(given) > 0:
        return int(given)
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@dataclass(frozen=True)
class Task:
    """First ball on a condition. ``film_um``: own-side film; ``weight`` its share of the play.

    ``house`` names whose friction it shares with other tasks, known to ``friction_sd`` as a share
    (None: to the prior); ``oil``: how its oil may differ (None: in amount alone).
    """

    film_um: Array
    weight: float
    house: str = ""
    friction_sd: float | None = None
    oil: OilDoubt | None = None


@dataclass(frozen=True)
class Option:
    """A drilled ball with its surface. ``closure``: its friction on a lane of factor 1.

    ``cover``, ``finish`` and ``ball`` only name which errors it shares with other options in
    :func:`draws`: two surfaces of one ball have the same ball's own error. ``worn``: roughness and
    dry friction as shares of what they were fresh, for what care brings back isn't known well.
    """

    body: Body
    closure: friction.Film
    cover: str = ""
    finish: str = ""
    ball: str = ""
    worn: tuple[float, float] = (1.0, 1.0)


@dataclass(frozen=True)
class Rows:
    """Options as :func:`physics.averaged.run_each` takes them, a row for each: ``bodies`` by nine
    numbers, ``closures`` by six."""

    bodies: Array
    closures: Array

    @classmethod
    def of(cls, options: Sequence[Option]) -> "Rows":
        # Thousands of options have few bodies and surfaces between them.
        if not options:
            return cls(np.empty((0, 9)), np.empty((0, 6)))
        bodies, closures = dict[int, tuple[int, Body]](), dict[int, tuple[int, friction.Film]]()
        body_of = [bodies.setdefault(id(b), (len(bodies), b))[0] for b in (o.body for o in options)]
        closure_of = [
            closures.setdefault(id(c), (len(closures), c))[0] for c in (o.closure for o in options)
        ]
        numbers = np.array([closure.numbers() for _, closure in closures.values()])
        return cls(body_rows([body for _, body in bodies.values()])[body_of], numbers[closure_of])

    def __len__(self) -> int:
        return len(self.bodies)

    def part(self, index: NDArray[np.intp]) -> "Rows":
        return Rows(self.bodies[index], self.closures[index])

    def sorts(self) -> "tuple[Rows, NDArray[np.intp]]":
        """One of each sort that meet a lane alike, in an order of their own, and the sort of each
        row."""
        numbers = np.ascontiguousarray(np.column_stack([self.bodies, self.closures]))
        whole = numbers.view(np.dtype((np.void, numbers.itemsize * numbers.shape[1]))).ravel()
        _, which, back = np.unique(whole, return_index=True, return_inverse=True)
        return self.part(which), back.reshape(-1)

    def closures_on(self, factor: float) -> Array:
        """The closures on a lane whose friction is so many times that of the reference lane."""
        there = self.closures.copy()
        there[:, :2] *= factor
        return there


@dataclass(frozen=True)
class Lines:
    """Best line of each option on each task (options x tasks).

    ``board``: laydown board (NaN where no line meets the pocket), ``launch_deg``, ``value``:
    expected carry.
    """

    board: Array
    launch_deg: Array
    value: Array


def body_tuple(
    body: Body,
) -> tuple[tuple[float, float, float, tuple[float, ...]], tuple[float, ...]]:
    """A body as the averaged kernels take it: (mass, radius, gravity, moments), axis direction."""
    mass, radius, gravity, one, two, three, *p = body_rows([body])[0].tolist()
    return (mass, radius, gravity, (one, two, three)), (p[0], p[1], p[2])


def body_rows(bodies: Sequence[Body]) -> Array:
    """Bodies as :func:`physics.averaged.run_each` takes them, a row of nine numbers for each."""
    mass = np.array([body.mass_kg for body in bodies])
    radius = np.array([body.radius_m for body in bodies])
    moments = mass[:, None] * np.array([body.principal_rg_m for body in bodies]) ** 2
    momentum = moments * np.array([body.pap_body for body in bodies])
    p = momentum / np.linalg.norm(momentum, axis=1)[:, None]
    return np.column_stack([mass, radius, np.full(len(bodies), STANDARD_GRAVITY_M_S2), moments, p])


def without_ring_oil(option: Option) -> Option:
    """The same option with the film it carries left out of the contact."""
    return replace(option, closure=replace(option.closure, patch_m=0.0))


def seek(
    bowler: Bowler,
    options: Sequence[Option],
    tasks: Sequence[Task],
    *,
    lane_factors: Sequence[float] | None = None,
    samples: int = SAMPLES,
    seed: int = 0,
    starts: int = 5,
    rounds: int = 2,
    steps: int = averaged.STEPS,
    near: Lines | None = None,
    progress: Progress | None = None,
) -> Lines:
    """Best line and expected carry of every option on every task, by the fast solver.

    ``near``: lines to search around instead of the whole lane. Runs on all cores; kernels hold no
    Python lock. ``progress`` is told the share done.
    """
    scatter = normal_samples(samples, seed)
    strikes = strikes_of(pins.table(), options)
    size = (len(options), len(tasks))
    board, launch, value = np.full(size, np.nan), np.full(size, np.nan), np.zeros(size)
    factors = lane_factors or [1.0] * len(tasks)

    def one(i: int) -> None:
        body = body_tuple(options[i].body)
        for j, task in enumerate(tasks):
            low, high = line.LAYDOWN_BOARDS
            if near is not None and math.isfinite(near.board[i, j]):
                low = max(low, near.board[i, j] - 4.0)
                high = min(high, near.board[i, j] + 4.0)
            found = line.best_line(
                bowler.means(),
                bowler.spreads(),
                scatter,
                body,
                (on_lane(options[i].closure, factors[j]).numbers(), task.film_um),
                strikes[options[i].body.mass_kg],
                steps,
                starts,
                rounds,
                low,
                high,
            )
            board[i, j], launch[i, j], value[i, j] = found

    each(one, len(options), progress)
    return Lines(board, launch, value)


def on_lane(closure: friction.Film, factor: float) -> friction.Film:
    """The closure on a lane whose friction is so many times that of the reference lane."""
    return replace(closure, mu_oil=closure.mu_oil * factor, mu_dry=closure.mu_dry * factor)


def each(work: Callable[[int], None], count: int, progress: Progress | None) -> None:
    """Do each piece of work on all cores; kernels hold no Python lock."""
    with ThreadPoolExecutor(cores()) as pool:
        for done, _ in enumerate(pool.map(work, range(count)), start=1):
            if progress is not None and (done % 8 == 0 or done == count):
                progress(done / count)


def mean_shots(
    bowler: Bowler,
    rows: Rows,
    tasks: Sequence[Task],
    lines: Lines,
    lane_factors: Sequence[float],
) -> Array:
    """Fast-solver results (options x tasks x columns of shape) of the mean delivery on each
    best line, in a third as many steps as shown ones are; NaN where there is none."""
    out = np.full((*lines.value.shape, shape.RESULTS), np.nan)

    def one(j: int) -> None:
        there = np.flatnonzero(np.isfinite(lines.board[:, j]))
        if not len(there):
            return
        thrown = np.empty((len(there), 6))
        thrown[:, 0] = board_to_y_m(lines.board[there, j])
        thrown[:, 1] = lines.launch_deg[there, j]
        thrown[:, 2:] = bowler.means()
        out[there, j] = averaged.run_each(
            thrown, rows.bodies[there], rows.closures_on(lane_factors[j])[there],
            tasks[j].film_um, averaged.STEPS // 3,
        )  # fmt: skip

    each(one, len(tasks), None)
    return out


def reference_shot(
    bowler: Bowler,
    option: Option,
    task: Task,
    lane_factor: float,
    delivery: Sequence[float],
    *,
    profile_step_m: float = 0.0,
    tolerance: float = CONFIRM_TOLERANCE,
) -> motion.Shot:
    """One delivery (y, launch, speed, spin, rotation, tilt) by the reference solver, own side."""
    y, launch, speed, spin, rotation, tilt = delivery
    body = option.body
    orientation, omega = release.orientation_and_spin(
        inertia=[body.mass_kg * rg**2 for rg in body.principal_rg_m],
        pap_body=body.pap_body,
        direction=release.spin_direction(rotation, tilt, launch, "right"),
        rev_rate_rad_s=spin,
        spin_phase_deg=0.0,
        hand="right",
    )
    x_m, y_m = own_side_grid_m()
    return motion.deliver(
        mass_kg=body.mass_kg,
        radius_m=body.radius_m,
        principal_rg_m=body.principal_rg_m,
        position_m=(0.0, y),
        velocity_m_s=release.launch_velocity(speed, launch, "right"),
        orientation=orientation,
        omega_body_rad_s=omega,
        friction=friction.oiled(x_m, y_m, task.film_um, on_lane(option.closure, lane_factor)),
        profile_step_m=profile_step_m,
        tolerance=tolerance,
    )


def reference_rows(option: Option, task: Task, lane_factor: float, deliveries: Array) -> Array:
    """Result rows of many deliveries (rows of six numbers) by the reference solver, own side.

    As :mod:`physics.confirming` has it, within 0.02 board of :func:`reference_shot`, which gives
    the path besides.
    """
    ball, p = body_tuple(option.body)
    closure = on_lane(option.closure, lane_factor).numbers()
    found: Array = confirming.run_many(deliveries, ball, p, closure, task.film_um, confirming.STEPS)
    return found


def confirm(
    bowler: Bowler,
    options: Sequence[Option],
    tasks: Sequence[Task],
    lines: Lines,
    lane_factors: Sequence[float],
    *,
    samples: int = THROWN,
    exact: int = REFERENCE,
    seed: int = 0,
    progress: Progress | None = None,
) -> tuple[Array, Array]:
    """Expected carry (options x tasks) on the given lines by the reference solver, and the mean
    deliveries' rows (options x tasks x columns of shape); NaN rows where there is no line.

    Every sample is thrown with the fast solver, the first ``exact`` with the reference solver too;
    the mean of their differences corrects the mean of all (a control variate: the solvers agree
    within a tenth of a board, so few differences do). Other samples than the lines were sought on,
    so that no line is shown at its luckiest.
    """
    scatter = normal_samples(samples, seed + 1)
    strikes = strikes_of(pins.table(), options)
    spreads, means = np.array(bowler.spreads()), np.array(bowler.means())
    value = np.zeros(lines.value.shape)
    rows = np.full((*lines.value.shape, shape.RESULTS), np.nan)

    def one(index: int) -> None:
        i, j = divmod(index, len(tasks))
        if not math.isfinite(lines.board[i, j]):
            return
        y, launch = board_to_y_m(lines.board[i, j]), float(lines.launch_deg[i, j])
        there = strikes[options[i].body.mass_kg]
        fast = line.carries(
            float(lines.board[i, j]),
            launch,
            bowler.means(),
            bowler.spreads(),
            scatter,
            body_tuple(options[i].body),
            (on_lane(options[i].closure, lane_factors[j]).numbers(), tasks[j].film_um),
            there,
            averaged.STEPS,
        )
        value[i, j] = fast.mean()
        throws = np.column_stack(
            [
                y + spreads[4] * scatter[:exact, 4],
                launch + spreads[5] * scatter[:exact, 5],
                means + spreads[:4] * scatter[:exact, :4],
            ]
        )
        throws[:, [2, 3, 5]] = np.maximum(throws[:, [2, 3, 5]], [2.0, 0.5, 0.0])
        exactly = reference_rows(
            options[i], tasks[j], lane_factors[j], np.vstack([[y, launch, *means], throws])
        )
        rows[i, j] = exactly[0]
        for n, row in enumerate(exactly[1:]):
            value[i, j] += (strike_chance_of(row, there) - fast[n]) / exact
        value[i, j] = min(1.0, max(0.0, value[i, j]))

    each(one, len(options) * len(tasks), progress)
    return value, rows


def strikes_of(table: pins.PinTable, options: Sequence[Option]) -> dict[float, pins.Surface]:
    """The strike surface for each mass among the options."""
    return {mass: table.strikes(mass) for mass in {option.body.mass_kg for option in options}}


def strike_chance_of(row: Array, strikes: pins.Surface) -> float:
    """Chance of a strike of one result row (columns of shape); 0 for a ball that left the lane."""
    if not row[shape.ON_LANE] > 0.5:
        return 0.0
    return float(
        pins.chance(
            float(row[shape.ENTRY_BOARD]),
            float(row[shape.ENTRY_ANGLE_DEG]),
            float(row[shape.ENTRY_SPEED_M_S]) * M_S_TO_MPH,
            strikes,
        )
    )


@dataclass(frozen=True)
class Drawn:
    """Values under paired draws (draws x options x tasks), the same by the same rough search in
    the world of all middles (options x tasks), and the worlds they met."""

    values: Array
    middle: Array
    worlds: Worlds


def draws(
    bowler: Bowler,
    options: Sequence[Option],
    tasks: Sequence[Task],
    lines: Lines,
    lane_factors: Sequence[float],
    *,
    count: int = 64,
    seed: int = 0,
    priors: Priors | None = None,
    samples: int = SAMPLES // 2,
    progress: Progress | None = None,
) -> Drawn:
    """Values of every option on every task in worlds drawn from the priors.

    In each draw every option meets the same lane, oil, pins and bowler, who finds the best line
    again near the old one: a technician's customer adjusts, so a wrong guess at the lane's friction
    costs less than it would on a fixed line.
    """
    met = worlds.drawn(bowler, options, tasks, count=count, seed=seed, priors=priors)
    pairs = [(i, j) for i in range(len(options)) for j in range(len(tasks))]
    out = in_worlds(
        met, options, tasks, lines, lane_factors, pairs, samples, seed, progress
    ).reshape(count + 1, len(options), len(tasks))
    return Drawn(out[:count], out[count], met)


def in_worlds(
    met: Worlds,
    options: Sequence[Option],
    tasks: Sequence[Task],
    lines: Lines,
    lane_factors: Sequence[float],
    pairs: Sequence[tuple[int, int]],
    samples: int = SAMPLES // 2,
    seed: int = 0,
    progress: Progress | None = None,
) -> Array:
    """Values of the given (option, task) pairs in every drawn world and, last, in the middle one
    (worlds x pairs)."""
    scatter = normal_samples(samples, seed)
    every = [*met.drawn, met.middle]
    asked = sorted({i for i, _ in pairs})
    strikes = [strikes_of(world.pins, options) for world in every]
    out = np.zeros((len(every), len(pairs)))

    def one(n: int) -> None:
        world = every[n]
        made = {i: (world.closure(options[i]), body_tuple(world.body(options[i]))) for i in asked}
        for place, (i, j) in enumerate(pairs):
            closure, body = made[i]
            at = lines.board[i, j]
            low, high = line.LAYDOWN_BOARDS
            if math.isfinite(at):
                low, high = max(low, at - 4.0), min(high, at + 4.0)
            there = on_lane(closure, lane_factors[j] * world.lane[j]).numbers()
            out[n, place] = line.best_line(
                world.bowler.means(),
                world.bowler.spreads(),
                scatter,
                body,
                (there, world.film_um[j]),
                strikes[n][options[i].body.mass_kg],
                averaged.STEPS // 2,
                2,
                1,
                low,
                high,
            )[2]

    each(one, len(every), progress)
    return out
