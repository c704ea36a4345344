"""The balls thrown at a full rack, kept beside the table in one small file.

A build takes core-hours and its batches lie outside the tree; with its rows kept, the table can be
smoothed otherwise by anyone. A new build takes their place.
"""

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from physics.pindeck import build

Array = NDArray[np.float64]

FILE = Path(__file__).parents[1] / "tables" / "racks.npz"
# How finely each column is kept: a hundredth of a board and of a degree, a centimetre a second, ten
# grams. All of it is far below what the smoothing can see.
_PARTS = {
    build.BOARD: 100.0,
    build.ANGLE_DEG: 100.0,
    build.SPEED_M_S: 100.0,
    build.MASS_KG: 100.0,
    build.LEFT_DECK: 10.0,
    build.LEAVE: 1.0,
}
# Stands for "left by a gutter", where there is no board.
_NONE = -(2**15)


def write(rows: Array, path: Path = FILE) -> None:
    """Keep sound rows of :func:`physics.pindeck.build.read`, in whole parts of a column's unit."""
    columns: dict[str, Any] = {}
    for column, parts in _PARTS.items():
        whole = np.round(rows[:, column] * parts)
        columns[str(column)] = np.where(np.isnan(whole), _NONE, whole).astype(np.int16)
    np.savez_compressed(path, **columns)


def read(path: Path = FILE) -> Array:
    """The rows kept; none if there is no file."""
    if not path.exists():
        return np.zeros((0, build.COLUMNS))
    with np.load(path) as columns:
        rows = np.ones((len(columns["0"]), build.COLUMNS))
        for column, parts in _PARTS.items():
            whole = columns[str(column)].astype(float)
            rows[:, column] = np.where(whole == _NONE, np.nan, whole / parts)
    return rows
