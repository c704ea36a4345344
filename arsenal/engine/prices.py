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

# What else a ticket is priced with, each; not what rankings weigh gains against.
AT_PRESS: dict[str, float] = {
    "drill": DRILL,
    "redrill": REDRILL,
    "clean": CLEAN,
    "extract": EXTRACT,
    "resurface": RESURFACE,
    "thumb": 15.0,
    "plug": 20.0,
    "insert": 8.0,
    "slug": 12.0,
}
