"""The releases a bowler has for spares: measured, the usual one alone, or a flatter one assumed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from arsenal.engine import bodies
from physics import bowler, spares

MEASURED, USUAL, ASSUMED = "measured", "usual", "assumed"


def kind_of(inputs: Mapping[str, Any]) -> str:
    """Inputs stored before it was asked knew only the assumed one."""
    return str(inputs.get("spares", {}).get("release", ASSUMED))


def releases(inputs: Mapping[str, Any], who: bowler.Bowler) -> list[bowler.Bowler]:
    """Everything the bowler may throw a second ball with, the usual release first."""
    kind = kind_of(inputs)
    if kind == USUAL:
        return [who]
    if kind == ASSUMED:
        return [who, spares.flatter(who)]
    return [who, _measured(inputs)]


def _measured(inputs: Mapping[str, Any]) -> bowler.Bowler:
    """The release measured for spares; balls are laid out about the usual one's PAP."""
    read = inputs["spares"]["delivery"]
    shift = [
        read[name]["mean"] - inputs["delivery"][name]["mean"]
        if name in read and name in inputs["delivery"]
        else 0.0
        for name in ("pap_over_in", "pap_up_in")
    ]
    found = bodies.bowler_of(read, inputs["customer"]["average"], bodies.spread_learnt(inputs))
    return replace(found, pap_shift_in=(shift[0], shift[1]))


def words(inputs: Mapping[str, Any]) -> str:
    """How second balls were taken to be thrown, for whoever reads what they take."""
    return {
        MEASURED: "Second balls are thrown with the usual release or the one measured for spares, "
        "whichever takes more.",
        USUAL: "Second balls are thrown with the usual release, as noted on the customer.",
        ASSUMED: "Second balls are thrown with the usual release or with a flatter one that is "
        f"assumed, not measured (rotation {spares.FLAT_ROTATION_DEG:.0f}° at most, "
        f"{100 * (spares.FLAT_SPEED - 1):.0f} % faster), whichever takes more. A fitting of the "
        "release for spares replaces it.",
    }[kind_of(inputs)]


def name_of(inputs: Mapping[str, Any], release: int) -> str:
    """What one of :func:`releases` is called."""
    if release == 0:
        return "usual release"
    return "release for spares" if kind_of(inputs) == MEASURED else "flatter release, assumed"
