"""How well each new ball would do on each task, drilled and finished as suits this bowler."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from arsenal.engine import reasons, tasks

if TYPE_CHECKING:
    from arsenal.engine.results import Answer

NEW = ("stock", "order", "spare")


def fills_of(answer: Answer) -> list[dict[str, Any]]:
    """A row a new ball: where it is (``shelf`` or ``order``), its number there, its name, the
    strike chance of its best drilling and finish on each task, and what those are where it is met
    most. Values as the window has them: screened ones moved to those confirmed."""
    first = answer.bag_size
    groups: dict[str, list[int]] = {}
    for n, choice in enumerate(answer.menu.changes):
        if choice.kind in NEW and choice.replaces is None:
            groups.setdefault(choice.key, []).append(first + n)
    if not groups:
        return []
    values = np.column_stack([tasks.scores_on(answer, j) for j in range(len(answer.setting.tasks))])
    heaviest = int(np.argmax(answer.setting.weights))
    found = []
    for key, rows in groups.items():
        place, number = key.rsplit(" ", 1)
        best = rows[int(np.argmax(values[rows, heaviest]))]
        choice = answer.screened.choices[best]
        found.append(
            {
                "place": "shelf" if place == "stock" else "order",
                "id": int(number),
                "ball": choice.ball,
                "as": reasons.name_of(choice),
                "by_task": [round(float(v), 4) for v in values[rows].max(axis=0)],
            }
        )
    return found
