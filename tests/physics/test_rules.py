"""Rule sets held against balls at, just under and just over their limits.

Limits and their standing: pages of the US, international and Australian governing bodies as read
for balls over 10 lb (8 lb in Australia); rule-book figures quoted in papers and articles for RG,
differential, diameter and hardness; rows for lighter balls and roundness are from memory, so that
only their being marked so is asserted here.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from physics import rules
from physics.errors import InputError
from physics.rules import (
    AUSTRALIAN,
    INTERNATIONAL,
    MEMORY,
    NO_BALANCE_HOLE,
    RULE_SETS,
    WITH_BALANCE_HOLE,
    check,
)


def faults(found: rules.RuleSet, weight_lb: float, **values: float) -> list[str]:
    return [finding.words for finding in check(found, weight_lb, values) if finding.fails]


@pytest.mark.parametrize("quantity", ["top_oz", "side_oz", "finger_oz"])
@pytest.mark.parametrize("found", [NO_BALANCE_HOLE, INTERNATIONAL], ids=lambda r: r.key)
def test_three_ounces_pass_and_a_hundredth_more_does_not(
    found: rules.RuleSet, quantity: str
) -> None:
    """Read: over 10 lb, 3 oz each way, "not more than"."""
    assert faults(found, 15.0, **{quantity: 3.0}) == []
    assert faults(found, 15.0, **{quantity: -3.0}) == []
    (said,) = faults(found, 15.0, **{quantity: -3.01})
    assert "limit 3.00 oz: 0.01 oz over" in said


def test_with_a_balance_hole_sides_were_held_to_an_ounce() -> None:
    """Read: until 1 August 2020, 3 oz top, 1 oz sides and fingers, one hole up to 1 1/4 in."""
    assert faults(WITH_BALANCE_HOLE, 15.0, top_oz=3.0, side_oz=1.0, finger_oz=-1.0) == []
    assert "thumb weight 1.20 oz" in faults(WITH_BALANCE_HOLE, 15.0, finger_oz=-1.2)[0]
    assert faults(WITH_BALANCE_HOLE, 15.0, balance_holes=1, balance_hole_in=1.25) == []
    assert faults(NO_BALANCE_HOLE, 15.0, balance_holes=1)


def test_australia_also_holds_any_two_halves_to_three_ounces() -> None:
    """Read: 3 oz between any two halves over 8 lb. 2 oz each way make sqrt(12) = 3.46 oz."""
    values = rules.static_values((2.0, 2.0, -2.0))
    assert values["halves_oz"] == pytest.approx(math.sqrt(12), abs=1e-12)
    (failing,) = [f for f in check(AUSTRALIAN, 9.0, values) if f.fails]
    assert failing.limit.quantity == "halves_oz"
    assert failing.over == pytest.approx(math.sqrt(12) - 3, abs=1e-12)
    assert not [f for f in check(NO_BALANCE_HOLE, 15.0, values) if f.fails]


@pytest.mark.parametrize(
    ("weight_lb", "band"), [(10.01, "over10"), (10.0, "8to10"), (8.0, "8to10"), (7.99, "under8")]
)
def test_each_weight_has_one_row_of_statics(weight_lb: float, band: str) -> None:
    """Read: "over 10 lb", so that 10 lb itself is in the lighter row."""
    tops = [f for f in check(NO_BALANCE_HOLE, weight_lb, {}) if f.limit.quantity == "top_oz"]
    assert [f.limit.band.key for f in tops] == [band]


@pytest.mark.parametrize("found", RULE_SETS.values(), ids=lambda r: r.key)
def test_rows_for_light_balls_say_they_are_from_memory(found: rules.RuleSet) -> None:
    light = [x for x in found.limits if x.band.high_lb <= 10]
    assert light
    assert {x.status for x in light} == {MEMORY}
    (said,) = [w for w in faults(found, 7.0, side_oz=2.9) if "side" in w]
    assert "from memory: check the current rule book" in said


@pytest.mark.parametrize("found", RULE_SETS.values(), ids=lambda r: r.key)
def test_every_limit_is_known_by_one_key_and_names_its_source(found: rules.RuleSet) -> None:
    keys = [x.key for x in found.limits]
    assert len(set(keys)) == len(keys)
    assert found.source
    for limit in found.limits:
        assert limit.status == MEMORY or limit.source
        assert limit.quantity in rules.QUANTITIES


def test_limits_of_the_ball_itself() -> None:
    """Quoted: RG 2.46 to 2.80, differential 0.060, 8.500 to 8.595 in, 72 Shore D; read: 16 lb."""
    inside = {"rg_low_in": 2.46, "rg_high_in": 2.80, "differential_in": 0.06}
    assert faults(NO_BALANCE_HOLE, 16.0, **inside, diameter_in=8.595, hardness_d=72) == []
    (heavy,) = [f for f in check(NO_BALANCE_HOLE, 16.01, {"weight_lb": 16.01}) if f.fails]
    assert heavy.words == "weight 16.01 lb, limit 16.00 lb: 0.01 lb over"
    assert (
        "2.450 in, at least 2.460 in: 0.010 in short"
        in faults(NO_BALANCE_HOLE, 15.0, rg_low_in=2.45)[0]
    )
    assert (
        "diameter 8.490 in, at least 8.500 in" in faults(NO_BALANCE_HOLE, 15.0, diameter_in=8.49)[0]
    )
    assert faults(NO_BALANCE_HOLE, 12.0, diameter_in=8.49) == []
    assert (
        "71 Shore D, at least 72 Shore D: 1 Shore D short"
        in faults(NO_BALANCE_HOLE, 15.0, hardness_d=71)[0]
    )


def test_what_nobody_measured_is_open_rather_than_passed() -> None:
    open_ones = [f for f in check(NO_BALANCE_HOLE, 15.0, {"top_oz": 1.0}) if not f.is_known]
    assert "hardness_d" in {f.limit.quantity for f in open_ones}
    assert not any(f.fails for f in open_ones)


def test_a_house_limit_replaces_one_and_says_so() -> None:
    house = NO_BALANCE_HOLE.with_house({"top_oz:over10": 4.0, "hardness_d:any": 78.0})
    assert faults(house, 15.0, top_oz=3.5) == []
    assert faults(house, 15.0, side_oz=3.5)
    assert (
        "at least 78 Shore D: 2 Shore D short (a limit of the house)"
        in faults(house, 15.0, hardness_d=76)[0]
    )
    assert faults(NO_BALANCE_HOLE, 15.0, top_oz=3.5), "the set itself stays what it is"


@pytest.mark.parametrize("changes", [{"no such": 1.0}, {"top_oz:over10": math.nan}])
def test_a_house_limit_must_be_one_of_the_set_and_a_number(changes: dict[str, float]) -> None:
    with pytest.raises(InputError):
        NO_BALANCE_HOLE.with_house(changes)


@given(st.floats(-20, 20), st.floats(0.5, 16))
def test_a_static_passes_with_its_sign_turned_or_not_at_all(ounces: float, weight: float) -> None:
    one, other = (len(faults(NO_BALANCE_HOLE, weight, side_oz=v)) for v in (ounces, -ounces))
    assert one == other


@given(st.floats(1e-7, 0.004))
def test_the_smallest_excess_is_never_told_as_nothing(over: float) -> None:
    (said,) = faults(NO_BALANCE_HOLE, 15.0, top_oz=3.0 + over)
    amount = said.rsplit(": ", 1)[1].split()[0]
    assert float(amount) > 0 or over < 5e-7
