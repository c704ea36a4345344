"""How sure a ranking is of its first choice, and which measurement would settle it, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from arsenal.engine import bodies
from physics import bowler, doubt, readings, surface
from physics.worlds import Name, Priors

if TYPE_CHECKING:
    from arsenal.engine.results import Answer

Array = NDArray[np.float64]

# Below this chance of beating the next one, the order of the two means nothing.
TOO_CLOSE = 0.75
# A measurement is offered if it lowers the chance of picking the wrong one by this much, and at
# most so many are.
LEAST_DROP, MOST_OFFERED = 0.02, 3
MORE_DELIVERIES = 2
# What measuring leaves, all estimates. One shot seen on the lanes, as a share of friction: entry
# read to a board or two, and the oil it met. A roughness gauge, as a share of the finish's error.
SEEN_ERROR, GAUGE_LEAVES = 0.05, 0.4
READINGS: dict[str, tuple[str, str]] = {
    "speed": ("speed_mph", "speed"),
    "rev_rate": ("rev_rate_rpm", "rev rate"),
    "rotation": ("rotation_deg", "rotation"),
    "tilt": ("tilt_deg", "tilt"),
    "pap_over": ("pap_over_in", "PAP"),
    "pap_up": ("pap_up_in", "PAP"),
}
# A good way to read each, as a person would say it, with what it gets wrong of its own and every
# time (speed and rev rate as shares, degrees, inches): about what physics.readings finds for a
# video of 120 frames a second, a camera above, and six points of a ring.
GOOD: dict[str, tuple[str, readings.Instrument]] = {
    "speed": ("the speed timed over the first 15 ft on video", readings.Instrument(0.004, 0.012)),
    "rev_rate": ("the rev rate counted over two turns on video", readings.Instrument(0.012, 0.003)),
    "rotation": ("the rotation filmed from straight above", readings.Instrument(3.0, 2.0)),
    "tilt": ("six points marked over half of the first ring", readings.Instrument(0.5, 1.0)),
    "pap_over": ("six points marked over half of the first ring", readings.Instrument(0.05, 0.06)),
    "pap_up": ("six points marked over half of the first ring", readings.Instrument(0.05, 0.06)),
}
KINDS = {
    "speed": "speed",
    "rev_rate": "rev rate",
    "rotation": "rotation",
    "tilt": "tilt",
    "pap_over": "PAP over",
    "pap_up": "PAP up",
    "release_spread": "repeatability of the release",
    "aim_spread": "repeatability of the aim",
    "ring_patch": "width of the contact patch",
    "ring_absorption": "oil taken into the cover",
    "film_power": "how sharply friction falls with oil",
    "pins_place": "where the pocket is best met",
    "pins_angle": "how much entry angle helps",
    "pins_level": "how forgiving the pins are",
    "pins_spares": "how forgiving the pins are at spares",
    "lane_friction": "friction of the lanes",
    "cover": "friction of the cover",
    "finish": "roughness of the finish",
    "ball": "the ball's own friction",
    "finish_wear": "how far games have worn the finish",
    "soaking": "how much oil games have put into the cover",
    "oil_amount": "amount of oil",
    "oil_length": "length of the oil",
    "oil_volume": "volume of the oil",
    "oil_ratio": "ratio of the oil",
    "oil_ramp_begins": "where the oil begins to rise",
    "oil_ramp_full": "where the oil is full",
    "oil_full_share": "how far the oil runs in full",
    "oil_end_share": "oil left at the end of the pattern",
}


@dataclass(frozen=True)
class Remedy:
    """A measurement that can be made, and the share of the answer's variance it would take away."""

    words: str
    learnt: float


def doubt_of(answer: Answer) -> dict[str, Any]:
    """Whether the first choice beats the second, what that hangs on, and what would settle it."""
    first, second, against = _contest(answer)
    worlds = answer.drawn.worlds
    difference = first - second
    chance = doubt.beats(first, second)
    found = doubt.sensitivity(worlds.names, worlds.normals, difference)
    return {
        "draws": len(difference),
        "interval_share": doubt.INTERVAL,
        "first_beats_second": round(chance, 3),
        "against": against,
        "too_close": chance < TOO_CLOSE,
        "limit": TOO_CLOSE,
        "words": verdict_words(chance, against),
        "explained": round(max(0.0, found.explained), 3),
        "rest": round(max(0.0, 1 - sum(found.shares.values())), 3),
        "hangs_on": [
            {"what": name_words(answer, name), "share": round(share, 3)}
            for name, share in sorted(found.shares.items(), key=lambda item: -item[1])
        ],
        "would_settle": _settling(answer, found, chance),
        "priors": asdict(Priors()),
    }


