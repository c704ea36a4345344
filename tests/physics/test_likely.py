"""Leaves expected at the levels weighed, which leaves seen are set beside."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest

from physics import expect, learn, leaves, likely, pins, seasons, seen


@pytest.fixture(scope="module")
def play() -> expect.Play:
    world = seasons._world(np.random.default_rng(5), 1.0)
    option, film = world.options[1], world.films[0]
    return expect.Play(world.told, option, film, 1.0, seasons._line(world.told, option, film))


@pytest.fixture(scope="module")
def response(play: expect.Play) -> expect.Response:
    return learn.response_to(play, seen.Report(leaves=(leaves.POCKET,)))


def at_level(response: expect.Response, grip: int, entry: float) -> np.ndarray:
    """All weight on one grip, the oil and scatter as thought, and the launch that enters there."""
    weights = np.zeros(response.families[0].shape)
    film, scatter = len(expect.FILM) // 2, len(expect.SCATTER) // 2
    boards = response.numbers["entry_board"][0][grip, film, :, scatter]
    weights[grip, film, int(np.argmin(np.abs(boards - entry))), scatter] = 1.0
    return weights


def side(left: likely.Left) -> float:
    """Share of the leaves named that the trade reads as high, less those it reads as light."""
    share = dict.fromkeys(range(3), 0.0)
    for mask, chance in left.leaves:
        family = leaves.family_of(pins.leave_name(mask), "right")
        if family is not None:
            share[family] += chance
    return (share[leaves.HIGH] - share[leaves.LIGHT]) / sum(share.values())


def test_shares_are_of_what_is_left_and_likeliest_come_first(
    play: expect.Play, response: expect.Response
) -> None:
    left = likely.left(play, response, at_level(response, 16, 17.5))
    shares = [share for _, share in left.leaves]
    assert shares == sorted(shares, reverse=True)
    assert 0.3 < sum(shares) <= 1.0
    assert 0.0 < left.strike < 1.0
    assert all(share >= likely.LEAST_SHARE for _, share in left.likeliest(19))
    assert left.families.sum(axis=1) == pytest.approx(np.ones(likely.NODES), abs=1e-9)


def test_a_higher_line_leaves_what_high_hits_leave(
    play: expect.Play, response: expect.Response
) -> None:
    """Light, pocket and high leaves as trade articles read them (physics.leaves)."""
    light = likely.left(play, response, at_level(response, 16, 16.0))
    high = likely.left(play, response, at_level(response, 16, 19.5))
    assert side(high) > side(light) + 0.3


def test_the_same_weights_give_the_same_leaves(
    play: expect.Play, response: expect.Response
) -> None:
    weights = at_level(response, 12, 17.5) + at_level(response, 20, 17.5)
    one, two = (likely.left(play, response, weights) for _ in range(2))
    assert one.leaves == two.leaves
    # Half of the levels drawn are of either friction.
    only = likely.left(play, response, at_level(response, 12, 17.5))
    assert int(np.isclose(one.families, only.families[0]).all(axis=1).sum()) == likely.NODES // 2


def test_how_far_out_leaves_are_is_the_share_of_reports_no_likelier() -> None:
    """By enumeration of all ordered reports of three leaves (derived)."""
    families = np.array([[0.6, 0.3, 0.1], [0.2, 0.5, 0.3]])
    left = likely.Left(0.5, (), families)
    every = list(product(range(3), repeat=3))

    def chance(told: tuple[int, ...]) -> float:
        """Of the counts told, in any order."""
        same = [t for t in every if sorted(t) == sorted(told)]
        return float(np.mean([sum(math.prod(row[f] for f in t) for t in same) for row in families]))

    for told in ((2, 2, 2), (0, 0, 1), (0, 1, 2)):
        kinds = {tuple(sorted(t)) for t in every}
        wanted = sum(chance(k) for k in kinds if chance(k) <= chance(told) + 1e-12)
        assert left.as_far_out(told) == pytest.approx(wanted, rel=1e-9)
    assert left.as_far_out((2, 2, 2)) < 0.05 < left.as_far_out((0, 0, 1))


def test_words_are_as_likely_as_their_chances_at_the_level(
    play: expect.Play, response: expect.Response
) -> None:
    weights = at_level(response, 16, 17.5)
    g, f, d, _ = (int(n) for n in np.argwhere(weights)[0])
    told = {
        word: likely.said(weights, response, seen.Report(motion="quit", shape=word))
        for word in seen.SHAPES
    }
    quit_, _ = told["right"]
    assert quit_.chance == pytest.approx(
        float(seen.motion_chance("quit", response.rolled_ft, response.left_over)[g, f, d])
    )
    looks = {word: pair[1] for word, pair in told.items()}
    assert sum(look.chance for look in looks.values()) == pytest.approx(1.0, abs=1e-9)
    ordered = sorted(looks.values(), key=lambda look: look.chance)
    assert ordered[0].as_far_out == pytest.approx(ordered[0].chance)
    assert ordered[-1].as_far_out == pytest.approx(1.0)
    assert likely.said(weights, response, seen.Report(entry_board=17.0)) == ()
