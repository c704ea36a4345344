"""How many cases were sent: counted as they are, not as they were asked for."""

from __future__ import annotations

cases = 0


def one() -> None:
    global cases
    cases += 1
