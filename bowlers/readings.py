"""What is read off a delivery: names, units, and which numbers are possible or usual."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Reading:
    """One quantity of a delivery.

    ``low`` to ``high`` is what is physically possible: outside it an entry is refused.
    ``usual_low`` to ``usual_high`` is what bowlers do (common practice, no source): outside it
    the entry is asked about and kept. ``resolution`` is about what a good instrument at a counter
    resolves (an estimate): readings closer than that aren't told apart.
    """

    name: str
    label: str
    unit: str
    low: float
    high: float
    usual_low: float
    usual_high: float
    decimals: int
    resolution: float
    example: float | None = None

    def text(self, value: float) -> str:
        """The value as people write it, with its unit: 17.5 mph, 350 rpm, 45°."""
        return f"{self.number(value)}{self.unit_suffix}"

    def label_text(self, value: float) -> str:
        """The value with its label and unit: "Display 15.5 mph"."""
        return f"{self.label} {self.text(value)}"

    def number(self, value: float) -> str:
        """The value alone, without trailing noughts and with a real minus sign."""
        shown = f"{value:.{self.decimals}f}"
        if "." in shown:
            shown = shown.rstrip("0").rstrip(".")
        if shown in ("-0", ""):
            shown = "0"
        return shown.replace("-", "−")

    def with_error(self, value: float, error: float) -> str:
        """A value worked out, with its standard error: "Speed 17.4 ± 0.3 mph"."""
        places = 0 if self.unit == "rpm" else 2 if self.unit == "in" else 1
        shown = f"{value:.{places}f}".replace("-", "−")
        return f"{self.label} {shown} ± {max(error, 10**-places):.{places}f}{self.unit_suffix}"

    @property
    def unit_suffix(self) -> str:
        return self.unit if self.unit in ("°", "") else f" {self.unit}"

    @property
    def range_text(self) -> str:
        low, high = self.number(self.low), self.number(self.high)
        return f"{self.label} must be between {low} and {high}{self.unit_suffix}."

    def is_usual(self, value: float) -> bool:
        return self.usual_low <= value <= self.usual_high


SPEED = Reading("speed_mph", "Speed", "mph", 5, 30, 10, 21, 2, 0.5)
REV_RATE = Reading("rev_rate_rpm", "Rev rate", "rpm", 0, 800, 50, 550, 1, 15)
ROTATION = Reading("rotation_deg", "Rotation", "°", 0, 90, 5, 85, 1, 3)
TILT = Reading("tilt_deg", "Tilt", "°", 0, 45, 0, 30, 1, 2)
PAP_OVER = Reading("pap_over_in", "PAP over", "in", 2, 6.75, 3.5, 6.75, 4, 0.125)
PAP_UP = Reading("pap_up_in", "PAP up", "in", -2.5, 2.5, -1, 1.5, 4, 0.125)

READINGS: tuple[Reading, ...] = (SPEED, REV_RATE, ROTATION, TILT, PAP_OVER, PAP_UP)
BY_NAME: dict[str, Reading] = {reading.name: reading for reading in READINGS}
PAP_NAMES: tuple[str, str] = (PAP_OVER.name, PAP_UP.name)
