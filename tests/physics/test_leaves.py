"""Leaves by their names, and what each says of where the ball met the pins."""

from __future__ import annotations

import pytest

from physics import leaves
from physics.errors import InputError
from physics.pins import bits_of, leave_name


@pytest.mark.parametrize(("typed", "kept"), [("10", "10"), ("9-4", "4-9"), ("5-7", "5-7")])
def test_a_leave_is_named_by_its_pins_lowest_first(typed: str, kept: str) -> None:
    assert leave_name(bits_of(leaves.pins_of(typed))) == kept


@pytest.mark.parametrize(
    "typed", ["11", "0", "4-4", "", "4-", "a", "4 9", "1-2-3-4-5-6-7-8-9-10-1"]
)
def test_what_is_no_leave_is_refused_with_what_one_looks_like(typed: str) -> None:
    with pytest.raises(InputError, match="4-9"):
        leaves.pins_of(typed)


def test_leaves_say_what_the_trade_reads_in_them() -> None:
    """Trade articles on reading leaves, and common practice, no source."""
    for leave, family in (
        ("10", leaves.POCKET),
        ("4-9", leaves.HIGH),
        ("6-7-9-10", leaves.HIGH),
        ("5-7", leaves.LIGHT),
        ("2-8-10", leaves.LIGHT),
        ("1-2-10", leaves.LIGHT),
    ):
        assert leaves.family_of(leave, "right") == family


def test_a_left_handers_leave_is_the_mirror_image() -> None:
    assert leaves.family_of("7", "left") == leaves.family_of("10", "right")
    assert leaves.family_of("6-8", "left") == leaves.family_of("4-9", "right")
    assert leaves.family_of("5-10", "left") == leaves.family_of("5-7", "right")


def test_a_leave_nobody_reads_anything_in_has_no_family() -> None:
    assert leaves.family_of("3-4-5-8", "right") is None


def test_light_pocket_and_high_take_turns_along_the_boards() -> None:
    """Light under 16.5, pocket 17-18, high over 18.5: a trade article on reading leaves."""
    for board, family in ((15.5, leaves.LIGHT), (17.5, leaves.POCKET), (19.5, leaves.HIGH)):
        chances = leaves.leave_chance(board, 5.0)
        assert sum(chances) == pytest.approx(1.0)
        assert max(range(3), key=lambda n: chances[n]) == family
        # Nobody's leave is read rightly every time.
        assert min(chances) > 0.02
