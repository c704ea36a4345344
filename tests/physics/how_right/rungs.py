"""What a rung is: test files, what was found of them, and whether it holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

# Status of what a finding is compared with.
PUBLISHED = "published"
SECOND_HAND = "published, second-hand"
DERIVED = "derived"
COMMON = "common practice, no source"
MEMORY = "from memory"


@dataclass(frozen=True)
class Finding:
    """One line of the page.

    ``holds``: whether ``result`` lies within ``tolerance``; None where nothing is held to anything
    and the number is only reported.
    """

    what: str
    source: str
    status: str
    tolerance: str
    result: str
    holds: bool | None


@dataclass(frozen=True)
class Found:
    """What a rung gives: its findings, pictures (name to SVG, caption) and words below them."""

    findings: Sequence[Finding] = ()
    pictures: Sequence[Picture] = ()
    words: Sequence[str] = ()


@dataclass(frozen=True)
class Picture:
    name: str
    caption: str
    svg: str


@dataclass(frozen=True)
class Rung:
    """A step of the ladder. ``files``: the test files that hold it, without ``test_`` and ``.py``.

    ``quick``: takes a second or so once the kernels are compiled.
    """

    title: str
    about: str
    files: Sequence[str]
    find: Callable[[], Found] = field(default=Found)
    quick: bool = True


def within(
    what: str,
    source: str,
    status: str,
    value: float,
    limit: float,
    unit: str,
    *,
    digits: int = 2,
) -> Finding:
    """A finding that holds if its size is within a limit."""
    return Finding(
        what,
        source,
        status,
        f"{short(limit)} {unit}".strip(),
        f"{short(value, digits)} {unit}".strip(),
        abs(value) <= limit,
    )


def between(
    what: str, source: str, status: str, value: float, low: float, high: float, unit: str
) -> Finding:
    """A finding that holds if it lies in a range."""
    return Finding(
        what,
        source,
        status,
        f"{short(low, 4)} to {short(high, 4)} {unit}".strip(),
        f"{short(value, 4)} {unit}".strip(),
        low <= value <= high,
    )


RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def short(value: float, digits: int = 2) -> str:
    """A number in a few figures; very small and very large ones by powers of ten."""
    if value == 0:
        return "0"
    if 1e-3 <= abs(value) < 1e5:
        return f"{value:.{digits}g}" if abs(value) < 10 ** (digits - 1) else f"{value:.0f}"
    mantissa, power = f"{value:.{max(digits - 1, 0)}e}".split("e")
    return f"{float(mantissa):g} × 10{str(int(power)).translate(RAISED)}"
