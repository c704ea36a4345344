"""What a report says: which way it pulls the levels, and how far a wild one can."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from physics import expect, leaves, seen
from physics.errors import InputError
from tests.physics import scenes

pytestmark = pytest.mark.slow
LINE = (22.0, 3.3)
TOLD = {"laydown_board": 22.0, "target_board": 13.0}


@cache
def response(told: bool = True) -> expect.Response:
    task = scenes.task()
    play = expect.Play(scenes.man(), scenes.option(), task.film_um, 1.0, LINE)
    return expect.respond(play, (22.0, 13.0) if told else None)


def table(**told: object) -> NDArray[np.float64]:
    report = seen.Report(**{**TOLD, **told})  # type: ignore[arg-type]
    return seen.log_likelihood(response(), report)


def pull(found: NDArray[np.float64], points: NDArray[np.float64], axis: int) -> float:
    """Mean of one grid under the likelihood alone."""
    weights = np.exp(found - found.max())
    kept = tuple(n for n in range(3) if n != axis)
    share = weights.sum(axis=kept)
    return float(share @ points / share.sum())


def expected_entry() -> float:
    middle, _ = response().numbers["entry_board"]
    at = tuple(size // 2 for size in middle.shape)
    return float(middle[at])


def test_more_friction_enters_higher_and_more_oil_lighter() -> None:
    """Directions of the trade; common practice, no source."""
    middle, _ = response().numbers["entry_board"]
    launch, width = middle.shape[2] // 2, middle.shape[3] // 2
    by_grip = middle[:, len(expect.FILM) // 2, launch, width]
    by_film = middle[len(expect.GRIP) // 2, :, launch, width]
    assert by_grip[24] > by_grip[16] > by_grip[8]
    assert by_film[4] > by_film[8] > by_film[12]


def test_an_entry_higher_than_expected_says_more_friction_or_less_oil() -> None:
    at = expected_entry()
    high, low = table(entry_board=at + 3, shots=18), table(entry_board=at - 3, shots=18)
    assert pull(high, expect.GRIP, 0) > pull(low, expect.GRIP, 0) + 0.1
    assert pull(high, expect.FILM, 1) < pull(low, expect.FILM, 1)


def test_high_leaves_say_more_friction_than_light_ones() -> None:
    high = table(leaves=(leaves.HIGH,) * 3)
    light = table(leaves=(leaves.LIGHT,) * 3)
    assert pull(high, expect.GRIP, 0) > pull(light, expect.GRIP, 0)


def test_light_and_high_in_turn_say_a_wider_spread() -> None:
    mixed = table(leaves=(leaves.HIGH, leaves.LIGHT) * 3)
    pocket = table(leaves=(leaves.POCKET,) * 6)
    assert pull(mixed, expect.SCATTER, 2) > pull(pocket, expect.SCATTER, 2) + 0.1


def test_quit_says_more_friction_and_never_moved_less() -> None:
    quit_, never = table(motion="quit"), table(motion="never")
    assert pull(quit_, expect.GRIP, 0) > pull(never, expect.GRIP, 0)


def test_an_absurd_entry_costs_a_bounded_amount_of_belief() -> None:
    """Student's t with four degrees of freedom, and a floor: no report rules anything out."""
    for report in ({"entry_board": 39.0}, {"entry_board": 1.0}):
        found = table(shots=18, **report)
        assert found.max() - found.min() <= -seen.WORST + 1e-9
        assert np.isfinite(found).all()


def test_an_entry_on_a_line_nobody_told_says_nothing_by_itself() -> None:
    """The launch is then picked by where the ball went in: bowlers look for the pocket."""
    report = seen.Report(entry_board=19.0, shots=18)
    found = seen.log_likelihood(response(told=False), report)
    assert np.ptp(found) == pytest.approx(0.0, abs=1e-9)


def test_launches_weigh_one_together_on_every_node() -> None:
    for told, report in (
        (True, seen.Report(entry_board=18.0, **TOLD)),  # type: ignore[arg-type]
        (False, seen.Report(entry_board=18.0)),
    ):
        weights = np.exp(seen.launch_log_weights(response(told), report))
        assert np.allclose(weights.sum(axis=2), 1.0)


def test_words_are_shares_of_those_who_said_something() -> None:
    feet, left = np.linspace(0, 30, 31), np.linspace(0, 1, 31)
    hook = np.linspace(8, 45, 31)
    words = sum(seen.motion_chance(word, feet, left) for word in seen.MOTIONS)
    assert np.all(words <= 1.0)
    shapes = sum(seen.shape_chance(word, hook) for word in seen.SHAPES)
    assert np.allclose(shapes, 1.0, atol=0.02)
    assert np.all(np.diff(seen.shape_chance("rolly", hook)) > 0)


def test_the_closed_form_of_students_t_is_that_of_scipy() -> None:
    from scipy.stats import t

    at = np.linspace(-6, 6, 25)
    ours = seen.student_below(at, np.zeros(25), np.full(25, 1.7))
    assert np.allclose(ours, t.cdf(at / 1.7, 4), atol=1e-12)
    density = np.array([float(seen.log_student(v, np.array(0.0), np.array(1.7))) for v in at])
    assert np.allclose(np.diff(density), np.diff(t.logpdf(at, 4, scale=1.7)), atol=1e-12)


@pytest.mark.parametrize(
    ("field", "told"),
    [
        ("target_board", {"laydown_board": 20.0}),
        ("shots", {"shots": 0}),
        ("motion", {"motion": "slid"}),
        ("shape", {"shape": "round"}),
        ("target_board", {"laydown_board": 5.0, "target_board": math.nan}),
        ("entry_board", {"entry_board": math.inf}),
    ],
)
def test_what_a_report_cant_say_is_refused_by_name(field: str, told: dict[str, object]) -> None:
    with pytest.raises(InputError) as refused:
        seen.Report(**told)  # type: ignore[arg-type]
    assert refused.value.field == field


def test_a_report_of_nothing_says_so() -> None:
    assert seen.Report().says_nothing
    for told in ({"entry_board": 17.0}, {"leaves": (512,)}, {"motion": seen.MOTIONS[0]}):
        assert not seen.Report(**told).says_nothing
