"""Benchmarks of the solvers against each other, SciPy and a rigid-body engine, and of a ranking.

Run with ``make bench``. Nothing here is asserted about seconds: the numbers are for the page and
for whoever makes it faster.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache, partial
from typing import Any

import numpy as np
import pytest

from physics import averaged, confirming, lane, shape, worth
from physics.cases import shot
from physics.units import BOARD_M, BOARDS
from tests.bench.results import plot, record
from tests.bench.rivals import Engine, PlainPython
from tests.physics import agreement, scenes
from tests.physics.balls_and_lanes import bowlers_numbers

pytestmark = pytest.mark.bench

GOOD_BOARD = 0.02
OILS: dict[str, lane.OilTable] = {"house": scenes.HOUSE, "sport": scenes.FLAT}
RANDOM = 500


def seconds(
    work: Callable[[], Any],
    repeats: int = 1,
    clock: Callable[[], float] = time.thread_time,
    tries: int = 5,
) -> float:
    """Best of several means: the machine has other work. Of this thread's own time, if not told
    otherwise, so that a rival that takes longer isn't charged with being interrupted more."""
    work()
    found = []
    for _ in range(tries):
        began = clock()
        for _ in range(repeats):
            work()
        found.append((clock() - began) / repeats)
    return min(found)


@cache
def thrown(name: str) -> scenes.Thrown:
    return scenes.thrown(RANDOM, OILS[name], seed=4)


@cache
def exact(name: str) -> np.ndarray:
    return thrown(name).by_motion(1e-7)


def one_at_a_time(throws: Sequence[tuple[Any, ...]], steps: int) -> float:
    """Seconds a delivery by the reference solver, each in a call of its own from Python."""

    def all_of_them() -> None:
        for throw, ball, p, closure, film in throws:
            confirming.run_many(throw, ball, p, closure, film, steps)

    return seconds(all_of_them, 5) / len(throws)


def test_reference_against_scipy_in_python() -> None:
    """Whole deliveries to the pins, ring oil on, by the loosest setting that is good enough."""
    some, truth = thrown("house"), exact("house")[:, shape.ENTRY_BOARD]
    plain: dict[int, PlainPython] = {}
    for n in range(RANDOM):
        one = PlainPython(some.options[n], some.film_um, some.deliveries[n])
        # The plain equations roll on where the lane can't hold the ball: only where it can.
        if abs(one.play("DOP853", 1e-8) / BOARD_M + 20 - truth[n]) < 0.002:
            plain[n] = one
        if len(plain) == 40:
            break

    def theirs(method: str, rtol: float) -> float:
        """Seconds for all of them; infinite where one ends too far off."""
        for n, one in plain.items():
            if abs(one.play(method, rtol) / BOARD_M + 20 - truth[n]) > GOOD_BOARD:
                return float("inf")
        return seconds(lambda: [one.play(method, rtol) for one in plain.values()])

    best, how = float("inf"), ""
    for method in ("RK23", "RK45", "DOP853", "LSODA"):
        for rtol in (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 3e-6, 1e-6):
            took = theirs(method, rtol)
            if took < best:
                best, how = took, f"{method}, rtol {rtol:g}"
            if took < float("inf"):
                break
    best /= len(plain)
    of = list(plain)
    several = scenes.Thrown(
        some.film_um,
        [some.options[n] for n in of],
        some.deliveries[of],
        some.bodies[of],
        some.closures[of],
    )
    steps = next(
        steps
        for steps in range(60, 1200, 60)
        if np.abs(several.by(confirming, steps)[:, shape.ENTRY_BOARD] - truth[of]).max()
        <= GOOD_BOARD
    )
    together = seconds(lambda: several.by(confirming, steps), 20) / len(of)
    rows = [
        (
            some.deliveries[n : n + 1],
            *worth.body_tuple(some.options[n].body),
            some.options[n].closure.numbers(),
            some.film_um,
        )
        for n in of
    ]
    alone = one_at_a_time(rows, steps)
    record("solve_ivp_ms", best * 1e3, f"ms, a delivery by SciPy's solve_ivp ({how})", digits=3)
    record(
        "ref_us",
        together * 1e6,
        f"µs, a delivery by the reference solver, {steps} steps, {len(of)} in a batch, one thread",
        digits=3,
    )
    record(
        "ref_vs_solve_ivp",
        best / together,
        "times the reference solver's time that solve_ivp takes (right-hand side in plain Python),"
        f" {len(of)} deliveries on house oil, ring oil on, each by its loosest setting that ends"
        " all of them within 0.02 board",
        goal="≥ 1500",
        digits=3,
    )
    record(
        "ref_alone_vs_solve_ivp",
        best / alone,
        f"the same with each delivery in a call of its own from Python, {alone * 1e6:.0f} µs",
        digits=3,
    )


