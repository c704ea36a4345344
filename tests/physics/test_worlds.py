"""Worlds: what is drawn, what is shared, and that meeting the same ones quietens a comparison.

Common random numbers: Law, Simulation Modeling and Analysis, 5th ed. (2015), section 11.2 (from
memory): Var(A - B) = Var A + Var B - 2 Cov(A, B).
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from physics import averaged, doubt, friction, lane, release_speed, shape, worlds, worth
from physics.units import IN_TO_M
from tests.physics import scenes

PICK = (41.0, 25.0, 8.0, "blended")
NOTHING = worlds.Priors(**dict.fromkeys(worlds.Priors.__dataclass_fields__, 0.0))


def picked_task(house: str = "Long Meadow", **changed: Any) -> worth.Task:
    oil = worlds.OilDoubt(
        lane.PICK_NUMBERS, lambda z: lane.table_at(*PICK, z).own_side_film_um("right")
    )
    return replace(scenes.task(), house=house, oil=oil, **changed)


def man(**changed: Any) -> Any:
    return scenes.man(pap_error_in=(0.1, 0.2), **changed)


def drawn(tasks: list[worth.Task], count: int = 64, **changed: Any) -> worlds.Worlds:
    return worlds.drawn(man(), [worn_option()], tasks, count=count, seed=5, **changed)


def worn_option() -> worth.Option:
    return replace(scenes.option(), worn=(0.8, 0.95))


def as_numbers(world: worlds.World) -> list[Any]:
    """Everything a shot can meet of a world, by what it is."""
    option = worn_option()
    return [
        world.bowler.means(),
        world.bowler.spreads(),
        tuple(world.body(option).pap_body),
        world.closure(option),
        world.lane,
        tuple(float(film.sum()) for film in world.film_um),
        tuple(float((film**2).sum()) for film in world.film_um),
        tuple(float(film[:, :8].sum()) for film in world.film_um),
        world.pins.strike.tobytes(),
        world.spares_level,
    ]


def test_normals_are_centred_scaled_and_uncorrelated() -> None:
    names = [("x", str(i)) for i in range(40)]
    normals = worlds.uncorrelated_normals(names, 64, 1)
    np.testing.assert_allclose(normals.mean(axis=0), 0, atol=1e-12)
    np.testing.assert_allclose(np.corrcoef(normals.T), np.eye(40), atol=1e-9)
    np.testing.assert_array_equal(normals, worlds.uncorrelated_normals(names, 64, 1))
    assert not np.allclose(normals, worlds.uncorrelated_normals(names, 64, 2))


def test_more_names_than_draws_are_still_drawn() -> None:
    normals = worlds.uncorrelated_normals([("x", str(i)) for i in range(90)], 64, 1)
    np.testing.assert_allclose(normals.std(axis=0), 1, rtol=1e-9)


def test_the_middle_world_is_the_one_the_values_shown_were_made_in() -> None:
    task, option = picked_task(), worn_option()
    middle = drawn([task]).middle
    assert middle.bowler == man()
    assert middle.closure(option) == option.closure
    assert middle.body(option) is option.body
    assert middle.lane == (1.0,)
    np.testing.assert_array_equal(middle.film_um[0], task.film_um)


def test_every_unknown_that_is_named_moves_something_and_only_when_it_does() -> None:
    tasks = [picked_task(), replace(scenes.task(scenes.FLAT), house="Quarry")]
    met = drawn(tasks)
    nought = dict.fromkeys(met.names, 0.0)
    plain = as_numbers(met.middle)
    for name in met.names:
        world = worlds._world(man(), tasks, {**nought, name: 1.0}, worlds.Priors())
        assert as_numbers(world) != plain, name


def test_tasks_of_one_house_share_its_friction_and_other_houses_have_their_own() -> None:
    met = drawn([picked_task("Here"), picked_task("Here"), picked_task("There")])
    lanes = np.array([world.lane for world in met.drawn])
    np.testing.assert_array_equal(lanes[:, 0], lanes[:, 1])
    assert abs(np.corrcoef(np.log(lanes[:, 0]), np.log(lanes[:, 2]))[0, 1]) < 1e-9
    assert np.log(lanes[:, 0]).std() == pytest.approx(worlds.Priors().lane_friction)


def test_a_house_that_was_learnt_is_drawn_as_it_is_known() -> None:
    lanes = np.array([w.lane for w in drawn([picked_task(friction_sd=0.01)]).drawn])
    assert np.log(lanes[:, 0]).std() == pytest.approx(0.01)


def test_picked_oil_varies_in_length_and_a_measured_table_in_amount_alone() -> None:
    met = drawn([picked_task(), scenes.task()])
    picked = [np.flatnonzero(w.film_um[0].max(axis=1) > 1e-9)[-1] for w in met.drawn]
    assert len(set(picked)) > 2
    shares = [
        w.film_um[1] / np.where(scenes.task().film_um > 0, scenes.task().film_um, 1.0)
        for w in met.drawn
    ]
    for share in shares:
        wet = share[scenes.task().film_um > 0]
        assert np.ptp(wet) < 1e-9
    assert np.log([share.max() for share in shares]).std() == pytest.approx(0.03)


def test_oil_that_play_has_worn_stays_worn() -> None:
    fresh = picked_task()
    worn = replace(fresh, film_um=fresh.film_um * 0.5)
    for one, other in zip(drawn([fresh]).drawn, drawn([worn]).drawn, strict=True):
        assert other.film_um[0].sum() < one.film_um[0].sum()
        assert (other.film_um[0] >= 0).all()


def test_a_pap_measured_wrongly_turns_the_axis_by_as_much() -> None:
    ball = scenes.drilled()
    moved = worlds.about_another_pap(ball, 0.0, 0.3)
    angle = math.acos(float(np.clip(moved.pap_body @ ball.pap_body, -1, 1)))
    assert angle * ball.radius_m / IN_TO_M == pytest.approx(0.3)
    assert worlds.about_another_pap(ball, 0.0, 0.0) is ball
    back = worlds.about_another_pap(moved, 0.0, -0.3)
    np.testing.assert_allclose(back.pap_body, ball.pap_body, atol=1e-12)


@pytest.mark.parametrize("times", [0.5, 1.5, 3.0])
def test_a_law_of_another_power_grips_alike_on_its_pivot(times: float) -> None:
    """Derived: μ(h₀) is unchanged if the scale becomes h₀ (scale / h₀)^(1 / times)."""
    plain = scenes.film(0.3, exponent=1.2)
    other = plain.sharper(times)

    def grip(film_um: float, law: friction.Film) -> float:
        return float(friction.film_mu(film_um, *law.numbers()[:4]))

    assert other.exponent == pytest.approx(1.2 * times)
    pivot = friction.PIVOT_UM
    assert grip(pivot, other) == pytest.approx(grip(pivot, plain), rel=1e-12)
    for film_um, way in ((0.3 * pivot, 1), (3 * pivot, -1)):
        more = grip(film_um, other) - grip(film_um, plain)
        assert way * math.copysign(1, times - 1) * more > 0.002
    assert plain.sharper(1.0) == plain


def test_a_law_drawn_is_one_for_all_balls_and_keeps_the_lanes_about_as_they_hook() -> None:
    """Estimates: a deviation either way moves the entry by some two boards, half of what it would
    without the pivot, so that it isn't friction over again; but finishes part differently."""
    powers = np.array([world.film_power for world in drawn([picked_task()]).drawn])
    assert np.log(powers).std() == pytest.approx(worlds.Priors().film_power)
    meet, way = scenes.task(), math.exp(worlds.Priors().film_power)
    moved: dict[str, list[float]] = {}
    bare = []
    for finish in ("1000", "2000", "4000", "polished"):
        option = scenes.option(closure=release_speed.closure_of("hybrid", finish))
        lines = worth.seek(man(), [option], [meet], starts=2, rounds=0, steps=60)
        throw = np.array([scenes.throw(float(lines.board[0, 0]), float(lines.launch_deg[0, 0]))])

        def entry(law: friction.Film, option: worth.Option = option, throw: Any = throw) -> float:
            rows = averaged.run_many(
                throw, *worth.body_tuple(option.body), law.numbers(), meet.film_um, 120
            )
            return float(rows[0, shape.ENTRY_BOARD])

        now = entry(option.closure)
        moved[finish] = [entry(option.closure.sharper(p)) - now for p in (1 / way, way)]
        bare += [entry(replace(option.closure, exponent=p)) - now for p in (1 / way, way)]
    assert np.abs(list(moved.values())).max() < 2.2
    assert np.abs(list(moved.values())).mean() < 0.6 * np.abs(bare).mean()
    # The sharper the law, the less a dull finish has over a polished one.
    assert moved["1000"][1] < moved["polished"][1] - 1
    assert moved["1000"][0] > moved["polished"][0] + 1


