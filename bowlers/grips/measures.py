"""What is measured of a grip: names, ranges and how each is told.

``low`` to ``high`` is what can be drilled; ``usual`` is what hands mostly need (common practice,
no source): outside it an entry is asked about and kept.
"""

from __future__ import annotations

from dataclasses import dataclass

PALM, LATERAL = "palm", "lateral"
HOLES = ("middle", "ring", "thumb")
HOLE_WORDS = {"middle": "Middle finger", "ring": "Ring finger", "thumb": "Thumb"}


@dataclass(frozen=True)
class Measure:
    """One number of a grip; ``way`` of those that are told as a size and a direction."""

    name: str
    label: str
    low: float
    high: float
    unit: str = "in"
    usual: tuple[float, float] | None = None
    way: str = ""
    help_text: str = ""

    @property
    def size_name(self) -> str:
        return f"{self.name}_size"

    @property
    def way_name(self) -> str:
        return f"{self.name}_way"


def _hole(kind: str) -> tuple[Measure, ...]:
    word = HOLE_WORDS[kind]
    inside = "inside of the slug" if kind == "thumb" else "inside of the insert"
    thumb = kind == "thumb"
    return (
        Measure(
            f"{kind}_hole_in",
            f"{word}, hole drilled in the ball",
            0.5,
            1.75,
            usual=(0.75, 1.5) if thumb else (0.6875, 1.0625),
        ),
        Measure(
            f"{kind}_inside_in",
            f"{word}, {inside}",
            0.375,
            1.5,
            usual=(0.75, 1.125) if thumb else None,
            help_text=f"Empty without {'a slug' if thumb else 'an insert'}.",
        ),
        Measure(
            f"{kind}_depth_in",
            f"{word}, depth",
            0.25,
            4.25,
            usual=(2.0, 3.25) if thumb else (1.25, 2.75),
        ),
        Measure(
            f"{kind}_forward_in",
            f"{word}, pitch along the palm",
            -1.5,
            1.5,
            usual=(-0.5, 0.5) if thumb else (-0.25, 0.375),
            way=PALM,
        ),
        Measure(
            f"{kind}_lateral_in",
            f"{word}, pitch sideways",
            -1.5,
            1.5,
            usual=(-0.375, 0.375) if thumb else (-0.125, 0.125),
            way=LATERAL,
        ),
    )


SPANS = (
    Measure("span_middle_in", "Span of the middle finger", 0.5, 6.5),
    Measure("span_ring_in", "Span of the ring finger", 0.5, 6.5),
)
BRIDGE = Measure("bridge_in", "Bridge", 0.05, 1.5, usual=(0.1875, 0.5))
DIGITS = {kind: _hole(kind) for kind in HOLES}
OVAL = (
    Measure("oval_width_in", "Oval, width", 0.5, 1.625, help_text="The longer way across."),
    Measure("oval_depth_in", "Oval, depth", 0.5, 1.625, help_text="The shorter way across."),
    Measure("oval_angle_deg", "Oval, angle", -90, 90, "°", way=LATERAL),
)
BEVELS = (
    Measure("finger_bevel_in", "Bevel of the finger holes", 0, 0.5, usual=(0, 0.125)),
    Measure("thumb_bevel_in", "Bevel of the thumb hole", 0, 0.5, usual=(0, 0.25)),
)
TAPE = (
    Measure("tape_front", "Tape at the front of the thumb hole", 0, 20, "pieces"),
    Measure("tape_back", "Tape at the back of the thumb hole", 0, 20, "pieces"),
)
MEASURES: tuple[Measure, ...] = (
    *SPANS,
    BRIDGE,
    *(measure for kind in HOLES for measure in DIGITS[kind]),
    *OVAL,
    *BEVELS,
    *TAPE,
)
BY_NAME = {measure.name: measure for measure in MEASURES}
# What a hand without its thumb in the ball has none of.
OF_THE_THUMB = {measure.name for measure in (*DIGITS["thumb"], *OVAL, BEVELS[1], *TAPE)}
