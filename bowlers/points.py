"""Points of the first ring, marked on the ball and measured over and up from the grip centre."""

import re
from typing import Any

from django import forms

from bowlers.engine.measuring import Derived
from bowlers.engine.plate import Plate, plate
from bowlers.fields import ReadingField
from bowlers.gear import NOTHING_DERIVED, Gear
from bowlers.instruments import RING
from bowlers.models import Delivery
from bowlers.readings import BY_NAME, READINGS, Reading
from physics.errors import InputError
from proshop.forms import TokenForm, last_change

PLACES = range(1, 9)
INDEX = re.compile(r"(?:ring_)?points(?:_in)?\[(\d+)\]")


def point_fields() -> dict[str, ReadingField]:
    """Boxes for eight points, over and up, inches; half the ball either way."""
    found = {}
    for number in PLACES:
        for way, reach in (("over", 13.5), ("up", 6.75)):
            name = f"point_{number}_{way}"
            label = f"Point {number} {way}"
            box = Reading(name, label, "in", -reach, reach, -reach, reach, 4, 0.0, example=3.5)
            found[name] = ReadingField(reading=box)
            found[name].label = way.capitalize()
    return found


class PointsForm(TokenForm):
    """Boxes for points; those left empty aren't there."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields.update(point_fields())

    @property
    def pairs(self) -> list[tuple[int, forms.BoundField, forms.BoundField]]:
        return [(n, self[f"point_{n}_over"], self[f"point_{n}_up"]) for n in PLACES]

    def points(self) -> list[tuple[int, float, float]]:
        """Number, over and up of each point; one number of a point alone is refused."""
        found = []
        for number in PLACES:
            names = (f"point_{number}_over", f"point_{number}_up")
            over, up = (self.cleaned_data.get(name) for name in names)
            if over is not None and up is not None:
                found.append((number, over, up))
            elif (over is None) != (up is None):
                lacking = names[0] if over is None else names[1]
                if lacking not in self.errors:
                    way = lacking.rsplit("_", 1)[1]
                    self.add_error(lacking, f"Point {number}: {way} is missing, in inches.")
        return found

    def refuse_points(self, refused: InputError, points: list[tuple[int, float, float]]) -> None:
        """Say what is wrong with the points by the numbers they have on the page."""
        said = INDEX.sub(lambda m: f"point {points[int(m[1])][0]}", refused.allowed)
        index = INDEX.search(refused.field)
        if index is None:
            self.add_error(None, f"The first ring must be {said}.")
            return
        number = points[int(index[1])][0]
        self.add_error(f"point_{number}_over", f"Point {number} must be {said}.")


class RingForm(PointsForm):
    """The first ring of one delivery: PAP and tilt follow from the circle through its points."""

    delivery = forms.ModelChoiceField(
        Delivery.objects.none(),
        required=False,
        label="Ring of",
        empty_label="A delivery not logged yet",
        error_messages={"invalid_choice": "Ring of: choose a delivery of this fitting."},
    )

    def __init__(self, *args: Any, deliveries: Any, gear: Gear, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.gear = gear
        self.derived: Derived = NOTHING_DERIVED
        self.marked: list[tuple[int, float, float]] = []
        choice: Any = self.fields["delivery"]
        choice.queryset = deliveries
        choice.widget.attrs["class"] = "form-select"
        # What each delivery was when the page was made.
        self.fields["seen"] = forms.CharField(
            required=False,
            widget=forms.HiddenInput,
            initial=" ".join(_seen(delivery) for delivery in deliveries),
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self.marked = self.points()
        if self.errors:
            return cleaned
        self.derived = self.gear.derive(self.raw, {})
        for refused in self.derived.refused.values():
            self.refuse_points(refused, self.marked)
        for name, value in self.derived.values.items():
            reading = BY_NAME[name]
            if not reading.low <= value <= reading.high:
                found = f"{reading.label} comes out at {reading.text(value)}"
                self.add_error(None, f"{found}. {reading.range_text} Measure the points again.")
        return cleaned

    def refuse_stale(self) -> bool:
        """Whether somebody changed the delivery since the page was made: told, and ready to be
        sent again on purpose."""
        chosen: Delivery | None = self.cleaned_data["delivery"]
        if chosen is None or _seen(chosen) in self.cleaned_data["seen"].split():
            return False
        who, when = last_change(chosen)
        read = ((reading, getattr(chosen, reading.name)) for reading in READINGS)
        now = ", ".join(reading.label_text(value) for reading, value in read if value is not None)
        self.data = {**self.data.dict(), "seen": _seen(chosen)}  # type: ignore[attr-defined]
        self.add_error(
            None,
            f"{who} changed this delivery {when}, after you opened this page: it is now "
            f"{now or 'empty'}. Your points are still here; use the ring again to let them say "
            "its PAP and tilt.",
        )
        return True

    @property
    def raw(self) -> dict[str, Any]:
        return {RING: [[over, up] for _, over, up in self.marked]}

    @property
    def plate(self) -> Plate:
        """The points on the ball, with the circle and the PAP once they are found."""
        v = self.derived.values
        found = (v["pap_over_in"], v["pap_up_in"], v["tilt_deg"]) if v else None
        return plate(self.marked, self.gear.hand, found)

    @property
    def derived_words(self) -> list[str]:
        return self.derived.words()


def _seen(delivery: Delivery) -> str:
    return f"{delivery.pk}-{delivery.version}"


def ring_start(delivery: Delivery | None) -> dict[str, Any]:
    """The boxes as they were left."""
    kept = delivery.raw.get(RING, []) if delivery is not None else []
    start: dict[str, Any] = {"delivery": delivery}
    for number, (over, up) in zip(PLACES, kept, strict=False):
        start |= {f"point_{number}_over": over, f"point_{number}_up": up}
    return start
