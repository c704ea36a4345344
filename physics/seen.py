"""What was seen of a ball on the lanes, and how likely that is at every level the lane may have.

One report is one ball on one condition on one day: where it entered, where it turned, what it left
and what was said of it. Its likelihood is a table over the grids of :mod:`physics.expect`. Numbers
are read as Student-t with four degrees of freedom, words and leaves with a share of misreadings:
one absurd entry then costs a bounded amount of belief. All widths are estimates.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from physics import shape
from physics.errors import InputError
from physics.expect import Response
from physics.line import POCKET_BOARD

Array = NDArray[np.float64]

# How finely people see (standard deviations), estimates: where the ball went in to half a board,
# where it turned to a board and three feet.
READ = {"entry_board": 0.5, "break_board": 1.0, "break_ft": 3.0}
# Of a line nobody told and an entry nobody saw: bowlers look for the pocket, and find it so well.
POCKET_FOUND_BOARDS = 1.5
# Spread of the middle one of many shots, over that of their mean: what people say a ball did is
# nearer the former.
MIDDLE_OVER_MEAN = math.sqrt(math.pi / 2)
# Feet in roll at the pins from which a ball has "moved and quit" (shape's own limit), and the turn
# left over at which it "never moved", with how softly people use the words.
QUIT_FT, SOFT_FT = shape.EARLY_LEFT_FT, 4.0
NEVER_LEFT, SOFT_LEFT = 0.25, 0.10
# Hook length people call just right, and how far off they begin to say so.
RIGHT_FT, EITHER_WAY_FT, SOFT_SHAPE_FT = 22.0, 4.0, 4.0
# Share of words used loosely, and the log likelihood below the best that no report goes under: a
# report that fits nowhere says nothing rather than everything.
MISUSED, WORST = 0.15, -12.0
# What a report counts for as a share of one with nothing wrong but what is named here: reports of
# one season share habits of seeing and faults of the model that nobody named (a tempered
# likelihood; an estimate, checked by coverage of seasons with a known truth).
TRUST = 0.7

MOTIONS = ("quit", "never")
SHAPES = ("rolly", "right", "angular")


@dataclass(frozen=True)
class Report:
    """One ball on one condition on one day; what wasn't noticed is None or empty.

    ``laydown_board`` and ``target_board`` (at the arrows) tell the line; ``shots``: about how many
    first balls the entry and breakpoint are the middle of; ``leaves``: families of
    :mod:`physics.leaves`; ``motion`` one of MOTIONS, ``shape`` one of SHAPES, or "".
    """

    laydown_board: float | None = None
    target_board: float | None = None
    shots: int = 10
    entry_board: float | None = None
    break_board: float | None = None
    break_ft: float | None = None
    leaves: tuple[int, ...] = ()
    motion: str = ""
    shape: str = ""

    def __post_init__(self) -> None:
        for name in ("laydown_board", "target_board", *READ):
            value = getattr(self, name)
            if value is not None and not math.isfinite(value):
                raise InputError(name, value, "a number, or nothing")
        if (self.laydown_board is None) != (self.target_board is None):
            raise InputError("target_board", self.target_board, "laydown and arrows, or neither")
        if self.shots < 1:
            raise InputError("shots", self.shots, "at least 1")
        if self.motion not in ("", *MOTIONS):
            raise InputError("motion", self.motion, "one of " + ", ".join(MOTIONS))
        if self.shape not in ("", *SHAPES):
            raise InputError("shape", self.shape, "one of " + ", ".join(SHAPES))

    @property
    def line(self) -> tuple[float, float] | None:
        """Laydown and arrows, if they were told."""
        if self.laydown_board is None or self.target_board is None:
            return None
        return self.laydown_board, self.target_board

    @property
    def says_nothing(self) -> bool:
        numbers = (self.entry_board, self.break_board, self.break_ft)
        return all(n is None for n in numbers) and not (self.leaves or self.motion or self.shape)


def log_likelihood(response: Response, report: Report) -> Array:
    """Log of how likely a report is (grip x film x scatter), the launch about the line summed out.

    Only differences between nodes matter.
    """
    launch = launch_log_weights(response, report)
    given = np.zeros(response.numbers["entry_board"][0].shape)
    for name, value, expected, scale in numbers_seen(response, report):
        if response.told or name != "entry_board":
            given += log_student(value, expected, scale)
    for family in report.leaves:
        given += np.log(response.families[family])
    if report.motion:
        said = motion_chance(report.motion, response.rolled_ft, response.left_over)
        given += np.log(said)[..., None]
    if report.shape:
        given += np.log(shape_chance(report.shape, response.hook_ft))[..., None]
    table = TRUST * log_sum(given + launch, axis=2)
    return np.asarray(np.maximum(table, table.max() + WORST))


def launch_log_weights(response: Response, report: Report) -> Array:
    """Log weights of launches (grip x film x launches x scatter), adding up to one at each node.

    Of a line told, as it was told; of one assumed, by how well the launch meets where the ball was
    seen to enter, or the pocket where nobody said.
    """
    middle, _ = response.numbers["entry_board"]
    shaped = response.launch_log_weight[None, None, :, None]
    if response.told:
        return np.broadcast_to(shaped, middle.shape)
    value, scale = POCKET_BOARD, np.array(POCKET_FOUND_BOARDS)
    for name, said, _, width in numbers_seen(response, report):
        if name == "entry_board":
            value, scale = said, width
    fits = np.broadcast_to(shaped + log_student(value, middle, scale), middle.shape)
    return np.asarray(fits - log_sum(fits, axis=2)[:, :, None, :])


def numbers_seen(response: Response, report: Report) -> Iterator[tuple[str, float, Array, Array]]:
    """Every number of a report: its name, the value, what each node expects (grip x film x launches
    x scatter), and how far off the report may be (the same)."""
    entry_off, break_off = response.laydown_slope * response.laydown_sd
    off = {"entry_board": entry_off, "break_board": break_off, "break_ft": 0.0 * entry_off}
    for name, (expected, sd) in response.numbers.items():
        value = getattr(report, name)
        if value is None:
            continue
        own = sd * (MIDDLE_OVER_MEAN / math.sqrt(report.shots))
        # Of a line nobody told, whatever the laydown was, the launch found goes with it.
        moved = off[name] if response.told or name != "entry_board" else 0.0 * entry_off
        yield (
            name,
            value,
            expected,
            np.sqrt(own**2 + moved[:, :, None, None] ** 2 + READ[name] ** 2),
        )


def log_sum(logs: Array, axis: int) -> Array:
    """Log of the sum of exponentials along an axis."""
    top = logs.max(axis=axis, keepdims=True)
    return np.asarray(np.log(np.exp(logs - top).sum(axis=axis)) + top.squeeze(axis))


def motion_chance(word: str, rolled_ft: Array, left_over: Array) -> Array:
    """Chance of the word of someone who said how the ball finished: an ordered model.

    ``rolled_ft``: feet rolled out before the pins; ``left_over``: share of the turn unspent there.
    """
    quits = _logistic((rolled_ft - QUIT_FT) / SOFT_FT)
    never = _logistic((left_over - NEVER_LEFT) / SOFT_LEFT)
    said = quits * (1.0 - never) if word == "quit" else never * (1.0 - quits)
    return np.asarray(said * (1.0 - MISUSED) + MISUSED / 3)


def shape_chance(word: str, hook_ft: Array) -> Array:
    """Chance of the word of someone who said how the ball looked: thresholds on hook length."""
    rolly = _logistic((hook_ft - RIGHT_FT - EITHER_WAY_FT) / SOFT_SHAPE_FT)
    angular = _logistic((RIGHT_FT - EITHER_WAY_FT - hook_ft) / SOFT_SHAPE_FT)
    said = {"rolly": rolly, "angular": angular, "right": 1.0 - rolly - angular}[word]
    return np.asarray(np.maximum(said, 0.0) * (1.0 - MISUSED) + MISUSED / 3)


def _logistic(z: Array) -> Array:
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(z, -40.0, 40.0))))


def log_student(seen: float, expected: Array, scale: Array) -> Array:
    """Log density of Student's t with four degrees of freedom, but for a constant."""
    z = (seen - expected) / scale
    return np.asarray(-2.5 * np.log1p(0.25 * z * z) - np.log(scale))


def student_below(seen: float | Array, expected: Array, scale: Array) -> Array:
    """Share of Student's t with four degrees of freedom below a value (closed form)."""
    z = (seen - expected) / scale
    root = np.sqrt(1.0 + 0.25 * z * z)
    return np.asarray(0.5 + 0.375 * z / root * (1.0 - z * z / (12.0 * (1.0 + 0.25 * z * z))))
