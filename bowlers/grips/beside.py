"""A grip with earlier ones beside it: what each measure was, and how it changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bowlers.grips.measures import MEASURES, OF_THE_THUMB, SPANS
from bowlers.grips.models import Grip
from bowlers.grips.words import change_told, sized, told
from bowlers.holding import Thumb

# Earlier grips shown beside the one on the page; the rest are links.
BESIDE = 3
GROWING_UNTIL = 18
WORDS: tuple[tuple[str, Callable[[Grip], str]], ...] = (
    ("Thumb", lambda grip: str(grip.get_thumb_display())),
    ("Fingers", lambda grip: str(grip.get_fingers_display())),
    ("Spans between", lambda grip: str(grip.get_span_edge_display())),
    ("Flexibility of the thumb", lambda grip: str(grip.get_flexibility_display() or "—")),
    ("Webbing", lambda grip: str(grip.get_webbing_display() or "—")),
    ("Where it hurts", lambda grip: grip.hurt_words or "nowhere"),
)


@dataclass(frozen=True)
class Then:
    """What one measure was in an earlier grip, and the change since."""

    words: str
    change: str

    @property
    def differs(self) -> bool:
        return self.change not in ("", "no change")


@dataclass(frozen=True)
class Row:
    label: str
    now: str
    then: tuple[Then, ...]


def rows(grip: Grip, earlier: Sequence[Grip], hand: str) -> list[Row]:
    """One row for each measure taken in any of these grips."""
    found = []
    for measure in MEASURES:
        values = [_value(one, measure.name) for one in (grip, *earlier)]
        if all(value is None for value in values):
            continue
        now = values[0]
        then = tuple(
            Then(told(measure, value, hand), change_told(measure, value, now, hand))
            for value in values[1:]
        )
        found.append(Row(measure.label, told(measure, now, hand), then))
    for label, words in WORDS:
        now_words = words(grip)
        then = tuple(
            Then(words(one), "no change" if words(one) == now_words else "changed")
            for one in earlier
        )
        found.append(Row(label, now_words, then))
    return found


def growth(grip: Grip, earlier: Grip | None, born: int | None) -> str:
    """How far a young hand's spans have grown since, in words; empty for anybody else."""
    if earlier is None or born is None or grip.measured_on.year - born > GROWING_UNTIL:
        return ""
    if grip.span_edge != earlier.span_edge or grip.thumb != earlier.thumb:
        return ""
    moved = [getattr(grip, span.name) - getattr(earlier, span.name) for span in SPANS]
    if max(moved) <= 0:
        return ""
    days = (grip.measured_on - earlier.measured_on).days
    return (
        f"A growing hand: spans up by {sized(SPANS[0], moved[0])} and "
        f"{sized(SPANS[0], moved[1])} in {days} days."
    )


def _value(grip: Grip, name: str) -> float | None:
    if name in OF_THE_THUMB and grip.thumb == Thumb.NONE:
        return None
    if name == "oval_angle_deg" and grip.oval_width_in is None:
        return None
    value: float | None = getattr(grip, name)
    return value
