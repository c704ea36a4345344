"""Rung 4: the reference solver, SciPy and a general-purpose rigid-body engine on the same shots.

Sources: SciPy's DOP853 on Newton's and Euler's equations as the referees write them (derived), and
MuJoCo. SciPy's tolerance is 1e-10 and its events stop at 1e-7 m/s of slip. The engine's contact is
soft and its step a tenth of a millisecond, so friction starts, changes and ends that much late: a
hundredth of a board or so, a few where the load swings with the offset.
"""

from __future__ import annotations

import pytest

from physics.cases import shot
from physics.units import BOARD_M
from tests.physics.agreement import ENGINE, SCIPY, SHOTS, row

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("name", SHOTS)
def test_scipy_ends_within_a_ten_thousandth_of_a_board(name: str) -> None:
    found = row(name, SCIPY)
    assert abs(found.boards) < 1e-4
    assert abs(found.sideways_m_s) < 1e-5
    assert abs(found.seconds) < 1e-6


@pytest.mark.parametrize("name", SHOTS)
def test_the_engine_ends_within_hundredths_of_a_board(name: str) -> None:
    found = row(name, ENGINE)
    unbalanced = "centre_of_mass_m" in SHOTS[name]["ball"]
    assert abs(found.boards) < (0.1 if unbalanced else 0.03)
    assert abs(found.seconds) < 5e-4


@pytest.mark.parametrize("name", [n for n, c in SHOTS.items() if "centre_of_mass_m" in c["ball"]])
def test_what_the_offset_does_is_many_times_what_the_engine_leaves_open(name: str) -> None:
    # Else agreement about the offset would say nothing.
    case = SHOTS[name]
    ball = {k: v for k, v in case["ball"].items() if k != "centre_of_mass_m"}
    moved = shot(case)["end"]["y_m"] - shot({**case, "ball": ball})["end"]["y_m"]
    assert abs(moved) / BOARD_M > 10 * abs(row(name, ENGINE).boards)
