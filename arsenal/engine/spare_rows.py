"""Spares and the score of a game, in rows and words: what is left, with what it is taken."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from arsenal.engine import at_spares, games
from physics import entry_map, pins, rank, spares

if TYPE_CHECKING:
    from arsenal.engine.results import Answer

Array = NDArray[np.float64]

# Leaves shown on a condition, told of in a reason, and named beside a shot.
SHOWN, TOLD, NAMED = 6, 2, 3
# The corner pins, which are shown however seldom they are left.
CORNERS = (1 << 9, 1 << 6)
# A second ball that turns less between release and pins is called straight (our own limit).
STRAIGHT_DEG = 1.5


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
    """The leaves met most on a task and the corner pins: how often they are left, and how often
    each owned ball takes them, and how it is thrown then."""
    bag = _bag(answer)
    if not len(bag):
        return []
    first = int(bag.games()[:, j].argmax())
    share = (1 - bag.strike[first, j]) * bag.other_leaves[first, j]
    order = [int(k) for k in np.argsort(-share, kind="stable")]
    corners = [k for k in order if pins.table().leaves[k] in CORNERS]
    shown = [k for k in order[:SHOWN] if share[k] > 0]
    thrown = [_thrown(answer, i, j) for i in range(answer.bag_size)]
    found = []
    for k in [*shown, *(k for k in corners if k not in shown)]:
        best = int(bag.convert[:, j, k].argmax())
        found.append(
            {
                "leave": _name(answer, k),
                "a_game": round(10 * float(share[k]), 2),
                "ball": answer.menu.owned[best].ball,
                "convert": round(float(bag.convert[best, j, k]), 3),
                "balls": [
                    {
                        "ball_id": choice.ball_id,
                        "ball": choice.ball,
                        "convert": round(float(bag.convert[i, j, k]), 3),
                        "best": i == best,
                        "thrown": thrown[i][k],
                    }
                    for i, choice in enumerate(answer.menu.owned)
                ],
            }
        )
    return found


def _thrown(answer: Answer, i: int, j: int) -> list[dict[str, Any] | None]:
    """How an owned ball is thrown at each leave for its best chance; None where no line is left."""
    thrown = answer.confirmed.second.thrown[i]
    if thrown is None:
        return [None] * len(pins.table().leaves)
    lines = thrown.maps[j]
    found: list[dict[str, Any] | None] = []
    for line in spares.conversions(lines, games.surfaces()).line:
        if line < 0:
            found.append(None)
            continue
        launch = float(lines.launch_deg[line])
        turned = float(lines.angle_deg[line, entry_map.MIDDLE]) + launch
        found.append(
            {
                "release": at_spares.name_of(answer.inputs, int(lines.release[line])),
                "laydown_board": round(float(lines.laydown[line]), 1),
                "launch_deg": round(launch, 1),
                "turned_deg": round(turned, 1),
                "way": "straight" if turned < STRAIGHT_DEG else "hooked",
            }
        )
    return found


def left_by(answer: Answer, row: int, j: int) -> list[dict[str, Any]]:
    """The likeliest leaves of one ball on its own best line, and how often in a game."""
    balls = answer.confirmed.balls
    share = (1 - balls.strike[row, j]) * balls.other_leaves[row, j]
    return [
        {"leave": _name(answer, int(k)), "a_game": round(10 * float(share[k]), 2)}
        for k in np.argsort(-share, kind="stable")[:NAMED]
        if share[k] > 0
    ]


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
    assumed = at_spares.kind_of(answer.inputs) == at_spares.ASSUMED
    how = "estimate, with a flatter release assumed where it helps" if assumed else "estimate"
    return f"Thrown at spares on {task} it takes {said} ({how}). {turn}".strip()


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
