"""Levels learnt by Bayes on a grid: against closed forms, and against seasons of known truth."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from physics import expect, learn, seasons
from physics.worlds import Priors

# A ball whose own errors are next to nothing, and a release measured without error.
SURE = expect.Doubts(release=0.0, ring=0.0, own_grip=0.02, own_film=0.15, scatter=0.25)


def says(grip: float, sd: float, doubts: expect.Doubts = SURE, **where: object) -> learn.Evidence:
    """A report that says one thing: the ball's friction, with so much error."""
    table = -0.5 * ((expect.GRIP[:, None, None] - grip) / sd) ** 2 + np.zeros(
        (1, len(expect.FILM), len(expect.SCATTER))
    )
    place = {"bowler": "ann", "house": "hall", "condition": "oil", "ball": "one", **where}
    return learn.Evidence(oil_sd=0.10, doubts=doubts, table=table, **place)


def test_nothing_seen_leaves_the_prior() -> None:
    learnt = learn.Lanes([]).learnt("ann", "hall")
    assert learnt.friction.log_mean == pytest.approx(learnt.friction_before.log_mean, abs=1e-9)
    assert learnt.friction.log_sd == pytest.approx(Priors().lane_friction, rel=0.01)
    assert math.log(learnt.friction.high) == pytest.approx(1.2816 * 0.06, rel=0.05)


def test_one_report_is_the_normal_closed_form() -> None:
    """Normal prior and likelihood: precisions add (derived). Steps of the grids are 1/80, 1/31."""
    prior, own, error = Priors().lane_friction, SURE.own_grip, 0.05
    learnt = learn.Lanes([says(0.10, error)]).learnt("ann", "hall")
    seen_sd = math.hypot(own, error)
    weight = prior**2 / (prior**2 + seen_sd**2)
    assert learnt.friction.log_mean == pytest.approx(0.10 * weight, abs=0.004)
    assert learnt.friction.log_sd == pytest.approx(prior * math.sqrt(1 - weight), rel=0.06)


def test_reports_of_one_ball_never_narrow_past_its_own_error() -> None:
    doubts = replace(SURE, own_grip=0.06)
    one = learn.Lanes([says(0.1, 0.05, doubts)] * 40).learnt("ann", "hall").friction
    two = learn.Lanes(
        [says(0.1, 0.05, doubts)] * 20 + [says(0.1, 0.05, doubts, ball="two")] * 20
    ).learnt("ann", "hall")
    # Prior and the ball's own error are equal: half the variance is left (derived).
    assert one.log_sd == pytest.approx(0.06 * math.sqrt(0.5), rel=0.06)
    assert two.friction.log_sd < 0.9 * one.log_sd


def test_a_ball_on_two_conditions_counts_as_one_ball() -> None:
    doubts = replace(SURE, own_grip=0.06)
    split = [says(0.1, 0.05, doubts, condition=c) for c in ("oil", "other") for _ in range(20)]
    learnt = learn.Lanes(split).learnt("ann", "hall").friction
    assert learnt.log_sd == pytest.approx(0.06 * math.sqrt(0.5), rel=0.06)


def test_leaving_a_report_out_is_never_having_had_it() -> None:
    first, second = says(0.1, 0.05), says(-0.1, 0.05, condition="other")
    with_both = learn.Lanes([first, second])
    assert with_both.learnt("ann", "hall") != learn.Lanes([first]).learnt("ann", "hall")
    left = learn.Lanes([e for e in with_both.evidence if e is not second])
    assert left.learnt("ann", "hall") == learn.Lanes([first]).learnt("ann", "hall")


def test_a_house_pools_its_bowlers_and_warns_the_next() -> None:
    one = [says(0.12, 0.04)]
    both = [*one, says(0.12, 0.04, bowler="bo")]
    _, alone, _ = learn.Lanes(one).house("hall")
    before, pooled, count = learn.Lanes(both).house("hall")
    assert count == 2
    assert before.log_mean == pytest.approx(0.0, abs=1e-9)
    assert pooled.log_mean > alone.log_mean > 0
    assert pooled.log_sd < alone.log_sd
    # Somebody who was never seen there meets what the others learnt.
    stranger = learn.Lanes(both).learnt("cy", "hall").friction
    assert stranger.log_mean == pytest.approx(pooled.log_mean, abs=0.003)
    assert learn.Lanes(both).learnt("cy", "elsewhere").friction.log_mean == pytest.approx(0.0)


