"""Expected score of a game by the scoring rules, for frames that don't depend on each other.

A frame is a first ball at ten pins, then a second at what is left. With p the chance of a strike,
q that of a spare, f the mean pins of a first ball and t the mean pins of a frame's own two balls
(ten for a strike), a spare adds the next ball, a strike the next two; and after a strike the next
two balls bring p (10 + f) + (t - 10 p) = t + p f on average. The tenth frame's fill balls are
balls like others, so each of the ten frames is worth t + q f + p (t + p f).
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FRAMES = 10


def game(strike: Array, spare: Array, first: Array, frame: Array) -> Array:
    """Expected score, 0 to 300.

    ``strike``, ``spare``: chances in a frame (a strike isn't a spare); ``first``: mean pins of a
    first ball; ``frame``: mean pins of a frame's own two balls. All of one shape, or broadcast.
    """
    return np.asarray(FRAMES * (frame + spare * first + strike * (frame + strike * first)))
