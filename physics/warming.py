"""Compiling the kernels before anybody waits for them."""

from dataclasses import replace

import numpy as np

from physics import (
    averaged,
    bag,
    body,
    bowler,
    confirming,
    expect,
    friction,
    lane,
    layout,
    menu,
    pins,
    spares,
    track,
    wear,
    worth,
)
from physics.units import MPH_TO_M_S, RPM_TO_RAD_S, board_to_y_m

RADIUS_IN = 4.2975


def warm() -> None:
    """Run each kernel once on a small case, so that it is compiled and its code cached."""
    pap = layout.on_sphere(5.0 / RADIUS_IN, 0.5 / RADIUS_IN)
    placed = layout.from_angles(pap, 50.0, 4.5, 30.0, RADIUS_IN)
    label = body.Label(15.0, RADIUS_IN, 2.5, 0.048, 0.0, 2.5, 2.5)
    holes = [body.Hole(0.0, -2.6, 1.0, 2.75)]
    drilled = body.drill(label, placed, holes)
    track.flare_clearances_in(drilled, placed, holes, 12.0, 0.1)
    who = bowler.Bowler(
        speed_m_s=17.0 * MPH_TO_M_S,
        spin_rad_s=320.0 * RPM_TO_RAD_S,
        rotation_deg=45.0,
        tilt_deg=12.0,
        repeatability=bowler.prior_repeatability(None),
        thrown=(0.1, 1.0, 2.0, 2.0),
    )
    oil = lane.picked(40, 24, 6, "blended")
    wear.play(oil, 1)
    task = worth.Task(oil.own_side_film_um("right"), 1.0)
    option = worth.Option(drilled, friction.Film(0.026, 0.215, 0.46))
    lines = worth.seek(who, [option], [task], samples=8, starts=1, rounds=1)
    # A menu large enough that some of it is read between the rest.
    dulled = np.linspace(0.2, 0.6, menu.NODES + 16)
    several = [replace(option, closure=replace(option.closure, scale_um=um)) for um in dulled]
    menu.answer(who, several, [task])
    menu.settled(who, [option], [task], lines)
    worth.mean_shots(who, worth.Rows.of([option]), [task], lines, [1.0])
    worth.confirm(who, [option], [task], lines, [1.0], samples=2, exact=1)
    bag.first_balls(who, [option], [task], lines, [1.0], samples=8)
    maps = bag.entry_maps([who], [option], [task], [1.0])
    bag.second_balls(maps, spares.smeared(pins.table()))
    ball, p = worth.body_tuple(drilled)
    throw = np.array([[board_to_y_m(20.0), 1.5, *who.means()]])
    averaged.run_many(throw, ball, p, option.closure.numbers(), task.film_um, averaged.STEPS)
    rows = np.array([[*ball[:3], *ball[3], *p]]), np.array([option.closure.numbers()])
    averaged.run_each(throw, *rows, task.film_um, averaged.STEPS)
    confirming.run_each(throw, *rows, task.film_um, confirming.STEPS)
    worth.reference_shot(who, option, task, 1.0, throw[0].tolist(), profile_step_m=0.3)
    expect.respond(expect.Play(who, option, task.film_um, 1.0, (20.0, 1.5)))