def test_reference_against_the_engine() -> None:
    """One friction all the way, so that the engine needs nothing but its own steps."""
    cases: list[dict[str, Any]] = [
        {
            "ball": ball,
            "release": bowlers_numbers(position_m=[0.0, -0.1], launch_deg=2.5),
            "friction": {"type": "constant", "mu": 0.06},
        }
        for ball in (agreement.SYMMETRIC, agreement.ASYMMETRIC)
    ]
    rows, engine_s, how = [], 0.0, []
    for case in cases:
        truth = shot(case)["end"]["y_m"]
        row = throw, ball, p, closure, film = _as_rows(case)
        found = confirming.run_many(throw, ball, p, closure, film, confirming.STEPS)
        ours = found[0, shape.ENTRY_BOARD]
        assert abs(ours - 20 - truth / BOARD_M) <= GOOD_BOARD
        rows.append(row)
        best, best_how = float("inf"), ""
        for step_s in (2e-2, 1.5e-2, 1e-2, 7e-3, 5e-3, 3e-3, 2e-3, 1e-3, 5e-4, 2e-4, 1e-4):
            for settles_in in (2, 4, 10):
                engine = Engine(case, step_s, settles_in)
                if abs(engine.play() - truth) <= GOOD_BOARD * BOARD_M:
                    took = seconds(engine.play, 5)
                    if took < best:
                        best, best_how = took, f"{step_s * 1e3:g} ms"
            if best < float("inf"):
                break
        engine_s += best / len(cases)
        how.append(best_how)
    alone = one_at_a_time(rows, confirming.STEPS)
    record(
        "engine_ms",
        engine_s * 1e3,
        f"ms, one delivery by MuJoCo (steps {', '.join(how)})",
        digits=3,
    )
    record(
        "ref_vs_engine",
        engine_s / alone,
        "times the reference solver's time that the engine takes at its coarsest step good enough"
        " (one friction, a symmetric and an asymmetric ball), both within 0.02 board; ours each in"
        f" a call of its own, {confirming.STEPS} steps",
        goal="≥ 30",
        digits=3,
    )


def _as_rows(case: dict[str, Any]) -> tuple[Any, ...]:
    """A case of one friction as the batches take it: a dry lane."""
    ball, bowled, mu = case["ball"], case["release"], case["friction"]["mu"]
    moments = tuple(ball["mass_kg"] * rg**2 for rg in ball["principal_rg_m"])
    momentum = np.array(moments) * np.array(bowled["pap_body"])
    p = tuple(float(v) for v in momentum / np.linalg.norm(momentum))
    delivery = (
        bowled["position_m"][1],
        bowled["launch_deg"],
        bowled["speed_m_s"],
        bowled["rev_rate_rpm"] * 2 * np.pi / 60,
        bowled["axis_rotation_deg"],
        bowled["axis_tilt_deg"],
    )
    return (
        np.array([delivery]),
        (ball["mass_kg"], ball["radius_m"], 9.80665, moments),
        p,
        (mu, mu, 1.0, 1.0, 0.0, 0.0),
        np.zeros((lane.FILM_ROWS, BOARDS)),
    )