@pytest.mark.slow
def test_meeting_the_same_worlds_quietens_a_difference() -> None:
    """Two finishes of one ball: the variance of their paired difference against that of two draws
    which know nothing of each other, by the formula above."""
    duller = replace(scenes.option(closure=scenes.film(0.8)), finish="1000")
    options, tasks = [scenes.option(), duller], [picked_task(), scenes.task(scenes.FLAT)]
    lines = worth.seek(man(), options, tasks, starts=2, rounds=1, steps=60)
    found = worth.draws(man(), options, tasks, lines, [1.0, 1.0], count=48, seed=2)
    for j in range(2):
        one, other = found.values[:, 0, j], found.values[:, 1, j]
        apart = one.var() + other.var()
        assert (one - other).var() < 0.6 * apart
        # Drawn anew for each, they would be as far apart as the formula says.
        again = worth.draws(man(), options, tasks, lines, [1.0, 1.0], count=48, seed=3)
        unpaired = (one - again.values[:, 1, j]).var()
        assert unpaired == pytest.approx(apart, rel=0.6)
        assert (one - other).var() < unpaired


@pytest.mark.slow
def test_better_known_means_narrow_the_interval() -> None:
    """Every other doubt set to nothing: standard errors of a quarter leave about a quarter."""
    option, tasks = scenes.option(), [scenes.task()]
    widths = []
    for share in (1.0, 0.25):
        who = scenes.man(
            thrown=tuple(share * error for error in (0.3, 2.0, 6.0, 4.0)),
            pap_error_in=(0.3 * share, 0.3 * share),
            spread_error=(0.0, 0.0),
        )
        lines = worth.seek(who, [option], tasks, starts=2, rounds=1, steps=60)
        found = worth.draws(who, [option], tasks, lines, [1.0], count=48, seed=2, priors=NOTHING)
        low, high = doubt.interval(found.values[:, 0, 0])
        widths.append(high - low)
    assert widths[1] < 0.6 * widths[0]