def _contest(answer: Answer) -> tuple[Array, Array, str]:
    """The drawn gains of the first choice and of what it is held against, and what that is.

    *Nothing needed* stands for a gain worth making: the noise under which gains aren't listed.
    """
    gains = answer.drawn.gains
    nothing = np.full(len(gains), answer.noise)
    if len(answer.families) > 1:
        return gains[:, 0], gains[:, 1], "second"
    if answer.families:
        return gains[:, 0], nothing, "nothing"
    best = gains.max(axis=1) if gains.shape[1] else np.zeros(len(gains))
    return nothing, best, "change"


def verdict_words(chance: float, against: str) -> str:
    """Whether the first choice stands, in a sentence: shares of the draws."""
    won, lost = f"{100 * chance:.0f} %", f"{100 * (1 - chance):.0f} %"
    sure, behind = chance >= TOO_CLOSE, chance < 0.5
    if against == "second":
        if sure:
            return f"The first choice beats the second in {won} of the draws."
        if chance <= 1 - TOO_CLOSE:
            return (
                "Too close to call: the first choice gains more with every guess at its middle, "
                f"the second in {lost} of the draws."
            )
        said = (
            f"the second choice does better in {lost} of the draws"
            if behind
            else f"the first choice beats the second in only {won} of the draws"
        )
    elif against == "nothing":
        if sure:
            return f"The first choice gains enough to notice in {won} of the draws."
        said = f"the first choice gains enough to notice in only {won} of the draws"
    else:
        if sure:
            return f"In {won} of the draws no change gains enough to notice."
        said = f"in {lost} of the draws some change gains enough to notice"
    return f"Too close to call: {said}."


def _settling(answer: Answer, found: doubt.Sensitivity, chance: float) -> list[dict[str, Any]]:
    """The measurements that would lower the chance of picking the wrong one most."""
    now = doubt.chance_wrong(chance)
    offers = []
    for remedy in _remedies(answer, found):
        then = doubt.chance_wrong(chance, min(1.0, remedy.learnt))
        if now - then >= LEAST_DROP:
            offers.append((now - then, remedy, then))
    offers.sort(key=lambda offer: -offer[0])
    return [
        {
            "words": f"{remedy.words}: the chance of picking the wrong one falls from "
            f"{100 * now:.0f} % to {100 * then:.0f} % (estimate).",
            "learnt_share": round(remedy.learnt, 3),
            "wrong_now": round(now, 3),
            "wrong_then": round(then, 3),
        }
        for _, remedy, then in offers[:MOST_OFFERED]
    ]


def _remedies(answer: Answer, found: doubt.Sensitivity) -> Iterator[Remedy]:
    yield from _more_deliveries(answer, found)
    yield from _better_readings(answer, found)
    yield from _oil_tables(answer, found)
    yield from _seen_on_lanes(answer, found)
    yield from _roughness(found)
    yield from _average(answer, found)


def _more_deliveries(answer: Answer, found: doubt.Sensitivity) -> Iterator[Remedy]:
    """Two more deliveries with whichever readings matter, read as they were."""
    learnt, named = 0.0, []
    for kind, (field, words) in READINGS.items():
        share = found.shares.get((kind, ""), 0.0)
        if share:
            learnt += share * _narrowed(answer, field, more=MORE_DELIVERIES)
            named.append(words)
    if named:
        yield Remedy(f"Two more deliveries with {_listed(list(dict.fromkeys(named)))}", learnt)


