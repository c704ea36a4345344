"""What the shop's own work costs until a shop sets its prices: round sums, common practice."""

from __future__ import annotations

RESURFACE = 25.0
DRILL = 60.0
REDRILL = 95.0
# Care leaves the ball the finish it has, so it is less work than another surface.
CLEAN = 5.0
EXTRACT = 12.0
RESTORE = 10.0

ALL: dict[str, float] = {
    "surface": RESURFACE,
    "drill": DRILL,
    "redrill": REDRILL,
    "clean": CLEAN,
    "extract": EXTRACT,
    "restore": RESTORE,
    "renew": EXTRACT + RESTORE,
}
