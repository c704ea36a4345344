"""Spares and the score of a game, in rows and words: what is left, with what it is taken."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from physics import pins, rank

if TYPE_CHECKING:
    from arsenal.engine.results import Answer

Array = NDArray[np.float64]

# Leaves shown on a condition, and told of in a reason.
SHOWN, TOLD = 6, 2


def game_rows(answer: Answer) -> dict[str, Any]:
    """Expected score of a game with the bag, in all and by condition, beside the average known."""
    bag = _bag(answer)
    games = rank.bag_games(bag)
    return {
        "expected": round(float(answer.setting.weights @ games), 1),
        "average": answer.inputs["customer"]["average"],
        "by_task": [round(float(game), 1) for game in games],
    }


def rows(answer: Answer, j: int) -> list[dict[str, Any]]:
    """The leaves met most on a task, and the owned ball that takes each best."""
    bag = _bag(answer)
    if not len(bag):
        return []
    first = int(bag.games()[:, j].argmax())
    share = (1 - bag.strike[first, j]) * bag.other_leaves[first, j]
    found = []
    for k in np.argsort(-share, kind="stable")[:SHOWN]:
        if share[k] <= 0:
            break
        ball = int(bag.convert[:, j, k].argmax())
        found.append(
            {
                "leave": _name(answer, int(k)),
                "a_game": round(10 * float(share[k]), 2),
                "ball": answer.menu.owned[ball].ball,
                "convert": round(float(bag.convert[ball, j, k]), 3),
            }
        )
    return found


def is_for_spares(answer: Answer, row: int) -> bool:
    """Whether most of what a change gains comes from second balls."""
    change = row - answer.bag_size
    gain, first = float(answer.gains[change].sum()), float(answer.first_gains[change].sum())
    return gain > 0 and first < 0.5 * gain


def reason(answer: Answer, row: int) -> str:
    """Which leaves a ball takes more often than any in the bag, where it helps most."""
    j = int(np.argmax(answer.gains[row - answer.bag_size]))
    bag, new = _bag(answer), answer.confirmed.balls
    task = answer.inputs["conditions"][j]["name"]
    name = answer.confirmed.choices[row].ball
    if not len(bag):
        return f"On {task} {name} is thrown at spares, which nothing in the bag can be (estimate)."
    first = int(bag.games()[:, j].argmax())
    ours = bag.convert[:, j].max(axis=0)
    share = (1 - bag.strike[first, j]) * bag.other_leaves[first, j]
    better = share * (new.convert[row, j] - ours)
    told = []
    for k in np.argsort(-better, kind="stable")[:TOLD]:
        if better[k] <= 0:
            break
        old = answer.menu.owned[int(bag.convert[:, j, k].argmax())].ball
        told.append(
            f"the {_name(answer, int(k))} {100 * new.convert[row, j, k]:.0f} times in a hundred "
            f"where {old} takes it {100 * ours[k]:.0f} times"
        )
    said = " and ".join(told) or "what is left about as often as the bag does"
    turn = _turn(answer, row, j)
    return f"Thrown at spares on {task} it takes {said} (estimate). {turn}".strip()


def _turn(answer: Answer, row: int, j: int) -> str:
    """Why: what the lane makes of it on one line."""
    option = answer.confirmed.choices[row].option
    bag = _bag(answer)
    best = answer.menu.owned[int(bag.convert[:, j].mean(axis=1).argmax())]
    grip = option.closure.mu_dry / best.option.closure.mu_dry
    if grip < 0.9:
        return (
            f"Its cover grips the dry {100 * (1 - grip):.0f} % less than {best.ball}'s, so a line "
            "straight at the pin stays straight, whatever the oil."
        )
    return ""


def _bag(answer: Answer) -> Any:
    return answer.confirmed.balls.part(range(answer.bag_size))


def _name(answer: Answer, k: int) -> str:
    """A leave in the trade's name, for this customer's hand."""
    return pins.leave_name(pins.table().leaves[k], answer.inputs["customer"]["hand"])