def test_a_release_measured_loosely_says_less_of_the_house() -> None:
    loose = replace(SURE, release=0.10)
    _, firm, _ = learn.Lanes([says(0.12, 0.03)]).house("hall")
    _, soft, _ = learn.Lanes([says(0.12, 0.03, loose)]).house("hall")
    assert 0 < soft.log_mean < firm.log_mean
    # But the bowler's own level takes it nearly whole: it is how the lane is for that release.
    assert learn.Lanes([says(0.12, 0.03, loose)]).learnt("ann", "hall").friction.log_mean > 0.09


def test_reports_that_cant_both_be_true_still_give_an_answer() -> None:
    learnt = learn.Lanes([says(0.5, 0.02), says(-0.5, 0.02, condition="other")])
    level = learnt.learnt("ann", "hall").friction
    assert math.isfinite(level.log_mean)
    assert level.low < level.factor < level.high


def test_many_balls_that_contradict_each_other_still_give_an_answer() -> None:
    """Each of them surer than a float's range lets products of the rest be."""
    all_of_them = [
        says(0.5 * (-1) ** n, 0.004, ball=n, condition=n % 2) for n in range(12) for _ in range(3)
    ]
    lanes = learn.Lanes([*all_of_them, *(says(0.5, 0.004, bowler="bo", ball=n) for n in range(6))])
    learnt = lanes.learnt("ann", "hall")
    for level in (learnt.friction, learnt.repeatability, *learnt.oil.values()):
        assert math.isfinite(level.log_mean)
        assert level.low < level.high
    assert np.isfinite(lanes.expected(all_of_them[0], without=[all_of_them[0]])).all()


@pytest.mark.slow
def test_seasons_of_known_truth_are_covered_and_errors_fall() -> None:
    """80 % intervals hold 70-90 % of truths; of few seasons, give or take the binomial's 2 sd.

    The full report (200 seasons a law) is ``python -m physics learning``.
    """
    count = 12
    found = seasons.run(count, ["the model's own"], seed=900, reports=8)
    law = found["laws"]["the model's own"]
    tolerance = 2 * math.sqrt(0.8 * 0.2 / count)
    for name, share in law["coverage"].items():
        assert 0.7 - tolerance <= share <= min(1.0, 0.9 + tolerance), name
    together = np.mean([law["coverage"][name] for name in law["coverage"]])
    assert 0.7 - tolerance / 2 <= together <= 0.9 + tolerance / 2
    assert law["after"]["8"]["friction_error"] < law["after"]["0"]["friction_error"]


@pytest.mark.slow
def test_a_season_is_the_same_for_its_seed() -> None:
    assert seasons.season(3, reports=4) == seasons.season(3, reports=4)


@pytest.mark.slow
def test_a_line_in_the_gutter_before_the_arrows_is_not_told() -> None:
    """This season has two on friction that is oiled or dry: they made every level NaN."""
    found = seasons.season(153, law=seasons.LAWS["oiled or dry"])
    assert all(math.isfinite(error) for error in found.friction_error)


def test_what_is_remembered_of_others_is_what_would_be_computed() -> None:
    """To the last digit, also once more is known of the oil or of that bowler."""
    bob = says(0.10, 0.05, bowler="bob")
    vague = replace(says(0.0, 0.2, bowler="cy"), oil_sd=0.3)
    elsewhere = replace(
        says(0.0, 0.1, bowler="bob", house="other", condition="their oil"),
        doubts=replace(SURE, scatter=0.5),
    )
    for others in ([bob], [bob, vague], [bob, elsewhere], [bob, vague, elsewhere]):
        remembered = learn.Lanes(others).learnt("ann", "hall")
        learn._said.cache_clear()
        assert learn.Lanes(others).learnt("ann", "hall") == remembered
        fresh = learn.Lanes([replace(one) for one in others]).learnt("ann", "hall")
        assert fresh == remembered
