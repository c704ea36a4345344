"""The instruments a shop may have, what each shows of a delivery, and what is told of it once.

The choice of a fitting is kept as ``{"speed": {"way": "seconds", "from_ft": 0.0, "to_ft": 59.5},
…}``: a quantity without an entry is typed as a number, however it was found. Names of boxes and
settings are those of a shot of ``python -m physics measure``, which is also how raw readings are
kept with a delivery.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bowlers.readings import (
    BY_NAME,
    PAP_OVER,
    PAP_UP,
    REV_RATE,
    ROTATION,
    SPEED,
    TILT,
    Reading,
)
from proshop.forms import with_unit

TYPED = "typed"
RING = "ring_points_in"


@dataclass(frozen=True)
class Setting:
    """A number of an instrument told once for a whole fitting."""

    name: str
    label: str
    unit: str
    low: float
    high: float
    usual: float
    top: bool = False
    """Belongs to the shot itself rather than to the reading."""


@dataclass(frozen=True)
class Way:
    """One way to read a quantity: its boxes in a row, and its settings."""

    name: str
    label: str
    boxes: tuple[Reading, ...]
    settings: tuple[Setting, ...] = ()
    help: str = ""

    def usual(self) -> dict[str, Any]:
        """The choice as kept, with the settings people mostly have."""
        return {"way": self.name, **{s.name: s.usual for s in self.settings}}


@dataclass(frozen=True)
class Quantity:
    """What is wanted of a delivery, and the ways to read it, typing the number first."""

    name: str
    label: str
    readings: tuple[Reading, ...]
    ways: tuple[Way, ...]

    def way(self, name: str) -> Way:
        return next((way for way in self.ways if way.name == name), self.ways[0])


def _box(
    name: str, label: str, unit: str, low: float, high: float, decimals: int, example: float
) -> Reading:
    """A box of an instrument. What is unusual is asked of the number it leads to, not of it."""
    return Reading(name, label, unit, low, high, low, high, decimals, 0.0, example=example)


_FROM_LINE = Setting("from_ft", "From", "ft past the foul line", 0, 59, 0)
_RATE = "frames_per_second"
_LAUNCH = Setting(
    "launch_deg", "Launch angle, towards the ball-hand gutter", "°", -20, 20, 0, top=True
)

QUANTITIES: tuple[Quantity, ...] = (
    Quantity(
        "speed",
        "Speed",
        (SPEED,),
        (
            Way(TYPED, "Release speed as a number", (SPEED,), help="As it was just after release."),
            Way(
                "seconds",
                "Stopwatch over a stretch",
                (_box("seconds", "Time", "s", 0.1, 20, 3, 2.3),),
                (_FROM_LINE, Setting("to_ft", "To", "ft", 1, 60, 59.5)),
                "To the sound of the pins it is 59.5 ft.",
            ),
            Way(
                "frames",
                "Video, frames over a stretch",
                (_box("speed_frames", "Frames, speed", "", 1, 20_000, 1, 140),),
                (
                    _FROM_LINE,
                    Setting("to_ft", "To", "ft", 1, 60, 15),
                    Setting(_RATE, "At", "frames a second", 5, 10_000, 240),
                ),
                "The first 15 ft tell most: no ball has slowed much there.",
            ),
            Way(
                "display_mph",
                "Display of the house",
                (_box("display_mph", "Display", "mph", 3, 40, 2, 16.5),),
                (
                    Setting("at_ft", "It reads at", "ft past the foul line", 0, 60, 55),
                    Setting("step_mph", "Its last digit is", "mph", 0.01, 5, 0.1),
                ),
                "The speed lost from release to there is worked out for each delivery.",
            ),
        ),
    ),
    Quantity(
        "rev_rate",
        "Rev rate",
        (REV_RATE,),
        (
            Way(TYPED, "Rev rate as a number", (REV_RATE,)),
            Way(
                "frames",
                "Video, frames for whole turns",
                (_box("rev_frames", "Frames, revs", "", 1, 20_000, 1, 41),),
                (
                    Setting("turns", "Turns counted", "", 0.25, 20, 2),
                    Setting(_RATE, "At", "frames a second", 5, 10_000, 120),
                ),
                "Just after release, till a mark is back where it was.",
            ),
            Way(
                "clock_hours",
                "Video, hours of a clock face",
                (_box("clock_hours", "Clock", "h", 0.25, 240, 2, 5),),
                (
                    Setting("over_frames", "Over", "frames", 1, 10_000, 10),
                    Setting(_RATE, "At", "frames a second", 5, 10_000, 120),
                ),
                "How far a mark goes, twelve hours to the turn.",
            ),
        ),
    ),
    Quantity(
        "rotation",
        "Rotation",
        (ROTATION,),
        (
            Way(TYPED, "Rotation as a number", (ROTATION,)),
            Way(
                "above_deg",
                "Camera from straight above",
                (_box("above_deg", "From above", "°", -30, 120, 1, 44),),
                (_LAUNCH,),
                "The PAP’s direction, back from straight across the boards.",
            ),
            Way(
                "behind_radii",
                "Camera from behind",
                (_box("behind_radii", "From behind", "radii", -1.2, 1.2, 3, 0.7),),
                (_LAUNCH,),
                "The PAP sideways from the ball’s middle towards the pocket side, over half the "
                "ball’s width.",
            ),
        ),
    ),
    Quantity(
        "tilt",
        "Tilt",
        (TILT,),
        (
            Way(TYPED, "Tilt as a number", (TILT,)),
            Way(
                "ring_width_in",
                "Width of the first ring",
                (_box("ring_width_in", "Ring width", "in", 1, 15, 4, 11.75),),
                help="Across its far side, over the point opposite the PAP.",
            ),
            Way(
                "ring_to_pap_in",
                "First ring to the PAP",
                (_box("ring_to_pap_in", "Ring to PAP", "in", 6, 14, 4, 7.625),),
                help="The arc between them on the ball.",
            ),
        ),
    ),
    Quantity(
        "pap",
        "PAP",
        (PAP_OVER, PAP_UP),
        (
            Way(TYPED, "Over and up as numbers", (PAP_OVER, PAP_UP)),
            Way(
                "ruler",
                "Marked on the ball and measured",
                (PAP_OVER, PAP_UP),
                help="Over and up from the grip centre, along the midline and square to it.",
            ),
            Way(
                RING,
                "Three or more points of the first ring",
                (),
                help="Marked on the ball; PAP and tilt follow from the circle through them.",
            ),
        ),
    ),
)
QUANTITY = {quantity.name: quantity for quantity in QUANTITIES}
BOXES: dict[str, Reading] = {
    **{box.name: box for q in QUANTITIES for way in q.ways for box in way.boxes},
    **BY_NAME,
}
PART_LABELS = {**{q.name: q.label for q in QUANTITIES}, RING: "The first ring"}
# Boxes named apart from their reading, as one row has both.
_READS = {"speed_frames": "frames", "rev_frames": "frames"}

Choice = Mapping[str, Mapping[str, Any]]


def way_of(choice: Choice, quantity: Quantity) -> Way:
    return quantity.way(str(choice.get(quantity.name, {}).get("way", TYPED)))


def boxes_of(choice: Choice) -> list[Reading]:
    """The boxes of a row, in the order of the quantities; what ring points tell has none."""
    return [
        box
        for quantity in QUANTITIES
        if choice.get(quantity.name, {}).get("way") != RING
        for box in way_of(choice, quantity).boxes
    ]


def told(choice: Choice, quantity: Quantity) -> dict[str, Any]:
    """The settings of a chosen way, usual where nothing was said."""
    chosen = choice.get(quantity.name, {})
    return {s.name: chosen.get(s.name, s.usual) for s in way_of(choice, quantity).settings}


def words(choice: Choice) -> list[str]:
    """The instruments in words: "speed: stopwatch over a stretch (from 0, to 59.5 ft)"."""
    said = []
    for quantity in QUANTITIES:
        way = way_of(choice, quantity)
        if way.name == TYPED:
            continue
        numbers = told(choice, quantity)
        settings = ", ".join(
            f"{s.label.lower()} {with_unit(f'{numbers[s.name]:g}', s.unit)}"
            for s in way.settings
            if not (s.top and not numbers[s.name])
        )
        name = quantity.label if quantity.name == "pap" else quantity.label.lower()
        label = way.label[:1].lower() + way.label[1:]
        said.append(f"{name} by {label}" + (f" ({settings})" if settings else ""))
    return said


def shot_of(choice: Choice, read: Mapping[str, float | None]) -> dict[str, Any]:
    """What was read of a delivery as a shot of ``measure``: named instruments only.

    ``read`` holds the boxes by name. A reading not taken is left out; so is a PAP of which one
    number is missing.
    """
    shot: dict[str, Any] = {}
    for quantity in QUANTITIES:
        way = way_of(choice, quantity)
        values = {_READS.get(box.name, box.name): read.get(box.name) for box in way.boxes}
        if way.name in (TYPED, RING) or None in values.values():
            continue
        if way.name == "ruler":
            values = {"over_in": read[PAP_OVER.name], "up_in": read[PAP_UP.name]}
        numbers = told(choice, quantity)
        tops = {s.name for s in way.settings if s.top}
        shot |= {name: numbers[name] for name in tops if numbers[name]}
        shot[quantity.name] = values | {n: v for n, v in numbers.items() if n not in tops}
    return shot


def choice_of(raw: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """The instruments a kept shot was read with."""
    choice: dict[str, dict[str, Any]] = {}
    for quantity in QUANTITIES:
        kept = raw.get(quantity.name)
        if kept is None:
            continue
        name = (
            "ruler"
            if quantity.name == "pap"
            else next((way.name for way in quantity.ways if way.name in kept), TYPED)
        )
        way = quantity.way(name)
        settings = {s.name: (raw if s.top else kept).get(s.name, s.usual) for s in way.settings}
        settings |= {s.name: 0.0 for s in way.settings if s.top and s.name not in raw}
        choice[quantity.name] = {"way": name, **settings}
    if RING in raw:
        # The circle tells the tilt of this delivery too.
        choice |= {"pap": {"way": RING}, "tilt": {"way": RING}}
    return choice


def read_of(raw: Mapping[str, Any]) -> dict[str, float]:
    """What a kept shot holds, by the names of the boxes."""
    found: dict[str, float] = {}
    for quantity_name, chosen in choice_of(raw).items():
        quantity = QUANTITY[quantity_name]
        kept = raw.get(quantity_name, {})
        for box in quantity.way(chosen["way"]).boxes:
            name = _READS.get(box.name, box.name.removeprefix("pap_"))
            if name in kept:
                found[box.name] = kept[name]
    return found


def box_for(field: str) -> str:
    """The box of a row that a refusal is about: "speed.frames" is the box "speed_frames"."""
    quantity_name, _, name = field.partition(".")
    quantity = QUANTITY.get(quantity_name)
    if quantity is None:
        return ""
    if quantity.name == "pap":
        return PAP_UP.name if name == "up_in" else PAP_OVER.name
    for way in quantity.ways:
        for box in way.boxes:
            if _READS.get(box.name, box.name) == name:
                return box.name
    return ""
