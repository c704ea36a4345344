"""One ball as somebody asks for it: owned, from the shelf or to order, drilled and finished so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from arsenal.engine import bodies
from arsenal.engine.words import cared_for, layout_words
from physics import body, care, surface, worth
from physics.errors import InputError

# A new ball is drilled like this until somebody picks another layout of the menu.
FIRST_LAYOUT = 2
CARE = "care-"
LISTS = {"bag": "bag", "shelf": "shelf", "order": "catalogue"}


@dataclass(frozen=True)
class Asked:
    """``kind``: bag, shelf or order, with the ball's number there; ``layout``: one of the menu's,
    None as drilled; ``surface``: a finish, ``care-`` and a treatment, or empty as it is."""

    kind: str
    ball_id: int
    layout: int | None = None
    surface: str = ""


@dataclass(frozen=True)
class One:
    """The ball: its name, what was done to it, and what physics throws."""

    ball: str
    done: str
    option: worth.Option
    drilled: body.Body

    @property
    def name(self) -> str:
        return f"{self.ball}, {self.done}" if self.done else self.ball


def one_of(inputs: Mapping[str, Any], asked: Asked) -> One:
    """Raises InputError where there is no such ball, or it can't be drilled so."""
    ball = next((row for row in inputs[LISTS[asked.kind]] if row["id"] == asked.ball_id), None)
    if ball is None:
        raise InputError("ball", asked.ball_id, "one that is there still")
    owned = asked.kind == "bag"
    layouts = inputs["menu"]["layouts"]
    layout = asked.layout if owned or asked.layout is not None else FIRST_LAYOUT
    if layout is not None and not 0 <= layout < len(layouts):
        raise InputError("layout", layout, "one of the layouts listed")
    delivery = bodies.readings_of(inputs["delivery"], inputs["customer"]["average"])
    pap = (delivery["pap_over_in"]["mean"], delivery["pap_up_in"]["mean"])
    if layout is None:
        own = (ball["pap_over_in"], ball["pap_up_in"])
        drilled, _, _ = bodies.ball_of(ball["label"], ball["layout"], ball["holes"], own, pap)
    else:
        drilled, _, _ = bodies.ball_of(ball["label"], layouts[layout], inputs["grip"], pap)
    finish, played, surfaced = _surface(ball, asked.surface, owned=owned)
    if owned and layout is not None:
        # Drilled anew it is finished anew, whatever else is done to it.
        played = care.after(played, "restore")
    done = [layout_words(layouts[layout])] if layout is not None else []
    done += [surfaced] if surfaced else []
    cover = ball["cover"]
    option = worth.Option(
        drilled,
        bodies.closure_of(cover, finish, played),
        cover,
        finish,
        f"{asked.kind} {asked.ball_id}",
        bodies.surface_of(cover, finish, played)[1],
    )
    return One(ball["name"], ", ".join(done), option, drilled)


def _surface(ball: Mapping[str, Any], wanted: str, *, owned: bool) -> tuple[str, care.Played, str]:
    """Finish, what the cover has behind it, and what was done to it in words."""
    finish = ball["finish"] if owned else ball["factory_finish"]
    played = bodies.played_of(ball) if owned else care.FRESH
    if wanted.startswith(CARE):
        work = wanted.removeprefix(CARE)
        if work not in care.TREATMENTS:
            raise InputError("surface", wanted, "one of the treatments listed")
        return finish, care.after(played, work), cared_for(work, finish)
    if wanted and wanted not in surface.FINISHES:
        raise InputError("surface", wanted, "one of the finishes listed")
    if wanted and (wanted != finish or not owned):
        return wanted, care.after(played, "restore"), surface.FINISHES[wanted].label
    return finish, played, "" if owned else surface.FINISHES[finish].label
