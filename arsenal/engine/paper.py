"""Undrilled balls drilled on paper: a ball in every layout at once, held to the shop's rules."""

from __future__ import annotations

import json
from functools import lru_cache

from arsenal.engine import bodies
from physics import body, bowler, layout, rules, track
from physics.cases import read_layout
from physics.errors import InputError


# Balls drilled on paper, some ten kilobytes each, kept by a process: a menu asks for each of them
# once, and asks again after every change of the bag.
@lru_cache(maxsize=256)
def on_paper(
    label: str, plan: str, who: bowler.Bowler, held_to: rules.RuleSet
) -> tuple[body.Body | str, ...]:
    """A ball drilled in each layout, or why it can't be. ``label`` and ``plan`` (layouts, grip, PAP
    and tilt) are JSON."""
    layouts, grip, pap, tilt = json.loads(plan)
    placed = _placed(json.dumps(layouts), pap[0], pap[1], json.loads(label)["radius_in"])
    where = [n for n, one in enumerate(placed) if isinstance(one, layout.Layout)]
    named, holes = body.Label(**json.loads(label)), bodies.holes_of(grip)
    try:
        drilled = body.drill_many(named, [placed[n] for n in where], holes)  # type: ignore[misc]
    except InputError as error:
        if len(layouts) > 1:
            # Each by itself, as it may be one of them that can't be.
            apart = [json.dumps([[one], grip, pap, tilt]) for one in layouts]
            return tuple(on_paper(label, one, who, held_to)[0] for one in apart)
        return (cannot(error),)
    if not drilled:
        return tuple(one for one in placed if isinstance(one, str))
    surface = bodies.closure_of("hybrid", "2000")
    flares = bodies.flares_m(drilled, surface, who)
    clear = track.least_clearances_in(drilled, named.radius_in, holes, tilt, flares)
    names = bodies.hole_names(grip)
    found: list[body.Body | str] = ["" if isinstance(o, layout.Layout) else o for o in placed]
    for n, ball, clear_in in zip(where, drilled, clear, strict=True):
        faults = [*rules.static_faults(ball, held_to), *bodies.track_faults(names, clear_in)]
        found[n] = "; ".join(faults) or ball
    return tuple(found)


@lru_cache(maxsize=64)
def _placed(
    layouts: str, pap_over_in: float, pap_up_in: float, radius_in: float
) -> list[layout.Layout | str]:
    """Each of the layouts (JSON) about a PAP, or why it can't be."""
    found: list[layout.Layout | str] = []
    for numbers in json.loads(layouts):
        try:
            found.append(read_layout(numbers, pap_over_in, pap_up_in, radius_in))
        except InputError as error:
            found.append(cannot(error))
    return found


def cannot(error: InputError) -> str:
    """Why a ball can't be drilled, in words."""
    return f"{error.field} must be {error.allowed}"