def test_many_deliveries_a_second() -> None:
    """As a menu throws them: each its own ball, surface and delivery, everything computed."""
    for name, solver, steps in (
        ("fast", averaged, averaged.STEPS),
        ("ref", confirming, confirming.STEPS),
    ):
        work = []
        for oil in OILS:
            some, times = thrown(oil), 12 if name == "fast" else 4
            work.append(
                (
                    np.tile(some.deliveries, (times, 1)),
                    np.tile(some.bodies, (times, 1)),
                    np.tile(some.closures, (times, 1)),
                    some.film_um,
                    steps,
                )
            )
        count = sum(len(part[0]) for part in work)

        pools = {1: ThreadPoolExecutor(1), 2: ThreadPoolExecutor(2)}

        def on(
            threads: int,
            solver: Any = solver,
            work: list[tuple[Any, ...]] = work,
            pools: dict[int, ThreadPoolExecutor] = pools,
        ) -> list[np.ndarray]:
            return list(pools[threads].map(solver.run_each, *zip(*work, strict=True)))

        for one, two in zip(on(1), on(2), strict=True):
            np.testing.assert_array_equal(one, two)
        record(
            f"{name}_shots_per_s",
            count / seconds(partial(on, 2), clock=time.perf_counter, tries=40),
            f"deliveries/s on two threads, {solver.__name__}, {steps} steps: each its own ball,"
            " surface and delivery, house and sport oil, ring oil, shape and breakpoint",
            goal="≥ 250,000" if name == "fast" else "",
        )
        record(
            f"{name}_shots_per_s_one_thread",
            count / seconds(partial(on, 1), clock=time.process_time, tries=20),
            "the same on one thread, a second of the processor's own time",
        )


def test_errors_against_the_reference() -> None:
    """Entry board against :mod:`physics.motion` at a tolerance of 1e-7."""
    for name, solver in (("fast", averaged), ("ref", confirming)):
        missed = np.concatenate([_missed(oil, solver, solver.STEPS) for oil in OILS])
        told = f"board, entry of {len(missed):,} random deliveries on house and sport oil, "
        record(
            f"{name}_sd_board",
            float(missed.std()),
            told + f"standard deviation of {solver.__name__} about physics.motion",
            goal="≤ 0.05" if name == "fast" else "",
            digits=2,
        )
        record(
            f"{name}_max_board",
            float(np.abs(missed).max()),
            told + "the worst",
            goal="≤ 0.2" if name == "fast" else "≤ 0.02",
            digits=2,
        )


def test_work_against_error() -> None:
    ladder = {
        "averaged over a turn": (averaged, (30, 60, 120, 240, 480)),
        "full rigid body": (confirming, (60, 120, 180, 240, 360, 480, 720)),
    }
    curves: dict[str, list[tuple[float, float]]] = {}
    for label, (solver, several) in ladder.items():
        curves[label] = []
        for steps in several:
            missed = np.concatenate([_missed(oil, solver, steps) for oil in OILS])
            took = seconds(partial(thrown("house").by, solver, steps), 4)
            curves[label].append((took / RANDOM * 1e6, float(missed.std())))
    plot(
        "work_against_error",
        "Time and error of a delivery, by number of steps",
        "µs a delivery in a batch, one thread",
        "entry against physics.motion, board (sd)",
        curves,
        log=True,
    )


def _missed(oil: str, solver: Any, steps: int) -> np.ndarray:
    missed = thrown(oil).by(solver, steps) - exact(oil)
    return np.asarray(missed[:, shape.ENTRY_BOARD])


def test_a_whole_ranking(capsys: pytest.CaptureFixture[str]) -> None:
    """Some 600 options on four conditions: screened, refined, confirmed and drawn."""
    from arsenal.engine import menu, run_ranking
    from tests.arsenal import questions

    covers = ("solid", "hybrid", "pearl", "urethane", "polyester")
    catalogue = [
        questions.new(
            n,
            f"Tree {n}",
            covers[n % 5],
            "2000",
            label=questions.label(2.48 + 0.004 * n, 0.052 - 0.001 * n),
        )
        for n in range(25)
    ]
    conditions = questions.question()["conditions"]
    asked = questions.question(
        catalogue=catalogue,
        conditions=[*conditions, *conditions],
        menu={"layouts": menu.layout_fields(), "finishes": list(menu.FINISHES)},
    )
    began = time.perf_counter()
    result = run_ranking(asked, 1, lambda percent, note: None)
    took = time.perf_counter() - began
    record("ranking_s", took, f"s, {result['timings']['options']} options on four conditions")
    with capsys.disabled():
        print(f"\n{result['timings']} ({took:.1f} s in all)")
    assert result["timings"]["options"] >= 500
