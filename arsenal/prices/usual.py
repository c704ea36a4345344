"""What work costs until a shop sets its own prices: round sums, common practice, no source."""

from __future__ import annotations

from decimal import Decimal

USUAL: dict[str, Decimal] = {
    "drill": Decimal(60),
    "redrill": Decimal(95),
    "insert": Decimal(8),
    "slug": Decimal(12),
    "thumb": Decimal(15),
    "plug": Decimal(20),
    # Care leaves the ball the finish it has, so it is less work than another surface.
    "clean": Decimal(5),
    "extract": Decimal(12),
    "restore": Decimal(10),
    "resurface": Decimal(25),
}
