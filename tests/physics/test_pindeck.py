"""The simulated pin deck: its pins, its contacts, and what it does as bodies must.

Sources: pin and deck sizes as trade articles and governing bodies print them (the profile between
belly, neck and head from memory, high confidence); restitution 0.65-0.78 from memory, low
confidence; disc geometry derived; 10 degrees to tip derived, "about 10" in trade articles.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("mujoco")

from physics.pindeck import arrivals, build, deck, kept, pairs, pin, smooth, throw
from physics.pins import ANGLES_DEG, BOARDS, bits_of, mirrored, pins_of, table
from physics.units import IN_TO_M

CONTACTS = deck.Contacts()
RESTITUTION = (0.65, 0.78)


def test_the_pin_is_within_its_specification() -> None:
    shape = pin.shape()
    centre_in = shape.mass_centre_m / IN_TO_M
    assert 5 + 40 / 64 <= centre_in <= 5 + 60 / 64
    assert float(pin.radius_in(np.array(4.5))) == pytest.approx(4.766 / 2, abs=1e-9)
    assert float(pin.radius_in(np.array(15.0))) == pytest.approx(0.0, abs=1e-6)


def test_the_spheres_fill_the_outline() -> None:
    """Within 0.045 in from an inch up to the head, where balls and pins meet."""
    shape = pin.shape()
    heights = np.linspace(1.0, 13.0, 241)
    inside = shape.radius_m[:, None] ** 2 - (shape.centre_m[:, None] - heights * IN_TO_M) ** 2
    filled = np.sqrt(np.maximum(inside, 0).max(axis=0)) / IN_TO_M
    assert np.abs(filled - pin.radius_in(heights)).max() < 0.045


def test_spots_are_the_triangle_of_the_rules() -> None:
    """12 in between neighbours, 36 in corner to corner (governing bodies); 10 at the right."""
    spots = deck.SPOTS_M / IN_TO_M
    assert np.linalg.norm(spots[6] - spots[9]) == pytest.approx(36.0)
    assert np.linalg.norm(spots[0] - spots[1]) == pytest.approx(12.0)
    assert spots[9, 1] < 0 < spots[6, 1]
    assert spots[9, 0] == pytest.approx(31.177, abs=1e-3)


def test_a_standing_pin_touches_one_floor_and_that_is_the_pins() -> None:
    import mujoco

    model = deck.model(CONTACTS, (1,))
    data = mujoco.MjData(model)
    throw.place(model, data, throw.Entry(1.0, 0.0))
    model.opt.enableflags = 0
    mujoco.mj_step(model, data, 20)
    pin_body = model.body("pin1").id
    under = {
        (int(other), float(model.geom_friction[other, 0]))
        for contact in data.contact
        for one, other in (contact.geom, contact.geom[::-1])
        if model.geom_bodyid[one] == pin_body
    }
    assert len(under) == 1
    assert under.pop()[1] == CONTACTS.pin_floor_friction


def test_a_ball_from_the_right_turns_to_the_left_as_it_was_delivered() -> None:
    """A hook to the left spins backwards about its travel (derived: contact slides rightwards)."""
    coming = arrivals.arrivals(80, 1)
    assert np.quantile(coming[:, arrivals.AHEAD], 0.9) < 0.03
    hooking = coming[np.argmin(coming[:, arrivals.AHEAD])]
    right, left = (build.entry_of(b, a, hooking) for b, a in ((17.0, 4.0), (23.0, -4.0)))
    assert right.spin[0] == hooking[arrivals.AHEAD] < 0
    # The mirror image: about the travel and the vertical the other way, across it the same.
    assert left.spin == (-right.spin[0], right.spin[1], -right.spin[2])


@pytest.mark.slow
def test_two_bodies_part_within_the_tested_restitution() -> None:
    for speed in (5.0, 7.5, 9.0):
        assert RESTITUTION[0] <= pairs.ball_on_pin(CONTACTS, speed) <= RESTITUTION[1]
        assert RESTITUTION[0] <= pairs.pin_on_pin(CONTACTS, speed) <= RESTITUTION[1]


@pytest.mark.slow
def test_more_damping_gives_back_less() -> None:
    dull = replace(CONTACTS, ball_pin_damping=0.3)
    assert pairs.ball_on_pin(dull) < pairs.ball_on_pin(CONTACTS) - 0.1


@pytest.mark.slow
def test_pins_stand_until_they_are_tipped() -> None:
    assert pairs.stand(CONTACTS, 1.0) < 0.05
    tip = math.degrees(math.atan(pin.BASE_RADIUS_IN * IN_TO_M / pin.shape().mass_centre_m))
    assert not pairs.tips_from(CONTACTS, tip - 0.4)
    assert pairs.tips_from(CONTACTS, tip + 0.4)


@pytest.mark.slow
@pytest.mark.parametrize(("board", "angle"), [(17.5, 0.0), (17.5, 4.0), (18.0, 6.0)])
def test_the_head_pin_leaves_as_a_disc_would(board: float, angle: float) -> None:
    """Without friction within a degree of the disc model; with it straighter, by under four."""
    slick = replace(CONTACTS, ball_pin_friction=1e-4)
    disc = pairs.disc_direction(board, angle)
    assert pairs.head_pin_direction(slick, board, angle) == pytest.approx(disc, abs=1.0)
    rubbed = pairs.head_pin_direction(CONTACTS, board, angle)
    assert disc - 4.0 < rubbed < disc


@pytest.mark.slow
def test_mirrored_entries_leave_the_mirror_image(tmp_path: Path) -> None:
    """No jitter, no luck: one ball and its mirror image, pin by pin."""
    import mujoco

    model = deck.model(CONTACTS)
    data = mujoco.MjData(model)
    for board, angle in ((16.5, 4.0), (14.5, 3.0)):
        left = []
        for b, a in ((board, angle), (40 - board, -angle)):
            throw.place(model, data, throw.Entry(b, a, spin=(0.0, 1.0, 0.0)))
            # Up to the first few collisions: later ones double any rounding.
            mujoco.mj_step(model, data, 250)
            left.append({n: data.xpos[model.body(f"pin{n}").id].copy() for n in range(1, 11)})
        for n in range(1, 11):
            (other,) = pins_of(mirrored(bits_of((n,))))
            here, there = left[0][n], left[1][other]
            # Metres.
            assert here[0] == pytest.approx(there[0], abs=2e-3)
            assert here[1] == pytest.approx(-there[1], abs=2e-3)


@pytest.mark.slow
def test_a_small_grid_is_built_stopped_and_gone_on_with(tmp_path: Path) -> None:
    """And more is struck at the pocket than beside it."""
    grid = build.Grid((15.0, 17.6, 20.0), (3.0, 5.0), batches=1, batch=4)
    coming = arrivals.arrivals(80, 1)
    (tmp_path / "arrivals.npy").parent.mkdir(exist_ok=True)
    np.save(tmp_path / "arrivals.npy", coming)
    assert build.build(grid, tmp_path / "rack", minutes=0.0) < len(list(grid.cells()))
    assert build.build(grid, tmp_path / "rack", minutes=5.0) == len(list(grid.cells()))
    rows = build.read(tmp_path / "rack")
    again = build.throw_cell(grid, (0, 1, 0), CONTACTS, coming)
    np.testing.assert_array_equal(again, np.load(tmp_path / "rack" / "cell-00-01-00.npy"))
    pocket = rows[np.abs(rows[:, build.BOARD] - 17.6) < 1.3]
    others = rows[np.abs(rows[:, build.BOARD] - 17.6) > 1.3]
    strikes = [(part[:, build.LEAVE] == 0).mean() for part in (pocket, others)]
    assert strikes[0] > strikes[1] + 0.2
    both = smooth.with_mirror(rows)
    first, image = both[0], both[len(rows)]
    assert image[build.BOARD] == 40 - first[build.BOARD]
    assert image[build.ANGLE_DEG] == -first[build.ANGLE_DEG]
    assert image[build.LEAVE] == mirrored(int(first[build.LEAVE]))


def test_kept_rows_come_back_as_finely_as_they_are_kept(tmp_path: Path) -> None:
    rows = np.array(
        [[17.504, 4.996, 7.651, 6.804, 13.94, 512, 1.0], [2.25, -3.5, 8.0, 5.4, np.nan, 1023, 1.0]]
    )
    kept.write(rows, tmp_path / "rows.npz")
    back = kept.read(tmp_path / "rows.npz")
    np.testing.assert_allclose(back[:, : build.LEFT_DECK], rows[:, : build.LEFT_DECK], atol=0.005)
    np.testing.assert_allclose(back[:, build.LEFT_DECK], rows[:, build.LEFT_DECK], atol=0.05)
    np.testing.assert_array_equal(back[:, build.LEAVE :], rows[:, build.LEAVE :])
    assert len(kept.read(tmp_path / "none.npz")) == 0


@pytest.mark.slow
def test_the_table_that_ships_is_what_the_kept_rows_smooth_to() -> None:
    ships = table()
    made = smooth.smooth(kept.read(), ships.leaves)
    assert made.thrown == ships.thrown
    np.testing.assert_allclose(made.strike, ships.strike, atol=1e-6)
    np.testing.assert_allclose(made.leave_chance, ships.leave_chance, atol=1e-3)


TEN_PIN, SIX_PIN, FOUR_PIN, THREE_PIN = 1 << 9, 1 << 5, 1 << 3, 1 << 2


def balls(board: float, angle_deg: float, left: int, count: int) -> np.ndarray:
    rows = np.zeros((count, build.COLUMNS))
    rows[:, [build.BOARD, build.ANGLE_DEG, build.LEAVE, build.SOUND]] = board, angle_deg, left, 1
    return rows


def test_leaves_are_named_from_the_commonest_until_few_are_left_out() -> None:
    """By hand: 96 six pins of 100 leaves are more than 95 %; corner pins are named anyway."""
    thrown = [
        balls(17.5, 4.0, 0, 50),
        balls(17.5, 4.0, SIX_PIN, 96),
        balls(17.5, 4.0, THREE_PIN, 4),
        # Nobody means to throw straight at it.
        balls(17.5, 0.0, THREE_PIN, 1000),
    ]
    assert smooth.commonest(np.concatenate(thrown)) == (TEN_PIN, 1 << 6, SIX_PIN, FOUR_PIN)


def test_where_one_leave_is_all_there_is_it_is_named_with_its_mirror() -> None:
    thrown = [balls(17.5, 4.0, 0, 50), balls(17.5, 4.0, SIX_PIN, 96)]
    assert smooth.commonest(np.concatenate(thrown)) == (TEN_PIN, 1 << 6, SIX_PIN, FOUR_PIN)


def test_a_spare_is_taken_where_balls_took_it_and_nowhere_else() -> None:
    leave = TEN_PIN | SIX_PIN
    thrown = [balls(35.0, 1.0, 0, 50), balls(31.0, 1.0, TEN_PIN, 50)]
    found = smooth.smooth_spare(np.concatenate(thrown), leave)
    boards, angle = list(BOARDS), list(ANGLES_DEG).index(1.0)
    taken, one, none = (boards.index(board) for board in (35.0, 31.0, 20.0))
    assert found.convert[[taken, one, none], angle] == pytest.approx([1, 0, 0], abs=1e-6)
    assert found.felled[[taken, one, none], angle] == pytest.approx([2, 1, 0], abs=1e-6)


def test_what_was_thrown_here_counts_and_else_what_is_kept(tmp_path: Path) -> None:
    ships = table()
    none = smooth.read_spares(tmp_path)
    assert tuple(none) == tuple(ships.leaves)
    np.testing.assert_array_equal(none[TEN_PIN].convert, ships.convert[ships.leaves.index(TEN_PIN)])
    np.testing.assert_array_equal(smooth.read_all(tmp_path), kept.read())
    for name, rows in (
        (f"leave-{TEN_PIN:04d}", balls(35.0, 1.0, 0, 50)),
        ("pocket", balls(17.5, 4.0, 0, 3)),
        ("lane", balls(5.0, 0.0, 0, 2)),
    ):
        (tmp_path / name).mkdir()
        np.save(tmp_path / name / "cell-0.npy", rows)
    assert len(smooth.read_all(tmp_path)) == 5
    spares = smooth.read_spares(tmp_path)
    assert set(spares) == {TEN_PIN, 1 << 6}
    # Its mirror image stands on the other side, and is met from there.
    boards, angles = list(BOARDS), list(ANGLES_DEG)
    for mask, board, angle in ((TEN_PIN, 35.0, 1.0), (1 << 6, 5.0, -1.0)):
        place = boards.index(board), angles.index(angle)
        assert spares[mask].convert[place] == pytest.approx(1.0)
