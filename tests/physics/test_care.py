"""What play takes from a surface and care gives back: directions only, the rates are estimates.

Directions: "a finish drifts: 1000 fresh reads 4000-5000 after use" and "reaction loss starts at
7-14 games" (trade articles, the latter citing a governing-body study); polish scratched and oil
taken up with games: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from physics import care, worlds
from physics.surface import COVERS, FINISHES
from tests.physics import scenes

games = st.floats(0, 2000)
covers = st.sampled_from(sorted(COVERS))
finishes = st.sampled_from(sorted(FINISHES))
treatments = st.sampled_from(sorted(care.TREATMENTS))
played = st.builds(care.Played, games, games, games)

DULLER = [key for key, finish in FINISHES.items() if finish.roughness_um > care.WORN_ROUGHNESS_UM]
SHINIER = [key for key, finish in FINISHES.items() if finish.roughness_um < care.WORN_ROUGHNESS_UM]


def test_there_are_finishes_on_both_sides_of_a_worn_one() -> None:
    assert {"500", "1000", "2000"} <= set(DULLER)
    assert "polished" in SHINIER


@given(st.sampled_from(DULLER), games, games)
def test_a_duller_pad_only_gets_smoother_towards_worn(key: str, one: float, other: float) -> None:
    early, late = sorted((one, other))
    before, after = care.roughness_um(key, early), care.roughness_um(key, late)
    assert FINISHES[key].roughness_um + 1e-12 >= before >= after >= care.WORN_ROUGHNESS_UM - 1e-12


@given(st.sampled_from(SHINIER), games, games)
def test_a_polish_only_gets_rougher_towards_worn(key: str, one: float, other: float) -> None:
    early, late = sorted((one, other))
    before, after = care.roughness_um(key, early), care.roughness_um(key, late)
    assert FINISHES[key].roughness_um - 1e-12 <= before <= after <= care.WORN_ROUGHNESS_UM + 1e-12


@given(covers, played, played)
def test_more_games_never_raise_dry_friction(
    cover: str, one: care.Played, other: care.Played
) -> None:
    less = care.Played(0, min(one.oil, other.oil), min(one.clean, other.clean))
    more = care.Played(0, max(one.oil, other.oil), max(one.clean, other.clean))
    assert care.dry_friction(cover, more) <= care.dry_friction(cover, less) <= COVERS[cover].mu_dry
    # However long it is played, most of a cover's friction is still there.
    assert care.dry_friction(cover, more) > 0.85 * COVERS[cover].mu_dry


@given(covers, finishes, played, treatments)
def test_care_brings_back_and_never_takes(
    cover: str, finish: str, before: care.Played, treatment: str
) -> None:
    cared = care.after(before, treatment)
    fresh = FINISHES[finish].roughness_um
    assert care.dry_friction(cover, cared) >= care.dry_friction(cover, before)
    assert abs(care.roughness_um(finish, cared.finish) - fresh) <= abs(
        care.roughness_um(finish, before.finish) - fresh
    )
    assert care.after(cared, treatment) == cared


@given(covers, finishes, played)
def test_both_at_once_make_it_as_it_was(cover: str, finish: str, before: care.Played) -> None:
    renewed = care.after(before, "renew")
    assert renewed == care.FRESH
    assert care.dry_friction(cover, renewed) == COVERS[cover].mu_dry
    fresh = pytest.approx(FINISHES[finish].roughness_um, rel=1e-12)  # rounding of a sum
    assert care.roughness_um(finish, renewed.finish) == fresh


def test_each_treatment_leaves_what_it_does_not_touch() -> None:
    before = care.Played(finish=40, oil=90, clean=12)
    assert care.after(before, "clean") == care.Played(40, 90, 0)
    assert care.after(before, "extract") == care.Played(40, 0, 0)
    assert care.after(before, "restore") == care.Played(0, 90, 0)


def test_cleaning_brings_back_little_beside_drawing_the_oil_out() -> None:
    # Estimate, but its order is common practice: a cleaner takes what lies on the cover only.
    before = care.Played(60, 60, 60)
    friction = {key: care.dry_friction("solid", care.after(before, key)) for key in care.TREATMENTS}
    now = care.dry_friction("solid", before)
    assert now < friction["clean"] < (now + friction["extract"]) / 2


@pytest.mark.parametrize(
    ("less", "more"),
    [("polyester", "urethane"), ("urethane", "pearl"), ("pearl", "hybrid"), ("hybrid", "solid")],
)
def test_a_thirstier_cover_is_soaked_sooner(less: str, more: str) -> None:
    # Common practice, no source: solid > hybrid > pearl > urethane > polyester.
    for after in (5.0, 40.0, 150.0):
        assert care.soaked_share(less, after) < care.soaked_share(more, after)


def test_a_thousand_pad_reads_like_four_to_five_thousand_after_use() -> None:
    # Trade article; "after use" is taken as the 50-75 games after which dull balls are redone.
    after_use = care.roughness_um("1000", 60)
    assert FINISHES["5000"].roughness_um <= after_use <= 1.05 * FINISHES["4000"].roughness_um


def test_reaction_has_begun_to_fade_after_a_fortnight_of_games() -> None:
    # Governing-body study by way of trade articles: loss starts at 7-14 games. Taken as less than
    # half of the way to a worn finish at the first number and more than half at the second.
    fresh = FINISHES["1000"].roughness_um
    gone = [
        (fresh - care.roughness_um("1000", n)) / (fresh - care.WORN_ROUGHNESS_UM) for n in (7, 14)
    ]
    assert gone[0] < 0.5 < gone[1]


def test_how_far_a_ball_is_worn_is_doubted_and_a_fresh_one_is_not() -> None:
    """Derived: the log of what is lost is multiplied by one factor for all balls alike."""
    fresh = scenes.option()
    worn = replace(
        fresh,
        closure=replace(
            fresh.closure,
            scale_um=0.5 * fresh.closure.scale_um,
            mu_dry=0.9 * fresh.closure.mu_dry,
        ),
        worn=(0.5, 0.9),
    )
    found = worlds.drawn(scenes.man(), [fresh, worn], [scenes.task()], count=64, seed=3)
    assert {("finish_wear", ""), ("soaking", "")} <= set(found.names)
    for world in (*found.drawn, found.middle):
        # On the model's own law, as another one weighs roughness otherwise.
        plain = replace(world, film_power=1.0)
        new, old = plain.closure(fresh), plain.closure(worn)
        assert old.scale_um / new.scale_um == pytest.approx(0.5**world.wear, rel=1e-12)
        assert old.mu_dry / new.mu_dry == pytest.approx(0.9**world.soaking, rel=1e-12)
    assert found.middle.wear == found.middle.soaking == 1.0
    assert len({round(world.wear, 6) for world in found.drawn}) == 64
    names = worlds.names_of([fresh], [scenes.task()])
    assert not {"finish_wear", "soaking"} & {kind for kind, _ in names}
