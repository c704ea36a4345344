"""What a ball could be made into: the layouts and finishes that are tried on each."""

from __future__ import annotations

# (drilling angle, pin to PAP, VAL angle): spread over the ranges in use (common practice, no
# source: 10-90 degrees, 2-6 in, 20-70 degrees), early to late and pin up to pin down.
LAYOUTS: tuple[tuple[float, float, float], ...] = (
    (35.0, 3.375, 30.0),
    (50.0, 4.0, 65.0),
    (50.0, 4.5, 25.0),
    (65.0, 5.0, 45.0),
    (70.0, 4.5, 65.0),
    (80.0, 5.5, 30.0),
)
FINISHES: tuple[str, ...] = ("500", "1000", "2000", "4000", "polished")


def layout_fields() -> list[dict[str, float]]:
    """The layouts under the field names of the ``layout`` command."""
    return [
        {"drilling_angle_deg": drilling, "pin_to_pap_in": pin, "val_angle_deg": val}
        for drilling, pin, val in LAYOUTS
    ]