def _better_readings(answer: Answer, found: doubt.Sensitivity) -> Iterator[Remedy]:
    """The same number of deliveries, one number read in a better way."""
    by_words: dict[str, float] = {}
    for kind, (words, instrument) in GOOD.items():
        share = found.shares.get((kind, ""), 0.0)
        if share:
            learnt = share * _narrowed(answer, READINGS[kind][0], instrument=instrument)
            by_words[words] = by_words.get(words, 0.0) + learnt
    for words, learnt in by_words.items():
        yield Remedy(words[0].upper() + words[1:], learnt)


def _narrowed(
    answer: Answer,
    field: str,
    *,
    more: int = 0,
    instrument: readings.Instrument | None = None,
) -> float:
    """Share of a reading's variance that goes with so many more deliveries, or another way."""
    average = answer.inputs["customer"]["average"]
    reading = bodies.readings_of(answer.inputs["delivery"], average)[field]
    before = bodies.standard_error(field, reading, average)
    if instrument is not None and not reading["count"]:
        more = 1
    after = bodies.standard_error(field, reading, average, more=more, instrument=instrument)
    return _taken_away(before, after)


def _oil_tables(answer: Answer, found: doubt.Sensitivity) -> Iterator[Remedy]:
    """A table for a condition that was picked."""
    for j, condition in enumerate(answer.inputs["conditions"]):
        if answer.setting.tasks[j].oil is None:
            continue
        learnt = sum(
            share
            for (kind, which), share in found.shares.items()
            if kind.startswith("oil_") and which == str(j)
        )
        yield Remedy(f"An oil table of {condition['name']} instead of the picker's numbers", learnt)


def _seen_on_lanes(answer: Answer, found: doubt.Sensitivity) -> Iterator[Remedy]:
    """One of the bag's balls watched at a house: its friction there, as a whole, is read."""
    priors = Priors()
    for house in dict.fromkeys(task.house for task in answer.setting.tasks):
        task = next(t for t in answer.setting.tasks if t.house == house)
        sd = priors.lane_friction if task.friction_sd is None else task.friction_sd
        best = Remedy("", 0.0)
        for choice in answer.menu.owned:
            seen: dict[Name, float] = {
                ("lane_friction", house): sd,
                ("cover", choice.option.cover): priors.cover_friction,
                ("ball", choice.option.ball): priors.own_friction,
            }
            learnt = found.learnt(seen, SEEN_ERROR)
            if learnt > best.learnt:
                best = Remedy(f"See {choice.ball} on the lanes once at {house}", learnt)
        if best.learnt:
            yield best


def _roughness(found: doubt.Sensitivity) -> Iterator[Remedy]:
    for (kind, which), share in found.shares.items():
        if kind == "finish":
            label = surface.FINISHES[which].label
            words = f"The roughness of a fresh {label} finish read with a gauge"
            yield Remedy(words, share * (1 - GAUGE_LEAVES**2))
        elif kind == "finish_wear":
            words = "The roughness of the bag's worn finishes read with a gauge"
            yield Remedy(words, share * (1 - GAUGE_LEAVES**2))


def _average(answer: Answer, found: doubt.Sensitivity) -> Iterator[Remedy]:
    if answer.inputs["customer"]["average"] is None:
        share = sum(found.shares.get((kind, ""), 0.0) for kind in ("release_spread", "aim_spread"))
        known, unknown = bowler.spread_error(True), bowler.spread_error(False)
        yield Remedy("Their average", share * _taken_away(unknown, known))


def _taken_away(before: float, after: float) -> float:
    """Share of a variance that goes when a standard error falls so far."""
    return max(0.0, 1 - (after / before) ** 2) if before > 0 else 0.0


def name_words(answer: Answer, name: Name) -> str:
    """An unknown as it is said: which cover, finish, house or condition with it."""
    kind, which = name
    words = KINDS[kind]
    if kind == "lane_friction":
        return f"{words} at {which}" if which else words
    if kind == "cover":
        return f"{words}, {surface.COVERS[which].label}" if which else words
    if kind == "finish":
        return f"{words}, {surface.FINISHES[which].label}" if which else words
    if kind == "ball":
        owned = (c.ball for c in answer.confirmed.choices if c.option.ball == which)
        return f"own friction of {next(owned, 'the ball')}"
    if kind.startswith("oil_"):
        return f"{words}, {answer.inputs['conditions'][int(which)]['name']}"
    return words


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
