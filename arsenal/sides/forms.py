"""What is picked on the page, all of it in the address."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, cast

from django import forms

from arsenal import engine
from arsenal.advice.words import layout_words
from arsenal.catalogue.models import Finish

SIDES = ("a", "b")
AS_IT_IS = ""
CARES = {
    "care-clean": "Cleaned",
    "care-extract": "Oil drawn out",
    "care-restore": "Its finish restored",
    "care-renew": "Oil drawn out, finish restored",
}
STATES = {"": "As met", "0": "Fresh", "15": "After 15 games", "30": "Burnt"}
WAYS = {"same": "Both on A’s line", "own": "Each on its own best line"}
BOARDS = range(-6, 7)
PACES = ("-2", "-1", "0", "1", "2")


def signed(number: str | int, unit: str) -> str:
    text = str(number).replace("-", "\N{MINUS SIGN}")
    return f"{'+' if int(number) > 0 else ''}{text} {unit}"


class SidesForm(forms.Form):
    """Two balls, where, and how they are thrown. ``asked``: a ranking's inputs."""

    def __init__(self, asked: Mapping[str, Any], data: Mapping[str, Any]) -> None:
        self.asked = asked
        self.hand = asked["customer"]["hand"]
        super().__init__(self._filled(data))
        balls = self._balls()
        layouts = [
            (AS_IT_IS, "As drilled, or the usual"),
            *[(str(i), layout_words(row)) for i, row in enumerate(asked["menu"]["layouts"])],
        ]
        surfaces = [
            (AS_IT_IS, "As it is"),
            ("Care", list(CARES.items())),
            ("Surface", [(f, Finish(f).label) for f in asked["menu"]["finishes"]]),
        ]
        for side in SIDES:
            self.fields[f"{side}_ball"] = forms.ChoiceField(label="Ball", choices=balls)
            self.fields[f"{side}_layout"] = forms.ChoiceField(
                label="Layout", choices=layouts, required=False
            )
            self.fields[f"{side}_surface"] = forms.ChoiceField(
                label="Surface", choices=surfaces, required=False
            )
        names = [(str(i), row["name"]) for i, row in enumerate(asked["conditions"])]
        self.fields["on"] = forms.ChoiceField(label="On", choices=names)
        self.fields["worn"] = forms.ChoiceField(
            label="Oil", choices=list(STATES.items()), required=False
        )
        self.fields["way"] = forms.ChoiceField(label="Thrown", choices=list(WAYS.items()))
        self.fields["boards"] = forms.ChoiceField(
            label="Feet and target", choices=[(str(n), self._moved(n)) for n in BOARDS]
        )
        self.fields["pace"] = forms.ChoiceField(
            label="Pace", choices=[(pace, signed(pace, "mph")) for pace in PACES]
        )

    def balls(self) -> list[engine.Asked]:
        """Both balls as the engine asks for them, once the form is valid."""
        found = []
        for side in SIDES:
            kind, number = self.cleaned_data[f"{side}_ball"].split("-")
            layout = self.cleaned_data[f"{side}_layout"]
            found.append(
                engine.Asked(
                    kind,
                    int(number),
                    int(layout) if layout else None,
                    self.cleaned_data[f"{side}_surface"],
                )
            )
        return found

    def look(self) -> engine.Look:
        given = self.cleaned_data
        return engine.Look(
            condition=int(given["on"]),
            games=int(given["worn"]) if given["worn"] else None,
            own_lines=given["way"] == "own",
            boards=float(given["boards"]),
            pace_mph=float(given["pace"]),
        )

    def how(self) -> str:
        """How both are thrown, in the words of the page."""
        given = self.cleaned_data
        told = [WAYS[given["way"]]]
        if given["boards"] != "0":
            told.append(f"feet and target, boards: {self._moved(int(given['boards']))}")
        if given["pace"] != "0":
            told.append(f"pace {signed(given['pace'], 'mph')}")
        return ", ".join(told)

    def side(self, side: str) -> Sequence[forms.BoundField]:
        return [self[f"{side}_{name}"] for name in ("ball", "layout", "surface")]

    @property
    def side_a(self) -> Sequence[forms.BoundField]:
        return self.side("a")

    @property
    def side_b(self) -> Sequence[forms.BoundField]:
        return self.side("b")

    def _filled(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """What was picked, and where nothing was: the first two balls, or one in two layouts."""
        bag = self.asked["bag"]
        hooking = [ball for ball in bag if not ball.get("spares")] or bag
        owned = [f"bag-{ball['id']}" for ball in hooking]
        usual = {
            "a_ball": owned[0] if owned else "",
            "b_ball": owned[1] if len(owned) > 1 else (owned[0] if owned else ""),
            "a_layout": "",
            "b_layout": "" if len(owned) > 1 else "0",
            "a_surface": "",
            "b_surface": "",
            "on": "0",
            "worn": "",
            "way": "same",
            "boards": "0",
            "pace": "0",
        }
        return {name: data.get(name, value) for name, value in usual.items()}

    def _balls(self) -> list[tuple[str, list[tuple[str, str]]]]:
        groups = (("In the bag", "bag", "bag"), ("On the shelf", "shelf", "shelf"),
                  ("To order", "order", "catalogue"))  # fmt: skip
        return [
            (label, [(f"{kind}-{ball['id']}", _named(ball)) for ball in self.asked[name]])
            for label, kind, name in groups
            if self.asked[name]
        ]

    def _moved(self, boards: int) -> str:
        if not boards:
            return "Not moved"
        away, towards = ("left", "right") if self.hand == "right" else ("right", "left")
        return f"{abs(boards)} {away if boards > 0 else towards}"


def _named(ball: Mapping[str, Any]) -> str:
    words = cast("str", ball.get("label_words") or "")
    return f"{ball['name']}, {words}" if words else str(ball["name"])
