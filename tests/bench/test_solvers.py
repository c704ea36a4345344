"""Benchmarks of the solvers and of a whole ranking, as ratios measured in one run.

Run with ``make bench``. Nothing here is asserted about seconds: the numbers are for the README and
for whoever makes it faster.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from physics import averaged, shape, worth
from physics.friction import bilinear
from physics.lane import own_side_grid_m
from physics.motion import Shot
from physics.rigid import conserved
from physics.stepping import SLIDING, STATES, rates
from tests.physics import scenes

pytestmark = pytest.mark.bench


def seconds(work: Callable[[], Any], repeats: int) -> float:
    """Best of three means."""
    work()
    found = []
    for _ in range(3):
        began = time.perf_counter()
        for _ in range(repeats):
            work()
        found.append((time.perf_counter() - began) / repeats)
    return min(found)


def test_reference_and_averaged_solvers_against_scipy(capsys: pytest.CaptureFixture[str]) -> None:
    who, option, meet = scenes.man(), scenes.option(closure=scenes.film(0.38)), scenes.task()
    throw = scenes.throw()

    def reference() -> Shot:
        return worth.reference_shot(who, option, meet, 1.0, throw)

    many = np.tile(np.array(throw), (1000, 1))
    ball, p = worth.body_tuple(option.body)
    closure = option.closure.numbers()

    def fast() -> np.ndarray:
        return np.asarray(averaged.run_many(many, ball, p, closure, meet.film_um, averaged.STEPS))

    exact_s, fast_s = seconds(reference, 50), seconds(fast, 5) / len(many)
    independent, independent_s = _sliding_by_scipy(option, meet)
    sliding_s = _sliding_share(reference(), independent)
    with capsys.disabled():
        print(
            f"\nreference solver {exact_s * 1e3:.2f} ms a delivery, averaged {fast_s * 1e6:.1f} us"
            f" (1 : {exact_s / fast_s:.0f});"
            f"\nSciPy on the reference's own compiled rates, sliding part only:"
            f" {independent_s * 1e3:.1f} ms (1 : {independent_s / (exact_s * sliding_s):.0f})"
        )
    row = worth.reference_rows(option, meet, 1.0, np.array([throw]))[0]
    assert abs(fast()[0, shape.ENTRY_BOARD] - row[shape.ENTRY_BOARD]) < 0.35


def _start(option: worth.Option) -> tuple[np.ndarray, Any, Any]:
    from physics import release
    from physics.rigid import rotation

    body = option.body
    inertia = body.mass_kg * np.array(body.principal_rg_m) ** 2
    y, launch, speed, spin, turn, tilt = scenes.throw()
    quaternion, omega = release.orientation_and_spin(
        inertia=inertia.tolist(),
        pap_body=body.pap_body,
        direction=release.spin_direction(turn, tilt, launch, "right"),
        rev_rate_rad_s=spin,
        spin_phase_deg=0.0,
        hand="right",
    )
    start = np.zeros(STATES)
    start[1] = y
    start[2:4] = release.launch_velocity(speed, launch, "right")
    start[4:8] = quaternion
    start[8:11] = rotation(*quaternion) @ (inertia * omega)
    moments = (float(inertia[0]), float(inertia[1]), float(inertia[2]))
    return start, (body.mass_kg, body.radius_m, 9.80665, moments, (0.0, 0.0, 0.0)), None


def _sliding_by_scipy(option: worth.Option, meet: worth.Task) -> tuple[Any, float]:
    """The sliding part by SciPy's RK45 at the tolerance that gives 0.02 board; seconds taken."""
    from physics import friction

    start, ball, _ = _start(option)
    x_m, y_m = own_side_grid_m()
    oil = friction.oiled(x_m, y_m, meet.film_um, option.closure)
    lane = (oil.kind, oil.x_m, oil.y_m, oil.zone_mu, oil.table, oil.film)
    k = conserved(start, ball)
    out = np.empty(STATES)

    def slope(_: float, s: np.ndarray) -> np.ndarray:
        rates(s, out, SLIDING, ball, lane, 0, k)
        return out.copy()

    def rolls(_: float, s: np.ndarray) -> float:
        ux, uy, _mu, _load = rates(s, out, SLIDING, ball, lane, 0, k)
        return float(np.hypot(ux, uy) - 1e-3)

    rolls.terminal = True  # type: ignore[attr-defined]

    def run() -> Any:
        return solve_ivp(slope, (0, 5), start, rtol=1e-5, atol=1e-7, events=rolls)

    assert bilinear(x_m, y_m, meet.film_um, 1.0, 0.0) > 0
    return run(), seconds(run, 5)


def _sliding_share(shot: Shot, independent: Any) -> float:
    """Share of the delivery's time that the ball slides, so that like is held against like."""
    slid = float(independent.t[-1])
    return min(1.0, slid / float(shot.end[0]))


def test_a_whole_ranking(capsys: pytest.CaptureFixture[str]) -> None:
    """600 options on four conditions: screened, refined, confirmed and drawn."""
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
    with capsys.disabled():
        print(f"\n{result['timings']} ({time.perf_counter() - began:.1f} s in all)")
    assert result["timings"]["options"] >= 600
