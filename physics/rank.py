"""From what balls are worth to what each change of a bag adds, and in what order that is said.

What balls do comes from :mod:`physics.bag`; a bag is worth the score
of a game with its best first ball and, for each leave, its best ball for that.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from physics.bag import Balls, joined

Array = NDArray[np.float64]


def bag_games(bag: Balls) -> Array:
    """Expected score of a game on each task, the best ball thrown first; 0 for an empty bag."""
    return bag.games().max(axis=0) if len(bag) else np.zeros(bag.strike.shape[1])


def bag_value(bag: Balls, weights: Array) -> float:
    """Expected score of a game over the tasks met."""
    return float(weights @ bag_games(bag))


def gains_by_task(
    bag: Balls, options: Balls, replaces: Sequence[int | None], weights: Array
) -> Array:
    """Pins per game each option adds on each task (options x tasks), already weighted.

    An addition is worth the bag with it less the bag without, as first ball or at spares; a change
    to an owned ball (``replaces`` its row) is a swap, and may lose.
    """
    before = bag_games(bag)
    out = np.zeros((len(options), len(weights)))
    everything = list(range(len(bag)))
    for i in range(len(options)):
        kept = bag.part([row for row in everything if row != replaces[i]])
        out[i] = weights * (bag_games(joined(kept, options.part([i]))) - before)
    return out


def certainty(drawn_gains: Array) -> Array:
    """Probability that each option's gain is above zero: share of draws (draws x options)."""
    return np.asarray((drawn_gains > 1e-9).mean(axis=0))


def kendall_tau(first: Array, second: Array, tie: float) -> float:
    """Kendall's tau-b of two scorings, differences under ``tie`` counted as ties."""
    agree = ties_first = ties_second = pairs = 0
    for i in range(len(first)):
        for j in range(i):
            a, b = first[i] - first[j], second[i] - second[j]
            sign_a, sign_b = (0 if abs(d) < tie else (1 if d > 0 else -1) for d in (a, b))
            agree += sign_a * sign_b
            ties_first += sign_a == 0
            ties_second += sign_b == 0
            pairs += 1
    scale = math.sqrt((pairs - ties_first) * (pairs - ties_second))
    return agree / scale if scale else 1.0


def families(
    gains: Sequence[float], alike: Sequence[str], balls: Sequence[str], noise: float
) -> list[list[int]]:
    """Indices grouped so that nobody is shown an order that isn't there.

    Going down in gain, an option joins the last family of its likeness (its kind of change) whose
    leader is within ``noise`` of it, else it leads a new one; but a ball already in a family isn't
    listed again for a lesser gain. Each list starts with its leader; leaders fall in gain.
    """
    order = sorted(range(len(gains)), key=lambda i: -gains[i])
    groups: list[list[int]] = []
    latest: dict[str, list[int]] = {}
    listed: set[str] = set()
    for i in order:
        group = latest.get(alike[i])
        if group is not None and gains[group[0]] - gains[i] < noise:
            group.append(i)
        elif balls[i] not in listed:
            latest[alike[i]] = [i]
            groups.append(latest[alike[i]])
        listed.add(balls[i])
    return groups
