"""What a ball could be made into: the layouts and finishes that are tried on each."""

from __future__ import annotations

# Every pin-to-PAP distance with every VAL and drilling angle. They spread over the ranges in use
# (common practice, no source: 2-6 in, 20-70 degrees, 10-90 degrees). The distance sets how far the
# ball flares: most near 3 3/8 in, less either way, so three lie beyond it, where a difference
# is felt. The VAL angle brings the pin up or down, and with it what the holes take from the
# differential. The drilling angle tells only on an asymmetric ball, so there are two: early, late.
PINS_TO_PAP_IN = (3.375, 4.0, 4.5, 5.25)
VALS_DEG = (25.0, 45.0, 65.0)
DRILLINGS_DEG = (40.0, 70.0)
LAYOUTS: tuple[tuple[float, float, float], ...] = tuple(
    (drilling, pin, val) for drilling in DRILLINGS_DEG for pin in PINS_TO_PAP_IN for val in VALS_DEG
)
FINISHES: tuple[str, ...] = ("500", "1000", "2000", "4000", "polished")


def layout_fields() -> list[dict[str, float]]:
    """The layouts under the field names of the ``layout`` command."""
    return [
        {"drilling_angle_deg": drilling, "pin_to_pap_in": pin, "val_angle_deg": val}
        for drilling, pin, val in LAYOUTS
    ]
