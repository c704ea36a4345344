"""What a bowler does on the lanes: which ball to start with, and what if it reads early or late.

Every ball of the bag is played on the condition as it is thought to be, on a drier lane that grips
more, where all of it happens earlier, and on an oilier one that grips less. On each, staying put,
moving with the same ball, throwing a little faster or slower, and every other ball on a line of its
own are valued alike. Only what a bowler may do in play is tried: never the surface.

A ball that reads early *and* late meets both lanes at once, the dry on one side of the line and the
oil on the other: what is sought then is the ball and line that mind least, with nothing changed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from arsenal.engine import options, ranking
from arsenal.engine.throws import OnLane
from physics import line, pins, shape, worth
from physics.bowler import normal_samples

Array = NDArray[np.float64]

SEED = 1
# A lane that reads earlier or later than thought: its friction by the spread of what isn't known of
# a house's (physics.worlds.Priors), its oil by about what ten games of play take (physics.wear).
# Estimates, both.
GRIP, OIL = 0.06, 0.15
LANES = {"as_thought": (1.0, 1.0), "early": (1 + GRIP, 1 - OIL), "late": (1 - GRIP, 1 + OIL)}
# What a bowler can throw faster or slower on purpose (common practice, no source).
PACE_MPH = 1.0
# Strike chances nearer than this are the same thing to whoever stands on the approach; another ball
# is worth walking back for from here on (estimates).
SAME, ANOTHER_BALL = 0.02, 0.05


@dataclass(frozen=True)
class _Played:
    """Lines and values (balls x tasks) on one kind of lane, and the mean shots on them."""

    lines: worth.Lines
    shots: Array

    def place(self, ball: int, task: int) -> dict[str, float] | None:
        """Where one stands and looks: boards at the foul line and at the arrows."""
        board = float(self.lines.board[ball, task])
        if not math.isfinite(board):
            return None
        arrow = float(self.shots[ball, task, shape.ARROW_BOARD])
        return {"laydown_board": round(board, 1), "arrow_board": round(arrow, 1)}


def on_the_lanes(inputs: Mapping[str, Any]) -> list[dict[str, Any]]:
    """For each condition of a ranking's inputs: the ball to start with, and what then.

    Each row: ``condition``, ``house``, ``start`` (None where nothing in the bag can be played),
    and ``early``, ``late``, ``both`` as :func:`_then` and :func:`_both` tell them. Boards are the
    bowler's own; values are strike chances (estimates).
    """
    setting = ranking.setting_of(inputs)
    bag = options.bag_as_it_is(inputs, setting.who)
    spares = {ball["id"] for ball in inputs["bag"] if ball.get("spares")}
    balls = [choice for choice in bag if choice.ball_id not in spares] or bag
    return _Bag(inputs, setting, balls).rows()


class _Bag:
    """The balls on every condition and kind of lane."""

    def __init__(
        self, inputs: Mapping[str, Any], setting: ranking.Setting, balls: list[options.Choice]
    ) -> None:
        self.inputs, self.setting, self.balls = inputs, setting, balls
        self.scatter = normal_samples(worth.SAMPLES, SEED)
        self.strikes = worth.strikes_of(pins.table(), [choice.option for choice in balls])
        self.played = {name: self._play(*change) for name, change in LANES.items()}

    def _lane(self, grip: float, oil: float) -> tuple[list[worth.Task], list[float]]:
        tasks = [replace(task, film_um=task.film_um * oil) for task in self.setting.tasks]
        return tasks, [factor * grip for factor in self.setting.factors]

    def _play(self, grip: float, oil: float) -> _Played:
        tasks, factors = self._lane(grip, oil)
        asked = [choice.option for choice in self.balls]
        who = self.setting.who
        lines = worth.seek(who, asked, tasks, lane_factors=factors, seed=SEED)
        return _Played(lines, worth.mean_shots(who, worth.Rows.of(asked), tasks, lines, factors))

    def rows(self) -> list[dict[str, Any]]:
        return [self._row(j, asked) for j, asked in enumerate(self.inputs["conditions"])]

    def _row(self, task: int, asked: Mapping[str, Any]) -> dict[str, Any]:
        found: dict[str, Any] = {
            "condition": asked["name"],
            "condition_id": asked["id"],
            "house": asked["house"],
            "start": None,
        }
        if not self.balls:
            return found
        thought = self.played["as_thought"]
        start = int(np.argmax(thought.lines.value[:, task]))
        place = thought.place(start, task)
        if place is None:
            return found
        return found | {
            "start": self._ball(start, task, "as_thought"),
            "early": self._then(start, task, "early"),
            "late": self._then(start, task, "late"),
            "both": self._both(start, task),
        }

    def _ball(self, ball: int, task: int, lane: str) -> dict[str, Any]:
        choice, played = self.balls[ball], self.played[lane]
        return {
            "ball_id": choice.ball_id,
            "ball": choice.ball,
            "line": played.place(ball, task),
            "carry": round(float(played.lines.value[ball, task]), 3),
        }

    def _then(self, start: int, task: int, lane: str) -> dict[str, Any]:
        """What to do where the ball reads otherwise than thought.

        ``stay``: what nothing done would score; ``feet`` and ``eyes``: boards to move at the foul
        line and at the arrows, away from the ball-hand gutter positive (None: no line is left);
        ``moved``: what that scores; ``pace_mph``: faster or slower on the old line, where it scores
        about as much as moving; ``change``: another ball that scores clearly more, with its line.
        """
        thought, played = self.played["as_thought"], self.played[lane]
        before, after = thought.place(start, task), played.place(start, task)
        stay = self._on_old_line(start, task, lane)
        moved = float(played.lines.value[start, task])
        found: dict[str, Any] = {
            "stay": round(stay, 3),
            "moved": round(max(moved, stay), 3),
            "feet": None,
            "eyes": None,
            "pace_mph": None,
            "change": None,
        }
        if before is not None and after is not None:
            if moved > stay + SAME:
                found["feet"] = round(after["laydown_board"] - before["laydown_board"])
                found["eyes"] = round(after["arrow_board"] - before["arrow_board"])
            else:
                found["feet"] = found["eyes"] = 0
        pace = PACE_MPH if lane == "early" else -PACE_MPH
        paced = self._on_old_line(start, task, lane, pace)
        if paced > stay + SAME and paced > moved - SAME:
            found["pace_mph"] = pace
        best = int(np.argmax(played.lines.value[:, task]))
        gains = float(played.lines.value[best, task]) - max(moved, stay)
        if best != start and gains > ANOTHER_BALL:
            found["change"] = self._ball(best, task, lane)
        return found

    def _both(self, start: int, task: int) -> dict[str, Any]:
        """The ball and line that mind least: best in the worse of both lanes, with nothing moved.

        ``worse``: what the start scores there; ``change``: another ball that scores clearly more.
        """
        worse = [
            min(self._on_old_line(ball, task, lane) for lane in ("early", "late"))
            for ball in range(len(self.balls))
        ]
        best = int(np.argmax(worse))
        change = best != start and worse[best] - worse[start] > ANOTHER_BALL
        return {
            "worse": round(worse[start], 3),
            "change": self._ball(best, task, "as_thought") if change else None,
        }

    def _on_old_line(self, ball: int, task: int, lane: str, pace_mph: float = 0.0) -> float:
        """Strike chance on the line that was best as the lane was thought, on another lane."""
        thought = self.played["as_thought"].lines
        board = float(thought.board[ball, task])
        if not math.isfinite(board):
            return 0.0
        tasks, factors = self._lane(*LANES[lane])
        option = self.balls[ball].option
        on_lane = OnLane(self.setting.who, option, tasks[task], factors[task])
        delivery = on_lane.delivery(board, float(thought.launch_deg[ball, task]), pace_mph)
        met = on_lane.entries(delivery, self.scatter)
        return float(line.strikes_at(met, self.strikes[option.body.mass_kg]).mean())
