"""What the shop's own work costs until a shop sets its prices: round sums, common practice."""

from __future__ import annotations

RESURFACE = 25.0
DRILL = 60.0
REDRILL = 95.0
