"""Oil by what a technician can say of it: six questions, each with two to four answers.

The numbers an answer stands for are estimates, common practice at most; what comes of them is
drawn beside the questions, and how far the lane's oil may lie off them is counted in by rankings.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from arsenal import engine


@dataclass(frozen=True)
class Question:
    """``answers``: value, words, and the number it stands for, if it stands for one alone."""

    name: str
    label: str
    answers: tuple[tuple[str, str, float | None], ...]
    usual: str
    help_text: str = ""

    @property
    def choices(self) -> list[tuple[str, str]]:
        return [(value, words) for value, words, _ in self.answers]

    def number(self, value: str) -> float | None:
        return {answer: number for answer, _, number in self.answers}[value]

    def nearest(self, number: float) -> str:
        """The answer whose number lies nearest."""
        known = [(abs(n - number), value) for value, _, n in self.answers if n is not None]
        return min(known)[1]


LENGTH = Question(
    "pick_length",
    "How long is it?",
    (
        ("short", "Short, about 35 ft", 35.0),
        ("usual", "Usual, about 40 ft", 40.0),
        ("long", "Long, about 44 ft", 44.0),
        ("longest", "Very long, about 48 ft", 48.0),
    ),
    "usual",
)
VOLUME = Question(
    "pick_volume",
    "How much oil?",
    (
        ("light", "Light, about 18 mL", 18.0),
        ("medium", "Medium, about 23 mL", 23.0),
        ("heavy", "Heavy, about 28 mL", 28.0),
    ),
    "medium",
)
INSIDE = Question(
    "pick_inside",
    "A ball missed inside …",
    (
        ("much", "holds its line", None),
        ("some", "holds a little", None),
        ("little", "goes high", None),
    ),
    "much",
)
OUTSIDE = Question(
    "pick_outside",
    "A ball missed outside …",
    (
        ("much", "comes back", None),
        ("some", "comes back a little", None),
        ("little", "stays out", None),
    ),
    "much",
)
HOOKS = Question(
    "pick_hooks",
    "Where does it hook?",
    (
        ("out", "Near the gutter, about board 7", 7.5),
        ("usual", "Between the first and second arrow", 9.0),
        ("in", "At the second arrow and further in", 12.0),
    ),
    "usual",
    "Not asked of oil that neither holds nor comes back: it has no edge.",
)
EDGE = Question(
    "pick_edge",
    "From wet to dry it goes …",
    (("blended", "gradually", None), ("blocked", "at once, a step", None)),
    "blended",
)
QUESTIONS = (LENGTH, VOLUME, INSIDE, OUTSIDE, HOOKS, EDGE)

# Crosswise ratio, boards 18L–18R over 3–7, by how a miss inside and one outside fares: estimates,
# between the governing body's flat, challenge and house patterns.
RATIO_BY_MISSES: dict[tuple[str, str], float] = {
    ("much", "much"): 9.0,
    ("much", "some"): 6.0,
    ("much", "little"): 3.5,
    ("some", "much"): 6.5,
    ("some", "some"): 4.5,
    ("some", "little"): 2.5,
    ("little", "much"): 4.0,
    ("little", "some"): 2.5,
    ("little", "little"): 1.5,
}
FLAT_TO = 2.5
# Of the steepest an edge so far out can have: beyond, the outside would be bone dry.
STEEPEST_SHARE = 0.95


def numbers_of_answers(answers: Mapping[str, str]) -> dict[str, Any]:
    """The picker's numbers as a condition keeps them, of one answer to each question."""
    ratio = RATIO_BY_MISSES[answers[INSIDE.name], answers[OUTSIDE.name]]
    if ratio <= FLAT_TO:
        shape, board = "flat", None
    else:
        shape = answers[EDGE.name]
        usual = answers[HOOKS.name] == HOOKS.usual
        board = None if usual else HOOKS.number(answers[HOOKS.name])
    return {
        "length_ft": LENGTH.number(answers[LENGTH.name]),
        "volume_ml": VOLUME.number(answers[VOLUME.name]),
        "inside_to_outside_ratio": min(
            ratio, round(STEEPEST_SHARE * engine.steepest_ratio(shape, board), 1)
        ),
        "shape": shape,
        "ramp_board": board,
    }


def answers_near(numbers: Mapping[str, Any]) -> dict[str, str]:
    """The answers that come nearest to a condition's numbers."""
    ratio = numbers["inside_to_outside_ratio"]
    flat = numbers["shape"] == "flat"
    inside, outside = min(
        RATIO_BY_MISSES,
        key=lambda misses: (
            (RATIO_BY_MISSES[misses] <= FLAT_TO) != flat,
            abs(RATIO_BY_MISSES[misses] - ratio),
        ),
    )
    board = numbers.get("ramp_board")
    return {
        LENGTH.name: LENGTH.nearest(numbers["length_ft"]),
        VOLUME.name: VOLUME.nearest(numbers["volume_ml"]),
        INSIDE.name: inside,
        OUTSIDE.name: outside,
        HOOKS.name: HOOKS.usual if board is None else HOOKS.nearest(board),
        EDGE.name: EDGE.usual if flat else numbers["shape"],
    }


def name_of(numbers: Mapping[str, Any]) -> str:
    """What such oil may be called: "Blended, 40 ft, medium"."""
    amount = VOLUME.nearest(numbers["volume_ml"])
    return f"{numbers['shape'].capitalize()}, {numbers['length_ft']:g} ft, {amount}"
